"""Triangles in boxes of neighbours, with their sums: so laid out, a plane cut opens few of them.

Knows triangles. Knows nothing of shells (``hull.py``), nor of planes (``immersion.py``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.integrals import Array
from bodygen.form.triples import corner_rows

Faces = NDArray[np.int64]

BLOCK = 16  # triangles a block; measured: 16 is the quickest of 8, 16, 32 and 64 for 5 k to 40 k triangles
_APART = np.sum([((np.arange(1024) >> bit) & 1) << (3 * bit) for bit in range(10)], axis=0)  # bits, two apart


@dataclass(frozen=True, slots=True)
class Blocks:
    """The triangles sorted into boxes of 16 neighbours; b boxes, padded with empty triangles.

    corners (5, b, 16): the vertices' numbers, the first two once more, so that three in a row begin with any of them;
    cones (b, 16, 4): volume and first moments of the cone from the origin to each triangle, times the share [mm^3,
    mm^4]; sums (4, b): the same summed over the box; shares (b,) [-]; centres and half_sizes (b, 3) of the boxes [mm].
    All about ``Hull.origin``.
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
    order = np.argsort(code, kind="stable")
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
    cones = np.empty((*index.shape, 4))
    volume = (x * (by * cz - bz * cy) + y * (bz * cx - bx * cz) + z * (bx * cy - by * cx)) * (share / 6)
    cones[..., 0] = volume
    cones[..., 1:] = ((a + b + c) * (volume / 4)).transpose(1, 2, 0)
    low = np.minimum(np.minimum(a, b), c).min(axis=2).T
    high = np.maximum(np.maximum(a, b), c).max(axis=2).T
    return Blocks(
        corners=np.concatenate([packed, packed[:2]]),
        cones=cones,
        sums=np.ascontiguousarray(cones.sum(axis=1).T),
        shares=np.full(len(index), share),
        centres=(low + high) / 2,
        half_sizes=(high - low) / 2,
    )
