"""Windows: what a cradle leaves open where a cut comes out of the skin, or where the lip stands out.

Knows the cuts. Knows nothing of the cradle but which way it opens.
"""

import manifold3d
import numpy as np

from bodygen.form.cuts import Prism, Revolved, Tool, square_to
from bodygen.form.integrals import Array
from bodygen.recipe.model import Recipe

SIDES = 48
OUT_MM = 60.0
"""What comes out of the skin is given way so far, out of any cradle: a leaning one sweeps its way as the body lifts."""
UP_MM = 200.0
"""How far it lifts: farther than anything reaches out, or the window would close over it again."""


def windows(
    tool: Tool, turn: Array, recipe: Recipe, around_bore: float, around_lip: float
) -> list[manifold3d.Manifold]:
    """What must be open where a cut comes out of the skin, drawn upwards so that the body still lifts out.

    Parameters
    ----------
    tool : Tool
        The cut, in body axes.
    turn : (3, 3) array
        Body axes to the cradle's own, which opens along its third.
    recipe : Recipe
        Says how far the lip stands out.
    around_bore, around_lip : float
        Room left around each [mm].
    """
    shapes = _bore_windows(tool, around_bore) if isinstance(tool, Revolved) else _slot_windows(tool, recipe, around_lip)
    found = []
    for shape in shapes:
        here = shape.transform(np.column_stack([turn, np.zeros(3)]))
        found.append(manifold3d.Manifold.batch_hull([here, here.translate((0.0, 0.0, UP_MM))]))
    return found


def _bore_windows(tool: Revolved, room: float) -> list[manifold3d.Manifold]:
    radius = max(r for _, r in tool.profile) + room
    axis, mouth = np.array(tool.axis), np.array(tool.origin)
    # from as deep as it is wide, where the cavity is: begun at the mouth, it would leave fins where the skin falls away
    ends = [(mouth + radius * axis, -axis)]
    if tool.through:
        ends.append((mouth + (tool.point - radius) * axis, axis))
    return [_rod(start, way, OUT_MM + radius, radius) for start, way in ends]


def _rod(start: Array, way: Array, length: float, radius: float) -> manifold3d.Manifold:
    frame = np.stack([*square_to(way.tolist()), way, start], axis=1)
    return manifold3d.Manifold.cylinder(length, radius, circular_segments=SIDES).transform(frame)


def _slot_windows(slot: Prism, recipe: Recipe, room: float) -> list[manifold3d.Manifold]:
    """Room for the lip as it stands out; a kerf is filled, and what comes out of it has a bore of its own."""
    if slot.kind != "slot" or recipe.lip is None:
        return []
    lip = recipe.lip
    half = lip.width / 2 + room
    thick = (lip.thickness + lip.fit) / 2 + room
    out = lip.length + 2 * room
    slab = manifold3d.Manifold.cube((out + 1.0, 2 * thick, 2 * half)).translate((-out, -thick, -half))
    along, normal = np.array(slot.along), np.array(slot.normal)
    return [slab.transform(np.stack([along, normal, np.cross(along, normal), np.array(slot.origin)], axis=1))]
