"""Rows of sizes: what of a body the fit moves, and how far it may go.

Knows rows of back, belly, half width, widest line and squareness. Knows no points.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodygen.form.fairing.offsets import FoldError, Offsets, skin_through
from bodygen.form.fairing.rows import between
from bodygen.form.section import half_section, handle_ratio, smaller_of

Array = NDArray[np.float64]
ROWS = 37
LINES = ("top", "bottom", "half", "share", "back", "belly")
"""The lines of a row: heights and half width [mm], the widest line's share of the depth, handle ratios [-]."""
USUAL_BEND = np.array([0.4, 0.4, 0.4, 0.02, 0.02, 0.02])
"""What a fair line's second difference from row to row is like: [mm] for heights and widths, else [-]."""
USUAL_STEP = 80.0 / 36
"""How far the rows of a usual bait are apart [mm]. Heights of closer rows differ by less: else a skin may run up and
down between them, near to every point and far from all of the body."""
SHARES, HANDLES = (0.1, 0.9), (0.02, 0.95)
LEAST_SIZE, LEAST_END = 0.02, 0.1
OPENING = 6
"""Rows from a point on that only ever open."""
FLAT_SHARES, LEAST_RADIUS = (0.02, 0.95), 0.3
MOST_STEP = 3.0
BESIDE = 4
"""Rows on either side of a fold that are made fairer with it."""
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


def free_of(sizes: Sizes) -> Array:
    """(6 m + 2 + flats, f): how the lines' values, the nose's and the tail's x follow from what is free to move.

    A closed end is one point on the axis, a plane one has its middle there: where the axis runs is the pose's affair.
    """
    m = len(sizes.places)
    whole = np.eye(6 * m + 2 + len(flat_values(sizes)))
    drop = []
    for row, closed in ((0, sizes.closed[0]), (m - 1, sizes.closed[1])):
        if closed:
            drop += [row, m + row, 2 * m + row]
        else:
            whole[m + row, row] = -1.0
            drop.append(m + row)
    return np.delete(whole, drop, axis=1)


def polygons_of(sizes: Sizes) -> Array:
    """Control points of the half sections (m, 3 s + 1, 2) of (y, z) [mm]."""
    top, bottom, half, share, back, belly = sizes.lines
    return half_section(half, top, bottom, bottom + share * (top - bottom), (back, belly), flats_of(sizes))


def flat_values(sizes: Sizes) -> Array:
    """What of the flats is free: their share of the depth [-], where they have one, and the edges' radius [mm]."""
    return np.array([v for v in sizes.flat or () if v is not None])


def with_flat(sizes: Sizes, values: Array) -> Sizes:
    """The sizes with other flats, as ``flat_values`` lists them, kept within what flats can be."""
    if sizes.flat is None:
        return sizes
    height = None
    if sizes.flat[0] is not None:  # a share goes by smaller steps than a length
        height = float(
            np.clip(values[0], max(FLAT_SHARES[0], sizes.flat[0] - 0.15), min(FLAT_SHARES[1], sizes.flat[0] + 0.15))
        )
    return replace(sizes, flat=(height, max(float(values[-1]), LEAST_RADIUS)))


def bends_of(sizes: Sizes) -> tuple[Array, Array]:
    """Second differences of the lines over the rows, in usual bends (6 (m - 2), ...), and what they are now."""
    m = len(sizes.places)
    extra = 2 + len(flat_values(sizes))
    second = np.diff(np.eye(m), n=2, axis=0)
    matrix = np.zeros((6 * (m - 2), 6 * m + extra))
    closer = min(1.0, (sizes.tail - sizes.nose) / (m - 1) / USUAL_STEP)
    for line, usual in enumerate(USUAL_BEND * (closer, closer, closer, 1.0, 1.0, 1.0)):
        matrix[line * (m - 2) : (line + 1) * (m - 2), line * m : (line + 1) * m] = second / usual
    return matrix, matrix[:, :-extra] @ sizes.lines.ravel()


def folding_rows(sizes: Sizes) -> NDArray[np.bool_]:
    """Which rows (m,) stand where the surface through all of them folds, or beside such a place."""
    try:
        skin_through(sizes.offsets())
    except FoldError as fold:
        at = int(np.searchsorted(sizes.places, fold.x / (sizes.tail - sizes.nose)))
        near: NDArray[np.bool_] = np.abs(np.arange(len(sizes.places)) - at + 0.5) < BESIDE
        return near
    return np.zeros(len(sizes.places), dtype=bool)


def moved_by(sizes: Sizes, change: Array) -> Sizes:
    """The sizes after a step, kept within what a body can be."""
    count = sizes.lines.size
    lines = sizes.lines + np.clip(change[:count].reshape(6, -1), -MOST_STEP, MOST_STEP)
    sizes = with_flat(sizes, flat_values(sizes) + np.clip(change[count + 2 :], -MOST_STEP, MOST_STEP))
    inner = slice(1, -1)
    lines[0, inner] = np.maximum(lines[0, inner], lines[1, inner] + 2 * LEAST_SIZE)
    lines[2, inner] = np.maximum(lines[2, inner], LEAST_SIZE)
    for row, closed in ((0, sizes.closed[0]), (-1, sizes.closed[1])):
        if not closed:  # a sawn end stays one, its middle on the axis
            lines[0, row], lines[2, row] = np.maximum(lines[[0, 2], row], LEAST_END)
            lines[1, row] = -lines[0, row]
    for end, closed in ((slice(None, OPENING), sizes.closed[0]), (slice(None, -OPENING - 1, -1), sizes.closed[1])):
        if closed:  # a body opens from its point on: within a scanner's scatter of it only that is known
            lines[[0, 2], end] = np.maximum.accumulate(lines[[0, 2], end], axis=1)
            lines[1, end] = np.minimum.accumulate(lines[1, end])
    lines[3] = np.clip(lines[3], *SHARES)
    lines[4:] = np.clip(lines[4:], *HANDLES)
    nose, tail = change[count : count + 2]
    return replace(sizes, lines=lines, nose=sizes.nose + float(nose), tail=sizes.tail + float(tail))


def rows_along(length: float, blunt: tuple[float, float], count: int = ROWS) -> Array:
    """Places of rows as shares of the length (m,) [-]: closer together towards round ends."""
    steps = np.linspace(0, 1, count)
    x = between(np.zeros(count), np.full(count, length), steps, length, blunt) / length
    x[0], x[-1] = 0.0, 1.0
    return x
