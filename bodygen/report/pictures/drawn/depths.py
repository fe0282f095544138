"""How deep it runs, on one A4 page: its range against line out and against speed, and what each change does to it.

Knows curves and effects as ``dive/`` worked them out. Works nothing out but round figures.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from bodygen.dive.estimate import Estimate
from bodygen.dive.spread import DepthRange
from bodygen.dive.what_if.curves import DepthCurve
from bodygen.dive.what_if.effects import DiveEffect
from bodygen.plane.page import CAPITAL, Label, Mark, PaperPage, Stroke, stroke, text_width, wrapped
from bodygen.recipe.model import Recipe, Units
from bodygen.report.dive import depth_text, is_not, line_text, signed_text
from bodygen.report.pictures.afloat import PAGE
from bodygen.report.pictures.chart import HEADING, MARGIN, SMALL, Axes, axes_marks, box, panel, round_steps
from bodygen.units import FT_PER_M

PALE, DARK = "#dcdcdc", "#6e6e6e"
TOP, BOTTOM = 40.0, 106.0
"""Of both charts [mm]."""
BARS, ROW, BAR = 130.0, 5.3, 3.4
"""Where the bars begin, from one to the next, and how thick they are [mm]."""
NAMES, REACH = 58.0, 52.0
"""Room for what is changed, and of the bars either side of nothing [mm]."""
COLUMNS = (
    ("pitch, deg", "pitch_deg", 226.0),
    ("line, deg", "line_angle_deg", 250.0),
    ("pull, %", "pull_percent", 274.0),
)
OF_THE_MODEL = "the model's"
HOW = {"tow": "towed", "retrieve": "cast and drawn home"}


def depths_sheet(recipe: Recipe, e: Estimate, curves: Sequence[DepthCurve], effects: Sequence[DiveEffect]) -> PaperPage:
    """Draw the range of depths against line out and speed, and how far each change moves the likely depth.

    Returns
    -------
    PaperPage
        PAGE mm; depths in m, or in ft for a recipe in inches.
    """
    each = (PAGE[0] - 2 * MARGIN) / max(len(curves), 1)
    said = wrapped(is_not(), PAGE[0] - 2 * MARGIN, SMALL)
    marks: list[Mark] = [Label(line, (MARGIN, HEADING + 1.0 + 3.6 * i), SMALL) for i, line in enumerate(said)]
    marks += _legend(MARGIN + 17.0, TOP - 6.0)
    for k, curve in enumerate(curves):
        left = MARGIN + k * each
        marks += _chart(curve, recipe.units, left + 17.0, left + each - 5.0)
    return panel(*PAGE, recipe, "how deep it runs", [*marks, *_bars(effects)], _says(e, recipe.units))


def _says(e: Estimate, units: Units) -> str:
    c, d = e.asked.conditions, e.depth
    if c is None or d is None:
        return ""
    low, likely, high = (depth_text(depth, units) for depth in (d.low, d.likely, d.high))
    tip = f"rod tip {depth_text(c.tip_height_m, units)} up"
    return f"{low} to {high}, likely {likely}: {HOW[c.how]} at {c.speed_m_s:.2f} m/s, {line_text(c, units)}, {tip}"


def _legend(x: float, y: float) -> Iterator[Mark]:
    for draw, words in (
        (replace(box(x, y - 2.2, x + 7.0, y, "legend"), fill=PALE, colour=PALE), "eight dives in ten"),
        (None, "likely"),
        (None, "as asked"),
    ):
        yield draw or stroke([(x, y - 1.1), (x + 7.0, y - 1.1)], "outline" if words == "likely" else "hair")
        if words == "as asked":
            yield _dot(x + 3.5, y - 1.1)
        yield Label(words, (x + 8.5, y), SMALL)
        x += 8.5 + text_width(words, SMALL) + 6.0


def _chart(curve: DepthCurve, units: Units, left: float, right: float) -> Iterator[Mark]:
    """One curve; depth goes down the page."""
    unit, metres = ("m", 1.0) if units == "mm" else ("ft", FT_PER_M)
    name, across = ("line out", metres) if curve.along == "line_out_m" else ("speed", 1.0)
    deepest = 1.08 * metres * max((depth.high for depth in curve.depths if depth), default=1.0)
    least, most = across * curve.values[0], across * curve.values[-1]
    axes = Axes(left, TOP, right, BOTTOM, least, most, deepest, 0.0)
    rows = [(across * value, depth) for value, depth in zip(curve.values, curve.depths, strict=True)]
    for told, run in groupby(rows, key=lambda row: row[1] is not None):
        part = list(run)
        if told:
            yield from _band(axes, [(value, depth) for value, depth in part if depth is not None], metres)
        else:
            yield from _untold(axes, part[0][0], part[-1][0])
    at = across * curve.now
    yield stroke([axes.at(at, 0.0), axes.at(at, deepest)], "hair", part="as asked")
    if (depth := dict(zip(curve.values, curve.depths, strict=True))[curve.now]) is not None:
        yield _dot(*axes.at(at, metres * depth.likely))
    steps = round_steps(least, most, 8), round_steps(0.0, deepest, 6)
    yield from axes_marks(
        axes, *steps, f"{name} [{unit if across != 1.0 or name == 'line out' else 'm/s'}]", f"depth [{unit}]"
    )


def _band(axes: Axes, rows: Sequence[tuple[float, DepthRange]], metres: float) -> Iterator[Mark]:
    """The range as a pale band, the likely depth a line in it."""
    high = [axes.at(value, metres * depth.high) for value, depth in rows]
    low = [axes.at(value, metres * depth.low) for value, depth in rows]
    yield Stroke((*high, *reversed(low)), "hair", closed=True, fill=PALE, part="range", colour=PALE)
    yield stroke([axes.at(value, metres * depth.likely) for value, depth in rows], "outline", part="likely")


def _untold(axes: Axes, first: float, last: float) -> Iterator[Mark]:
    """Where no depth is told, in words along the gap if they find room."""
    (x0, _), (x1, y1) = axes.at(first, axes.y_high), axes.at(last, axes.y_low)
    if x1 - x0 > 2 * SMALL:
        yield Label(
            "no depth is told here",
            ((x0 + x1) / 2 + CAPITAL * SMALL / 2, (axes.top + y1) / 2),
            SMALL,
            "centre",
            upright=True,
        )


def _bars(effects: Sequence[DiveEffect]) -> Iterator[Mark]:
    """What each change does to the depth, the largest first: the maker's dark, the model's own guesses pale."""
    rows = [(row.depth_percent, row) for row in effects if row.depth_percent is not None]
    rows.sort(key=lambda pair: -abs(pair[0]))
    zero, y = MARGIN + NAMES + REACH, BARS
    per = REACH / max([abs(much) for much, _ in rows], default=1.0)
    if rows:
        head = "one change alone, and what it does to the likely depth; pale: guesses of the model"
        yield Label(head, (MARGIN, y - 6.0), SMALL, bold=True)
        yield from (Label(name, (x, y - 6.0), SMALL, "right", bold=True) for name, _, x in COLUMNS)
        yield stroke([(zero, y - 2.0), (zero, y + ROW * len(rows))], "thin", part="no change")
    for much, row in rows:
        colour = PALE if row.what.startswith(OF_THE_MODEL) else DARK
        yield replace(box(zero, y, zero + per * much, y + BAR, f"bar {row.what}"), fill=colour, colour=colour)
        foot = y + (BAR + CAPITAL * SMALL) / 2
        yield Label(row.what, (MARGIN, foot), SMALL)
        side = 1.5 if much >= 0 else -1.5
        yield Label(f"{signed_text(much)} %", (zero + per * much + side, foot), SMALL, "left" if much >= 0 else "right")
        for _, field, x in COLUMNS:
            yield Label(signed_text(getattr(row, field)), (x, foot), SMALL, "right")
        y += ROW


def _dot(x: float, y: float) -> Stroke:
    return Stroke(
        ((x - 0.9, y), (x, y - 0.9), (x + 0.9, y), (x, y + 0.9)), "hair", closed=True, fill="black", part="now"
    )
