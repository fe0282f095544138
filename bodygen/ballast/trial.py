"""One layout, one drill, one metal: the depths (and place) that reach the aim, by the bait's first moments.

Knows the local model of ``bore.py``, an aim, and what stays the same through one search. A weight and its moment are
straight in volumes of metal and wood, so each is solved in closed form or by a few corrections; whether wood is left is
asked elsewhere (``wood.py``).
"""

from dataclasses import dataclass, replace
from itertools import product

import manifold3d
import numpy as np

from bodygen.ballast.aim import Aim
from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.bore import Hole, depth_for, holes_of, least_depth, level_for, net, wood_along
from bodygen.ballast.drag import Drag
from bodygen.ballast.layout import Layout, along, at_x, drilled, own_fill, rounded, step, steps_around
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
class Base:
    """The bait without the bores that are wanted: mass [g], first moment (3,) [g mm], density of its wood [g/cm^3]."""

    mass: float
    moment: Array
    wood: float


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A given answer with its body ready to be cut; ``known`` keeps the mouths that have been learned."""

    given: Answer
    body: manifold3d.Manifold
    known: dict[Bore, tuple[Hole, ...]]

    def holes(self, bore: Bore) -> tuple[Hole, ...]:
        """The mouths of a bore in this body [mm^3, mm^4], whatever its depth and fill."""
        key = replace(bore, depth=None, fill=None, name="", drill=None)
        if key not in self.known:
            self.known[key] = holes_of(self.given.recipe, replace(bore, fill=None), self.given.caster, self.body)
        return self.known[key]

    def adds(self, bore: Bore) -> tuple[float, Array]:
        """What a bore with its fill adds to the bait without it: mass [g], first moment (3,) [g mm].

        See ``bore.net``, elementary.
        """
        return net(self.holes(bore), bore.fill, float(bore.depth or 0.0), self.given.wood.g_cm3)


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """Bores that should reach the aim, rounded to the shop's steps; or ``stop``, what is in the way.

    ``kind`` "depth" or "level": what was solved for. ``miss`` is how far off the unrounded wish lies, 0 if it is met:
    only good for finding the nearest of several that fail.
    """

    layout: Layout
    bores: tuple[Bore, ...]
    kind: str = "depth"
    stop: Finding | None = None
    miss: float = 0.0


def ground_of(given: Answer) -> Ground:
    """Make a given answer [mm] ready."""
    return Ground(given, to_manifold(given.body), {})


def base_of(ground: Ground, removed: tuple[Bore, ...]) -> Base:
    """Take bores out of the given bait: mass [g] and first moment [g mm] without them."""
    given = ground.given
    mass, moment = given.total.mass, given.total.mass * given.total.centre_of_mass
    for bore in removed:
        gone = ground.adds(bore)
        mass, moment = mass - gone[0], moment - gone[1]
    return Base(mass, moment, given.wood.g_cm3)


def try_layout(
    ground: Ground, layout: Layout, diameter: float | None, fill: Fill | None, base: Base, aim: Aim
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
            return _two(ground, layout, bores, base, aim)
        if layout.free_x and aim.moment is not None and len(aim.mass) == 1:
            return _movable(ground, layout, bores[0], base, aim)
        return _fixed(ground, layout, bores[0], base, aim)
    except BodygenError as error:  # no body there
        return Trial(layout, bores, stop=Finding("bore-off-body", "error", bores[0].name, str(error)), miss=np.inf)


def try_level(ground: Ground, layout: Layout, base: Base, aim: Aim, fill: Fill | None) -> Trial | None:
    """Keep one bore as it is drilled and fill it less, or more, by its level [-]; None where that is not the question.

    Derived here: the mass is straight in the level.
    """
    bore = layout.bores[0]
    if len(layout.bores) > 1 or aim.moment is not None or bore.depth is None:
        return None
    fill = own_fill(bore) if fill is None else fill
    level = level_for(ground.holes(bore), fill, bore.depth, float(aim.mass[0]) - base.mass, base.wood)
    if not LEAST_LEVEL <= level <= 1:
        return None
    return Trial(layout, (replace(bore, fill=replace(fill, level=round(level, 2))),), "level")


def _fixed(ground: Ground, layout: Layout, bore: Bore, base: Base, aim: Aim) -> Trial:
    """One bore in its place: by mass alone, or on a line of aims where the moment fits too."""
    holes, fill = ground.holes(bore), _fill(bore)
    depths = np.array([depth_for(holes, fill, mass - base.mass, base.wood) for mass in aim.mass])
    if aim.moment is None or aim.along is None or len(aim.mass) == 1:
        return _checked(ground, layout, (bore,), (float(depths[0]),), base, aim)
    good = (depths >= least_depth(bore)) & (depths <= wood_along(bore, ground.given.caster))
    gap = np.array([
        (base.moment + net(holes, fill, d, base.wood)[1]) @ a - m
        for d, a, m in zip(depths, aim.along, aim.moment, strict=True)
    ])
    crossing = np.flatnonzero(good[:-1] & good[1:] & (gap[:-1] * gap[1:] <= 0))
    if not len(crossing):
        x = along(bore, ground.given.sizes[0])
        where = f"{bore.name} at x = {length_text(x, ground.given.recipe.units)}"
        remedy = "no depth of this bore balances there: move it along the body, or ask for another attitude"
        stop = Finding("balance-out-of-reach", "error", where, remedy)
        if not good.any():
            return Trial(layout, (bore,), stop=stop, miss=np.inf)
        near = int(np.argmin(np.where(good, np.abs(gap / aim.mass), np.inf)))
        nearest = replace(bore, depth=rounded(float(depths[near]), ground.given.recipe.units))
        return Trial(layout, (nearest,), stop=stop, miss=float(np.abs(gap[near])))
    at = crossing[np.argmin(np.abs(depths[crossing] - (bore.depth or 0.0)))]
    share = gap[at] / (gap[at] - gap[at + 1])
    depth = float(depths[at] + share * (depths[at + 1] - depths[at]))
    mass, way, moment = (
        values[at] + share * (values[at + 1] - values[at]) for values in (aim.mass, aim.along, aim.moment)
    )
    return _checked(ground, layout, (bore,), (depth,), base, Aim(np.array([mass]), way[None], np.array([moment])))


def _movable(ground: Ground, layout: Layout, bore: Bore, base: Base, aim: Aim) -> Trial:
    """One bore whose place is wanted: its depth follows from the mass, its x from the moment."""
    assert aim.along is not None  # noqa: S101  the caller's condition
    assert aim.moment is not None  # noqa: S101
    fill, adds, way = _fill(bore), float(aim.mass[0]) - base.mass, aim.along[0]
    low, high = float(ground.given.caster.low[0]), float(ground.given.caster.high[0])
    margin = 0.5 * bore.diameter + 1.0
    x = wanted = along(bore, ground.given.sizes[0])
    depth = 0.0
    units = ground.given.recipe.units
    for _ in range(CORRECTIONS):
        near = rounded(x, units)  # the mouths there serve every metal
        holes = ground.holes(at_x(bore, near))
        depth = depth_for(holes, fill, adds, base.wood)
        moment = base.moment + net(holes, fill, depth, base.wood)[1]
        gap = float(moment @ way) + adds * float(way[0]) * (x - near) - float(aim.moment[0])
        wanted = x - gap / (adds * way[0])
        moved = min(max(wanted, low + margin), high - margin)
        if abs(moved - x) < 0.01:
            break
        x = moved
    if abs(wanted - x) > 1.0:
        bore = at_x(bore, rounded(x, units))
        depth = depth_for(ground.holes(bore), fill, adds, base.wood)
        remedy = "it would have to sit at x = {}, off the body: more ballast, or an attitude nearer to level"
        limit = high if wanted > x else low
        stop = Finding("balance-out-of-reach", "error", bore.name, remedy, wanted, limit, "mm", lengths=(wanted,))
        return Trial(layout, (replace(bore, depth=rounded(depth, units)),), stop=stop, miss=abs(wanted - x))
    best: tuple[float, Trial] | None = None
    for place in steps_around(x, units):  # the step that the eye would take is not always the one that balances best
        there = at_x(bore, place)
        trial = _checked(ground, layout, (there,), (depth_for(ground.holes(there), fill, adds, base.wood),), base, aim)
        missed = trial.miss + 1e3 if trial.stop else _missed(ground, trial.bores, base, aim)
        if best is None or missed < best[0]:
            best = missed, trial
    assert best is not None  # noqa: S101  a length has a step on either side
    return best[1]


def _two(ground: Ground, layout: Layout, bores: tuple[Bore, ...], base: Base, aim: Aim) -> Trial:
    """Two bores in their places: by mass and moment, or by mass alone with the least change of their depths."""
    if aim.moment is None or aim.along is None:
        return _two_by_mass(ground, layout, bores, base, float(aim.mass[0]), aim)
    if len(aim.mass) > 1:  # a line of aims: the mass that changes the given bait least
        nearest = int(np.argmin(np.abs(aim.mass - ground.given.total.mass)))
        aim = Aim(aim.mass[[nearest]], aim.along[[nearest]], aim.moment[[nearest]])
    return _two_in_balance(ground, layout, bores, base, aim)


def _two_in_balance(ground: Ground, layout: Layout, bores: tuple[Bore, ...], base: Base, aim: Aim) -> Trial:
    """The pair of depths that has both the mass and the moment, by Newton's steps."""
    assert aim.along is not None  # noqa: S101  the caller's condition
    assert aim.moment is not None  # noqa: S101
    way = aim.along[0]
    wanted = np.array([aim.mass[0] - base.mass, aim.moment[0] - base.moment @ way])

    def loads(depths: Array) -> Array:
        """Mass and moment (2,) that each of the two adds (2, 2): rows are bores."""
        nets = [net(ground.holes(b), _fill(b), float(d), base.wood) for b, d in zip(bores, depths, strict=True)]
        return np.array([[mass, moment @ way] for mass, moment in nets])

    depths = np.array([ground.holes(bore)[0].depth for bore in bores])
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
    return _checked(ground, layout, bores, tuple(float(d) for d in depths), base, aim)


def _two_by_mass(ground: Ground, layout: Layout, bores: tuple[Bore, ...], base: Base, mass: float, aim: Aim) -> Trial:
    """Of all pairs of depths that weigh right, and fit the wood, the one nearest to the depths as given."""
    holes, adds = [ground.holes(bore) for bore in bores], mass - base.mass
    first = np.linspace(least_depth(bores[0]), wood_along(bores[0], ground.given.caster), 40)
    left = [adds - net(holes[0], _fill(bores[0]), float(d), base.wood)[0] for d in first]
    second = np.array([depth_for(holes[1], _fill(bores[1]), one, base.wood) for one in left])
    beyond = np.maximum(least_depth(bores[1]) - second, second - wood_along(bores[1], ground.given.caster))
    far = np.hypot(first - (bores[0].depth or 0.0), second - (bores[1].depth or 0.0))
    best = int(np.argmin(np.where(beyond <= 0, far, 1e3 + beyond)))
    return _checked(ground, layout, bores, (float(first[best]), float(second[best])), base, aim)


def _checked(
    ground: Ground, layout: Layout, bores: tuple[Bore, ...], depths: tuple[float, ...], base: Base, aim: Aim
) -> Trial:
    """Round the depths to the steps that come nearest together, and stop at a bore that is too wide for so little."""
    units = ground.given.recipe.units
    made = tuple(replace(b, depth=rounded(d, units)) for b, d in zip(bores, depths, strict=True))
    for bore, depth in zip(bores, depths, strict=True):
        least, most = least_depth(bore), wood_along(bore, ground.given.caster)
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
    return Trial(layout, min(tries, key=lambda one: _missed(ground, one, base, aim)))


def _missed(ground: Ground, bores: tuple[Bore, ...], base: Base, aim: Aim) -> float:
    """How far bores are from the aim [g]: mass, and the moment over a quarter of the body's length."""
    mass, moment = base.mass, base.moment
    for bore in bores:
        adds = ground.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    off = np.array([mass - aim.mass[0]])
    if aim.moment is not None and aim.along is not None:
        arm = ground.given.sizes[0] / 4
        off = np.append(off, (moment @ aim.along[0] - mass * aim.moment[0] / aim.mass[0]) / arm)
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
    ground: Ground
    drag: Drag
    ask: Counted
    taught: dict[str, object]
    failed: dict[tuple[bool, tuple[Bore, ...]], list[tuple[float, ...]]]


def base_for(search: Search, layout: Layout) -> Base:
    """The given bait [g, g mm] without the bores that this layout brings in anew or leaves out."""
    given = search.ground.given.recipe
    kept = {bore.name for i, bore in enumerate(layout.recipe.bores) if i not in layout.places}
    return base_of(
        search.ground, tuple(bore for bore in given.bores if bore.kind == "ballast" and bore.name not in kept)
    )


def filling(trial: Trial) -> Fill:
    """What a trial fills its bores with, to which level [-]."""
    return trial.bores[0].fill or Fill()
