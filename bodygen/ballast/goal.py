"""What was asked for, a bait held against it, and what a maker should hear of the difference and of how sure it is.

A command line is read as ``[goal]`` is read, and laid over the recipe's own. Knows option names, goals, answers and
percentiles. Searches nothing, and knows nothing of how an offer was found.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import degrees, pi, radians, tan
from pathlib import Path
from typing import TYPE_CHECKING

from bodygen.ballast.answer import Answer
from bodygen.ballast.drag import asks_for_a_speed, drag_for
from bodygen.ballast.layout import step
from bodygen.ballast.target import asks_for_a_figure, reserve_of, water_of
from bodygen.ballast.wood import LIMIT_KEYS, limit_words
from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding, Severity
from bodygen.flotation.equilibrium import Flotation
from bodygen.flotation.water import density
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.model import Goal, Recipe, Units
from bodygen.recipe.readers.goal import LIFTS, read_goal
from bodygen.recipe.text.read_context import ReadContext, read_table
from bodygen.units import length_text
from bodygen.weights.cavities import metal_density
from bodygen.weights.item import MM3_PER_CM3

if TYPE_CHECKING:  # both import this module
    from bodygen.ballast.offer import Offer
    from bodygen.ballast.sureness.spread import Spread

OPTIONS = {
    "reserve": "reserve",
    "suspends": "suspends_at",
    "sinks": "sinks_at",
    "rises": "rises_at",
    "pitch": "pitch",
    "bores": "bores",
    "metal": "metal",
}
WISHES = (*LIFTS, "pitch", "waterline")
NEAR_G, NEAR_DEG, NEAR_MM = 0.05, 2.0, 0.1
"""Nearer than this to what was asked for no eye, and no kitchen scale, tells at the water."""


def asked(
    recipe: Recipe,
    options: Mapping[str, str | None],
    waterline: Sequence[str] | None = None,
    drills: Sequence[str] | None = None,
) -> Goal:
    """Read the goal of a command line [g, mm, rad, m/s, degC].

    Parameters
    ----------
    recipe : Recipe
        Its units, and its own goal. A wish on the command line takes the place of all its wishes; ``bores``, ``metal``
        and ``drills`` each take the place of its own.
    options : Mapping[str, str or None]
        ``OPTIONS`` by name, as written; None where it was not given.
    waterline : two texts, or None
        Station and height.
    drills : texts, or None
        As sold.

    Raises
    ------
    InputError
        Everything that cannot be read, or cannot be had together; or no wish at all.
    """
    raw: dict[str, object] = {OPTIONS[name]: text for name, text in options.items() if text is not None}
    if waterline is not None:
        raw["waterline"] = dict(zip(("x", "height"), waterline, strict=False))
    if drills:
        raw["drills"] = list(drills)
    ctx = ReadContext("command line", Path(), {}, units=recipe.units)
    values = read_table(ctx, "goal", raw, RECIPE["goal"].table)
    wished = read_goal(ctx, values)
    if ctx.mistakes:
        raise InputError([_on_command_line(m, options) for m in ctx.mistakes])
    given = recipe.goal or Goal()
    ways = {key: getattr(wished, key) for key in ("bores", "metal") if getattr(wished, key) is not None}
    if wished.drills:
        ways["drills"] = wished.drills
    if any(getattr(wished, wish) is not None for wish in WISHES):
        given = replace(given, state=None, **{wish: getattr(wished, wish) for wish in WISHES})
    goal = replace(given, **ways)
    if goal.state != "suspends" and all(getattr(goal, wish) is None for wish in WISHES):
        accepted = (
            'one of --reserve "2 g", --suspends "12 degC", --sinks "0.1 m/s", --rises, --pitch, --waterline; or [goal]'
        )
        raise InputError([Mistake("command line", 0, "", "", "nothing is asked for.", accepted)])
    return goal


def _on_command_line(mistake: Mistake, options: Mapping[str, str | None]) -> Mistake:
    """Word a mistake by the option it is in."""
    key = mistake.key.removeprefix("goal.")
    name = next((option for option, other in OPTIONS.items() if other == key), key)
    return replace(mistake, line=0, key=f"--{name}", written=f'"{options[name]}"' if options.get(name) else "")


@dataclass(frozen=True, slots=True)
class Wish:
    """One figure that a goal asks for: ``name`` is reserve, pitch or waterline, ``unit`` that of all three figures.

    ``within`` is what is near enough; ``got`` is None where there is no such figure (no water line wholly under).
    """

    name: str
    unit: str
    wanted: float
    got: float | None
    within: float

    @property
    def met(self) -> bool:
        """Whether it is near enough."""
        return self.got is not None and abs(self.got - self.wanted) <= self.within


def held(answer: Answer, goal: Goal) -> tuple[Wish, ...]:
    """Every wish of a goal [g, deg, mm] against a bait as it is, its lift in the goal's own water."""
    at, wishes = answer.flotation.attitude, []
    step_g = _one_step(answer, answer.recipe.units)
    if asks_for_a_figure(goal):
        water = density(water_of(goal, answer.recipe.water))
        drag = drag_for(goal, answer) if asks_for_a_speed(goal) else None
        wanted = reserve_of(goal, drag, water)
        if wanted is not None:
            lift = answer.hull.volume / MM3_PER_CM3 * water - answer.total.mass
            wishes.append(Wish("reserve", "g", wanted, lift, step_g))
    if goal.pitch is not None:
        wishes.append(Wish("pitch", "deg", degrees(goal.pitch), at.pitch_deg, NEAR_DEG))
    if goal.waterline is not None:
        sinks = step_g * 10 / max(at.waterplane_cm2, 1e-6) / answer.flotation.water_g_cm3
        tips = tan(radians(NEAR_DEG)) * abs(goal.waterline.x - answer.sizes[0] / 2)
        line = water_at(goal, at.up, at.water_height)
        wishes.append(Wish("waterline", "mm", goal.waterline.height, line, sinks + tips + NEAR_MM))
    return tuple(wishes)


def water_at(goal: Goal, up: tuple[float, float, float], water_height: float | None) -> float | None:
    """Height of the water in the mid-plane at the goal's station [mm], in body axes; None where there is none.

    Elementary: the plane up . p = height, at y = 0.

    Examples
    --------
    >>> from bodygen.recipe.model import Waterline
    >>> goal = Goal(waterline=Waterline(20.0, 1.0))
    >>> water_at(goal, (-0.6, 0.0, 0.8), 4.0)   # (4 + 0.6 * 20) / 0.8
    20.0
    """
    if goal.waterline is None or water_height is None or abs(up[2]) < 1e-6:
        return None
    return (water_height - up[0] * goal.waterline.x) / up[2]


def _one_step(answer: Answer, units: Units) -> float:
    """What a step of depth in every ballast bore is worth [g]; nearer than that no drill comes."""
    worth = NEAR_G
    for bore in answer.recipe.bores:
        if bore.fill is not None:
            more = metal_density(bore.fill) - answer.wood.g_cm3
            worth += pi / 4 * bore.diameter**2 * step(units) * more / MM3_PER_CM3 * (1 + bore.mirror)
    return worth


def no_answer(
    goal: Goal, reserve: float | None, nearest: "Offer | None", stops: tuple[Finding, ...], why: str, units: Units
) -> tuple[Finding, ...]:
    """Say that the goal cannot be had, what stops it, and the nearest that can [g, deg]."""
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
    """Say which wish stands in the way: without it the others can be had, with the reserve [g] and pitch [deg] told."""
    got = f"{offer.reserve_g:+.2f} g at {offer.pitch_deg:.1f} deg"
    remedy = f"this wish stands in the way of the others: without it they can be had, with {got}"
    return Finding("wish-to-give-up", "note", f"goal.{wish}", remedy)


def relaxed_limits(offer: "Offer") -> tuple[Finding, ...]:
    """Say which limits [mm] an offer leaves, where none was found that keeps them all."""
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


def spread_checks(flotation: Flotation, spread: "Spread", goal: Goal | None) -> tuple[Finding, ...]:
    """Doubt a reserve [g] that is smaller than its own spread: some of the baits made so will do the other thing.

    A bait that is meant to suspend always is; then it is a note on how to trim it.

    The tenth and the ninetieth percentile: common practice, no published source.
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
    return (Finding("reserve-within-spread", severity, "float.reserve_g", remedy, reserve, width, "g"),)


def bait_checks(answer: Answer, spread: "Spread") -> tuple[Finding, ...]:
    """What this package finds about a bait as it is: its reserve [g] against its spread, and against its goal."""
    goal = answer.recipe.goal
    found = spread_checks(answer.flotation, spread, goal)
    return found if goal is None else (*found, *goal_checks(held(answer, goal)))


def goal_checks(wishes: tuple[Wish, ...]) -> tuple[Finding, ...]:
    """Doubt a bait that is not what its ``[goal]`` asks for [g, deg, mm].

    Examples
    --------
    >>> goal_checks((Wish("pitch", "deg", 2.0, 2.1, 0.2), Wish("reserve", "g", 1.0, 0.4, 0.1)))
    (<warning goal-reserve at goal, 0.4 (limit 1) g>,)
    """
    found: list[Finding] = []
    for wish in wishes:
        if wish.met:
            continue
        if wish.name == "reserve":
            remedy = f"the goal is {wish.wanted:+.2f} g: `bodygen ballast` finds the bore"
            found.append(Finding("goal-reserve", "warning", "goal", remedy, wish.got, wish.wanted, "g"))
        elif wish.name == "pitch":
            remedy = f"the goal is {wish.wanted:.1f} deg: `bodygen ballast` finds the place"
            found.append(Finding("goal-pitch", "warning", "goal.pitch", remedy, wish.got, wish.wanted, "deg"))
        else:
            remedy, at = "the goal is the water at z = {} there: `bodygen ballast` finds the bore", (wish.wanted,)
            where, got = "goal.waterline", wish.got
            found.append(Finding("goal-waterline", "warning", where, remedy, got, wish.wanted, "mm", lengths=at))
    return tuple(found)
