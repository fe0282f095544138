"""Smooth curves as tangent arcs: what a spline becomes before it is cut.

Knows points and directions of a curve. Knows nothing of what is drawn. A biarc is two arcs that leave one point in its
direction, meet tangentially and arrive at the other point in its own.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import hypot, sqrt

from bodygen.errors import BodygenError
from bodygen.plane.shapes import Arc, Line, Piece, Point

_FLAT = 1e-7  # mm: an arc that bulges less than this is drawn as a line


def directions_of(points: Sequence[Point]) -> tuple[Point, ...]:
    """Estimate the unit direction at each point of an open curve: of the circle through it and its two neighbours [-].

    Inverted about the middle point that circle is the straight line through its inverted neighbours, and the tangent is
    parallel to it; so points of a circle give its exact tangents. At the ends the circle of the next point is kept.
    """
    if len(points) < 2:
        msg = f"a curve needs at least 2 points, got {len(points)}"
        raise BodygenError(msg)
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
    if len(steps) == 1:
        return (_unit(*steps[0]),) * 2
    inner = []
    for (ux, uy), (vx, vy) in pairwise(steps):
        h2, k2 = ux * ux + uy * uy, vx * vx + vy * vy
        inner.append(_unit(ux / h2 + vx / k2, uy / h2 + vy / k2))
    return _mirrored(inner[0], steps[0]), *inner, _mirrored(inner[-1], steps[-1])


def arcs_through(points: Sequence[Point], directions: Sequence[Point]) -> tuple[Piece, ...]:
    """One biarc from each point to the next, tangent-continuous [mm, unit vectors]."""
    spans = zip(zip(points, directions, strict=True), zip(points[1:], directions[1:], strict=True), strict=False)
    return tuple(piece for (p, u), (q, v) in spans for piece in biarc(p, u, q, v))


def fitted_arcs(
    points: Sequence[Point], tolerance: float, directions: Sequence[Point] | None = None
) -> tuple[Piece, ...]:
    """As few biarcs as stay within ``tolerance`` of a densely sampled smooth curve.

    Parameters
    ----------
    points : sequence of Point
        Samples of an open curve without corners [mm], dense enough that it stays near its chords' circles.
    tolerance : float
        Greatest distance of a sample from the arcs [mm], > 0.
    directions : sequence of Point, optional
        Unit directions at the samples [-]; estimated from the neighbours if left out.

    Returns
    -------
    tuple of Line and Arc
        Tangent-continuous, from the first sample exactly to the last.
    """
    ways = directions_of(points) if directions is None else directions
    pieces: list[Piece] = []
    begin, last = 0, len(points) - 1
    while begin < last:
        good, step = begin + 1, 1
        while step:  # reach out in doubling steps, then in halving ones
            end = min(good + step, last)
            if end > good and _within(points, ways, begin, end, tolerance):
                good, step = end, step * 2
            else:
                step //= 2
        pieces += biarc(points[begin], ways[begin], points[good], ways[good])
        begin = good
    return tuple(pieces)


def biarc(start: Point, leaving: Point, end: Point, arriving: Point) -> tuple[Piece, ...]:
    """Two tangent arcs (or lines) from ``start`` to ``end`` in the given unit directions, control legs of equal length.

    The leg d solves (2 - 2 u.v) d^2 + 2 w.(u + v) d - w.w = 0, where w joins the ends: then the two legs and the piece
    between their tips are tangent to both arcs.

    Raises
    ------
    BodygenError
        If the ends coincide.
    """
    wx, wy = end[0] - start[0], end[1] - start[1]
    square = wx * wx + wy * wy
    if square == 0:
        msg = f"no arc joins {start} to itself"
        raise BodygenError(msg)
    (ux, uy), (vx, vy) = leaving, arriving
    a, b = 2 - 2 * (ux * vx + uy * vy), wx * (ux + vx) + wy * (uy + vy)
    root = b + sqrt(b * b + max(a, 0.0) * square)
    if root <= 1e-12 * sqrt(square):  # both directions lead straight away from the goal
        return (Line(start, end),)
    d = square / root
    joint = ((start[0] + end[0] + d * (ux - vx)) / 2, (start[1] + end[1] + d * (uy - vy)) / 2)
    first, second = arc_leaving(start, leaving, joint), arc_leaving(end, (-vx, -vy), joint).reversed()
    if isinstance(first, Line) and isinstance(second, Line):
        return (Line(start, end),)
    if isinstance(first, Arc) and isinstance(second, Arc) and _same_circle(first, second):
        return (Arc(start, end, first.centre, first.ccw),)
    return first, second


def arc_leaving(start: Point, direction: Point, end: Point) -> Piece:
    """Return the arc that leaves ``start`` in a unit direction and ends at ``end``; a line where it hardly bulges."""
    wx, wy = end[0] - start[0], end[1] - start[1]
    across = direction[0] * wy - direction[1] * wx  # > 0: the end lies to the left
    along = direction[0] * wx + direction[1] * wy
    chord = hypot(wx, wy)
    if along > 0 and abs(across) / 4 < _FLAT:
        return Line(start, end)
    radius = chord * chord / (2 * across)
    return Arc(start, end, (start[0] - radius * direction[1], start[1] + radius * direction[0]), across > 0)


def _same_circle(first: Arc, second: Arc) -> bool:
    apart = hypot(first.centre[0] - second.centre[0], first.centre[1] - second.centre[1])
    return apart < 1e-9 * first.radius and first.ccw == second.ccw and abs(first.sweep + second.sweep) < 6


def _within(points: Sequence[Point], ways: Sequence[Point], begin: int, end: int, tolerance: float) -> bool:
    pieces = biarc(points[begin], ways[begin], points[end], ways[end])
    if any(isinstance(p, Arc) and abs(p.sweep) > 2.5 for p in pieces):
        return False
    return all(min(distance(p, points[i]) for p in pieces) <= tolerance for i in range(begin + 1, end))


def distance(piece: Piece, point: Point) -> float:
    """Return the distance from a point to the nearest point of a piece [mm]."""
    x, y = point
    if isinstance(piece, Line):
        (ax, ay), (bx, by) = piece.start, piece.end
        dx, dy = bx - ax, by - ay
        share = min(1.0, max(0.0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy)))
        return hypot(x - ax - share * dx, y - ay - share * dy)
    if passes(piece, point):
        return abs(hypot(x - piece.centre[0], y - piece.centre[1]) - piece.radius)
    return min(hypot(x - piece.start[0], y - piece.start[1]), hypot(x - piece.end[0], y - piece.end[1]))


def passes(arc: Arc, point: Point) -> bool:
    """Tell whether the ray from the arc's centre through ``point`` meets the arc."""
    cx, cy = arc.centre
    px, py = point[0] - cx, point[1] - cy
    low, high = (arc.start, arc.end) if arc.ccw else (arc.end, arc.start)
    lx, ly, hx, hy = low[0] - cx, low[1] - cy, high[0] - cx, high[1] - cy
    after_low, before_high = lx * py - ly * px >= 0, px * hy - py * hx >= 0
    if lx * hy - ly * hx >= 0:  # at most half a turn
        return after_low and before_high
    return after_low or before_high


def meetings(first: Piece, second: Piece, within: float) -> list[Point]:
    """Points that lie on both pieces, or so near to their ends [mm]."""
    if isinstance(first, Line) and isinstance(second, Line):
        found = _two_lines(first, second)
    elif isinstance(first, Arc) and isinstance(second, Arc):
        found = _two_circles(first, second)
    else:
        line, arc = (first, second) if isinstance(first, Line) else (second, first)
        found = line_and_circle(line, arc)  # type: ignore[arg-type]  # the other of the two is the arc
    return [p for p in found if all(_on(piece, p, within) for piece in (first, second))]


def _two_lines(first: Line, second: Line) -> list[Point]:
    (ux, uy), (vx, vy) = first.direction(at_end=False), second.direction(at_end=False)
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-12:
        return []
    wx, wy = second.start[0] - first.start[0], second.start[1] - first.start[1]
    along = (wx * vy - wy * vx) / cross
    return [(first.start[0] + along * ux, first.start[1] + along * uy)]


def line_and_circle(line: Line, arc: Arc) -> list[Point]:
    """Where the whole line meets the whole circle [mm]; a touch within rounding counts once."""
    (ux, uy), (x, y), (cx, cy) = line.direction(at_end=False), line.start, arc.centre
    foot = (cx - x) * ux + (cy - y) * uy
    off = (cx - x) * uy - (cy - y) * ux
    square = arc.radius**2 - off**2
    if square < -2 * arc.radius * 1e-9:
        return []
    half = sqrt(max(0.0, square))
    return [(x + (foot + h) * ux, y + (foot + h) * uy) for h in ((half, -half) if half else (0.0,))]


def _two_circles(first: Arc, second: Arc) -> list[Point]:
    (ax, ay), (bx, by), r, q = first.centre, second.centre, first.radius, second.radius
    apart = hypot(bx - ax, by - ay)
    if apart < 1e-9:
        return []
    along = (apart**2 + r**2 - q**2) / (2 * apart)
    square = r**2 - along**2
    if square < -2 * r * 1e-9:
        return []
    half, ux, uy = sqrt(max(0.0, square)), (bx - ax) / apart, (by - ay) / apart
    return [(ax + along * ux - h * uy, ay + along * uy + h * ux) for h in ((half, -half) if half else (0.0,))]


def _on(piece: Piece, point: Point, within: float) -> bool:
    if isinstance(piece, Arc) and passes(piece, point):
        return True  # the point is on the circle by construction
    return distance(piece, point) < within


def _unit(x: float, y: float) -> Point:
    size = hypot(x, y)
    if size == 0:
        msg = "two points of a curve coincide"
        raise BodygenError(msg)
    return x / size, y / size


def _mirrored(direction: Point, chord: Point) -> Point:
    """Return the direction at the far end of a chord of the same circle."""
    cx, cy = _unit(*chord)
    along = 2 * (direction[0] * cx + direction[1] * cy)
    return along * cx - direction[0], along * cy - direction[1]
