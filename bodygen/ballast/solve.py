"""``bodygen ballast``: bores and metals that give the float that is asked for, ranked, each checked by the whole flow.

Knows how to search: many trials by the local model, then the best few put to the whole flow, which corrects the model,
until what is answered is what a weighing of the changed recipe says. Knows no words for it (``report/``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import degrees, hypot, radians

import numpy as np

from bodygen import tables
from bodygen.ballast.aim import Aim, aim_at, reserve_of, water_of
from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.doubts import no_answer
from bodygen.ballast.drag import Drag, drag_of, speeds, straight_up
from bodygen.ballast.drills import shop_set, step, written
from bodygen.ballast.hole import least_depth
from bodygen.ballast.layout import Layout, along, fills, is_lead_free, layouts, mode_of
from bodygen.ballast.trial import Base, Ground, Trial, base_of, ground_of, try_layout, try_level
from bodygen.ballast.wood import broken, deepest, judge, to_back
from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.recipe.model import Bore, Fill, Goal, Recipe, Units
from bodygen.units import length_text
from bodygen.weights.item import Item

VERIFIED = 5
"""Trials that are put to the whole flow."""
ROUNDS = 3
SHOWN_UNMET = 3


@dataclass(frozen=True, slots=True)
class Bored:
    """One bore of an offer [mm, g]; ``mass_g`` is the metal in it, both flanks of a mirror pair together."""

    name: str
    x_mm: float
    diameter_mm: float
    drill: str | None
    depth_mm: float
    depth_text: str
    level: float
    metal: str
    placed: str
    mass_g: float


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """One way to ballast it, as the whole flow weighs and floats it.

    ``met``: every figure asked for is reached within half a step of the drill (and of the place); ``within_g`` and
    ``within_deg`` are what that step is worth. ``wood_to_back_mm``: least wood between ballast and back, None where no
    bore points at it. ``waterline_mm``: height of the water at the goal's station. ``speed_m_s``: low, likely, high,
    where a speed was asked. ``changes``: recipe key paths to new values (None: take the key out); ``findings`` are the
    limits that it breaks and the given bait does not.
    """

    bores: tuple[Bored, ...]
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
    met: bool
    findings: tuple[Finding, ...]
    recipe: Recipe
    changes: dict[str, object]


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """What was asked, how the bait is as given, and the offers, best first.

    Where no offer is ``met`` the first is the nearest that can be had, and ``findings`` say what stops it.
    ``reserve_g`` is the lift asked for, None where it is left free; ``given`` the answer that the search began from.
    """

    goal: Goal
    mode: str
    reserve_g: float | None
    drag: Drag
    given: Answer
    offers: tuple[Offer, ...]
    findings: tuple[Finding, ...]
    asked: int


class _Counted:
    """Count how often the whole flow is asked."""

    def __init__(self, ask: Ask) -> None:
        self.ask, self.count = ask, 0

    def __call__(self, recipe: Recipe) -> Answer:
        self.count += 1
        return self.ask(recipe)


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """What stays the same through one search."""

    goal: Goal
    ground: Ground
    drag: Drag
    ask: _Counted
    taught: dict[str, object]
    failed: dict[tuple[Bore, ...], list[tuple[float, ...]]]


def solve(recipe: Recipe, goal: Goal, ask: Ask, readings: Sequence[tuple[str, float]] = ()) -> Solution:
    """Find ballast for a goal.

    Parameters
    ----------
    recipe : Recipe
        The bait as it is designed, or as it stands on the bench.
    goal : Goal
        What is asked; the recipe's own, or the command line's.
    ask : Ask
        The whole flow.
    readings : (stage, grams)
        Off the maker's scale, besides the recipe's own. They are of the bait as the recipe has it: what they teach of
        the wood goes into the search, and into ``changes``, in their place.

    Returns
    -------
    Solution

    Raises
    ------
    DesignError
        A goal without a figure, or one that no attitude has.
    """
    counted = _Counted(ask)
    recipe = replace(recipe, water=water_of(goal, recipe.water), goal=goal)
    recipe, taught = _as_learned(recipe, readings, counted)
    if goal.suspends_at is not None:
        taught["water.temperature"] = f"{goal.suspends_at:g} degC"
    given = counted(recipe)
    ground = ground_of(given)
    drag = drag_of(given.hull, _straight_up(given), given.sizes)
    search = _Search(goal, ground, drag, counted, taught, {})
    aim = aim_at(goal, given.hull, recipe.water, drag, 0.0)
    drills = shop_set(recipe, given.sizes[2])
    plans = layouts(recipe, goal, given.sizes[0], drills[len(drills) // 2])
    tried = [trial for plan in plans for trial in _trials(search, plan, drills, aim)]
    chosen = _choose(search, [t for t in tried if t.stop is None])
    offers = sorted((_verified(search, trial) for trial in chosen), key=_rank)
    findings: tuple[Finding, ...] = ()
    reserve = reserve_of(goal, drag, given.flotation.water_g_cm3)
    if not any(offer.met for offer in offers):
        near, stops = _nearest(search, tried, aim)
        offers = sorted([*offers, *near], key=lambda offer: _off(offer, goal, reserve))[:SHOWN_UNMET]
        findings = no_answer(goal, reserve, offers[0] if offers else None, stops)
    return Solution(goal, mode_of(goal, recipe), reserve, drag, given, tuple(offers), findings, counted.count)


def _as_learned(recipe: Recipe, readings: Sequence[tuple[str, float]], ask: Ask) -> tuple[Recipe, dict[str, object]]:
    """Put the wood's density in the place of readings that were taken with the given bores in the wood."""
    weighed = dict([*recipe.weighed, *readings])
    if not set(weighed) - {"blank"}:
        return replace(recipe, weighed=tuple(weighed.items())), {}
    density = ask(replace(recipe, weighed=tuple(weighed.items()))).wood.g_cm3
    density = round(density, 4)
    taught: dict[str, object] = {"wood.density_g_cm3": density}
    taught |= {f"weighed.{stage}": None for stage, _ in recipe.weighed}
    return replace(recipe, weighed=(), wood=replace(recipe.wood, density_g_cm3=density)), taught


def _straight_up(answer: Answer) -> Array:
    return straight_up(answer.hull.centroid, answer.total.centre_of_mass)


def _trials(search: _Search, layout: Layout, drills: Sequence[float], aim: Aim) -> list[Trial]:
    """Every drill and metal in one layout, by the local model alone."""
    base = _base(search, layout)
    pattern = layout.bores[0]
    own = None if len(layout.bores) > 1 and layout.bores[0].diameter != layout.bores[1].diameter else pattern.diameter
    metals = fills(pattern, search.goal)
    few = int(tables.load("ballast")["places"]["drills_tried"])
    if len(layout.bores) > 1 or layout.free_x:
        drills = drills[:: max(1, -(-len(drills) // few))]
    sizes = [own, *(d for d in drills if own is None or abs(d - own) > 1e-6)]
    if search.goal.drills and own not in search.goal.drills:
        sizes = list(drills)
    out = [try_layout(search.ground, layout, size, fill, base, aim) for size in sizes for fill in metals]
    if mode_of(search.goal, layout.recipe) == "given":
        out += [t for t in (try_level(search.ground, layout, base, aim, fill) for fill in metals) if t is not None]
    return out


def _base(search: _Search, layout: Layout) -> Base:
    """The given bait without the bores that this layout brings in anew or leaves out."""
    given = search.ground.given.recipe
    kept = {bore.name for i, bore in enumerate(layout.recipe.bores) if i not in layout.places}
    return base_of(
        search.ground, tuple(bore for bore in given.bores if bore.kind == "ballast" and bore.name not in kept)
    )


def _lowness(search: _Search, trial: Trial) -> float:
    """Height of the ballast's moment [g mm]: the lower, the more upright the bait floats."""
    return sum(float(search.ground.adds(bore)[1][2]) for bore in trial.bores)


def _choose(search: _Search, trials: list[Trial]) -> list[Trial]:
    """The few to verify, all with wood enough: for each metal its lowest bore, and the lowest with the given drill."""
    order = sorted(trials, key=lambda t: (not is_lead_free(_filling(t)), _lowness(search, t)))
    given = {bore.diameter for bore in search.ground.given.recipe.bores}
    chosen: dict[tuple[str, str, bool], Trial] = {}
    for trial in order:
        key = (_filling(trial).metal, trial.kind, trial.bores[0].diameter in given)
        if key not in chosen and _stands(search, trial):
            chosen[key] = trial
    firsts = {_filling(trial).metal: trial for trial in reversed(chosen.values())}
    ranked = [t for t in chosen.values() if t in firsts.values()] + [
        t for t in chosen.values() if t not in firsts.values()
    ]
    return ranked[:VERIFIED]


def _stands(search: _Search, trial: Trial) -> bool:
    """Whether wood enough is left; a bore that fails does so at every greater depth, whatever fills it."""
    shape = tuple(replace(bore, depth=None, fill=None) for bore in trial.bores)
    depths = tuple(bore.depth or 0.0 for bore in trial.bores)
    for known in search.failed.get(shape, ()):
        if all(d >= k for d, k in zip(depths, known, strict=True)):
            return False
    if not judge(trial.layout.with_bores(trial.bores), trial.bores, search.ground.given):
        return True
    search.failed.setdefault(shape, []).append(depths)
    return False


def _filling(trial: Trial) -> Fill:
    return trial.bores[0].fill or Fill()


def _verified(search: _Search, trial: Trial) -> Offer:
    """Ask the whole flow, correct the local model by what it says, and solve again until the bores stay."""
    base = _base(search, trial.layout)
    result = search.ask(trial.layout.with_bores(trial.bores))
    for _ in range(ROUNDS - 1):
        base, aim = _corrected(search, trial, base, result)
        better = _again(search, trial, base, aim)
        if better is None or better.stop is not None or better.bores == trial.bores:
            break
        trial = better
        result = search.ask(trial.layout.with_bores(trial.bores))
    return _offer(search, trial, result)


def _corrected(search: _Search, trial: Trial, base: Base, result: Answer) -> tuple[Base, Aim]:
    """Move the base by what the local model got wrong, and the aim to the hull and the roll that came out."""
    mass, moment = base.mass, base.moment
    for bore in trial.bores:
        adds = search.ground.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    total = result.total
    moved = Base(base.mass + total.mass - mass, base.moment + total.mass * total.centre_of_mass - moment, base.wood)
    roll = radians(result.flotation.attitude.roll_deg or 0.0) if result.flotation.state == "floats" else 0.0
    drag = drag_of(result.hull, _straight_up(result), result.sizes)
    return moved, aim_at(search.goal, result.hull, result.recipe.water, drag, roll)


def _again(search: _Search, trial: Trial, base: Base, aim: Aim) -> Trial | None:
    bore, fill = trial.bores[0], _filling(trial)
    if trial.kind == "level":
        return try_level(search.ground, trial.layout, base, aim, fill)
    # begin where the last round ended
    layout = replace(trial.layout, recipe=trial.layout.with_bores(trial.bores))
    own = len(trial.bores) > 1 and trial.bores[1].diameter != bore.diameter
    return try_layout(search.ground, layout, None if own else bore.diameter, fill, base, aim)


def _offer(search: _Search, trial: Trial, result: Answer) -> Offer:
    goal, float_, ground = search.goal, result.flotation, search.ground
    at = float_.attitude
    drag = drag_of(result.hull, _straight_up(result), result.sizes)
    reserve = reserve_of(goal, drag, float_.water_g_cm3)
    within_g, within_deg, within_mm = _steps_worth(search, trial, result)
    line = _water_at(goal, at.up, at.water_height)
    breaks = broken(result.findings, ground.given)
    met = not breaks
    met = met and (reserve is None or abs(float_.reserve_g - reserve) <= within_g)
    met = met and (goal.pitch is None or abs(at.pitch_deg - degrees(goal.pitch)) <= within_deg)
    if goal.waterline is not None:
        met = met and line is not None and abs(line - goal.waterline.height) <= within_mm
    bored = tuple(bored_of(bore, result.items, result.recipe.units) for bore in trial.bores)
    asked_speed = goal.sinks_at is not None or goal.rises_at is not None
    recipe = trial.layout.with_bores(trial.bores)
    return Offer(
        bores=bored,
        mass_g=sum(b.mass_g for b in bored),
        metal=_filling(trial).metal,
        lead_free=is_lead_free(_filling(trial)),
        reserve_g=float_.reserve_g,
        state=float_.state,
        pitch_deg=at.pitch_deg,
        roll_deg=at.roll_deg,
        gm_mm=at.gm_mm,
        gml_mm=at.gml_mm,
        waterline_mm=line,
        speed_m_s=speeds(float_.reserve_g, drag, float_.water_g_cm3) if asked_speed else None,
        wood_to_back_mm=to_back(recipe, trial.bores, ground.given),
        within_g=within_g,
        within_deg=within_deg,
        met=met,
        findings=breaks,
        recipe=recipe,
        changes=_changes(ground.given.recipe, trial.bores) | search.taught,
    )


def _steps_worth(search: _Search, trial: Trial, result: Answer) -> tuple[float, float, float]:
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
        here, there = search.ground.adds(bore), search.ground.adds(more)
        change = there[1] - here[1] - (there[0] - here[0]) * result.total.centre_of_mass
        lift += abs(there[0] - here[0])
        moment += abs(float(change @ way)) + (abs(here[0]) * half if trial.layout.free_x else 0.0)
    turn = moment / (result.total.mass * max(abs(at.gml_mm), 1e-6))
    sinks = lift * 10 / max(at.waterplane_cm2, 1e-6) / result.flotation.water_g_cm3
    reach = abs(search.goal.waterline.x - result.sizes[0] / 2) if search.goal.waterline is not None else 0.0
    return 1.05 * lift + 0.005, 1.2 * degrees(turn) + 0.1, 1.2 * (turn * reach + sinks) + 0.05


def _water_at(goal: Goal, up: tuple[float, float, float], water_height: float | None) -> float | None:
    """Height of the water in the mid-plane at the goal's station [mm], in body axes."""
    if goal.waterline is None or water_height is None or abs(up[2]) < 1e-6:
        return None
    return (water_height - up[0] * goal.waterline.x) / up[2]


def bored_of(bore: Bore, items: Sequence[Item], units: Units) -> Bored:
    """One ballast bore as it is drilled and filled; its metal is what the ledger's ``items`` say."""
    fill = bore.fill or Fill()
    names = {bore.name, f"{bore.name}, other side"}
    return Bored(
        name=bore.name,
        x_mm=along(bore),
        diameter_mm=bore.diameter,
        drill=bore.drill,
        depth_mm=float(bore.depth or 0.0),
        depth_text=depth_text(bore, units),
        level=fill.level,
        metal=fill.metal,
        placed=fill.placed,
        mass_g=sum(item.mass for item in items if _metal_of(item.name) in names),
    )


def depth_text(bore: Bore, units: Units) -> str:
    """Say a bore's depth [mm] and what it is measured to, as the depth stop needs it."""
    to = "" if bore.tip == "flat" else f" to the {bore.depth_to}"
    return f"{length_text(float(bore.depth or 0.0), units)}{to}"


def _metal_of(item: str) -> str:
    """Name of the bore whose metal an item of the ledger is; empty for any other item."""
    name, _, what = item.rpartition(": ")
    return name if what in tables.load("metals")["metal"] else ""


def _changes(given: Recipe, bores: tuple[Bore, ...]) -> dict[str, object]:
    """Key paths of the recipe to the new bores' values, for those that the recipe has by name."""
    changes: dict[str, object] = {}
    numbers = {bore.name: number for number, bore in enumerate(given.bores, 1)}
    for bore in bores:
        if bore.name not in numbers:
            continue
        key, old = f"bore[{numbers[bore.name]}]", given.bores[numbers[bore.name] - 1]
        fill = bore.fill or Fill()
        changes[f"{key}.depth"] = written(float(bore.depth or 0.0), given.units)
        if bore.diameter != old.diameter:
            changes[f"{key}.diameter"] = None if bore.drill else written(bore.diameter, given.units)
            changes[f"{key}.drill"] = bore.drill
        if along(bore) != along(old):
            place = written(along(bore), given.units)
            changes[f"{key}.at" if bore.at else f"{key}.x"] = [place, *bore.at[1:]] if bore.at else place
        changes |= {f"{key}.fill.{name}": getattr(fill, name) for name in ("metal", "placed", "level")}
        changes[f"{key}.fill.mass"] = None
        if old.fill is not None and old.fill.clearance != fill.clearance:
            changes[f"{key}.fill.clearance"] = None
    return changes


def _rank(offer: Offer) -> tuple[bool, bool, float]:
    return not offer.met, not offer.lead_free, -offer.gm_mm


def _off(offer: Offer, goal: Goal, reserve: float | None) -> tuple[bool, float]:
    """How far an offer is from the goal, in steps of the drill: those within the limits first."""
    lift = 0.0 if reserve is None else (offer.reserve_g - reserve) / offer.within_g
    pitch = 0.0 if goal.pitch is None else (offer.pitch_deg - degrees(goal.pitch)) / offer.within_deg
    line = 0.0
    if goal.waterline is not None:
        line = 1e3 if offer.waterline_mm is None else offer.waterline_mm - goal.waterline.height
    return bool(offer.findings), hypot(lift, pitch, line)


def _nearest(search: _Search, tried: list[Trial], aim: Aim) -> tuple[list[Offer], tuple[Finding, ...]]:
    """Of the trials that fail, the two that come nearest when held to their limits; and what stops them."""
    limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]] = {}
    held: list[tuple[float, Trial, tuple[Finding, ...]]] = []
    for trial in tried:
        if trial.kind != "depth" or not np.isfinite(trial.miss):
            continue
        bores, stop = _held(search, trial, limits)
        if bores:
            kept = replace(trial, bores=bores, stop=None)
            held.append((_gap(search, kept, aim), kept, ((trial.stop,) if trial.stop else ()) + stop))
    best = sorted(held, key=lambda one: one[0])[:2]
    if not best:  # not even the shallowest bore anywhere
        return [], tuple(dict.fromkeys(f for _, stops in limits.values() for f in stops))
    stops = tuple(dict.fromkeys(f for _, _, found in best for f in found))
    return [_offer(search, t, search.ask(t.layout.with_bores(t.bores))) for _, t, _ in best], stops


def _gap(search: _Search, trial: Trial, aim: Aim) -> float:
    """How far a trial is from the aim by the local model [g]: its mass, and its moment over a quarter of the length."""
    mass, moment = (base := _base(search, trial.layout)).mass, base.moment
    for bore in trial.bores:
        adds = search.ground.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    lift = float(np.abs(aim.mass - mass).min())
    if aim.moment is None or aim.along is None:
        return lift
    at = int(np.argmin(np.abs(aim.mass - mass)))
    turn = float(moment @ aim.along[at]) / mass - float(aim.moment[at]) / float(aim.mass[at])
    return hypot(lift, abs(turn) * mass / (search.ground.given.sizes[0] / 4))


def _held(
    search: _Search, trial: Trial, limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]]
) -> tuple[tuple[Bore, ...], tuple[Finding, ...]]:
    """A trial's bores no deeper than the wood allows and no shallower than a bore can be; and what stops them.

    ``limits`` remembers how deep each may go, for the other metals.
    """
    given, recipe = search.ground.given, trial.layout.with_bores(trial.bores)
    bores: list[Bore] = []
    stops: tuple[Finding, ...] = ()
    for bore in trial.bores:
        bare = replace(bore, depth=None, fill=None)
        key = bare, replace(trial.bores[0], depth=None, fill=None)
        if key not in limits:
            limits[key] = deepest(recipe, bore, given)
        most, stop = limits[key]
        if most <= 0:
            return (), stop
        if (bore.depth or 0.0) > most:
            stops += stop
        bores.append(replace(bore, depth=min(max(bore.depth or 0.0, _shallowest(bore, recipe)), most)))
    return tuple(bores), stops


def _shallowest(bore: Bore, recipe: Recipe) -> float:
    unit = step(recipe.units)
    return float(np.ceil(least_depth(bore) / unit)) * unit
