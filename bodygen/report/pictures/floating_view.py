"""What is seen of a bait as it lies in the water: the silhouettes of body and lip, and where the water meets the skin.

Knows an attitude and solids. Knows no paper and no scale (afloat.py).
"""

from dataclasses import dataclass

import manifold3d
import numpy as np

from bodygen.assessment import Assessment
from bodygen.flotation.equilibrium import Attitude, Flotation
from bodygen.flotation.hull import Shell, build_hull
from bodygen.flotation.immersion import horizontal_axes
from bodygen.flotation.waterline import waterlines
from bodygen.form.facing import Projection
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.plane.page import Array
from bodygen.recipe.model import Recipe
from bodygen.report.pictures.hidden_lines import Trace

FINE_MM = 0.01
"""How far the drawn silhouette may leave the mesh's own."""
IN_FRONT = 0.02
"""How much nearer than the body a lip must be to hide it, as a share of the length [-]."""
SAG_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class FloatingView:
    """What is drawn: closed solids in body axes [mm], how they lie, where the mass is (3,) [mm].

    ``lip`` is the plate outside the body, None where there is none; ``length`` the body's [mm].
    """

    recipe: Recipe
    body: manifold3d.Manifold
    lip: manifold3d.Manifold | None
    length: float
    flotation: Flotation
    attitude: Attitude
    centre_of_mass: Array


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What is seen from one direction: closed lines in the projection's own axes [mm]."""

    projection: Projection
    traces: tuple[Trace, ...]


def floating_view_of(a: Assessment, attitude: Attitude | None = None) -> FloatingView:
    """Take from an assessment what the picture needs; ``attitude`` is one of the others, None: the one it comes to."""
    shaped = a.shaped
    body = to_manifold(shaped.mesh)
    lip = shaped.set_plate.exposed if shaped.set_plate else None
    at = attitude or a.flotation.attitude
    return FloatingView(a.recipe, body, lip, shaped.sizes[0], a.flotation, at, a.total.centre_of_mass)


def projections(attitude: Attitude) -> tuple[Projection, Projection, Projection]:
    """Look from the left flank, from the nose and from above at the bait as it lies, up the page being up."""
    up = np.array(attitude.up)
    along, across = (axis[0] for axis in horizontal_axes(up[None]))
    return Projection("side", along, up), Projection("end", -across, up), Projection("above", along, across)


def silhouette(solid: manifold3d.Manifold, projection: Projection) -> manifold3d.CrossSection:
    """Find what a solid hides from one direction, in the projection's own axes [mm]."""
    turn = np.zeros((3, 4))
    turn[:, :3] = projection.right, projection.up, projection.viewer
    return solid.transform(turn).project().simplify(FINE_MM)


def look_from(floating: FloatingView, projection: Projection) -> Look:
    """Find the silhouette of the body, and of the lip as far as it is seen: all of it where it lies before the body."""
    body = silhouette(floating.body, projection)
    traces = [Trace(points, "outline", closed=True, part="body") for points in _largest_first(body)]
    if floating.lip is not None and not floating.lip.is_empty():
        lip = silhouette(floating.lip, projection)
        nearer = float((_middle(floating.lip) - _middle(floating.body)) @ projection.viewer)
        seen = lip if nearer > IN_FRONT * floating.length else lip - body
        traces = [*(Trace(points, "visible", closed=True, part="lip") for points in _largest_first(seen)), *traces]
    if projection.name == "above":
        traces += _waterline(floating, projection)
    return Look(projection, tuple(traces))


def _waterline(floating: FloatingView, projection: Projection) -> list[Trace]:
    """Find where the water meets the bare skin; nothing where no surface is in reach."""
    at = floating.attitude
    if at.water_height is None:
        return []
    skin = to_mesh(floating.body)
    loops = waterlines(build_hull([Shell(skin.vertices, skin.faces)]), at.up, at.water_height)
    return [Trace(projection.flat(loop), "widest", closed=True, part="waterline") for loop in loops]


def _largest_first(shape: manifold3d.CrossSection) -> list[Array]:
    return sorted(shape.to_polygons(), key=lambda points: (-len(points), points.tolist()))


def _middle(solid: manifold3d.Manifold) -> Array:
    box = np.array(solid.bounding_box())
    return np.asarray(box[:3] + box[3:]) / 2
