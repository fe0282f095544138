"""A fair line through given points: smooth curvature, and no rise or fall that the points do not have.

Each interval is a quintic with slope and curvature given at its ends. They start as those of the cubic spline through
all points (the draughtsman's batten); where that spline would overshoot they are limited just enough that the Bernstein
coefficients of every interval stay in order, which makes the line monotone wherever the points are.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodygen.form import spline

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class FairLine:
    """A curve y(x) through points, y'' continuous except at corners.

    ``x``, ``y`` (n,) are the points; ``slope`` and ``bend`` (n, 2) the first and second derivative to the left and
    right of each point (equal but for corners).
    """

    x: Array
    y: Array
    slope: Array
    bend: Array

    def __call__(self, x: Array) -> Array:
        """Height at x, any shape; beyond the ends the end value."""
        x = np.minimum(np.maximum(np.asarray(x, dtype=float), self.x[0]), self.x[-1])  # np.clip takes twice as long
        i = np.minimum(np.maximum(np.searchsorted(self.x, x, side="right") - 1, 0), len(self.x) - 2)
        start, h, b0, b1, b2, b3, b4, b5 = np.take(_pieces(self), i, axis=1)
        s = (x - start) / h
        r = 1 - s
        low = r**3 * (b0 * r**2 + 5 * b1 * s * r + 10 * b2 * s**2)
        high = s**3 * (10 * b3 * r**2 + 5 * b4 * s * r + b5 * s**2)
        return np.asarray(low + high)


@lru_cache(maxsize=64)  # a line is drawn once and asked many times
def _pieces(line: FairLine) -> Array:
    """Where each interval begins, its length, and its six Bernstein coefficients: (8, n - 1)."""
    h = np.diff(line.x)
    b0, b5 = line.y[:-1], line.y[1:]
    m0, m1 = line.slope[:-1, 1] * h, line.slope[1:, 0] * h
    c0, c1 = line.bend[:-1, 1] * h * h, line.bend[1:, 0] * h * h
    b1, b4 = b0 + m0 / 5, b5 - m1 / 5
    b2, b3 = b0 + 2 * m0 / 5 + c0 / 20, b5 - 2 * m1 / 5 + c1 / 20
    return np.array([line.x[:-1], h, b0, b1, b2, b3, b4, b5])


def fair_line(
    x: Array, y: Array, corners: tuple[int, ...] = (), *, flat_ends: tuple[bool, bool] = (False, False)
) -> FairLine:
    """The fair line through (x, y), [mm] or [-]; curvature jumps only at ``corners`` (indices of inner points).

    ``flat_ends`` asks for slope 0 at the first and the last point (a rounded end in a parameter that grows like the
    square root of x).

    References
    ----------
    Quintic Hermite pieces limited to monotone data: R. L. Dougherty, A. S. Edelman, J. M. Hyman, Mathematics of
    Computation 52 (1989) 471-494 (from memory); the limits used here are re-derived from the order of the Bernstein
    coefficients, a sufficient condition.

    Examples
    --------
    >>> line = fair_line(np.array([0.0, 1, 2, 3]), np.array([0.0, 1, 1, 2]))
    >>> float(line(1.5))   # level between two equal points: it does not overshoot
    1.0
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    slope, bend = np.zeros((len(x), 2)), np.zeros((len(x), 2))
    bounds = [0, *sorted(corners), len(x) - 1]
    for first, last in pairwise(bounds):
        flat = (flat_ends[0] and first == 0, flat_ends[1] and last == len(x) - 1)
        m, c = _limited(x[first : last + 1], y[first : last + 1], flat)
        slope[first:last, 1], slope[first + 1 : last + 1, 0] = m[:-1], m[1:]
        bend[first:last, 1], bend[first + 1 : last + 1, 0] = c[:-1], c[1:]
    return FairLine(x, y, slope, bend)


def _limited(x: Array, y: Array, flat: tuple[bool, bool]) -> tuple[Array, Array]:
    """Slope and curvature at the points of one smooth run."""
    h, rise = np.diff(x), np.diff(y) / np.diff(x)
    sides = [None, *zip(rise.tolist(), h.tolist(), strict=True), None]
    slopes, bends = (each.tolist() for each in _batten(x, y, flat))
    each = [_limit(*at) for at in zip(slopes, bends, sides[:-1], sides[1:], strict=True)]
    return np.array([m for m, _ in each]), np.array([c for _, c in each])


def _batten(x: Array, y: Array, flat: tuple[bool, bool]) -> tuple[Array, Array]:
    """Slope and curvature of the cubic spline through the points; through fewer than four, of the parabola or line."""
    if len(x) < 4:
        fit = np.polynomial.Polynomial.fit(x, y, len(x) - 1)
        m, c = fit.deriv(1)(x), fit.deriv(2)(x)
        m[0], m[-1] = (0.0 if flat[0] else m[0]), (0.0 if flat[1] else m[-1])
        return m, c
    poles = spline.interpolate(x, y[:, None], (0,) if flat[0] else (), (0,) if flat[1] else ())[:, 0]
    first, second = _derivatives(x.tobytes())
    return first @ poles, second @ poles


@lru_cache(maxsize=16)  # back, belly and plan often have their points at the same places
def _derivatives(x: bytes) -> tuple[Array, Array]:
    """Slope and curvature at the points (m,) of a spline through them, of its poles: (m, m + 2) each."""
    at = np.frombuffer(x)
    knots = spline.clamped_knots(at)
    return spline.basis(knots, at, 1), spline.basis(knots, at, 2)


def _limit(
    m: float, c: float, left: tuple[float, float] | None, right: tuple[float, float] | None
) -> tuple[float, float]:
    """Bring slope m and curvature c at one point into what its two intervals (rise per length, length) allow.

    Worked for a rising line; a falling one is the same upside down. Where the line turns, m is 0 and c has the sign
    of the turn, which is again a case of the same bounds.
    """
    slopes = [side[0] for side in (left, right) if side]
    if any(s == 0 for s in slopes):
        return 0.0, 0.0
    if left and right and (left[0] > 0) != (right[0] > 0):
        sign = 1.0 if left[0] > 0 else -1.0
        most = min(abs(left[0]) * 10 / left[1], abs(right[0]) * 10 / right[1])
        return 0.0, -sign * min(max(-sign * c, 0.0), most)
    sign = 1.0 if slopes[0] > 0 else -1.0
    m, c = sign * m, sign * c
    most = 2.5 * min(abs(s) for s in slopes)
    if left and right:
        (dl, hl), (dr, hr) = (abs(left[0]), left[1]), (abs(right[0]), right[1])
        most = min(most, 1.25 * (dl * hr + dr * hl) / (hl + hr))
    m = min(max(m, 0.0), most)
    low = -4 * m / right[1] if right else -np.inf
    high = (10 * abs(right[0]) - 8 * m) / right[1] if right else np.inf
    if left:
        low = max(low, -(10 * abs(left[0]) - 8 * m) / left[1])
        high = min(high, 4 * m / left[1])
    return sign * m, sign * min(max(c, low), high)
