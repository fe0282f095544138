"""The lip's angle as a block to hold against the body: a right triangle, its figures each in their own corner.

A card (card.py) of plain geometry. Knows no body.
"""

from itertools import combinations
from math import degrees, hypot, pi, radians, sin, tan

import numpy as np

from bodygen.findings import Finding
from bodygen.form.integrals import Array
from bodygen.plane.label_places import AIR_MM, label_box, overlap
from bodygen.plane.polygon import polygon
from bodygen.plane.shapes import Loop, Point, Text
from bodygen.recipe.model import Lip
from bodygen.shop.cards.card import Card
from bodygen.shop.engrave import words_size
from bodygen.tables import load

_SAME_WAY = 1e-9  # of unit directions: two edges that never meet; and of places, rounding


def angle_block(lip: Lip) -> tuple[Card | None, tuple[Finding, ...]]:
    """A right triangle with the lip's angle at one corner and what it leaves of a right angle at the other.

    Parameters
    ----------
    lip : Lip
        Its angle is measured from straight ahead downwards.

    Returns
    -------
    card : Card or None
        The corner of the lip's own angle at the origin, the longer leg as the table says. None where it would be a
        needle.
    findings : tuple of Finding
        Why there is none.
    """
    row, angle = load("gauges")["angle_block"], lip.angle
    if not radians(row["least_deg"]) <= angle <= pi / 2 - radians(row["least_deg"]):
        remedy = "no angle block: set the lip by a straightedge along the body, or by a square across it"
        limit = row["least_deg"] if angle < pi / 4 else 90 - row["least_deg"]
        return None, (Finding("angle-block-needle", "note", "lip.angle", remedy, degrees(angle), limit, "deg"),)
    longer = row["leg_mm"]
    base, rise = (longer, longer * tan(angle)) if angle <= pi / 4 else (longer / tan(angle), longer)
    corners = [(0.0, 0.0), (base, 0.0), (base, rise)]
    cut = min(row["tip_mm"] / tan(min(angle, pi / 2 - angle)), 0.3 * longer)
    slant = np.array([base, rise]) / np.hypot(base, rise)
    sharp_low = angle <= pi / 4
    if sharp_low:  # the thin tip is at the origin: cut square to the base
        points = [(cut, 0.0), corners[1], corners[2], (cut, cut * tan(angle))]
    else:
        points = [corners[0], corners[1], (base, rise - cut), _point(corners[2] - cut / sin(angle) * slant)]
    low, high = f"{degrees(angle):.4g}°", f"{90 - degrees(angle):.4g}°"
    marks = _lettered(polygon(points), (low, corners[0]), (high, corners[2]), row["label_mm"])
    use = (
        f"bottom edge along the body's axis: the slanted edge stands at the lip's angle, {low} down from straight "
        f"ahead; on its other edge it gives {high}, for work held nose up"
    )
    return Card("lip angle block", polygon(points), (), marks, f"sets the lip's slot and plate at {low}", use), ()


def _lettered(block: Loop, low: tuple[str, Point], high: tuple[str, Point], size: float) -> tuple[Text, ...]:
    """Each figure in its own corner, as tall as both have room within the edges; what it is for, if that has room."""
    sizes = (size * share for share in (1.0, 0.85, 0.7, 0.55))
    options = ([_in_corner(block, *figure, tall) for figure in (low, high)] for tall in sizes)
    first, second = next(
        (a, b) for a, b in options if a is not None and b is not None and not overlap(label_box(a), label_box(b))
    )
    middle = (first.at[0] + second.at[0]) / 2, (first.at[1] + second.at[1]) / 2
    lip = _in_corner(block, "lip", middle, 0.8 * first.height)
    clear = lip is not None and not any(overlap(label_box(lip), label_box(one)) for one in (first, second))
    return (first, second, lip) if lip is not None and clear else (first, second)


def _in_corner(block: Loop, label: str, corner: Point, tall: float) -> Text | None:
    """A label within the edges of a convex card, level if it can be, else upright, as near to a point as can be.

    Derived here: the middle of its room keeps off each edge by what of the room lies before it.
    """
    for turn in (0.0, pi / 2):
        x0, y0, x1, y1 = label_box(Text(label, (0.0, 0.0), tall, "middle", turn))
        wide = max(words_size([label], tall)[0], x1 - x0, y1 - y0)
        half = (wide / 2, y1) if not turn else (-x0, wide / 2)
        rows, least = [], []
        for edge in block.pieces:
            x, y = edge.direction(at_end=False)
            rows.append((-y, x))
            least.append(x * edge.start[1] - y * edge.start[0] + AIR_MM + abs(y) * half[0] + abs(x) * half[1])
        places = [corner]
        for i, j in combinations(range(len(rows)), 2):
            if abs(rows[i][0] * rows[j][1] - rows[i][1] * rows[j][0]) > _SAME_WAY:
                places.append(_point(np.linalg.solve(np.array([rows[i], rows[j]]), np.array([least[i], least[j]]))))
        clear = [at for at in places if (np.array(rows) @ at >= np.array(least) - _SAME_WAY).all()]
        if clear:
            return Text(
                label, min(clear, key=lambda at: hypot(at[0] - corner[0], at[1] - corner[1])), tall, "middle", turn
            )
    return None


def _point(pair: Array) -> Point:
    return float(pair[0]), float(pair[1])
