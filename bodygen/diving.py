"""How deep a bait runs, asked of the whole flow: what is estimated, what a change does, which lip gives a wanted depth.

The depth of one assessment is ``assessment.estimate_of``; here recipes are changed and assessed again.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bodygen.assessment import Assessment, estimate_of
from bodygen.dive.asked import DiveAsked, MeasuredDive, conditions_asked, measured_dives, wanted_depths
from bodygen.dive.estimate import Estimate
from bodygen.dive.readings import asked_in, dive_readings, just_measured, with_told
from bodygen.dive.spread import DiveReading, How
from bodygen.dive.what_if.aim import Aimed, Tried, aim
from bodygen.dive.what_if.effects import DiveEffect, effects
from bodygen.findings import Finding
from bodygen.pipeline import assess_quickly
from bodygen.recipe.model import Recipe

if TYPE_CHECKING:
    from bodygen.log.record import Build, WaterTest


@dataclass(frozen=True, slots=True, eq=False)
class Dive:
    """What ``dive`` answers: the estimate, what each change does, lips for a wanted depth where one was asked.

    ``silent`` depths of the log teach nothing, as nothing was told when they were written. ``measured``: how many dives
    were told along with the question, of which ``unheard`` teach nothing.
    """

    recipe: Recipe
    estimate: Estimate
    effects: tuple[DiveEffect, ...] = ()
    silent: int = 0
    measured: int = 0
    unheard: int = 0
    aimed: Aimed | None = None

    def __repr__(self) -> str:
        """One line: the range, never a figure alone, or why there is none."""
        depth = self.estimate.depth
        if depth is None:
            return f"<Dive of {self.recipe.name!r}: no depth is told: {self.estimate.refused}>"
        return f"<Dive of {self.recipe.name!r}: {depth.low:.1f} to {depth.high:.1f} m, likely {depth.likely:.1f} m>"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Why no depth is told, or what to doubt of it."""
        return (*self.estimate.runs.refusals, *self.estimate.runs.doubts)


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

    found = of(assessment)
    aimed = None
    if low_high is not None and asked.conditions is not None and found.runs.inputs is not None:
        aimed = aim(found, recipe, *low_high, _trying(recipe, of))
    rows = effects(found, recipe, lambda changed: of(assess_quickly(changed)))
    return Dive(recipe, found, rows, silent, len(told), len(told) - len(mine), aimed)


def tell_test(assessment: Assessment, test: "WaterTest") -> "WaterTest":
    """A water test with a measured depth, and what the model says of that dive beside it."""
    return with_told(test, estimate_of(assessment, asked_in(test)))


def _reading(a: Assessment, dive: MeasuredDive) -> DiveReading | None:
    return just_measured(dive, estimate_of(a, DiveAsked(dive.conditions, dive.conditions.speed_m_s)))


def _trying(recipe: Recipe, estimate: Callable[[Assessment], Estimate]) -> Callable[[Recipe], Tried]:
    """Assess a changed recipe, and name the rules that it breaks and the given one keeps."""

    def doubts(a: Assessment, e: Estimate) -> dict[tuple[str, str], Finding]:
        serious = [f for f in (*a.findings, *e.runs.doubts) if f.severity != "note"]
        return {(f.code, f.where): f for f in serious}

    given = assess_quickly(recipe)
    known = doubts(given, estimate(given))

    def tried(changed: Recipe) -> Tried:
        a = assess_quickly(changed)
        e = estimate(a)
        return Tried(e, tuple(f for key, f in doubts(a, e).items() if key not in known))

    return tried
