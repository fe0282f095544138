"""Triangles in boxes of neighbours, with their sums: so laid out, a plane cut opens few of them.

Knows triangles. Knows nothing of shells (``hull.py``), nor of planes (``immersion.py``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.integrals import Array
from bodygen.form.triples import doubled_areas

Faces = NDArray[np.int64]

BLOCK = 16  # triangles a block; measured: 16 is the quickest of 8, 16, 32 and 64 for 5 k to 40 k triangles
_APART = np.sum([((np.arange(1024) >> bit) & 1) << (3 * bit) for bit in range(10)], axis=0)  # bits, two apart
PAIRS = ((0, 0), (0, 1), (0, 2), (0, 3), (1, 1), (1, 2), (1, 3), (2, 2), (2, 3), (3, 3))  # of (1, x, y, z)


@dataclass(frozen=True, slots=True)
class Blocks:
    """The triangles sorted into boxes of 16 neighbours, about ``Hull.origin``; b boxes, padded with empty triangles.

    corners (b, 16, 3, 3) [mm], area_vectors (b, 16, 3) times the shares [mm^2], means (b, 16, 10): averages over a
    triangle of the products ``PAIRS`` [mm^0 to mm^2]; sums (30, b): area vector times mean, summed over the box;
    centres and half_sizes (b, 3) of the boxes [mm].
    """

    corners: Array
    area_vectors: Array
    means: Array
    sums: Array
    centres: Array
    half_sizes: Array


def neighbours(corners: Array) -> Faces:
    """Which of the triangles (m, 3, 3) [mm] go into a box together: (b, 16) of their numbers, -1 where it is not full.

    Along the Z-order curve (G. M. Morton, 1966, from memory): near on it is near in space.

    Examples
    --------
    >>> far = np.arange(3)[:, None, None] * np.ones((3, 3, 3)) * 100.0
    >>> neighbours(far + np.eye(3))[0, :4].tolist()   # in a row
    [0, 1, 2, -1]
    """
    middles = corners.mean(axis=1)
    low, high = middles.min(axis=0), middles.max(axis=0)
    cells = ((middles - low) / np.maximum(high - low, 1e-9).max() * 1023).astype(np.int64)
    code = _APART[cells[:, 0]] | (_APART[cells[:, 1]] << 1) | (_APART[cells[:, 2]] << 2)
    order = np.argsort(code, kind="stable")
    padding = np.full(-len(order) % BLOCK, -1)
    return np.concatenate([order, padding]).reshape(-1, BLOCK)


def area_vectors_of(corners: Array) -> Array:
    """Outward normal times area (m, 3) [mm^2] of triangles (m, 3, 3) [mm]; elementary, half a cross product."""
    return doubled_areas(corners) / 2


def in_blocks(corners: Array, share: float, index: Faces) -> Blocks:
    """The triangles (m, 3, 3) [mm] in boxes, as ``neighbours`` has them."""
    packed = corners[np.where(index < 0, index[:, :1], index)]  # a pad repeats a corner of its own box, with no area
    packed[index < 0] = packed[index < 0][:, :1]
    flat = packed.reshape(-1, 3, 3)
    vectors = area_vectors_of(flat).reshape(-1, BLOCK, 3) * share
    means = triangle_means(flat.transpose(1, 2, 0)).T.reshape(-1, BLOCK, len(PAIRS))
    boxes = packed.reshape(-1, 3 * BLOCK, 3)
    box_low, box_high = boxes.min(axis=1), boxes.max(axis=1)
    return Blocks(
        corners=packed,
        area_vectors=vectors,
        means=means,
        sums=np.einsum("btd,btc->dcb", vectors, means).reshape(3 * len(PAIRS), -1),
        centres=(box_low + box_high) / 2,
        half_sizes=(box_high - box_low) / 2,
    )


def triangle_means(corners: Array) -> Array:
    r"""Averages of 1, x, y, z, xx, xy, ... over triangles, exact: (S S^T + sum q q^T) / 12 with q = (1, x, y, z).

    Parameters
    ----------
    corners : (3, 3, m) array
        Corners by coordinates by triangles [mm]; the triangles come last because that is three times as quick.

    Returns
    -------
    (10, m) array
        In the order of ``PAIRS`` [mm^0 to mm^2].

    References
    ----------
    A. H. Stroud, Approximate Calculation of Multiple Integrals, 1971, formula T2: 2-1 (from memory); checked in the
    tests by subdividing.

    Examples
    --------
    >>> corner = np.array([[0.0, 0, 0], [6, 0, 0], [0, 6, 0]])[:, :, None]
    >>> triangle_means(corner)[:6, 0].tolist()   # x: a/3, x x: a^2/6, x y: a^2/12
    [1.0, 2.0, 2.0, 0.0, 6.0, 3.0]
    """
    total = corners.sum(axis=0)
    means = np.empty((len(PAIRS), corners.shape[2]))
    means[0] = 1
    means[1:4] = total / 3
    for row, (i, j) in enumerate(PAIRS[4:], start=4):
        a, b = i - 1, j - 1
        means[row] = total[a] * total[b]
        for corner in corners:
            means[row] += corner[a] * corner[b]
    means[4:] /= 12
    return means
