"""Triangles in boxes of neighbours, with their sums: so laid out, a plane cut opens few of them.

Knows triangles, and what a plane cuts off them. Knows nothing of shells (``hull.py``), nor of what the sums are taken
for (``immersion.py``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.integrals import Array
from bodygen.form.triples import corner_rows

Faces = NDArray[np.int64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

BLOCK = 16  # triangles a block; measured: 16 is the quickest of 8, 16, 32 and 64 for 5 k to 40 k triangles
_APART = np.sum([((np.arange(1024) >> bit) & 1) << (3 * bit) for bit in range(10)], axis=0)  # bits, two apart
FEW_BOXES, FEW_AT_ONCE = 200, 3000  # measured: so few are all opened, for to look for those that are met takes longer
OPENED_AT_ONCE = 1000  # boxes: what they take, whatever the number of planes, stays in the processor's cache
PRODUCT = 80_000  # vertices times planes: a matrix product of more may start threads
ON_MM = 1e-9  # a box that rounding alone keeps off the plane is opened as its neighbours are: the waterline must close

# by the bits of which corners of a triangle are wet: whether the lone one adds or takes away, the three from it on
_SIGN = np.array([0.0, 1, 1, -1, 1, -1, -1, 0])
_PARTS = np.array([1, 4, 4, 4, 2, 6, 6, 12, 12, 12])  # of which ``_corners`` gives the sums
_ORDER = (np.array([0, 0, 1, 2, 2, 1, 0, 0]) + np.arange(3)[:, None]) % 3


@dataclass(frozen=True, slots=True)
class Blocks:
    """The triangles sorted into boxes of 16 neighbours; b boxes, padded with empty triangles.

    corners (3, b, 16): the vertices' numbers; cones (4, b, 16): volume and first moments of the cone from the origin to
    each triangle, times the share [mm^3, mm^4]; sums (4, b): the same summed over the box; shares (b,) [-]; centres and
    half_sizes (b, 3) of the boxes [mm]. All about ``Hull.origin``.
    """

    corners: Faces
    cones: Array
    sums: Array
    shares: Array
    centres: Array
    half_sizes: Array


def neighbours(vertices: Array, faces: Faces) -> Faces:
    """Which faces (m, 3) over vertices (n, 3) [mm] go into a box together: (b, 16) of them, -1 where it is not full.

    Along the Z-order curve (G. M. Morton, 1966, from memory): near on it is near in space.

    Examples
    --------
    >>> far = np.repeat(np.arange(3.0), 3)[:, None] * 100 + np.tile(np.eye(3), (3, 1))
    >>> neighbours(far, np.arange(9).reshape(3, 3))[0, :4].tolist()   # in a row
    [0, 1, 2, -1]
    """
    # each coordinate by itself: numpy is several times as quick along rows without a gap
    middles = np.sum(corner_rows(vertices, faces), axis=1) / 3
    lows = middles.min(axis=1, keepdims=True)
    widest = max(float((middles - lows).max()), 1e-9)
    x, y, z = _APART[((middles - lows) / widest * 1023).astype(np.int64)]
    code = x | (y << 1) | (z << 2)
    codes = (code << 32) | np.arange(len(code))  # to sort numbers takes a third of the time of sorting places by them
    codes.sort()
    order = codes & 0xFFFFFFFF
    padding = np.full(-len(order) % BLOCK, -1)
    return np.concatenate([order, padding]).reshape(-1, BLOCK)


def in_blocks(vertices: Array, faces: Faces, share: float, index: Faces) -> Blocks:
    """Faces (m, 3) over vertices (n, 3) [mm, from the origin] in boxes as ``neighbours`` has them; elementary cones."""
    packed = np.take(faces.T, np.where(index < 0, index[:, :1], index), axis=1)
    packed[1:, index < 0] = packed[0, index < 0]  # a pad is a corner of its own box, with no area
    # each coordinate by itself: numpy is several times as quick along rows without a gap
    places = np.take(np.ascontiguousarray(vertices.T), packed, axis=1)
    a, b, c = places[:, 0], places[:, 1], places[:, 2]
    (x, y, z), (bx, by, bz), (cx, cy, cz) = a, b - a, c - a
    cones = np.empty((4, *index.shape))
    volume = (x * (by * cz - bz * cy) + y * (bz * cx - bx * cz) + z * (bx * cy - by * cx)) * (share / 6)
    cones[0] = volume
    cones[1:] = (a + b + c) * (volume / 4)
    low = np.minimum(np.minimum(a, b), c).min(axis=2).T
    high = np.maximum(np.maximum(a, b), c).max(axis=2).T
    return Blocks(
        corners=packed,
        cones=cones,
        sums=cones.sum(axis=2),
        shares=np.full(len(index), share),
        centres=(low + high) / 2,
        half_sizes=(high - low) / 2,
    )


def cut_skin(blocks: Blocks, places: Array, axes: Array, level: Array) -> tuple[Array, Array]:
    """What the skin under each of k planes adds up to: whole triangles (k, 4), and what is cut off others (k, 10).

    Derived here; held in the tests of ``immerse`` against closed forms.

    Parameters
    ----------
    blocks : Blocks
        The triangles.
    places : (3, n) array
        Their vertices from the origin [mm].
    axes : (k, 3, 3) array
        Unit vectors as rows: two horizontal ones, and up [-].
    level : (k,) array
        The water stands where up . place = level [mm].

    Returns
    -------
    wet, cut : (k, 4), (k, 10) arrays
        Volume and first moments of the cones from the origin [mm^3, mm^4], in body axes; the same in ``axes`` and over
        the water, and the waterplane's sums of 1, x_1, x_2, x_1 x_1, x_1 x_2, x_2 x_2 [mm^2 to mm^4].
    """
    up, count = axes[:, 2], places.shape[1]
    wet, cut = np.zeros((len(up), 4)), np.zeros((len(up), 10))
    if len(blocks.shares) <= FEW_BOXES:
        at_once = max(1, min(FEW_AT_ONCE // len(blocks.shares), PRODUCT // count))
        for start in range(0, len(up), at_once):
            few = slice(start, start + at_once)
            wet[few], cut[few] = _all_opened(blocks, places, axes[few], level[few])
        return wet, cut / _PARTS
    middle = up @ blocks.centres.T - level[:, None]
    reach = np.abs(up) @ blocks.half_sizes.T + ON_MM
    # einsum, because a matrix product of this size starts threads, which wait on each other when the machine is busy
    wet[:] = np.einsum("kb,cb->kc", (middle < -reach).astype(np.float64), blocks.sums)
    met = np.abs(middle) <= reach
    at_once = max(1, min(OPENED_AT_ONCE * len(up) // max(1, int(np.count_nonzero(met))), PRODUCT // count))
    for start in range(0, len(up), at_once):
        few = slice(start, start + at_once)
        opened, cut[few] = _opened(blocks, places, axes[few], level[few], *np.nonzero(met[few]))
        wet[few] += opened
    return wet, cut / _PARTS


def _all_opened(blocks: Blocks, places: Array, axes: Array, level: Array) -> tuple[Array, Array]:
    """``cut_skin`` of a small hull, all boxes opened: to find those that are met takes longer."""
    there = _from_water(places, axes, level)
    corners, cones = blocks.corners.reshape(3, -1), blocks.cones.reshape(4, -1)
    planes, count = len(level), corners.shape[1]
    below = there[2] < 0
    which, at = _cut_ones(*(np.take(below, row, axis=1) for row in corners))
    starts = np.searchsorted(at, np.arange(planes + 1) * count)
    owner = np.repeat(np.arange(planes), np.diff(starts))
    triangle, code = at - owner * count, which.ravel()[at].astype(np.intp)
    corner = np.take(corners, np.take(_ORDER * count, code, axis=1) + triangle) + owner * places.shape[1]
    sign = _SIGN[code]
    cone, share = cones[0, triangle] * sign, blocks.shares[triangle // BLOCK] * sign
    cut = _corners(there.reshape(3, -1), corner, cone, share)
    return _mostly_wet(which) @ cones.T, _by_plane(cut, starts)  # too small a product to start threads


def _opened(
    blocks: Blocks, places: Array, axes: Array, level: Array, plane: Indices, box: Indices
) -> tuple[Array, Array]:
    """``cut_skin`` of the boxes that a plane meets, given as pairs of plane and box."""
    there = _from_water(places, axes, level)
    corners = np.take(blocks.corners, box, axis=1)
    corners += (plane * places.shape[1])[:, None]  # where each stands among the places over all planes
    which, at = _cut_ones(*np.take(there[2] < 0, corners))
    cones, starts = np.take(blocks.cones, box, axis=1), np.searchsorted(plane, np.arange(len(level) + 1)) * BLOCK
    code = which.ravel()[at].astype(np.intp)
    corner = np.take(corners, np.take(_ORDER * which.size, code, axis=1) + at)
    sign = _SIGN[code]
    cone, share = np.take(cones[0], at) * sign, blocks.shares[box][at // BLOCK] * sign
    cut = _corners(there.reshape(3, -1), corner, cone, share)
    cones *= _mostly_wet(which)
    return _by_plane(cones.reshape(4, -1), starts), _by_plane(cut, np.searchsorted(at, starts))


def _from_water(places: Array, axes: Array, level: Array) -> Array:
    """Where the vertices stand (3, k, n) [mm]: along the horizontal axes from the origin, and over the water."""
    # the planes of one call are few enough for no product to start threads; one product of a row and a matrix would
    there = (axes[0] @ places)[:, None] if len(axes) == 1 else axes.transpose(1, 0, 2) @ places
    there[2] -= level[:, None]
    return there


def _cut_ones(first: Flags, second: Flags, third: Flags) -> tuple[NDArray[np.uint8], Indices]:
    """Which corners of triangles are wet, as bits; where among them (m,), flattened, are those that the water cuts."""
    which = third.view(np.uint8) * np.uint8(4)
    which += second.view(np.uint8) * np.uint8(2)
    which += first.view(np.uint8)
    return which, np.flatnonzero((which != 0) & (which != 7))


def _mostly_wet(which: NDArray[np.uint8]) -> Array:
    """Whether two corners or more are wet, as 0 and 1."""
    wet: Array = ((which > 2) & (which != 4)).astype(np.float64)
    return wet


def _corners(there: Array, corner: Indices, cone: Array, share: Array) -> Array:
    """What m corners cut off triangles add to ``cut_skin``'s sums (10, m), times ``_PARTS``.

    ``there`` (3, n) are places as ``_from_water`` gives them, ``corner`` (3, m) numbers of them, the lone corner first;
    the whole triangles' ``cone`` volumes (m,) and ``share`` (m,) are negative where the lone corner is dry: such a
    triangle is counted as a whole, less its corner. Closed forms for a cone and for a triangle between the origin and a
    piece of the waterline.
    """
    x, y, over = there[0][corner], there[1][corner], there[2][corner]
    cut = over[0] / (over[0] - over[1:])
    (x1, x2), (y1, y2) = (a[0] + cut * (a[1:] - a[0]) for a in (x, y))
    left, right = x2 * y1, x1 * y2
    turn, across, along = share * (left - right), x1 + x2, y1 + y2  # twice the triangle's area
    sums = np.empty((10, len(cone)))
    cone = np.multiply(cone * cut[0], cut[1], out=sums[0])
    sums[1], sums[2], sums[3] = cone * (x[0] + across), cone * (y[0] + along), cone * over[0]
    sums[4], sums[5], sums[6] = turn, turn * across, turn * along
    sums[7], sums[9] = turn * (across * across - x1 * x2), turn * (along * along - y1 * y2)
    sums[8] = turn * (across * along - 0.5 * (left + right))
    return sums


def _by_plane(rows: Array, starts: Indices) -> Array:
    """Sums (k, c) over the columns of rows (c, m) from each of the starts (k + 1,) to the next."""
    sums = np.zeros((len(starts) - 1, len(rows)))
    some = starts[1:] > starts[:-1]
    if some.any():
        sums[some] = np.add.reduceat(rows, starts[:-1][some], axis=1).T
    return sums
