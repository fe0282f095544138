"""One thing to make small within limits, and what a place in the unit cube is worth by it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bodygen.study.search.pool import Pool
from bodygen.study.search.space import Among, Axis, Floats, Point, point_of
from bodygen.study.search.wishes import Band, Figures, Wished, outside, value_of

CAP_LEEWAY = 1e-3
"""What is so little over a cap is on it, in its scale [-]: a cap is a place along a front, and no wish of anybody."""


@dataclass(frozen=True, slots=True)
class Cap:
    """Another measure that may not be worse than ``most``; a miss is measured in ``scale``."""

    measure: tuple[Wished, ...]
    most: float
    scale: float


@dataclass(frozen=True, slots=True)
class Task:
    """Make ``measure`` small over ``axes``; stay within ``limits``, and other measures below their ``caps``."""

    axes: tuple[Axis, ...]
    measure: tuple[Wished, ...]
    limits: tuple[Band, ...] = ()
    caps: tuple[Cap, ...] = ()

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of all figures that it asks for."""
        wishes = [*self.measure, *(wish for cap in self.caps for wish in cap.measure)]
        return tuple(dict.fromkeys([*(w.figure for w in wishes), *(limit.figure for limit in self.limits)]))

    @property
    def targets(self) -> bool:
        """Whether it asks for targets; they can be met, a least or most cannot."""
        return self.measure[0].target is not None

    @property
    def ranged(self) -> tuple[int, ...]:
        """Places of the axes that are ranges."""
        return tuple(i for i, axis in enumerate(self.axes) if not isinstance(axis, Among))

    def value(self, figures: Figures | None) -> float:
        """What is to be small; infinite for a design without figures."""
        return value_of(figures, self.measure)

    def outside(self, figures: Figures | None) -> Floats:
        """How far outside each limit and each cap [-], 0 within."""
        over = np.array([(value_of(figures, cap.measure) - cap.most) / cap.scale for cap in self.caps])
        over = np.where(over > CAP_LEEWAY, over, 0.0)
        limits = outside(figures, self.limits, self.figures)
        return np.append(limits, np.minimum(over, limits[0] or np.inf))

    def rank(self, figures: Figures | None) -> tuple[float, float]:
        """Order of designs, the best first: those within all limits by their measure, the others by how far outside."""
        return float(np.sum(self.outside(figures))), self.value(figures)

    def best(self, pool: Pool, count: int = 1, *, apart: bool = False) -> list[Point]:
        """The best of what was tried; with ``apart`` one of each choice from the lists."""
        order = sorted(pool.tried, key=lambda point: self.rank(pool.tried[point]))
        if apart:
            lists = [i for i, axis in enumerate(self.axes) if isinstance(axis, Among)]
            order = list({tuple(p[i] for i in lists): p for p in reversed(order)}.values())[::-1]
        return order[:count]

    def like(self, pool: Pool, point: Point) -> list[Point]:
        """Designs that were tried with the same choices from the lists, the best first."""
        lists = [i for i, axis in enumerate(self.axes) if isinstance(axis, Among)]
        return [p for p in self.best(pool, len(pool)) if all(p[i] == point[i] for i in lists)]

    def met(self, pool: Pool) -> bool:
        """Whether a design that was tried has every target, each within what counts as met, and every limit."""
        if not self.targets or not pool.tried:
            return False
        figures = pool.tried[self.best(pool)[0]]
        return self.rank(figures)[0] == 0.0 and hits(figures, self.measure)

    def figures_at(self, pool: Pool, places: Sequence[Floats]) -> list[Figures | None]:
        """Figures of places in the unit cube."""
        return pool.figures([point_of(self.axes, place) for place in places])


def hits(figures: Figures | None, wishes: Sequence[Wished]) -> bool:
    """Whether each target is within what counts as met (with the dust of binary fractions)."""
    return figures is not None and all(
        abs(figures[w.figure] - w.target) <= w.within * (1 + 1e-9) for w in wishes if w.target is not None
    )
