"""A patch of skin laid flat, as true to length as it can be, and how far from true that is.

A curved skin has no true flat pattern (only one that is curved one way at a time does, like a cylinder or a cone). The
pattern here is the one whose triangles are, in all, least strained against rigid copies of those on the skin; on a
developable skin that is the exact development. The strain left is computed, not guessed: in each triangle, the greatest
and the least stretch in any direction.

References
----------
L. Liu et al., "A local/global approach to mesh parameterization", Computer Graphics Forum 27 (2008) 1495-1504: the
energy and the two alternating steps (from memory). U. Pinkall, K. Polthier, Experimental Mathematics 2 (1993) 15-36:
the cotangent weights (from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.integrals import Array

Complex = NDArray[np.complex128]
ROUNDS = 300
SETTLED_MM = 1e-5
EDGES = ((0, 1), (1, 2), (2, 0))
"""Corners at the ends of a triangle's edges."""


@dataclass(frozen=True, slots=True, eq=False)
class Film:
    """A patch of (m, k) points laid flat.

    ``flat`` (m, k, 2) [mm], the first index along x to the right, the second upwards. ``stretch`` (t, 2): in each
    triangle the greatest and the least length on the film over the same on the skin [-]; ``area`` (t,) of the triangles
    on the skin [mm^2].
    """

    flat: Array
    stretch: Array
    area: Array

    @property
    def greatest_error(self) -> float:
        """Of any short length, anywhere in any direction, as a share of it [-]."""
        return float(np.abs(self.stretch - 1).max())

    @property
    def mean_error(self) -> float:
        """Of the worse direction, over the patch's area [-]."""
        return float(np.average(np.abs(self.stretch - 1).max(axis=1), weights=self.area))

    def at(self, row: Array, column: Array) -> Array:
        """Flat place (p, 2) [mm] of rows and columns with their fractions (p,)."""
        i = np.clip(row.astype(int), 0, self.flat.shape[0] - 2)
        j = np.clip(column.astype(int), 0, self.flat.shape[1] - 2)
        a, b = (row - i)[:, None], (column - j)[:, None]
        near = (1 - b) * self.flat[i, j] + b * self.flat[i, j + 1]
        far = (1 - b) * self.flat[i + 1, j] + b * self.flat[i + 1, j + 1]
        return np.asarray((1 - a) * near + a * far)


def laid_flat(points: Array) -> Film:
    """Lay a grid of skin flat.

    Parameters
    ----------
    points : (m, k, 3) array
        m >= 2 rows of k >= 2 points, no two neighbours alike [mm].

    Returns
    -------
    Film
        Turned so that its middle row of points runs to the right.
    """
    rows, columns = points.shape[:2]
    triangles = _triangles(rows, columns)
    corners, weights = _corners(points.reshape(-1, 3)[triangles])
    solve = _solver(rows, columns, triangles, weights)
    flat, where = _start(points), triangles.reshape(-1)
    for _ in range(ROUNDS):
        turned = _turns(flat[triangles], corners, weights)
        pulls = [weights[:, e] * turned * (corners[:, a] - corners[:, b]) for e, (a, b) in enumerate(EDGES)]
        pull = np.stack([pulls[0] - pulls[2], pulls[1] - pulls[0], pulls[2] - pulls[1]], axis=1).reshape(-1)
        size = rows * columns
        right = np.bincount(where, pull.real, size) + 1j * np.bincount(where, pull.imag, size)
        before, flat = flat, solve(right)
        if np.abs((flat - flat.mean()) - (before - before.mean())).max() < SETTLED_MM:
            break
    grid = flat.reshape(rows, columns)
    middle = grid[:, columns // 2]
    grid = (grid - middle[0]) * np.exp(-1j * np.angle(middle[-1] - middle[0]))
    stretch, area = _stretch(grid.reshape(-1)[triangles], corners)
    return Film(np.stack([grid.real, grid.imag], axis=2), stretch, area)


def _triangles(rows: int, columns: int) -> NDArray[np.int64]:
    """Two to a cell, the diagonals by turns; counter-clockwise with rows to the right and columns upwards."""
    i = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = i[:-1, :-1], i[1:, :-1], i[1:, 1:], i[:-1, 1:]
    even = ((np.arange(rows - 1)[:, None] + np.arange(columns - 1)) % 2 == 0)[..., None]
    first = np.where(even, np.stack([a, b, c], -1), np.stack([a, b, d], -1))
    second = np.where(even, np.stack([a, c, d], -1), np.stack([b, c, d], -1))
    return np.concatenate([first.reshape(-1, 3), second.reshape(-1, 3)])


def _corners(skin: Array) -> tuple[Complex, Array]:
    """Each triangle laid flat by itself (t, 3) [mm], and half the cotangent opposite each edge 01, 12, 20 (t, 3)."""
    side, other = skin[:, 1] - skin[:, 0], skin[:, 2] - skin[:, 0]
    length = np.linalg.norm(side, axis=1)
    along = (side * other).sum(axis=1) / length
    across = np.linalg.norm(np.cross(side, other), axis=1) / length
    corners = np.stack([np.zeros(len(skin), dtype=complex), length + 0j, along + 1j * across], axis=1)
    weights = []
    for apex, a, b in ((2, 0, 1), (0, 1, 2), (1, 2, 0)):
        product = np.conj(corners[:, a] - corners[:, apex]) * (corners[:, b] - corners[:, apex])
        weights.append(product.real / np.maximum(product.imag, 1e-12) / 2)
    return corners, np.stack(weights, axis=1)


def _start(points: Array) -> Complex:
    """The middle row straight, each cross line straight and square to it, all three at their true lengths."""
    step = np.linalg.norm(np.diff(points[:, points.shape[1] // 2], axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(step)])
    girth = np.concatenate(
        [np.zeros((len(points), 1)), np.cumsum(np.linalg.norm(np.diff(points, axis=1), axis=2), axis=1)], axis=1
    )
    return np.asarray((along[:, None] + 1j * (girth - girth[:, points.shape[1] // 2, None])).reshape(-1))


def _turns(flat: Complex, corners: Complex, weights: Array) -> Complex:
    """The turn of each rigid triangle that fits its place on the film best: unit complex numbers (t,)."""
    total = np.zeros(len(flat), dtype=complex)
    for e, (a, b) in enumerate(EDGES):
        total += weights[:, e] * np.conj(corners[:, a] - corners[:, b]) * (flat[:, a] - flat[:, b])
    return np.asarray(total / np.maximum(np.abs(total), 1e-300))


def _stretch(flat: Complex, corners: Complex) -> tuple[Array, Array]:
    """Singular values (t, 2) of the map from each triangle on the skin to the film, and its area on the skin.

    A linear map of the plane is z -> p z + q conj(z); its singular values are abs(p) + abs(q) and abs(p) - abs(q).
    """
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    s, t = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    det = u * np.conj(v) - v * np.conj(u)
    p, q = (s * np.conj(v) - t * np.conj(u)) / det, (u * t - v * s) / det
    return np.stack([np.abs(p) + np.abs(q), np.abs(p) - np.abs(q)], axis=1), np.abs(det) / 4


def _solver(rows: int, columns: int, triangles: NDArray[np.int64], weights: Array) -> Callable[[Complex], Complex]:
    """Solve the cotangent Laplacian of the grid, row by row: a node's neighbours lie in its own row and beside it."""
    inside = np.zeros((rows, columns, columns))
    ahead = np.zeros((rows, columns, columns))  # from row i to row i + 1
    for e, (a, b) in enumerate(EDGES):
        p, q = triangles[:, a], triangles[:, b]
        for at in (p, q):
            np.add.at(inside, (at // columns, at % columns, at % columns), weights[:, e])
        low, high = np.minimum(p, q), np.maximum(p, q)
        same = low // columns == high // columns
        row, m, n, w = low // columns, low % columns, high % columns, weights[:, e]
        np.add.at(inside, (row[same], m[same], n[same]), -w[same])
        np.add.at(inside, (row[same], n[same], m[same]), -w[same])
        np.add.at(ahead, (row[~same], m[~same], n[~same]), -w[~same])
    inside[0, 0, 0] += 1.0  # one point held: the rest follows
    inverse = np.empty_like(inside)
    for i in range(rows):
        block = inside[i] - (ahead[i - 1].T @ inverse[i - 1] @ ahead[i - 1] if i else 0.0)
        inverse[i] = np.linalg.inv(block)

    def solve(right: Complex) -> Complex:
        grid = right.reshape(rows, columns).copy()
        for i in range(1, rows):
            grid[i] -= ahead[i - 1].T @ (inverse[i - 1] @ grid[i - 1])
        grid[-1] = inverse[-1] @ grid[-1]
        for i in range(rows - 2, -1, -1):
            grid[i] = inverse[i] @ (grid[i] - ahead[i] @ grid[i + 1])
        return grid.reshape(-1)

    return solve
