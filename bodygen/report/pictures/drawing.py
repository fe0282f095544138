"""The three-view drawing: an A4 page, landscape, at the largest simple scale at which everything fits.

Where there are more bores than one page has room for, as many pages follow, each with its own share of the table.

Lays out views, dimensions, sections, table and title block; the same input gives the same page. What a view shows is
views.py's, how a dimension looks is dimension.py's, words are title.py's. Files are made of it in export/.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from bodygen.form.body import Body, fine_parameters
from bodygen.form.cuts import Prism, Tool, slot_of
from bodygen.form.cuts.wired import BentWire
from bodygen.form.facing import END, PLAN, SIDE
from bodygen.plane.page import Array, Label, Mark, PaperPage, bounds, moved, printable, stroke
from bodygen.plane.shapes import Point
from bodygen.recipe.model import Recipe
from bodygen.report.pictures import dimension, title
from bodygen.report.pictures.title import TableRow, figure
from bodygen.report.pictures.views import View, view_of
from bodygen.report.stamp import stamp
from bodygen.shop.lip.plate import LipPlate

PAGE = (297.0, 210.0)
MARGIN = 10.0
INSET = 3.0
"""From the frame to what stands inside it [mm]."""
SCALES = ((3.0, "3:1"), (2.0, "2:1"), (1.0, "1:1"), (0.5, "1:2"), (0.2, "1:5"), (0.1, "1:10"))
BAR_ROOM = 12.5
"""Height of the scale bar with its lettering [mm]."""
LETTERS = "ABCDE"


@dataclass(frozen=True, slots=True)
class Subject:
    """What is drawn, worked out once: the three views, their sizes in mm, the rows of the table."""

    recipe: Recipe
    body: Body
    tools: tuple[Tool, ...]
    entries: tuple[TableRow, ...]
    side: View
    plan: View
    end: View
    stations: tuple[float, ...]
    has_lip: bool


def three_views(
    recipe: Recipe,
    body: Body,
    tools: Sequence[Tool],
    *,
    wood: str,
    lip: LipPlate | None = None,
    wires: Sequence[BentWire] = (),
    cautions: Sequence[str] = (),
) -> tuple[PaperPage, ...]:
    """Draw side, plan and end view true to scale on one page, or on as few as have room for the table.

    Parameters
    ----------
    recipe : Recipe
        Name, units, hash, and the maker's own words for each bore.
    body : Body
        Lengths in mm.
    tools : sequence of Tool
        As ``form.cuts.tools_of`` gives them for this recipe.
    wood : str
        What the title block says of the wood.
    lip : LipPlate, optional
        Drawn in its slot.
    wires : sequence of BentWire
        Each drawn along its middle line, in side and plan view.
    cautions : sequence of str
        Sentences for the title block.

    Returns
    -------
    tuple of PaperPage
        For ``page_svg`` and ``page_png``. Each shows every cut; numbers and table go on from one to the next.

    Raises
    ------
    ValueError
        A body or lettering too large for the page at 1:10: no bait.
    """
    lines = _middle_lines(recipe, wires)
    side, plan, end = (view_of(projection, body, tools, lip, lines) for projection in (SIDE, PLAN, END))
    entries = title.entries_of(recipe, tools)
    whole = Subject(recipe, body, tuple(tools), entries, side, plan, end, (), lip is not None)
    for count in range(1, max(len(entries), 1) + 1):
        parts = [entries[len(entries) * i // count : len(entries) * (i + 1) // count] for i in range(count)]
        sheets = []
        for number, part in enumerate(parts, 1):
            which = f"sheet {number} of {count}" if count > 1 else ""
            sheet = _sheet(replace(whole, entries=part), wood, cautions, which)
            if sheet is None:
                break
            sheets.append(sheet)
        if len(sheets) == count:
            return tuple(sheets)
    msg = f"no room on A4 for a body {body.length:g} mm long at 1:10"
    raise ValueError(msg)


def _middle_lines(recipe: Recipe, wires: Sequence[BentWire]) -> list[Array]:
    """Of each wire (k, 3) [mm], and of its twin where it is one of a mirror pair."""
    return [
        wire.line * way
        for wire in wires
        for way in ((1.0, 1.0, 1.0), (1.0, -1.0, 1.0))[: 1 + recipe.fittings[wire.place].mirror]
    ]


def _sheet(subject: Subject, wood: str, cautions: Sequence[str], which: str) -> PaperPage | None:
    """One page at the largest scale that fits; None where none does."""
    length = subject.body.length
    for wanted in (5, 4, 3):
        placed = replace(subject, stations=tuple(length * (2 * i + 1) / (2 * wanted) for i in range(wanted)))
        for scale, ratio in SCALES:
            page = _page(placed, scale, ratio, wood, cautions, which)
            if page is not None:
                about = stamp(subject.recipe, None)
                name = f"{printable(subject.recipe.name)}: three views, {ratio}{which and f', {which}'}"
                return PaperPage(*PAGE, name, about, tuple(page))
            if scale <= 0.5 and wanted > 3:
                break
    return None


def _page(
    subject: Subject, scale: float, ratio: str, wood: str, cautions: Sequence[str], which: str
) -> list[Mark] | None:
    """Everything on the page at one scale; None where it does not fit."""
    left, top = MARGIN + INSET, MARGIN + 2.0
    right, bottom = PAGE[0] - MARGIN, PAGE[1] - MARGIN
    bare = subject.side.high - subject.side.low + subject.plan.high - subject.plan.low
    if max(bare[0] / 2 * scale - PAGE[0], bare[1] * scale - PAGE[1]) > -2 * MARGIN:
        return None  # the outlines alone are too large: no need to lay out the rest
    views = _views(subject, scale)
    x0, y0, x1, y1 = bounds(views)
    table, table_height = title.bore_table(subject.entries, right - MARGIN - title.TITLE_WIDTH - INSET)
    for sections_scale, sections_ratio in [s for s in SCALES if scale / 4 <= s[0] <= scale]:
        block, block_height = title.title_block(subject.recipe, wood, ratio, sections_ratio, cautions, which)
        foot = max(block_height, table_height + BAR_ROOM)
        wide, high = right - INSET - left, bottom - foot - 2.0 - top
        if x1 - x0 > wide or y1 - y0 > high:
            continue
        beside = (wide - (x1 - x0) - 2 * INSET, high)
        below = (wide, high - (y1 - y0) - 2 * INSET)
        for space, is_beside in ((beside, True), (below, False)):
            sections = _sections(subject, sections_scale, space)
            if sections is None:
                continue
            s0, t0, s1, t1 = bounds(sections)
            if is_beside:
                air = (wide - (x1 - x0) - (s1 - s0)) / 3
                place = left + air - x0, top + (high - (y1 - y0)) / 2 - y0
                shift = left + 2 * air + (x1 - x0) - s0, top + (high - (t1 - t0)) / 2 - t0
            else:
                air = (high - (y1 - y0) - (t1 - t0)) / 3
                place = left + (wide - (x1 - x0)) / 2 - x0, top + air - y0
                shift = left + (wide - (s1 - s0)) / 2 - s0, top + 2 * air + (y1 - y0) - t0
            bar = dimension.scale_bar((MARGIN + INSET, bottom - foot + 5.8), scale, ratio)
            frame = [(MARGIN, MARGIN), (right, MARGIN), (right, bottom), (MARGIN, bottom)]
            return [
                stroke(frame, "outline", closed=True, part="frame"),
                *moved(block, right - title.TITLE_WIDTH, bottom - block_height),
                *moved(table, MARGIN, bottom - table_height),
                *bar,
                *moved(sections, *shift),
                *moved(views, *place),
            ]
    return None


def _views(subject: Subject, scale: float) -> list[Mark]:
    """The three views with their dimensions; the nose of the side view on the parting line lies at (0, 0)."""
    side, plan, end = subject.side, subject.plan, subject.end
    top = -float(side.high[1]) * scale
    row = top - 2.6 - dimension.BALLOON
    plan_zero = row - dimension.BALLOON - 2.6 + float(plan.low[1]) * scale
    plan_top = plan_zero - float(plan.high[1]) * scale
    marks = [*_placed(side, scale, (0, 0)), *_placed(plan, scale, (0, plan_zero))]
    marks += _ticks(subject, scale, plan_zero)
    backs = subject.body.heights_at(np.array(subject.stations))[1]
    letters = [
        (letter, (x * scale, -float(z) * scale - 2.0))
        for letter, x, z in zip(LETTERS, subject.stations, backs, strict=False)
    ]
    marks += dimension.balloons(row, _numbers(subject, scale, plan_zero), letters)
    marks += _sizes(subject, scale, plan_zero, plan_top - 4.0)
    marks += _below(subject, scale)
    marks += _slope(subject, scale)
    reach = bounds(marks)
    x = reach[0] - 6.0 - float(end.high[0]) * scale
    ends = _placed(end, scale, (x, 0))
    foot = bounds(ends)[3] + 4.5
    ends.append(Label("from the nose", (x, foot), 2.5, "centre"))
    above = bounds(ends)
    caption = Label("from above", (min(above[2], reach[0]) - 1.0, plan_zero + 0.9), 2.5, "right")
    return [*marks, *ends, caption]


def _at(point: Sequence[float] | Array, scale: float, zero: Point = (0.0, 0.0)) -> Point:
    """Paper place of a point of a view: up becomes less y."""
    return zero[0] + float(point[0]) * scale, zero[1] - float(point[1]) * scale


def _placed(view: View, scale: float, zero: Point) -> list[Mark]:
    flip = np.array([scale, -scale])
    return [
        stroke(np.array(zero) + trace.points * flip, trace.pen, closed=trace.closed, part=trace.part)
        for trace in view.traces
    ]


def _numbers(subject: Subject, scale: float, plan_zero: float) -> list[tuple[str, tuple[Point, ...]]]:
    """Each row's number and where to lead it to: into the side view, and into the plan where it lies off the middle."""
    numbers = []
    for entry in subject.entries:
        nearest = min(entry.places, key=lambda place: float(subject.plan.marks[place][1]))
        points = [_at(subject.side.marks[nearest], scale)]
        if abs(float(subject.plan.marks[nearest][1])) > 5e-3 or abs(subject.tools[nearest].origin[1]) > 5e-3:
            points.append(_at(subject.plan.marks[nearest], scale, (0.0, plan_zero)))
        numbers.append((entry.number, tuple(points)))
    return numbers


def _ticks(subject: Subject, scale: float, plan_zero: float) -> list[Mark]:
    """Short strokes across the outlines at each station."""
    x = np.array(subject.stations)
    belly, back = subject.body.heights_at(x)
    half = subject.body.half_width_at(x)
    rows = -scale * np.stack([belly, back, half, -half])
    rows[2:] += plan_zero
    return [
        stroke([(at, y - 2.0), (at, y + 2.0)], "thin", part="station")
        for row in rows
        for at, y in zip(x * scale, row, strict=True)
    ]


def _sizes(subject: Subject, scale: float, plan_zero: float, length_row: float) -> list[Mark]:
    """Overall length above the plan, greatest depth and thickness to the right of the views."""
    units, body = subject.recipe.units, subject.body
    length, depth, thickness = body.sizes()
    tail = float(body.heights_at(np.array([length]))[0][0]), float(body.half_width_at(np.array([length]))[0])
    nose_half = float(body.half_width_at(np.array([0.0]))[0])
    marks = dimension.level(
        (0.0, plan_zero - nose_half * scale),
        (length * scale, plan_zero - tail[1] * scale),
        length_row,
        figure(length, units),
        "length",
    )
    polygon = body.polygons(fine_parameters(body, 12))
    column = float(subject.side.high[0]) * scale + 6.0
    deepest = polygon[int(np.argmax(polygon[:, -1, 2] - polygon[:, 0, 2]))]
    marks += dimension.upright(
        _at(deepest[-1, ::2], scale), _at(deepest[0, ::2], scale), column, figure(depth, units), "depth"
    )
    widest = polygon[int(np.argmax(polygon[:, body.widest_index, 1])), body.widest_index]
    x = float(widest[0]) * scale
    half = float(widest[1]) * scale
    return marks + dimension.upright(
        (x, plan_zero - half), (x, plan_zero + half), column, figure(thickness, units), "thickness"
    )


def _below(subject: Subject, scale: float) -> list[Mark]:
    """Running dimensions from the nose to every mouth along the body, and the view's name."""
    units = subject.recipe.units
    places: dict[str, Point] = {}
    for entry in subject.entries:
        tool = subject.tools[entry.places[0]]
        if isinstance(tool, Prism) and tool.kind == "wire":
            xs = [a for a, _ in tool.polygon]
            depth = float(np.mean([b for _, b in tool.polygon[2:]]))
            points = [(min(xs), depth), (max(xs), depth)]
        elif isinstance(tool, Prism) or subject.recipe.bores[tool.bore].entry not in ("nose", "tail"):
            points = [(tool.origin[0], tool.origin[2])]
        else:
            points = []
        for x, z in points:
            text = figure(x, units)
            places[text] = max(places.get(text, (0.0, -1e9)), _at((x, z), scale), key=lambda point: point[1])
    row = -float(subject.side.low[1]) * scale + 4.5
    belly = float(subject.body.heights_at(np.array([0.0]))[0][0])
    marks = dimension.running((0.0, -belly * scale), [(point, text) for text, point in places.items()], row)
    caption = Label("from the left", (subject.body.length * scale, row + 5.0), 2.5, "right")
    if marks and bounds(marks)[2] > caption.box[0] - 2.0:  # no room beside the figures, so below them
        caption = replace(caption, at=(caption.at[0], bounds(marks)[3] + 3.5))
    return [*marks, caption]


def _slope(subject: Subject, scale: float) -> list[Mark]:
    """The lip slot's angle, measured from straight ahead."""
    slot = slot_of(subject.tools)
    if slot is None:
        return []
    x, _, z = slot.origin
    along = slot.along
    radius = max(9.0, x * scale + 4.0)
    angle = float(np.degrees(np.arctan2(along[2], along[0])))
    return dimension.slope(_at((x, z), scale), (-along[0], along[2]), radius, f"{angle:.1f}°", drawn=subject.has_lip)


def _sections(subject: Subject, scale: float, space: tuple[float, float]) -> list[Mark] | None:
    """Sections in a grid inside ``space`` (width, height) [mm], parting lines level; None where they do not fit."""
    rings = [subject.body.section_at(x) * (-scale, -scale) for x in subject.stations]
    foot = max(float(ring[:, 1].max()) for ring in rings) + 2.5
    cells = [_section(subject, i, ring, scale, foot) for i, ring in enumerate(rings)]
    boxes = [bounds(cell) for cell in cells]
    wide = max(b[2] - b[0] for b in boxes) + 4.0
    high = max(b[3] for b in boxes) - min(b[1] for b in boxes) + 4.0
    for columns in range(len(cells), 0, -1):
        rows = ceil(len(cells) / columns)
        if columns * wide - 4.0 <= space[0] and rows * high - 4.0 <= space[1]:
            evenly = ceil(len(cells) / rows)
            return [mark for i, cell in enumerate(cells) for mark in moved(cell, i % evenly * wide, i // evenly * high)]
    return None


def _section(subject: Subject, index: int, ring: Array, scale: float, foot: float) -> list[Mark]:
    """One section with its letter, its place and its size; the parting line at y = 0, lettering from ``foot`` down."""
    units = subject.recipe.units
    low, high = ring.min(axis=0), ring.max(axis=0)
    lines = (
        f"{LETTERS[index]} at {figure(subject.stations[index], units)}",
        f"{figure((high[1] - low[1]) / scale, units)} deep",
        f"{figure((high[0] - low[0]) / scale, units)} thick",
    )
    marks: list[Mark] = [
        stroke([(low[0] - 1.5, 0.0), (high[0] + 1.5, 0.0)], "centre"),
        stroke([(0.0, low[1] - 1.5), (0.0, high[1] + 1.5)], "centre"),
        stroke(ring, "visible", closed=True, part=f"section {LETTERS[index]}"),
    ]
    return marks + [
        Label(text, (0.0, foot + 2.1 + 3.1 * i), 2.3, "centre", bold=i == 0) for i, text in enumerate(lines)
    ]
