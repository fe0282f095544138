"""Handles of a section: how wide and high the body is there, how full its corners are, and the bores that it cuts.

In the section's own mm, as seen from the nose: to the right is the bait's left.
"""

from collections.abc import Iterator
from math import hypot, log
from typing import Any

import numpy as np

from bodygen.form.body import Body
from bodygen.form.cuts import Revolved
from bodygen.form.facing import END
from bodygen.recipe.model import Curve, Parameters
from bodygen.serve.answer.handles import bore_handles, handle, plain_handle
from bodygen.serve.answer.known import Known

LEAST_MM = 0.5
"""A section that is narrower or lower than that has nothing to take hold of."""
RIGHT, UP = (1.0, 0.0), (0.0, 1.0)


def section_handles(known: Known, x: float) -> Iterator[dict[str, Any]]:
    """Every handle of the section at ``x`` [mm]."""
    shape, body = known.recipe.shape, known.shaped.body
    if isinstance(shape, Parameters) and body is not None:
        yield from _sizes(known, shape, body, x)
        yield from _corners(shape, body, x)
    for place, tool in enumerate(known.shaped.tools):
        if not isinstance(tool, Revolved) or tool.mirrored:
            continue
        low, _, _, high, _, _ = known.shaped.pieces.cavities[place].bounding_box()
        if low <= x <= high:
            yield from bore_handles(known, tool, END)
            yield from _diameter(known, tool)


def _sizes(known: Known, shape: Parameters, body: Body, x: float) -> Iterator[dict[str, Any]]:
    """Thickness and depth: each is the greatest of the whole body, and the section's own grows with it."""
    half, widest, back, _ = _measured(body, x)
    if half < LEAST_MM:
        return
    if shape.thickness is not None:
        per_mm = shape.thickness / half
        yield handle(known, "shape.thickness", "thickness", (half, widest), RIGHT, shape.thickness, per_mm)
    elif shape.plan.family is None and not shape.plan.fractions:
        number, (_, value) = _nearest(shape.plan, x, body.length)
        key = f"shape.plan.points[{number}][2]"
        yield handle(known, key, f"plan, point {number}", (half, widest), RIGHT, value, value / half)
    if shape.depth is not None and back > LEAST_MM:
        yield handle(known, "shape.depth", "depth", (0.0, back), UP, shape.depth, shape.depth / back)


def _corners(shape: Parameters, body: Body, x: float) -> Iterator[dict[str, Any]]:
    """The exponents of the section, at its corners: outwards along the diagonal is fuller.

    On the superellipse |y/a|^n + |z/b|^n = 1 the diagonal is met at the share s = 2^(-1/n), ds/dn = s ln 2 / n^2.
    """
    half, widest, back, belly = _measured(body, x)
    if shape.flat_side is not None or half < LEAST_MM:
        return
    alike = shape.squareness_back == shape.squareness_belly
    corners = [("back", shape.squareness_back, back), ("belly", shape.squareness_belly, belly)]
    for name, curve, end in corners[: 1 if alike else 2]:
        number, (_, exponent) = _nearest(curve, x, body.length)
        high = end - widest
        if abs(high) < LEAST_MM:
            continue
        share = 2.0 ** (-1.0 / exponent)
        grows = hypot(half, high) * share * log(2.0) / exponent**2
        key = "shape.squareness" if alike else f"shape.squareness.{name}"
        key = key if len(curve.points) == 1 else f"{key}[{number}][2]"
        at = -half * share, widest + high * share  # on the other flank than the thickness
        yield plain_handle(f"squareness, {name}", key, at, (-half, high), exponent, 1 / grows, (1.0, 10.0, 0.05))


def _diameter(known: Known, tool: Revolved) -> Iterator[dict[str, Any]]:
    """Of a bore whose diameter is written; one by the name of a drill has no number to drag."""
    bore = known.recipe.bores[tool.bore]
    if bore.drill is not None:
        return
    origin, axis = END.flat(np.array([tool.origin]))[0], END.flat(np.array([tool.axis]))[0]
    across = np.array([-axis[1], axis[0]]) if float(np.linalg.norm(axis)) > LEAST_MM else np.array(RIGHT)
    across = across / float(np.linalg.norm(across))
    at = origin + (axis * min(tool.shoulder, tool.diameter) + across * tool.diameter / 2)
    key = f"bore[{tool.bore + 1}].diameter"
    yield handle(known, key, f"{bore.name}, diameter", at, across, tool.diameter, 2.0)


def _measured(body: Body, x: float) -> tuple[float, float, float, float]:
    """Of a section: half its width, the height at which it is widest, its back and its belly [mm]."""
    points = body.section_at(x)
    at = int(np.argmax(points[:, 0]))
    return float(points[at, 0]), float(points[at, 1]), float(points[:, 1].max()), float(points[:, 1].min())


def _nearest(curve: Curve, x: float, length: float) -> tuple[int, tuple[float, float]]:
    """The point of a line that lies nearest to x, counted from 1."""
    places = [place * length if curve.fractions else place for place, _ in curve.points]
    at = int(np.argmin(np.abs(np.array(places) - x)))
    return at + 1, curve.points[at]
