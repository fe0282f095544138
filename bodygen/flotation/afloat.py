"""The hull of a finished bait: coated skin, the lip's plate, the rooms that flood, and what hangs outside.

Knows items by where they push water aside. Knows nothing of recipes.
"""

from collections.abc import Sequence

import numpy as np

from bodygen.flotation.hull import Hull, PointVolume, Shell, build_hull
from bodygen.form.integrals import Array
from bodygen.mesh.measure import mesh_skin, mesh_volume
from bodygen.mesh.skin import Mesh
from bodygen.weights.item import Item

LEAST_MM3 = 1e-6
"""Volumes below this are rounding."""


def finished_hull(
    skin: Mesh, displaced: float, plate: Mesh | None, flooded: Sequence[Mesh], outside: Sequence[Item]
) -> Hull:
    """Everything that pushes water aside, so that its volume is the ledger's.

    Parameters
    ----------
    skin : Mesh
        The uncut body.
    displaced : float
        What the whole bait pushes aside wholly under, by the ledger [mm^3]: the skin is moved outwards by its films,
        so far that the hull's volume is this.
    plate : Mesh or None
        The lip outside the skin.
    flooded : meshes
        Rooms that water fills.
    outside : items
        Things outside the skin that are neither film nor plate, as small spheres.
    """
    shells = [Shell(room.vertices, room.faces, -1) for room in flooded]
    if plate is not None:
        shells.append(Shell(plate.vertices, plate.faces))
    points = [
        PointVolume(i.displaces, (float(i.at[0]), float(i.at[1]), float(i.at[2])))
        for i in outside
        if i.displaces > LEAST_MM3
    ]
    rest = sum(s.sign * mesh_volume(Mesh(s.vertices, s.faces)).volume for s in shells) + sum(p.volume for p in points)
    return build_hull([Shell(*_grown(skin, displaced - rest)), *shells], points)


def _grown(skin: Mesh, volume: float) -> tuple[Array, np.ndarray]:
    """The skin moved along its normals until it encloses ``volume`` [mm^3].

    Two secant steps on the film's thickness: the second corrects the curvature, to about 1e-9 of the volume.
    """
    normals = vertex_normals(skin)
    area = mesh_skin(skin).area
    thickness = 0.0
    for _ in range(4):
        moved = skin.vertices + thickness * normals
        short = volume - mesh_volume(Mesh(moved, skin.faces)).volume
        thickness += short / area
    return skin.vertices + thickness * normals, skin.faces


def vertex_normals(mesh: Mesh) -> Array:
    """Unit outward normals (n, 3) at the vertices, the faces around each weighed by their area."""
    corner = mesh.vertices[mesh.faces]
    face = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal = np.stack([sum(np.bincount(mesh.faces[:, k], face[:, axis], len(mesh.vertices)) for k in range(3)) for axis in range(3)], axis=1)
    return normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
