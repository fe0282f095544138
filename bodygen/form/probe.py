"""Where a straight line passes through the body's skin, and whether a point lies inside: from the poles, to 1e-6 mm."""

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, bezier_points
from bodygen.form.cuts import Probe

Array = NDArray[np.float64]
STEPS, SPLIT, REFINE = 200, 48, 4
"""Samples along a line, then parts of each bracket and how often it is parted: few large calls cost less than many."""


def depth_inside(body: Body, points: Array) -> Array:
    """How far inside points lie, measured sideways: boundary half width at that x and z, less |y| [mm]; negative outside.

    Parameters
    ----------
    points : (k, 3) array
        [mm]
    """
    inside = _depth_in_sections(_half_sections(body, points[:, 0]), points)
    return np.where((points[:, 0] < 0) | (points[:, 0] > body.length), -np.maximum(-inside, 1e-9), inside)


def _half_sections(body: Body, x: Array) -> Array:
    return bezier_points(body.polygons(body.parameter_at(x)), 48)[..., 1:]


def _depth_in_sections(half: Array, points: Array) -> Array:
    y, z = half[..., 0], half[..., 1]
    height = points[:, 2]
    # z never falls from belly to back: find the interval that holds the height
    index = np.clip(np.sum(z <= height[:, None], axis=1) - 1, 0, z.shape[1] - 2)
    row = np.arange(len(points)) if len(half) > 1 else 0
    z0, z1, y0, y1 = z[row, index], z[row, index + 1], y[row, index], y[row, index + 1]
    share = np.clip((height - z0) / np.where(z1 > z0, z1 - z0, 1.0), 0.0, 1.0)
    inside = y0 + (y1 - y0) * share - np.abs(points[:, 1])
    beyond = np.maximum(z[row, 0] - height, height - z[row, -1])
    return np.where(beyond > 0, -np.maximum(beyond, 1e-12), inside)


def crossings(body: Body, origin: Array, direction: Array) -> Array:
    """Sorted distances along a line at which it enters and leaves the body [mm]; empty when it misses.

    Samples the line across the body's box and closes in on each change of side (to about 1e-7 mm); a graze shorter
    than the sampling (box diagonal / 200) counts as a miss.
    """
    low, high = box(body)
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = np.stack([(low - origin) / direction, (high - origin) / direction])
    ends = np.where(np.isfinite(ends), ends, np.array([[-np.inf], [np.inf]]))
    enter, leave = float(ends.min(axis=0).max()), float(ends.max(axis=0).min())
    if not enter < leave:
        return np.empty(0)
    # most drills stand square to the axis: one section serves the whole line
    fixed = _half_sections(body, origin[:1]) if direction[0] == 0.0 else None

    def depth(s: Array) -> Array:
        points = origin + s[:, None] * direction
        return depth_inside(body, points) if fixed is None else _depth_in_sections(fixed, points)

    s = np.linspace(enter - 1e-3, leave + 1e-3, STEPS)
    inside = depth(s)
    change = np.flatnonzero((inside[1:] > 0) != (inside[:-1] > 0))
    if not len(change):
        return np.empty(0)
    a, b, start = s[change], s[change + 1], inside[change] > 0
    split = np.linspace(0.0, 1.0, SPLIT + 1)
    for _ in range(REFINE):
        within = a[:, None] + (b - a)[:, None] * split
        same = (depth(within.ravel()) > 0).reshape(within.shape) == start[:, None]
        first = np.clip(np.argmin(same, axis=1), 1, SPLIT)  # the first place on the other side
        row = np.arange(len(a))
        a, b = within[row, first - 1], within[row, first]
    return (a + b) / 2


def box(body: Body) -> tuple[Array, Array]:
    """The body's extents: corners (3,) with the least and the greatest x, y, z [mm], from its own points."""
    u = np.linspace(body.knots[0], body.knots[-1], 8 * len(body.breaks))
    polygon = body.polygons(u)
    wide = float(polygon[:, body.widest_index, 1].max())
    return (
        np.array([0.0, -wide, float(polygon[:, 0, 2].min())]),
        np.array([body.length, wide, float(polygon[:, -1, 2].max())]),
    )


def probe_of(body: Body) -> Probe:
    """The body's answers to straight lines."""

    def heights(x: Array) -> tuple[Array, Array]:
        belly, back = body.heights_at(x)
        beside = (x < 0) | (x > body.length)
        return np.where(beside, np.nan, belly), np.where(beside, np.nan, back)

    low, high = box(body)
    return Probe(lambda origin, direction: crossings(body, origin, direction), heights, low, high)
