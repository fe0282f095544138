"""The righting curves: how hard the water turns a bait back when it is held over, in roll and in pitch.

Knows curves as they were computed (flotation/righting.py). The page is PAGE mm.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from bodygen.flotation.righting import RightingCurve
from bodygen.plane.page import Label, Mark, PaperPage, Stroke, stroke
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.chart import FOOT, HEADING, MARGIN, SMALL, Axes, axes_marks, panel, round_steps
from bodygen.units import INCH, POUND

PAGE = (210.0, 110.0)
STANDARD_GRAVITY = 9.80665
"""m/s^2, by definition (3rd CGPM, 1901): an ounce-force is the weight of an ounce under it."""
N_MM_PER_OZF_IN = float(POUND / 16 * INCH) / 1e6 * STANDARD_GRAVITY * 1000
_NAMES = {"roll": "roll: right side raised", "pitch": "pitch: nose raised"}


def righting_sheet(recipe: Recipe, curves: Sequence[RightingCurve]) -> PaperPage:
    """Draw one panel a curve, side by side, each to its own scale.

    Parameters
    ----------
    recipe : Recipe
        Name, units (moments in N mm, or in ounce-force inches for a recipe in inches), hash.
    curves : sequence of RightingCurve
        One or two, as ``flotation.righting.righting_curve`` gives them.

    Returns
    -------
    PaperPage
        PAGE mm.
    """
    width, height = PAGE
    each = (width - 2 * MARGIN + 4.0) / len(curves)
    marks: list[Mark] = []
    for k, curve in enumerate(curves):
        left = MARGIN + k * each
        marks += _panel(recipe, curve, (left + 17.0, HEADING + 6.0, left + each - 6.0, height - FOOT - 12.0))
    says = "moment that turns it back when held over, its displacement kept; a dot: this turn would leave it there"
    return panel(width, height, recipe, "righting curves", marks, says)


def _panel(recipe: Recipe, curve: RightingCurve, corners: tuple[float, float, float, float]) -> list[Mark]:
    unit, per = ("N mm", 1.0) if recipe.units == "mm" else ("ozf in", N_MM_PER_OZF_IN)
    angles, moments = np.array(curve.angles_deg), np.array(curve.moments_n_mm) / per
    reach = 1.12 * max(float(np.abs(moments).max()), 1e-9)
    axes = Axes(*corners, float(angles.min()), float(angles.max()), -reach, reach)
    marks: list[Mark] = [
        stroke([axes.at(axes.x_low, 0.0), axes.at(axes.x_high, 0.0)], "hair", part="zero"),
        stroke([axes.at(0.0, -reach), axes.at(0.0, reach)], "hair", part="at rest"),
        stroke([axes.at(a, m) for a, m in zip(angles, moments, strict=True)], "outline", part=f"{curve.about} curve"),
    ]
    marks += [_dot(*axes.at(angle, 0.0)) for angle in stays_at(curve)]
    best = int(np.argmax(np.where(angles >= 0, moments, -np.inf)))
    largest = f"most {moments[best]:.3g} {unit} at {angles[best]:.0f}°"
    marks.append(Label(_NAMES[curve.about], (axes.left, axes.top - 2.0), SMALL, bold=True))
    marks.append(Label(largest, (axes.right, axes.top - 2.0), SMALL, "right"))
    span = axes.x_high - axes.x_low
    ticks = [float(t) for t in range(-180, 181, 60) if axes.x_low <= t <= axes.x_high]
    x_steps = ticks if span > 240 else round_steps(axes.x_low, axes.x_high, 7)
    return marks + axes_marks(axes, x_steps, round_steps(-reach, reach, 7), "held over by [°]", f"moment [{unit}]")


def stays_at(curve: RightingCurve) -> tuple[float, ...]:
    """Find the angles [deg] where the moment passes upwards through zero, by straight lines between the points.

    Examples
    --------
    >>> stays_at(RightingCurve("roll", (-10.0, 0.0, 10.0), (-2.0, 0.0, 2.0)))
    (0.0,)
    """
    found = []
    rows = list(zip(curve.angles_deg, curve.moments_n_mm, strict=True))
    for (a, m), (b, n) in pairwise(rows):
        if m < 0 <= n:
            found.append(a + (b - a) * m / (m - n) + 0.0)
    return tuple(found)


def _dot(x: float, y: float) -> Stroke:
    turn = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    points = tuple((x + 0.9 * float(np.cos(t)), y + 0.9 * float(np.sin(t))) for t in turn)
    return Stroke(points, "thin", closed=True, fill="black", part="rest")
