"""The hull of a finished bait: coated skin, the lip's plate, the rooms that flood, and what stands or hangs outside.

Knows the ledger's items by where they push water aside, so that hull and ledger are one list of volumes. Knows nothing
of recipes.
"""

from collections.abc import Sequence

from bodygen.flotation.hull import Hull, PointVolume, Shell, build_hull
from bodygen.form.integrals import Array, VolumeIntegrals
from bodygen.mesh.measure import enclosed, mesh_skin, mesh_volume
from bodygen.mesh.skin import Mesh
from bodygen.weights.item import Item, inside

LEAST_MM3 = 1e-6
"""Volumes below this are rounding."""
SAME = 1e-10
"""Share of a volume that counts as none."""
WET = 1e-6
"""A room with a smaller share of water in it is full."""
SECANTS = 8


def finished_hull(
    skin: Mesh,
    normals: Array,
    body: VolumeIntegrals,
    items: Sequence[Item],
    plate: Mesh | None,
    floods: Sequence[Shell],
) -> Hull:
    """Everything that pushes water aside, each at the ledger's own volume and centre.

    Parameters
    ----------
    skin : Mesh
        The uncut body in few facets.
    normals : (n, 3) array
        Unit outward normals at its vertices.
    body : VolumeIntegrals
        Of the uncut body, exact: the facets are moved outwards to its volume and that of the films, then by the
        micrometres that their centre is off.
    items : sequence of Item
        The ledger.
    plate : Mesh or None
        The lip outside the skin.
    floods : shells
        Rooms that water fills, as ``flooded`` gives them.

    Returns
    -------
    Hull
        Its volume and centroid are those of the items together, to rounding.
    """
    films = [item for item in items if item.kind == "film"]
    volume = body.volume + sum(item.displaces for item in films)
    centre = (body.volume * body.centroid + sum(item.displaces * item.displaces_at for item in films)) / volume
    shells = [_grown(skin, normals, volume, centre), *floods]
    if plate is not None:
        shells.append(Shell(plate.vertices, plate.faces))
    points = [_point(item) for item in items if item.kind == "fitting" and item.outside > LEAST_MM3]
    return build_hull(shells, points)


def _point(item: Item) -> PointVolume:
    x, y, z = item.at if item.outside_at is None else item.outside_at
    return PointVolume(item.outside, (float(x), float(y), float(z)))


def water_in(volume: float, lies: Sequence[Item]) -> float:
    """Find what water fills of a room of ``volume`` [mm^3] with these items in it [mm^3]; 0 where it is full."""
    water = volume - inside(lies)
    return water if water > WET * volume else 0.0


def flooded(room: Mesh, water: float, lies: Sequence[Item], metal: Mesh | None) -> list[Shell]:
    """A room with some water in it, evenly spread over what its metal leaves.

    Parameters
    ----------
    room, metal : Mesh
        The hole, and the part of it that ballast takes up, at the bore's full width.
    water : float
        As ``water_in`` [mm^3].
    lies : items
        All that is in the room.
    """
    taken = sum(item.displaces for item in lies if item.kind == "metal")
    wet = water / (enclosed(room) - taken)
    shells = [Shell(room.vertices, room.faces, -wet)]
    if metal is not None and taken > LEAST_MM3:
        shells.append(Shell(metal.vertices, metal.faces, wet * taken / enclosed(metal)))
    return shells


def _grown(skin: Mesh, normals: Array, volume: float, centre: Array) -> Shell:
    """The skin moved along its normals until it encloses ``volume`` [mm^3], within ``SAME``; then to ``centre``.

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
    return Shell(moved + centre - mesh_volume(Mesh(moved, skin.faces)).centroid, skin.faces)
