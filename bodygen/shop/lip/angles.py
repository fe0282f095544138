"""The three angles of a lip as a bench meets them, each a sketch of its own: to the axis, at the saw, on the block.

Knows the lip's angle and the side that its slot enters from. Knows no plate and no file format.
"""

from math import cos, pi, radians, sin, tan

from bodygen.plane.shapes import Arc, Item, Line, Point, Text
from bodygen.recipe.model import Lip
from bodygen.tables import load
from bodygen.units import angle_text

LEG, ARC = 15.0, 9.0
"""Length of what is drawn from a corner, and radius of the arc between [mm]."""
APART = 46.0
"""From one sketch to the next [mm]."""
LETTERS, STEEP = 2.5, 0.35
"""Height of letters [mm]; nearer to upright than this cosine they stand above the legs or below, not beside."""


def saw_leans(lip: Lip) -> float:
    """How far the saw leans from square to the face that the slot enters [rad], aft or, of a nose slot, up.

    Elementary: square to the belly is straight up, to the nose's end straight aft; the cut goes aft and up by the
    lip's angle. Below 0 it leans ahead.

    Examples
    --------
    >>> saw_leans(Lip("polycarbonate", 1.5, pi / 3, 6.0, 16.0, 16.0, x=9.0)) / pi * 180
    30.0
    """
    return pi / 2 - lip.angle if lip.entry == "belly" else lip.angle


def has_block(lip: Lip) -> bool:
    """Whether an angle block is printed: of one with too sharp a corner a needle would be left."""
    needle = radians(load("gauges")["angle_block"]["least_deg"])
    return bool(needle <= lip.angle <= pi / 2 - needle)


def angle_sketches(lip: Lip, corner: Point) -> tuple[Item, ...]:
    """Three sketches side by side, the nose to the left, lettered with what each angle is from; angles are true.

    Lengths are not: each lies in its own APART mm, ``corner`` is upper left of all [mm].
    """
    x, y = corner
    low = y - LEG
    face = "to the belly face" if lip.entry == "belly" else "to the nose end"
    items = [
        *_to_the_axis(lip, (x + LEG + 14.0, y)),
        *_caption((x, low), "plate, from straight", "ahead on the axis"),
    ]
    x += APART
    items += [*_at_the_saw(lip, (x + 10.0, low)), *_caption((x, low), "saw, from square", face)]
    if has_block(lip):
        x += APART
        items += [*_block(lip, (x + 16.0, low)), *_caption((x, low), "printed angle block,", "its corner")]
    return tuple(items)


def _caption(at: Point, *lines: str) -> list[Item]:
    return [Text(line, (at[0], at[1] - (2.4 + 1.7 * i) * LETTERS), LETTERS) for i, line in enumerate(lines)]


def _to_the_axis(lip: Lip, at: Point) -> list[Item]:
    """The plate, from straight ahead downwards."""
    ahead, tip = _out(at, pi, LEG), _out(at, pi + lip.angle, LEG)
    axis = Line(ahead, (at[0] + 6.0, at[1]))
    return [axis, Line(at, tip), *_arc(at, pi, lip.angle), _figure(at, pi + lip.angle / 2, lip.angle)]


def _at_the_saw(lip: Lip, at: Point) -> list[Item]:
    """The face that the slot enters, what is square to it, and the cut, which runs aft and up."""
    (x, y), leans = at, saw_leans(lip)
    belly = lip.entry == "belly"
    square = pi / 2 if belly else 0.0
    face = Line((x - 8.0, y), (x + LEG, y)) if belly else Line((x, y - 2.0), (x, y + LEG))
    legs = [Line(at, _out(at, way, LEG)) for way in (square, lip.angle)]
    low, high = sorted((square, lip.angle))
    return [face, *legs, *_arc(at, low, high - low), _figure(at, (low + high) / 2, abs(leans))]


def _block(lip: Lip, at: Point) -> list[Item]:
    """The block's side: its bottom along the axis, its slant along the plate."""
    wide = min(LEG, LEG / tan(lip.angle))
    right, top = (at[0] + wide, at[1]), (at[0] + wide, at[1] + wide * tan(lip.angle))
    figure = Text(angle_text(lip.angle), (at[0] - 1.5, at[1]), LETTERS, "right")
    return [Line(at, right), Line(right, top), Line(top, at), *_arc(at, 0.0, lip.angle, wide / 2), figure]


def _out(at: Point, way: float, far: float) -> Point:
    return at[0] + far * cos(way), at[1] + far * sin(way)


def _arc(at: Point, start: float, turn: float, radius: float = ARC) -> list[Item]:
    """An arc counter-clockwise about a corner; none between lines that lie on each other."""
    if turn < radians(0.5):
        return []
    return [Arc(_out(at, start, radius), _out(at, start + turn, radius), at)]


def _figure(at: Point, way: float, angle: float) -> Text:
    """The angle in letters, beyond the legs and between them."""
    x, y = _out(at, way, LEG + 1.5)
    if abs(cos(way)) < STEEP:
        return Text(angle_text(angle), (x, y if sin(way) > 0 else y - 1.3 * LETTERS), LETTERS, "centre")
    return Text(angle_text(angle), (x, y - LETTERS / 2), LETTERS, "left" if cos(way) > 0 else "right")
