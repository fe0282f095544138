"""The forms of wire in a bait: belly hanger, line tie, twisted hanger, through-wire, each of straights and bends.

Every eye is closed: two legs side by side, touching, from which the wire turns out, round the loop and back in.
A hanger is drawn about its bore's mouth, y out of the wood; what lies in a kerf in body axes, x to the tail and z up.
"""

from dataclasses import dataclass
from math import acos, pi, sqrt

from bodygen.form.wire.bends import (
    Mark,
    Segment,
    Straight,
    Twist,
    WireBend,
    developed,
    marks_of,
    middle_of,
    path_of,
    placed_segments,
)
from bodygen.plane.shapes import Arc, Piece, Point


@dataclass(frozen=True, slots=True)
class Form:
    """A bent wire: its diameter ``wire`` [mm], its segments from one end to the other, and where the first begins.

    ``kind`` is its name in the recipe, ``loop`` the inside diameter of its eyes [mm].
    """

    kind: str
    wire: float
    loop: float
    segments: tuple[Segment, ...]
    start: Point
    heading: float

    @property
    def cut_length(self) -> float:
        """Length of straight wire to cut [mm]."""
        return sum(developed(segment, self.wire) for segment in self.segments)

    @property
    def outside(self) -> float:
        """Share of its wire that stands outside the wood [-]."""
        return sum(developed(s, self.wire) for s in self.segments if s.out) / self.cut_length

    @property
    def path(self) -> tuple[Piece, ...]:
        """Its middle line [mm]; twisted legs as their axis."""
        return path_of(self.segments, self.wire, self.start, self.heading)

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Where to mark the straight wire [mm]."""
        return marks_of(self.segments, self.wire)

    @property
    def bends(self) -> tuple[WireBend, ...]:
        """The bends in their order."""
        return tuple(segment for segment in self.segments if isinstance(segment, WireBend))

    @property
    def eyes(self) -> tuple[Point, ...]:
        """The middles of its loops, in their order along the wire [mm]."""
        placed = placed_segments(self.segments, self.wire, self.start, self.heading)
        return tuple(
            piece.centre
            for segment, piece in placed
            if isinstance(segment, WireBend) and isinstance(piece, Arc) and abs(segment.angle) > pi
        )

    @property
    def buried(self) -> tuple[Piece, ...]:
        """The pieces of the middle line that lie in the wood [mm]."""
        placed = placed_segments(self.segments, self.wire, self.start, self.heading)
        return tuple(piece for segment, piece in placed if not segment.out)

    @property
    def centre(self) -> Point:
        """Where its weight acts [mm]."""
        x = y = 0.0
        for segment, piece in placed_segments(self.segments, self.wire, self.start, self.heading):
            share, middle = developed(segment, self.wire) / self.cut_length, middle_of(piece)
            x, y = x + share * middle[0], y + share * middle[1]
        return x, y


def neck_angle(loop: float, wire: float, radius: float) -> float:
    """How far the wire turns out of its leg before it goes round the loop [rad].

    Derived here: legs touch, so each runs d/2 beside the middle; its neck's centre lies d/2 + rho from the middle, and
    R + rho from the loop's centre, R and rho being the radii to the middle of the wire.

    Examples
    --------
    >>> round(neck_angle(4.0, 1.0, 1.0), 6) == round(acos(0.5), 6)   # (0.5 + 1.5)/(2.5 + 1.5)
    True
    """
    rho, big = radius + wire / 2, (loop + wire) / 2
    return acos((wire / 2 + rho) / (big + rho))


def eye_height(loop: float, wire: float, radius: float) -> float:
    """From where the necks begin to the outer end of the loop's inside [mm]: where a ring pulls.

    Derived here, as ``neck_angle``.

    Examples
    --------
    >>> round(eye_height(4.0, 1.0, 1.0), 3)   # the loop's middle at sqrt(4^2 - 2^2), then half the loop
    5.464
    """
    rho, big = radius + wire / 2, (loop + wire) / 2
    return sqrt((big + rho) ** 2 - (wire / 2 + rho) ** 2) + loop / 2


def eye(loop: float, wire: float, radius: float, side: float) -> tuple[Segment, ...]:
    """Neck, loop and neck of a closed eye, out of the wood; the other leg lies left for ``side`` 1, right for -1.

    Derived here: the loop turns by pi and twice what the necks turn the other way, so that the legs end up parallel.

    Examples
    --------
    >>> round(sum(bend.angle for bend in eye(4.0, 1.0, 1.0, 1.0)), 9) == round(pi, 9)
    True
    """
    phi = neck_angle(loop, wire, radius)
    neck = WireBend(-side * phi, radius, out=True)
    return neck, WireBend(side * (pi + 2 * phi), loop / 2, out=True), neck


def hanger(kind: str, wire: float, loop: float, radius: float, leg: float) -> Form:
    """A belly hanger or line tie: an eye on two straight legs, each ``leg`` deep in one bore [mm].

    Examples
    --------
    >>> form = hanger("belly_hanger", 1.0, 4.0, 2.0, 10.0)
    >>> round(form.cut_length, 3) == round(20 + 2.5 * (pi + 2 * acos(0.6)) + 2 * 2.5 * acos(0.6), 3)
    True
    """
    segments = (Straight(leg), *eye(loop, wire, radius, 1.0), Straight(leg))
    return Form(kind, wire, loop, segments, (wire / 2, -leg), pi / 2)


def twisted_hanger(wire: float, loop: float, radius: float, leg: float, turns: float) -> Form:
    """An eye on two legs twisted together, ``turns`` over the ``leg`` [mm].

    Each leg begins on the twist's axis beside the other; the change from straight to helix is not drawn.

    Examples
    --------
    >>> form = twisted_hanger(1.0, 4.0, 2.0, 20.0, 4.0)
    >>> round(form.cut_length - hanger("belly_hanger", 1.0, 4.0, 2.0, 0.0).cut_length, 3)   # 2 sqrt(20^2 + (4 pi)^2)
    47.24
    """
    segments = (Twist(leg, turns), *eye(loop, wire, radius, 1.0), Twist(leg, turns))
    return Form("twisted_hanger", wire, loop, segments, (wire / 2, -leg), pi / 2)


@dataclass(frozen=True, slots=True)
class Run:
    """Where a wire lies in its kerf, body axes [mm]: straight at height ``z`` from ``front`` to ``rear``.

    ``down`` is 1 for a kerf from the belly, -1 for one from the back. ``nose_eye``: an eye at the front, at the skin;
    else the wire is bent over towards the kerf's mouth. ``eye_at`` is where an eye comes out of the mouth, its necks at
    height ``mouth``; None for none.
    """

    z: float
    front: float
    rear: float
    down: float
    nose_eye: bool = True
    eye_at: float | None = None
    mouth: float = 0.0


def through_wire(wire: float, loop: float, radius: float, tails: tuple[float, float], run: Run) -> Form:
    """One wire along a kerf to an eye at the tail: from an eye or a bent-over end, an eye out of its mouth between.

    The tail of an end's eye lies beside the wire on the mouth's side; a bent-over end points to the mouth. Each is as
    long as ``tails`` say, front and rear [mm].

    Raises
    ------
    ValueError
        The straights between its bends would be shorter than nothing.
    """
    s, corner, (tail, last) = run.down, radius + wire / 2, tails
    at, segments = run.front, list[Segment]()
    if run.nose_eye:
        start, heading = (run.front + tail, run.z - s * wire), pi
        segments += [Straight(tail), *eye(loop, wire, radius, -s)]
    else:
        start, heading, at = (run.front, run.z - s * (corner + tail)), s * pi / 2, run.front + corner
        segments += [Straight(tail), WireBend(-s * pi / 2, radius)]
    if run.eye_at is not None:
        first = run.eye_at - wire / 2 - corner
        deep = s * (run.z - run.mouth) - corner
        turn = WireBend(-s * pi / 2, radius)
        segments += [Straight(first - at), turn, Straight(deep), *eye(loop, wire, radius, s), Straight(deep), turn]
        at = run.eye_at + wire / 2 + corner
    segments += [Straight(run.rear - at), *eye(loop, wire, radius, -s), Straight(last)]
    short = [segment.length for segment in segments if isinstance(segment, Straight) and segment.length < 0]
    if short:
        msg = f"{-min(short):.2f} mm too little room between two bends"
        raise ValueError(msg)
    return Form("through_wire", wire, loop, tuple(segments), start, heading)
