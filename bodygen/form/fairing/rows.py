"""Where the rows of a drawn body lie: evenly, at every corner and point of the maker's, and no wave between them.

A smooth surface through rows rings where a long step follows a short one, and a cubic needs four rows between two
corners; so rows are put in until each run has enough and no step is many times its neighbour.
"""

from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodygen.recipe.model import Curve, Parameters

Array = NDArray[np.float64]
STATIONS = 33
"""Rows before those of the maker's own points; most drawn outlines are followed closely enough by their 32 spans."""
FEWEST = 4
"""Rows from one corner to the next: a cubic has four free ends."""
UNEVEN = 4.0
"""How many times as long as its neighbour a step may be; evenly spread rows beside a maker's own come close to it."""
ONE_PLACE_MM = 0.01
"""Corners of different lines that stand no further apart are one corner: nobody draws that, units do."""


def opened(share: Array, nose: float, tail: float) -> Array:
    """The parameter t of a share of the length [-]: 0 to 1, rising, opened towards blunt ends.

    Near an end t grows like distance^p, p = 1 - bluntness/2 up to bluntness 1 (half a circle's growth), beyond it
    1/(1 + bluntness).

    Derived here from how an ellipse and a straight point open; bluntness [-].

    Examples
    --------
    >>> opened(np.array([0.0, 0.25, 0.5, 1.0]), 0.0, 0.0)
    array([0.  , 0.25, 0.5 , 1.  ])
    """
    share = np.clip(share, 0.0, 1.0)
    front, back = share ** _growth(nose), (1 - share) ** _growth(tail)
    return front / (front + back)


def _growth(bluntness: float) -> float:
    return 1 - bluntness / 2 if bluntness <= 1 else 1 / (1 + bluntness)


def between(x0: Array, x1: Array, part: Array | float, length: float, blunt: tuple[float, float]) -> Array:
    """Places [mm] the ``part`` [-] of the way in t from x0 to x1 [mm].

    Examples
    --------
    >>> between(np.array([0.0]), np.array([70.0]), 0.25, 70.0, (0.0, 0.0)).tolist()   # of pointed ends: evenly in x
    [17.5]
    """
    opening, share = _opening(blunt)
    t0, t1 = (opened(x / length, *blunt) for x in (x0, x1))
    return np.asarray(np.interp(t0 + (t1 - t0) * part, opening, share)) * length


@lru_cache(maxsize=16)
def _opening(blunt: tuple[float, float]) -> tuple[Array, Array]:
    """A table of t over shares of the length, close at both ends: 4001 of each [-]."""
    table = np.concatenate([[0.0], np.geomspace(1e-9, 0.5, 2000)])
    share = np.concatenate([table, 1 - table[-2::-1]])
    return opened(share, *blunt), share


def corner_places(shape: Parameters) -> Array:
    """Where any line of the body turns sharply (k,) [mm], those within ``ONE_PLACE_MM`` once.

    Examples
    --------
    >>> line = Curve(((0.0, 0.0), (0.5, 1.0), (1.0, 0.0)), fractions=True, corners=(1,))
    >>> corner_places(Parameters(70.0, 20.0, 16.0, line, line, line)).tolist()
    [35.0]
    """
    curves = [shape.back, shape.belly, shape.plan, shape.squareness_back, shape.squareness_belly]
    curves += [shape.widest] if shape.widest is not None else []
    places = sorted(curve.points[i][0] * _scale(curve, shape) for curve in curves for i in curve.corners)
    kept: list[float] = []
    for at in places:
        if not kept or at - kept[-1] > ONE_PLACE_MM:
            kept.append(round(at, 9))
    return np.array([at for at in kept if 0 < at < shape.length])


def points_of(curve: Curve, shape: Parameters, corners: Array) -> Array:
    """Where a line's own points lie (n,) [mm], its corners at the places that ``corner_places`` gave them.

    Examples
    --------
    >>> line = Curve(((0.0, 0.0), (0.4, 1.0), (1.0, 0.0)), fractions=True)
    >>> points_of(line, Parameters(70.0, 20.0, 16.0, line, line, line), np.zeros(0)).tolist()
    [0.0, 28.0, 70.0]
    """
    at = np.array([x * _scale(curve, shape) for x, _ in curve.points])
    for i in curve.corners:
        if len(corners) and 0 < i < len(at) - 1:
            near = corners[np.argmin(np.abs(corners - at[i]))]
            at[i] = near if abs(near - at[i]) <= ONE_PLACE_MM else at[i]
    return at


def _scale(curve: Curve, shape: Parameters) -> float:
    return shape.length if curve.fractions else 1.0


def first_rows(shape: Parameters, blunt: tuple[float, float], corners: Array) -> Array:
    """Rows evenly in t, at the maker's own points that stand by themselves, and at every corner (m,) [mm].

    Derived here: even steps in t, and no row nearer to one of the maker's than 0.4 of a step.
    """
    steps = np.linspace(0, 1, STATIONS)
    even = between(np.zeros(STATIONS), np.full(STATIONS, shape.length), steps, shape.length, blunt)
    own = {round(float(at), 9) for at in corners}
    for curve in (shape.back, shape.belly, shape.plan):
        for at in sorted({round(float(at), 9) for at in points_of(curve, shape, corners)[1:-1]} - own):
            if all(abs(at - other) > 0.25 * shape.length / STATIONS for other in own):
                own.add(at)
    gap = np.diff(even)
    near = np.minimum(np.append(gap, gap[-1]), np.insert(gap, 0, gap[0])) * 0.4
    free = np.array([True] * len(even))
    for at in own:
        free &= np.abs(even - at) > near
    rows = even[1:-1][free[1:-1]].tolist()
    return with_enough(np.array(sorted([0.0, *rows, *own, shape.length])), corners, shape.length, blunt)


def with_enough(x: Array, corners: Array, length: float, blunt: tuple[float, float]) -> Array:
    """The rows x (m,) [mm], and more where a run between corners has fewer than ``FEWEST``."""
    bounds = np.array([0.0, *corners, length])
    for first, last in pairwise(bounds):
        inside = x[(x > first) & (x < last)]
        if len(inside) < FEWEST - 2:
            parts = np.arange(1, FEWEST - 1) / (FEWEST - 1)
            fresh = between(np.full(len(parts), first), np.full(len(parts), last), parts, length, blunt)
            x = np.concatenate([x[(x <= first) | (x >= last)], fresh])
            x.sort()
    return x


def uneven(x: Array, step: Array, corners: Array) -> NDArray[np.intp]:
    """Which steps (m - 1,) [mm along the skin] are many times as long as a neighbour on the same side of a corner.

    Examples
    --------
    >>> uneven(np.array([0.0, 1, 2, 52]), np.array([1.0, 1, 50]), np.zeros(0)).tolist()
    [2]
    """
    smooth = (x[1:-1, None] != corners).all(axis=1)
    long = np.zeros(len(step), dtype=bool)
    long[:-1] |= smooth & (step[:-1] > UNEVEN * step[1:])
    long[1:] |= smooth & (step[1:] > UNEVEN * step[:-1])
    return np.flatnonzero(long)
