"""What a maker should hear about ballast: a goal that is not met, and a reserve that is smaller than its spread.

Knows goals, offers by their figures, and percentiles. Knows nothing of how either was found.
"""

from dataclasses import replace
from math import degrees, pi
from typing import TYPE_CHECKING

from bodygen.ballast.aim import asks_for_a_figure, reserve_of, water_of
from bodygen.ballast.answer import Answer
from bodygen.ballast.bore import metal_density
from bodygen.ballast.drills import step
from bodygen.ballast.search import drag_for
from bodygen.ballast.wood import LIMIT_KEYS, limit_words
from bodygen.findings import Finding, Severity
from bodygen.flotation.equilibrium import Flotation
from bodygen.flotation.water import density
from bodygen.recipe.model import Goal
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.rooms import metal_row

if TYPE_CHECKING:  # both import this module
    from bodygen.ballast.offer import Offer
    from bodygen.ballast.spread import Spread

PRACTICE = "common practice, no published source"
NEAR_DEG = 2.0
"""Nearer to the pitch that was asked for no eye tells at the water."""


def no_answer(
    goal: Goal, reserve: float | None, nearest: "Offer | None", stops: tuple[Finding, ...], why: str = ""
) -> tuple[Finding, ...]:
    """Say that the goal cannot be had, what stops it, and the nearest that can."""
    wanted = _words(goal, reserve)
    why = why or "; ".join(limit_words(stop) for stop in stops if stop.severity != "note")[:200]
    because = f"; {why}" if why else ""
    stops = tuple(replace(stop, severity="note") for stop in stops[:4])  # reasons; nobody has drilled there
    if nearest is None:
        remedy = f"nothing comes nearer to {wanted} than the bait as it stands: another wood, body or metal{because}"
        return (Finding("goal-out-of-reach", "warning", "goal", remedy), *stops)
    got = f"{nearest.reserve_g:+.2f} g at {nearest.pitch_deg:.1f} deg"
    remedy = f"wanted {wanted}; the nearest is {got}{because}"
    value, limit, unit = _figures(goal, reserve, nearest)
    return (Finding("goal-out-of-reach", "warning", "goal", remedy, value, limit, unit), *stops)


def wish_to_give_up(wish: str, offer: "Offer") -> Finding:
    """Say which wish stands in the way: without it the others can be had."""
    got = f"{offer.reserve_g:+.2f} g at {offer.pitch_deg:.1f} deg"
    remedy = f"this wish stands in the way of the others: without it they can be had, with {got}"
    return Finding("wish-to-give-up", "note", f"goal.{wish}", remedy)


def relaxed_limits(offer: "Offer") -> tuple[Finding, ...]:
    """Say which limits an offer leaves, where none was found that keeps them all."""
    if not offer.findings:
        return ()
    keys = dict.fromkeys(f"limits.{LIMIT_KEYS[f.code]}" for f in offer.findings if f.code in LIMIT_KEYS)
    worst = "; ".join(limit_words(finding) for finding in offer.findings)
    remedy = f"no bore keeps every limit; the first leaves {worst}: accept it, or change what limits it"
    return (Finding("limits-relaxed", "warning", ", ".join(keys) or "limits", remedy),)


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


def spread_doubts(flotation: Flotation, spread: "Spread", goal: Goal | None) -> tuple[Finding, ...]:
    """Doubt a reserve that is smaller than its own spread: some of the baits made so will do the other thing.

    A bait that is meant to suspend always is; then it is a note on how to trim it.
    """
    low, high = spread.reserve_g.p10, spread.reserve_g.p90
    meant = goal.state if goal is not None else None
    suspends = meant == "suspends" or (goal is not None and goal.suspends_at is not None)
    reserve = flotation.reserve_g
    if not low < 0 < high:
        return ()
    most = max(spread.shares, key=lambda share: share.reserve).name if spread.shares else "the tables"
    weigh = min(spread.weigh_ins, key=lambda w: w.sd_after_g, default=None)
    trim = f"; weighing it {weigh.stage} and trimming then leaves {weigh.sd_after_g:.2f} g" if weigh is not None else ""
    remedy = f"eight baits in ten lie between {low:+.2f} and {high:+.2f} g; most of it is {most}{trim}"
    width = (high - low) / 2
    severity: Severity = "note" if suspends else "warning"
    return (Finding("reserve-within-spread", severity, "float.reserve_g", remedy, reserve, width, "g", PRACTICE),)


def bait_doubts(answer: Answer, spread: "Spread") -> tuple[Finding, ...]:
    """Everything this room doubts about a bait as it is: its reserve against its spread, and against its goal."""
    goal = answer.recipe.goal
    found = spread_doubts(answer.flotation, spread, goal)
    if goal is None:
        return found
    water = density(water_of(goal, answer.recipe.water))
    lift = answer.hull.volume / MM3_PER_CM3 * water - answer.total.mass
    wanted = reserve_of(goal, drag_for(goal, answer), water) if asks_for_a_figure(goal) else None
    return (*found, *goal_doubts(goal, answer.flotation.attitude.pitch_deg, lift, wanted, _one_step(answer)))


def _one_step(answer: Answer) -> float:
    """What a step of depth in every ballast bore is worth [g]; nearer than that no drill comes."""
    worth = 0.05
    for bore in answer.recipe.bores:
        if bore.fill is not None:
            more = metal_density(metal_row(bore.fill)) - answer.wood.g_cm3
            worth += pi / 4 * bore.diameter**2 * step(answer.recipe.units) * more / MM3_PER_CM3 * (1 + bore.mirror)
    return worth


def goal_doubts(
    goal: Goal, pitch_deg: float, reserve_g: float, wanted_g: float | None, within_g: float
) -> tuple[Finding, ...]:
    """Doubt a bait that is not what its ``[goal]`` asks for.

    Parameters
    ----------
    goal : Goal
        Of the recipe.
    pitch_deg, reserve_g : float
        How it lies, and its lift in the goal's water [deg, g].
    wanted_g, within_g : float
        The lift asked for, None where the goal leaves it free, and what is near enough [g].
    """
    found: list[Finding] = []
    if wanted_g is not None and abs(reserve_g - wanted_g) > within_g:
        remedy = f"the goal is {wanted_g:+.2f} g: `bodygen ballast` finds the bore"
        found.append(Finding("goal-reserve", "warning", "goal", remedy, reserve_g, wanted_g, "g", PRACTICE))
    if goal.pitch is not None and abs(pitch_deg - degrees(goal.pitch)) > NEAR_DEG:
        remedy = f"the goal is {degrees(goal.pitch):.1f} deg: `bodygen ballast` finds the place"
        limit = degrees(goal.pitch)
        found.append(Finding("goal-pitch", "warning", "goal.pitch", remedy, pitch_deg, limit, "deg", PRACTICE))
    return tuple(found)
