"""One of the baits that are compared: a recipe, a mesh or a table of readings, read to one kind of thing.

Every one becomes a closed mesh in the body's axes, its nose at x = 0; those with a surface of ours keep it besides.
"""

from dataclasses import dataclass, replace
from math import gamma
from pathlib import Path
from typing import Any

import numpy as np

from bodygen.assessment import Assessment
from bodygen.errors import InputError, Mistake
from bodygen.form.body import Array, Body
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.integrals import body_volume
from bodygen.form.triples import doubled_areas
from bodygen.mesh.base_body import base_body_of
from bodygen.mesh.skin import Mesh, body_mesh
from bodygen.pipeline import assess
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import parse_recipe, read_recipe
from bodygen.recipe.readers.shape import MESH_ENDINGS
from bodygen.scan.copies.pose import Pose
from bodygen.scan.nearest import signed_distances
from bodygen.scan.readings.table import read_readings
from bodygen.scan.readings.trace import traced_from

FINE_MM = 0.02
CLOSE_MM = 1.5
"""Facets are cut smaller than this before the nearest of them is looked for."""
CANDIDATES, AT_ONCE = 16, 64


@dataclass(frozen=True, slots=True, eq=False)
class Specimen:
    """A bait to compare: its skin [mm], what a recipe knows besides; ``sizes`` are length, depth, thickness [mm]."""

    name: str
    mesh: Mesh
    body: Body | None
    recipe: Recipe
    assessment: Assessment | None
    volume: float
    sizes: tuple[float, float, float]

    def figures(self) -> dict[str, Any]:
        """Give the figures to compare, under the names of JSON; None for what a skin alone cannot tell."""
        a = self.assessment
        return {
            "volume_cm3": self.volume / 1000,
            "mass_g": a.total.mass if a else None,
            "reserve_g": a.flotation.reserve_g if a else None,
            "pitch_deg": a.flotation.attitude.pitch_deg if a else None,
            "length_mm": self.sizes[0],
            "depth_mm": self.sizes[1],
            "thickness_mm": self.sizes[2],
        }

    def outside(self, places: Array) -> Array:
        """How far places (k, 3) lie outside this skin [mm], within it below 0."""
        return outside_of(self.body, self.mesh, places)

    def sections(self, x: Array) -> Array:
        """Back, belly, half width [mm] and area [mm^2] of the sections at x (k,): (k, 4)."""
        return np.array([_section(self.mesh, float(at)) for at in x])


def outside_of(body: Body | None, mesh: Mesh, places: Array) -> Array:
    """How far places (k, 3) lie outside a drawn surface, or where there is none a mesh [mm], within it below 0."""
    return signed_distances(body, places) if body is not None else _from_mesh(mesh, places)


def specimen_of(path: Path, ruler: str) -> Specimen:
    """Read one of the baits; ``ruler``: the units of a mesh that says none.

    Raises
    ------
    InputError
        Whatever is wrong with the file, as its own reader tells it.
    """
    ending = path.suffix.lower()
    if ending == ".csv":
        body = skin_through(traced_from(read_readings(path)).offsets)
        recipe = parse_recipe("format = 1\n[shape]\nlength = 70\ndepth = 20\nthickness = 15\n")
        return Specimen(path.name, body_mesh(body, FINE_MM), body, recipe, None, body_volume(body).volume, body.sizes())
    if ending in MESH_ENDINGS:
        name = path.name.replace("\\", "\\\\").replace('"', '\\"')
        text = f'format = 1\nunits = "{ruler}"\n[shape]\nmesh = "{name}"\n'
        try:
            recipe = parse_recipe(text, path.parent / f"{path.name}.toml")
            base = base_body_of(recipe)
        except InputError as error:  # of a recipe that nobody wrote: the mesh itself is what is wrong
            mistakes = [replace(m, file=path.as_posix(), line=0, key="", written="") for m in error.mistakes]
            raise InputError(mistakes) from None
        moved = Mesh(base.mesh.vertices - (base.mesh.vertices[:, 0].min(), 0.0, 0.0), base.mesh.faces)
        return Specimen(path.name, moved, None, recipe, None, base.volume.volume, base.sizes)
    if ending != ".toml":
        accepted = f"a recipe (.toml), a mesh ({', '.join(MESH_ENDINGS)}) or a table of readings (.csv)"
        raise InputError([Mistake(path.as_posix(), 0, "", "", "not a kind of file that is compared.", accepted)])
    recipe = read_recipe(path)
    wood = recipe.wood
    known = wood.species is not None or wood.density_g_cm3 is not None or wood.blank_mass is not None
    base = base_body_of(recipe)
    assessment = assess(recipe) if known else None
    return Specimen(path.name, base.mesh, base.body, recipe, assessment, base.volume.volume, base.sizes)


def moved(subject: Specimen, pose: Pose) -> Specimen:
    """A mesh in another pose; its sizes go along x, y and z of that."""
    mesh = pose.of(subject.mesh)
    length, thickness, depth = (float(side) for side in np.ptp(mesh.vertices, axis=0))
    return replace(subject, mesh=mesh, sizes=(length, depth, thickness))


def _section(mesh: Mesh, x: float) -> tuple[float, float, float, float]:
    """Back, belly, half width and area where a plane cuts a mesh.

    Green's theorem over the cut's pieces, each turned so that the inside lies to its left.
    """
    corners = mesh.vertices[mesh.faces]
    over = corners[:, :, 0] > x
    cut = corners[over.any(axis=1) & ~over.all(axis=1)]
    if not len(cut):
        return 0.0, 0.0, 0.0, 0.0
    over = cut[:, :, 0] > x
    lone = np.where(over.sum(axis=1) == 1, np.argmax(over, axis=1), np.argmin(over, axis=1))
    row = np.arange(len(cut))
    tip, one, two = (cut[row, (lone + k) % 3] for k in range(3))
    ends = [tip + (other - tip) * ((x - tip[:, 0]) / (other[:, 0] - tip[:, 0]))[:, None] for other in (one, two)]
    a, b = ends[0][:, 1:], ends[1][:, 1:]
    turned = over[row, lone][:, None]
    a, b = np.where(turned, a, b), np.where(turned, b, a)
    area = abs(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()) / 2)
    points = np.concatenate([a, b])
    return float(points[:, 1].max()), float(points[:, 1].min()), float(np.ptp(points[:, 0])) / 2, area


def squareness_of(width: float, depth: float, area: float) -> float:
    """The exponent of the superellipse that fills so much of its width times depth [-], from 1 to 10.

    DLMF 5.14.1, by halving.

    Examples
    --------
    >>> squareness_of(2.0, 2.0, 3.14159265)
    2.0
    """
    low, high = 1.0, 10.0
    for _ in range(50):
        n = (low + high) / 2
        low, high = (n, high) if gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n) * width * depth < area else (low, n)
    return n


def _from_mesh(mesh: Mesh, places: Array) -> Array:
    """Signed distances [mm] to a mesh: the nearest facets by their middles, then exactly."""
    from trimesh.remesh import subdivide_to_size

    vertices, faces = subdivide_to_size(mesh.vertices, mesh.faces, CLOSE_MM, max_iter=12)
    corners = np.asarray(vertices)[np.asarray(faces)]
    middles = corners.mean(axis=1)
    square = (middles**2).sum(axis=1)
    normals = doubled_areas(corners)
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
    found = []
    for i in range(0, len(places), AT_ONCE):
        some = places[i : i + AT_ONCE]
        near = np.argpartition(square - 2 * some @ middles.T, CANDIDATES, axis=1)[:, :CANDIDATES]
        at = _nearest_on(corners[near], some[:, None])
        away = some[:, None] - at
        distance = np.linalg.norm(away, axis=2)
        best = np.argmin(distance, axis=1)
        row = np.arange(len(some))
        side = (away[row, best] * normals[near[row, best]]).sum(axis=1)
        found.append(np.where(side < 0, -1.0, 1.0) * distance[row, best])
    return np.concatenate(found)


def _nearest_on(corners: Array, points: Array) -> Array:
    """The nearest points of triangles (..., 3, 3) to points (..., 3).

    Elementary: the foot of the perpendicular where it lies within, else the nearest of the three edges.
    """
    a, b, c = corners[..., 0, :], corners[..., 1, :], corners[..., 2, :]
    normal = np.cross(b - a, c - a)
    size = np.maximum((normal**2).sum(axis=-1, keepdims=True), 1e-18)
    foot = points - ((points - a) * normal).sum(axis=-1, keepdims=True) / size * normal
    inside = np.ones(foot.shape[:-1], dtype=bool)
    best, least = foot, np.full(foot.shape[:-1], np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        way = end - start
        inside &= (np.cross(way, foot - start) * normal).sum(axis=-1) >= 0
        share = ((points - start) * way).sum(axis=-1) / np.maximum((way**2).sum(axis=-1), 1e-18)
        at = start + np.clip(share, 0, 1)[..., None] * way
        far = ((points - at) ** 2).sum(axis=-1)
        nearer = far < least
        best, least = np.where(nearer[..., None], at, best), np.where(nearer, far, least)
    return np.asarray(np.where(inside[..., None], foot, best))
