"""The body: one surface over its poles. Evaluation, sections, outlines; everything else is derived from these.

Along the length a clamped cubic B-spline (a corner is a knot of multiplicity 3), around the right half a chain of cubic
Béziers from the middle of the belly to the middle of the back. The left half is the mirror image at y = 0.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.form import spline

Array = NDArray[np.float64]
NEAR = 1e-10
"""A step of Newton's method so short [-] leaves less than rounding does: the next would be of its square."""


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """``knots`` (n + 4,) [-]; ``poles`` (n, 3 s + 1, 3) in mm, x from the nose, y >= 0 to the right, z up.

    ``nose_flat`` and ``tail_flat`` tell a sized end, closed by a plane face, from a single point.
    """

    knots: Array
    poles: Array
    nose_flat: bool
    tail_flat: bool

    @property
    def segments(self) -> int:
        """How many Béziers make half a section [-].

        Examples
        --------
        >>> Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.zeros((4, 7, 3)), nose_flat=True, tail_flat=True).segments
        2
        """
        columns: int = self.poles.shape[1]
        return (columns - 1) // 3

    @property
    def breaks(self) -> Array:
        """The distinct knots (k,) [-]: between two of them the surface is one polynomial.

        Examples
        --------
        >>> knots = np.array([0.0, 0, 0, 0, 0.5, 1, 1, 1, 1])
        >>> Body(knots, np.zeros((5, 7, 3)), nose_flat=True, tail_flat=True).breaks.tolist()
        [0.0, 0.5, 1.0]
        """
        return _breaks(self)

    @property
    def corners(self) -> Array:
        """Inner knots of multiplicity 3 (k,) [-]: parameters where the outline turns sharply.

        References
        ----------
        Continuity over multiple knots: Piegl and Tiller, The NURBS Book (1997), section 2.2 (from memory).

        Examples
        --------
        >>> knots = np.array([0.0, 0, 0, 0, 0.5, 0.5, 0.5, 1, 1, 1, 1])
        >>> Body(knots, np.zeros((7, 7, 3)), nose_flat=True, tail_flat=True).corners.tolist()
        [0.5]
        """
        inner, count = np.unique(self.knots[spline.DEGREE + 1 : -spline.DEGREE - 1], return_counts=True)
        return inner[count >= spline.DEGREE]

    @property
    def length(self) -> float:
        """Nose to tail [mm].

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0] = np.array([[0], [20], [40], [60]])
        >>> Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True).length
        60.0
        """
        return float(self.poles[-1, 0, 0])

    def polygons(self, u: Array, order: int = 0) -> Array:
        """Control polygons of the half sections at u (m,), or their u-derivatives: (m, 3 s + 1, 3) [mm]."""
        return spline.evaluate(self.knots, self.poles, u, order)

    def polygons_both(self, u: Array) -> tuple[Array, Array]:
        """The control polygons at u (m,) and their u-derivatives, (m, 3 s + 1, 3) each [mm], in the time of one."""
        return spline.evaluate_both(self.knots, self.poles, _slope_poles(self), u)

    def points(self, u: Array, per_segment: int) -> Array:
        """Points on the right half: (m, s * per_segment + 1, 3) [mm], evenly spread in each Bézier.

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0] = np.array([[0], [20], [40], [60]])
        >>> poles[:, 0, 2], poles[:, 3, 1], poles[:, -1, 2] = -10, 8, 10
        >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True)
        >>> body.points(np.array([0.5]), 1)[0].tolist()   # where two Béziers meet
        [[30.0, 0.0, -10.0], [30.0, 8.0, 0.0], [30.0, 0.0, 10.0]]
        """
        return bezier_points(self.polygons(u), per_segment)

    def places(self, u: Array, v: Array) -> tuple[Array, Array, Array]:
        """Points of the right half at u along and v around (k,) [-], and their derivatives by both: (k, 3) each [mm].

        Elementary: v counts the quarters of the section, each a Bezier curve of the sections' own poles.

        Examples
        --------
        >>> from bodygen.form.fairing.offsets import Offsets, surface_through
        >>> one = np.ones(4)
        >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
        >>> at, along, around = bar.places(bar.parameter_at(np.array([30.0])), np.array([1.0]))   # the widest line
        >>> at.tolist(), [int(way) for way in np.sign(around[0])]
        ([[30.0, 8.0, 0.0]], [0, 0, 1])
        """
        segment = np.minimum(np.maximum(v.astype(int), 0), self.segments - 1)
        pick = 3 * segment[:, None] + np.arange(4)
        row = np.arange(len(u))[:, None]
        value, slope = bernstein(v - segment)[:, None], bernstein_slope(v - segment)[:, None]
        polygon, rising = (each[row, pick] for each in self.polygons_both(u))
        return (value @ polygon)[:, 0], (value @ rising)[:, 0], (slope @ polygon)[:, 0]

    def parameter_at(self, x: Array) -> Array:
        """The parameter [-] where the surface passes x (k,) [mm]; x must lie on the body.

        Newton's method from a fine table; at a round end, where x grows like u^2, from the square root.

        Derived here, and held in the tests against evaluating x again.

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0] = np.array([[0], [20], [40], [60]])   # x = 60 u
        >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True)
        >>> body.parameter_at(np.array([15.0])).tolist()
        [0.25]
        """
        x = np.clip(np.asarray(x, dtype=float), 0.0, self.length)
        table_u, table_x = _stations_table(self)
        i = np.clip(np.searchsorted(table_x, x, side="right") - 1, 0, len(table_u) - 2)
        low, high = table_u[i], table_u[i + 1]
        share = np.clip((x - table_x[i]) / (table_x[i + 1] - table_x[i]), 0.0, 1.0)
        share = np.where(i == 0, np.sqrt(share), np.where(i == len(table_u) - 2, 1 - np.sqrt(1 - share), share))
        u = low + (high - low) * share
        column, rising = self.poles[:, 0, 0], _slope_poles(self)[:, 0, 0]
        going = np.ones(u.shape, dtype=bool)
        for _ in range(4):
            at, slope = spline.evaluate_both(self.knots, column, rising, u)
            step = np.where(going, (at - x) / np.where(slope > 0, slope, np.inf), 0.0)
            u = np.minimum(np.maximum(u - step, low), high)  # np.clip takes twice as long
            going = np.abs(step) > NEAR  # each place by itself: it must not tell which others were asked for with it
            if not going.any():
                break
        return u

    def heights_at(self, x: Array) -> tuple[Array, Array]:
        """Belly and back height z at x (k,) in the mid-plane [mm].

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0], poles[:, 0, 2], poles[:, -1, 2] = np.array([[0], [20], [40], [60]]), -9, 11
        >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True)
        >>> [heights.tolist() for heights in body.heights_at(np.array([15.0]))]
        [[-9.0], [11.0]]
        """
        polygon = self.polygons(self.parameter_at(x))
        return polygon[:, 0, 2], polygon[:, -1, 2]

    def half_width_at(self, x: Array) -> Array:
        """Greatest half thickness of the sections at x (k,) [mm].

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0], poles[:, 3, 1] = np.array([[0], [20], [40], [60]]), np.array([2, 4, 6, 8])   # y = 2 + 6 u
        >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True)
        >>> body.half_width_at(np.array([15.0])).tolist()
        [3.5]
        """
        return self.polygons(self.parameter_at(x))[:, self.widest_index, 1]

    @property
    def widest_index(self) -> int:
        """Which control point of a half section is the widest line (lower end of a flat flank) [-]."""
        return {2: 3, 3: 3, 5: 6}[self.segments]

    def section_at(self, x: float, per_segment: int = 24) -> Array:
        """The whole section at x as a closed polygon (k, 2) of (y, z) [mm], counter-clockwise seen from the tail.

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0] = np.array([[0], [20], [40], [60]])
        >>> poles[:, 0, 2], poles[:, 3, 1], poles[:, -1, 2] = -10, 8, 10
        >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True)
        >>> body.section_at(30.0, 1).tolist()   # one point a Bézier
        [[0.0, -10.0], [8.0, 0.0], [0.0, 10.0], [-8.0, 0.0]]
        """
        half = self.points(self.parameter_at(np.array([x])), per_segment)[0, :, 1:]
        left = half[-2:0:-1] * (-1.0, 1.0)
        return np.concatenate([half, left])

    def sizes(self) -> tuple[float, float, float]:
        """Length, greatest depth (back to belly in one section), greatest thickness [mm].

        Derived here: the greatest of twelve places a span, then of 33 between that one's neighbours.

        Examples
        --------
        >>> poles = np.zeros((4, 7, 3))
        >>> poles[:, :, 0] = np.array([[0], [20], [40], [60]])
        >>> poles[:, 0, 2], poles[:, 3, 1], poles[:, -1, 2] = -10, 8, 10
        >>> Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), poles, nose_flat=True, tail_flat=True).sizes()
        (60.0, 20.0, 16.0)
        """
        low, back, wide = 0, -1, self.widest_index
        u = fine_parameters(self, 12)
        polygon = self.polygons(u)
        depths, widths = polygon[:, back, 2] - polygon[:, low, 2], polygon[:, wide, 1]
        # once more between the greatest sample's neighbours: the line may bend sharply there, or have a corner
        i, j = (int(np.clip(np.argmax(values), 1, len(u) - 2)) for values in (depths, widths))
        near = self.polygons(np.concatenate([np.linspace(u[k - 1], u[k + 1], 33) for k in (i, j)]))
        near_depth, near_width = near[:33], near[33:]
        depth = max(depths.max(), (near_depth[:, back, 2] - near_depth[:, low, 2]).max())
        width = max(widths.max(), near_width[:, wide, 1].max())
        return self.length, float(depth), 2 * float(width)


@lru_cache(maxsize=16)
def _stations_table(body: Body) -> tuple[Array, Array]:
    """U and x(u), forty to a span: where parameter_at starts from."""
    u = fine_parameters(body, 40)
    return u, spline.evaluate(body.knots, body.poles[:, 0, 0], u)


@lru_cache(maxsize=16)
def _breaks(body: Body) -> Array:
    breaks = spline.distinct(body.knots)
    breaks.setflags(write=False)
    return breaks


@lru_cache(maxsize=16)
def _slope_poles(body: Body) -> Array:
    return spline.slope_poles(body.knots, body.poles)


def fine_parameters(body: Body, per_span: int) -> Array:
    """Every knot, and ``per_span`` - 1 parameters evenly between neighbours (k,) [-].

    Examples
    --------
    >>> body = Body(np.array([0.0, 0, 0, 0, 1, 1, 1, 1]), np.zeros((4, 7, 3)), nose_flat=True, tail_flat=True)
    >>> fine_parameters(body, 4).tolist()
    [0.0, 0.25, 0.5, 0.75, 1.0]
    """
    breaks = body.breaks
    step = np.arange(per_span) / per_span
    return np.append((breaks[:-1, None] + np.diff(breaks)[:, None] * step).ravel(), breaks[-1])


def bezier_points(polygons: Array, per_segment: int | Sequence[int]) -> Array:
    """Points on chains of s cubic Béziers [mm]: (..., 3 s + 1, d) -> (..., n + 1, d).

    ``per_segment`` is how many points each has, or every one of them: n is their sum.

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), section 1.3 (from memory).

    Examples
    --------
    >>> arch = np.array([[0.0, 0], [1, 3], [2, 3], [3, 0]])
    >>> bezier_points(arch, 2).tolist()   # in the middle 3/4 of the handles' height
    [[0.0, 0.0], [1.5, 2.25], [3.0, 0.0]]
    """
    segments = (polygons.shape[-2] - 1) // 3
    counts = [per_segment] * segments if isinstance(per_segment, int) else per_segment
    parts = [  # a matrix product is quicker, and moves the last digit of every file
        np.einsum("pk,...kd->...pd", bernstein(np.arange(n) / n), polygons[..., 3 * i : 3 * i + 4, :])
        for i, n in enumerate(counts)
    ]
    return np.concatenate([*parts, polygons[..., -1:, :]], axis=-2)


def bernstein(s: Array) -> Array:
    """Cubic Bernstein polynomials at s (k,) [-]: (k, 4) [-].

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), section 1.3 (from memory).

    Examples
    --------
    >>> bernstein(np.array([0.5])).tolist()   # 1, 3, 3, 1 eighths
    [[0.125, 0.375, 0.375, 0.125]]
    """
    return np.stack([(1 - s) ** 3, 3 * s * (1 - s) ** 2, 3 * s**2 * (1 - s), s**3], axis=1)


def bernstein_slope(s: Array) -> Array:
    """Derivatives by s of the cubic Bernstein polynomials at s (k,) [-]: (k, 4) [-].

    References
    ----------
    Piegl and Tiller, The NURBS Book (1997), section 1.3 (from memory).

    Examples
    --------
    >>> bernstein_slope(np.array([0.0, 0.5])).tolist()
    [[-3.0, 3.0, 0.0, 0.0], [-0.75, -0.75, 0.75, 0.75]]
    """
    return 3 * np.stack([-((1 - s) ** 2), (1 - s) ** 2 - 2 * s * (1 - s), 2 * s * (1 - s) - s**2, s**2], axis=1)
