"""One layout, one drill, one metal: the depths (and place) that reach the target, by the bait's first moments.

Knows the local model of ``bore.py``, a target, and what stays the same through one search. A weight and its moment are
straight in volumes of metal and wood, so each is solved in closed form or by a few corrections; whether wood is left is
asked elsewhere (``wood.py``).
"""

from dataclasses import dataclass, replace
from itertools import product

import manifold3d
import numpy as np

from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.bore import BoreInSkin, bores_in_skin, depth_for, least_depth, level_for, net, wood_along
from bodygen.ballast.drag import Drag
from bodygen.ballast.layout import Layout, along, at_x, drilled, own_fill, rounded, step, steps_around
from bodygen.ballast.target import Target
from bodygen.errors import BodygenError
from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold
from bodygen.recipe.model import Bore, Fill, Goal, Recipe
from bodygen.units import length_text

CORRECTIONS = 12
LEAST_LEVEL = 0.05
DEEPER_MM = 0.5
"""A small step of depth, to see what more depth does."""


@dataclass(frozen=True, slots=True, eq=False)
class BareBait:
    """The bait without the bores that are wanted: mass [g], first moment (3,) [g mm], density of its wood [g/cm^3]."""

    mass: float
    moment: Array
    wood: float


@dataclass(frozen=True, slots=True, eq=False)
class SearchContext:
    """A given answer with its body ready to be cut; ``known`` keeps the mouths that have been learned."""

    given: Answer
    body: manifold3d.Manifold
    known: dict[Bore, tuple[BoreInSkin, ...]]

    def holes(self, bore: Bore) -> tuple[BoreInSkin, ...]:
        """The mouths of a bore in this body [mm^3, mm^4], whatever its depth and fill."""
        key = replace(bore, depth=None, fill=None, name="", drill=None)
        if key not in self.known:
            self.known[key] = bores_in_skin(self.given.recipe, replace(bore, fill=None), self.given.caster, self.body)
        return self.known[key]

    def adds(self, bore: Bore) -> tuple[float, Array]:
        """What a bore with its fill adds to the bait without it: mass [g], first moment (3,) [g mm].

        See ``bore.net``, elementary.
        """
        return net(self.holes(bore), bore.fill, float(bore.depth or 0.0), self.given.wood.g_cm3)


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """Bores that should reach the target, rounded to the shop's steps; or ``stop``, what is in the way.

    ``kind`` "depth" or "level": what was solved for. ``miss`` is how far off the unrounded wish lies, 0 if it is met:
    only good for finding the nearest of several that fail.
    """

    layout: Layout
    bores: tuple[Bore, ...]
    kind: str = "depth"
    stop: Finding | None = None
    miss: float = 0.0


def context_for(given: Answer) -> SearchContext:
    """Make a given answer [mm] ready."""
    return SearchContext(given, to_manifold(given.body), {})


def without_bores(context: SearchContext, removed: tuple[Bore, ...]) -> BareBait:
    """Take bores out of the given bait: mass [g] and first moment [g mm] without them."""
    given = context.given
    mass, moment = given.total.mass, given.total.mass * given.total.centre_of_mass
    for bore in removed:
        gone = context.adds(bore)
        mass, moment = mass - gone[0], moment - gone[1]
    return BareBait(mass, moment, given.wood.g_cm3)


def try_layout(
    context: SearchContext, layout: Layout, diameter: float | None, fill: Fill | None, bare: BareBait, target: Target
) -> Trial:
    """Solve a layout with one drill [mm] (None: each bore keeps its own) and one fill (None: each keeps its metal).

    Derived here: mass and moment are straight in the depths, so one or two depths follow from them.
    """
    bores = tuple(
        replace(b if diameter is None else drilled(b, diameter), fill=own_fill(b) if fill is None else fill)
        for b in layout.bores
    )
    try:
        if len(bores) == 2:
            return _two(context, layout, bores, bare, target)
        if layout.free_x and target.moment is not None and len(target.mass) == 1:
            return _movable(context, layout, bores[0], bare, target)
        return _fixed(context, layout, bores[0], bare, target)
    except BodygenError as error:  # no body there
        return Trial(layout, bores, stop=Finding("bore-off-body", "error", bores[0].name, str(error)), miss=np.inf)


def try_level(
    context: SearchContext, layout: Layout, bare: BareBait, target: Target, fill: Fill | None
) -> Trial | None:
    """Keep one bore as it is drilled and fill it less, or more, by its level [-]; None where that is not the question.

    Derived here: the mass is straight in the level.
    """
    bore = layout.bores[0]
    if len(layout.bores) > 1 or target.moment is not None or bore.depth is None:
        return None
    fill = own_fill(bore) if fill is None else fill
    level = level_for(context.holes(bore), fill, bore.depth, float(target.mass[0]) - bare.mass, bare.wood)
    if not LEAST_LEVEL <= level <= 1:
        return None
    return Trial(layout, (replace(bore, fill=replace(fill, level=round(level, 2))),), "level")


def _fixed(context: SearchContext, layout: Layout, bore: Bore, bare: BareBait, target: Target) -> Trial:
    """One bore in its place: by mass alone, or on a line of targets where the moment fits too."""
    holes, fill = context.holes(bore), _fill(bore)
    depths = np.array([depth_for(holes, fill, mass - bare.mass, bare.wood) for mass in target.mass])
    if target.moment is None or target.along is None or len(target.mass) == 1:
        return _checked(context, layout, (bore,), (float(depths[0]),), bare, target)
    good = (depths >= least_depth(bore)) & (depths <= wood_along(bore, context.given.caster))
    gap = np.array([
        (bare.moment + net(holes, fill, d, bare.wood)[1]) @ a - m
        for d, a, m in zip(depths, target.along, target.moment, strict=True)
    ])
    crossing = np.flatnonzero(good[:-1] & good[1:] & (gap[:-1] * gap[1:] <= 0))
    if not len(crossing):
        x = along(bore, context.given.sizes[0])
        where = f"{bore.name} at x = {length_text(x, context.given.recipe.units)}"
        remedy = "no depth of this bore balances there: move it along the body, or ask for another attitude"
        stop = Finding("balance-out-of-reach", "error", where, remedy)
        if not good.any():
            return Trial(layout, (bore,), stop=stop, miss=np.inf)
        near = int(np.argmin(np.where(good, np.abs(gap / target.mass), np.inf)))
        nearest = replace(bore, depth=rounded(float(depths[near]), context.given.recipe.units))
        return Trial(layout, (nearest,), stop=stop, miss=float(np.abs(gap[near])))
    at = crossing[np.argmin(np.abs(depths[crossing] - (bore.depth or 0.0)))]
    share = gap[at] / (gap[at] - gap[at + 1])
    depth = float(depths[at] + share * (depths[at + 1] - depths[at]))
    mass, way, moment = (
        values[at] + share * (values[at + 1] - values[at]) for values in (target.mass, target.along, target.moment)
    )
    return _checked(context, layout, (bore,), (depth,), bare, Target(np.array([mass]), way[None], np.array([moment])))


def _movable(context: SearchContext, layout: Layout, bore: Bore, bare: BareBait, target: Target) -> Trial:
    """One bore whose place is wanted: its depth follows from the mass, its x from the moment."""
    assert target.along is not None  # noqa: S101  the caller's condition
    assert target.moment is not None  # noqa: S101
    fill, adds, way = _fill(bore), float(target.mass[0]) - bare.mass, target.along[0]
    low, high = float(context.given.caster.low[0]), float(context.given.caster.high[0])
    margin = 0.5 * bore.diameter + 1.0
    x = wanted = along(bore, context.given.sizes[0])
    depth = 0.0
    units = context.given.recipe.units
    for _ in range(CORRECTIONS):
        near = rounded(x, units)  # the mouths there serve every metal
        holes = context.holes(at_x(bore, near))
        depth = depth_for(holes, fill, adds, bare.wood)
        moment = bare.moment + net(holes, fill, depth, bare.wood)[1]
        gap = float(moment @ way) + adds * float(way[0]) * (x - near) - float(target.moment[0])
        wanted = x - gap / (adds * way[0])
        moved = min(max(wanted, low + margin), high - margin)
        if abs(moved - x) < 0.01:
            break
        x = moved
    if abs(wanted - x) > 1.0:
        bore = at_x(bore, rounded(x, units))
        depth = depth_for(context.holes(bore), fill, adds, bare.wood)
        remedy = "it would have to sit at x = {}, off the body: more ballast, or an attitude nearer to level"
        limit = high if wanted > x else low
        stop = Finding("balance-out-of-reach", "error", bore.name, remedy, wanted, limit, "mm", lengths=(wanted,))
        return Trial(layout, (replace(bore, depth=rounded(depth, units)),), stop=stop, miss=abs(wanted - x))
    best: tuple[float, Trial] | None = None
    for place in steps_around(x, units):  # the step that the eye would take is not always the one that balances best
        there = at_x(bore, place)
        trial = _checked(
            context, layout, (there,), (depth_for(context.holes(there), fill, adds, bare.wood),), bare, target
        )
        missed = trial.miss + 1e3 if trial.stop else _missed(context, trial.bores, bare, target)
        if best is None or missed < best[0]:
            best = missed, trial
    assert best is not None  # noqa: S101  a length has a step on either side
    return best[1]


def _two(context: SearchContext, layout: Layout, bores: tuple[Bore, ...], bare: BareBait, target: Target) -> Trial:
    """Two bores in their places: by mass and moment, or by mass alone with the least change of their depths."""
    if target.moment is None or target.along is None:
        return _two_by_mass(context, layout, bores, bare, target)
    if len(target.mass) > 1:  # a line of targets: the mass that changes the given bait least
        nearest = int(np.argmin(np.abs(target.mass - context.given.total.mass)))
        target = Target(target.mass[[nearest]], target.along[[nearest]], target.moment[[nearest]])
    return _two_in_balance(context, layout, bores, bare, target)


def _two_in_balance(
    context: SearchContext, layout: Layout, bores: tuple[Bore, ...], bare: BareBait, target: Target
) -> Trial:
    """The pair of depths that has both the mass and the moment, by Newton's steps."""
    assert target.along is not None  # noqa: S101  the caller's condition
    assert target.moment is not None  # noqa: S101
    way = target.along[0]
    wanted = np.array([target.mass[0] - bare.mass, target.moment[0] - bare.moment @ way])

    def loads(depths: Array) -> Array:
        """Mass and moment (2,) that each of the two adds (2, 2): rows are bores."""
        nets = [net(context.holes(b), _fill(b), float(d), bare.wood) for b, d in zip(bores, depths, strict=True)]
        return np.array([[mass, moment @ way] for mass, moment in nets])

    depths = np.array([context.holes(bore)[0].depth for bore in bores])
    for _ in range(CORRECTIONS):
        here = loads(depths)
        slopes = (loads(depths + DEEPER_MM) - here).T / DEEPER_MM
        if abs(np.linalg.det(slopes)) < 1e-9:
            remedy = "both bores pull at the same place: put them farther apart"
            stop = Finding("balance-out-of-reach", "error", bores[0].name, remedy)
            return Trial(layout, bores, stop=stop, miss=np.inf)
        step_ = np.linalg.solve(slopes, wanted - here.sum(axis=0))
        depths = np.clip(depths + step_, -200.0, 200.0)
        if np.abs(step_).max() < 1e-6:
            break
    return _checked(context, layout, bores, tuple(float(d) for d in depths), bare, target)


def _two_by_mass(
    context: SearchContext, layout: Layout, bores: tuple[Bore, ...], bare: BareBait, target: Target
) -> Trial:
    """Of all pairs of depths that weigh right, and fit the wood, the one nearest to the depths as given."""
    holes, adds = [context.holes(bore) for bore in bores], float(target.mass[0]) - bare.mass
    first = np.linspace(least_depth(bores[0]), wood_along(bores[0], context.given.caster), 40)
    left = [adds - net(holes[0], _fill(bores[0]), float(d), bare.wood)[0] for d in first]
    second = np.array([depth_for(holes[1], _fill(bores[1]), one, bare.wood) for one in left])
    beyond = np.maximum(least_depth(bores[1]) - second, second - wood_along(bores[1], context.given.caster))
    far = np.hypot(first - (bores[0].depth or 0.0), second - (bores[1].depth or 0.0))
    best = int(np.argmin(np.where(beyond <= 0, far, 1e3 + beyond)))
    return _checked(context, layout, bores, (float(first[best]), float(second[best])), bare, target)


def _checked(
    context: SearchContext,
    layout: Layout,
    bores: tuple[Bore, ...],
    depths: tuple[float, ...],
    bare: BareBait,
    target: Target,
) -> Trial:
    """Round the depths to the steps that come nearest together, and stop at a bore that is too wide for so little."""
    units = context.given.recipe.units
    made = tuple(replace(b, depth=rounded(d, units)) for b, d in zip(bores, depths, strict=True))
    for bore, depth in zip(bores, depths, strict=True):
        least, most = least_depth(bore), wood_along(bore, context.given.caster)
        if depth < 0:
            remedy = "it weighs too much without any metal: lighter wood, a fuller body, or lighter hooks"
            return Trial(layout, made, stop=Finding("no-metal-wanted", "error", bore.name, remedy), miss=least - depth)
        if depth < least - step(units):
            remedy = "less than the start of a bore: take a thinner drill, a lighter metal, or putty in a shallow fill"
            stop = Finding("bore-too-wide", "error", bore.name, remedy, depth, least, "mm")
            return Trial(layout, made, stop=stop, miss=least - depth)
        if depth > most:
            remedy = "deeper than the wood: take a wider drill, a denser metal, or two bores"
            stop = Finding("bore-breaks-out", "error", bore.name, remedy, depth, most, "mm")
            return Trial(layout, made, stop=stop, miss=depth - most)
    tries = [
        tuple(replace(b, depth=d) for b, d in zip(bores, chosen, strict=True))
        for chosen in product(*(steps_around(d, units) for d in depths))
    ]
    return Trial(layout, min(tries, key=lambda one: _missed(context, one, bare, target)))


def _missed(context: SearchContext, bores: tuple[Bore, ...], bare: BareBait, target: Target) -> float:
    """How far bores are from the target [g]: mass, and the moment over a quarter of the body's length."""
    mass, moment = bare.mass, bare.moment
    for bore in bores:
        adds = context.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    off = np.array([mass - target.mass[0]])
    if target.moment is not None and target.along is not None:
        arm = context.given.sizes[0] / 4
        off = np.append(off, (moment @ target.along[0] - mass * target.moment[0] / target.mass[0]) / arm)
    return float(np.linalg.norm(off))


def _fill(bore: Bore) -> Fill:
    return bore.fill if bore.fill is not None else Fill()


class Counted:
    """Count how often the whole flow is asked."""

    def __init__(self, ask: Ask) -> None:
        self.ask, self.count = ask, 0

    def __call__(self, recipe: Recipe) -> Answer:
        """Ask the whole flow, and count it."""
        self.count += 1
        return self.ask(recipe)

    def or_none(self, recipe: Recipe) -> Answer | None:
        """Ask for a trial [g, mm]; None where no sound body or no metal comes of it (a level that reaches no metal)."""
        try:
            return self(recipe)
        except BodygenError:
            return None


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What stays the same through one search; ``failed`` remembers depths that the wood does not stand."""

    goal: Goal
    context: SearchContext
    drag: Drag
    ask: Counted
    taught: dict[str, object]
    failed: dict[tuple[bool, tuple[Bore, ...]], list[tuple[float, ...]]]


def without_new_bores(search: Search, layout: Layout) -> BareBait:
    """The given bait [g, g mm] without the bores that this layout brings in anew or leaves out."""
    given = search.context.given.recipe
    kept = {bore.name for i, bore in enumerate(layout.recipe.bores) if i not in layout.places}
    return without_bores(
        search.context, tuple(bore for bore in given.bores if bore.kind == "ballast" and bore.name not in kept)
    )


def filling(trial: Trial) -> Fill:
    """What a trial fills its bores with, to which level [-]."""
    return trial.bores[0].fill or Fill()
