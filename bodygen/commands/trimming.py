"""What the command that trims a floated bait does: through the door, and print. Nothing is computed here."""

# ruff: noqa: PLC0415  (what a command needs it loads itself)

from argparse import Namespace
from pathlib import Path

import bodygen
from bodygen.commands.copying import DESIGN, DONE
from bodygen.console.terminal import show, show_json, tell
from bodygen.errors import InputError

REFUSED = 2


def trim(options: Namespace) -> int:
    """Print what the tub told of a bait and what to do, and write what was seen into its log."""
    from bodygen.log.entry import scale_readings
    from bodygen.report.properties import as_json
    from bodygen.report.trim import trim_document, trim_text
    from bodygen.trim.readings import OPTIONS

    recipe = bodygen.read_recipe(options.recipe, allow_outside=options.allow_outside)
    weighed, mistakes = scale_readings(options.weighed)
    if mistakes:
        raise InputError(mistakes)
    found = bodygen.trim_bait(recipe, {name: getattr(options, name) for name in OPTIONS}, weighed)
    if options.json:
        show_json(as_json(trim_document(found)))
    else:
        show(trim_text(found))
    if found.inferred.contradicts:
        return REFUSED
    _into_the_log(options.recipe, found)
    return DONE if found.met else DESIGN


def _into_the_log(recipe: Path, found: "bodygen.Trimmed") -> None:
    """Write down what was seen and what was advised, where the log has a build of this recipe."""
    from bodygen.log import store
    from bodygen.log.entry import today
    from bodygen.log.record import Remark
    from bodygen.trimming.floated import water_test

    file = store.log_beside(recipe)
    mine = [build for build in store.builds(file) if build.recipe == found.recipe.name]
    if not mine:
        tell('no build of it in the log, so nothing was written there: bodygen log RECIPE --start "your board" first')
        return
    day = today()
    advised = [Remark(day, f"trim advised: {one.change.what}") for one in found.advice[:1]]
    store.add_records(file, mine[-1].number, water_test(found, day), *advised)
    tell(f"build {mine[-1].number}: water test at {found.said.stage} written down")
