"""Paint on a body: one mask of each kind, and how much of the skin lies behind a shape of the side view."""

import manifold3d
import numpy as np

from bodygen.recipe.model import Mask
from bodygen.shop.masks.regions import opening

USUAL = tuple(Mask(kind, kind) for kind in ("back", "flank", "belly", "bars", "gill", "eye"))


def region_areas(shapes, skin, side):
    """Area of one flank's skin that lies behind each shape [mm^2]; ``skin`` is the uncut body's."""
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(skin.vertices, order="C"), np.array(skin.faces, dtype=np.uint64, order="C"))
    ).as_original()
    far = float(np.abs(skin.vertices[:, 1]).max()) + 1.0
    found = []
    for shape in shapes:
        cutting_solid = opening(shape, side, far)
        piece = (solid ^ cutting_solid).to_mesh64()
        corner = np.array(piece.vert_properties)[:, :3][np.array(piece.tri_verts)]
        area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) / 2
        ends = [int(i) // 3 for i in piece.run_index]
        runs = zip(piece.run_original_id, ends, ends[1:], strict=False)
        found.append(sum(float(area[a:b].sum()) for original, a, b in runs if original == solid.original_id()))
    return tuple(found)
