"""The skin as facets, for what is asked of a hole near it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bodygen.form.cuts.tools import Revolved
from bodygen.form.triples import doubled_areas, radii_around
from bodygen.kept import Kept

Array = NDArray[np.float64]
ROUNDING_MM = 1e-9
"""No bound of a distance is trusted to less."""


@dataclass(frozen=True, slots=True, eq=False)
class NearFacets:
    """Facets near one hole: corners (m, 3, 3) and, from their middle, how far they reach, ``radius`` (m,) [mm].

    ``facing`` (m,) is how much their outward normal turns along the drill's way [-]; nothing of them is nearer to the
    hole than ``least`` (m,) [mm], below 0 inside it.
    """

    corners: Array
    radius: Array
    facing: Array
    least: Array


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """Facets of the skin: corners (m, 3, 3) [mm], counter-clockwise from outside, and unit outward normals (m, 3)."""

    corners: Array
    normals: Array
    kept: Kept = field(default_factory=Kept)

    def near(self, bore: Revolved, within: float) -> "NearFacets":
        """The facets that may lie within a distance [mm] of a hole.

        Derived here: a ball round each facet against a cylinder round the hole, which leaves none out.
        """
        _, radii = self.balls()
        s, r = self.middles_from(bore)
        deep, wide = (max(each) for each in zip(*bore.profile, strict=True))  # a counterbore may go past the point
        least = np.maximum(np.maximum(r - wide, s - deep), -s) - radii - ROUNDING_MM
        close = np.flatnonzero(least < within)
        corners, facing = self.corners[close], self.normals[close] @ np.array(bore.axis)
        return NearFacets(corners, radii[close], facing, least[close])

    def middles_from(self, bore: Revolved) -> tuple[Array, Array]:
        """How far the facets' middles lie along a hole's axis from its mouth, and from the axis (m,) [mm].

        Elementary.
        """
        away = self.balls()[0] - np.array(bore.origin)[:, None]
        s = np.array(bore.axis) @ away
        return s, np.sqrt(np.maximum((away * away).sum(axis=0) - s * s, 0.0))

    def normals_at(self, point: Array) -> Array:
        """The normals (k, 3) of the facets that a point of the skin (3,) [mm] may lie on: few, all beside it."""
        middles, radii = self.balls()
        away = middles - point[:, None]
        return np.asarray(self.normals[(away * away).sum(axis=0) <= radii * radii])

    def balls(self) -> tuple[Array, Array]:
        """A ball round each facet: middles (3, m) and radii (m,) [mm]."""

        def balls() -> tuple[Array, Array]:
            middles = (self.corners[:, 0] + self.corners[:, 1] + self.corners[:, 2]) / 3
            return np.ascontiguousarray(middles.T), radii_around(self.corners, middles)

        return self.kept.of("balls", balls)


def skin_of(vertices: Array, faces: NDArray[np.int64]) -> Skin:
    """The skin of a closed mesh: vertices (n, 3) [mm], faces (m, 3); facets without area are left out.

    Examples
    --------
    >>> skin_of(np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]])).normals.tolist()
    [[0.0, 0.0, 1.0]]
    """
    corners = vertices[faces]
    normals = doubled_areas(corners)
    size = np.linalg.norm(normals, axis=1)
    some = size > 0
    if not some.all():
        corners, normals, size = corners[some], normals[some], size[some]
    return Skin(corners, normals / size[:, None])
