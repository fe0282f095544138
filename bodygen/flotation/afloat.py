"""The hull of a finished bait: coated skin, the lip's plate, the rooms that flood, and what hangs outside.

Knows items by where they push water aside. Knows nothing of recipes.
"""

from collections.abc import Sequence

from bodygen.flotation.hull import Hull, PointVolume, Shell, build_hull
from bodygen.form.integrals import Array
from bodygen.mesh.measure import enclosed, mesh_skin
from bodygen.mesh.skin import Mesh
from bodygen.weights.item import Item

LEAST_MM3 = 1e-6
"""Volumes below this are rounding."""


def finished_hull(
    skin: Mesh, normals: Array, displaced: float, plate: Mesh | None, flooded: Sequence[Mesh], outside: Sequence[Item]
) -> Hull:
    """Everything that pushes water aside, so that its volume is the ledger's.

    Parameters
    ----------
    skin : Mesh
        The uncut body.
    normals : (n, 3) array
        Unit outward normals at its vertices.
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
    rest = sum(s.sign * enclosed(Mesh(s.vertices, s.faces)) for s in shells) + sum(p.volume for p in points)
    return build_hull([_grown(skin, normals, displaced - rest), *shells], points)


def _grown(skin: Mesh, normals: Array, volume: float) -> Shell:
    """The skin moved along its normals until it encloses ``volume`` [mm^3].

    Volume over thickness is a cubic with the area as its first slope; two corrections leave about 1e-8 of the volume.
    """
    area = mesh_skin(skin).area
    thickness, moved = 0.0, skin.vertices
    for _ in range(2):
        thickness += (volume - enclosed(Mesh(moved, skin.faces))) / area
        moved = skin.vertices + thickness * normals
    return Shell(moved, skin.faces)
