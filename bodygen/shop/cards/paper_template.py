"""The template that is glued on the squared blank: its left side, and above a fold its back, 1:1.

Everything is laid out from one datum, the nose: finished line and saw line, parting line, stations, every bore and saw
cut. Knows the blank and the body's outlines; the paper it is printed on is plane/tiles.py's. Drawing axes: x from the
nose; the side view keeps the body's z, the back lies above the blank's upper edge, the left flank at the fold.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import pi
from textwrap import wrap

import numpy as np

from bodygen.form.blank import Blank
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.form.cuts import Prism, Revolved, Tool
from bodygen.plane.label_places import Array, beside_mark, label_box, least_crowded, line_points, spread
from bodygen.plane.parallel import parallel
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import (
    AnyItem,
    Box,
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Loop,
    Piece,
    Placement,
    Point,
    Text,
    placed,
)
from bodygen.plane.tiles import clipped
from bodygen.recipe.model import Recipe
from bodygen.shop.cards.section_gauges import Station
from bodygen.shop.cards.tool_marks import ToolMark, frame_of, lettered, marks_in, way_out
from bodygen.tables import as_row, load
from bodygen.units import angle_text, length_text

_CHAIN, _HIDDEN, _SAW, _FOLD = (6.0, 1.0, 0.6, 1.0), (1.6, 0.8), (3.0, 1.0), (8.0, 2.0)
_NOTE_LETTERS = 84
_ARROW_MM = (26.0, 18.0, 12.0, 8.0)


@dataclass(frozen=True, slots=True)
class TemplateSizes:
    """``saw``: from the finished to the saw line; heights of a capital in ``notes`` and ``labels`` [mm]."""

    saw: float
    notes: float
    labels: float


def default_template() -> TemplateSizes:
    """The sizes of ``tables/gauges.toml``: common practice, no published source."""
    row = load("gauges")["template"]
    return as_row(TemplateSizes, row, notes=row["note_mm"], labels=row["label_mm"])


def paper_template(
    recipe: Recipe,
    outlines: tuple[Loop, Loop],
    blank: Blank,
    tools: Sequence[Tool],
    stations: Sequence[Station],
    sizes: TemplateSizes,
    about: str = "",
) -> Drawing:
    """Draw both faces of the blank on one sheet that is folded over its upper left edge.

    Parameters
    ----------
    recipe : Recipe
        For its name, drills and units.
    outlines : (Loop, Loop)
        Side view (x, z) and plan (x, y) of the body [mm].
    blank : Blank
        The squared blank, in body axes.
    tools : sequence of Tool
        Every bore and saw cut.
    stations : sequence of Station
        As the section gauges have them.
    sizes : TemplateSizes
        Saw allowance and lettering.
    about : str
        What it was made from.

    Returns
    -------
    Drawing
        Layers for paper: nothing in it is cut by a machine (outline_cards.py is for that).
    """
    lift = Placement((0.0, blank.high[2] - blank.low[1]))  # from plan to the sheet
    side, plan = outlines[0], placed(outlines[1], lift)
    (x0, z0, x1, _), (_, _, _, top) = frames = _frames(blank)
    middle = lift.of((0.0, 0.0))[1]
    saw = [piece for loop, frame in zip((side, plan), frames, strict=True) for piece in _grown(loop, sizes.saw, frame)]
    marks = (*marks_in("side", tools, blank), *(_lifted(mark, lift) for mark in marks_in("plan", tools, blank)))
    lines = tuple(Line((s.x, z0), (s.x, top + 1.5)) for s in stations)
    labels = _around(frames, middle, stations, sizes.labels)
    crowd = [*_all(marks, "sides"), *_all(marks, "axes"), side, plan, *(Line((x0, y), (x1, y)) for y in (0.0, middle))]
    letters, leaders = _letters(marks, blank, sizes.labels, labels, line_points([*crowd, *lines]))
    labels += letters
    arrow, word = _grain(frames, labels, sizes.labels, line_points(crowd))
    labels.append(word)
    depth = min([z0, *(label_box(text)[1] for text in labels)]) - 3.0
    labels += _notes(recipe, blank, tools, sizes, (x0 - 11.0, depth))
    layers = (
        *_faces(frames),
        Layer("MARK_FINISHED", "mark", (side, plan), "black", 0.5),
        Layer("MARK_SAW", "mark", tuple(saw), "red", 0.25, _SAW),
        *_through(frames, middle, sizes.labels),
        Layer("MARK_STATIONS", "mark", lines, "blue", 0.13),
        Layer("MARK_BORES", "mark", _all(marks, "sides"), "black", 0.2, _HIDDEN),
        Layer("MARK_AXES", "mark", (*_all(marks, "axes"), *leaders), "black", 0.13),
        Layer("MARK_GRAIN", "mark", arrow, "black", 0.35),
        Layer("MARK_WORDS", "mark", tuple(labels), "black"),
    )
    return Drawing(f"{recipe.name} template", tuple(layer for layer in layers if layer.items), about)


def _around(frames: tuple[Box, Box], middle: float, stations: Sequence[Station], size: float) -> list[Text]:
    """What stands at the edges: the stations' numbers, nose and flank at the left, the lines' names at the right."""
    (x0, z0, x1, z1), (_, _, _, top) = frames
    labels = [Text("nose", (0.0, top + 2.8 + 2 * size), size, "centre")]
    labels += [Text(str(s.number), (s.x, top + 2.5), size, "centre") for s in stations]
    names = ("parting line", 0.0), ("fold", z1), ("middle line", middle), ("back", middle + 2 * size)
    heights = spread([height for _, height in names], 1.9 * size)
    labels += [
        Text(name, (x1 + 8.0, height - size / 2), size) for (name, _), height in zip(names, heights, strict=True)
    ]
    return [
        *labels,
        Text("nose end", (x0 - 7.0 - 2 * size, (z0 + top) / 2), size, "centre", pi / 2),
        Text("left side", (x0 - 7.0, (z0 + z1) / 2), size, "centre", pi / 2),
    ]


def _faces(frames: tuple[Box, Box]) -> tuple[Layer, Layer]:
    """The two faces of the blank, and the fold between them."""
    (x0, z0, x1, z1), (_, _, _, top) = frames
    return (
        Layer("MARK_BLANK", "mark", (rectangle(x1 - x0, top - z0, (x0, z0)),), "black", 0.25),
        Layer("MARK_FOLD", "mark", (Line((x0 - 4, z1), (x1 + 4, z1)),), "black", 0.25, _FOLD),
    )


def _frames(blank: Blank) -> tuple[Box, Box]:
    """The left side of the blank on the sheet, and above it its back."""
    x0, z0, x1, z1 = frame_of("side", blank)
    return (x0, z0, x1, z1), (x0, z1, x1, z1 + blank.size[1])


def _through(frames: tuple[Box, Box], middle: float, size: float) -> tuple[Layer, Layer]:
    """The parting line on the side with the middle line on the back, and the nose across both."""
    (x0, z0, x1, _), (_, _, _, top) = frames
    lines = tuple(Line((x0 - 4, height), (x1 + 4, height)) for height in (0.0, middle))
    nose = Line((0.0, z0 - 1.5), (0.0, top + 2.3 + 2 * size))
    return (
        Layer("MARK_PARTING", "mark", lines, "green", 0.2, _CHAIN),
        Layer("MARK_NOSE", "mark", (nose,), "magenta", 0.3),
    )


def _all(marks: Sequence[ToolMark], what: str) -> tuple[Item, ...]:
    return tuple(item for mark in marks for item in getattr(mark, what))


def _grown(loop: Loop, saw: float, frame: tuple[float, float, float, float]) -> Iterator[Piece]:
    """The saw line, as far as there is blank."""
    for grown in parallel(loop, saw):
        if grown.ccw:
            yield from clipped(grown, frame)


def _lifted(mark: ToolMark, lift: Placement) -> ToolMark:
    def up(items: tuple[AnyItem, ...]) -> tuple[AnyItem, ...]:
        return tuple(placed(item, lift) for item in items)

    return replace(mark, at=lift.of(mark.at), sides=up(mark.sides), axes=up(mark.axes))


def _letters(
    marks: Sequence[ToolMark], blank: Blank, height: float, labels: Sequence[Text], lines: Array
) -> tuple[list[Text], list[Line]]:
    """Letter every cut once: below the blank where it enters the belly, else beside the mark that shows it best."""
    below: dict[str, ToolMark] = {}
    others: dict[str, ToolMark] = {}
    for mark in marks:
        if not mark.letter:
            continue
        if mark.face == "belly":
            below.setdefault(mark.letter, mark)  # the side view comes first
        elif mark.letter not in others or (mark.end_on and not others[mark.letter].end_on):
            others[mark.letter] = mark
    row = blank.low[2] - 3.5
    texts, leaders = [], []
    ordered = sorted(below.values(), key=lambda mark: mark.at[0])
    longest = max((len(mark.letter) for mark in ordered), default=1)
    places = spread([mark.at[0] for mark in ordered], (0.9 * longest + 0.6) * height)
    for mark, x in zip(ordered, places, strict=True):
        texts.append(Text(mark.letter, (x, row - height), height, "centre"))
        leaders.append(Line((mark.at[0], blank.low[2]), (x, row + 0.4)))
    boxes = [label_box(text) for text in (*labels, *texts)]
    for mark in others.values():
        reach = max((item.radius for item in mark.sides if isinstance(item, Circle)), default=0.5)
        word = f"{mark.letter} {mark.face}" if mark.far else mark.letter
        text = beside_mark(word, mark.at, reach, height, boxes, lines)
        if text:
            texts.append(text)
            boxes.append(label_box(text))
    return texts, leaders


def _grain(frames: Sequence[Box], labels: Sequence[Text], height: float, lines: Array) -> tuple[tuple[Line, ...], Text]:
    """Draw a double arrow along the grain with its word, as long as there is room for, where it is in nobody's way."""
    word = Text("grain", (0.0, 0.0), height)
    x0, low, x1, high = label_box(word)
    boxes = [label_box(text) for text in labels]
    options = []
    for length in _ARROW_MM:
        size = length + 1.0 + x1 - x0, high - low
        corner, crowd = least_crowded(*size, frames, boxes, lines)
        options.append((crowd, -length, corner, length))
        if crowd == 0:
            break
    _, _, (x, y), length = min(options)
    mid, a, b = y - low + height / 2, x, x + length
    heads = [Line((tip, mid), (tip + way * 2.0, mid + up)) for tip, way in ((a, 1), (b, -1)) for up in (0.8, -0.8)]
    return (Line((a, mid), (b, mid)), *heads), Text("grain", (b + 1.0, y - low), height)


def _notes(recipe: Recipe, blank: Blank, tools: Sequence[Tool], sizes: TemplateSizes, corner: Point) -> Iterator[Text]:
    """Word what the bench needs, from a corner downwards."""
    words = partial(length_text, units=recipe.units)
    length, across, depth = (words(s) for s in blank.size)
    lines = [
        f"{recipe.name}: squared blank {length} long, {depth} belly to back, {across} side to side",
        "Glue it on with its nose end at the blank's, and fold it over the upper left edge. Drill and slot first.",
        f"Heavy: finished line. Red dashes: saw line, {words(sizes.saw)} outside it. Numbers: stations of the gauges.",
        f"Places are measured from the nose line, {words(-blank.low[0])} behind the nose end; depths along the bit.",
        *_cut_list(recipe, tools, blank),
        "Blades and drills: read the cautions in index.html; the tool's manual and local rules come first.",
    ]
    row = 0
    for line in lines:
        for part in wrap(line, _NOTE_LETTERS, subsequent_indent="   "):
            yield Text(part, (corner[0], corner[1] - (row + 1) * 1.7 * sizes.notes), sizes.notes)
            row += 1


def _cut_list(recipe: Recipe, tools: Sequence[Tool], blank: Blank) -> Iterator[str]:
    """One line for each lettered cut."""
    letters = lettered(tools)
    seen = set()
    for tool in tools:
        if tool.part in seen or tool.kind == "mouth":
            continue
        seen.add(tool.part)
        yield f"{letters[tool.part]}  {tool.name}: " + (
            _bore_words(recipe, tool, blank) if isinstance(tool, Revolved) else _saw_words(recipe, tool)
        )


def _bore_words(recipe: Recipe, tool: Revolved, blank: Blank) -> str:
    bore, words = recipe.bores[tool.bore], partial(length_text, units=recipe.units)
    above, face = way_out(blank, np.array(tool.origin), -np.array(tool.axis))
    said = [bit_words(bore, recipe.units)]
    if face in ("nose", "tail"):
        said.append(f"into the {face} end")
    else:
        side = f"the {face} side" if face in ("left", "right") else f"the {face}"
        said.append("into both sides" if bore.mirror else f"into {side}")
        said.append(f"{words(tool.origin[0])} from the nose")
    said.append(depth_words(bore, recipe.units))
    if bore.depth is not None:
        whole = depth_words(bore, recipe.units, "the blank's face", above)
        said.append(f"that is {whole}")
    if bore.lean:
        said.append(f"leaning {angle_text(abs(bore.lean))}")
    if bore.counterbore:
        said.append(f"widened to {words(bore.counterbore.diameter)} for {words(bore.counterbore.depth)}")
    return ", ".join(said)


def _saw_words(recipe: Recipe, tool: Prism) -> str:
    words = partial(length_text, units=recipe.units)
    if tool.kind == "slot" and recipe.lip:
        where = f"{words(tool.origin[0])} from the nose" if recipe.lip.entry == "belly" else "in the nose"
        wide = words(recipe.lip.thickness + recipe.lip.fit)
        return f"{wide} wide, {words(tool.depth)} deep along the plate, {where}, {angle_text(recipe.lip.angle)} down"
    xs = [x for x, _ in tool.polygon]
    return f"{words(2 * tool.half)} wide, from {words(min(xs))} to {words(max(xs))} behind the nose"
