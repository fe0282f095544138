"""The table of bores and cuts, and the title block: what the drawing says in words, laid out in mm on paper.

Knows the recipe's own words and units. Knows nothing of the views (views.py). Fields of the title block follow
ISO 7200 in general, from memory; there is no date, so that two builds are alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from math import atan2, hypot

import numpy as np

from bodygen.form.bore_words import bit_words, depth_figures
from bodygen.form.cuts import Prism, Revolved, Tool
from bodygen.form.facing import side_of
from bodygen.plane.page import CAPITAL, Label, Mark, Stroke, printable, shortened, stroke, text_width, wrapped
from bodygen.plane.shapes import Point
from bodygen.recipe.model import Bore, Recipe, Units
from bodygen.report.stamp import stamp
from bodygen.units import angle_text, length_text

ROW = 3.7
"""Height of a table's row [mm]."""
TITLE_WIDTH = 102.0
_SMALL, _SMALLEST = 2.5, 1.6
_HEADS = ("no.", "what", "bit or saw", "depth from the skin", "from nose", "across, up", "lean")


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of the table; ``places`` are the tools in their list that it stands for (two for a mirrored pair)."""

    number: str
    places: tuple[int, ...]
    cells: tuple[str, ...]


def figure(millimetres: float, units: Units) -> str:
    """Length without its unit, which the title block names [mm].

    >>> figure(69.85, "in"), figure(69.85, "mm")
    ('2-3/4 (2.750)', '69.85')
    """
    settled = millimetres if abs(millimetres) > 5e-4 else 0.0  # a mouth found by search is never quite at zero
    return length_text(settled, units).replace(" in", "").removesuffix(" mm")


def entries_of(recipe: Recipe, tools: Sequence[Tool]) -> tuple[TableRow, ...]:
    """One entry for each bore (its mirrored pair together) and each saw cut, in the recipe's order."""
    entries: list[TableRow] = []
    for place, tool in enumerate(tools):
        number = str(len(entries) + 1)
        if isinstance(tool, Prism):
            entries.append(TableRow(number, (place,), _saw_cells(recipe, tool)))
        elif not tool.mirrored:
            twin = (i for i, t in enumerate(tools) if isinstance(t, Revolved) and t.mirrored and t.bore == tool.bore)
            places = (place, *twin)
            entries.append(TableRow(number, places, _bore_cells(recipe, tool, pair=len(places) > 1)))
    return tuple(entries)


def _bore_cells(recipe: Recipe, tool: Revolved, *, pair: bool) -> tuple[str, ...]:
    units = recipe.units
    bore = recipe.bores[tool.bore]
    bit = bit_words(bore, units)
    if not any(mark in bit for mark in ("/", " mm", " in")):  # a number or a letter: what it measures
        bit += f", Ø{figure(tool.diameter, units)}"
    depth = depth_figures(bore, partial(figure, units=units))
    if bore.counterbore:
        wide, deep = figure(bore.counterbore.diameter, units), figure(bore.counterbore.depth, units)
        depth += f"; mouth Ø{wide} × {deep}"
    x, y, z = tool.origin
    across = _across(y, z, bore.entry, units, pair=pair)
    return printable(bore.name), bit, depth, figure(x, units), across, _lean(tool, bore)


def _lean(tool: Revolved, bore: Bore) -> str:
    """Which way the inner end of a bore leans, and how far."""
    if bore.entry == "point":
        a, b, c = tool.axis
        return f"{_degrees(atan2(hypot(a, b), abs(c)))} off plumb"
    if abs(bore.lean) < 1e-6:
        return "square"
    more, less = ("up", "down") if bore.entry in ("nose", "tail") else ("aft", "forward")
    return f"{_degrees(abs(bore.lean))} {more if bore.lean > 0 else less}"


def _degrees(radians: float) -> str:
    return angle_text(radians).replace(" deg", "°")


def _across(y: float, z: float, entry: str, units: Units, *, pair: bool) -> str:
    """Where a mouth lies beside the mid-plane and above the parting line; what the face fixes by itself is left out."""
    words = []
    if entry == "side":
        words.append("both flanks" if pair else f"{side_of(y)} flank")
    elif abs(y) > 5e-3:
        words.append(f"{figure(abs(y), units)} {'each side' if pair else side_of(y)}")
    if entry not in ("belly", "back"):
        words.append(f"{'down' if z < -5e-3 else 'up'} {figure(abs(z), units)}" if abs(z) > 5e-3 else "on the line")
    return ", ".join([entry, *words] if entry in ("belly", "back", "nose", "tail") else words)


def _saw_cells(recipe: Recipe, tool: Prism) -> tuple[str, ...]:
    units = recipe.units
    if tool.kind == "wire":
        xs = [a for a, _ in tool.polygon]
        ends = f"{figure(min(xs), units)} to {figure(max(xs), units)}"
        depth = f"{figure(tool.depth, units)} at most"
        return printable(tool.name), f"kerf {figure(2 * tool.half, units)}", depth, ends, "mid-plane", ""
    low, high = min(b for _, b in tool.polygon), max(b for _, b in tool.polygon)
    cut = f"kerf {figure(high - low, units)}"
    width = recipe.lip.slot_width if recipe.lip and tool.kind == "slot" else None
    if tool.kind == "mouth" and recipe.lip and recipe.lip.mouth:
        cut = f"{figure(recipe.lip.mouth.height, units)} above slot"
    across = "right across" if width is None else f"{figure(width, units)} wide"
    lean = f"{_degrees(atan2(tool.along[2], tool.along[0]))} below ahead"
    depth = f"{figure(tool.depth, units)} along it"
    return tool.name, cut, depth, figure(tool.origin[0], units), across, lean


@lru_cache(maxsize=4)
def bore_table(entries: tuple[TableRow, ...], width: float) -> tuple[tuple[Mark, ...], float]:
    """The table at (0, 0) and its height [mm]; the lettering shrinks until the rows fit the width."""
    if not entries:
        return (), 0.0
    rows = [_HEADS, *((entry.number, *entry.cells) for entry in entries)]
    size = _SMALL
    while size > _SMALLEST and sum(_columns(rows, size)) > width:
        size -= 0.1
    columns = _columns(rows, size)
    spare = width - sum(columns)
    if spare < 0:  # one long name too many: it gives way, the figures never do
        columns[1] += spare
        rows = [(a, shortened(b, max(columns[1] - 2.0, 4.0), size), *rest) for a, b, *rest in rows]
    else:
        columns = [column + spare / len(columns) for column in columns]
    edges = [sum(columns[:i]) for i in range(len(columns) + 1)]
    height = ROW * len(rows)
    marks: list[Mark] = [stroke([(0, i * ROW), (edges[-1], i * ROW)], "hair") for i in range(2, len(rows))]
    marks += [stroke([(0, ROW), (edges[-1], ROW)], "visible"), _box(0, 0, edges[-1], height)]
    marks += [stroke([(x, 0), (x, height)], "hair") for x in edges[1:-1]]
    for i, row in enumerate(rows):
        base = (i + 0.5) * ROW + CAPITAL * size / 2
        marks += [
            Label(text, (x + 1.0, base), size, bold=i == 0) for x, text in zip(edges[:-1], row, strict=True) if text
        ]
    return tuple(marks), height


def _columns(rows: Sequence[tuple[str, ...]], size: float) -> list[float]:
    return [2.0 + max(text_width(row[i], size, bold=row is rows[0]) for row in rows) for i in range(len(_HEADS))]


def _box(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    return stroke([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], "visible", closed=True)


def title_block(
    recipe: Recipe, wood: str, ratio: str, sections: str, cautions: Sequence[str], which: str = ""
) -> tuple[list[Mark], float]:
    """The title block at (0, 0), TITLE_WIDTH wide, and its height [mm].

    Parameters
    ----------
    wood : str
        What the body is made of, in the caller's words.
    ratio, sections : str
        Scale of the views and of the sections, such as "2:1"; sections empty: none drawn.
    cautions : sequence of str
        Whole sentences; each starts a new line.
    which : str
        Which of several sheets it is; empty for the only one.
    """
    inner = TITLE_WIDTH - 4.0
    name, size = printable(recipe.name), 5.0
    while size > 3.0 and text_width(name, size, bold=True) > inner - 22.0:
        size -= 0.25
    name = shortened(name, inner - 22.0, size, bold=True)
    marks: list[Mark] = [Label(name, (2.0, 4.5 + CAPITAL * size / 2), size, bold=True)]
    marks += _third_angle((TITLE_WIDTH - 12.0, 4.5))
    y = 9.0
    marks.append(stroke([(0, y), (TITLE_WIDTH, y)], "thin"))
    drawn = f"{ratio}, sections {sections}" if sections != ratio else ratio
    units = "inches to 1/64 (decimal)" if recipe.units == "in" else "millimetres"
    marks += [Label(drawn, (16.0, y + 3.7), 2.5, bold=True), Label(units, (TITLE_WIDTH - 2.0, y + 3.7), 2.5, "right")]
    made = f"{stamp(recipe)}{which and f', {which}'}"
    for i, (key, value) in enumerate((("scale", ""), ("wood", printable(wood)), ("made by", made))):
        base = y + 3.7 * (i + 1)
        marks.append(Label(key, (2.0, base), 2.2))
        marks += [Label(shortened(value, inner - 14.0, 2.5), (16.0, base), 2.5)] if value else []
    y += 3.7 * 3 + 1.4
    marks.append(stroke([(0, y), (TITLE_WIDTH, y)], "thin"))
    said = "Nose at left. Places from nose and parting line, depths along the bit. Long dashes: widest line."
    said += " Thin short dashes: bent wire." if any(fitting.bent for fitting in recipe.fittings) else ""
    for line in [line for text in (said, *map(printable, cautions)) for line in wrapped(text, inner, 2.2)]:
        y += 3.1
        marks.append(Label(line, (2.0, y), 2.2))
    y += 3.7
    marks.append(Label("Check the printed scale bar before use.", (2.0, y), 2.5, bold=True))
    y += 1.8
    return [_box(0, 0, TITLE_WIDTH, y), *marks], y


def _third_angle(centre: Point) -> list[Mark]:
    """The symbol of third-angle projection: a cone's end view left of its side view."""
    x, y = centre
    turn = np.linspace(0.0, 2 * np.pi, 40, endpoint=False)
    marks: list[Mark] = [
        stroke(np.stack([x - 4.5 + r * np.cos(turn), y + r * np.sin(turn)], axis=1), "thin", closed=True)
        for r in (1.3, 2.6)
    ]
    marks.append(
        stroke([(x + 0.5, y - 1.3), (x + 6.5, y - 2.6), (x + 6.5, y + 2.6), (x + 0.5, y + 1.3)], "thin", closed=True)
    )
    return [
        *marks,
        stroke([(x - 8.0, y), (x + 7.8, y)], "centre"),
        stroke([(x - 4.5, y - 3.4), (x - 4.5, y + 3.4)], "centre"),
    ]
