"""Offers of a bait that is meant to be drawn: with some ballast the estimate of its dive has no ground.

Knows offers, and that a dive can be refused. How a recipe is asked for its dive comes in from above.
"""

from collections.abc import Callable
from dataclasses import replace

from bodygen.ballast.solve import Solution
from bodygen.findings import Finding
from bodygen.recipe.model import Recipe


def that_dive(solution: Solution, refuses: Callable[[Recipe, float], tuple[Finding, ...]]) -> Solution:
    """Leave out the offers of which no dive could be told, where the recipe says how fast the bait is drawn.

    What is meant to sink, or has no lip, is left as it is. Where no offer dives all stay, and a finding says so.

    Parameters
    ----------
    solution : Solution
        Every offer.
    refuses : callable
        Why no dive is told of a recipe at a speed [m/s]; empty where one is.

    Notes
    -----
    The limits are those of ``dive.toml``; common practice, no published source.
    """
    recipe, goal = solution.given.recipe, solution.goal
    speed = recipe.retrieve.speed_m_s if recipe.retrieve else None
    if speed is None or recipe.lip is None or goal.state == "sinks" or goal.sinks_at is not None:
        return solution
    against = [(offer, refuses(offer.recipe, speed)) for offer in solution.offers]
    lost = [why for _, why in against if why]
    if not lost:
        return solution
    words = "; ".join(dict.fromkeys(one.told(recipe.units) for why in lost for one in why))
    kept = tuple(offer for offer, why in against if not why)
    if kept:
        remedy = f"{len(lost)} more would float so and are left out, as no dive could be told of them: {words}"
        note = Finding("ballast-no-dive", "note", "goal", remedy)
        return replace(solution, offers=kept, findings=(*solution.findings, note))
    doubt = Finding("ballast-no-dive", "warning", "goal", f"no dive can be told of any of them: {words}")
    return replace(solution, findings=(*solution.findings, doubt))
