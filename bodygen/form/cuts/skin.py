"""The skin as facets, for what is asked of a hole near it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bodygen.form.cuts.tools import Revolved
from bodygen.form.triples import doubled_areas, radii_around
from bodygen.kept import Kept

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """Facets of the skin: corners (m, 3, 3) [mm], counter-clockwise from outside, and unit outward normals (m, 3)."""

    corners: Array
    normals: Array
    kept: Kept = field(default_factory=Kept)

    def near(self, bore: Revolved, within: float) -> "Skin":
        """The facets that may lie within a distance [mm] of a hole or of the drill's way in.

        Derived here: a ball round each facet against a cylinder round the hole, which leaves none out.
        """
        middles, radii = self._balls()
        away = middles - np.array(bore.origin)
        s = np.clip(away @ np.array(bore.axis), bore.profile[0][0], bore.profile[-1][0])
        off = away - s[:, None] * np.array(bore.axis)
        reach = radii + within + max(r for _, r in bore.profile)
        close = np.einsum("ij,ij->i", off, off) <= reach * reach
        return Skin(self.corners[close], self.normals[close])

    def normals_at(self, point: Array) -> Array:
        """The normals (k, 3) of the facets that a point of the skin (3,) [mm] may lie on: few, all beside it."""
        middles, radii = self._balls()
        away = middles - point
        return np.asarray(self.normals[np.einsum("ij,ij->i", away, away) <= radii * radii])

    def _balls(self) -> tuple[Array, Array]:
        """A ball round each facet: middles (m, 3) and radii (m,) [mm]."""

        def balls() -> tuple[Array, Array]:
            middles = (self.corners[:, 0] + self.corners[:, 1] + self.corners[:, 2]) / 3
            return middles, radii_around(self.corners, middles)

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
