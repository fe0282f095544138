"""Kerf: where a beam, blade or cutter must run so that the part comes out at its drawn size.

Knows widths of cuts. Knows no machine and no sheet. The kerf is the full width of the cut (a router's: the cutter's
diameter); the path is moved by half of it, once, to the outside of a part and to the inside of a hole.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeVar

from bodygen.errors import DesignError
from bodygen.plane.arcs import arc_leaving, distance
from bodygen.plane.parallel import parallel
from bodygen.plane.shapes import Arc, Circle, Line, Loop, Piece, Point

AnyShape = TypeVar("AnyShape", Loop, Circle, Loop | Circle)
LEAST_PIECE_MM = 0.002
"""Shorter pieces are merged with the one before."""
LEAST_ARC_MM, LEAST_TURN, FLAT_MM = 0.05, 0.02, 0.001
"""Shorter arcs are drawn as their chord; those that turn less [rad] as lines that leave them by at most FLAT_MM."""
Side = Literal["outside", "inside"]  # the part is kept and lies within the loop | the part lies around it: a hole


@dataclass(frozen=True, slots=True)
class TightCorner:
    """A corner that the cutter cannot reach into: where it is, the radius drawn and what stays uncut there [mm]."""

    at: Point
    radius: float
    left_over: float


def compensated(shape: AnyShape, kerf: float, side: Side) -> AnyShape:
    """Path of the middle of a cut that leaves ``shape`` at its drawn size; plain, so that every machine takes it.

    Parameters
    ----------
    shape : Loop or Circle
        Outline of a part or of a hole [mm].
    kerf : float
        Full width of the cut [mm], >= 0.
    side : {"outside", "inside"}
        "outside" for a part's outline, "inside" for a hole.

    Raises
    ------
    DesignError
        If the cut is wider than the hole, or falls into several paths.
    """
    if isinstance(shape, Circle):
        outward = kerf / 2 if side == "outside" else -kerf / 2
        if shape.radius + outward <= 0:
            size = 2 * shape.radius
            msg = f"a cut {kerf:g} mm wide does not fit a hole of {size:g} mm: drill it, or use a narrower cutter"
            raise DesignError(msg)
        return Circle(shape.centre, shape.radius + outward)
    return plain(_aside(shape, kerf, side))


def _aside(shape: Loop, kerf: float, side: Side) -> Loop:
    paths = [p for p in parallel(shape, kerf / 2 if side == "outside" else -kerf / 2) if p.ccw]
    if len(paths) != 1:
        x0, y0, x1, y1 = shape.box
        size_text = f"{x1 - x0:.2f} x {y1 - y0:.2f} mm"
        msg = f"a cut {kerf:g} mm wide gives {len(paths)} paths {side} a shape of {size_text}, not one"
        raise DesignError(msg)
    return paths[0]


def plain(loop: Loop) -> Loop:
    """Return the loop without pieces too short to cut, and with lines for arcs that are short or hardly turn.

    Some programs cannot tell such an arc from a line, and refuse the file. Nothing moves by more than 0.01 mm where
    corners are rounded by a quarter turn or less, and along smooth lines by no more than 0.002 mm.
    """
    kept: list[Piece] = []
    for piece in loop.pieces:
        if kept and piece.length < LEAST_PIECE_MM:
            kept[-1] = _longer(kept[-1], piece.end)
        else:
            kept.append(piece)
    if kept[0].length < LEAST_PIECE_MM and len(kept) > 2:
        kept[-1:] = [_longer(kept[-1], kept[0].end)]
        del kept[0]
    pieces: list[Piece] = []
    for piece in kept:
        if isinstance(piece, Arc) and piece.length < LEAST_ARC_MM:
            pieces.append(Line(piece.start, piece.end))
        elif isinstance(piece, Arc) and abs(piece.sweep) < LEAST_TURN:
            pieces += [Line(a, b) for a, b in pairwise(piece.points(FLAT_MM))]
        else:
            pieces.append(piece)
    return Loop(tuple(pieces))


def _longer(piece: Piece, end: Point) -> Piece:
    """The piece to an end that lies next to its own; an arc stays one circle through both of its ends."""
    if isinstance(piece, Line):
        return Line(piece.start, end)
    return arc_leaving(piece.start, piece.direction(at_end=False), end)


def tight_corners(loop: Loop, kerf: float, side: Side) -> tuple[TightCorner, ...]:
    """Corners with a radius under half the kerf on the side where the cutter runs; a sharp one has radius 0.

    What is left over is measured along the corner's bisector, from the corner as drawn to the nearest point that the
    cutter reaches: cut and re-read, not assumed.
    """
    cutter = kerf / 2
    hollow = 1.0 if side == "inside" else -1.0  # the turn that closes in on the cutter, on a counter-clockwise loop
    around = loop if loop.ccw else loop.reversed()
    suspects: list[tuple[Point, float]] = []
    for i, piece in enumerate(around.pieces):
        if isinstance(piece, Arc) and piece.ccw == (hollow > 0) and piece.radius < cutter * (1 - 1e-9):
            suspects.append((piece.at(0.5), piece.radius))
        (ux, uy), (vx, vy) = around.pieces[i - 1].direction(at_end=True), piece.direction(at_end=False)
        if cutter and hollow * (ux * vy - uy * vx) > 1e-6:
            suspects.append((piece.start, 0.0))
    if not suspects:
        return ()
    path = _aside(around, kerf, side)
    return tuple(TightCorner(at, r, max(0.0, min(distance(p, at) for p in path.pieces) - cutter)) for at, r in suspects)
