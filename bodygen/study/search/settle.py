"""From the best design to one that a maker can set: rounded to steps, tried again as rounded, and the steps around."""

from itertools import product

from bodygen.study.search.pool import AllTriedError, Pool
from bodygen.study.search.space import Axis, Point, Ranged, beside, settable
from bodygen.study.search.task import Task

MOST_CORNERS = 32
"""Rounded designs that are tried at once: both ways of five ranges."""


def cost(axes: tuple[Axis, ...]) -> int:
    """How many designs settling one takes, about: its corners, and a few rounds of steps around."""
    ranged = sum(isinstance(axis, Ranged) and axis.step > 0 for axis in axes)
    if not ranged:
        return 0
    return min(1 << ranged, MOST_CORNERS) + 6 * ranged


def settle(task: Task, pool: Pool, point: Point) -> Point:
    """Round a design to steps so that it is as good as rounding lets it.

    Every way to round each range up or down is tried (of more than five ranges, each by itself), then the steps
    beside the best, as long as they are better. Only what was tried is returned.
    """
    both = [settable(axis, value) for axis, value in zip(task.axes, point, strict=True)]
    nearest = tuple(min(pair, key=lambda v: abs(v - value)) for pair, value in zip(both, point, strict=True))
    corners = [nearest]
    if len(list(product(*both))) <= MOST_CORNERS:
        corners += product(*both)
    else:
        corners += [_with(nearest, i, v) for i, pair in enumerate(both) for v in pair]
    best = _best(task, pool, list(dict.fromkeys(corners)), nearest)
    while True:
        around = [_with(best, i, v) for i, axis in enumerate(task.axes) for v in beside(axis, best[i])]
        better = _best(task, pool, [best, *around], best)
        if better == best:
            return best
        best = better


def is_settable(axes: tuple[Axis, ...], point: Point) -> bool:
    """Whether a maker can set every value of a design."""
    return all(settable(axis, value) == (value,) for axis, value in zip(axes, point, strict=True))


def _best(task: Task, pool: Pool, points: list[Point], otherwise: Point) -> Point:
    try:
        pool.figures(points)
    except AllTriedError:
        points = [p for p in points if p in pool.tried]
    return min(points, key=lambda p: task.rank(pool.tried[p]), default=otherwise)


def _with(point: Point, place: int, value: float) -> Point:
    return (*point[:place], value, *point[place + 1 :])
