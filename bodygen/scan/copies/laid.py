"""A scan laid over a bait as it is: where it fits best, in few enough triangles to be drawn, and how far it departs.

Knows open scans as well as closed ones. What a scan must be is the tracing's; how it is turned is the comparing's.
"""

from dataclasses import dataclass
from pathlib import Path

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.body import Array
from bodygen.form.facing import Projection
from bodygen.form.triples import doubled_areas
from bodygen.mesh.base_body import base_body_of
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.skin import Mesh
from bodygen.plane.polygon import ring_area
from bodygen.recipe.model import Recipe
from bodygen.scan.cloud.traced import Unit, skin_from
from bodygen.scan.copies.compared import PLACES, pose_over
from bodygen.scan.copies.pose import places_on
from bodygen.scan.copies.specimen import outside_of
from bodygen.scan.record import Guessed, fit_of

MOST_DRAWN = 8000
"""Triangles that are drawn: as many as the screen's own body has."""
FINEST_MM, COARSEST_MM = 0.01, 0.64
"""How far a closed skin may move to be coarser, tried from the one by doubling to the other."""
COARSER = 1.2
CRUMB_MM2, STRAIGHT_MM = 0.05, 0.01
"""Of an outline: smaller pieces are left out, corners nearer to a straight line are none."""


@dataclass(frozen=True, slots=True, eq=False)
class LaidScan:
    """A scan in a bait's axes: ``drawn`` is its skin, coarser; ``places`` (k, 3) on the skin itself [mm].

    ``turned_deg``: by how much it was turned, None where it lay there; ``guessed``: of its unit.
    """

    drawn: Mesh
    places: Array
    turned_deg: float | None
    guessed: tuple[Guessed, ...]


@dataclass(frozen=True, slots=True)
class Departure:
    """How far places lie from a bait's skin [mm]: mean, 95 in 100, most, and where from the nose ``x`` it is most.

    ``off`` is the most with its sign, above 0 where the scan stands proud.
    """

    mean: float
    p95: float
    off: float
    x: float

    def __str__(self) -> str:
        """Say it to the maker, in mm as ``compare`` does."""
        word = "too much" if self.off > 0 else "missing"
        return (
            f"{self.mean:.2f} mm off the body in the mean, at most {self.p95:.2f} mm in 95 of 100 places; the farthest "
            f"is {abs(self.off):.2f} mm {word} at x = {round(self.x, 1) + 0.0:.1f} mm"
        )


def lay_scan(file: Path, recipe: Recipe, unit: Unit = "auto") -> LaidScan:
    """Lay a scan over the body of a recipe, as ``compare`` lays a mesh.

    Raises
    ------
    InputError
        As ``trace_scan``: no mesh, no bait or more than one in it.
    """
    skin, guessed = skin_from(file, unit)
    pose = pose_over(skin, base_body_of(recipe).mesh)
    if pose is not None:
        skin = pose.of(skin)
    return LaidScan(coarser(skin), places_on(skin, PLACES)[0], None if pose is None else pose.turned_deg, guessed)


def departure(recipe: Recipe, places: Array) -> Departure:
    """How far places (k, 3) [mm] of something laid over a recipe's body lie from that."""
    base = base_body_of(recipe)
    off = outside_of(base.body, base.mesh, places)
    worst = int(np.argmax(np.abs(off)))
    return Departure(float(np.abs(off).mean()), fit_of(off).p95, float(off[worst]), float(places[worst, 0]))


def coarser(skin: Mesh) -> Mesh:
    """The same skin in at most ``MOST_DRAWN`` triangles; of a closed one no place moves by more than it must."""
    if len(skin.faces) <= MOST_DRAWN:
        return skin
    try:
        solid = to_manifold(skin)
    except DesignError:  # open, as scans are
        return _by_cells(skin)
    step = FINEST_MM
    while solid.num_tri() > MOST_DRAWN and step <= COARSEST_MM:
        solid, step = solid.simplify(step), 2 * step
    mesh = to_mesh(solid)
    return mesh if 0 < len(mesh.faces) <= MOST_DRAWN else _by_cells(skin)


def _by_cells(skin: Mesh) -> Mesh:
    """One of the skin's own corners for all those of a cell."""
    area = float(np.linalg.norm(doubled_areas(skin.vertices[skin.faces]), axis=1).sum()) / 2
    cell = np.sqrt(2 * area / MOST_DRAWN)
    while True:
        cells = np.floor((skin.vertices - skin.vertices.min(axis=0)) / cell).astype(np.int64)
        _, first, where = np.unique(cells, axis=0, return_index=True, return_inverse=True)
        faces = where.reshape(-1)[skin.faces]
        faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
        if len(faces) <= MOST_DRAWN:
            return Mesh(skin.vertices[first], faces)
        cell *= COARSER


def outline(skin: Mesh, view: Projection) -> list[Array]:
    """What a skin, open or closed, hides from one direction: closed lines (k, 2) in the view's own axes [mm]."""
    flat = view.flat(skin.vertices)[skin.faces]
    (a, b), (c, d) = (flat[:, 1] - flat[:, 0]).T, (flat[:, 2] - flat[:, 0]).T
    twice = a * d - b * c
    flat = np.where((twice < 0)[:, None, None], flat[:, ::-1], flat)[np.abs(twice) > 0]
    shape = manifold3d.CrossSection(list(flat), manifold3d.FillRule.Positive).simplify(STRAIGHT_MM)
    return [points for points in map(np.asarray, shape.to_polygons()) if abs(ring_area(points)) > CRUMB_MM2]
