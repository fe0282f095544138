"""The bait from the side as it runs on its line, every force an arrow where it acts, true to scale, on one A4 page.

Knows what ``dive/`` worked out and what a bait looks like. Works nothing out but sums for its table.
"""

from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, sin

import numpy as np

from bodygen.assessment import Assessment
from bodygen.dive.attitude import Act, Running, acting, couple, turns
from bodygen.dive.inputs import DiveInputs
from bodygen.form.facing import Projection
from bodygen.plane.page import Array, Label, Mark, PaperPage, bounds, moved, stroke, text_width, wrapped
from bodygen.plane.shapes import Point
from bodygen.report.dive import is_not
from bodygen.report.pictures import dimension
from bodygen.report.pictures.afloat import PAGE, SCALES
from bodygen.report.pictures.chart import HEADING, MARGIN, SMALL, panel, round_steps
from bodygen.report.pictures.floating_view import FloatingView, floating_view_of, look_from

LONGEST = 42.0
"""Of the largest force's arrow on paper [mm]."""
SHORTEST = 1.5
"""A force whose arrow would be shorter is in the table alone [mm]."""
SIZE, ROW, TABLE = 2.8, 4.6, (0.0, 54.0, 70.0, 98.0)
NAMES = {
    "lip": "water on the lip",
    "body": "water on the body",
    "buoyancy": "buoyancy, at B",
    "weight": "weight, at G",
    "hook": "water on the hooks",
}
N_MM = 1000.0
"""Moments are told in N mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What is drawn: the bait in body axes [mm], how it runs at ``speed`` [m/s], and the words below the title."""

    view: FloatingView
    inputs: DiveInputs
    speed: float
    running: Running


def running_sheet(a: Assessment, inputs: DiveInputs, speed_m_s: float, running: Running) -> PaperPage:
    """Draw the bait as it runs at a speed [m/s], at the largest simple scale that fits.

    Returns
    -------
    PaperPage
        PAGE mm.
    """
    drawn = Drawn(floating_view_of(a), inputs, speed_m_s, running)
    for scale, ratio in SCALES:
        marks = _page(drawn, scale, ratio)
        if marks is not None or scale == SCALES[-1][0]:
            what = f"drawn at {speed_m_s:.2f} m/s: forces, {ratio}"
            return panel(*PAGE, a.recipe, what, marks or [], _says(running))
    raise AssertionError


def _says(running: Running) -> str:
    pitch, line = degrees(running.pitch), degrees(running.line_angle)
    nose = f"nose {abs(pitch):.0f}° {'down' if pitch < 0 else 'up'}"
    steep = f"line {line:.0f}° steep at the tie, pull {running.pull:.2f} N"
    lip = f"lip {degrees(running.incidence):.0f}° to the water"
    return f"{nose}, {lip}, {steep}; an estimate, of a steady run in still water"


def _page(drawn: Drawn, scale: float, ratio: str) -> list[Mark] | None:
    """Everything at one scale; None where it does not fit."""
    view = _side(drawn, scale)
    table = _table(drawn)
    v, t = bounds(view), bounds(table)
    foot = PAGE[1] - MARGIN - dimension.FIGURE
    corner = PAGE[0] - MARGIN - t[2], foot - t[3]
    said = _is_not()
    top = bounds(said)[3] + 2.0
    room = corner[1] - 4.0 - top
    if v[3] - v[1] > room or v[2] - v[0] > PAGE[0] - 2 * MARGIN:
        return None
    bar = dimension.scale_bar((MARGIN + 2.0, foot - 4.0), scale, ratio)
    if bounds(bar)[2] > corner[0] - 4.0:
        return None
    dx = (PAGE[0] - (v[2] - v[0])) / 2 - v[0]
    dy = top + (room - (v[3] - v[1])) / 2 - v[1]
    key = _force_bar(drawn, (MARGIN + 2.0, foot - 16.0))
    return [*said, *moved(view, dx, dy), *moved(table, *corner), *bar, *key]


def _is_not() -> list[Mark]:
    """What the estimate is not, below the heading."""
    lines = wrapped(is_not(), PAGE[0] - 2 * MARGIN, SMALL)
    return [Label(line, (MARGIN, HEADING + 1.0 + 3.6 * i), SMALL) for i, line in enumerate(lines)]


def _side(drawn: Drawn, scale: float) -> list[Mark]:
    """The bait as it runs, seen from its left, the water passing from left to right."""
    theta = drawn.running.pitch
    along, up = np.array([cos(theta), 0.0, sin(theta)]), np.array([-sin(theta), 0.0, cos(theta)])
    look = look_from(drawn.view, Projection("side", along, up))
    flip = np.array([scale, -scale])
    marks: list[Mark] = [stroke(t.points * flip, t.pen, closed=t.closed, part=t.part) for t in look.traces]
    x0, y0, x1, _ = bounds(marks)

    def place(at: tuple[Array | float, Array | float]) -> Point:
        x, z = float(at[0]), float(at[1])
        return scale * (x * cos(theta) + z * sin(theta)), -scale * (z * cos(theta) - x * sin(theta))

    reach = 0.04 * drawn.view.length
    marks.insert(0, stroke([place((-reach, 0.0)), place((drawn.view.length + reach, 0.0))], "centre", part="body axis"))
    per_n = _per_newton(drawn)
    for act in acting(drawn.inputs, drawn.speed, theta):
        marks += _force(act, place(act.at), per_n)
    marks += _pull(drawn, place(drawn.inputs.tie_mm), per_n)
    return [*marks, *_water((x0, min(y0, bounds(marks)[1]) - 6.0), x1 - x0)]


def _per_newton(drawn: Drawn) -> float:
    """Length of an arrow on paper for one newton [mm/N]."""
    acts = acting(drawn.inputs, drawn.speed, drawn.running.pitch)
    return LONGEST / max(drawn.running.pull, *(hypot(act.along, act.up) for act in acts))


def _force(act: Act, at: Point, per_n: float) -> list[Mark]:
    """An arrow from where a force acts; buoyancy and weight with their letters."""
    letter = {"buoyancy": "B", "weight": "G", "lip": "lip", "body": "body", "hook": ""}[act.name]
    return _arrow(at, (float(act.along) * per_n, -float(act.up) * per_n), letter, f"force {act.name}")


def _arrow(at: Point, by: tuple[float, float], name: str, part: str) -> list[Mark]:
    size = hypot(*by)
    if size < SHORTEST:
        return []
    tip, angle = (at[0] + by[0], at[1] + by[1]), atan2(by[1], by[0])
    dot = [(at[0] + 0.7 * cos(t), at[1] + 0.7 * sin(t)) for t in np.linspace(0.0, 2 * pi, 20, endpoint=False)]
    marks: list[Mark] = [stroke([at, tip], "visible", part=part), dimension.arrow(tip, angle, part)]
    marks.append(stroke(dot, "visible", closed=True, part="acts here"))
    if name:
        beyond = 2.0 + text_width(name, SIZE) / 2 * abs(cos(angle)) + SIZE / 2 * abs(sin(angle))
        place = tip[0] + beyond * cos(angle), tip[1] + beyond * sin(angle) + SIZE / 3
        marks.append(Label(name, place, SIZE, "centre", bold=True))
    return marks


def _pull(drawn: Drawn, tie: Point, per_n: float) -> list[Mark]:
    """The line's pull at the tie, the line beyond it, and its angle above level."""
    running = drawn.running
    line = running.line_angle
    way = -cos(line), -sin(line)
    end = running.pull * per_n
    marks = _arrow(tie, (way[0] * end, way[1] * end), "", "force pull")
    start, far = ((tie[0] + way[0] * r, tie[1] + way[1] * r) for r in (end, end + 14.0))
    marks.append(stroke([start, far], "thin", part="line"))
    if abs(line) > 0.02:
        marks += dimension.slope(tie, way, end + 8.0, f"line {degrees(line):.0f}°", drawn=True)
    return marks


def _water(corner: Point, width: float) -> list[Mark]:
    """Which way the water passes."""
    x, y = corner
    reach = min(30.0, width)
    line = stroke([(x, y), (x + reach, y)], "thin", part="way of the water")
    return [line, dimension.arrow((x + reach, y), 0.0), Label("water", (x, y - 1.6), SIZE)]


def _force_bar(drawn: Drawn, corner: Point) -> list[Mark]:
    """How long a round force is on this page."""
    per_n, (x, y) = _per_newton(drawn), corner
    force = round_steps(0.0, LONGEST / per_n, 2)[-1]
    ends = [(x, y), (x + force * per_n, y)]
    ticks = [stroke([(at, y - 1.2), (at, y + 1.2)], "thin") for at, _ in ends]
    return [stroke(ends, "visible", part="force bar"), *ticks, Label(f"{force:g} N", (ends[1][0] + 2.0, y + 1.0), SIZE)]


def _table(drawn: Drawn) -> list[Mark]:
    """Each force aft and up, and how it turns the bait about its tie; they add up to nothing with the line's pull."""
    theta, inputs = drawn.running.pitch, drawn.inputs
    sums: dict[str, Array] = {}
    for act in acting(inputs, drawn.speed, theta):
        row = np.array([float(act.along), float(act.up), N_MM * float(turns(inputs, act, theta))])
        sums[act.name] = sums.get(act.name, np.zeros(3)) + row
    rows = [(NAMES[name], *row) for name, row in sums.items()]
    rows.append(("hull turned by the flow", 0.0, 0.0, N_MM * float(couple(inputs, drawn.speed, theta))))
    rows.append(("line's pull, at the tie", -drawn.running.drag, drawn.running.down_force, 0.0))
    rows.append(("all together", *np.sum([row[1:] for row in rows], axis=0).tolist()))
    texts = [("", "aft N", "up N", "nose up N mm")]
    texts += [(name, _signed(aft, 3), _signed(up, 3), _signed(turn, 2)) for name, aft, up, turn in rows]
    return [
        Label(text, (x, ROW * i), SIZE, "left" if x == 0.0 else "right", bold=i == 0)
        for i, line in enumerate(texts)
        for x, text in zip(TABLE, line, strict=True)
        if text
    ]


def _signed(value: float, digits: int) -> str:
    """A figure with its sign; of nothing, none."""
    rounded = round(value, digits)
    return f"{rounded:+.{digits}f}" if rounded else "0"
