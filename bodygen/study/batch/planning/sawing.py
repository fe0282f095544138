"""Sawing a plank: which cuts, each from edge to edge, free every blank, and in which order one makes them.

Knows rectangles in the plane of the plank, x along its grain, y across, mm from its lower left corner; and the kerf.
Knows no wood and no bait. A layout that no edge-to-edge cuts can free is told, not mended.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bodygen.errors import BodygenError

TOUCH_MM = 1e-5
"""Two edges so near lie on each other [mm]."""
Way = Literal["rip", "cross"]
Blanks = tuple["Rectangle", ...]


@dataclass(frozen=True, slots=True)
class Rectangle:
    """From (x0, y0) to (x1, y1) [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def size(self) -> tuple[float, float]:
        """Along x and y [mm]."""
        return self.x1 - self.x0, self.y1 - self.y0

    @property
    def area(self) -> float:
        """Area [mm^2]."""
        return max(self.x1 - self.x0, 0.0) * max(self.y1 - self.y0, 0.0)

    def overlaps(self, other: "Rectangle") -> bool:
        """Whether they share more than an edge."""
        apart_x = self.x1 <= other.x0 + TOUCH_MM or other.x1 <= self.x0 + TOUCH_MM
        return not (apart_x or self.y1 <= other.y0 + TOUCH_MM or other.y1 <= self.y0 + TOUCH_MM)


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut through a part, from edge to edge of it.

    ``way`` "rip" runs along the grain, "cross" across it. ``part`` is what is sawn, ``kerf`` the strip that the blade
    takes, clipped to the part [mm]; ``set_to`` is from the part's lower or left edge to the near side of the blade.
    """

    way: Way
    part: Rectangle
    kerf: Rectangle
    set_to: float


@dataclass(frozen=True, slots=True)
class Sawn:
    """The cuts in their order, and what is left over, largest first."""

    cuts: tuple[Cut, ...]
    offcuts: tuple[Rectangle, ...]


def sawn(plank: Rectangle, blanks: Sequence[Rectangle], kerf: float, first: Way = "rip") -> Sawn:
    """Find the cuts that free every blank of a plank.

    A cut that frees a set of blanks spoils no other: what could be parted before can be parted after, so the first one
    that is found is as good as any. Derived here. Cuts of one way follow each other as long as there are any, so that
    the saw is set as seldom as may be.

    Parameters
    ----------
    plank : Rectangle
        What is sawn [mm].
    blanks : sequence of Rectangle
        Inside it, none over another [mm].
    kerf : float
        What the blade takes away [mm], >= 0.
    first : "rip" or "cross"
        Which way is tried first in every part.

    Raises
    ------
    BodygenError
        No cuts from edge to edge free them.

    Examples
    --------
    >>> two = [Rectangle(0, 0, 80, 20), Rectangle(0, 22, 80, 42)]
    >>> [(cut.way, cut.set_to) for cut in sawn(Rectangle(0, 0, 100, 42), two, 2.0).cuts]
    [('rip', 20), ('cross', 80), ('cross', 80)]
    """
    cuts: list[Cut] = []
    offcuts: list[Rectangle] = []
    waiting: list[tuple[Cut, Blanks]] = []

    def put(parts: Iterator[Rectangle], inside: Blanks) -> None:
        """Note the next cut of each part that is no blank yet, before those of other parts."""
        new = []
        for part in parts:
            mine = tuple(b for b in inside if _within(b, part))
            if not mine:
                offcuts.append(part)
            elif len(mine) > 1 or not _same(part, mine[0]):
                new.append((_next(part, mine, kerf, first), mine))
        waiting[:0] = new

    put(iter([plank]), tuple(blanks))
    while waiting:
        at = next((n for n, (cut, _) in enumerate(waiting) if cuts and cut.way == cuts[-1].way), 0)
        cut, inside = waiting.pop(at)
        cuts.append(cut)
        put(halves(cut), inside)
    return Sawn(tuple(cuts), tuple(sorted(offcuts, key=lambda left: -left.area)))


def _next(part: Rectangle, inside: Blanks, kerf: float, first: Way) -> Cut:
    """The cut that a part gets next."""
    ways: tuple[Way, Way] = ("rip", "cross") if first == "rip" else ("cross", "rip")
    cut = next((cut for way in ways for cut in _cuts(part, inside, kerf, way)), None)
    if cut is None:
        msg = f"no cut from edge to edge parts {len(inside)} blanks in a plank {part.size[0]:g} x {part.size[1]:g}"
        raise BodygenError(msg)
    return cut


def halves(cut: Cut) -> Iterator[Rectangle]:
    """Parts on either side of a cut [mm]; a side that the blade has taken whole is none."""
    part, blade = cut.part, cut.kerf
    if cut.way == "rip":
        sides = (Rectangle(part.x0, part.y0, part.x1, blade.y0), Rectangle(part.x0, blade.y1, part.x1, part.y1))
    else:
        sides = (Rectangle(part.x0, part.y0, blade.x0, part.y1), Rectangle(blade.x1, part.y0, part.x1, part.y1))
    return (side for side in sides if min(side.size) > TOUCH_MM)


def _cuts(part: Rectangle, blanks: Sequence[Rectangle], kerf: float, way: Way) -> Iterator[Cut]:
    """Cuts of one way that no blank lies in: beside the far edge of some, or before the near edge of all."""
    low, high = (part.y0, part.y1) if way == "rip" else (part.x0, part.x1)
    spans = sorted((b.y0, b.y1) if way == "rip" else (b.x0, b.x1) for b in blanks)
    blades = [(end, min(end + kerf, high)) for end in sorted({end for _, end in spans if end < high - TOUCH_MM})]
    if spans[0][0] > low + TOUCH_MM:  # what lies before the first, where the blade may hang over the edge
        blades.insert(0, (max(spans[0][0] - kerf, low), spans[0][0]))
    for at, far in blades:
        if any(start < far - TOUCH_MM and end > at + TOUCH_MM for start, end in spans):
            continue
        blade = Rectangle(part.x0, at, part.x1, far) if way == "rip" else Rectangle(at, part.y0, far, part.y1)
        yield Cut(way, part, blade, round(at - low, 6))


def _same(a: Rectangle, b: Rectangle) -> bool:
    return all(abs(p - q) < TOUCH_MM for p, q in zip((a.x0, a.y0, a.x1, a.y1), (b.x0, b.y0, b.x1, b.y1), strict=True))


def _within(blank: Rectangle, part: Rectangle) -> bool:
    wide = part.x0 - TOUCH_MM <= blank.x0 and blank.x1 <= part.x1 + TOUCH_MM
    return wide and part.y0 - TOUCH_MM <= blank.y0 and blank.y1 <= part.y1 + TOUCH_MM
