"""How deep a bait runs, asked of the whole flow: what is estimated, what a change does, which lip gives a wanted depth.

The depth of one assessment is ``assessment.estimate_of``; here recipes are changed and assessed again.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from bodygen.assessment import Assessment, dive_of, estimate_of, hooks_of
from bodygen.dive.asked import DiveAsked, MeasuredDive, conditions_asked, measured_dives, wanted_depths
from bodygen.dive.estimate import Estimate
from bodygen.dive.readings import asked_in, dive_readings, just_measured, with_told
from bodygen.dive.spread import DiveReading, How
from bodygen.dive.what_if.aim import Tried, aim
from bodygen.dive.what_if.answer import Dive
from bodygen.dive.what_if.effects import effects
from bodygen.dive.what_if.size import deepest_lip
from bodygen.findings import Finding
from bodygen.pipeline import assess_quickly
from bodygen.recipe.model import Recipe

if TYPE_CHECKING:
    from bodygen.log.record import Build, WaterTest


def estimate_dive(
    assessment: Assessment,
    options: Mapping[str, str | None] | None = None,
    how: How | None = None,
    history: "Sequence[Build]" = (),
    measured: Sequence[str] = (),
    wanted: Sequence[str] = (),
) -> Dive:
    """How deep a bait runs, as a range, and what it is told for.

    Parameters
    ----------
    assessment : Assessment
        Of the bait as it is.
    options : Mapping[str, str or None]
        ``line_out``, ``line``, ``speed``, ``tip`` as a maker writes them; what is left out is as the recipe says.
    how : "tow" or "retrieve", optional
        Left out, a cast that is drawn home.
    history : sequence of Build
        The bench log, for the depths that were measured.
    measured : sequence of str
        Dives of this bait, each "DEPTH at LENGTH of DIAMETER, SPEED".
    wanted : (str, str), optional
        Least and most depth to find a lip for.

    Returns
    -------
    Dive
        Its ``estimate.depth`` is None where the model has no ground; ``estimate.refused`` says why.

    Raises
    ------
    InputError
        What cannot be read.
    """
    recipe, options = assessment.recipe, options or {}
    asked = conditions_asked(recipe, options, how)
    told = measured_dives(recipe, measured, how, options.get("tip"))
    low_high = wanted_depths(wanted)
    readings, silent = dive_readings(history)
    mine = [one for one in (_reading(assessment, dive) for dive in told) if one is not None]
    readings = [*readings, *mine]

    def of(a: Assessment) -> Estimate:
        return estimate_of(a, asked, readings)

    def again(changed: Recipe) -> Estimate:
        return of(assess_quickly(changed))

    found = of(assessment)
    aimed = None
    if low_high is not None and asked.conditions is not None and found.runs.inputs is not None:
        aimed = aim(found, recipe, *low_high, _trying(assessment, found, of))
    rows = effects(found, recipe, again)
    deepest = deepest_lip(recipe, again) if found.depth is not None else None
    return Dive(recipe, found, rows, deepest, silent, len(told), len(told) - len(mine), aimed)


def tell_test(assessment: Assessment, test: "WaterTest") -> "WaterTest":
    """A water test with a measured depth, and what the model says of that dive beside it."""
    return with_told(test, estimate_of(assessment, asked_in(test)))


def _reading(a: Assessment, dive: MeasuredDive) -> DiveReading | None:
    return just_measured(dive, estimate_of(a, DiveAsked(dive.conditions, dive.conditions.speed_m_s)))


def _trying(
    given: Assessment, found: Estimate, estimate: Callable[[Assessment], Estimate]
) -> Callable[[Recipe], Tried]:
    """Assess a changed recipe, and name the rules that it breaks and the given one keeps."""

    def doubts(*found: Finding) -> dict[tuple[str, str], Finding]:
        return {(f.code, f.where): f for f in found if f.severity != "note"}

    known = doubts(*given.findings, *found.runs.doubts)

    def tried(changed: Recipe) -> Tried:
        a = assess_quickly(changed)
        e = estimate(a)
        # a lip may be in the hooks' way; that it moves how the bait floats is for `ballast` to put right
        all_of_it = doubts(*a.findings, *hooks_of(a, dive_of(a)), *e.runs.doubts)
        return Tried(e, tuple(f for key, f in all_of_it.items() if key not in known))

    return tried
