"""What each command does: go through the same door as any program (``bodygen/__init__.py``), and print.

Nothing is computed here. Every handler takes the parsed options and returns the exit code; what it needs it loads
itself, so that ``weigh`` never pays for what only ``build`` uses.
"""

# ruff: noqa: PLC0415  (see above)

import sys
from argparse import Namespace
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import bodygen
from bodygen.commands.copying import DESIGN, DONE, compare, scale, trace
from bodygen.commands.serving import serve
from bodygen.commands.studying import study
from bodygen.commands.trimming import trim
from bodygen.console.terminal import show, show_json, tell, wants_colour
from bodygen.errors import DesignError, InputError, Mistake, did_you_mean, visible

if TYPE_CHECKING:
    from datetime import date

    from bodygen.assessment import Assessment
    from bodygen.dive.what_if.answer import Dive

__all__ = ["DESIGN", "DONE", "compare", "scale", "serve", "study", "trace", "trim"]


def new(options: Namespace) -> int:
    """Write a new recipe file."""
    from bodygen.recipe.new import new_recipe
    from bodygen.recipe.schema import FILE

    path = new_recipe(options.name, Path(), source=options.source, size=options.size, ruler=options.units)
    if not path.read_text(encoding="utf-8").startswith("#:schema"):
        tell(f"{FILE} here is not bodygen's: it stays as it is, and {path} names no schema")
    tell(f"wrote {path}; next: bodygen check {path}")
    show(str(path))
    return DONE


def check(options: Namespace) -> int:
    """Print every doubt about a recipe."""
    from bodygen.report.dive import dive_block, dive_text
    from bodygen.report.properties import as_json
    from bodygen.report.summary import findings_text

    assessment = bodygen.assess(_recipe(options))
    if options.json:
        document = {
            "name": assessment.recipe.name,
            "findings": [f.document(assessment.recipe.units) for f in assessment.findings],
            **({"dive": dive_block(assessment.dive)} if assessment.dive else {}),
        }
        show_json(as_json(document))
    else:
        lines = findings_text(assessment.findings, assessment.recipe.units, colour=wants_colour())
        lines = [f"{visible(str(options.recipe))}: reads well", *(lines or ["nothing to doubt"])]
        if dives := dive_text(assessment, brief=True):
            lines += ["How deep it runs", *dives]
        show("\n".join(lines))
    return DESIGN if assessment.failed else DONE


def weigh(options: Namespace) -> int:
    """Print weights, floating and findings, or ``properties.json``."""
    from bodygen.report.properties import as_json

    recipe = _recipe(options)
    history, board = _history(options)
    start = _first_day(options.coats_from, recipe)
    assessment = bodygen.assess(recipe, _readings(options.weighed), history, board, coats_from=start)
    if options.json:
        show_json(as_json(bodygen.properties(assessment)))
    else:
        show(bodygen.as_text(assessment, colour=wants_colour()))
        if start and assessment.calendar:
            from bodygen.report.calendar import calendar_text

            show(calendar_text(assessment.calendar, assessment.recipe, assessment.shaped.sizes[0]))
    return DESIGN if assessment.failed else DONE


def ballast(options: Namespace) -> int:
    """Print the bores that give the float asked for."""
    from bodygen.ballast.goal import OPTIONS, asked
    from bodygen.report.ballast import solution_document, solution_text
    from bodygen.report.properties import as_json

    recipe = _recipe(options)
    goal = asked(recipe, {name: getattr(options, name) for name in OPTIONS}, options.waterline, options.drills)
    history, board = _history(options)
    solution = bodygen.solve_ballast(recipe, goal, _readings(options.weighed), history, board)
    if options.json:
        show_json(as_json(solution_document(solution)))
    else:
        show(solution_text(solution, colour=wants_colour()))
    return DONE if any(offer.met for offer in solution.offers) else DESIGN


def dive(options: Namespace) -> int:
    """Print how deep it runs, as a range, and lips for a wanted depth."""
    from bodygen.dive.asked import OPTIONS
    from bodygen.log import store
    from bodygen.report.dive_answer import answer_document, answer_text
    from bodygen.report.properties import as_json

    if options.picture:
        from bodygen.files.single import check_picture_name

        check_picture_name(options.picture, "--picture")
    assessment = bodygen.assess(_recipe(options))
    found = bodygen.estimate_dive(
        assessment,
        {name: getattr(options, name) for name in OPTIONS},
        options.how,
        store.builds(store.log_beside(options.recipe)),
        options.measured,
        options.aim or (),
    )
    if options.json:
        show_json(as_json(answer_document(found)))
    else:
        show(answer_text(found, assessment.flotation.water_g_cm3, colour=wants_colour()))
    if options.picture:
        _draw_dive(assessment, found, options.picture)
    aimed = found.aimed
    wanted = aimed is None or any(offer.met for offer in aimed.offers)
    return DONE if found.estimate.depth is not None and wanted else DESIGN


def _draw_dive(assessment: "Assessment", found: "Dive", path: Path) -> None:
    """Draw how deep it runs, where a depth is told."""
    from bodygen.files.pictures import depths_page
    from bodygen.files.single import write_picture

    if found.estimate.depth is None:
        tell(f"no depth is told, so {path} was not drawn")
        return
    write_picture(depths_page(assessment, found.estimate, found.effects), path)
    tell(f"wrote {path}")


def bore(options: Namespace) -> int:
    """Print how much metal a plain bore holds, or how deep it must be."""
    from bodygen import units
    from bodygen.recipe.readers.bores import drill_sizes
    from bodygen.report.bore import bore_document, bore_text
    from bodygen.report.properties import as_json
    from bodygen.tables import load

    drill = drill_sizes().get(options.diameter)
    bare = options.units or "mm"
    written_in_inches = any(units.in_inches(text) for text in (options.diameter, options.depth) if text)
    ruler: Literal["mm", "in"] = options.units or ("in" if written_in_inches else "mm")
    asked: dict[str, Callable[[], float | None]] = {
        "diameter": lambda: drill or units.length(options.diameter, bare),
        "depth": lambda: units.length(options.depth, bare) if options.depth else None,
        "mass": lambda: units.mass(options.mass) if options.mass else None,
    }
    figures: dict[str, float | None] = {}
    mistakes = []
    for name, read in asked.items():
        written = getattr(options, name)
        problem, accepted = "nothing fits into that.", "more than 0"
        try:
            figures[name] = read()
        except units.UnitError as error:
            problem, accepted = error.problem, error.accepted
        value = figures.get(name, -1.0)
        if value is not None and not value > 0:
            mistakes.append(Mistake("command line", 0, name, f'"{written}"', problem, accepted))
    metals = load("metals")["metal"]
    if options.metal not in metals:
        problem = f"no such metal.{did_you_mean(options.metal, metals)}"
        mistakes.append(Mistake("command line", 0, "--metal", options.metal, problem, f"one of {', '.join(metals)}"))
    if mistakes:
        raise InputError(mistakes)
    document = bore_document(
        figures["diameter"] or 0.0, options.metal, options.tip, options.depth_to, figures["depth"], figures["mass"]
    )
    if options.json:
        show_json(as_json(document))
    else:
        show(bore_text(document, ruler))
    return DONE


def build(options: Namespace) -> int:
    """Write every file of a recipe, or the kinds asked for."""
    from bodygen.report.properties import as_json

    recipe = _recipe(options)
    only = ",".join(options.only) if options.only else None
    start = _first_day(options.coats_from, recipe)
    made = bodygen.build(recipe, options.out, only=only, say=_say, replace_other=options.replace, coats_from=start)
    if options.json:
        show_json(as_json(made.properties))
    else:
        show(made.sheet)
    return DONE


def log(options: Namespace) -> int:
    """Write real builds down, and list them with what they taught."""
    from dataclasses import fields

    from bodygen.log import entry, learned, listing, store
    from bodygen.report.properties import as_json
    from bodygen.weights.expected import expectations

    recipe = _recipe(options)
    if options.csv:
        listing.check_csv_name(options.csv)
    file = options.log or store.log_beside(options.recipe)
    words = entry.Words(**{f.name: getattr(options, f.name) for f in fields(entry.Words)})
    assessment = bodygen.assess(recipe)
    expected = expectations(assessment.recipe, assessment.measured)  # with the place and length of what is bent
    if words.says_anything:
        from bodygen.diving import tell_test

        tell("\n".join(entry.book(file, recipe, words, lambda: expected, lambda test: tell_test(assessment, test))))
    everything, damage = store.read(file)
    mine = [one for one in everything if one.recipe == recipe.name]
    taught = learned.learned(everything, expected, recipe.name, mine[-1].board if mine else "")
    if options.csv:
        listing.export_csv(mine, options.csv)
    if options.json:
        show_json(as_json(listing.as_document(recipe.name, mine, taught)))
    else:
        show(listing.listing(recipe.name, mine, taught, recipe.units))
    if damage:
        raise InputError(damage)
    return DONE


def explain(options: Namespace) -> int:
    """Say what a word means."""
    from bodygen.explain.answers import answers
    from bodygen.explain.shown import as_document, as_text

    found = answers(options.word)
    if options.json:
        from bodygen.report.properties import as_json

        show_json(as_json(as_document(options.word, found)))
    else:
        show(as_text(found))
    return DONE


def show_refusal(error: DesignError) -> None:
    """Print why no answer can be given, as the JSON document that was asked for."""
    from bodygen.report.properties import as_json

    show_json(as_json(error.document()))


def _recipe(options: Namespace) -> "bodygen.Recipe":
    return bodygen.read_recipe(options.recipe, allow_outside=options.allow_outside)


def _history(options: Namespace) -> tuple[tuple, str]:  # type: ignore[type-arg]  # builds of the log room, loaded below
    """The bench log's builds and the board of the latest, when asked to learn from them."""
    if not options.learned:
        return (), ""
    from bodygen.log import store

    return store.builds(store.log_beside(options.recipe)), options.board or ""


def _readings(written: Sequence[str]) -> list[tuple[str, float]]:
    if not written:
        return []
    from bodygen.log.entry import scale_readings

    readings, mistakes = scale_readings(written)
    if mistakes:
        raise InputError(mistakes)
    return readings


def _first_day(written: str | None, recipe: "bodygen.Recipe") -> "date | None":
    """The day of ``--coats-from``; a mistake where it is none, or where there is no coat to begin with."""
    if written is None:
        return None
    from datetime import date

    from bodygen.recipe.readers.finish import DATE_TAKEN, day_of

    day = day_of(written)
    problem, accepted = "not a day of the calendar.", DATE_TAKEN
    if day is not None and not recipe.coats:
        problem, accepted = "the recipe has no coat.", "a recipe with [[coat]]"
    if day is None or not recipe.coats:
        raise InputError([Mistake("command line", 0, "--coats-from", f'"{written}"', problem, accepted)])
    return date.fromisoformat(day)


def _say(text: str) -> None:
    """Progress, on a terminal only."""
    if sys.stderr.isatty():
        tell(f"  {text}")
