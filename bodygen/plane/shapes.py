"""Plane shapes with names: lines and arcs, loops that close exactly, layers, drawings; all lengths mm, angles rad.

Knows geometry of what is cut from sheet or drawn on paper. Knows no file format and no bait.

A cut layer holds lines, arcs and circles alone, since many shop programs drop splines and flatten bulges. The pieces of
a loop share their end points as the very same floats, so no reader finds a gap.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import acos, atan2, ceil, cos, hypot, isfinite, pi, sin
from typing import Literal, TypeVar

from bodygen.errors import BodygenError

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # x least, y least, x greatest, y greatest
Anchor = Literal["left", "centre", "right", "middle"]  # the first three on the base line, "middle" both ways
Colour = Literal["red", "magenta", "blue", "green", "black"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece from ``start`` to ``end``."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length [mm]."""
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    def direction(self, *, at_end: bool) -> Point:  # noqa: ARG002  (an arc's differs at its two ends)
        """Return the unit vector of travel [-]."""
        length = self.length
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length

    def points(self, sag: float) -> tuple[Point, ...]:  # noqa: ARG002  (a line has no sag)
        """Both ends."""
        return self.start, self.end

    def extremes(self) -> tuple[Point, ...]:
        """Points that span the piece's box."""
        return self.start, self.end

    def reversed(self) -> "Line":
        """Travel the same piece the other way."""
        return Line(self.end, self.start)


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle from ``start`` to ``end`` about ``centre``, less than a full turn, counter-clockwise if ``ccw``.

    The end points are the truth and are shared with the neighbours; radius and angles follow from them.
    """

    start: Point
    end: Point
    centre: Point
    ccw: bool = True

    @property
    def radius(self) -> float:
        """Radius [mm]."""
        return hypot(self.start[0] - self.centre[0], self.start[1] - self.centre[1])

    @property
    def start_angle(self) -> float:
        """Angle of the start as seen from the centre [rad]."""
        return atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])

    @property
    def end_angle(self) -> float:
        """Angle of the end as seen from the centre [rad]."""
        return atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])

    @property
    def sweep(self) -> float:
        """Signed turn from start to end [rad], counter-clockwise positive, 0 < abs < 2 pi."""
        turn = (self.end_angle - self.start_angle) % (2 * pi)
        return turn if self.ccw else turn - 2 * pi

    @property
    def length(self) -> float:
        """Length along the arc [mm]."""
        return self.radius * abs(self.sweep)

    def at(self, share: float) -> Point:
        """Return the point after this share of the sweep [-]."""
        angle, radius = self.start_angle + share * self.sweep, self.radius
        return self.centre[0] + radius * cos(angle), self.centre[1] + radius * sin(angle)

    def direction(self, *, at_end: bool) -> Point:
        """Return the unit vector of travel at one end [-]."""
        (x, y), (cx, cy), radius = self.end if at_end else self.start, self.centre, self.radius
        dx, dy = (x - cx) / radius, (y - cy) / radius
        return (-dy, dx) if self.ccw else (dy, -dx)

    def points(self, sag: float) -> tuple[Point, ...]:
        """Points on the arc whose chords leave it by at most ``sag`` [mm]; the ends are the arc's own."""
        step = 2 * acos(max(0.0, 1 - sag / self.radius))
        count = max(1, ceil(abs(self.sweep) / step - 1e-9))
        return self.start, *(self.at(i / count) for i in range(1, count)), self.end

    def extremes(self) -> tuple[Point, ...]:
        """Return points that span the piece's box: both ends and every quadrant point that the arc passes."""
        start, end = self.start_angle, self.end_angle
        low, turn = (start, (end - start) % (2 * pi)) if self.ccw else (end, 2 * pi - (end - start) % (2 * pi))
        passed = [i for i in range(4) if (i * pi / 2 - low) % (2 * pi) < turn]
        (x, y), r = self.centre, self.radius
        quadrants = ((x + r, y), (x, y + r), (x - r, y), (x, y - r))
        return self.start, self.end, *(quadrants[i] for i in passed)

    def reversed(self) -> "Arc":
        """Travel the same piece the other way."""
        return Arc(self.end, self.start, self.centre, not self.ccw)


Piece = Line | Arc


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle, as a drill makes it."""

    centre: Point
    radius: float

    @property
    def area(self) -> float:
        """Area [mm^2]."""
        return pi * self.radius**2

    @property
    def length(self) -> float:
        """Circumference [mm]."""
        return 2 * pi * self.radius

    @property
    def centroid(self) -> Point:
        """Centre [mm]."""
        return self.centre

    @property
    def box(self) -> Box:
        """Bounding box [mm]."""
        (x, y), r = self.centre, self.radius
        return x - r, y - r, x + r, y + r

    def points(self, sag: float) -> tuple[Point, ...]:
        """Corners of an inscribed polygon that leaves the circle by at most ``sag`` [mm], first not repeated."""
        count = max(8, ceil(pi / acos(max(0.0, 1 - sag / self.radius))))
        (x, y), r = self.centre, self.radius
        return tuple((x + r * cos(2 * pi * i / count), y + r * sin(2 * pi * i / count)) for i in range(count))


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed chain of lines and arcs; each piece ends exactly where the next begins, the last at the first."""

    pieces: tuple[Piece, ...]

    def __post_init__(self) -> None:
        if len(self.pieces) < 2:
            msg = f"a loop needs at least 2 pieces, got {len(self.pieces)}"
            raise BodygenError(msg)
        for i, piece in enumerate(self.pieces):
            follower = self.pieces[(i + 1) % len(self.pieces)]
            if piece.end != follower.start or not all(map(isfinite, (*piece.start, *piece.end))):
                msg = f"loop is open: piece {i} ends at {piece.end}, the next begins at {follower.start}"
                raise BodygenError(msg)

    @property
    def length(self) -> float:
        """Perimeter [mm]."""
        return sum(p.length for p in self.pieces)

    @property
    def signed_area(self) -> float:
        """Area [mm^2], positive for a counter-clockwise loop; exact, arcs included."""
        return _moments(self.pieces)[0]

    @property
    def area(self) -> float:
        """Area [mm^2]."""
        return abs(self.signed_area)

    @property
    def ccw(self) -> bool:
        """True where the inside lies to the left of travel."""
        return self.signed_area > 0

    @property
    def centroid(self) -> Point:
        """Centroid of the area [mm]; exact, arcs included."""
        area, mx, my = _moments(self.pieces)
        return mx / area, my / area

    @property
    def box(self) -> Box:
        """Bounding box [mm]; exact, arcs included."""
        return box_of(p for piece in self.pieces for p in piece.extremes())

    def points(self, sag: float) -> tuple[Point, ...]:
        """Corners of a polygon that leaves the loop by at most ``sag`` [mm], first not repeated."""
        return tuple(p for piece in self.pieces for p in piece.points(sag)[:-1])

    def reversed(self) -> "Loop":
        """Travel the same loop the other way."""
        return Loop(tuple(p.reversed() for p in reversed(self.pieces)))


@lru_cache(maxsize=256)  # area, way round and centroid are asked for again and again
def _moments(pieces: tuple[Piece, ...]) -> tuple[float, float, float]:
    """Signed area and its first moments about the axes: the polygon of the ends, then each arc's segment."""
    x0, y0 = pieces[0].start  # near the loop, so that a loop far from the origin loses no digits
    area = mx = my = 0.0
    for piece in pieces:
        ax, ay, bx, by = piece.start[0] - x0, piece.start[1] - y0, piece.end[0] - x0, piece.end[1] - y0
        cross = (ax * by - bx * ay) / 2
        area, mx, my = area + cross, mx + cross * (ax + bx) / 3, my + cross * (ay + by) / 3
        if isinstance(piece, Arc):
            r, sweep = piece.radius, piece.sweep
            middle = piece.start_angle + sweep / 2
            segment, lever = r**2 / 2 * (sweep - sin(sweep)), 2 / 3 * r**3 * sin(sweep / 2) ** 3
            cx, cy = piece.centre[0] - x0, piece.centre[1] - y0
            area += segment
            mx, my = mx + segment * cx + lever * cos(middle), my + segment * cy + lever * sin(middle)
    return area, mx + area * x0, my + area * y0


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering: ``height`` of a capital [mm], ``at`` its anchor, ``angle`` of the base line [rad]."""

    label: str
    at: Point
    height: float
    anchor: Anchor = "left"
    angle: float = 0.0


Shape = Loop | Circle
Item = Line | Arc | Circle | Loop | Text
AnyItem = TypeVar("AnyItem", bound=Line | Arc | Circle | Loop | Text)


@dataclass(frozen=True, slots=True)
class Layer:
    """Items that a machine treats alike: all cut through, or all only marked. Laser programs sort by colour.

    ``width`` of the line and its ``dash``, on and off by turns [mm], are for paper alone.
    """

    name: str
    role: Literal["cut", "mark"]
    items: tuple[Item, ...]
    colour: Colour = "red"
    width: float = 0.18
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawing:
    """Named layers on one sheet, mm. ``about`` says what it was made from (recipe, hash, version), never when."""

    name: str
    layers: tuple[Layer, ...]
    about: str = ""

    @property
    def box(self) -> Box:
        """Bounding box of all that is drawn, lettering by its estimated width [mm]."""
        return box_of(p for layer in self.layers for item in layer.items for p in corners(item))


def ending(piece: Piece, end: Point) -> Piece:
    """The same line or arc, but to another end on it."""
    return Line(piece.start, end) if isinstance(piece, Line) else Arc(piece.start, end, piece.centre, piece.ccw)


def straight(start: Point, end: Point) -> tuple[Line, ...]:
    """The line from one point to another; none where they are the same."""
    return () if start == end else (Line(start, end),)


def box_of(points: Iterable[Point]) -> Box:
    """Bounding box of at least one point [mm]."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def corners(item: Item) -> tuple[Point, ...]:
    """Points that span the box of an item [mm]."""
    if isinstance(item, Line | Arc):
        return item.extremes()
    if isinstance(item, Text):
        wide = 0.85 * item.height * len(item.label)  # generous for a plain face: pages must not clip a label
        left = {"left": 0.0, "centre": -wide / 2, "right": -wide, "middle": -wide / 2}[item.anchor]
        low = -item.height / 2 if item.anchor == "middle" else -0.3 * item.height
        motion = Placement(item.at, item.angle)
        return tuple(motion.of((left + u * wide, low + v * 1.3 * item.height)) for u in (0, 1) for v in (0, 1))
    x0, y0, x1, y1 = item.box
    return (x0, y0), (x1, y1)


@dataclass(frozen=True, slots=True)
class Placement:
    """A move without stretch: mirrored across the x axis if asked, then turned by ``angle``, then shifted [mm, rad]."""

    shift: Point = (0.0, 0.0)
    angle: float = 0.0
    mirror: bool = False

    def of(self, point: Point) -> Point:
        """Where ``point`` comes to lie [mm]."""
        quarter = self.angle / (pi / 2)
        if abs(quarter - round(quarter)) < 1e-12:  # quarter turns exactly, so that straight edges stay straight
            c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
        else:
            c, s = cos(self.angle), sin(self.angle)
        x, y = point[0], -point[1] if self.mirror else point[1]
        return self.shift[0] + c * x - s * y, self.shift[1] + s * x + c * y


def placed(item: AnyItem, placement: Placement) -> AnyItem:
    """Return the item after the move; equal end points stay equal. Lettering is turned, never mirrored."""
    moved: Item
    match item:
        case Line():
            moved = Line(placement.of(item.start), placement.of(item.end))
        case Arc():
            ends = placement.of(item.start), placement.of(item.end), placement.of(item.centre)
            moved = Arc(*ends, item.ccw != placement.mirror)
        case Circle():
            moved = replace(item, centre=placement.of(item.centre))
        case Text():
            angle = placement.angle - item.angle if placement.mirror else placement.angle + item.angle
            moved = replace(item, at=placement.of(item.at), angle=angle)
        case Loop():
            moved = Loop(tuple(placed(p, placement) for p in item.pieces))
            moved = moved.reversed() if placement.mirror else moved  # the same sense of travel as before
    return moved  # type: ignore[return-value]  # each kind gives its own kind
