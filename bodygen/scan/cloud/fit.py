"""The body's surface through a cloud of points: rows of sizes by least squares on the distances to the skin.

Knows points in the body's axes, nearly right. Both flanks are fitted at once, points that lie away from the rest weigh
little, and a small price on bends keeps the lines fair where there are few points or none. Knows nothing of files,
units, hooks.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodygen.form import spline
from bodygen.form.body import Body
from bodygen.form.fairing.offsets import surface_through
from bodygen.scan.cloud.feet import Feet, around_weights, feet_of
from bodygen.scan.cloud.sizes import (
    Sizes,
    bends_of,
    flat_values,
    folding_rows,
    free_of,
    moved_by,
    polygons_of,
    with_flat,
)

Array = NDArray[np.float64]
LEAST_NOISE = 0.01
NUDGE = 1e-4
STEPS = 8
AHEAD = 0.004
"""Share of the length that an end may lie beyond the outermost point: no point holds a spike that runs on from it."""
FAIRER, DEARER, DEAREST = 12, 4.0, 1e12
"""How often bends are made dearer at most where a step would fold the surface, how many times each time, and in all: of
a skin that folds whatever it costs the price has squares, which must stay numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class SkinFit:
    """Sizes, the points (k, 3) as they came to lie [mm], how far each is outside the skin (k,), how much it counted.

    ``turn`` (3, 3) and ``move`` (3,) bring the points that were given there: p turn^T + move. ``noise`` is the points'
    own scatter [mm].
    """

    sizes: Sizes
    points: Array
    off: Array
    counted: Array
    turn: Array
    move: Array
    noise: float

    @property
    def body(self) -> Body:
        """The surface [mm]."""
        return surface_through(self.sizes.offsets())


def fit_surface(
    points: Array, weights: Array, start: Sizes, within: tuple[float, ...], *, open_ended: bool = False
) -> SkinFit:
    """Fit the surface to points (k, 3) [mm], each counted by its weight (k,) [-]; what comes out never folds.

    Where a step would fold it, bends cost more there until it does not: as lines grow straight over evenly placed rows.

    Parameters
    ----------
    start : Sizes
        Where to begin.
    within : tuple of float
        One round of steps for each: points farther away than that [mm] do not count in it.
    open_ended : bool
        Whether ends may lie far beyond the points, as long as the skin is not the right kind yet.
    """
    sizes, turn, move = start, np.eye(3), np.zeros(3)
    cloud, noise, counted = points, 0.3, np.ones(len(points))
    free, price = free_of(sizes), np.ones(len(sizes.places))
    for reach in within:
        for _ in range(STEPS):
            body = surface_through(sizes.offsets())
            side = np.where(cloud[:, 1] < 0, -1.0, 1.0)
            folded = cloud * np.stack([np.ones_like(side), side, np.ones_like(side)], axis=1) - (sizes.nose, 0.0, 0.0)
            feet = feet_of(body, folded)
            kept = np.abs(feet.off) < reach
            noise = max(LEAST_NOISE, 1.4826 * _median(np.abs(feet.off[kept]), weights[kept]))
            counted = kept / np.sqrt(1 + (feet.off / (2 * noise)) ** 2)
            by_lines = _by_lines(sizes, body, feet)
            by_pose = _by_pose(cloud, feet.normal * np.stack([np.ones_like(side), side, np.ones_like(side)], axis=1))
            normal, right = _squares(by_lines @ free, by_pose, feet.off, weights * counted)
            for _ in range(FAIRER):
                step = _step(sizes, normal, right, noise * price, free)
                change, pose = free @ step[:-5], step[-5:]
                moved = moved_by(sizes, change)
                folding = folding_rows(moved)
                if not folding.any():
                    break
                price = np.minimum(np.where(folding, DEARER * price, price), DEAREST)
            sizes = moved if open_ended else _within_reach(moved, cloud[:, 0], noise)
            cloud, turn, move = _posed(cloud, turn, move, pose)
            count = len(sizes.places)
            if np.abs(np.append(change[: 3 * count], change[6 * count :])).max() < max(0.002, 0.03 * noise):
                break
    body = surface_through(sizes.offsets())
    folded = np.stack([cloud[:, 0] - sizes.nose, np.abs(cloud[:, 1]), cloud[:, 2]], axis=1)
    feet = feet_of(body, folded)
    move = move - (sizes.nose, 0.0, 0.0)
    cloud = cloud - (sizes.nose, 0.0, 0.0)
    return SkinFit(replace(sizes, nose=0.0, tail=sizes.tail - sizes.nose), cloud, feet.off, counted, turn, move, noise)


def _within_reach(sizes: Sizes, x: Array, noise: float) -> Sizes:
    """The sizes with ends that do not lie far beyond the outermost of all points, at x (k,) [mm].

    Of all, not of those that count in this step: they lie near the ends as these are now, and would hold them there.
    """
    if not len(x):
        return sizes
    ahead = max(AHEAD * (sizes.tail - sizes.nose), 2 * noise)
    return replace(sizes, nose=max(sizes.nose, float(x.min()) - ahead), tail=min(sizes.tail, float(x.max()) + ahead))


def _median(values: Array, weights: Array) -> float:
    if not len(values):
        return 0.0
    order = np.argsort(values)
    passed = np.cumsum(weights[order])
    return float(values[order[np.searchsorted(passed, passed[-1] / 2)]])


def _cardinals(body: Body, sizes: Sizes, u: Array) -> tuple[Array, Array]:
    """How much each row counts at u (k,): (k, m) for the sections, and for x, which starts flat at round ends [-]."""
    rows = np.unique(body.knots)
    basis = spline.basis(body.knots, u)
    sections = spline.interpolate(rows, np.eye(len(rows)))
    ends = [list(range(len(rows))) if flat else [] for flat in sizes.rounded]
    along = spline.interpolate(rows, np.eye(len(rows)), *ends)
    return basis @ sections, basis @ along


def _by_lines(sizes: Sizes, body: Body, feet: Feet) -> Array:
    """(k, 6 m + 2 + flats): how the distances outside the skin change with lines, nose and tail, and flats."""
    around = around_weights(feet.v, body.segments)
    skin = (feet.cap == 0)[:, None]
    by_row, by_place = _cardinals(body, sizes, feet.u)
    at = polygons_of(sizes)
    across, upwards = around * feet.normal[:, 1:2], around * feet.normal[:, 2:3]

    def by_change(nudged: Sizes) -> Array:
        rate = (polygons_of(nudged) - at) / NUDGE
        return -np.where(skin, by_row * (across @ rate[:, :, 0].T + upwards @ rate[:, :, 1].T), 0.0)

    parts = []
    for line in range(6):
        lines = sizes.lines.copy()
        lines[line] += NUDGE
        parts.append(by_change(replace(sizes, lines=lines)))
    share_of = np.where(skin[:, 0], by_place @ sizes.places, (feet.cap + 1) / 2)
    parts.append((-feet.normal[:, 0] * np.stack([1 - share_of, share_of])).T)
    values = flat_values(sizes)
    for i in range(len(values)):
        nudged = with_flat(sizes, values + NUDGE * (np.arange(len(values)) == i))
        parts.append(by_change(nudged).sum(axis=1, keepdims=True))
    return np.concatenate(parts, axis=1)


def _by_pose(cloud: Array, normal: Array) -> Array:
    """(k, 5): the same by small turns about x, y and z [rad] and moves along y and z [mm] of the points."""
    turn = np.cross(cloud, normal)
    return np.concatenate([turn, normal[:, 1:]], axis=1)


def _squares(by_lines: Array, by_pose: Array, off: Array, weight: Array) -> tuple[Array, Array]:
    """The normal equations (f + 5, f + 5) and (f + 5,) of the points alone."""
    jacobian = np.concatenate([by_lines, by_pose], axis=1)
    weighed = jacobian * weight[:, None]
    return weighed.T @ jacobian, -weighed.T @ off


def _step(sizes: Sizes, normal: Array, right: Array, price: Array, free: Array) -> Array:
    """One Gauss-Newton step of all that is free, and of the pose: lines stay fair unless the points say otherwise."""
    bends, now = bends_of(sizes)
    cost = np.tile(price[1:-1], len(bends) // (len(price) - 2))
    fair = np.concatenate([bends @ free, np.zeros((len(bends), 5))], axis=1) * cost[:, None]
    normal = normal + fair.T @ fair
    normal[np.diag_indices_from(normal)] += 1e-9 * np.trace(normal) / len(normal)
    return np.asarray(np.linalg.solve(normal, right - fair.T @ (now * cost)))


def _posed(cloud: Array, turn: Array, move: Array, pose: Array) -> tuple[Array, Array, Array]:
    """The points after a small turn and move, and what brings the given ones there."""
    x, y, z = pose[:3]
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    left, _, right = np.linalg.svd(np.eye(3) + skew)  # the nearest turn
    small = left @ right
    shift = np.array([0.0, *pose[3:]])
    return cloud @ small.T + shift, small @ turn, small @ move + shift
