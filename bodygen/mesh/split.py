"""Halves and master as closed meshes: the body parted at y = 0, or held between two stubs.

Is given the pins, stubs and holes as tools; where they go was decided in shop/jigs/.
"""

from collections.abc import Sequence

import manifold3d

from bodygen.errors import DesignError
from bodygen.form.cuts import Tool
from bodygen.form.facing import Side, outwards
from bodygen.mesh.cut import cut_with, known_manifold, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.skin import Mesh

CRUMB_MM3 = 1e-3
"""Pieces smaller than this are crumbs of a cut along a face, not wood."""


def half(cut_body: Mesh, side: Side, pins: Sequence[Tool]) -> Mesh:
    """The right (y >= 0) or left half of a cut body, with its pin holes [mm].

    Raises
    ------
    DesignError
        When the half is not one piece.

    Examples
    --------
    >>> from bodygen.mesh.measure import enclosed
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> enclosed(half(box, "left", []))
    6000.0
    """
    drilled = cut_with(known_manifold(cut_body), [to_manifold(tool_mesh(pin)) for pin in pins])
    return _one_piece(drilled.trim_by_plane((0.0, outwards(side), 0.0), 0.0), f"the {side} half")


def with_stubs(body: Mesh, stubs: Sequence[Tool], centre_holes: Sequence[Tool]) -> Mesh:
    """The body with its stubs added and the centre holes cut [mm].

    Raises
    ------
    DesignError
        When the result is not one piece.

    Examples
    --------
    >>> from bodygen.mesh.measure import enclosed
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> enclosed(with_stubs(box, [], []))
    12000.0
    """
    parts = [known_manifold(body), *(to_manifold(tool_mesh(stub)) for stub in stubs)]
    whole = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
    return _one_piece(cut_with(whole, [to_manifold(tool_mesh(hole)) for hole in centre_holes]), "the master")


def _one_piece(solid: manifold3d.Manifold, what: str) -> Mesh:
    pieces = [piece for piece in solid.decompose() if abs(piece.volume()) > CRUMB_MM3]
    if len(pieces) != 1:
        msg = f"{what} falls into {len(pieces)} pieces: a bore or slot cuts right through it"
        raise DesignError(msg)
    return to_mesh(pieces[0])
