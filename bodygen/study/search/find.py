"""The whole of a search: where to begin, what to try next, what to offer, and what stands in the way.

The order is fixed, and each step's draws come from the seed alone, so the designs are the same whoever works them out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from bodygen.study.search.front import along, front_of
from bodygen.study.search.pool import AllTriedError, Evaluate, Pool
from bodygen.study.search.settle import cost, is_settable, settle
from bodygen.study.search.space import Axis, Point
from bodygen.study.search.steps import descend, evolve, sample
from bodygen.study.search.task import Task, hits
from bodygen.study.search.wishes import Band, Figures, Wished, measures_of, outside

FIRST = 16
"""Designs of the first sample for each thing that varies; at most a quarter of all."""
LEAST_GENERATIONS = 4
"""Fewer change little, and the ways downhill do more with as many designs."""
STARTS = 3
"""From how many of the best designs, each with other choices from the lists, a way downhill begins."""


@dataclass(frozen=True, slots=True)
class LimitMet:
    """Of the designs that have figures: how many keep a limit, how many keep all others, how near the nearest comes.

    ``nearest`` is the least by which any design that keeps all others is outside this one, in the figure's unit; None
    where none keeps all others.
    """

    limit: Band
    kept: int
    others_kept: int
    nearest: float | None


@dataclass(frozen=True, slots=True)
class Offered:
    """A design that a maker can set, and the best one that it was rounded from (places in ``SearchOutcome.tried``)."""

    design: int
    exact: int
    within_limits: bool
    met: bool


@dataclass(frozen=True, slots=True)
class SearchOutcome:
    """What a search tried, in order, and what it offers: one design, or those along a front.

    Where no design keeps all limits, the one offered is the nearest, and ``limits`` say what stands in the way.
    """

    tried: tuple[tuple[Point, Figures | None], ...]
    measures: tuple[tuple[Wished, ...], ...]
    offers: tuple[Offered, ...]
    limits: tuple[LimitMet, ...]
    front: tuple[int, ...]

    @property
    def failed(self) -> int:
        """How many designs have no figures."""
        return sum(figures is None for _, figures in self.tried)


def find(
    axes: Sequence[Axis],
    evaluate: Evaluate,
    wishes: Sequence[Wished],
    limits: Sequence[Band] = (),
    designs: int = 1000,
    seed: int = 0,
) -> SearchOutcome:
    """Look for designs with the wished figures.

    Parameters
    ----------
    axes : sequence of Axis
        What varies.
    evaluate : callable
        A batch of points to their figures; None for one that failed.
    wishes : sequence of Wished
        Targets are wished all together; each least or most by itself. More than one measure gives a front.
    limits : sequence of Band
        What every offered design must keep.
    designs : int
        How many may be tried in all.
    seed : int
        The same seed gives the same designs.

    Returns
    -------
    SearchOutcome
        Designs in the order in which they were tried.
    """
    pool, measures = Pool(evaluate, designs), measures_of(wishes)
    task = Task(tuple(axes), measures[0], tuple(limits))
    tasks = [Task(task.axes, measure, task.limits) for measure in measures]
    places = 1 if len(tasks) == 1 else len(tasks) + 9
    kept_back = min(cost(task.axes) * places, designs // 3)
    pool.most = designs - kept_back
    _begin(tasks, pool, designs, seed)
    ways = tasks
    if len(tasks) > 1:
        ways = [*tasks, *along(task, pool, measures)]
        for number, way in enumerate(ways[len(tasks) :]):
            share = pool.left // (len(ways) - len(tasks) - number)
            _improve(way, pool, share, way.best(pool, _size(axes)), seed + 100 + number)
    pool.most = designs
    offered = dict.fromkeys((_settled(way, pool), way.best(pool)[0]) for way in ways)
    return _found(task, pool, measures, list(offered), front=len(tasks) > 1)


def _begin(tasks: Sequence[Task], pool: Pool, designs: int, seed: int) -> None:
    """Take a sample of everywhere, then see to each measure by itself."""
    axes = tasks[0].axes
    drawn = sample(axes, min(FIRST * len(axes), max(designs // 4, 1)), seed)
    try:
        pool.figures(drawn)
    except AllTriedError:
        return
    share = 1 if len(tasks) == 1 else 2 * len(tasks)
    for number, task in enumerate(tasks):
        _improve(task, pool, pool.left // (share - number), drawn[: _size(axes) - 1], seed + 1 + number)


def _size(axes: Sequence[Axis]) -> int:
    """Designs of a generation."""
    return max(6, min(5 * len(axes), 40))


def _improve(task: Task, pool: Pool, designs: int, first: Sequence[Point], seed: int) -> None:
    """Downhill from the best, then generations of the first ones, then downhill again, by some more designs at most."""
    whole, pool.most = pool.most, min(pool.most, len(pool) + designs)
    for start in task.best(pool, STARTS, apart=True):
        if not task.met(pool):
            descend(task, pool, start)
    parents = list(dict.fromkeys([task.best(pool)[0], *first]))
    generations = int(0.6 * pool.left) // len(parents)
    if len(parents) >= 5 and generations >= LEAST_GENERATIONS and not task.met(pool):
        evolve(task, pool, parents, generations, seed)
        for start in task.best(pool, STARTS, apart=True):
            if not task.met(pool):
                descend(task, pool, start)
    pool.most = whole


def _settled(task: Task, pool: Pool) -> Point:
    """The best that a maker can set: what the best of all is rounded to, or a better one that was tried."""
    exact = task.best(pool)[0]
    best = exact
    for start in task.best(pool, STARTS, apart=True):  # other choices from the lists may round better
        if start != exact:
            descend(task, pool, start)
        settle(task, pool, task.like(pool, start)[0])
        best = next((p for p in task.best(pool, len(pool)) if is_settable(task.axes, p)), exact)
        if not task.targets or task.rank(pool.tried[best])[0] > 0 or hits(pool.tried[best], task.measure):
            break
    return best


def _found(
    task: Task, pool: Pool, measures: Sequence[tuple[Wished, ...]], offered: list[tuple[Point, Point]], *, front: bool
) -> SearchOutcome:
    number = {point: i for i, point in enumerate(pool.tried)}
    exact = dict(offered)
    kept = [design for design, _ in offered]
    inside = {p: task.rank(pool.tried[p])[0] == 0.0 for p in kept}
    if front and any(inside.values()):
        kept = front_of(task, pool, list(dict.fromkeys(kept)), measures)
    else:
        kept = sorted(dict.fromkeys(kept), key=lambda p: task.rank(pool.tried[p]))[:1]
    targets = [wish for measure in measures for wish in measure if wish.target is not None]
    offers = [
        Offered(number[p], number[exact[p]], inside[p], inside[p] and bool(targets) and hits(pool.tried[p], targets))
        for p in kept
    ]
    best = front_of(task, pool, list(pool.tried), measures) if front else []
    return SearchOutcome(
        tuple(pool.tried.items()),
        tuple(measures),
        tuple(offers),
        _limits_met(task.limits, pool),
        tuple(number[p] for p in best),
    )


def _limits_met(limits: Sequence[Band], pool: Pool) -> tuple[LimitMet, ...]:
    """How each limit stands among the designs that have figures."""
    known = [f for f in pool.tried.values() if f is not None and outside(f, limits)[0] == 0.0]
    misses = [list(outside(f, limits)[1:]) for f in known]
    rows = []
    for k, limit in enumerate(limits):
        others = [miss[k] * limit.scale for miss in misses if not any(miss[:k] + miss[k + 1 :])]
        rows.append(LimitMet(limit, sum(miss[k] == 0.0 for miss in misses), len(others), min(others, default=None)))
    return tuple(rows)
