"""Loops from corners: polygons, rectangles, rounded ones, slots.

Knows corner points and radii. A free curve comes from ``arcs.py``, a rounding of any loop from ``parallel.py``.
"""

from collections.abc import Sequence
from math import atan2, hypot, tan

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import BodygenError
from bodygen.plane.shapes import Arc, Line, Loop, Piece, Placement, Point, placed

_TOUCH = 1e-9  # mm: a side shorter than this is none


def polygon(points: Sequence[Point]) -> Loop:
    """Close straight lines through the points, the first not repeated."""
    return Loop(tuple(Line(a, b) for a, b in zip(points, (*points[1:], points[0]), strict=True)))


def rectangle(width: float, height: float, corner: Point = (0.0, 0.0)) -> Loop:
    """Counter-clockwise rectangle from its lower left corner [mm]."""
    x, y = corner
    return polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)))


def ring_area(points: NDArray[np.float64]) -> float:
    """Area [mm^2] within straight lines through points (k, 2) [mm], the first not repeated; clockwise it is negative.

    Elementary.

    >>> ring_area(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]]))
    6.0
    """
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def filleted(points: Sequence[Point], radii: Sequence[float]) -> Loop:
    """Polygon whose corners are tangent arcs.

    Parameters
    ----------
    points : sequence of Point
        Corners [mm], first not repeated.
    radii : sequence of float
        Radius at each corner [mm]; 0 leaves it sharp.

    Raises
    ------
    BodygenError
        Where two neighbouring arcs need more than the side between them.

    Examples
    --------
    >>> filleted([(0, 0), (20, 0), (20, 10), (0, 10)], [2, 2, 2, 2]).area   # 200 - (4 - pi) 2^2
    196.566
    """
    corners_cut = [
        _fillet(points[i - 1], corner, points[(i + 1) % len(points)], radius)
        for i, (corner, radius) in enumerate(zip(points, radii, strict=True))
    ]
    pieces: list[Piece] = []
    begin = corners_cut[0].start
    for i, cut in enumerate(corners_cut):
        j = (i + 1) % len(points)
        follower, side = corners_cut[j], Line(points[i], points[j]).length
        reach = hypot(cut.end[0] - points[i][0], cut.end[1] - points[i][1])
        slack = side - reach - hypot(follower.start[0] - points[j][0], follower.start[1] - points[j][1])
        if slack < -_TOUCH:
            msg = f"corner radii of {radii[i]:g} and {radii[j]:g} mm do not fit on a side of {side:g} mm"
            raise BodygenError(msg)
        last = i == len(points) - 1
        end = corners_cut[0].start if last and slack <= _TOUCH else cut.end
        if cut.start != cut.end:
            pieces.append(Arc(begin, end, cut.centre, cut.ccw))
        begin = follower.start if slack > _TOUCH else end  # where two arcs touch, the next one begins exactly there
        if slack > _TOUCH:
            pieces.append(Line(end, begin))
    return Loop(tuple(pieces))


def _fillet(before: Point, corner: Point, after: Point, radius: float) -> Arc:
    """Arc that rounds a corner; of no length where there is nothing to round."""
    (ux, uy), (vx, vy) = Line(before, corner).direction(at_end=True), Line(corner, after).direction(at_end=False)
    turn = atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    reach, side = radius * tan(abs(turn) / 2), 1 if turn > 0 else -1
    if reach < _TOUCH:
        return Arc(corner, corner, corner)
    start = (corner[0] - reach * ux, corner[1] - reach * uy)
    end = (corner[0] + reach * vx, corner[1] + reach * vy)
    return Arc(start, end, (start[0] - side * radius * uy, start[1] + side * radius * ux), turn > 0)


def slot(length: float, width: float, centre: Point = (0.0, 0.0)) -> Loop:
    """Round-ended slot along x: ``length`` over all, ``width`` across [mm]."""
    x, y, r = length / 2, width / 2, width / 2
    return placed(filleted([(-x, -y), (x, -y), (x, y), (-x, y)], [r] * 4), Placement(centre))
