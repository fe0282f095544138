"""A bent wire in one plane: straights, bends, a twisted leg; its developed length, its marks, where its middle runs.

Knows geometry and the allowance of a bend. Knows nothing of what the wire is for (``forms.py``), nor of steel.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin

from bodygen.plane.shapes import Arc, Line, Piece, Point
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight ``length`` [mm]; ``out``: it stands outside the wood."""

    length: float
    out: bool = False


@dataclass(frozen=True, slots=True)
class WireBend:
    """A bend by ``angle``, to the left positive [rad], round ``inside``, the radius of its inside [mm]."""

    angle: float
    inside: float
    out: bool = False


@dataclass(frozen=True, slots=True)
class Twist:
    """One of two legs that are twisted together: ``turns`` over the ``axial`` length [mm], drawn as its axis."""

    axial: float
    turns: float
    out: bool = False


Segment = Straight | WireBend | Twist


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a bend begins and ends on the straight wire [mm from its first end]; ``bend``: which of the bends."""

    start: float
    end: float
    bend: int


def bend_k(inside: float, wire: float) -> float:
    """How far from the inside of a bend the layer lies that does not stretch, as a share of the wire [-].

    References
    ----------
    Sheet practice is 0.33 to 0.5 (``wire.toml`` [bend]); for round wire common practice, no published source.

    Examples
    --------
    >>> bend_k(5.0, 1.0), bend_k(1.5, 1.0)
    (0.5, 0.42)
    """
    row = load("wire")["bend"]
    return float(row["k"] if inside >= row["tight_below_d"] * wire else row["k_tight"])


def bend_allowance(angle: float, inside: float, thick: float, k: float) -> float:
    """Length of what is bent by ``angle`` [rad] round ``inside`` [mm]: angle * (inside + k * thick) [mm].

    References
    ----------
    Kalpakjian, Manufacturing Engineering and Technology, as quoted by ``bend_k_factor`` of ``sources.toml``.

    Examples
    --------
    >>> round(bend_allowance(pi / 2, 3.0, 2.0, 0.33), 3)   # the published example says 5.75
    5.749
    """
    return angle * (inside + k * thick)


def twisted_leg(axial: float, turns: float, wire: float) -> float:
    """Length of one of two legs twisted together, a helix of radius d/2 [mm].

    References
    ----------
    Elementary; the lay of a helix as ``helix_lay_length`` of ``sources.toml``.

    Examples
    --------
    >>> round(twisted_leg(pi, 1.0, 1.0) / pi, 4)   # 45 degrees, as tight as two wires lie
    1.4142
    """
    return hypot(axial, pi * wire * turns)


def developed(segment: Segment, wire: float) -> float:
    """Length of straight wire that a segment takes [mm].

    Examples
    --------
    >>> round(developed(WireBend(2 * pi, 2.0), 1.0), 3)   # a closed eye, pi (D + d)
    15.708
    """
    match segment:
        case Straight(length=length):
            return length
        case WireBend(angle=angle, inside=inside):
            return bend_allowance(abs(angle), inside, wire, bend_k(inside, wire))
        case Twist(axial=axial, turns=turns):
            return twisted_leg(axial, turns, wire)


def marks_of(segments: Sequence[Segment], wire: float) -> tuple[Mark, ...]:
    """Where to mark the straight wire: the beginning and end of each bend, from the first end [mm].

    Elementary: the developed lengths before it.

    Examples
    --------
    >>> [(mark.start, mark.bend) for mark in marks_of((Straight(10.0), WireBend(pi / 2, 3.0), Straight(5.0)), 1.0)]
    [(10.0, 0)]
    """
    marks, along, bend = [], 0.0, 0
    for segment in segments:
        long = developed(segment, wire)
        if isinstance(segment, WireBend):
            marks.append(Mark(along, along + long, bend))
            bend += 1
        along += long
    return tuple(marks)


def path_of(segments: Sequence[Segment], wire: float, start: Point, heading: float) -> tuple[Piece, ...]:
    """The middle line of a wire from ``start`` [mm] along ``heading`` [rad]; a segment without length has no piece.

    Elementary.

    Examples
    --------
    >>> corner = path_of((Straight(10.0), WireBend(pi / 2, 2.5)), 1.0, (0.0, 0.0), 0.0)[-1]
    >>> tuple(round(value, 9) for value in corner.end)
    (13.0, 3.0)
    """
    return tuple(piece for _, piece in placed_segments(segments, wire, start, heading))


def placed_segments(
    segments: Sequence[Segment], wire: float, start: Point, heading: float
) -> Iterator[tuple[Segment, Piece]]:
    """Each segment with its piece of the middle line [mm], as ``path_of``."""
    here, way = start, heading
    for segment in segments:
        if isinstance(segment, WireBend):
            radius, left = segment.inside + wire / 2, 1.0 if segment.angle > 0 else -1.0
            centre = (here[0] - left * radius * sin(way), here[1] + left * radius * cos(way))
            way += segment.angle
            end = (centre[0] + left * radius * sin(way), centre[1] - left * radius * cos(way))
            yield segment, Arc(here, end, centre, left > 0)
        else:
            long = segment.length if isinstance(segment, Straight) else segment.axial
            if long <= 0:
                continue
            end = (here[0] + long * cos(way), here[1] + long * sin(way))
            yield segment, Line(here, end)
        here = end


def middle_of(piece: Piece) -> Point:
    """Where the weight of a piece of thin wire acts [mm].

    Elementary: an arc's middle lies on its bisector, 2 sin(sweep/2)/sweep of the radius from its centre.

    Examples
    --------
    >>> tuple(round(value, 4) for value in middle_of(Arc((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0))))
    (0.0, 0.6366)
    """
    if isinstance(piece, Line):
        return (piece.start[0] + piece.end[0]) / 2, (piece.start[1] + piece.end[1]) / 2
    half = abs(piece.sweep) / 2
    out, (x, y) = sin(half) / half, piece.at(0.5)
    return piece.centre[0] + out * (x - piece.centre[0]), piece.centre[1] + out * (y - piece.centre[1])
