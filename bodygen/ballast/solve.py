"""``bodygen ballast``: bores and metals that give the float that is asked for, ranked, each checked by the whole flow.

Knows how to search: many trials by the local model (every drill and metal in a layout, and the few that the wood
stands), then the best few put to the whole flow, which corrects the model, until what is answered is what a weighing of
the changed recipe says. Knows no words for it (``report/``).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import radians

from bodygen import tables
from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.drag import Drag, asks_for_a_speed, drag_for
from bodygen.ballast.goal import no_answer, relaxed_limits, wish_to_give_up
from bodygen.ballast.layout import Layout, fills, is_lead_free, layouts, mode_of, shop_set, step
from bodygen.ballast.offer import Offer, as_it_stands, nearest, off, off_given, offer_of, without_one
from bodygen.ballast.target import Target, reserve_of, target_for, water_of
from bodygen.ballast.trial import (
    BareBait,
    Counted,
    Search,
    Trial,
    context_for,
    filling,
    try_layout,
    try_level,
    without_new_bores,
)
from bodygen.ballast.wood import errors_of, judge
from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.recipe.keys import BARE
from bodygen.recipe.model import Bore, Goal, Recipe

ROUNDS = 5
SHOWN, SHOWN_UNMET = 5, 3
MOST_LEAN_DEG = 10.0

Put = tuple[Trial, Answer]
"""A trial and what the whole flow says of it."""
VERIFIED = 5
"""Trials that are put to the whole flow at a time."""
JUDGED = 60
"""Trials that are held against the wood when its limits are relaxed."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """What was asked, how the bait is as given, and the offers, best first.

    Where no offer is ``met`` the first is the nearest that can be had, and ``findings`` say what stops it.
    ``reserve_g`` is the lift asked for, None where it is left free; ``given`` the answer that the search began from.
    ``spare`` are further offers, the next best first, for which there was no room.
    """

    goal: Goal
    mode: str
    reserve_g: float | None
    drag: Drag
    given: Answer
    offers: tuple[Offer, ...]
    findings: tuple[Finding, ...]
    asked: int
    spare: tuple[Offer, ...] = ()

    def __repr__(self) -> str:
        """Each offer on a line of its own, best first."""
        return "\n  ".join([f"<Solution: {len(self.offers)} offers", *map(repr, self.offers)]) + ">"


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What one search came to: trials with the whole flow's answers, best first; ``tried``, ``target`` for the nearest.

    ``target`` is None where no attitude has what is asked, and ``why`` says so.
    """

    puts: tuple[Put, ...]
    tried: tuple[Trial, ...] = ()
    target: Target | None = None
    why: str = ""


def solve(recipe: Recipe, goal: Goal, ask: Ask, readings: Sequence[tuple[str, float]] = ()) -> Solution:
    """Find ballast [g, mm] for a goal.

    Derived here: a local model proposes depths and places, and the whole flow answers for each.

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
        A goal without a figure.
    """
    counted = Counted(ask)
    recipe = replace(recipe, water=water_of(goal, recipe.water), goal=goal)
    recipe, taught = _as_learned(recipe, readings, counted)
    if goal.suspends_at is not None:
        taught["water.temperature"] = f"{goal.suspends_at:g} degC"
    given = counted(recipe)
    drag = drag_for(goal, given)
    reserve = reserve_of(goal, drag, given.flotation.water_g_cm3)
    search = Search(goal, context_for(given), drag, counted, taught, {})
    found = _searched(search)
    offers = _once(offer_of(search, *put) for put in found.puts)
    met = _to_show(offers)
    if met:
        findings = relaxed_limits(met[0])
    else:
        met, findings = _nearest(search, found, offers, reserve)
    room = SHOWN if met and met[0].met else SHOWN_UNMET
    shown, spare = tuple(met[:room]), tuple(met[room:])
    return Solution(goal, mode_of(goal, recipe), reserve, drag, given, shown, findings, counted.count, spare)


def _nearest(
    search: Search, found: Found, offers: list[Offer], reserve: float | None
) -> tuple[list[Offer], tuple[Finding, ...]]:
    """The nearest that can be had, which wish stands in the way of the others, and what stops the search.

    No answer is farther off than the bait as it stands.
    """
    goal = search.goal
    stops: tuple[Finding, ...] = ()
    if found.target is not None:
        near, stops = nearest(search, found.tried, found.target)
        offers = [*offers, *(offer_of(search, *put) for put in near)]
    given_up: list[Finding] = []
    for wish, rest in without_one(goal):
        part = _searched(replace(search, goal=rest, failed={}))
        with_rest = [offer_of(replace(search, goal=rest), *put) for put in part.puts]
        offers += [offer_of(search, *put) for put in part.puts]
        given_up += [wish_to_give_up(wish, offer) for offer in sorted(with_rest, key=_rank)[:1] if offer.met]
    offers = _once(offers)
    had = _to_show(offers)
    if had:  # on the way to something less
        return had, relaxed_limits(had[0])
    stands = as_it_stands(search)
    still = off(stands, goal, reserve) if stands else off_given(search, reserve)
    near_enough = [offer for offer in offers if off(offer, goal, reserve) < still and not errors_of(offer.findings)]
    best = sorted(near_enough, key=lambda offer: off(offer, goal, reserve))
    if not best and stands:
        best = [stands]
    return best, no_answer(
        goal, reserve, best[0] if best else None, (*given_up, *stops), found.why, search.context.given.recipe.units
    )


def _searched(search: Search) -> Found:
    """Try the layouts in rounds, within every limit of the wood first and then within what can be made at all."""
    given = search.context.given
    try:
        target = target_for(search.goal, given.hull, given.recipe.water, search.drag, roll_of(given))
    except DesignError as error:
        return Found((), why=str(error))
    drills = shop_set(given.recipe, given.sizes[2])
    rounds = layouts(given.recipe, search.goal, given.sizes[0], drills[len(drills) // 2])
    tried: list[list[Trial]] = []
    puts: list[Put] = []
    seen: set[tuple[Bore, ...]] = set()
    for relaxed in (False, True):
        for number, plans in enumerate(rounds):
            if number == len(tried):
                tried.append([trial for plan in plans for trial in trials_of(search, plan, drills, target)])
            chosen = choose(search, [t for t in tried[number] if t.stop is None], relaxed=relaxed)
            chosen = [t for t in chosen if t.layout.with_bores(t.bores).bores not in seen]
            seen |= {t.layout.with_bores(t.bores).bores for t in chosen}
            for start in range(0, len(chosen), VERIFIED):
                asked = (_verified(search, trial) for trial in chosen[start : start + VERIFIED])
                few = [put for put in asked if put is not None]
                puts += few
                if any(offer_of(search, *put).met for put in few):
                    return Found(tuple(puts), tuple(t for trials in tried for t in trials), target)
    return Found(tuple(puts), tuple(t for trials in tried for t in trials), target)


def _as_learned(recipe: Recipe, readings: Sequence[tuple[str, float]], ask: Ask) -> tuple[Recipe, dict[str, object]]:
    """Put the wood's density in the place of readings that were taken with the given bores in the wood."""
    weighed = dict([*recipe.weighed, *readings])
    if not set(weighed) - set(BARE):
        return replace(recipe, weighed=tuple(weighed.items())), {}
    density = ask(replace(recipe, weighed=tuple(weighed.items()))).wood.g_cm3
    density = round(density, 4)
    taught: dict[str, object] = {"wood.density_g_cm3": density}
    taught |= {f"weighed.{stage}": None for stage, _ in recipe.weighed}
    return replace(recipe, weighed=(), wood=replace(recipe.wood, density_g_cm3=density)), taught


def _verified(search: Search, trial: Trial) -> Put | None:
    """Ask the whole flow, correct the local model by what it says, and solve again until the bores stay."""
    bare = without_new_bores(search, trial.layout)
    result = search.ask.or_none(trial.layout.with_bores(trial.bores))
    if result is None:
        return None
    puts = [(trial, result)]
    for _ in range(ROUNDS - 1):
        try:
            bare, target = _corrected(search, trial, bare, result)
        except DesignError:  # no attitude of this hull and roll has it
            break
        better = _again(search, trial, bare, target)
        if better is None or better.stop is not None or any(better.bores == one.bores for one, _ in puts):
            break
        again = search.ask.or_none(better.layout.with_bores(better.bores))
        if again is None:
            break
        trial, result = better, again
        puts.append((trial, result))
    reserve = reserve_of(search.goal, search.drag, search.context.given.flotation.water_g_cm3)
    return min(puts, key=lambda put: off(offer_of(search, *put), search.goal, reserve))


def _corrected(search: Search, trial: Trial, bare: BareBait, result: Answer) -> tuple[BareBait, Target]:
    """Move the bare bait by what the local model got wrong, and the target to the hull and the roll that came out."""
    mass, moment = bare.mass, bare.moment
    for bore in trial.bores:
        adds = search.context.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    total = result.total
    moved = BareBait(bare.mass + total.mass - mass, bare.moment + total.mass * total.centre_of_mass - moment, bare.wood)
    drag = drag_for(search.goal, result) if asks_for_a_speed(search.goal) else search.drag
    return moved, target_for(search.goal, result.hull, result.recipe.water, drag, roll_of(result))


def roll_of(answer: Answer) -> float:
    """Roll that a bait is known to rest at [rad]; 0 wholly under."""
    return radians(answer.flotation.attitude.roll_deg or 0.0) if answer.flotation.state == "floats" else 0.0


def _again(search: Search, trial: Trial, bare: BareBait, target: Target) -> Trial | None:
    if trial.kind == "level":
        return try_level(search.context, trial.layout, bare, target, filling(trial))
    # begin where the last round ended
    layout = replace(trial.layout, recipe=trial.layout.with_bores(trial.bores))
    return try_layout(search.context, layout, None, None, bare, target)


def _rank(offer: Offer) -> tuple[bool, bool, bool, float]:
    return not offer.met, _leans(offer), not offer.lead_free, -offer.gm_mm


def _leans(offer: Offer) -> bool:
    """Whether it rests so far on its side that a maker would not call it afloat back up."""
    return offer.roll_deg is None or abs(offer.roll_deg) > MOST_LEAN_DEG


def _once(offers: Iterable[Offer]) -> list[Offer]:
    """Offers best first, each once."""
    ranked = sorted(offers, key=_rank)
    return list({offer.recipe.bores: offer for offer in reversed(ranked)}.values())[::-1]


def _to_show(offers: list[Offer]) -> list[Offer]:
    """What is met; those that lie on their side only where none lies otherwise."""
    met = [offer for offer in offers if offer.met]
    return [offer for offer in met if not _leans(offer)] or met


def trials_of(search: Search, layout: Layout, drills: Sequence[float], target: Target) -> list[Trial]:
    """Every drill [mm] and metal in one layout, by the local model alone."""
    bare = without_new_bores(search, layout)
    pattern = layout.bores[0]
    own = None if len(layout.bores) > 1 and layout.bores[0].diameter != layout.bores[1].diameter else pattern.diameter
    metals = fills(layout.bores, search.goal)
    few = int(tables.load("ballast")["places"]["drills_tried"])
    if len(layout.bores) > 1 or layout.free_x:
        drills = drills[:: max(1, -(-len(drills) // few))]
    sizes = [own, *(d for d in drills if own is None or abs(d - own) > 1e-6)]
    if search.goal.drills and own not in search.goal.drills:
        sizes = list(drills)
    out = [try_layout(search.context, layout, size, fill, bare, target) for size in sizes for fill in metals]
    if mode_of(search.goal, layout.recipe) == "given":
        out += [t for t in (try_level(search.context, layout, bare, target, fill) for fill in metals) if t is not None]
    return out


def _lowness(search: Search, trial: Trial) -> float:
    """Height of the ballast's moment [g mm]: the lower, the more upright the bait floats."""
    return sum(float(search.context.adds(bore)[1][2]) for bore in trial.bores)


def choose(search: Search, trials: list[Trial], *, relaxed: bool) -> list[Trial]:
    """The few to verify, with wood enough [mm]: for each metal its lowest bore, and the lowest with the given drill.

    ``relaxed``: limits that are findings alone may be broken; then the one that breaks them least.

    Derived here: a lower bore keeps the centre of mass lower.
    """
    order = sorted(trials, key=lambda t: (not is_lead_free(filling(t)), t.layout.moved, _lowness(search, t)))
    given = {bore.diameter for bore in search.context.given.recipe.bores}
    chosen: dict[tuple[str, str, bool], Trial] = {}
    short: dict[tuple[str, str, bool], float] = {}
    for trial in order[: JUDGED if relaxed else None]:
        key = (filling(trial).metal, trial.kind, trial.bores[0].diameter in given)
        if not relaxed and key not in chosen and _stands(search, trial, relaxed=False):
            chosen[key] = trial
        if relaxed and _stands(search, trial, relaxed=True):
            missing = _missing(search, trial)
            if key not in chosen or missing < short[key] - step(search.context.given.recipe.units):
                chosen[key], short[key] = trial, missing
    firsts = {filling(trial).metal: trial for trial in reversed(chosen.values())}
    ranked = [t for t in chosen.values() if t in firsts.values()] + [
        t for t in chosen.values() if t not in firsts.values()
    ]
    return ranked[: 2 * VERIFIED]


def _missing(search: Search, trial: Trial) -> float:
    """Wood that lacks most to the limits [mm]."""
    found = judge(trial.layout.with_bores(trial.bores), trial.bores, search.context.given)
    return max(((f.limit or 0.0) - (f.value or 0.0) for f in found), default=0.0)


def _stands(search: Search, trial: Trial, *, relaxed: bool) -> bool:
    """Whether wood enough is left; a bore that fails does so at every greater depth, whatever fills it."""
    shape = relaxed, tuple(replace(bore, depth=None, fill=None) for bore in trial.bores)
    depths = tuple(bore.depth or 0.0 for bore in trial.bores)
    for known in search.failed.get(shape, ()):
        if all(d >= k for d, k in zip(depths, known, strict=True)):
            return False
    found = judge(trial.layout.with_bores(trial.bores), trial.bores, search.context.given)
    if not (errors_of(found) if relaxed else found):
        return True
    search.failed.setdefault(shape, []).append(depths)
    return False
