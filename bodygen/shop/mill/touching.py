"""Where a ball or a flat cutter that comes straight down first touches triangles: the height of its tip, and the place.

A triangle is touched on its face, along an edge or at a corner, and each has a closed form; the highest of them all is
the answer. Corners are looked at first, and of the triangles then only those that could be touched higher.
Knows no path and no stock; drop_cutter.py follows a path.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Mesh

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
_UPWARD = -1e-9
_UPRIGHT = 1e-7
"""Faces whose normal has less of z are as good as walls: what is touched of them is an edge."""
_CELLS = 3.0  # to a cutter's radius
_AT_ONCE = 50_000  # pairs of place and triangle: what they need stays in the processor's own memory
_INSIDE_MM2 = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class _Bins:
    """Square cells of the plan, each with what can be touched from within: ``who[first[c]:first[c + 1]]``."""

    origin: Array
    size: float
    shape: tuple[int, int]
    first: Indices
    who: Indices

    def pairs(self, places: Array) -> Iterator[tuple[Indices, Indices]]:
        """Places and things that may touch, by their numbers, so many at once; places in their order."""
        cell = np.floor((places - self.origin) / self.size)
        inside = ((cell >= 0) & (cell < self.shape)).all(axis=1)
        at = np.where(inside, cell[:, 0] * self.shape[1] + cell[:, 1], 0).astype(np.int64)
        counts = np.where(inside, self.first[at + 1] - self.first[at], 0)
        ends = np.cumsum(counts)
        begin = 0
        while begin < len(places):
            gone = int(ends[begin - 1]) if begin else 0
            end = max(begin + 1, int(np.searchsorted(ends, gone + _AT_ONCE, side="right")))
            some = counts[begin:end]
            place = np.repeat(np.arange(begin, end), some)
            if len(place):
                start = self.first[at[begin:end]] - (ends[begin:end] - some - gone)
                yield place, self.who[np.repeat(start, some) + np.arange(len(place))]
            begin = end


@dataclass(frozen=True, slots=True, eq=False)
class Facets:
    """Triangles made ready for one cutter: its shape and ``radius`` [mm], corners (t, 3, 3) [mm], normals (t, 3) [-].

    ``tops`` are the corners that any of them has (k, 3) [mm].
    """

    ball: bool
    radius: float
    corners: Array
    normals: Array
    box: Array  # (5, t): least x and y, greatest x and y, greatest z [mm]
    plane: Array  # (3, t): height of the tip over the plan's origin on each one's whole plane, its slopes along x and y
    tops: Array
    near: _Bins
    near_tops: _Bins


def facets_of(mesh: Mesh, radius: float, *, ball: bool) -> Facets:
    """Make a mesh ready to be touched from above; faces that look down are left out.

    Parameters
    ----------
    mesh : Mesh
        z up [mm].
    radius : float
        Of the cutter [mm].
    ball : bool
        Whether its end is a half ball; otherwise it is flat.
    """
    corners = mesh.vertices[mesh.faces]
    normal = doubled_areas(corners)
    size = np.linalg.norm(normal, axis=1)
    up = (normal[:, 2] > _UPWARD * size) & (size > 0)
    corners, normal = corners[up], normal[up] / size[up, None]
    tops = mesh.vertices[np.unique(mesh.faces[up])]
    low, high = corners.min(axis=1), corners.max(axis=1)
    box = np.concatenate([low[:, :2], high[:, :2], high[:, 2:]], axis=1).T.copy()
    bins = [_binned(a - radius, b + radius, radius / _CELLS) for a, b in ((box[:2].T, box[2:4].T), (tops[:, :2],) * 2)]
    return Facets(ball, radius, corners, normal, box, _planes(corners, normal, radius, ball=ball), tops, *bins)


def _planes(corners: Array, normal: Array, radius: float, *, ball: bool) -> Array:
    """Where the tip stands on the whole plane of each triangle, which is nowhere lower than on the triangle."""
    wall = normal[:, 2] < _UPRIGHT
    over = np.where(wall, 1.0, normal[:, 2])
    slope = -normal[:, :2] / over[:, None]
    rise = radius / over - radius if ball else radius * np.hypot(*slope.T)
    height = corners[:, 0, 2] - np.einsum("ij,ij->i", corners[:, 0, :2], slope) + rise
    return np.where(wall, np.array([[np.inf], [0.0], [0.0]]), np.stack([height, *slope.T]))


def _binned(low: Array, high: Array, size: float) -> _Bins:
    """Cells for things that can be touched from within boxes of the plan: (n, 2) least, (n, 2) greatest."""
    if not len(low):
        return _Bins(np.zeros(2), size, (0, 0), np.zeros(2, np.int64), np.zeros(0, np.int64))
    origin = low.min(axis=0)
    first, last = (np.floor((corner - origin) / size).astype(np.int64) for corner in (low, high))
    wide, deep = (last - first + 1).T
    rows, columns = (last.max(axis=0) + 1).tolist()
    counts = wide * deep
    who = np.repeat(np.arange(len(low)), counts)
    step = np.arange(len(who)) - np.repeat(np.cumsum(counts) - counts, counts)
    cell = (first[who, 0] + step // deep[who]) * columns + first[who, 1] + step % deep[who]
    order = np.argsort(cell, kind="stable")
    return _Bins(origin, size, (rows, columns), np.searchsorted(cell[order], np.arange(rows * columns + 1)), who[order])


def tips(facets: Facets, places: Array, lowest: float) -> tuple[Array, Array]:
    """Let a cutter down at (n, 2) places: heights (n,) of its tip, and (n, 3) where it touches [mm].

    Parameters
    ----------
    facets : Facets
        What it may touch.
    places : (n, 2)
        Where its axis comes down [mm].
    lowest : float
        Where nothing is touched higher than that, the tip stands here, and the place is nan [mm].

    Examples
    --------
    >>> flat = Mesh(np.array([[0.0, 0, 0], [9, 0, 0], [0, 9, 0]]), np.array([[0, 1, 2]]))
    >>> height, touch = tips(facets_of(flat, 5.0, ball=True), np.array([[3.0, 3.0], [-3.0, 0.0], [-9.0, 0.0]]), -7.0)
    >>> height.tolist(), touch[1].tolist()   # 3 mm beside the corner a ball of 5 mm is 4 mm higher at its middle
    ([0.0, -1.0, -7.0], [0.0, 0.0, 0.0])
    """
    height, touch = np.full(len(places), lowest), np.full((len(places), 3), np.nan)
    x, y = places.T
    r = facets.radius
    for place, who in facets.near_tops.pairs(places):
        top = facets.tops[who]
        square = r * r - (x[place] - top[:, 0]) ** 2 - (y[place] - top[:, 1]) ** 2
        tip = np.where(square >= 0, top[:, 2] + (np.sqrt(np.maximum(square, 0.0)) - r if facets.ball else 0.0), -np.inf)
        _take_highest(height, touch, place, tip, top)
    for place, who in facets.near.pairs(places):
        high, along_x, along_y = facets.plane[:, who]
        maybe = high + along_x * x[place] + along_y * y[place] > height[place]
        place, who = place[maybe], who[maybe]  # noqa: PLW2901  fewer of the same
        maybe = _bound(facets, who, x[place], y[place]) > height[place]
        place, who = place[maybe], who[maybe]  # noqa: PLW2901
        for touched in (_on_faces, _on_edges):
            row, tip, at = touched(facets, who, places[place])
            _take_highest(height, touch, place[row], tip, at)
    return height, touch


def _bound(facets: Facets, who: Indices, x: Array, y: Array) -> Array:
    """No tip stands higher on a triangle than on its box, filled to its top."""
    x0, y0, x1, y1, top = facets.box[:, who]
    away = np.maximum(np.maximum(x0 - x, x - x1), 0.0) ** 2 + np.maximum(np.maximum(y0 - y, y - y1), 0.0) ** 2
    square = facets.radius**2 - away
    if not facets.ball:
        return np.where(square >= 0, top, -np.inf)
    return np.where(square >= 0, top - facets.radius + np.sqrt(np.maximum(square, 0.0)), -np.inf)


def _take_highest(height: Array, touch: Array, place: Indices, tip: Array, at: Array) -> None:
    """Where a tip stands higher than any before, keep it, and what it touches."""
    better = np.flatnonzero(tip > height[place])
    place, tip = place[better], tip[better]
    np.maximum.at(height, place, tip)
    best = tip == height[place]
    touch[place[best]] = at[better[best]]


def _on_faces(facets: Facets, who: Indices, places: Array) -> tuple[Indices, Array, Array]:
    """Tips that touch within a triangle's face: which of the pairs, the tip's height, the place [mm]."""
    normal, corners, r = facets.normals[who], facets.corners[who], facets.radius
    if facets.ball:
        lean = r * normal[:, :2]
    else:
        flat = np.hypot(*normal[:, :2].T)
        lean = r * normal[:, :2] / np.where(flat > _UPRIGHT, flat, np.inf)[:, None]
    at = places - lean
    ahead = corners[:, [1, 2, 0], :2] - corners[..., :2]
    off = at[:, None] - corners[..., :2]
    inside = (ahead[..., 0] * off[..., 1] - ahead[..., 1] * off[..., 0] >= -_INSIDE_MM2).all(axis=1)
    row = np.flatnonzero(inside & (normal[:, 2] >= _UPRIGHT))
    normal, at, off = normal[row], at[row], off[row, 0]
    z = corners[row, 0, 2] - (normal[:, 0] * off[:, 0] + normal[:, 1] * off[:, 1]) / normal[:, 2]
    tip = z + r * normal[:, 2] - r if facets.ball else z
    return row, tip, np.column_stack([at, z])


def _on_edges(facets: Facets, who: Indices, places: Array) -> tuple[Indices, Array, Array]:
    """Tips that touch along a triangle's edges, as ``_on_faces``.

    Across an edge a ball shows a circle and a flat end a chord; beside it, neither. That stands on a line in the
    upright plane of the edge: the circle where its radius is square to the line, the chord with its higher end.
    """
    corners, r = facets.corners[who], facets.radius
    ahead = corners[:, [1, 2, 0]] - corners
    off = places[:, None] - corners[..., :2]
    long = np.hypot(ahead[..., 0], ahead[..., 1])
    over = np.where(long > 0, long, 1.0)
    ux, uy, slope = ahead[..., 0] / over, ahead[..., 1] / over, ahead[..., 2] / over
    square = r * r - (ux * off[..., 1] - uy * off[..., 0]) ** 2
    half = np.sqrt(np.maximum(square, 0.0))
    steep = np.sqrt(1.0 + slope * slope)
    reach = (
        ux * off[..., 0] + uy * off[..., 1] + half * (slope / steep if facets.ball else np.where(slope < 0, -1.0, 1.0))
    )
    row, edge = np.nonzero((long > 0) & (square >= 0) & (reach >= 0) & (reach <= long))
    one, reach = (row, edge), reach[row, edge]
    start = corners[one]
    z = start[:, 2] + slope[one] * reach
    tip = z + half[one] / steep[one] - r if facets.ball else z
    return row, tip, np.column_stack([start[:, 0] + ux[one] * reach, start[:, 1] + uy[one] * reach, z])
