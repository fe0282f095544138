"""One flank's skin as a grid: stations along the body, points evenly by length from the belly's middle to the back's.

Knows the surface, or slices of a mesh. Side view: x along, z up. Knows no mask and no film.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.errors import DesignError
from bodygen.form.body import Body
from bodygen.form.facing import Side, outwards
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import Mesh
from bodygen.plane.polygon import ring_area

PER_BEZIER = 32
EDGE_MM = 0.02
"""Nearer than this in height to the belly's or the back's edge is on it."""
NEAREST_MM, END_STEPS = 0.002, 120
"""A flat end counts so near to it; the way inwards is searched in so many steps, each longer than the last."""
FINE = 4
"""Stations are laid off along the middle of the flank on a line so many times as fine."""


@dataclass(frozen=True, slots=True, eq=False)
class Flank:
    """The flank of one ``side``.

    ``x`` (m,) stations [mm]; ``points`` (m, k, 3) evenly spaced along each section's half girth [mm]; ``girth`` (m,)
    [mm]. ``height``, ``way`` (m, n): height as a share of the section's depth, and length from the belly's middle as a
    share of the half girth, both rising, finely [-].
    """

    side: Side
    x: Array
    points: Array
    girth: Array
    height: Array
    way: Array

    def way_at(self, x: Array, z: Array) -> tuple[Array, Array]:
        """Where points of the side view lie on the skin.

        Parameters
        ----------
        x, z : (p,) arrays
            [mm]; beside the body the nearest end, edge or crest is taken.

        Returns
        -------
        row, way : (p,) arrays
            Station number, with its fraction, and share of the half girth from the belly [-].
        """
        row = np.interp(x, self.x, np.arange(len(self.x), dtype=float))
        first = np.clip(row.astype(int), 0, len(self.x) - 2)
        part = row - first
        low, high = self.points[:, 0, 2], self.points[:, -1, 2]
        bottom = low[first] + part * (low[first + 1] - low[first])
        top = high[first] + part * (high[first + 1] - high[first])
        share = np.clip((z - bottom) / (top - bottom), 0.0, 1.0)
        before, after = np.empty_like(share), np.empty_like(share)
        for i in np.unique(first):
            here = first == i
            before[here] = np.interp(share[here], self.height[i], self.way[i])
            after[here] = np.interp(share[here], self.height[i + 1], self.way[i + 1])
        way = before + part * (after - before)
        # a flat crest has all its ways at once: what reaches the edge goes on to the middle
        return row, np.where(z <= bottom + EDGE_MM, 0.0, np.where(z >= top - EDGE_MM, 1.0, way))


def flank_of(
    body: Body | None, mesh: Mesh, step: float, around: int, least_girth: float, side: Side = "right"
) -> Flank:
    """Lay the grid on a flank.

    Parameters
    ----------
    body : Body or None
        The surface; None: the mesh's slices.
    mesh : Mesh
        The uncut body [mm].
    step : float
        About how far apart stations are, along the middle of the flank [mm].
    around : int
        Points of each half section.
    least_girth : float
        Where half a section's girth is less than this, towards a nose or tail that closes, there is no grid [mm].
    side : Side
        Which flank.

    Raises
    ------
    DesignError
        A slice of a mesh that does not reach across the mid-plane.
    """
    if outwards(side) < 0 and body is None:
        mesh = Mesh(mesh.vertices * (1.0, -1.0, 1.0), mesh.faces[:, ::-1])
    first, last = _ends(body, mesh, least_girth)
    fine = np.linspace(first, last, FINE * max(8, round((last - first) / step)) + 1)
    middle = np.array([_even(half, 3)[0][1] for half in _sections(body, mesh, fine)])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(fine), np.hypot(*np.diff(middle, axis=0).T)))])
    count = max(8, round(along[-1] / step))
    x = np.interp(np.linspace(0.0, along[-1], count + 1), along, fine)
    rows = [_even(half, around) for half in _sections(body, mesh, x)]
    points = np.stack([np.column_stack([np.full(around, at), row[0]]) for at, row in zip(x, rows, strict=True)])
    points[..., 1] *= outwards(side)
    girth, height, way = (np.stack([row[i] for row in rows]) for i in (1, 2, 3))
    return Flank(side, x, points, girth, height, way)


def _ends(body: Body | None, mesh: Mesh, least_girth: float) -> tuple[float, float]:
    """The first and the last x with so much girth [mm]."""
    low, high = float(mesh.vertices[:, 0].min()), float(mesh.vertices[:, 0].max())
    inwards = np.geomspace(NEAREST_MM, (high - low) / 3, END_STEPS)
    found = []
    for at in (low + inwards, high - inwards):
        girth = np.array([np.hypot(*np.diff(half, axis=0).T).sum() for half in _sections(body, mesh, at)])
        first = int(np.argmax(girth >= least_girth))
        if girth[first] < least_girth:
            msg = f"half its girth is nowhere {least_girth:g} mm: too thin for a mask"
            raise DesignError(msg)
        found.append(float(np.interp(least_girth, girth[: first + 1], at[: first + 1])))
    return found[0], found[1]


def _sections(body: Body | None, mesh: Mesh, x: Array) -> list[Array]:
    """Right half sections, (y, z) from the belly's middle to the back's, at each x (m,) [mm]."""
    if body is not None:
        return list(body.points(body.parameter_at(x), PER_BEZIER)[..., 1:])
    upright = np.array([[0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0]])
    solid = to_manifold(mesh).transform(upright)
    return [_right_half(solid.slice(float(at)).to_polygons(), float(at)) for at in x]


def _right_half(polygons: list[Array], x: float) -> Array:
    """The right half of a slice's greatest polygon, from where it crosses y = 0 below to where it does above."""
    ring = max(polygons, key=lambda p: abs(ring_area(p)), default=np.empty((0, 2)))
    if len(ring) and ring_area(ring) < 0:
        ring = ring[::-1]
    ahead = np.roll(ring, -1, axis=0)
    into = np.flatnonzero((ring[:, 0] < 0) & (ahead[:, 0] >= 0))
    out = np.flatnonzero((ring[:, 0] >= 0) & (ahead[:, 0] < 0))
    if len(into) != 1 or len(out) != 1:
        msg = f"the section at x = {x:g} mm does not cross the mid-plane once below and once above: no mask fits it"
        raise DesignError(msg)

    def at_mid_plane(i: int) -> Array:
        (y0, z0), (y1, z1) = ring[i], ahead[i]
        return np.array([0.0, z0 + (z1 - z0) * (0.0 - y0) / (y1 - y0)])

    between = np.roll(ring, -(int(into[0]) + 1), axis=0)[: (int(out[0]) - int(into[0])) % len(ring)]
    half = np.vstack([at_mid_plane(int(into[0])), between, at_mid_plane(int(out[0]))])
    return np.asarray(half[np.append(True, np.linalg.norm(np.diff(half, axis=0), axis=1) > 1e-9)])


def _even(half: Array, around: int) -> tuple[Array, float, Array, Array]:
    """Points (around, 2) evenly along a half section, its length, and height and way, as shares, on a fine table."""
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(half, axis=0).T))])
    even = np.linspace(0.0, way[-1], around)
    points = np.column_stack([np.interp(even, way, half[:, 0]), np.interp(even, way, half[:, 1])])
    fine = np.linspace(0.0, way[-1], 8 * around)
    z = np.maximum.accumulate(np.interp(fine, way, half[:, 1]))  # a hollow of a mesh counts as level
    return points, float(way[-1]), (z - z[0]) / (z[-1] - z[0]), fine / way[-1]
