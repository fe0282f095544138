"""The command line: reads, calls the pipeline, prints. Computes nothing."""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.version import VERSION

DONE, DESIGN, INPUT, FAULT = 0, 1, 2, 3


def parser() -> argparse.ArgumentParser:
    """Every command with its options; the shell completion is made from this too."""
    top = _Parser(prog="bodygen", description="Wooden diving baits from a parameter file.")
    top.add_argument("--version", action="version", version=f"bodygen {VERSION}")
    top.add_argument("--debug", action="store_true", help="show the traceback of a fault")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    new = commands.add_parser("new", help="write a commented starter recipe", description="Write NAME.toml, a commented starter recipe.")
    new.add_argument("name", metavar="NAME", help="name of the bait; the file is named after it")
    new.add_argument("--from", dest="source", type=Path, metavar="RECIPE", help="start from this recipe instead")
    new.add_argument("--size", metavar="LENGTH", help='length of the new body, such as "3 in" or "80 mm"')
    new.add_argument("--units", choices=("mm", "in"), help="units of the starter recipe (default: mm)")

    check = commands.add_parser("check", help="is the recipe right, and does the design hold?")
    weigh = commands.add_parser("weigh", help="what it weighs at each step, and how it sits in the water")
    weigh.add_argument(
        "--weighed", action="append", default=[], metavar='"STAGE=MASS"', help='a reading off your scale, such as "drilled=9.8 g"'
    )
    build = commands.add_parser("build", help="write every file of the bait")
    build.add_argument("--out", type=Path, default=Path("out"), metavar="DIR", help="folder to build in (default: out)")
    for command in (check, weigh, build):
        command.add_argument("recipe", type=Path, metavar="RECIPE", help="a parameter file (TOML)")
        command.add_argument("--json", action="store_true", help="one JSON document on stdout")
        command.add_argument("--allow-outside", action="store_true", help="let the recipe name files outside its own folder")
    complete = commands.add_parser("completion", help="print the shell's completion script")
    complete.add_argument("shell", choices=("bash", "zsh", "tcsh"))
    return top


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaint is an error like any other."""

    def error(self, message: str) -> None:  # type: ignore[override]  # raises, as the base class exits
        raise InputError([Mistake("command line", 0, "", "", message, self.format_usage().strip())])


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code of the contract's section 3."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    debug = "--debug" in words
    try:
        options = parser().parse_args([w for w in words if w != "--debug"])
        return RUN[options.command](options)
    except BodygenError as error:
        if debug:
            raise
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("stopped; nothing was left half done", file=sys.stderr)
        return FAULT
    except BrokenPipeError:
        sys.stderr.close()
        return FAULT
    except OSError as error:
        if debug:
            raise
        where = f" ({error.filename})" if error.filename else ""
        print(f"{error.strerror or error}{where}", file=sys.stderr)
        return FAULT
    except Exception as error:  # noqa: BLE001  no traceback reaches a person
        if debug:
            raise
        print(f"a fault of bodygen's own: {type(error).__name__}: {error}\nrun it again with --debug to see where", file=sys.stderr)
        return FAULT


def _new(options: argparse.Namespace) -> int:
    from bodygen.recipe.new import new_recipe  # noqa: PLC0415  each command loads what it needs

    path = new_recipe(options.name, Path(), source=options.source, size=options.size, ruler=options.units)
    print(f"wrote {path}; next: bodygen check {path}", file=sys.stderr)
    print(path)
    return DONE


def _check(options: argparse.Namespace) -> int:
    from dataclasses import asdict  # noqa: PLC0415

    from bodygen import pipeline  # noqa: PLC0415
    from bodygen.recipe.read import read_recipe  # noqa: PLC0415
    from bodygen.report.properties import as_json  # noqa: PLC0415
    from bodygen.report.summary import findings_text  # noqa: PLC0415

    assessment = pipeline.assess(read_recipe(options.recipe, allow_outside=options.allow_outside))
    if options.json:
        print(as_json({"name": assessment.recipe.name, "findings": [asdict(f) for f in assessment.findings]}), end="")
    else:
        lines = findings_text(assessment.findings, colour=_colour())
        print("\n".join([f"{options.recipe}: reads well", *(lines or ["nothing to doubt"])]))
    return DESIGN if assessment.failed else DONE


def _weigh(options: argparse.Namespace) -> int:
    from bodygen import pipeline  # noqa: PLC0415
    from bodygen.recipe.read import read_recipe  # noqa: PLC0415
    from bodygen.report.properties import as_json, properties  # noqa: PLC0415
    from bodygen.report.summary import as_text  # noqa: PLC0415

    recipe = read_recipe(options.recipe, allow_outside=options.allow_outside)
    assessment = pipeline.assess(recipe, _readings(options.weighed))
    print(as_json(properties(assessment)) if options.json else as_text(assessment, colour=_colour()), end="")
    return DESIGN if assessment.failed else DONE


def _build(options: argparse.Namespace) -> int:
    from bodygen import pipeline  # noqa: PLC0415
    from bodygen.recipe.read import read_recipe  # noqa: PLC0415
    from bodygen.report.properties import as_json  # noqa: PLC0415

    recipe = read_recipe(options.recipe, allow_outside=options.allow_outside)
    made = pipeline.make(recipe, options.out, options.recipe.stem, say=_say)
    if options.json:
        print(as_json(made.properties), end="")
    else:
        print(made.sheet, end="")
    return DONE


def _completion(options: argparse.Namespace) -> int:
    import shtab  # noqa: PLC0415

    print(shtab.complete(parser(), shell=options.shell))
    return DONE


def _readings(written: Sequence[str]) -> list[tuple[str, float]]:
    from bodygen import units  # noqa: PLC0415
    from bodygen.recipe.keys import STAGES  # noqa: PLC0415

    readings, mistakes = [], []
    for text in written:
        stage, equals, mass = text.partition("=")
        try:
            if not equals or stage.strip() not in STAGES:
                raise ValueError
            readings.append((stage.strip(), units.mass(mass.strip())))
        except ValueError as error:
            problem = getattr(error, "problem", "no reading of a weigh-in")
            accepted = f'STAGE=MASS, such as "drilled=9.8 g"; stages: {", ".join(STAGES)}'
            mistakes.append(Mistake("command line", 0, "--weighed", f'"{text}"', problem, accepted))
    if mistakes:
        raise InputError(mistakes)
    return readings


def _say(text: str) -> None:
    """Progress, on a terminal only."""
    if sys.stderr.isatty():
        print(f"  {text}", file=sys.stderr, flush=True)


def _colour() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


RUN = {"new": _new, "check": _check, "weigh": _weigh, "build": _build, "completion": _completion}
