"""Drawings that are cut, as a card has them: black alone, line patterns for what a line is for, no word under 9 pt.

A word that is too small is made larger where it stands, else moved within its part, else set beside it with a leader.
Knows plane shapes and the names of layers. Knows nothing of what is drawn.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, pi, sin

import manifold3d
import numpy as np

from bodygen.export.page_pdf import width_of
from bodygen.plane.label_places import AIR_MM, Array, Wanted, crowding, lettered_within, line_points
from bodygen.plane.shapes import Box, Circle, Drawing, Item, Layer, Line, Loop, Placement, Point, Text, box_of

LETTER = 2.3
"""Height of capitals [mm]: 9 pt."""
THIN: tuple[float, tuple[float, ...]] = (0.13, ())
INKS: dict[str, tuple[float, tuple[float, ...], str]] = {
    "CUT": (0.4, (), "cut"),
    "MARK_BEND": (0.3, (4.0, 0.8, 0.6, 0.8, 0.6, 0.8), "bend, never cut"),
    "MARK_MOUTH": (0.25, (1.6, 0.8), "mouth of the slot"),
    "MARK_TABS": (0.8, (), "ends of a tab"),
    "MARK_DRILL": (0.13, (0.6, 0.6), "drill"),
    "ENGRAVE": (*THIN, "mark, never cut"),
    "MARK_EDGES": (0.25, (), "edge of the wire"),
    "MARK_MIDDLE": (0.18, (5.0, 0.8, 0.8, 0.8), "middle of the wire"),
}
"""By a layer's name: width of its line, dashes on and off by turns [mm], and what the key says of it."""
SAMPLE, ROW = 9.0, 4.6
"""Length of a line in the key, and height of one of its rows [mm]."""
FARTHEST, STEP, WAYS = 60.0, 1.0, 24
"""How far off its part a word may be set [mm], in which steps, and in how many directions."""
NEAR = 1.0
"""A word no farther from its place than this needs no leader [mm]."""
EDGE = 0.6
"""Least distance of a moved word to the edges of its part [mm]."""
SAG = 0.02
HAIR = 0.05
CAPITAL, ASCENT, DESCENT = 0.718, 0.73, 0.21
"""Of the printed face: height of capitals, reach above and below the base line, as shares of its size [-]."""
DESCENDING = frozenset("gjpqy()/,;Q_@$")


def inked(drawing: Drawing, caption: str) -> Drawing:
    """Return the drawing in black, each layer in the line of its meaning, every word 9 pt high at least.

    Parameters
    ----------
    drawing : Drawing
        Its layers are told apart by their names (``plane/layers.py``).
    caption : str
        What will stand above it: a word of it that has no room on its part is left out.
    """
    items = [item for layer in drawing.layers for item in layer.items]
    words = [item for item in items if isinstance(item, Text)]
    lines = line_points(items)
    small = [text for text in words if text.height < LETTER or _crossed(text, words, lines)]
    large = [text for text in words if text not in small]
    made, left = _on_their_parts(small, large, items, _pieces(drawing))
    left = [text for text in left if text.label not in caption]
    beside, leaders = _beside_their_parts(left, [*large, *made], items, _pieces(drawing))
    layers = []
    for layer in drawing.layers:
        width, dash, _ = INKS.get(layer.name, (*THIN, ""))
        drawn = tuple(item for item in layer.items if not isinstance(item, Text))
        if drawn:
            layers.append(replace(layer, items=drawn, colour="black", width=width, dash=dash))
    if leaders:
        layers.append(Layer("MARK_LEADERS", "mark", tuple(leaders), "black", THIN[0]))
    return replace(drawing, layers=(*layers, Layer("MARK_WORDS", "mark", (*large, *made, *beside), "black")))


def key_of(layers: Sequence[Layer], width: float) -> list[Layer]:
    """Which line means what of the layers that are there, in rows whose lower left corner is (0, 0) [mm]."""
    there = {layer.name for layer in layers if layer.items}
    used = [name for name in INKS if name in there]
    rows: list[list[tuple[float, str]]] = []
    x = 0.0
    for name in used:
        right = x + SAMPLE + 1.5 + 0.85 * LETTER * len(INKS[name][2])
        if not rows or right > width:
            rows.append([])
            right -= x
            x = 0.0
        rows[-1].append((x, name))
        x = right + 4.0
    made = list[Layer]()
    for y, row in zip([ROW * i for i in range(len(rows))], reversed(rows), strict=True):
        for x, name in row:
            wide, dash, says = INKS[name]
            sample = Line((x, y + LETTER / 2), (x + SAMPLE, y + LETTER / 2))
            made.append(Layer(f"MARK_KEY_{name}", "mark", (sample,), "black", wide, dash))
            made.append(Layer("MARK_KEY", "mark", (Text(says, (x + SAMPLE + 1.5, y), LETTER),), "black"))
    return made


def _crossed(text: Text, words: Sequence[Text], lines: Array) -> bool:
    """Whether a line or another word runs through a word."""
    x0, y0, x1, y1 = room_of(text)
    inside = x0 + AIR_MM, y0 + AIR_MM, x1 - AIR_MM, y1 - AIR_MM  # crowding keeps AIR_MM round a box
    return crowding(inside, [room_of(other) for other in words if other is not text], lines) > 0


def _on_their_parts(
    small: Sequence[Text], large: Sequence[Text], items: Sequence[Item], pieces: Sequence[manifold3d.CrossSection]
) -> tuple[list[Text], list[Text]]:
    """Small words made larger where they stand or elsewhere on their part; and those that have no room there."""
    lines, made, left = line_points(items), list[Text](), list[Text]()
    for text in sorted(small, key=lambda one: -one.height):
        boxes = [room_of(other) for other in (*large, *made)]
        elsewhere = _moved(text, items, boxes, pieces) if text.height < LETTER else None  # a large one has its corner
        places = (replace(text, height=LETTER), elsewhere)
        found = next((one for one in places if one and crowding(room_of(one), boxes, lines) == 0), None)
        (made if found else left).append(found or text)
    return made, left


def _beside_their_parts(
    left: Sequence[Text], there: Sequence[Text], items: Sequence[Item], pieces: Sequence[manifold3d.CrossSection]
) -> tuple[list[Text], list[Item]]:
    """Words set outside all parts, and their leaders."""
    lines, made, leaders = line_points(items), list[Text](), list[Item]()
    for text in left:
        found, leader = _beside(text, [room_of(other) for other in (*there, *made)], lines, pieces)
        made.append(found)
        leaders += leader
        lines = np.concatenate([lines, line_points(leader)])
    return made, leaders


def room_of(text: Text) -> Box:
    """Room that a word takes as it is printed: narrower than a plane drawing reckons with [mm]."""
    size = text.height / CAPITAL
    wide = width_of(text.label, size)
    left = {"left": 0.0, "centre": -wide / 2, "right": -wide, "middle": -wide / 2}[text.anchor]
    low = -text.height / 2 if text.anchor == "middle" else 0.0
    deep = DESCENT * size if set(text.label) & DESCENDING else 0.0
    motion = Placement(text.at, text.angle)
    return box_of(motion.of((x, y)) for x in (left, left + wide) for y in (low - deep, low + ASCENT * size))


def _pieces(drawing: Drawing) -> list[manifold3d.CrossSection]:
    """What is left of the sheet inside each outline that is cut."""
    rings = [
        item.points(SAG)
        for layer in drawing.layers
        if layer.role == "cut"
        for item in layer.items
        if isinstance(item, Loop | Circle)
    ]
    return manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd).decompose() if rings else []


def _middle(text: Text) -> Point:
    x0, y0, x1, y1 = room_of(text)
    return (x0 + x1) / 2, (y0 + y1) / 2


def _holds(piece: manifold3d.CrossSection, at: Point) -> bool:
    spot = manifold3d.CrossSection.square((HAIR, HAIR), center=True).translate(at)
    return bool((piece ^ spot).area() > 0.5 * spot.area())


def _moved(
    text: Text, items: Sequence[Item], boxes: Sequence[Box], pieces: Sequence[manifold3d.CrossSection]
) -> Text | None:
    """Find the word another place within its part; one with an arrow head stays as it is turned."""
    piece = next((one for one in pieces if _holds(one, _middle(text))), None)
    if piece is None:
        return None
    taken = [Line((x0, y0), (x1, y1)) for x0, y0, x1, y1 in boxes]
    taken += [part for item in items if isinstance(item, Line) for part in _short(item)]
    turns = not set(text.label) & set("<>")
    return next(iter(lettered_within(piece, taken, (Wanted((text.label,), turns),), (LETTER,), EDGE)), None)


def _short(line: Line) -> Iterator[Line]:
    """A line in parts so short that the box of each is all line."""
    points = line_points((line,)).tolist()
    for (ax, ay), (bx, by) in pairwise(points):
        yield Line((ax, ay), (bx, by))


def _beside(
    text: Text, boxes: Sequence[Box], lines: Array, pieces: Sequence[manifold3d.CrossSection]
) -> tuple[Text, list[Item]]:
    """Set the word as near to its place as there is room outside all parts, with a line to where it belongs."""
    x, y = _middle(text)
    foot = _foot((x, y), boxes, pieces)
    for away in np.arange(STEP, FARTHEST, STEP).tolist():
        for way in (2 * pi * k / WAYS for k in range(WAYS)):
            found = Text(text.label, (x + away * cos(way), y + away * sin(way)), LETTER, "middle")
            box = room_of(found)
            if crowding(box, boxes, lines) or any(_holds(piece, found.at) for piece in pieces):
                continue
            if box[0] - NEAR < x < box[2] + NEAR and box[1] - NEAR < y < box[3] + NEAR:
                return found, []
            line = Line((min(max(foot[0], box[0]), box[2]), min(max(foot[1], box[1]), box[3])), foot)
            if not _meets(line, boxes):
                return found, [line, Circle(foot, 0.3)]
    wide = max((x1 for _, _, x1, _ in boxes), default=x) + 3.0
    return Text(text.label, (max(wide, float(lines[:, 0].max()) + 3.0), y), LETTER), []


def _foot(at: Point, boxes: Sequence[Box], pieces: Sequence[manifold3d.CrossSection]) -> Point:
    """Where a leader ends: the word's own place, or the nearest on its part that no other word covers."""
    piece = next((one for one in pieces if _holds(one, at)), None)
    rings = [0.0, *np.arange(HAIR, FARTHEST, STEP / 4).tolist()] if piece is not None else [0.0]
    for away in rings:
        for way in (2 * pi * k / WAYS for k in range(WAYS)):
            x, y = at[0] + away * cos(way), at[1] + away * sin(way)
            covered = any(x0 - AIR_MM < x < x1 + AIR_MM and y0 - AIR_MM < y < y1 + AIR_MM for x0, y0, x1, y1 in boxes)
            if not covered and (piece is None or _holds(piece, (x, y))):
                return x, y
    return at


def _meets(line: Line, boxes: Sequence[Box]) -> bool:
    points = line_points((line,))
    return any(bool(((points > box[:2]) & (points < box[2:])).all(axis=1).any()) for box in boxes)
