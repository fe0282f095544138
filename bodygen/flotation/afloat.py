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
SAME = 1e-10
"""Share of a volume that counts as none."""
SECANTS = 8


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
    """The skin moved along its normals until it encloses ``volume`` [mm^3], within ``SAME`` of it.

    By secants, the skin's own area as the first slope: volume over thickness is a cubic, three to four are usual.
    """
    thickness, moved, enclosed_now = 0.0, skin.vertices, enclosed(skin)
    slope = mesh_skin(skin).area
    for _ in range(SECANTS):
        missing = volume - enclosed_now
        if abs(missing) <= SAME * abs(volume):
            break
        step = missing / slope
        thickness += step
        moved = skin.vertices + thickness * normals
        before, enclosed_now = enclosed_now, enclosed(Mesh(moved, skin.faces))
        slope = (enclosed_now - before) / step
    return Shell(moved, skin.faces)
