"""A router job as a picture: plan of all moves, cuts coloured by depth, rapids dashed, stock and clamps behind them.

Knows how to draw moves. Works nothing out (shop/mill/job.py does).
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np

from bodygen.plane.page import Label, Mark, PaperPage, Stroke, shortened, stroke
from bodygen.report.pictures.chart import MARGIN, SMALL, TICK, Axes, axes_marks, box, hatching, round_steps
from bodygen.shop.mill.job import Job, spans
from bodygen.version import VERSION

WIDTH_MM, TALLEST_MM = 228.0, 300.0
"""Of the page, and of the plan on it."""
DOTS_TO_AN_INCH = 150.0
_SAG_MM = 0.02
_STEPS = 32
"""Of colour, from the stock's top to the deepest cut."""
_COLOURS = ((253, 231, 37), (94, 201, 98), (33, 145, 140), (59, 82, 139), (68, 1, 84))
"""Light to dark by even steps that also those see who do not tell red from green (matplotlib's viridis, CC0)."""
_WOOD, _CLAMP, _AIR = "#f3ead8", "#b22222", "#737373"


def router_page(job: Job) -> PaperPage:
    """Draw a job from above."""
    stock, feeds = job.stock, job.machining.feeds
    margin = 0.03 * stock.length + job.cutter.radius
    wide, tall = stock.length + 2 * margin, stock.width + 2 * margin
    scale = min((WIDTH_MM - 52.0) / wide, TALLEST_MM / tall)
    left, top = 20.0, 20.0
    bottom = top + scale * tall
    corners = left, top, left + scale * wide, bottom
    axes = Axes(*corners, -margin, stock.length + margin, -margin, stock.width + margin)
    marks: list[Mark] = [*_stock(job, axes), *_moves(job, axes)]
    x, y = axes.at(0.0, 0.0)
    marks += _cross(x, y)
    steps = (round_steps(0.0, stock.length, 12), round_steps(0.0, stock.width, max(2, int(scale * tall / 12))))
    marks += axes_marks(axes, *steps, "X [mm]", "Y [mm]")
    marks += _depth_bar(max(-job.lowest, 1e-3), axes.right + 8.0, top, bottom)
    marks += _legend(bottom + 15.0, clamps=bool(stock.clamps))
    says = (
        f"{job.cutter.name}, {feeds.speed:g} 1/min, {feeds.feed:.0f} mm/min; about {job.minutes:.1f} min, "
        "changes of speed not counted"
    )
    title, inner = f"{job.name}: {job.purpose}", WIDTH_MM - 2 * MARGIN
    marks.append(Label(shortened(title, inner, 3.2, bold=True), (MARGIN, 8.5), 3.2, bold=True))
    marks.append(Label(shortened(says, inner, SMALL), (MARGIN, 14.0), SMALL))
    return PaperPage(WIDTH_MM, bottom + 20.0, title, f"bodygen {VERSION}", tuple(marks))


def _stock(job: Job, axes: Axes) -> Iterator[Mark]:
    """The stock, and its clamps with hatching."""
    stock = job.stock
    sheet = stock.corners or ((0, 0), (stock.length, 0), (stock.length, stock.width), (0, stock.width))
    yield replace(stroke([axes.at(*corner) for corner in sheet], "thin", closed=True, part="stock"), fill=_WOOD)
    for x0, y0, x1, y1 in stock.clamps:
        yield from _keep_out(*axes.at(x0, y1), *axes.at(x1, y0))


def _keep_out(x0: float, y0: float, x1: float, y1: float) -> Iterator[Mark]:
    for mark in (box(x0, y0, x1, y1, "clamp"), *hatching(x0, y0, x1, y1, 2.5)):
        yield replace(mark, pen="path", colour=_CLAMP)


def _moves(job: Job, axes: Axes) -> Iterator[Mark]:
    """Rapids, then cuts as lines of one depth each, the deepest on top."""
    low = max(-job.lowest, 1e-3)
    cuts: list[tuple[int, list[tuple[float, float]]]] = []
    last = -1
    x, y, a = job.moves[0].end
    start = axes.at(x, y)
    for span in spans(job.moves):
        for x, y, b in span.points(_SAG_MM)[1:]:
            end = axes.at(x, y)
            if span.move.kind == "rapid":
                yield Stroke((start, end), "hidden", part="rapid", colour=_AIR)
                last = -1
            else:
                depth = round(max(0.0, -min(a, b)) / low * (_STEPS - 1))
                if depth != last:
                    cuts.append((depth, [start]))
                    last = depth
                cuts[-1][1].append(end)
            start, a = end, b
    for depth, line in sorted(cuts, key=lambda cut: cut[0]):
        yield Stroke(tuple(line), "path", part="cut", colour=_colour(depth))


@cache
def _colour(step: int) -> str:
    """The colour of a step of depth, as #rrggbb."""
    at, known = step / (_STEPS - 1) * (len(_COLOURS) - 1), range(len(_COLOURS))
    return "#" + "".join(f"{round(float(np.interp(at, known, tone))):02x}" for tone in zip(*_COLOURS, strict=True))


def _depth_bar(low: float, left: float, top: float, bottom: float) -> Iterator[Mark]:
    """What each colour says: the stock's top below, the deepest cut above."""
    scale = Axes(left, top, left + 4.0, bottom, 0.0, 1.0, 0.0, low)
    for step in range(_STEPS):
        colour = _colour(step)
        (x0, y0), (x1, y1) = scale.at(0.0, low * step / _STEPS), scale.at(1.0, low * (step + 1) / _STEPS)
        yield replace(box(x0, y0, x1, y1, "depth"), fill=colour, colour=colour)
    yield box(left, top, left + 4.0, bottom)
    for value in round_steps(0.0, low, max(2, int((bottom - top) / 8))):
        x, y = scale.at(1.0, value)
        yield stroke([(x, y), (x + TICK, y)], "thin")
        yield Label(f"{value:g}", (x + TICK + 0.8, y + 0.9), SMALL)
    yield Label("depth below the stock's top [mm]", (left + 17.0, (top + bottom) / 2), SMALL, "centre", upright=True)


def _cross(x: float, y: float) -> list[Mark]:
    """The mark of X0 Y0."""
    return [
        stroke([(x - 2, y), (x + 2, y)], "path", part="zero"),
        stroke([(x, y - 2), (x, y + 2)], "path", part="zero"),
    ]


def _legend(y: float, *, clamps: bool) -> Iterator[Mark]:
    yield from _cross(24.0, y)
    yield Label("X0 Y0", (28.0, y + 0.9), SMALL)
    yield Stroke(((44.0, y), (56.0, y)), "hidden", colour=_AIR)
    yield Label("rapids, in the air", (58.0, y + 0.9), SMALL)
    if clamps:
        yield from _keep_out(92.0, y - 1.5, 100.0, y + 1.5)
        yield Label("clamps: keep out", (102.0, y + 0.9), SMALL)
