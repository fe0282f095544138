"""What a search may turn: ranges with the steps that a maker can set, and lists to choose from.

Knows numbers. Knows no recipe: what a place in a list stands for is for whoever asks.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, ...]
"""A value for each thing that varies, in its own unit; of a list the place in it, from 0."""
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ranged:
    """Anything from ``low`` to ``high``; a maker sets multiples of ``step`` (0: anything)."""

    low: float
    high: float
    step: float = 0.0


@dataclass(frozen=True, slots=True)
class Among:
    """One of ``count`` things that have no order."""

    count: int


Axis = Ranged | Among


def bounds(axes: Sequence[Axis]) -> tuple[Floats, Floats]:
    """Least and greatest of each axis where a range is 0 to 1 and a list its places."""
    high = [1.0 if isinstance(axis, Ranged) else max(axis.count - 1.0, 1.0) for axis in axes]
    return np.zeros(len(high)), np.array(high)


def point_of(axes: Sequence[Axis], shares: Sequence[float] | Floats) -> Point:
    """Values of a place in the unit cube.

    >>> point_of([Ranged(10.0, 20.0), Among(3)], [0.25, 1.8])
    (12.5, 2.0)
    """
    return tuple(
        axis.low + min(max(float(share), 0.0), 1.0) * (axis.high - axis.low)
        if isinstance(axis, Ranged)
        else float(min(max(round(float(share)), 0), axis.count - 1))
        for axis, share in zip(axes, shares, strict=True)
    )


def shares_of(axes: Sequence[Axis], point: Point) -> Floats:
    """Place in the unit cube of a point: the inverse of ``point_of``."""
    return np.array([
        (value - axis.low) / (axis.high - axis.low) if isinstance(axis, Ranged) else value
        for axis, value in zip(axes, point, strict=True)
    ])


def settable(axis: Axis, value: float) -> tuple[float, ...]:
    """The two steps around a value that lie in the range; the value itself where there is none.

    >>> settable(Ranged(10.0, 12.0, 0.1), 11.04), settable(Ranged(10.0, 12.0, 0.1), 11.0), settable(Among(4), 2.0)
    ((11.0, 11.1), (11.0,), (2.0,))
    """
    if isinstance(axis, Among) or axis.step <= 0:
        return (value,)
    low, high, here = _steps(axis, axis.low, ceil), _steps(axis, axis.high, floor), value / axis.step
    near = round(here)
    around = {near} if abs(here - near) < 1e-6 else {floor(here), ceil(here)}
    kept = sorted({min(max(k, low), high) for k in around}) if low <= high else []
    return tuple(_at(axis, k) for k in kept) or (value,)


def beside(axis: Axis, value: float) -> tuple[float, ...]:
    """The steps next to a settable value, one each way, as far as the range goes.

    >>> beside(Ranged(10.0, 12.0, 0.1), 10.0), beside(Among(3), 1.0)
    ((10.1,), ())
    """
    if isinstance(axis, Among) or axis.step <= 0:
        return ()
    low, high, here = _steps(axis, axis.low, ceil), _steps(axis, axis.high, floor), round(value / axis.step)
    return tuple(_at(axis, k) for k in (here - 1, here + 1) if low <= k <= high)


def _steps(axis: Ranged, value: float, to: Callable[[float], int]) -> int:
    count = value / axis.step
    near = round(count)
    return near if abs(count - near) < 1e-6 else to(count)


def _at(axis: Ranged, steps: int) -> float:
    """A multiple of a step without the dust of binary fractions: 111 of 0.1 is 11.1."""
    return float(f"{steps * axis.step:.12g}")
