"""The two ways to a better design: many at once over everything that varies, then downhill over the ranges.

Each is SciPy's; here is what they are told, and that a generation, or all differences of a slope, are one batch.
"""

from collections.abc import Callable, Sequence

import numpy as np

from bodygen.study.search.pool import AllTriedError, Pool
from bodygen.study.search.space import Among, Axis, Floats, Point, Ranged, bounds, point_of, shares_of
from bodygen.study.search.task import Task
from bodygen.study.search.wishes import Figures, misses, value_of

DIFFERENCE = 1e-3
"""Of a range, between the two designs that give a slope [-]: large against the rounding of figures."""
FIRST_REACH = 0.05
"""Of a range: how far the way without slopes looks round at first [-]."""


class _NoFiguresError(Exception):
    """A way downhill came to a design that failed."""


def sample(axes: Sequence[Axis], count: int, seed: int) -> list[Point]:
    """Designs spread evenly over all axes: scrambled Sobol' points (Owen 1998; scipy.stats.qmc).

    Parameters
    ----------
    axes : sequence of Axis
    count : int
        How many; the next power of two is drawn and cut off, which keeps the balance of the first ones.
    seed : int
    """
    from scipy.stats import qmc

    drawn = qmc.Sobol(len(axes), rng=np.random.default_rng(seed)).random_base2(max(count - 1, 1).bit_length())
    wide = np.array([1.0 if isinstance(axis, Ranged) else float(axis.count) for axis in axes])
    lists = np.array([isinstance(axis, Among) for axis in axes])
    places = np.where(lists, np.floor(drawn * wide), drawn)
    return [point_of(axes, place) for place in places[:count]]


def evolve(task: Task, pool: Pool, first: Sequence[Point], generations: int, seed: int) -> None:
    """Differential evolution (Storn and Price 1997; limits by Lampinen 2002, as in SciPy).

    Parameters
    ----------
    task : Task
    pool : Pool
    first : sequence of Point
        The first generation, at least five: spread out, or it stays in the valley where it begins.
    generations : int
    seed : int
    """
    from scipy.optimize import NonlinearConstraint, differential_evolution

    if generations < 1 or task.met(pool):
        return
    low, high = bounds(task.axes)
    start = np.array([shares_of(task.axes, point) for point in first])

    def values(x: Floats) -> Floats:
        return np.array([task.value(f) for f in task.figures_at(pool, list(x.T))])

    def limits(x: Floats) -> Floats:
        # SciPy asks once for a single design, without the second dimension
        rows = np.array([task.outside(f) for f in task.figures_at(pool, list(np.atleast_2d(x.T)))])
        return rows.T if x.ndim > 1 else rows[0]

    def done(intermediate_result: object) -> bool:  # noqa: ARG001  the name that SciPy looks for
        return task.met(pool)

    try:
        differential_evolution(
            values,
            list(zip(low, high, strict=True)),
            maxiter=generations,
            init=start,
            constraints=(NonlinearConstraint(limits, -np.inf, 0.0),),
            integrality=[isinstance(axis, Among) for axis in task.axes],
            vectorized=True,
            updating="deferred",
            polish=False,
            callback=done,
            rng=np.random.default_rng(seed),
        )
    except AllTriedError:
        return


def descend(task: Task, pool: Pool, start: Point) -> None:
    """Go downhill from a design over its ranges, its choices from lists as they are."""
    if not task.ranged:
        return
    for way in (_by_misses, _by_slopes, _looking_round):
        try:
            if way(_Slopes(task, pool, start)):
                return
        except (_NoFiguresError, AllTriedError):
            continue
        start = [*task.like(pool, start), start][0]


class _Slopes:
    """Figures over the ranges alone, and how they change, by one-sided differences in one batch."""

    def __init__(self, task: Task, pool: Pool, start: Point) -> None:
        self.task, self.pool = task, pool
        self._whole = shares_of(task.axes, start)
        self.ranged = list(task.ranged)
        self.start = self._whole[self.ranged]

    def at(self, x: Floats) -> Figures:
        return self._known([x])[0]

    def of(self, x: Floats, worth: Callable[[Figures], Floats]) -> Floats:
        """Derivatives (values, ranges) of what figures are worth."""
        steps = np.where(x + DIFFERENCE > 1.0, -DIFFERENCE, DIFFERENCE)
        here, *there = (worth(f) for f in self._known([x, *(x + np.diag(steps))]))
        return np.stack([(moved - here) / step for moved, step in zip(there, steps, strict=True)], axis=-1)

    def _known(self, places: Sequence[Floats]) -> list[Figures]:
        wholes = []
        for place in places:
            whole = self._whole.copy()
            whole[self.ranged] = np.clip(place, 0.0, 1.0)
            wholes.append(whole)
        found = self.task.figures_at(self.pool, wholes)
        known = [f for f in found if f is not None and np.isfinite(value_of(f, self.task.measure))]
        if len(known) < len(found):
            raise _NoFiguresError
        return known

    def slack(self, figures: Figures) -> Floats:
        """How far within each side of each limit and cap [-]; negative is outside."""
        task, sides = self.task, []
        for limit in task.limits:
            value = figures.get(limit.figure)
            if value is None:
                raise _NoFiguresError
            sides += [(value - limit.least) / limit.scale] if limit.least is not None else []
            sides += [(limit.most - value) / limit.scale] if limit.most is not None else []
        sides += [(cap.most - value_of(figures, cap.measure)) / cap.scale for cap in task.caps]
        return np.array(sides)


def _by_misses(s: _Slopes) -> bool:
    """Targets by Gauss-Newton steps within the ranges (Branch, Coleman and Li 1999); True where all are met."""
    from scipy.optimize import least_squares

    if not s.task.targets:
        return False

    def miss(f: Figures) -> Floats:
        return misses(f, s.task.measure)

    inner = np.clip(s.start, 1e-9, 1 - 1e-9)  # SciPy begins inside
    least_squares(
        lambda x: miss(s.at(x)),
        inner,
        jac=lambda x: s.of(x, miss),
        bounds=(0.0, 1.0),
        xtol=1e-7,
        ftol=1e-9,
        gtol=1e-9,
        max_nfev=15,
    )
    return s.task.met(s.pool)


def _by_slopes(s: _Slopes) -> bool:
    """Sequential quadratic programming (Kraft 1988), True where it ends by its own rule within the limits."""
    from scipy.optimize import minimize

    worth = _worth(s)
    limited = s.slack(s.at(s.start)).size > 0
    found = minimize(
        lambda x: float(worth(s.at(x))[0]),
        s.start,
        jac=lambda x: s.of(x, worth)[0],
        method="SLSQP",
        bounds=[(0.0, 1.0)] * len(s.start),
        constraints=[{"type": "ineq", "fun": lambda x: s.slack(s.at(x)), "jac": lambda x: s.of(x, s.slack)}]
        if limited
        else [],
        options={"maxiter": 30, "ftol": 1e-7},
    )
    return bool(found.success)


def _looking_round(s: _Slopes) -> bool:
    """Trust regions without slopes, for figures with kinks (COBYQA: Ragonneau 2022); one design at a time."""
    from scipy.optimize import NonlinearConstraint, minimize

    worth = _worth(s)
    limited = s.slack(s.at(s.start)).size > 0
    minimize(
        lambda x: float(worth(s.at(x))[0]),
        s.start,
        method="COBYQA",
        bounds=[(0.0, 1.0)] * len(s.start),
        constraints=[NonlinearConstraint(lambda x: s.slack(s.at(x)), 0.0, np.inf)] if limited else [],
        options={"maxfev": 20 * (len(s.start) + 1), "initial_tr_radius": FIRST_REACH, "final_tr_radius": 1e-4},
    )
    return True


def _worth(s: _Slopes) -> Callable[[Figures], Floats]:
    """The measure, so scaled that the designs tried so far are about 1 apart."""
    if s.task.targets:
        first = float(np.mean(misses(s.at(s.start), s.task.measure) ** 2)) or 1.0
        return lambda f: np.array([np.mean(misses(f, s.task.measure) ** 2) / first])
    known = [v for v in (s.task.value(f) for f in s.pool.tried.values()) if np.isfinite(v)]
    scale = float(np.std(known)) or 1.0
    return lambda f: np.array([s.task.value(f) / scale])
