"""An offer: one way to ballast a bait as the whole flow weighs and floats it, what it costs, and what to write down.

Also the nearest that can be had where a goal cannot: trials held to the limits of wood and drill. Knows trials and
answers. Knows nothing of how a trial was found.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import degrees, hypot

import numpy as np

from bodygen import tables
from bodygen.ballast.answer import Answer
from bodygen.ballast.bore import least_depth
from bodygen.ballast.bore_report import BoreReport, bore_report_of, bore_table, fill_table
from bodygen.ballast.drag import asks_for_a_speed, drag_for, speeds
from bodygen.ballast.goal import water_at
from bodygen.ballast.layout import Layout, given_bores, is_lead_free, own_fill, step, steps_around, wishes
from bodygen.ballast.target import Target, reserve_of
from bodygen.ballast.trial import Search, Trial, filling, without_new_bores
from bodygen.ballast.wood import broken, deepest, errors_of, to_back
from bodygen.findings import Finding
from bodygen.recipe.model import Bore, Fill, Goal, Recipe
from bodygen.recipe.readers.goal import LIFTS

HELD = 40
"""Trials that are held to their limits."""


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """One way to ballast it, as the whole flow weighs and floats it.

    ``met``: every figure asked for is reached within half a step of the drill (and of the place); ``within_g`` and
    ``within_deg`` are what that step is worth; ``scale_g`` what the scale reads with the ballast in, where the lift is
    just what was asked for. ``wood_to_back_mm``: least wood between ballast and back, None where no
    bore points at it. ``waterline_mm``: height of the water at the goal's station. ``speed_m_s``: low, likely, high,
    where a speed was asked. ``left_out``: the recipe's ballast bores that the offer does without. ``changes``: recipe
    key paths to new values (None: take the key out); ``findings`` are the limits that it breaks and the given bait does
    not. ``depth_m``: low, likely, high, how deep it then dives, where it was asked for that.
    """

    bores: tuple[BoreReport, ...]
    mass_g: float
    metal: str
    lead_free: bool
    reserve_g: float
    state: str
    pitch_deg: float
    roll_deg: float | None
    gm_mm: float
    gml_mm: float
    waterline_mm: float | None
    speed_m_s: tuple[float, float, float] | None
    wood_to_back_mm: float | None
    within_g: float
    within_deg: float
    scale_g: float
    met: bool
    findings: tuple[Finding, ...]
    recipe: Recipe
    changes: dict[str, object]
    left_out: tuple[str, ...] = ()
    depth_m: tuple[float, float, float] | None = None

    def __repr__(self) -> str:
        """One line: the metal and where it goes, and how the bait lies with it."""
        bores = ", ".join(f"{bore.name} {bore.bit_text}, {bore.depth_text}" for bore in self.bores)
        lies = f"a reserve of {self.reserve_g:+.2f} g, nose {self.pitch_deg:+.1f} deg"
        return f"<Offer{'' if self.met else ' NOT met'}: {self.mass_g:.2f} g {self.metal} in {bores}; {lies}>"


def offer_of(search: Search, trial: Trial, result: Answer) -> Offer:
    """Make the offer [g, mm, deg, m/s] of a trial that the whole flow has answered.

    Figures are the whole flow's; what half a step of the drill is worth is derived here, by the local model.
    """
    goal, float_, context = search.goal, result.flotation, search.context
    at = float_.attitude
    drag = drag_for(goal, result) if asks_for_a_speed(goal) else None
    reserve = reserve_of(goal, drag, float_.water_g_cm3)
    within_g, within_deg, within_mm = _steps_worth(search, trial, result)
    line = water_at(goal, at.up, at.water_height)
    breaks = broken(result.findings, result.recipe, context.given, trial.bores)
    met = not errors_of(breaks)
    met = met and (reserve is None or abs(float_.reserve_g - reserve) <= within_g)
    met = met and (goal.pitch is None or abs(at.pitch_deg - degrees(goal.pitch)) <= within_deg)
    if goal.waterline is not None:
        met = met and line is not None and abs(line - goal.waterline.height) <= within_mm
    reports = tuple(
        bore_report_of(place, result.recipe, result.items, result.sizes[0]) for place in trial.layout.places
    )
    recipe = trial.layout.with_bores(trial.bores)
    return Offer(
        bores=reports,
        mass_g=sum(b.mass_g for b in reports),
        metal=filling(trial).metal,
        lead_free=all(is_lead_free(own_fill(bore)) for bore in trial.bores),
        reserve_g=float_.reserve_g,
        state=float_.state,
        pitch_deg=at.pitch_deg,
        roll_deg=at.roll_deg,
        gm_mm=at.gm_mm,
        gml_mm=at.gml_mm,
        waterline_mm=line,
        speed_m_s=None if drag is None else speeds(float_.reserve_g, drag, float_.water_g_cm3),
        wood_to_back_mm=to_back(recipe, trial.bores, context.given),
        within_g=within_g,
        within_deg=within_deg,
        scale_g=_scale_reads(result) + (float_.reserve_g - reserve if met and reserve is not None else 0.0),
        met=met,
        findings=breaks,
        recipe=recipe,
        changes=changes_of(context.given.recipe, recipe, trial.bores) | search.taught,
        left_out=tuple(bore.name for _, bore in _left_out(context.given.recipe, recipe)),
    )


def _scale_reads(result: Answer) -> float:
    """What is on the scale once the ballast is in [g]: the stage of that name, with all that went on before it."""
    return next(stage.mass for stage in reversed(result.stages) if stage.name == "ballast")


def _steps_worth(search: Search, trial: Trial, result: Answer) -> tuple[float, float, float]:
    """What half a step of depth and place is worth: lift [g], pitch [deg], height of the water at the station [mm].

    A moved load turns the bait by its moment over weight times longitudinal GM.
    """
    units, at = result.recipe.units, result.flotation.attitude
    half = step(units) / 2
    lift, moment = 0.0, 0.0
    way = np.array([1.0, 0.0, 0.0]) + at.up[0] * -np.array(at.up)
    way /= max(float(np.linalg.norm(way)), 1e-9)
    for bore in trial.bores:
        fill = bore.fill or Fill()
        if trial.kind == "level":
            more = replace(bore, fill=replace(fill, level=fill.level - 0.005))
        else:
            more = replace(bore, depth=(bore.depth or 0.0) + half)
        here, there = search.context.adds(bore), search.context.adds(more)
        change = there[1] - here[1] - (there[0] - here[0]) * result.total.centre_of_mass
        lift += abs(there[0] - here[0])
        moment += abs(float(change @ way)) + (abs(here[0]) * half if trial.layout.free_x else 0.0)
    turn = moment / (result.total.mass * max(abs(at.gml_mm), 1e-6))
    sinks = lift * 10 / max(at.waterplane_cm2, 1e-6) / result.flotation.water_g_cm3
    reach = abs(search.goal.waterline.x - result.sizes[0] / 2) if search.goal.waterline is not None else 0.0
    return 1.05 * lift + 0.005, 1.2 * degrees(turn) + 0.1, 1.2 * (turn * reach + sinks) + 0.05


def _left_out(given: Recipe, offered: Recipe) -> list[tuple[int, Bore]]:
    """The recipe's own ballast bores, counted from 1, that an offer does without."""
    kept = {bore.name for bore in offered.bores}
    return [(n, bore) for n, bore in enumerate(given.bores, 1) if bore.kind == "ballast" and bore.name not in kept]


def changes_of(given: Recipe, offered: Recipe, bores: tuple[Bore, ...]) -> dict[str, object]:
    """Key paths of the recipe to new values [mm, g] (None: take the key out) that turn it into the one offered.

    A bore that the recipe has by name changes in its place, so that the order of the cuts stays; a new one goes behind
    all others. Bores that the offer does without are taken out last and from behind, so that every number before is
    still right.
    """
    changes: dict[str, object] = {}
    numbers = {bore.name: number for number, bore in enumerate(given.bores, 1)}
    new = 0
    for bore in bores:
        if bore.name not in numbers:
            new += 1
            changes |= {f"bore[{len(given.bores) + new}]": bore_table(bore, given.units)}
            continue
        key, old = f"bore[{numbers[bore.name]}]", given.bores[numbers[bore.name] - 1]
        before, after = (bore_table(one, given.units) for one in (old, bore))
        held, filled = fill_table(old.fill) if old.fill else {}, fill_table(bore.fill or Fill())
        for name in ("fill", "counterbore"):
            before.pop(name, None)
            wide = after.pop(name, None)
            if name == "counterbore" and old.counterbore is not None and wide is None:
                changes[f"{key}.counterbore"] = None
        changes |= {
            f"{key}.{name}": after.get(name) for name in (*before, *after) if before.get(name) != after.get(name)
        }
        changes |= {
            f"{key}.fill.{name}": filled.get(name)
            for name in ("metal", "placed", "level", "mass", "clearance")
            if held.get(name) != filled.get(name)
        }
    changed = {bore.name for bore in bores}
    for bore in offered.bores:  # what named a bore that is left out
        if bore.name in numbers and bore.name not in changed:
            old, key = given.bores[numbers[bore.name] - 1], f"bore[{numbers[bore.name]}].may_meet"
            changes |= {key: list(bore.may_meet) or None} if bore.may_meet != old.may_meet else {}
    return changes | {f"bore[{number}]": None for number, _ in reversed(_left_out(given, offered))}


def nearest(
    search: Search, tried: Sequence[Trial], target: Target
) -> tuple[list[tuple[Trial, Answer]], tuple[Finding, ...]]:
    """Of the trials that fail, the two that come nearest [g] when held to what can be made; and what stops them.

    Derived here: mass, and moment over a quarter of the length, together in squares.
    """
    limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]] = {}
    held: list[tuple[float, Trial, tuple[Finding, ...]]] = []
    hopeful = sorted((t for t in tried if t.kind == "depth" and np.isfinite(t.miss)), key=lambda t: t.miss)
    for trial in hopeful[:HELD]:
        bores, stop = _held(search, trial, limits)
        if bores:
            kept = replace(trial, bores=bores, stop=None)
            held.append((_gap(search, kept, target), kept, ((trial.stop,) if trial.stop else ()) + stop))
    best = sorted(held, key=lambda one: one[0])[:2]
    if not best:  # not even the shallowest bore anywhere
        own = [t.stop for t in tried if t.stop is not None][:1]
        return [], tuple(dict.fromkeys([*(f for _, stops in limits.values() for f in stops), *own]))
    stops = tuple(dict.fromkeys(f for _, _, found in best for f in found))
    asked = ((trial, search.ask.or_none(trial.layout.with_bores(trial.bores))) for _, trial, _ in best)
    return [(trial, answer) for trial, answer in asked if answer is not None], stops


def without_one(goal: Goal) -> list[tuple[str, Goal]]:
    """The goal [g, rad, mm] without each of its wishes in turn, where another is left: the wish's key and the rest.

    Examples
    --------
    >>> [(key, rest.reserve, rest.pitch) for key, rest in without_one(Goal(reserve=1.0, pitch=0.1))]
    [('pitch', 1.0, None), ('reserve', None, 0.1)]
    """
    lift = next((key for key in LIFTS if getattr(goal, key) is not None), "float" if goal.state == "suspends" else "")
    rests = []
    if goal.pitch is not None:
        rests.append(("pitch", replace(goal, pitch=None)))
    if goal.waterline is not None:
        rests.append(("waterline", replace(goal, waterline=None)))
    if lift:
        free = replace(goal, state=None, reserve=None, suspends_at=None, sinks_at=None, rises_at=None)
        rests.append((lift, free))
    return [(key, rest) for key, rest in rests if wishes(rest)]


def as_it_stands(search: Search) -> Offer | None:
    """The bait with the ballast that it has [g], as an offer that changes nothing; None without any."""
    given = search.context.given
    places = given_bores(given.recipe, given.sizes[0])
    if not places:
        return None
    layout = Layout(given.recipe, places)
    offer = offer_of(search, Trial(layout, layout.bores, "as it stands"), given)
    return replace(offer, changes=dict(search.taught))


def off_given(search: Search, reserve: float | None) -> float:
    """How far the bait as it stands is from the goal [-], with or without ballast; see ``off``.

    Common practice, no published source, as in ``off``.
    """
    given, goal = search.context.given.flotation, search.goal
    line = water_at(goal, given.attitude.up, given.attitude.water_height)
    return _off(goal, reserve, given.reserve_g, given.attitude.pitch_deg, line)


def _gap(search: Search, trial: Trial, target: Target) -> float:
    """How far a trial is from the target by the local model [g]: mass, and moment over a quarter of the length."""
    mass, moment = (bare := without_new_bores(search, trial.layout)).mass, bare.moment
    for bore in trial.bores:
        adds = search.context.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    lift = float(np.abs(target.mass - mass).min())
    if target.moment is None or target.along is None:
        return lift
    at = int(np.argmin(np.abs(target.mass - mass)))
    turn = float(moment @ target.along[at]) / mass - float(target.moment[at]) / float(target.mass[at])
    return hypot(lift, abs(turn) * mass / (search.context.given.sizes[0] / 4))


def _held(
    search: Search, trial: Trial, limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]]
) -> tuple[tuple[Bore, ...], tuple[Finding, ...]]:
    """A trial's bores no deeper than the wood allows and no shallower than a bore can be; and what stops them.

    ``limits`` remembers how deep each may go, for the other metals.
    """
    given, recipe = search.context.given, trial.layout.with_bores(trial.bores)
    bores: list[Bore] = []
    stops: tuple[Finding, ...] = ()
    for bore in trial.bores:
        bare = replace(bore, depth=None, fill=None)
        key = bare, replace(trial.bores[0], depth=None, fill=None)
        if key not in limits:
            limits[key] = deepest(recipe, bore, given, relaxed=True)
        most, stop = limits[key]
        if most <= 0:
            return (), stop
        if (bore.depth or 0.0) > most:
            stops += stop
        bores.append(replace(bore, depth=min(max(bore.depth or 0.0, _shallowest(bore, recipe)), most)))
    return tuple(bores), stops


def _shallowest(bore: Bore, recipe: Recipe) -> float:
    return steps_around(least_depth(bore), recipe.units)[-1]


def off(offer: Offer, goal: Goal, reserve: float | None) -> float:
    """How far an offer is from the goal: what counts as one in each wish, together in squares [-].

    What counts as one is common practice, no published source (``ballast.toml`` [nearest]).
    """
    return _off(goal, reserve, offer.reserve_g, offer.pitch_deg, offer.waterline_mm)


def _off(goal: Goal, reserve: float | None, got_g: float, got_deg: float, got_mm: float | None) -> float:
    alike = tables.load("ballast")["nearest"]
    lift = 0.0 if reserve is None else (got_g - reserve) / float(alike["reserve_g"])
    pitch = 0.0 if goal.pitch is None else (got_deg - degrees(goal.pitch)) / float(alike["pitch_deg"])
    line = 0.0
    if goal.waterline is not None:
        line = 1e3 if got_mm is None else (got_mm - goal.waterline.height) / float(alike["waterline_mm"])
    return hypot(lift, pitch, line)
