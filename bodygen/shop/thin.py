"""Walls too thin to print: found slice by slice in a jig that only opens upwards, and cut away.

Knows shapes. Knows nothing of what the jig is for.
"""

from math import pi, radians, tan

import manifold3d
import numpy as np

from bodygen.form.integrals import Array

STEP_MM = 0.2
"""From slice to slice: a layer of a print, so that no ridge that is left stands higher."""
HAIR_MM = 0.02
"""How far rounding may leave an outline that was drawn in and out again."""
EDGE = radians(65.0)
"""A sharper edge is blunted."""
ROUNDNESS = 32
FRINGE_MM = 0.8
SIMPLE_MM = 0.01
CRUMB_MM3 = 0.01


def without_thin(solid: manifold3d.Manifold, least: float) -> manifold3d.Manifold:
    """A jig less every wall and feather edge thinner than ``least`` [mm].

    Parameters
    ----------
    solid : Manifold
        Nowhere wider above than below, as a cavity and windows that open upwards leave it [mm].
    least : float
        Edges of 65 degrees and more stay as they are; a sharper one is blunted until it is about that thick [mm].
    """
    _, _, low, _, _, top = solid.bounding_box()
    gone, tools = manifold3d.CrossSection(), []
    for z in np.arange(low + STEP_MM, top, STEP_MM):
        more = thin_parts(solid.slice(float(z)).simplify(SIMPLE_MM) - gone, least, gone)
        if not more.is_empty():  # from the slice below, which is wider by a fringe
            gone += more
            tools.append(more.extrude(top - z + STEP_MM + 1.0).translate((0.0, 0.0, z - STEP_MM)))
    left = manifold3d.Manifold.batch_boolean([solid, *tools], manifold3d.OpType.Subtract) if tools else solid
    # what does not reach that high over the flat back is the feather edge of a slanting window
    flat = left.slice(low + HAIR_MM) - left.slice(low + least)
    flat = flat.offset(-HAIR_MM).offset(2 * HAIR_MM)
    return left if flat.is_empty() else left - flat.extrude(top - low + 2.0).translate((0.0, 0.0, low - 1.0))


def thin_parts(
    shape: manifold3d.CrossSection, least: float, gone: manifold3d.CrossSection | None = None
) -> manifold3d.CrossSection:
    """What of a flat shape is thinner than ``least`` [mm], with a fringe around it outside the rest.

    A corner sharper than ``EDGE`` counts; beside what is ``gone`` already, so does the smallest piece.
    """
    half, curve = least / 2, manifold3d.JoinType.Round
    thick = shape.offset(-half, curve, circular_segments=ROUNDNESS)
    thick = thick.offset(half + HAIR_MM, curve, circular_segments=ROUNDNESS)
    # drawing in and out rounds every corner: what a corner of EDGE loses is no thin part yet
    corner = half**2 * (1 / tan(EDGE / 2) - (pi - EDGE) / 2)
    lost = shape - thick
    if lost.is_empty():
        return lost
    beside = gone.offset(2 * HAIR_MM) if gone is not None else manifold3d.CrossSection()
    pieces = [piece for piece in lost.decompose() if piece.area() > corner or not (piece ^ beside).is_empty()]
    if not pieces:
        return manifold3d.CrossSection()
    thin = manifold3d.CrossSection.batch_boolean(pieces, manifold3d.OpType.Add)
    return (thin.offset(FRINGE_MM, curve) - thick).simplify(HAIR_MM)


def stays_in(tool: manifold3d.Manifold, solid: manifold3d.Manifold) -> bool:
    """Whether a tool, drawn with the wall that must stay around it, lies wholly in the wood or plastic."""
    return bool((tool - solid).volume() < CRUMB_MM3)


def upright(x: float, y: float, low: float, high: float, radius: float, sides: int = 48) -> manifold3d.Manifold:
    """A standing cylinder [mm]."""
    return manifold3d.Manifold.cylinder(high - low, radius, circular_segments=sides).translate((x, y, low))


def free_face(
    solid: manifold3d.Manifold, origin: Array, right: Array, up: Array, depth: float, wall: float
) -> manifold3d.CrossSection:
    """Where on a flat outer face something may be sunk ``depth`` deep with a ``wall`` all round, (right, up) [mm]."""
    out = np.cross(right, up)
    turned = solid.transform(np.column_stack([np.stack([right, up, out]), np.zeros(3)]))
    face = float(out @ origin)
    free = turned.slice(face - HAIR_MM) ^ turned.slice(face - depth - wall)
    return free.offset(-wall, manifold3d.JoinType.Miter)
