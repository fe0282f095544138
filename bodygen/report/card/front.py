"""The first page, for the wall: the bait in the middle, cuts below it, the blank at its left, the scale at its right.

What does not fit goes on to a page of its own; nothing is left out, and nothing is set smaller.
"""

from collections.abc import Sequence
from dataclasses import replace

from bodygen.assessment import Assessment
from bodygen.export.page_pdf import width_of
from bodygen.form.blank import Blank
from bodygen.plane.page import Label, Mark, moved, stroke
from bodygen.report.card.lettering import (
    BETWEEN,
    DROP,
    PITCH,
    SMALLEST,
    Cell,
    Row,
    broken,
    cell_marks,
    height_of,
    row_height,
    row_marks,
)
from bodygen.report.card.scale import big_figure, scale_ruler
from bodygen.report.card.steps import OTHERWISE, WOOD_WORK, WorkStep
from bodygen.report.card.view import bait_view
from bodygen.report.card.words import Block, CutRow, blank_of_bait, cut_heads
from bodygen.units import length_text

LEFT, RIGHT, GAP = 40.0, 62.0, 5.0
"""Widths of the left and the right column, and between columns [mm]."""
COLUMNS = 3
AFTER = 0.9
"""Below a paragraph [mm]."""
LEAST_VIEW = 46.0
"""The bait has at least so much of the page's height [mm]."""
LEAST_BAND = 0.35
"""The band below may take so much of the page, whatever the table needs [-]."""
FULL = 185.0
"""Width of what goes on to another page [mm]."""
TITLE = 4.0
"""Size of a heading [mm]."""
ROOM = 6.0
"""Height of a heading's line [mm]."""
Box = tuple[float, float, float, float]


def front_page(
    a: Assessment, rows: Sequence[CutRow], steps: Sequence[WorkStep], blocks: Sequence[Block], box: Box
) -> tuple[list[Mark], list[Row]]:
    """Lay out the first page in a box (left, top, right, bottom) [mm]; and what it had no room for, as rows."""
    x0, y0, x1, y1 = box
    middle = x1 - x0 - LEFT - RIGHT - 2 * GAP
    table = table_rows(rows, a.recipe.units, middle)
    fits, used = 0, 0.0
    wide = (x1 - x0 - (COLUMNS - 1) * GAP) / COLUMNS
    free = y1 - y0 - GAP - LEAST_VIEW - sum(map(row_height, table))
    stand, rest, band = _banded(blocks, wide, max(free, LEAST_BAND * (y1 - y0)))
    room = y1 - y0 - band - GAP - LEAST_VIEW
    while fits < len(table) and used + row_height(table[fits]) <= room:
        used += row_height(table[fits])
        fits += 1
    low = y1 - band - (GAP if band else 0.0)
    view = bait_view(a, rows, middle, low - used - y0 - 1.0)
    marks = moved(view, x0 + LEFT + GAP, y0)
    y = low - used
    for row in table[:fits]:
        marks += row_marks(row, x0 + LEFT + GAP, y)
        y += row_height(row)
    for column, column_lines in enumerate(stand):
        marks += _column(column_lines, x0 + column * (wide + GAP), y1 - band, wide)
    if band:
        marks.append(stroke([(x0, low + GAP / 2 - 1.0), (x1, low + GAP / 2 - 1.0)], "thin", part="rule"))
    big, tall = big_figure(a, RIGHT)
    marks += moved(big, x1 - RIGHT, y0)
    marks += moved(scale_ruler(a, RIGHT, low - y0 - tall - 1.0), x1 - RIGHT, y0 + tall)
    marks += moved(_left(a, steps, low - y0), x0, y0)
    over = [*(table[:1] if fits < len(table) else []), *table[max(fits, 1) :]]
    over += [Row((Cell((text,), FULL, TITLE if head else SMALLEST, bold=head),), head=head) for text, head in rest]
    return marks, over


def table_rows(rows: Sequence[CutRow], units: str, width: float) -> list[Row]:
    """Lay out the table of cuts in columns that share the width [mm]; heads first, none where nothing is cut."""
    if not rows:
        return []
    heads_said = cut_heads(units)
    widths = _widths([heads_said, *(row.cells for row in rows)], width - (len(heads_said) - 1) * BETWEEN)
    heads = Row(tuple(Cell((text,) if text else (), w, bold=True) for text, w in zip(heads_said, widths, strict=True)))
    made = [heads]
    for row in rows:
        cells = tuple(Cell((text,) if text else (), w) for text, w in zip(row.cells, widths, strict=True))
        made.append(Row((replace(cells[0], bold=True), *cells[1:]), rule=True))
    return made


def _widths(rows: Sequence[Sequence[str]], room: float) -> list[float]:
    """Column widths as their words ask for; where that is too much the widest give way, the number never [mm]."""
    asked = [max(width_of(row[i], SMALLEST, bold=True) for row in rows) + 0.5 for i in range(len(rows[0]))]
    most = max(asked)
    while sum(min(one, most) for one in asked) > room:
        most -= 0.5
    spare = (room - sum(min(one, most) for one in asked)) / (len(asked) - 1)
    return [asked[0], *(min(one, most) + spare for one in asked[1:])]


Line = tuple[str, bool]
"""A paragraph of the band, or a heading."""


def _banded(blocks: Sequence[Block], width: float, most: float) -> tuple[list[list[Line]], list[Line], float]:
    """Paragraphs in columns from left to right, as evenly as they go; what is over; the band's height [mm]."""
    each = [[(block.title, True), *((text, False) for text in block.text)] for block in blocks]
    whole = min(
        (
            [[line for one in part for line in one] for part in (each[:i], each[i:j], each[j:])]
            for i in range(min(1, len(each)), len(each) + 1)
            for j in range(i, len(each) + 1)
        ),
        key=lambda columns: max(_tall(column, width) for column in columns),
    )
    if (high := max(_tall(column, width) for column in whole)) <= most:
        return whole, [], high
    lines = [line for one in each for line in one]
    low, high = 0.0, most
    if _filled(lines, width, most)[1]:
        columns, over = _filled(lines, width, most)
        return columns, over, most
    while high - low > 0.5:
        middle = (low + high) / 2
        low, high = (middle, high) if _filled(lines, width, middle)[1] else (low, middle)
    return _filled(lines, width, high)[0], [], high


def _filled(lines: Sequence[Line], width: float, high: float) -> tuple[list[list[Line]], list[Line]]:
    """Lines that fit, column by column, and all from the first on that does not; a heading goes with what follows."""
    columns: list[list[Line]] = [[] for _ in range(COLUMNS)]
    at, used = 0, 0.0
    for place, line in enumerate(lines):
        follows = lines[place + 1] if line[1] and place + 1 < len(lines) else None
        needs = _line_height(line, width) + (_line_height(follows, width) if follows else 0.0)
        if used + needs > high and columns[at]:
            at, used = at + 1, 0.0
        if at == COLUMNS or used + needs > high:
            return columns, list(lines[place:])
        columns[at].append(line)
        used += _line_height(line, width)
    return columns, []


def _tall(lines: Sequence[Line], width: float) -> float:
    return sum(_line_height(line, width) for line in lines)


def _line_height(line: Line, width: float) -> float:
    text, head = line
    return ROOM if head else height_of(_paragraph(text, width)) + AFTER


def _paragraph(text: str, width: float) -> Cell:
    return Cell((text,), width)


def _column(lines: Sequence[Line], x: float, y: float, width: float) -> list[Mark]:
    marks: list[Mark] = []
    for text, head in lines:
        if head:
            marks.append(Label(text, (x, y + ROOM - TITLE * (PITCH - DROP) - 0.3), TITLE, bold=True))
        else:
            marks += cell_marks(_paragraph(text, width), x, y)
        y += _line_height((text, head), width)
    return marks


def _left(a: Assessment, steps: Sequence[WorkStep], height: float) -> list[Mark]:
    """The squared blank as a block with its three sizes; the steps in their order, which page 2 tells in full."""
    blank = blank_of_bait(a)
    marks: list[Mark] = [Label("The squared blank", (0.0, DROP * TITLE), TITLE, bold=True)]
    sketch, y = _block(blank, a.recipe.units, ROOM + 1.0)
    marks += sketch
    y += 2.0
    names = list(dict.fromkeys(_short(step) for step in steps if step.what != OTHERWISE))
    cell = Cell(tuple(f"{n}  {name}" for n, name in enumerate(names, 1)), LEFT)
    while len(cell.text) > 1 and y + ROOM + height_of(cell) > height:
        cell = replace(cell, text=(*cell.text[:-2], "and so on, by page 2"))
    marks.append(Label("In this order", (0.0, y + DROP * TITLE), TITLE, bold=True))
    marks += cell_marks(cell, 0.0, y + ROOM)
    return marks


def _short(step: WorkStep) -> str:
    """A step without its hour and without which of several coats it is."""
    if "hooks" in step.keys and step.day != WOOD_WORK and not step.acts:
        return "rings and hooks"
    return step.coat or step.what.split("  ", 1)[-1].partition(": ")[0]


def _block(blank: Blank, units: str, y: float) -> tuple[list[Mark], float]:
    """A block seen from above its left side, its sizes beside it; where it ends [mm]."""
    long, thick, deep = blank.size
    scale = min((LEFT - 10.0) / (long + 0.35 * thick), 14.0 / (deep + 0.35 * thick))
    w, h, d = long * scale, deep * scale, 0.35 * thick * scale
    top, low = y + d, y + d + h
    lines = [
        [(0.0, top), (w, top), (w, low), (0.0, low), (0.0, top)],
        [(0.0, top), (d, y), (w + d, y), (w, top)],
        [(w + d, y), (w + d, low - d), (w, low)],
    ]
    marks: list[Mark] = [stroke(line, "visible", part="blank") for line in lines]
    low += 1.0
    for name, size in (("long", long), ("deep", deep), ("thick", thick)):
        for text in broken(f"{length_text(size, units)} {name}", LEFT, SMALLEST):
            marks.append(Label(text, (0.0, low + DROP * SMALLEST), SMALLEST))
            low += SMALLEST * PITCH
    return marks, low
