"""The body as the water meets it: its silhouettes end on and from above, off the real surface.

Knows a body's surface, or a mesh as it is. Knows nothing of lips, hooks or forces.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.form.body import Array, Body
from bodygen.form.integrals import gauss
from bodygen.mesh.base_body import BaseBody

SECTIONS = 160
"""Cross-sections that together make the silhouette end on."""
PER_SEGMENT = 24
HEIGHTS = 300
GAUSS = 5
"""Points a span [-]: width times slope is of degree 8 in it at most, which so many integrate exactly."""


@dataclass(frozen=True, slots=True)
class Silhouettes:
    """Areas of the uncut body [mm^2]: ``frontal`` end on, ``plan`` from above, its centroid at ``plan_x`` [mm]."""

    frontal: float
    plan: float
    plan_x: float


def silhouettes_of(body: BaseBody) -> Silhouettes:
    """The silhouettes of a body [mm^2], kept with it.

    Derived here: end on the widest section at each height, from above the widest line, integrated.
    """
    return body.stock.kept.of("silhouettes", lambda: _drawn(body.body) if body.body else _meshed(body))


def _drawn(body: Body) -> Silhouettes:
    """Derived here: end on the widest of all sections at each height; from above twice the half width, integrated."""
    plan, plan_x = _plan(body)
    halves = body.points(body.parameter_at(np.linspace(0.0, body.length, SECTIONS + 1)), PER_SEGMENT)
    y, z = np.ascontiguousarray(halves[..., 1:].transpose(2, 0, 1))
    low, high = float(z.min()), float(z.max())
    # close together at the ends, where a round section is steep
    heights = low + (high - low) * (1 - np.cos(np.linspace(0.0, np.pi, HEIGHTS))) / 2
    width = np.zeros(HEIGHTS)
    reached = np.searchsorted(heights, z[:, 0]), np.searchsorted(heights, z[:, -1], side="right")
    for first, after, wide, high_up in zip(*(each.tolist() for each in reached), y, z, strict=True):
        some = width[first:after]
        np.maximum(some, np.interp(heights[first:after], high_up, wide), out=some)
    return Silhouettes(2 * float(np.trapezoid(width, heights)), plan, plan_x)


def _plan(body: Body) -> tuple[float, float]:
    node, weight = gauss(GAUSS)
    low, high = body.breaks[:-1], body.breaks[1:]
    u = (low[:, None] + (high - low)[:, None] * node).ravel()
    w = ((high - low)[:, None] * weight).ravel()
    at, along = body.polygons_both(u)
    strip = 2 * at[:, body.widest_index, 1] * along[:, 0, 0] * w
    area = float(strip.sum())
    return area, float(strip @ at[:, 0, 0]) / area


def area_and_moment(points: Array) -> Array:
    """Area of a polygon (k, 2) [mm^2] and its first moment along x [mm^3]; none has neither.

    Elementary: the trapezoids under its edges.

    Examples
    --------
    >>> area_and_moment(np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 3.0), (0.0, 3.0)])).tolist()
    [6.0, 6.0]
    """
    (x, y), (x_next, y_next) = points.T, np.roll(points, -1, axis=0).T
    cross = x * y_next - x_next * y
    return np.array([cross.sum() / 2, ((x + x_next) * cross).sum() / 6])


def _meshed(body: BaseBody) -> Silhouettes:
    solid = body.stock.whole()
    area, moment = np.sum([area_and_moment(loop) for loop in solid.project().to_polygons()], axis=0).tolist()
    return Silhouettes(float(solid.rotate((0.0, 90.0, 0.0)).project().area()), area, moment / area)
