"""Curves parallel to a loop, as lines and arcs again: what a cutter's centre follows, and corners rounded by it.

Knows geometry only. Every piece is moved aside, the pieces are cut where they meet, and what lies nearer to the loop
than the distance asked for is dropped: so a tight inside corner, a vanished arc and a loop that falls in two come out
right.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.plane.arcs import distance as distance_to
from bodygen.plane.arcs import passes
from bodygen.plane.shapes import Arc, Line, Loop, Piece, Point

Array = NDArray[np.float64]
_SNAP = 1e-5  # mm: meetings nearer than this are one point; tangent pieces meet no sharper than about 1e-6 mm
_STRAIGHT = 1e-9  # rad: a smaller turn is no corner
_BESIDE = tuple((a, b) for a in (-1, 0, 1) for b in (-1, 0, 1) if a or b)


def parallel(loop: Loop, outward: float) -> tuple[Loop, ...]:
    """Loops at a constant distance from ``loop``, counter-clockwise, greatest area first.

    Parameters
    ----------
    loop : Loop
        A loop that does not cross itself.
    outward : float
        Distance [mm]; positive grows the enclosed area with round corners, negative shrinks it.

    Returns
    -------
    tuple of Loop
        Empty where the loop is too small to shrink so far; more than one where it falls apart. Clockwise loops are
        rooms closed in by growing outward.
    """
    around = loop if loop.ccw else loop.reversed()
    if outward == 0:
        return (around,)
    known = _Nodes()
    moved = [known.tied(p) for p in _moved(around, outward)]
    parts = [part for piece in _split([p for p in moved if p is not None], known) for part in piece]
    least = abs(outward) - 2 * _SNAP
    middles = [_middle(part) for part in parts]
    kept: dict[tuple[Point, Point, Point], Piece] = {}
    for part, middle, walls in zip(parts, middles, _near(middles, around.pieces, least), strict=True):
        if all(distance_to(wall, middle) >= least for wall in walls):
            kept.setdefault((part.start, part.end, (round(middle[0], 4), round(middle[1], 4))), part)
    return tuple(sorted(_chained(list(kept.values())), key=lambda found: -found.area))


def rounded(loop: Loop, outside: float, inside: float) -> Loop:
    """Round outside corners to at least one radius and inside corners to at least the other [mm].

    Shrinking and growing by the same distance touches nothing but the corners (in the field's words: a morphological
    opening with a disc, then a closing).

    Raises
    ------
    DesignError
        If the loop is too small for the radius.
    """
    for first, second in ((-outside, outside), (inside, -inside)):
        if abs(first) > _SNAP:  # smaller than what makes two points one, a radius is none
            middle = parallel(loop, first)
            back = parallel(middle[0], second) if len(middle) == 1 else ()
            if len(back) != 1:
                x0, y0, x1, y1 = loop.box
                msg = f"a corner radius of {abs(first):g} mm does not fit a shape of {x1 - x0:.2f} x {y1 - y0:.2f} mm"
                raise DesignError(msg)
            loop = back[0]
    return loop


class _Nodes:
    """Points that have been met: whatever lies within _SNAP of one of them is that one."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], Point] = {}

    def of(self, point: Point) -> Point:
        cells, i, j = self._cells, round(point[0] / _SNAP), round(point[1] / _SNAP)
        if (i, j) in cells:
            return cells[i, j]
        for a, b in _BESIDE:
            if (i + a, j + b) in cells:
                return cells[i + a, j + b]
        return cells.setdefault((i, j), point)

    def tied(self, piece: Piece) -> Piece | None:
        """Tie a piece to known points; None where nothing is left of it."""
        start, end = self.of(piece.start), self.of(piece.end)
        if start == end:
            return None
        return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)


def _moved(loop: Loop, outward: float) -> Iterable[Piece]:
    """Every piece moved to its right (the outside of a ccw loop), with an arc round each corner that opens."""
    for i, piece in enumerate(loop.pieces):
        before = loop.pieces[i - 1]
        (ux, uy), (vx, vy) = before.direction(at_end=True), piece.direction(at_end=False)
        x, y = piece.start
        turn = ux * vy - uy * vx
        sharp = abs(turn) > _STRAIGHT or ux * vx + uy * vy < 0
        if sharp and turn * outward > 0:
            begin, end = (x + outward * uy, y - outward * ux), (x + outward * vy, y - outward * vx)
            yield Arc(begin, end, piece.start, outward > 0)
        (sx, sy), (ex, ey) = piece.direction(at_end=False), piece.direction(at_end=True)
        start = (x + outward * sy, y - outward * sx)
        end = (piece.end[0] + outward * ey, piece.end[1] - outward * ex)
        if isinstance(piece, Line):
            yield Line(start, end)
        elif piece.radius + (outward if piece.ccw else -outward) > _SNAP:
            yield Arc(start, end, piece.centre, piece.ccw)
        # a smaller arc turns inside out: all of it would lie nearer than the distance


def _split(pieces: list[Piece], known: _Nodes) -> list[list[Piece]]:
    """Every piece cut at its meetings with all the others."""
    cuts: list[set[Point]] = [set() for _ in pieces]
    for i, j in _meeting_boxes(pieces):
        if _goes_on(pieces[j], pieces[i]) or _goes_on(pieces[i], pieces[j]):
            continue
        for meeting in _meetings(pieces[i], pieces[j]):
            node = known.of(meeting)
            cuts[i].add(node)
            cuts[j].add(node)
    return [_cut(piece, nodes - {piece.start, piece.end}) for piece, nodes in zip(pieces, cuts, strict=True)]


def _goes_on(first: Piece, second: Piece) -> bool:
    """Whether the second begins where the first ends, without a corner: they touch there and meet nowhere else."""
    if first.end != second.start:
        return False
    (ux, uy), (vx, vy) = first.direction(at_end=True), second.direction(at_end=False)
    return abs(ux * vy - uy * vx) <= _STRAIGHT and ux * vx + uy * vy > 0


def _cut(piece: Piece, nodes: set[Point]) -> list[Piece]:
    if isinstance(piece, Line):
        x, y = piece.start
        stops = [piece.start, *sorted(nodes, key=lambda n: hypot(n[0] - x, n[1] - y)), piece.end]
        return [Line(a, b) for a, b in pairwise(stops)]
    inner = sorted(nodes, key=lambda n: abs(Arc(piece.start, n, piece.centre, piece.ccw).sweep))
    stops = [piece.start, *inner, piece.end]
    return [Arc(a, b, piece.centre, piece.ccw) for a, b in pairwise(stops)]


def _meetings(first: Piece, second: Piece) -> list[Point]:
    """Points that lie on both pieces, to _SNAP."""
    if isinstance(first, Line) and isinstance(second, Line):
        found = _two_lines(first, second)
    elif isinstance(first, Arc) and isinstance(second, Arc):
        found = _two_circles(first, second)
    else:
        line, arc = (first, second) if isinstance(first, Line) else (second, first)
        found = line_and_circle(line, arc)  # type: ignore[arg-type]  # the other of the two is the arc
    return [p for p in found if _on(first, p) and _on(second, p)]


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


def _on(piece: Piece, point: Point) -> bool:
    if isinstance(piece, Arc) and passes(piece, point):
        return True  # the point is on the circle by construction
    return distance_to(piece, point) < _SNAP


def _chained(parts: list[Piece]) -> list[Loop]:
    """Loops of parts that follow each other; a part that leads nowhere is left out."""
    leaving: dict[Point, list[Piece]] = {}
    for part in parts:
        leaving.setdefault(part.start, []).append(part)
    loops = []
    for part in parts:
        chain = [part] if part in leaving.get(part.start, ()) else []
        if chain:
            leaving[part.start].remove(part)
        while chain and chain[-1].end != part.start:
            options = leaving.get(chain[-1].end)
            if not options:
                chain = []
                break
            chain.append(options.pop())
        if len(chain) > 1:
            loops.append(Loop(tuple(chain)))
    return loops


def _near(points: list[Point], pieces: Sequence[Piece], reach: float) -> list[list[Piece]]:
    """For each point the pieces whose boxes are nearer to it than ``reach``: no other need be measured."""
    at, boxes = np.reshape(points, (-1, 1, 2)), _boxes(pieces)
    pairs = np.nonzero(((boxes[:, :2] - reach < at) & (at < boxes[:, 2:] + reach)).all(axis=-1))
    near: list[list[Piece]] = [[] for _ in points]
    for i, k in zip(*(each.tolist() for each in pairs), strict=True):
        near[i].append(pieces[k])
    return near


def _middle(piece: Piece) -> Point:
    if isinstance(piece, Arc):
        return piece.at(0.5)
    return (piece.start[0] + piece.end[0]) / 2, (piece.start[1] + piece.end[1]) / 2


def _boxes(pieces: Iterable[Piece]) -> Array:
    """A box round each piece (n, 4), which an arc need not fill."""
    ends = np.array([(*piece.start, *piece.end, _bulge(piece)) for piece in pieces]).reshape(-1, 5)
    start, end, bulge = ends[:, :2], ends[:, 2:4], ends[:, 4:]
    return np.concatenate([np.minimum(start, end) - bulge, np.maximum(start, end) + bulge], axis=1)


def _bulge(piece: Piece) -> float:
    """How far a piece leaves the line between its ends, to _SNAP."""
    if isinstance(piece, Line):
        return 0.0
    (ax, ay), (bx, by), (cx, cy), radius = piece.start, piece.end, piece.centre, piece.radius
    off = hypot((ax + bx) / 2 - cx, (ay + by) / 2 - cy)
    less_than_half = ((ax - cx) * (by - cy) >= (ay - cy) * (bx - cx)) == piece.ccw
    return radius + (_SNAP - off if less_than_half else _SNAP + off)


def _meeting_boxes(pieces: list[Piece]) -> list[tuple[int, int]]:
    """Pairs of pieces, the later one first, whose boxes touch to _SNAP: no others can meet."""
    boxes = _boxes(pieces)
    beyond = (boxes[:, None, :2] > boxes[None, :, 2:] + _SNAP).any(axis=-1)
    pairs = np.nonzero(np.tril(~(beyond | beyond.T), -1))
    return list(zip(*(each.tolist() for each in pairs), strict=True))
