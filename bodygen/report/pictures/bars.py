"""Two pictures of masses: the ledger as one stacked bar, and how the reserve is spread.

Knows stages and draws as plain figures. Draws nothing that is not handed in. Pages are BAR_PAGE and HISTOGRAM_PAGE mm.
"""

from collections.abc import Sequence
from math import ceil, floor, fsum

import numpy as np
from numpy.typing import ArrayLike

from bodygen.plane.page import Label, Mark, PaperPage, Stroke, stroke, text_width
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.chart import (
    FOOT,
    HEADING,
    MARGIN,
    SMALL,
    Axes,
    axes_marks,
    box,
    hatching,
    panel,
    round_steps,
    spread_within,
)
from bodygen.units import mass_text, mass_texts
from bodygen.weights.item import Item

BAR_PAGE = (210.0, 84.0)
HISTOGRAM_PAGE = (160.0, 110.0)
_HATCHES: tuple[tuple[float, bool] | None, ...] = (None, (3.0, True), (1.4, False), (2.2, False), (1.4, True))
"""Gap and slope of the hatching of segments that lie side by side; None: plain."""
_DRAWN_WIDTH = 0.02
"""Narrower segments than this are no ink [mm]."""


def ledger_bar(recipe: Recipe, items: Sequence[Item], displaced_g: float) -> PaperPage:
    """Draw what goes on at each stage as one bar, the total at its right, and the water that it pushes aside.

    Parameters
    ----------
    recipe : Recipe
        Name, units, hash.
    items : sequence of Item
        The whole ledger.
    displaced_g : float
        Weight of the water that the finished bait pushes aside wholly under [g].

    Returns
    -------
    PaperPage
        BAR_PAGE mm.
    """
    width, height = BAR_PAGE
    added = [(stage, fsum(i.mass for i in items if i.stage == stage)) for stage in STAGES]
    added = [(stage, mass) for stage, mass in added if mass > 0]
    whole = fsum(mass for _, mass in added)
    left, right, top, bottom = MARGIN + 2, width - MARGIN - 2, 34.0, 50.0
    scale = (right - left) / (1.02 * max(whole, displaced_g))
    marks: list[Mark] = []
    x, middles = left, []
    for k, (_, mass) in enumerate(added):
        end = x + mass * scale
        marks += _segment(x, top, end, bottom, _HATCHES[k % len(_HATCHES)] if k else None)
        middles.append((x + end) / 2)
        x = end
    lines = [(stage, *mass_texts(mass, recipe.units)) for stage, mass in added]
    texts = [(name, f"+{first}" if i else first, *more) for i, (name, first, *more) in enumerate(lines)]
    halves = [max(text_width(t, SMALL, bold=j == 0) for j, t in enumerate(rows)) / 2 + 1.2 for rows in texts]
    places = spread_within(middles, halves, MARGIN, width - MARGIN)
    for middle, place, rows in zip(middles, places, texts, strict=True):
        marks.append(stroke([(middle, bottom), (middle, bottom + 2), (place, bottom + 7), (place, bottom + 8)], "hair"))
        marks += [
            Label(text, (place, bottom + 11.4 + 3.4 * j), SMALL, "centre", bold=j == 0) for j, text in enumerate(rows)
        ]
    marks += _ends(recipe, whole, displaced_g, (left, scale), (top, bottom))
    return panel(
        width, height, recipe, "what it weighs, step by step", marks, _reserve_words(recipe, whole, displaced_g)
    )


def _segment(x0: float, y0: float, x1: float, y1: float, hatch: tuple[float, bool] | None) -> list[Mark]:
    if x1 - x0 < _DRAWN_WIDTH:
        return []
    lines = hatching(x0, y0, x1, y1, hatch[0], rising=hatch[1]) if hatch else []
    return [*lines, box(x0, y0, x1, y1, "segment")]


def _ends(
    recipe: Recipe, whole: float, displaced_g: float, across: tuple[float, float], rows: tuple[float, float]
) -> list[Mark]:
    """Label the end of the bar and the mark of the water, side by side above it."""
    (left, scale), (top, bottom) = across, rows
    ends = sorted([
        (left + whole * scale, f"total {mass_text(whole, recipe.units)}"),
        (left + displaced_g * scale, f"water pushed aside {mass_text(displaced_g, recipe.units)}"),
    ])
    halves = [text_width(text, SMALL, bold=True) / 2 + 1.5 for _, text in ends]
    places = spread_within([x for x, _ in ends], halves, MARGIN, BAR_PAGE[0] - MARGIN)
    marks: list[Mark] = []
    water = left + displaced_g * scale
    marks.append(stroke([(water, top - 2.0), (water, bottom + 2.0)], "outline", part="water pushed aside"))
    for (x, text), place in zip(ends, places, strict=True):
        marks.append(stroke([(x, top), (x, top - 2.0), (place, top - 6.0), (place, top - 7.0)], "hair"))
        marks.append(Label(text, (place, top - 8.6), SMALL, "centre", bold=True))
    return marks


def _reserve_words(recipe: Recipe, whole: float, displaced_g: float) -> str:
    reserve = mass_text(abs(displaced_g - whole), recipe.units)
    end = f"a reserve of {reserve}" if displaced_g >= whole else f"{reserve} too heavy to float"
    return f"from left to right in shop order; the heavy line is the water it pushes aside wholly under: {end}"


def reserve_histogram(recipe: Recipe, draws: ArrayLike, chosen_g: float | None = None) -> PaperPage:
    """Draw how the reserve falls out over many draws, with its 10th, 50th and 90th percentile.

    Parameters
    ----------
    recipe : Recipe
        Name, units, hash.
    draws : (n,) array
        Reserves [g], n >= 2, finite.
    chosen_g : float, optional
        The reserve that was asked for: a line of its own [g].

    Returns
    -------
    PaperPage
        HISTOGRAM_PAGE mm.

    Raises
    ------
    ValueError
        Fewer than two draws, or one that is not finite.

    References
    ----------
    Bin width after D. Freedman, P. Diaconis, Z. Wahrsch. verw. Gebiete 57 (1981) 453 (from memory), rounded to 1, 2 or
    5 times a power of ten.
    """
    values = np.asarray(draws, dtype=np.float64).ravel()
    if len(values) < 2 or not np.isfinite(values).all():
        msg = f"{len(values)} draws, {np.count_nonzero(np.isfinite(values))} of them finite: no spread to show"
        raise ValueError(msg)
    width, height = HISTOGRAM_PAGE
    edges = _bins(values)
    counts = np.histogram(values, edges)[0] * 100 / len(values)
    p10, p50, p90 = (float(p) for p in np.percentile(values, (10, 50, 90)))
    asked = [] if chosen_g is None else [chosen_g]
    low, high = min([float(edges[0]), *asked]), max([float(edges[-1]), *asked])
    air = 0.04 * (high - low)
    axes = Axes(
        24.0, HEADING + 15.0, width - MARGIN, height - FOOT - 12.0, low - air, high + air, 0.0, 1.05 * counts.max()
    )
    marks: list[Mark] = []
    for a, b, count in zip(edges[:-1], edges[1:], counts, strict=True):
        marks += _bar(axes, float(a), float(b), float(count))
    lines = [(p10, "p10", False), (p50, "p50", False), (p90, "p90", False)]
    lines += [] if chosen_g is None else [(chosen_g, "asked for", True)]
    marks += _flags(recipe, axes, sorted(lines))
    if axes.x_low < 0 < axes.x_high:
        marks.append(stroke([axes.at(0.0, 0.0), axes.at(0.0, axes.y_high)], "centre", part="neither floats nor sinks"))
    marks += axes_marks(
        axes,
        round_steps(axes.x_low, axes.x_high, 9),
        round_steps(0.0, axes.y_high, 6),
        "reserve: water pushed aside wholly under, less weight [g]",
        "share of the draws [%]",
    )
    return panel(width, height, recipe, "what reserve it may have", marks, _odds(values))


def _bins(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> list[float]:
    """Edges at round figures, 8 to 60 bins where the draws differ at all."""
    low, high = float(values.min()), float(values.max())
    quarter = float(np.subtract(*np.percentile(values, (75, 25))))
    span = max(high - low, 1e-6 * max(abs(high), 1.0))
    wanted = min(max(2 * quarter / len(values) ** (1 / 3), span / 60), span / 8)
    steps = round_steps(0.0, 12 * wanted, 12)
    step = steps[1]
    return [k * step for k in range(floor(low / step), max(ceil(high / step), floor(low / step) + 1) + 1)]


def _bar(axes: Axes, low: float, high: float, share: float) -> list[Mark]:
    """One bar; what sinks is hatched."""
    if not share > 0:
        return []
    x0, y1 = axes.at(low, 0.0)
    x1, y0 = axes.at(high, share)
    lines = hatching(x0, y0, x1, y1, 1.2) if high <= 1e-9 else []
    return [*lines, box(x0, y0, x1, y1, "bar")]


def _flags(recipe: Recipe, axes: Axes, lines: Sequence[tuple[float, str, bool]]) -> list[Mark]:
    """Upright lines with their figures in a row above the frame."""
    rows = [(name, *mass_texts(value, recipe.units)) for value, name, _ in lines]
    halves = [max(text_width(t, SMALL, bold=True) for t in row) / 2 + 1.2 for row in rows]
    wanted = [axes.at(value, 0.0)[0] for value, *_ in lines]
    places = spread_within(wanted, halves, MARGIN, HISTOGRAM_PAGE[0] - MARGIN)
    marks: list[Mark] = []
    for (value, _, heavy), x, place, row in zip(lines, wanted, places, rows, strict=True):
        foot = axes.at(value, 0.0)[1]
        points = [(x, foot), (x, axes.top - 0.6), (place, axes.top - 3.6)]
        pen: Stroke = stroke(points, "outline" if heavy else "hidden", part="asked for" if heavy else "percentile")
        marks.append(pen)
        base = axes.top - 4.6 - 3.2 * (len(row) - 1)
        marks += [Label(text, (place, base + 3.2 * j), SMALL, "centre", bold=j == 0) for j, text in enumerate(row)]
    return marks


def _odds(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    sinks = 100 * float(np.count_nonzero(values < 0)) / len(values)
    share = f"{sinks:.1f} %" if sinks >= 0.1 else "less than 0.1 %"
    words = "none of them sinks" if sinks == 0 else f"{share} of them sink (hatched)"
    return f"{len(values)} draws; {words}; 8 of 10 lie between p10 and p90"
