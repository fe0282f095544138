"""The picture of a family: the side of each, to one scale, one below the other."""

from collections.abc import Sequence

import numpy as np

from bodygen.form.body import Body
from bodygen.form.facing import SIDE
from bodygen.plane.page import Label, Mark, PaperPage, bounds, moved, stroke
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.chart import FOOT, HEADING, MARGIN, SMALL, panel
from bodygen.report.pictures.drawing import SCALES
from bodygen.report.pictures.views import view_of

PAGE = (297.0, 210.0)
GAP = 5.0


def family_page(name: str, recipe: Recipe, rows: Sequence[tuple[str, Body | None, str]]) -> PaperPage:
    """Draw the sides of some bodies at the largest simple scale at which all fit.

    Parameters
    ----------
    name : str
        The family's.
    recipe : Recipe
        Whose name and hash stand on the page.
    rows : sequence of (str, Body or None, str)
        Each one's name, its body, and a line of words; one without a body is left out.
    """
    shown = [(title, body, says) for title, body, says in rows if body is not None]
    for scale, ratio in SCALES:  # noqa: B007  the last that was tried is drawn, fit or not
        drawn = [_row(title, body, says, scale) for title, body, says in shown]
        boxes = [bounds(marks) for marks in drawn]
        high = sum(box[3] - box[1] + GAP for box in boxes)
        wide = max(box[2] - box[0] for box in boxes)
        if wide <= PAGE[0] - 2 * MARGIN and high <= PAGE[1] - HEADING - FOOT - 4.0:
            break
    left = (PAGE[0] - wide) / 2
    marks: list[Mark] = []
    row = HEADING + 4.0
    for own, box in zip(drawn, boxes, strict=True):
        marks += moved(own, left - box[0], row - box[1])
        row += box[3] - box[1] + GAP
    return panel(*PAGE, recipe, f"the family {name}", marks, f"the sides, all at {ratio}, the nose at the left")


def _row(title: str, body: Body, says: str, scale: float) -> list[Mark]:
    """One side view with its words below it, its nose at x = 0."""
    flip = np.array([scale, -scale])
    traces = view_of(SIDE, body, (), None).traces
    marks: list[Mark] = [stroke(t.points * flip, t.pen, closed=t.closed, part=t.part) for t in traces]
    foot = bounds(marks)[3]
    return [*marks, Label(f"{title}   {says}", (0.0, foot + 4.0), SMALL)]
