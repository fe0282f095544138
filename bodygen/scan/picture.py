"""The map of a fit: three views, hatched where there is too much, dotted where there is too little, figures in mm.

Hatched is what sand would take off, dotted what is missing. Knows places with a deviation each; what the views show of
a body is report's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin

import numpy as np

from bodygen.form.body import Body
from bodygen.form.facing import END, PLAN, SIDE, Projection
from bodygen.plane.page import Array, Label, Mark, PaperPage, Stroke, bounds, moved, stroke
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.chart import FOOT, HEADING, MARGIN, SMALL, hatching, panel, spread_within
from bodygen.report.pictures.drawing import SCALES
from bodygen.report.pictures.hidden_lines import Trace
from bodygen.report.pictures.views import view_of

PAGE = (297.0, 210.0)
CELL = 3.0
"""Side of the squares of the map [mm on paper]."""
STEPS_MM = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
GAPS = (1.5, 0.75, 0.5)
"""From line to line of the hatches and from dot to dot [mm on paper]: the denser, the farther off."""
FIGURES = 5
"""Figures beside each view, of its farthest places."""
FIGURE_APART = 16.0
KEY = 13.0
"""Room for the key below the views [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class ProjectedView:
    """One view: from where, the lines that are seen from there [mm], which places it shows."""

    projection: Projection
    lines: tuple[Trace, ...]
    name: str


def body_views(body: Body) -> tuple[ProjectedView, ProjectedView, ProjectedView]:
    """Side, plan and end view of a body's outlines."""
    side, plan, end = (
        ProjectedView(projection, view_of(projection, body, (), None).traces, name)
        for projection, name in ((SIDE, "from the left"), (PLAN, "from above"), (END, "from the nose"))
    )
    return side, plan, end


def map_page(
    recipe: Recipe,
    what: str,
    views: Sequence[ProjectedView],
    places: Array,
    off: Array,
    says: str,
    *,
    dots: bool = False,
) -> PaperPage:
    """Draw the map of deviations.

    Parameters
    ----------
    recipe : Recipe
        Its name and hash stand on the page.
    what, says : str
        The page's title, and the line below it.
    views : sequence of ProjectedView
        Side, plan and end view.
    places : (k, 3) array
        Where something is known [mm].
    off : (k,) array
        How far the body stands proud there [mm]; below 0 something is missing.
    dots : bool
        Draw each place as a dot: few readings, not a scan.
    """
    step = _step(off)
    side, plan, end = views
    for scale, ratio in SCALES:  # noqa: B007  the last that was tried is drawn, fit or not
        drawn = [_view(view, scale, places, off, step, dots=dots) for view in (side, plan, end)]
        boxes = [bounds(marks) for marks in drawn]
        wide = max(boxes[0][2] - boxes[0][0], boxes[1][2] - boxes[1][0])
        high = (boxes[0][3] - boxes[0][1]) + (boxes[1][3] - boxes[1][1]) + 6.0
        beside = boxes[2][2] - boxes[2][0]
        top, bottom = HEADING + 4.0, PAGE[1] - FOOT - KEY
        fits = wide + beside + 10.0 <= PAGE[0] - 2 * MARGIN and high <= bottom - top
        if fits or scale == SCALES[-1][0]:
            break
    left = MARGIN + max((PAGE[0] - 2 * MARGIN - wide - beside - 10.0) / 2, 0.0)
    air = max((bottom - top - high) / 2, 0.0)
    marks = moved(drawn[0], left - min(boxes[0][0], boxes[1][0]), top + air - boxes[0][1])
    row = top + air + (boxes[0][3] - boxes[0][1]) + 6.0
    marks += moved(drawn[1], left - min(boxes[0][0], boxes[1][0]), row - boxes[1][1])
    marks += moved(drawn[2], left + wide + 10.0 - boxes[2][0], top + air - boxes[0][1])
    marks += _key(step, ratio)
    return panel(*PAGE, recipe, what, marks, says)


def _step(off: Array) -> float:
    """The least deviation that is marked: of the round ones that near a third of the farthest [mm]."""
    worst = float(np.abs(off).max(initial=0.0))
    return next((step for step in STEPS_MM if 4 * step >= worst), STEPS_MM[-1])


def _view(view: ProjectedView, scale: float, places: Array, off: Array, step: float, *, dots: bool) -> list[Mark]:
    """One view with its cells and figures; the body's origin lies at (0, 0), y down the page."""
    flip = np.array([scale, -scale])
    flat = view.projection.flat(places) * flip
    shown = _shown(view.projection, places)
    flat, own = flat[shown], off[shown]
    marks = _cells(flat, own, step)
    marks += [stroke(line.points * flip, line.pen, closed=line.closed, part=line.part) for line in view.lines]
    if dots:
        marks += [_dot(x, y, 0.35) for x, y in flat]
    reach = bounds(marks)
    marks += _figures(flat, own, step, reach)
    reach = bounds(marks)
    return [*marks, Label(view.name, ((reach[0] + reach[2]) / 2, reach[3] + 4.0), SMALL, "centre")]


def _shown(projection: Projection, places: Array) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Which places a view shows: the flank, the back, the fore part; those in the mid-plane belong to the side."""
    middle = np.abs(places[:, 1]) < 1e-6
    if projection.name == "side":
        return middle | (places[:, 1] < 0) if (places[:, 1] < -1e-6).any() else np.ones(len(places), dtype=bool)
    if projection.name == "plan":
        return ~middle
    long = float(np.ptp(places[:, 0])) if len(places) else 0.0
    start = float(places[:, 0].min(initial=0.0))
    shown: np.ndarray[tuple[int], np.dtype[np.bool_]] = np.abs(places[:, 0] - start - 0.4 * long) < 0.12 * long
    return shown


def _cells(flat: Array, off: Array, step: float) -> list[Mark]:
    """Squares of the page, each hatched or dotted by the mean deviation of what lies in it."""
    marks: list[Mark] = []
    if not len(flat):
        return marks
    index = np.floor(flat / CELL).astype(int)
    unique, inverse = np.unique(index, axis=0, return_inverse=True)
    total = np.bincount(inverse.ravel(), weights=off)
    mean = total / np.bincount(inverse.ravel())
    for (column, row), value in zip(unique, mean, strict=True):
        x0, y0 = float(column * CELL), float(row * CELL)
        marks += _filled(x0, y0, x0 + CELL, y0 + CELL, float(value), step)
    return marks


def _filled(x0: float, y0: float, x1: float, y1: float, value: float, step: float) -> list[Mark]:
    """Hatches or dots for one deviation [mm]; nothing below the step."""
    level = sum(abs(value) >= least for least in (step, 2 * step, 4 * step))
    if not level:
        return []
    gap = GAPS[level - 1]
    if value > 0:
        return [*hatching(x0, y0, x1, y1, gap)]
    count = round((x1 - x0) / gap)
    middles = [(i + 0.5) * gap for i in range(count)]
    return [_dot(x0 + a, y0 + b, 0.14) for a in middles for b in middles]


def _dot(x: float, y: float, radius: float) -> Stroke:
    corners = tuple((x + radius * cos(pi * i / 3), y + radius * sin(pi * i / 3)) for i in range(6))
    return Stroke(corners, "hair", closed=True, fill="black", part="place")


def _figures(flat: Array, off: Array, step: float, reach: tuple[float, float, float, float]) -> list[Mark]:
    """The farthest places with their figures above or below the view, each led to by a hair line."""
    chosen: list[int] = []
    for i in np.argsort(-np.abs(off)):
        if abs(off[i]) < step or len(chosen) == FIGURES:
            break
        if all(np.linalg.norm(flat[i] - flat[j]) >= FIGURE_APART / 2 for j in chosen):
            chosen.append(int(i))
    middle = (reach[1] + reach[3]) / 2
    marks: list[Mark] = []
    for above in (True, False):
        rows = sorted((i for i in chosen if (flat[i][1] < middle) == above), key=lambda i: float(flat[i][0]))
        if not rows:
            continue
        line = reach[1] - 4.0 if above else reach[3] + 6.0
        half = 5.5
        columns = spread_within([float(flat[i][0]) for i in rows], [half] * len(rows), reach[0] - 8, reach[2] + 8)
        for i, column in zip(rows, columns, strict=True):
            foot = (column, line + 0.6 if above else line - 2.6)
            marks.append(stroke([(float(flat[i][0]), float(flat[i][1])), foot], "hair", part="leader"))
            marks.append(Label(f"{off[i]:+.2f}", (column, line), SMALL, "centre"))
    return marks


def _key(step: float, ratio: str) -> list[Mark]:
    """What hatches and dots mean, below the views."""
    row = PAGE[1] - FOOT - KEY + 5.0
    marks: list[Mark] = [Label("mm", (MARGIN, row + 2.4), SMALL)]
    x = MARGIN + 8.0
    for sign, word in ((1.0, "hatched: too much, sand"), (-1.0, "dotted: missing")):
        for least, most in pairwise((step, 2 * step, 4 * step, None)):
            value = sign * (least or 0.0)
            marks += _filled(x, row, x + CELL, row + CELL, value, step)
            corners = [(x, row), (x + CELL, row), (x + CELL, row + CELL), (x, row + CELL)]
            marks.append(stroke(corners, "hair", closed=True, part="key"))
            text = f"{least:g} to {most:g}" if most else f"{least:g} and more"
            marks.append(Label(text, (x + CELL + 1.2, row + 2.4), SMALL))
            x += 23.0 if most else 28.0
        marks.append(Label(word, (x, row + 2.4), SMALL))
        x += 45.0
    return [
        *marks,
        Label(f"scale {ratio}; a figure beside a view is that place's own, in mm", (MARGIN, row + 8.0), SMALL),
    ]
