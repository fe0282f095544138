"""What a maker should hear about ballast: a goal that is not met, and a reserve that is smaller than its spread.

Knows goals, offers by their figures, and percentiles. Knows nothing of how either was found.
"""

from dataclasses import replace
from math import degrees
from typing import TYPE_CHECKING

from bodygen.ballast.answer import Answer
from bodygen.ballast.held import Wish, held
from bodygen.ballast.wood import LIMIT_KEYS, limit_words
from bodygen.findings import Finding, Severity
from bodygen.flotation.equilibrium import Flotation
from bodygen.recipe.model import Goal, Units
from bodygen.units import length_text

if TYPE_CHECKING:  # both import this module
    from bodygen.ballast.offer import Offer
    from bodygen.ballast.spread import Spread

PRACTICE = "common practice, no published source"


def no_answer(
    goal: Goal, reserve: float | None, nearest: "Offer | None", stops: tuple[Finding, ...], why: str, units: Units
) -> tuple[Finding, ...]:
    """Say that the goal cannot be had, what stops it, and the nearest that can."""
    wanted = _words(goal, reserve, units)
    why = why or "; ".join(limit_words(stop, units) for stop in stops if stop.severity != "note")[:200]
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
    worst = "; ".join(limit_words(finding, offer.recipe.units) for finding in offer.findings)
    remedy = f"no bore keeps every limit; the first leaves {worst}: accept it, or change what limits it"
    return (Finding("limits-relaxed", "warning", ", ".join(keys) or "limits", remedy),)


def _figures(goal: Goal, reserve: float | None, nearest: "Offer") -> tuple[float | None, float | None, str]:
    if reserve is not None:
        return nearest.reserve_g, reserve, "g"
    if goal.pitch is not None:
        return nearest.pitch_deg, degrees(goal.pitch), "deg"
    return nearest.waterline_mm, goal.waterline.height if goal.waterline else None, "mm"


def _words(goal: Goal, reserve: float | None, units: Units) -> str:
    parts = [] if reserve is None else [f"{reserve:+.2f} g of reserve"]
    parts += [] if goal.pitch is None else [f"{degrees(goal.pitch):.1f} deg of pitch"]
    if goal.waterline is not None:
        height, x = (length_text(length, units) for length in (goal.waterline.height, goal.waterline.x))
        parts.append(f"the water at z = {height} over x = {x}")
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
    return found if goal is None else (*found, *goal_doubts(held(answer, goal)))


def goal_doubts(wishes: tuple[Wish, ...]) -> tuple[Finding, ...]:
    """Doubt a bait that is not what its ``[goal]`` asks for."""
    found: list[Finding] = []
    for wish in wishes:
        if wish.met:
            continue
        if wish.name == "reserve":
            remedy = f"the goal is {wish.wanted:+.2f} g: `bodygen ballast` finds the bore"
            found.append(Finding("goal-reserve", "warning", "goal", remedy, wish.got, wish.wanted, "g", PRACTICE))
        elif wish.name == "pitch":
            remedy = f"the goal is {wish.wanted:.1f} deg: `bodygen ballast` finds the place"
            found.append(Finding("goal-pitch", "warning", "goal.pitch", remedy, wish.got, wish.wanted, "deg", PRACTICE))
        else:
            remedy, at = "the goal is the water at z = {} there: `bodygen ballast` finds the bore", (wish.wanted,)
            where, got = "goal.waterline", wish.got
            found.append(
                Finding("goal-waterline", "warning", where, remedy, got, wish.wanted, "mm", PRACTICE, lengths=at)
            )
    return tuple(found)
