"""What is wished of a design, as numbers to make small: how far from the targets, how far outside the limits.

Knows figures by name. A design that failed has none of them, and is further outside than any that did not.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Literal

import numpy as np

from bodygen.study.search.space import Floats

Figures = Mapping[str, float]
FAILED = 1e6
"""How far outside its limits a design counts that has no figures [-]."""
LEEWAY = 1e-6
"""What lies so little outside a limit lies on it, in the limit's own scale [-]: the rounding of figures."""


@dataclass(frozen=True, slots=True)
class Wished:
    """One figure that is to be near a ``target`` (``within`` counts as met), or as small or large as can be."""

    figure: str
    target: float | None = None
    within: float = 0.0
    sense: Literal["least", "most"] | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A figure that must lie between two values, either of which may be open (None)."""

    figure: str
    least: float | None = None
    most: float | None = None

    @property
    def scale(self) -> float:
        """What a miss is measured in, in the figure's unit: the width of the band, else the size of the limit."""
        if self.least is not None and self.most is not None and self.most > self.least:
            return self.most - self.least
        return max(abs(v) for v in (self.least, self.most, 0.0) if v is not None) or 1.0

    def outside(self, value: float) -> float:
        """How far a value lies outside, in the figure's unit; 0 within.

        >>> Band("reserve", 1.0, 3.0).outside(3.5)
        0.5
        """
        low = self.least - value if self.least is not None else 0.0
        high = value - self.most if self.most is not None else 0.0
        return max(low, high, 0.0)


def measures_of(wishes: Sequence[Wished]) -> list[tuple[Wished, ...]]:
    """What is made small side by side: all targets together are one thing, each least or most is one by itself."""
    targets = tuple(wish for wish in wishes if wish.target is not None)
    return [*([targets] if targets else []), *((wish,) for wish in wishes if wish.target is None)]


def misses(figures: Figures, wishes: Sequence[Wished]) -> Floats:
    """How far each target is missed, in units of what counts as met [-]; signed.

    >>> misses({"depth": 2.6}, [Wished("depth", target=2.5, within=0.05)])
    array([2.])
    """
    return np.array([(figures[w.figure] - w.target) / w.within for w in wishes if w.target is not None])


def value_of(figures: Figures | None, measure: Sequence[Wished]) -> float:
    """One measure of a design, smaller is better: the rms of its misses, or a figure or its opposite."""
    if figures is None or not has_all(figures, [wish.figure for wish in measure]):
        return np.inf
    first = measure[0]
    if first.target is not None:
        return float(np.sqrt(np.mean(misses(figures, measure) ** 2)))
    return -figures[first.figure] if first.sense == "most" else figures[first.figure]


def outside(figures: Figures | None, limits: Sequence[Band], needed: Sequence[str] = ()) -> Floats:
    """How far a design is outside each limit, in the limit's own scale [-]; FAILED where a figure is lacking.

    The first number says whether it has figures at all, so that there is one where nobody set a limit.
    """
    if figures is None or not has_all(figures, [*needed, *(limit.figure for limit in limits)]):
        return np.full(1 + len(limits), FAILED)
    over = np.array([0.0, *(limit.outside(figures[limit.figure]) / limit.scale for limit in limits)])
    return np.where(over > LEEWAY, over, 0.0)


def has_all(figures: Figures, names: Sequence[str]) -> bool:
    """Whether every named figure is there and a number."""
    return all(figures.get(name) is not None and isfinite(figures[name]) for name in names)
