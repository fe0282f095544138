"""Curves parallel to a loop, as lines and arcs again: what a cutter's centre follows, and corners rounded by it.

Knows geometry only. Every piece is moved aside, the pieces are cut where they meet, and what lies nearer to the loop
than the distance asked for is dropped: so a tight inside corner, a vanished arc and a loop that falls in two come out
right.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.plane.arcs import distance as distance_to
from bodygen.plane.arcs import meetings
from bodygen.plane.shapes import Arc, Line, Loop, Piece, Point

Array = NDArray[np.float64]
_SNAP = 1e-5  # mm: meetings nearer than this are one point; tangent pieces meet no sharper than about 1e-6 mm
_EXACT = 1e-9  # mm: no arc's radius is known nearer
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
    moved = [known.tied(p) for p in _moved(around.pieces, outward)]
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
    if quickly := _filleted(loop, outside, inside):
        return quickly
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


def _filleted(loop: Loop, outside: float, inside: float) -> Loop | None:
    """The loop with an arc in each corner, where that is surely all that rounding does; else None.

    Derived here: where the outside corners have their arcs, and the loop moved in by that radius meets itself nowhere,
    each place of it is touched by such a disc from within; so it is from without, where all corners have theirs.
    """
    pieces = loop.pieces if loop.ccw else loop.reversed().pieces
    arcs: list[tuple[Arc | None, Arc | None]] = []
    for before, after in zip((pieces[-1], *pieces), pieces, strict=False):
        (ux, uy), (vx, vy) = before.direction(at_end=True), after.direction(at_end=False)
        turn, convex, concave = ux * vy - uy * vx, None, None
        if _sharp(turn, ux * vx + uy * vy):
            arc = _fillet(before, after, -outside if turn > 0 else inside)
            if arc is None:
                return None
            convex, concave = (arc, None) if turn > 0 else (None, arc)
        arcs.append((convex, concave))
    convex_rounded = _with_arcs(pieces, [convex for convex, _ in arcs])
    if convex_rounded is None or not _stays_whole(convex_rounded, -outside):
        return None
    all_rounded = _with_arcs(pieces, [convex or concave for convex, concave in arcs])
    return Loop(tuple(all_rounded)) if all_rounded and _stays_whole(all_rounded, inside) else None


def _fillet(before: Piece, after: Piece, outward: float) -> Arc | None:
    """The arc about the place that is as far from both sides of a corner; None where there is not just one."""
    if abs(outward) <= _SNAP or any(isinstance(p, Arc) and _left_over(p, outward) <= _SNAP for p in (before, after)):
        return None
    ways = [(piece.direction(at_end=False), piece.direction(at_end=True)) for piece in (before, after)]
    centres = meetings(_aside(before, outward, *ways[0]), _aside(after, outward, *ways[1]), _SNAP)
    if len(centres) != 1:
        return None
    start, end = (_foot(piece, centres[0]) for piece in (before, after))
    return Arc(start, end, centres[0], outward < 0) if _apart(start, end) > _SNAP else None


def _foot(piece: Piece, point: Point) -> Point:
    """The place nearest to a point on the whole line or circle of a piece."""
    if isinstance(piece, Arc):
        (cx, cy), share = piece.centre, piece.radius / _apart(piece.centre, point)
        return cx + share * (point[0] - cx), cy + share * (point[1] - cy)
    (x, y), (ux, uy) = piece.start, piece.direction(at_end=False)
    along = (point[0] - x) * ux + (point[1] - y) * uy
    return x + along * ux, y + along * uy


def _with_arcs(pieces: Sequence[Piece], arcs: Sequence[Arc | None]) -> list[Piece] | None:
    """The pieces shortened by the arc before each, arcs and all; None where arcs leave nothing between them."""
    found: list[Piece] = []
    for piece, before, after in zip(pieces, arcs, (*arcs[1:], arcs[0]), strict=True):
        start, end = before.end if before else piece.start, after.start if after else piece.end
        found += [before] if before else []
        if not (before or after):
            found.append(piece)
            continue
        rest = Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)
        if _apart(start, end) <= _SNAP or not _goes_along(rest, piece):
            return None
        found.append(rest)
    return found


def _goes_along(rest: Piece, piece: Piece) -> bool:
    """Whether what is left between two places of a piece leads the same way."""
    if isinstance(rest, Arc) and isinstance(piece, Arc):
        return abs(rest.sweep) < abs(piece.sweep)
    (ux, uy), (vx, vy) = rest.direction(at_end=False), piece.direction(at_end=False)
    return ux * vx + uy * vy > 0


def _stays_whole(pieces: Sequence[Piece], outward: float) -> bool:
    """Whether pieces moved aside meet at their ends alone, and no arc turns inside out."""
    if any(isinstance(piece, Arc) and _left_over(piece, outward) < -_EXACT for piece in pieces):
        return False
    known = _Nodes()
    moved = [known.tied(piece) for piece in _moved(pieces, outward)]
    return all(len(parts) == 1 for parts in _split([piece for piece in moved if piece is not None], known))


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
        if start == piece.start and end == piece.end:
            return piece
        return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)


def _moved(pieces: Sequence[Piece], outward: float) -> Iterable[Piece]:
    """Every piece moved to its right (the outside of a ccw loop), with an arc round each corner that opens."""
    arriving = pieces[-1].direction(at_end=True)
    for piece in pieces:
        (ux, uy), (vx, vy) = arriving, piece.direction(at_end=False)
        arriving = piece.direction(at_end=True)
        x, y = piece.start
        turn = ux * vy - uy * vx
        if _sharp(turn, ux * vx + uy * vy) and turn * outward > 0:
            begin, end = (x + outward * uy, y - outward * ux), (x + outward * vy, y - outward * vx)
            yield Arc(begin, end, piece.start, outward > 0)
        if isinstance(piece, Line) or _left_over(piece, outward) > _SNAP:
            yield _aside(piece, outward, (vx, vy), arriving)
        # a smaller arc turns inside out: all of it would lie nearer than the distance


def _sharp(turn: float, ahead: float) -> bool:
    """Whether two directions are a corner, by their cross and dot product [-]."""
    return abs(turn) > _STRAIGHT or ahead < 0


def _left_over(arc: Arc, outward: float) -> float:
    """An arc's radius, moved to its right [mm]; negative where it turns inside out."""
    return arc.radius + (outward if arc.ccw else -outward)


def _aside(piece: Piece, outward: float, leaving: Point, arriving: Point) -> Piece:
    """A piece moved to its right."""
    start = (piece.start[0] + outward * leaving[1], piece.start[1] - outward * leaving[0])
    end = (piece.end[0] + outward * arriving[1], piece.end[1] - outward * arriving[0])
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)


def _split(pieces: list[Piece], known: _Nodes) -> list[list[Piece]]:
    """Every piece cut at its meetings with all the others."""
    cuts: list[set[Point]] = [set() for _ in pieces]
    for i, j in _meeting_boxes(pieces):
        if _goes_on(pieces[j], pieces[i]) or _goes_on(pieces[i], pieces[j]):
            continue
        for meeting in meetings(pieces[i], pieces[j], _SNAP):
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
    if not nodes:
        return [piece]
    if isinstance(piece, Line):
        x, y = piece.start
        stops = [piece.start, *sorted(nodes, key=lambda n: hypot(n[0] - x, n[1] - y)), piece.end]
        return [Line(a, b) for a, b in pairwise(stops)]
    inner = sorted(nodes, key=lambda n: abs(Arc(piece.start, n, piece.centre, piece.ccw).sweep))
    stops = [piece.start, *inner, piece.end]
    return [Arc(a, b, piece.centre, piece.ccw) for a, b in pairwise(stops)]


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


def _apart(one: Point, other: Point) -> float:
    return hypot(other[0] - one[0], other[1] - one[1])


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
