"""A flank's skin rolled out row by row into a plane, to draw an opening on it that is then cut square to the skin.

Each section's half girth becomes an upright line at its true length, its middle at height 0, as far along as the middle
of the flank is long up to there (the sinusoidal projection of map makers). Areas are true; so are lengths along a
section. A cutting solid drawn there passes a shell along the skin's normals: its edges are square and run out nowhere.

Knows a flank's grid. Knows no mask.
"""

from dataclasses import dataclass
from typing import cast

import manifold3d
import numpy as np

from bodygen.form.facing import outwards
from bodygen.form.integrals import Array
from bodygen.shop.skin.flank import Flank

BEYOND_COLUMNS = 4
"""The skin is carried on so far over the middle of belly and back, as its own mirror image."""
FINE_MM, STRAIGHT_MM = 1.5, 0.01
"""Facets of a cutting solid: on a skin of 5 mm radius chords leave it by 0.06 mm; how outlines are straightened."""


@dataclass(frozen=True, slots=True, eq=False)
class Rolled:
    """A flank rolled out: ``along`` (m,) for each row and ``girth`` (m,) [mm]; skin, normals carried on over edges."""

    flank: Flank
    along: Array
    skin: Array
    normals: Array

    def flat(self, row: Array, way: Array) -> Array:
        """Place (p, 2) in the plane of row numbers and shares of the half girth, with their fractions [mm]."""
        rows = np.arange(len(self.along), dtype=float)
        girth = np.interp(row, rows, self.flank.girth)
        return np.column_stack([np.interp(row, rows, self.along), (way - 0.5) * girth])

    def strip(self, low: float = 0.0, high: float = 1.0, beyond: float = 0.0) -> manifold3d.CrossSection:
        """What lies between two shares of the half girth, nose and tail ends carried on by ``beyond`` [mm]."""
        rows = np.arange(len(self.along), dtype=float)
        lower, upper = self.flat(rows, np.full(len(rows), low)), self.flat(rows, np.full(len(rows), high))
        if beyond:
            ahead = np.array([[beyond, 0.0]])
            lower, upper = (np.concatenate([line[:1] - ahead, line, line[-1:] + ahead]) for line in (lower, upper))
        return manifold3d.CrossSection([np.concatenate([lower, upper[::-1]])], manifold3d.FillRule.Positive)

    def on_skin(self, along: Array, way: Array, height: Array) -> Array:
        """Points (p, 3) in body axes so high over places so far along and at these shares of the half girth [mm]."""
        row = np.interp(along, self.along, np.arange(len(self.along), dtype=float))
        column = way * (self.flank.points.shape[1] - 1) + BEYOND_COLUMNS
        i = np.clip(row.astype(int), 0, self.skin.shape[0] - 2)
        j = np.clip(column.astype(int), 0, self.skin.shape[1] - 2)
        a, b = (row - i)[:, None], np.clip(column - j, 0.0, 1.0)[:, None]

        def between(grid: Array) -> Array:
            near = (1 - b) * grid[i, j] + b * grid[i, j + 1]
            return np.asarray((1 - a) * near + a * ((1 - b) * grid[i + 1, j] + b * grid[i + 1, j + 1]))

        normal = between(self.normals)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return between(self.skin) + height[:, None] * normal

    def cutting_solid(self, shape: manifold3d.CrossSection, low: float, high: float) -> manifold3d.Manifold:
        """A shape of the plane as a solid that stands on the skin from one height over it to another [mm]."""
        # drawn with every section as long as the longest, so that thin ends have as many facets around
        wide = float(self.flank.girth.max())

        rings = []
        for ring in shape.simplify(STRAIGHT_MM).to_polygons():
            girth = np.interp(ring[:, 0], self.along, self.flank.girth)
            rings.append(np.column_stack([ring[:, 0], ring[:, 1] / girth * wide]))
        widened = manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)

        # along, up and outwards are right-handed on the left flank: on the right the slab stands downwards
        way = -outwards(self.flank.side)
        slab = widened.extrude(high - low)
        slab = slab.translate((0.0, 0.0, low if way > 0 else -high)).refine_to_length(FINE_MM)

        def stood_up(points: Array) -> Array:
            return self.on_skin(points[:, 0], points[:, 1] / wide + 0.5, way * points[:, 2])

        return cast("manifold3d.Manifold", slab.warp_batch(stood_up))


def rolled(flank: Flank) -> Rolled:
    """Roll a flank out."""
    over, columns = BEYOND_COLUMNS, flank.points.shape[1]
    mirrored = flank.points[:, ::-1] * (1.0, -1.0, 1.0)
    skin = np.concatenate([mirrored[:, -over - 1 : -1], flank.points, mirrored[:, 1 : over + 1]], axis=1)
    # rows run to the tail, columns from belly to back: on the right their cross product points inwards
    normals = np.cross(np.gradient(skin, axis=1), np.gradient(skin, axis=0))
    normals *= outwards(flank.side)
    normals /= np.maximum(np.linalg.norm(normals, axis=2, keepdims=True), 1e-300)
    middle = flank.points[:, columns // 2]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
    return Rolled(flank, along, skin, normals)
