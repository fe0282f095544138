"""A tube whose flanks differ: half an ellipse of one width on the right and of another on the left, made up.

Its skin unrolls without error, so where a point of a flat film comes to lie on it is known in closed form.
"""

from functools import cache

import manifold3d
import numpy as np

from bodygen.mesh.skin import Mesh
from bodygen.shop.masks.regions import SideView

LENGTH, HALF_DEPTH, HALF_WIDTHS = 80.0, 12.0, {"right": 11.0, "left": 3.0}
VIEW = SideView(np.linspace(0.0, LENGTH, 401), np.full(401, -HALF_DEPTH), np.full(401, HALF_DEPTH))
CHORDS = 720


@cache
def tube():
    """From the belly round the right to the back, then round the left."""
    turn = np.arange(CHORDS) / CHORDS * 2 * np.pi
    y = np.where(np.sin(turn) > 0, HALF_WIDTHS["right"], HALF_WIDTHS["left"]) * np.sin(turn)
    ring = np.column_stack([y, -HALF_DEPTH * np.cos(turn)])
    section = manifold3d.CrossSection([ring], manifold3d.FillRule.NonZero)
    lying = np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    mesh = section.extrude(LENGTH).transform(lying).to_mesh64()
    return Mesh(np.array(mesh.vert_properties)[:, :3], np.array(mesh.tri_verts, dtype=np.int64))
