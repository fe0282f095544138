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
from bodygen.form.fairing.offsets import Offsets, surface_through
from bodygen.form.fairing.rows import between
from bodygen.form.section import half_section, handle_ratio, smaller_of
from bodygen.scan.cloud.feet import Feet, around_weights, feet_of

Array = NDArray[np.float64]
ROWS = 37
LINES = ("top", "bottom", "half", "share", "back", "belly")
"""The lines of a row: heights and half width [mm], the widest line's share of the depth, handle ratios [-]."""
USUAL_BEND = np.array([0.4, 0.4, 0.4, 0.02, 0.02, 0.02])
"""What a fair line's second difference from row to row is like: [mm] for heights and widths, else [-]."""
LEAST_NOISE = 0.01
SHARES, HANDLES = (0.1, 0.9), (0.02, 0.95)
LEAST_SIZE = 0.02
OPENING = 6
"""Rows from a point on that only ever open."""
FLAT_SHARES, LEAST_RADIUS = (0.02, 0.95), 0.3
NUDGE = 1e-4
MOST_STEP = 3.0
STEPS = 8
_SQUARES = np.geomspace(1.0, 10.0, 400)
_RATIOS = np.array([handle_ratio(float(n)) for n in _SQUARES])


@dataclass(frozen=True, slots=True, eq=False)
class Sizes:
    """Rows of a body: ``places`` (m,) shares of the way from ``nose`` to ``tail`` [mm]; ``lines`` (6, m) as ``LINES``.

    ``closed`` and ``rounded`` tell of nose and tail whether they end in a point, and whether that is round. ``flat`` is
    of flanks that are sawn flat: the flat's share of the depth [-], None where the radius leaves it, and the edges'
    radius [mm].
    """

    places: Array
    lines: Array
    nose: float
    tail: float
    closed: tuple[bool, bool]
    rounded: tuple[bool, bool]
    flat: tuple[float | None, float] | None = None

    def offsets(self) -> Offsets:
        """The table of offsets, x from the nose [mm]."""
        top, bottom, half, share, back, belly = self.lines
        x = self.places * (self.tail - self.nose)
        above, below = (np.interp(k, _RATIOS, _SQUARES) for k in (back, belly))
        return Offsets(
            x, top, bottom, half, bottom + share * (top - bottom), above, below, flats_of(self),
            nose_round=self.rounded[0], tail_round=self.rounded[1],
        )  # fmt: skip


def flats_of(sizes: Sizes) -> tuple[Array, Array, Array] | None:
    """Straight runs above, below and across (m,) [mm], as a recipe's ``flat_side`` has them; None without one."""
    if sizes.flat is None:
        return None
    height, radius = sizes.flat
    top, bottom, half, share, _, _ = sizes.lines
    depth = top - bottom
    up, down = (1 - share) * depth, share * depth
    across = np.maximum(half - smaller_of(half, radius), 0.0)
    if height is not None:
        return up * height, down * height, across
    above, below = (side - smaller_of(np.maximum(side, 1e-12), radius) for side in (up, down))
    return np.maximum(above, 0.0), np.maximum(below, 0.0), across


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


def fit_surface(points: Array, weights: Array, start: Sizes, within: tuple[float, ...], stiff: float = 1.0) -> SkinFit:
    """Fit the surface to points (k, 3) [mm], each counted by its weight (k,) [-].

    Parameters
    ----------
    start : Sizes
        Where to begin.
    within : tuple of float
        One round of steps for each: points farther away than that [mm] do not count in it.
    stiff : float
        How many times as much a bend costs as usual [-].
    """
    sizes, turn, move = start, np.eye(3), np.zeros(3)
    cloud, noise, counted = points, 0.3, np.ones(len(points))
    free = _free(sizes)
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
            step = _step(sizes, by_lines @ free, by_pose, feet.off, weights * counted, noise * stiff, free)
            change, pose = free @ step[:-5], step[-5:]
            sizes = _moved(sizes, change)
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


def _median(values: Array, weights: Array) -> float:
    if not len(values):
        return 0.0
    order = np.argsort(values)
    passed = np.cumsum(weights[order])
    return float(values[order[np.searchsorted(passed, passed[-1] / 2)]])


def _free(sizes: Sizes) -> Array:
    """(6 m + 2 + flats, f): how the lines' values, the nose's and the tail's x follow from what is free to move.

    A closed end is one point on the axis, a plane one has its middle there: where the axis runs is the pose's affair.
    """
    m = len(sizes.places)
    whole = np.eye(6 * m + 2 + len(_flat_values(sizes)))
    drop = []
    for row, closed in ((0, sizes.closed[0]), (m - 1, sizes.closed[1])):
        if closed:
            drop += [row, m + row, 2 * m + row]
        else:
            whole[m + row, row] = -1.0
            drop.append(m + row)
    return np.delete(whole, drop, axis=1)


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
    at = _polygons(sizes)
    across, upwards = around * feet.normal[:, 1:2], around * feet.normal[:, 2:3]

    def by_change(nudged: Sizes) -> Array:
        rate = (_polygons(nudged) - at) / NUDGE
        return -np.where(skin, by_row * (across @ rate[:, :, 0].T + upwards @ rate[:, :, 1].T), 0.0)

    parts = []
    for line in range(6):
        lines = sizes.lines.copy()
        lines[line] += NUDGE
        parts.append(by_change(replace(sizes, lines=lines)))
    share_of = np.where(skin[:, 0], by_place @ sizes.places, (feet.cap + 1) / 2)
    parts.append((-feet.normal[:, 0] * np.stack([1 - share_of, share_of])).T)
    values = _flat_values(sizes)
    for i in range(len(values)):
        nudged = _with_flat(sizes, values + NUDGE * (np.arange(len(values)) == i))
        parts.append(by_change(nudged).sum(axis=1, keepdims=True))
    return np.concatenate(parts, axis=1)


def _polygons(sizes: Sizes) -> Array:
    """Control points of the half sections (m, 3 s + 1, 2) of (y, z) [mm]."""
    top, bottom, half, share, back, belly = sizes.lines
    return half_section(half, top, bottom, bottom + share * (top - bottom), (back, belly), flats_of(sizes))


def _flat_values(sizes: Sizes) -> Array:
    return np.array([v for v in sizes.flat or () if v is not None])


def _with_flat(sizes: Sizes, values: Array) -> Sizes:
    if sizes.flat is None:
        return sizes
    height = None
    if sizes.flat[0] is not None:  # a share goes by smaller steps than a length
        height = float(
            np.clip(values[0], max(FLAT_SHARES[0], sizes.flat[0] - 0.15), min(FLAT_SHARES[1], sizes.flat[0] + 0.15))
        )
    return replace(sizes, flat=(height, max(float(values[-1]), LEAST_RADIUS)))


def _by_pose(cloud: Array, normal: Array) -> Array:
    """(k, 5): the same by small turns about x, y and z [rad] and moves along y and z [mm] of the points."""
    turn = np.cross(cloud, normal)
    return np.concatenate([turn, normal[:, 1:]], axis=1)


def _step(sizes: Sizes, by_lines: Array, by_pose: Array, off: Array, weight: Array, noise: float, free: Array) -> Array:
    """One Gauss-Newton step of all that is free, and of the pose: lines stay fair unless the points say otherwise."""
    jacobian = np.concatenate([by_lines, by_pose], axis=1)
    weighed = jacobian * weight[:, None]
    normal = weighed.T @ jacobian
    right = -weighed.T @ off
    bends, now = _bends(sizes)
    fair = np.concatenate([bends @ free, np.zeros((len(bends), 5))], axis=1) * noise
    normal += fair.T @ fair
    right -= fair.T @ (now * noise)
    normal[np.diag_indices_from(normal)] += 1e-9 * np.trace(normal) / len(normal)
    return np.linalg.solve(normal, right)


def _bends(sizes: Sizes) -> tuple[Array, Array]:
    """Second differences of the lines over the rows, in usual bends (6 (m - 2), ...), and what they are now."""
    m = len(sizes.places)
    extra = 2 + len(_flat_values(sizes))
    second = np.diff(np.eye(m), n=2, axis=0)
    matrix = np.zeros((6 * (m - 2), 6 * m + extra))
    for line, usual in enumerate(USUAL_BEND):
        matrix[line * (m - 2) : (line + 1) * (m - 2), line * m : (line + 1) * m] = second / usual
    return matrix, matrix[:, :-extra] @ sizes.lines.ravel()


def _moved(sizes: Sizes, change: Array) -> Sizes:
    """The sizes after a step, kept within what a body can be."""
    count = sizes.lines.size
    lines = sizes.lines + np.clip(change[:count].reshape(6, -1), -MOST_STEP, MOST_STEP)
    sizes = _with_flat(sizes, _flat_values(sizes) + np.clip(change[count + 2 :], -MOST_STEP, MOST_STEP))
    inner = slice(1, -1)
    lines[0, inner] = np.maximum(lines[0, inner], lines[1, inner] + 2 * LEAST_SIZE)
    lines[2, inner] = np.maximum(lines[2, inner], LEAST_SIZE)
    for end, closed in ((slice(None, OPENING), sizes.closed[0]), (slice(None, -OPENING - 1, -1), sizes.closed[1])):
        if closed:  # a body opens from its point on: within a scanner's scatter of it only that is known
            lines[[0, 2], end] = np.maximum.accumulate(lines[[0, 2], end], axis=1)
            lines[1, end] = np.minimum.accumulate(lines[1, end])
    lines[3] = np.clip(lines[3], *SHARES)
    lines[4:] = np.clip(lines[4:], *HANDLES)
    nose, tail = change[count : count + 2]
    return replace(sizes, lines=lines, nose=sizes.nose + float(nose), tail=sizes.tail + float(tail))


def _posed(cloud: Array, turn: Array, move: Array, pose: Array) -> tuple[Array, Array, Array]:
    """The points after a small turn and move, and what brings the given ones there."""
    x, y, z = pose[:3]
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    left, _, right = np.linalg.svd(np.eye(3) + skew)  # the nearest turn
    small = left @ right
    shift = np.array([0.0, *pose[3:]])
    return cloud @ small.T + shift, small @ turn, small @ move + shift


def rows_along(length: float, blunt: tuple[float, float], count: int = ROWS) -> Array:
    """Places of rows as shares of the length (m,) [-]: closer together towards round ends."""
    steps = np.linspace(0, 1, count)
    x = between(np.zeros(count), np.full(count, length), steps, length, blunt) / length
    x[0], x[-1] = 0.0, 1.0
    return x
