"""Halves and master as closed meshes: the body parted at y = 0, or held between two stubs.

Is given the pins, stubs and holes as tools; where they go was decided in shop/.
"""

from collections.abc import Sequence
from typing import Literal

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.cuts import Tool
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.skin import Mesh

Side = Literal["right", "left"]
CRUMB_MM3 = 1e-3
"""Pieces smaller than this are crumbs of a cut along a face, not wood."""


def half(cut_body: Mesh, side: Side, pins: Sequence[Tool]) -> Mesh:
    """The right (y >= 0) or left half of a cut body, with its pin holes.

    Raises
    ------
    DesignError
        When the half is not one piece.
    """
    drilled = cut_with(to_manifold(cut_body), [to_manifold(tool_mesh(pin)) for pin in pins])
    way = 1.0 if side == "right" else -1.0
    return _one_piece(drilled.trim_by_plane((0.0, way, 0.0), 0.0), f"the {side} half")


def with_stubs(body: Mesh, stubs: Sequence[Tool], centre_holes: Sequence[Tool]) -> Mesh:
    """The body with its stubs added and the centre holes cut.

    Raises
    ------
    DesignError
        When the result is not one piece.
    """
    parts = [to_manifold(body), *(to_manifold(tool_mesh(stub)) for stub in stubs)]
    whole = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add)
    return _one_piece(cut_with(whole, [to_manifold(tool_mesh(hole)) for hole in centre_holes]), "the master")


def laid_flat(right: Mesh, left: Mesh, gap: float) -> tuple[Mesh, Mesh]:
    """Both halves as they are printed: parting face down on z = 0, the left one beside the right, ``gap`` [mm] between.

    Turned about the x axis, backs together; to be tidied after, as the shift takes the vertices off 32-bit numbers.
    """
    lying_right = Mesh(right.vertices[:, [0, 2, 1]] * (1.0, -1.0, 1.0), right.faces)
    lying_left = Mesh(left.vertices[:, [0, 2, 1]] * (1.0, 1.0, -1.0), left.faces)
    shift = lying_right.vertices[:, 1].min() - gap - lying_left.vertices[:, 1].max()
    return lying_right, Mesh(lying_left.vertices + np.array([0.0, shift, 0.0]), left.faces)


def _one_piece(solid: manifold3d.Manifold, what: str) -> Mesh:
    pieces = [piece for piece in solid.decompose() if abs(piece.volume()) > CRUMB_MM3]
    if len(pieces) != 1:
        msg = f"{what} falls into {len(pieces)} pieces: a bore or slot cuts right through it"
        raise DesignError(msg)
    return to_mesh(pieces[0])
