"""The hull of a finished bait: coated skin, the lip's plate, the cavities that flood, and what stands or hangs outside.

Knows the ledger's items by where they push water aside, so that hull and ledger are one list of volumes. Knows nothing
of recipes.
"""

from collections.abc import Sequence

from bodygen.flotation.blocks import neighbours
from bodygen.flotation.hull import Hull, HullPart, PointVolume, Shell, build_hull, part_of, shifted
from bodygen.form.integrals import Array, VolumeIntegrals
from bodygen.form.triples import extents
from bodygen.kept import Kept
from bodygen.mesh.grown import Growing
from bodygen.mesh.measure import enclosed
from bodygen.mesh.skin import Mesh
from bodygen.weights.item import Item, inside

LEAST_MM3 = 1e-6
"""Volumes below this are rounding."""
WET = 1e-6
"""A cavity with a smaller share of water in it is full."""


def finished_hull(
    skin: Growing,
    body: VolumeIntegrals,
    items: Sequence[Item],
    plate: Mesh | None,
    floods: Sequence[Shell],
) -> Hull:
    """Everything that pushes water aside [mm, mm^3], each at the ledger's own volume and centre.

    Derived here: small things outside are spheres of their own volume.

    Parameters
    ----------
    skin : Growing
        The uncut body in few facets.
    body : VolumeIntegrals
        Of the uncut body, exact: the facets are moved outwards to its volume and that of the films, then by the
        micrometres that their centre is off.
    items : sequence of Item
        The ledger.
    plate : Mesh or None
        The lip outside the skin.
    floods : shells
        Cavities that water fills, as ``flooded`` gives them.

    Returns
    -------
    Hull
        Its volume and centroid are those of the items together, to rounding.
    """
    films = [item for item in items if item.kind == "film"]
    volume = body.volume + sum(item.displaces for item in films)
    centre = (body.volume * body.centroid + sum(item.displaces * item.displaces_at for item in films)) / volume
    grown = skin.kept.of(("grown", volume, centre.tobytes()), lambda: _grown(skin, volume, centre))
    shells: list[Shell | HullPart] = [grown, *floods]
    if plate is not None:
        ready = grown.kept.of("plate", lambda: Kept(1)).of(
            plate, lambda: part_of(Shell(plate.vertices, plate.faces), grown.origin)
        )
        shells.append(ready)
    points = [_point(item) for item in items if item.kind == "fitting" and item.outside > LEAST_MM3]
    return build_hull(shells, points)


def _point(item: Item) -> PointVolume:
    x, y, z = item.at if item.outside_at is None else item.outside_at
    return PointVolume(item.outside, (float(x), float(y), float(z)))


def water_in(volume: float, lies: Sequence[Item]) -> float:
    """Find what water fills of a cavity of ``volume`` [mm^3] with these items in it [mm^3]; 0 where it is full.

    Elementary.

    Examples
    --------
    >>> from bodygen.weights.item import Item
    >>> import numpy as np
    >>> wire = Item("wire", "hangers", 1.0, np.zeros(3), 150.0, np.zeros(3))
    >>> water_in(400.0, [wire])
    250.0
    """
    water = volume - inside(lies)
    return water if water > max(WET * volume, LEAST_MM3) else 0.0


def flooded(cavity: Mesh, water: float, lies: Sequence[Item], metal: Mesh | None) -> list[Shell]:
    """A cavity with some water in it, evenly spread over what its metal leaves.

    Elementary: a share of the cavity's space.

    Parameters
    ----------
    cavity, metal : Mesh
        The hole, and the part of it that ballast takes up, at the bore's full width.
    water : float
        As ``water_in`` [mm^3].
    lies : items
        All that is in the cavity.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> cavity = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 4.0)))   # 400 mm^3
    >>> [shell.share for shell in flooded(cavity, 100.0, [], None)]
    [-0.25]
    """
    taken = sum(item.displaces for item in lies if item.kind == "metal")
    wet = water / (enclosed(cavity) - taken)
    shells = [Shell(cavity.vertices, cavity.faces, -wet)]
    if metal is not None and taken > LEAST_MM3:
        shells.append(Shell(metal.vertices, metal.faces, wet * taken / enclosed(metal)))
    return shells


def _grown(skin: Growing, volume: float, centre: Array) -> HullPart:
    """The skin moved along its normals until it encloses ``volume`` [mm^3]; then to its own ``centre`` (3,) [mm]."""
    moved = skin.moved(skin.thickness(volume))
    low, high = extents(moved.vertices)
    order = skin.kept.of("neighbours", lambda: neighbours(skin.mesh.vertices, skin.mesh.faces))
    part = part_of(Shell(moved.vertices, moved.faces), (low + high) / 2, order)
    return shifted(part, centre - part.centroid)
