"""The command line: which commands and options there are, and how an error reaches a person. Computes nothing."""

import argparse
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn, TypeAlias

from bodygen import commands
from bodygen.console import completion, copying, studying, trimming
from bodygen.console.asked_recipe import RECIPE_HELP, recipe_path
from bodygen.console.completion import completes
from bodygen.console.terminal import hush, settle, show, tell
from bodygen.errors import BodygenError, DesignError, InputError, Mistake, did_you_mean
from bodygen.files.kinds import GROUPS, KINDS
from bodygen.version import VERSION

FAULT = 3
FIRST_STEPS = f"""bodygen {VERSION}: wooden diving baits from a parameter file.

  bodygen new "Evening bleak"           write a first recipe, evening-bleak.toml; change what you like in it
  bodygen check evening-bleak.toml      is it right, and does the design hold?
  bodygen weigh evening-bleak.toml      what it will weigh at each step, and how it will float
  bodygen ballast evening-bleak.toml    which bore gives the float you want
  bodygen build evening-bleak.toml      every file for the bench, in out/evening-bleak/

`bodygen --help` names every command, `bodygen COMMAND --help` its options.
"""
Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"  # noqa: SLF001  argparse has no public name for it


def parser() -> argparse.ArgumentParser:
    """Every command with its options; the shell completion is made from this too."""
    top = _Parser(prog="bodygen", description="Wooden diving baits from a parameter file.")
    top.add_argument("--version", action="version", version=f"bodygen {VERSION}")
    top.add_argument("--debug", action="store_true", help="show the traceback of a fault")
    to = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)
    _new(to)
    _of_recipe(to, "check", "is the recipe right, and does the design hold?")
    weigh = _of_recipe(to, "weigh", "what it weighs at each step, and how it sits in the water")
    _from_the_bench(weigh)
    _coats_from(weigh, "and tell it step by step")
    _ballast(to)
    _dive(to)
    trimming.add_trim(to)
    _bore(to)
    _build(to)
    _log(to)
    _serve(to)
    copying.add_trace(to)
    copying.add_scale(to)
    copying.add_compare(to)
    studying.add_study(to)
    _explain(to)
    _add_completion(to)
    return top


def _new(to: Commands) -> None:
    new = to.add_parser(
        "new", help="write a commented starter recipe", description="Write NAME.toml, a commented recipe."
    )
    new.add_argument("name", metavar="NAME", help="name of the bait; the file is named after it")
    source = new.add_argument(
        "--from", dest="source", type=Path, metavar="RECIPE", help="start from this recipe instead"
    )
    completes(source, "files")
    new.add_argument("--size", metavar="LENGTH", help='length of the new body, such as "3 in" or "80 mm"')
    new.add_argument("--units", choices=("mm", "in"), help="units of the starter recipe (default: mm)")


def _ballast(to: Commands) -> None:
    ballast = _of_recipe(to, "ballast", "which bore gives the float you want")
    ballast.add_argument("--reserve", metavar="MASS", help='float with this reserve, such as "2 g"')
    ballast.add_argument(
        "--suspends", metavar="TEMPERATURE", help='hang in water of this temperature, such as "12 degC"'
    )
    ballast.add_argument("--sinks", metavar="SPEED", help='sink this fast, such as "0.1 m/s" (an estimate)')
    ballast.add_argument("--rises", metavar="SPEED", help="rise this fast when let go below (an estimate)")
    ballast.add_argument("--pitch", metavar="ANGLE", help='nose up (+) or down (-) at rest, such as "-5 deg"')
    ballast.add_argument(
        "--waterline", nargs=2, metavar=("X", "HEIGHT"), help="the water stands this high on the body at X"
    )
    ballast.add_argument(
        "--bores", choices=("given", "one", "two"), help="the recipe's bores, or one or two in places to be found"
    )
    completes(ballast.add_argument("--metal", metavar="NAME", help="this metal and no other"), "metals")
    ballast.add_argument("--drills", nargs="+", metavar="DRILL", help='only these drills, such as "1/4" "5/16"')
    _from_the_bench(ballast)


def _dive(to: Commands) -> None:
    dive = _of_recipe(to, "dive", "how deep it runs, as a range")
    dive.add_argument("--line-out", metavar="LENGTH", help="how much line is out, or the cast (default: [line])")
    dive.add_argument("--line", metavar="DIAMETER", help='of the line, such as "0.28 mm" (default: [line])')
    dive.add_argument("--speed", metavar="SPEED", help="through the water (default: [retrieve])")
    dive.add_argument("--tip", metavar="LENGTH", help="of the rod's tip above the water (default: [retrieve], or 1 m)")
    _how_fished(dive)
    dive.add_argument("--aim", nargs=2, metavar=("LOW", "HIGH"), help="which lip, or tie, runs between these depths")
    dive.add_argument(
        "--measured",
        action="append",
        default=[],
        metavar='"DEPTH at LENGTH of DIAMETER, SPEED"',
        help='a dive of this bait that you measured, such as "2.1 m at 20 m of 0.3 mm, 1.2 m/s"',
    )
    picture = "depth against line out and speed, and what each change does, as .svg or .png"
    dive.add_argument("--picture", type=Path, metavar="FILE", help=picture)


def _bore(to: Commands) -> None:
    bore = to.add_parser(
        "bore",
        help="how much metal fits a bore, and how deep one holds a mass",
        description="A plain bore and its metal.",
    )
    bore.add_argument("diameter", metavar="DIAMETER", help='of the bore, or a drill\'s name: "3/8", "#30", "6 mm"')
    asked = bore.add_mutually_exclusive_group(required=True)
    asked.add_argument("--depth", metavar="LENGTH", help="how deep it is: how much fits?")
    asked.add_argument("--mass", metavar="MASS", help="what it is to hold: how deep?")
    metal = bore.add_argument("--metal", default="lead", metavar="NAME", help="a metal of the table (default: lead)")
    completes(metal, "metals")
    bore.add_argument(
        "--tip", choices=("flat", "twist", "ball"), default="flat", help="the drill's end (default: flat)"
    )
    bore.add_argument("--depth-to", choices=("shoulder", "point"), default="shoulder", help="what depth is measured to")
    bore.add_argument(
        "--units",
        choices=("mm", "in"),
        help="units of bare numbers (default: mm) and of the answer (default: as you wrote)",
    )
    bore.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")


def _build(to: Commands) -> None:
    build = _of_recipe(to, "build", "write every file of the bait")
    out = build.add_argument(
        "--out", type=Path, default=Path("out"), metavar="DIR", help="folder to build in (default: out)"
    )
    completes(out, "folders")
    _coats_from(build, "in calendar.txt")
    kinds = f"{', '.join(kind.name for kind in KINDS)}; {', '.join(GROUPS)}"
    only = build.add_argument(
        "--only", action="append", metavar="KINDS", help=f"only these kinds of files, such as jigs,lip: {kinds}"
    )
    completes(only, "kinds")
    build.add_argument(
        "--replace", action="store_true", help="take the place of another bait's files in the folder of this name"
    )


def _log(to: Commands) -> None:
    log = _of_recipe(to, "log", "write down real builds, and what they taught")
    log.add_argument(
        "--start", nargs="?", const="", metavar="BOARD", help="start a new build, with your words for the board"
    )
    _weighed(log)
    log.add_argument("--remark", action="append", default=[], metavar="TEXT", help="anything worth remembering")
    log.add_argument("--build", type=int, metavar="N", help="which build (default: this recipe's latest)")
    log.add_argument("--on", dest="day", metavar="DATE", help="the day, such as 2031-03-09 (default: today)")
    log.add_argument("--water-test", dest="state", metavar="STATE", help="floats, suspends or sinks")
    for name, what in (
        ("water", "its temperature"),
        ("nose", "nose angle at rest"),
        ("reserve", "weight it still carries"),
        ("depth", "how deep it ran"),
        ("line", "diameter of the line"),
        ("line-out", "length of line out"),
        ("speed", "speed through the water"),
        ("tip", "height of the rod's tip above the water"),
    ):
        log.add_argument(f"--{name}", metavar="FIGURE", help=f"with a water test: {what}")
    _how_fished(log, "with a depth: ")
    table = log.add_argument("--csv", type=Path, metavar="FILE", help="write this recipe's builds as a table")
    file = log.add_argument(
        "--log", type=Path, metavar="FILE", help="the log file (default: bench-log.sqlite beside the recipe)"
    )
    for argument in (table, file):
        completes(argument, "files")


def _serve(to: Commands) -> None:
    serve = to.add_parser(
        "serve",
        help="a page to change a bait on, in the browser",
        description="Show the recipes of a folder on a page in the browser, until it is stopped.",
    )
    folder = serve.add_argument("folder", nargs="?", type=Path, default=Path(), metavar="FOLDER", help="default: here")
    completes(folder, "folders")
    serve.add_argument("--host", default="127.0.0.1", metavar="H", help="listen there (default: this machine alone)")
    serve.add_argument("--port", type=int, metavar="P", help="default: the usual one, or any that is free")
    serve.add_argument("--no-open", action="store_true", help="open no browser")


def _how_fished(command: argparse.ArgumentParser, when: str = "") -> None:
    """Options that say which way the bait was, or is, drawn."""
    ways = command.add_mutually_exclusive_group()
    ways.add_argument("--tow", dest="how", action="store_const", const="tow", help=f"{when}towed at a steady speed")
    ways.add_argument(
        "--retrieve", dest="how", action="store_const", const="retrieve", help=f"{when}cast and drawn home (default)"
    )


def _explain(to: Commands) -> None:
    command = to.add_parser(
        "explain",
        help="what a key, a finding or a file is",
        description="Say what a word means, what is accepted for it, and what it feeds.",
    )
    word = command.add_argument(
        "word", metavar="WORD", help="a key (bore.depth, or depth), a finding (bore-near-skin), a kind of file, a file"
    )
    completes(word, "topics")
    command.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")


def _add_completion(to: Commands) -> None:
    command = to.add_parser("completion", help="print the shell's completion script")
    command.add_argument("shell", choices=("bash", "zsh", "tcsh"))
    command.add_argument(
        "--words", choices=completion.ASKED, help="print these instead, one a line: the script asks for them"
    )
    command.add_argument("--beside", type=Path, metavar="RECIPE", help="with --words boards: whose log")


def _of_recipe(to: Commands, name: str, about: str) -> argparse.ArgumentParser:
    """Add a command about one recipe."""
    command = to.add_parser(name, help=about, description=f"{about[0].upper()}{about[1:]}.")
    completes(command.add_argument("recipe", type=recipe_path, metavar="RECIPE", help=RECIPE_HELP), "files")
    command.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")
    command.add_argument(
        "--allow-outside", action="store_true", help="let the recipe name files outside its own folder"
    )
    return command


def _weighed(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--weighed", action="append", default=[], metavar='"STAGE=MASS"', help='off your scale, such as "drilled=9.8 g"'
    )


def _coats_from(command: argparse.ArgumentParser, where: str) -> None:
    """The option that says when the coats begin."""
    command.add_argument(
        "--coats-from",
        metavar="DATE",
        help=f"make the calendar of the coats from this day, such as 2031-03-04, {where} (default: finish.start)",
    )


def _from_the_bench(command: argparse.ArgumentParser) -> None:
    """Options that put the maker's own readings in."""
    _weighed(command)
    command.add_argument("--learned", action="store_true", help="start from what the bench log taught")
    board = command.add_argument("--board", metavar="BOARD", help="with --learned: the board, in the log's words")
    completes(board, "boards")


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaint is an error like any other."""

    def error(self, message: str) -> NoReturn:
        """Raise what argparse would have printed, with the nearest command where one was mistyped."""
        written = message.partition("invalid choice: '")[2].partition("'")[0]
        for what in ("COMMAND", "WAY"):
            if written and what in message:
                known = sorted(RUN) if what == "COMMAND" else re.findall(r"[a-z]+", message.partition("choose from")[2])
                hint = did_you_mean(written, known)
                message = f"no {what.lower()} {written}.{hint}" if hint else message
        raise InputError([Mistake("command line", 0, "", "", message, " ".join(self.format_usage().split()))])


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code, as the README's table has them."""
    closed = settle()
    # before numpy is loaded: no matrix here is large enough for threads, which cost a fifth of a short command's time
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    words = list(sys.argv[1:] if arguments is None else arguments)
    debug = "--debug" in words
    if not words:
        show(FIRST_STEPS)
        return commands.DONE
    try:
        options = parser().parse_args(copying.joined([w for w in words if w != "--debug"]))
        code = RUN[options.command](options)
        sys.stdout.flush()
    except KeyboardInterrupt:
        tell("stopped; nothing was left half done")
        return FAULT
    except Exception as error:
        if debug and not isinstance(error, BrokenPipeError):
            raise
        if isinstance(error, DesignError) and "--json" in words:
            commands.show_refusal(error)
        return _told(error)
    if "stdout" in closed:
        tell("stdout is closed: the answer could not be printed")
        return code or FAULT
    return code


def _told(error: Exception) -> int:
    """Say what went wrong, in words for a person, and return the exit code."""
    match error:
        case BodygenError():
            tell(str(error))
            return error.exit_code
        case BrokenPipeError():  # whoever read the answer has seen enough
            hush()
        case OSError():
            where = f" ({error.filename})" if error.filename else ""
            tell(f"{error.strerror or error}{where}; nothing was changed")
        case _:
            tell(f"a fault of bodygen's own: {type(error).__name__}: {error}")
            tell("run it again with --debug to see where")
    return FAULT


def _print_completion(options: argparse.Namespace) -> int:
    """Print the completion script of a shell, or the words that it offers."""
    if options.words:
        show("\n".join(completion.words_for(options.words, options.beside)))
    else:
        show(completion.script(parser(), options.shell))
    return commands.DONE


RUN = {
    "new": commands.new,
    "check": commands.check,
    "weigh": commands.weigh,
    "ballast": commands.ballast,
    "dive": commands.dive,
    "trim": commands.trim,
    "bore": commands.bore,
    "build": commands.build,
    "log": commands.log,
    "serve": commands.serve,
    "trace": commands.trace,
    "scale": commands.scale,
    "compare": commands.compare,
    "study": commands.study,
    "explain": commands.explain,
    "completion": _print_completion,
}
