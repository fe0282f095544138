"""The plain parts of a chart: axes with round figures, labels that make room for each other, a panel with a heading.

Knows paper in mm, y down the page. Knows nothing of what is plotted (bars.py, curves.py).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from bodygen.plane.page import CAPITAL, Label, Mark, PaperPage, Stroke, printable, shortened, stroke, text_width
from bodygen.plane.shapes import Point
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.dimension import spread
from bodygen.report.stamp import stamp

MARGIN = 8.0
HEADING = 17.0
"""Room that the heading takes from the top edge [mm]."""
FOOT = 8.0
SMALL = 2.5
TICK = 1.4


@dataclass(frozen=True, slots=True)
class Axes:
    """A rectangle of the page [mm], ``left`` < ``right``, ``top`` < ``bottom``, and the values at its edges."""

    left: float
    top: float
    right: float
    bottom: float
    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def at(self, x: float, y: float) -> Point:
        """Place of a pair of values on the page [mm]."""
        across = (x - self.x_low) / (self.x_high - self.x_low)
        up = (y - self.y_low) / (self.y_high - self.y_low)
        return self.left + across * (self.right - self.left), self.bottom - up * (self.bottom - self.top)


def round_steps(low: float, high: float, most: int) -> list[float]:
    """List the multiples of 1, 2 or 5 times a power of ten between two values, ``most`` at the most.

    >>> round_steps(-0.3, 2.2, 6)
    [0.0, 0.5, 1.0, 1.5, 2.0]
    """
    raw = max((high - low) / most, 1e-12)
    power = 10.0 ** floor(log10(raw))
    step = power * next(f for f in (1, 2, 5, 10, 20) if f * power >= raw * (1 - 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    steps = [k * step for k in range(first, last + 1)]
    return [float(f"{value:.12g}") + 0.0 for value in steps[:most]]


def spread_within(wanted: Sequence[float], halves: Sequence[float], low: float, high: float) -> list[float]:
    """Move places on a line apart, as ``dimension.spread``, and keep them between two ends if they fit at all [mm].

    >>> spread_within([1.0, 2.0, 9.5], [1.0, 1.0, 1.0], 0.0, 10.0)
    [1.0, 3.0, 9.0]
    """
    places = spread(wanted, halves)
    edge = low
    for i, half in enumerate(halves):
        places[i] = max(places[i], edge + half)
        edge = places[i] + half
    edge = high
    for i in reversed(range(len(places))):
        places[i] = min(places[i], edge - halves[i])
        edge = places[i] - halves[i]
    return places


def axes_marks(axes: Axes, x_steps: Sequence[float], y_steps: Sequence[float], x_name: str, y_name: str) -> list[Mark]:
    """Draw a frame with ticks, their figures, and what the two axes show."""
    a = axes
    corners = [(a.left, a.top), (a.right, a.top), (a.right, a.bottom), (a.left, a.bottom)]
    marks: list[Mark] = [stroke(corners, "thin", closed=True, part="axes")]
    for value in x_steps:
        x, y = a.at(value, a.y_low)
        marks.append(stroke([(x, y), (x, y + TICK)], "thin"))
        marks.append(Label(f"{value:g}", (x, y + TICK + 3.0), SMALL, "centre"))
    for value in y_steps:
        x, y = a.at(a.x_low, value)
        marks.append(stroke([(x - TICK, y), (x, y)], "thin"))
        marks.append(Label(f"{value:g}", (x - TICK - 0.8, y + CAPITAL * SMALL / 2), SMALL, "right"))
    wide = max((text_width(f"{value:g}", SMALL) for value in y_steps), default=0.0)
    marks.append(Label(x_name, ((a.left + a.right) / 2, a.bottom + TICK + 7.2), SMALL, "centre"))
    where = (a.left - TICK - wide - 2.6, (a.top + a.bottom) / 2)
    return [*marks, Label(y_name, where, SMALL, "centre", upright=True)]


def box(x0: float, y0: float, x1: float, y1: float, part: str = "") -> Stroke:
    """Draw a rectangle between two corners [mm]."""
    return stroke([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], "thin", closed=True, part=part)


def hatching(x0: float, y0: float, x1: float, y1: float, gap: float, *, rising: bool = True) -> list[Stroke]:
    """Hatch a rectangle with 45 degree lines ``gap`` apart along its edge [mm]."""
    marks: list[Stroke] = []
    high = y1 - y0
    count = int((x1 - x0 + high) / gap)
    for k in range(1, count + 1):
        foot = x0 - high + k * gap  # where the line meets the lower edge; it runs up to the right
        start, end = max(foot, x0), min(foot + high, x1)
        if end - start > 1e-6:
            line = [(start, y1 - (start - foot)), (end, y1 - (end - foot))]
            marks.append(stroke(line if rising else [(x, y0 + y1 - y) for x, y in line], "hair", part="hatching"))
    return marks


def panel(width: float, height: float, recipe: Recipe, what: str, marks: Sequence[Mark], says: str = "") -> PaperPage:
    """Put marks on a page with the bait's name, what is shown, one line of words, and what it was made from.

    Parameters
    ----------
    width, height : float
        Of the page [mm].
    recipe : Recipe
        Name and hash.
    what : str
        The picture's title.
    marks : sequence of Mark
        Drawn between ``HEADING`` from the top and ``FOOT`` from the bottom.
    says : str
        The line below the title.
    """
    name, inner = printable(recipe.name), width - 2 * MARGIN
    side = text_width(what, 3.0) + 4.0
    heading: list[Mark] = [
        Label(shortened(name, inner - side, 4.0, bold=True), (MARGIN, 9.0), 4.0, bold=True),
        Label(what, (width - MARGIN, 9.0), 3.0, "right"),
        Label(stamp(recipe), (width - MARGIN, height - 4.0), 2.0, "right"),
    ]
    if says:
        heading.append(Label(shortened(says, inner, SMALL), (MARGIN, 14.0), SMALL))
    return PaperPage(width, height, f"{name}: {what}", stamp(recipe, None), (*marks, *heading))
