"""What a maker should hear about ballast: a goal that is not met, and a reserve that is smaller than its spread.

Knows goals, offers by their figures, and percentiles. Knows nothing of how either was found.
"""

from math import degrees
from typing import TYPE_CHECKING

from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Flotation
from bodygen.recipe.model import Goal

if TYPE_CHECKING:  # both import this module
    from bodygen.ballast.solve import Offer
    from bodygen.ballast.spread import Spread

PRACTICE = "common practice, no published source"


def no_answer(goal: Goal, reserve: float | None, nearest: "Offer | None", stops: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Say that the goal cannot be had, what stops it, and the nearest that can."""
    wanted = _words(goal, reserve)
    if nearest is None:
        remedy = f"nothing comes near {wanted} within the wood and the drills: another wood, body or metal"
        return (Finding("goal-out-of-reach", "warning", "goal", remedy), *stops[:3])
    got = f"{nearest.reserve_g:+.2f} g at {nearest.pitch_deg:.1f} deg"
    why = f"; {stops[0].where}: {stops[0].code}" if stops else ""
    remedy = f"wanted {wanted}; the nearest within the limits is {got}{why}"
    value, limit, unit = _figures(goal, reserve, nearest)
    return (Finding("goal-out-of-reach", "warning", "goal", remedy, value, limit, unit), *stops[:3])


def _figures(goal: Goal, reserve: float | None, nearest: "Offer") -> tuple[float | None, float | None, str]:
    if reserve is not None:
        return nearest.reserve_g, reserve, "g"
    if goal.pitch is not None:
        return nearest.pitch_deg, degrees(goal.pitch), "deg"
    return nearest.waterline_mm, goal.waterline.height if goal.waterline else None, "mm"


def _words(goal: Goal, reserve: float | None) -> str:
    parts = [] if reserve is None else [f"{reserve:+.2f} g of reserve"]
    parts += [] if goal.pitch is None else [f"{degrees(goal.pitch):.1f} deg of pitch"]
    if goal.waterline is not None:
        parts.append(f"the water at z = {goal.waterline.height:.1f} mm over x = {goal.waterline.x:.1f} mm")
    return " and ".join(parts)
