"""``bodygen ballast``: bores and metals that give the float that is asked for, ranked, each checked by the whole flow.

Knows how to search: many trials by the local model, then the best few put to the whole flow, which corrects the model,
until what is answered is what a weighing of the changed recipe says. Knows no words for it (``report/``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import radians

from bodygen import tables
from bodygen.ballast.aim import Aim, aim_at, reserve_of, water_of
from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.doubts import no_answer
from bodygen.ballast.drag import Drag, drag_of
from bodygen.ballast.drills import shop_set
from bodygen.ballast.layout import Layout, fills, is_lead_free, layouts, mode_of
from bodygen.ballast.nearest import nearest, off
from bodygen.ballast.offer import Offer, offer_of
from bodygen.ballast.search import Counted, Search, base_for, filling, up_under
from bodygen.ballast.trial import Base, Trial, ground_of, try_layout, try_level
from bodygen.ballast.wood import judge
from bodygen.findings import Finding
from bodygen.recipe.model import Goal, Recipe

VERIFIED = 5
"""Trials that are put to the whole flow."""
ROUNDS = 3
SHOWN_UNMET = 3


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
    counted = Counted(ask)
    recipe = replace(recipe, water=water_of(goal, recipe.water), goal=goal)
    recipe, taught = _as_learned(recipe, readings, counted)
    if goal.suspends_at is not None:
        taught["water.temperature"] = f"{goal.suspends_at:g} degC"
    given = counted(recipe)
    ground = ground_of(given)
    drag = drag_of(given.hull, up_under(given), given.sizes)
    search = Search(goal, ground, drag, counted, taught, {})
    aim = aim_at(goal, given.hull, recipe.water, drag, 0.0)
    drills = shop_set(recipe, given.sizes[2])
    plans = layouts(recipe, goal, given.sizes[0], drills[len(drills) // 2])
    tried = [trial for plan in plans for trial in _trials(search, plan, drills, aim)]
    chosen = _choose(search, [t for t in tried if t.stop is None])
    offers = sorted((_verified(search, trial) for trial in chosen), key=_rank)
    findings: tuple[Finding, ...] = ()
    reserve = reserve_of(goal, drag, given.flotation.water_g_cm3)
    if not any(offer.met for offer in offers):
        near, stops = nearest(search, tried, aim)
        offers = sorted([*offers, *near], key=lambda offer: off(offer, goal, reserve))[:SHOWN_UNMET]
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


def _trials(search: Search, layout: Layout, drills: Sequence[float], aim: Aim) -> list[Trial]:
    """Every drill and metal in one layout, by the local model alone."""
    base = base_for(search, layout)
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


def _lowness(search: Search, trial: Trial) -> float:
    """Height of the ballast's moment [g mm]: the lower, the more upright the bait floats."""
    return sum(float(search.ground.adds(bore)[1][2]) for bore in trial.bores)


def _choose(search: Search, trials: list[Trial]) -> list[Trial]:
    """The few to verify, all with wood enough: for each metal its lowest bore, and the lowest with the given drill."""
    order = sorted(trials, key=lambda t: (not is_lead_free(filling(t)), _lowness(search, t)))
    given = {bore.diameter for bore in search.ground.given.recipe.bores}
    chosen: dict[tuple[str, str, bool], Trial] = {}
    for trial in order:
        key = (filling(trial).metal, trial.kind, trial.bores[0].diameter in given)
        if key not in chosen and _stands(search, trial):
            chosen[key] = trial
    firsts = {filling(trial).metal: trial for trial in reversed(chosen.values())}
    ranked = [t for t in chosen.values() if t in firsts.values()] + [
        t for t in chosen.values() if t not in firsts.values()
    ]
    return ranked[:VERIFIED]


def _stands(search: Search, trial: Trial) -> bool:
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


def _verified(search: Search, trial: Trial) -> Offer:
    """Ask the whole flow, correct the local model by what it says, and solve again until the bores stay."""
    base = base_for(search, trial.layout)
    result = search.ask(trial.layout.with_bores(trial.bores))
    for _ in range(ROUNDS - 1):
        base, aim = _corrected(search, trial, base, result)
        better = _again(search, trial, base, aim)
        if better is None or better.stop is not None or better.bores == trial.bores:
            break
        trial = better
        result = search.ask(trial.layout.with_bores(trial.bores))
    return offer_of(search, trial, result)


def _corrected(search: Search, trial: Trial, base: Base, result: Answer) -> tuple[Base, Aim]:
    """Move the base by what the local model got wrong, and the aim to the hull and the roll that came out."""
    mass, moment = base.mass, base.moment
    for bore in trial.bores:
        adds = search.ground.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    total = result.total
    moved = Base(base.mass + total.mass - mass, base.moment + total.mass * total.centre_of_mass - moment, base.wood)
    roll = radians(result.flotation.attitude.roll_deg or 0.0) if result.flotation.state == "floats" else 0.0
    drag = drag_of(result.hull, up_under(result), result.sizes)
    return moved, aim_at(search.goal, result.hull, result.recipe.water, drag, roll)


def _again(search: Search, trial: Trial, base: Base, aim: Aim) -> Trial | None:
    bore, fill = trial.bores[0], filling(trial)
    if trial.kind == "level":
        return try_level(search.ground, trial.layout, base, aim, fill)
    # begin where the last round ended
    layout = replace(trial.layout, recipe=trial.layout.with_bores(trial.bores))
    own = len(trial.bores) > 1 and trial.bores[1].diameter != bore.diameter
    return try_layout(search.ground, layout, None if own else bore.diameter, fill, base, aim)


def _rank(offer: Offer) -> tuple[bool, bool, float]:
    return not offer.met, not offer.lead_free, -offer.gm_mm
