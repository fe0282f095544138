"""Offers of a bait that is meant to be drawn: with some ballast the estimate of its dive has no ground.

Knows offers, and that a dive can be refused or has a depth. How a recipe is asked for its dive comes in from above.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from bodygen.ballast.goal import relaxed_limits
from bodygen.ballast.solve import Solution
from bodygen.findings import Finding
from bodygen.recipe.model import Recipe

if TYPE_CHECKING:
    from bodygen.ballast.offer import Offer

Depth = tuple[float, float, float]
"""Low, likely and high [m]."""
Dives = Callable[[Recipe, float], tuple[tuple[Finding, ...], Depth | None]]
"""Why no dive is told of a recipe at a speed [m/s], empty where one is; and its depth, where the line is known."""


def that_dive(solution: Solution, dives: Dives) -> Solution:
    """Leave out the offers of which no dive could be told, where the recipe says how fast the bait is drawn.

    In their place come those for which there was no room. What is meant to sink, or has no lip, is left as it is.
    Where no offer dives all stay, and a finding says so.

    Parameters
    ----------
    solution : Solution
        Every offer.
    dives : callable
        The dive of a changed recipe.

    Notes
    -----
    The limits are those of ``dive.toml``; common practice, no published source.
    """
    recipe, goal = solution.given.recipe, solution.goal
    speed = recipe.retrieve.speed_m_s if recipe.retrieve else None
    if speed is None or recipe.lip is None or goal.state == "sinks" or goal.sinks_at is not None:
        return solution
    kept: list[Offer] = []
    lost: list[tuple[Finding, ...]] = []
    for offer in (*solution.offers, *solution.spare):
        if len(kept) == len(solution.offers):
            break
        why, depth = dives(offer.recipe, speed)
        lost += [why] if why else []
        kept += [] if why else [replace(offer, depth_m=depth)]
    words = "; ".join(dict.fromkeys(one.told(recipe.units) for why in lost for one in why))
    if not kept:
        doubt = Finding("ballast-no-dive", "warning", "goal", f"no dive can be told of any of them: {words}")
        return replace(solution, findings=(*solution.findings, doubt) if lost else solution.findings)
    found = solution.findings
    if kept[0].recipe is not solution.offers[0].recipe and kept[0].met:
        left = relaxed_limits(solution.offers[0])
        found = (*relaxed_limits(kept[0]), *(f for f in found if f not in left))
    if lost:
        remedy = f"{len(lost)} more would float so and are left out, as no dive could be told of them: {words}"
        found = (*found, Finding("ballast-no-dive", "note", "goal", remedy))
    return replace(solution, offers=tuple(kept), findings=found)
