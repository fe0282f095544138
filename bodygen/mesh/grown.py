"""A skin with a film on it: a mesh moved outwards along its normals until it encloses a given volume.

With vertices p + t n the volume is a cubic of t, whose four coefficients are found once for a mesh.
"""

from dataclasses import dataclass, field

import numpy as np

from bodygen.form.integrals import Array
from bodygen.form.triples import area_rows, corner_rows
from bodygen.kept import Kept
from bodygen.mesh.measure import normals_from
from bodygen.mesh.skin import Mesh

SAME = 1e-12
"""Share of a volume that counts as none."""
STEPS = 12
FEW = 4
"""Grown skins that are kept: each takes megabytes, and a film that was weighed with the bait moves with any bore."""


@dataclass(frozen=True, slots=True, eq=False)
class Growing:
    """A closed mesh, its unit ``normals`` (n, 3) at the vertices, and the ``cubic`` (4,) of its volume.

    Moved outwards by t [mm] it encloses cubic @ (1, t, t^2, t^3) [mm^3]. ``kept``: answers that follow from the mesh.
    """

    mesh: Mesh
    normals: Array
    cubic: Array
    kept: Kept = field(default_factory=lambda: Kept(FEW))

    def thickness(self, volume: float) -> float:
        """How far outwards [mm] it encloses ``volume`` [mm^3]; inwards where that is less than its own.

        Newton's method on the cubic, elementary.

        Examples
        --------
        >>> import manifold3d
        >>> from bodygen.mesh.cut import to_mesh
        >>> from bodygen.mesh.measure import enclosed
        >>> skin = growing(to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0))))
        >>> skin.thickness(1000.0), enclosed(skin.moved(skin.thickness(1200.0)))
        (0.0, 1200.0)
        """
        c, t = self.cubic, 0.0
        for _ in range(STEPS):
            missing = volume - float(c @ (1.0, t, t * t, t**3))
            if abs(missing) <= SAME * abs(volume):
                break
            t += missing / float(c[1] + t * (2 * c[2] + 3 * t * c[3]))
        return t

    def moved(self, thickness: float) -> Mesh:
        """The mesh that much [mm] further out.

        Examples
        --------
        >>> import manifold3d
        >>> from bodygen.mesh.cut import to_mesh
        >>> ball = growing(to_mesh(manifold3d.Manifold.sphere(10.0, 64)))
        >>> reach = np.linalg.norm(ball.moved(1.0).vertices, axis=1)
        >>> bool(abs(reach - 11).max() < 0.01)
        True
        """
        return Mesh(self.mesh.vertices + thickness * self.normals, self.mesh.faces)


def growing(mesh: Mesh) -> Growing:
    """Make a closed mesh [mm] ready to grow.

    Derived here: a sixth of a x b . c over the faces is a cubic of the way. Its middle terms need no products of places
    with ways: a corner's share of the volume grows by a sixth of the areas around it, over a closed mesh.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> float(growing(to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))).cubic[0])   # not yet grown
    1000.0
    """
    corner = corner_rows(mesh.vertices, mesh.faces)
    area = area_rows(corner)
    normals = normals_from(area, mesh)
    way = corner_rows(normals, mesh.faces)
    turn = area_rows(way)
    pairs = (area, corner[:, 0]), (area, way.sum(axis=1)), (turn, corner.sum(axis=1)), (turn, way[:, 0])
    return Growing(mesh, normals, np.array([np.sum(a * b) / 6 for a, b in pairs]))
