"""Scans for the tests: known surfaces as meshes, turned, moved, in inches, with a scanner's noise, hooks, lips, holes.

The strange surfaces are none that the fit can make exactly: a bent axis, sections |y/a|^n + |z/b|^m = 1 of two
different exponents, a hollow behind the gill.
"""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import random_baits
import shapely
import trimesh

import bodygen
from bodygen.errors import InputError
from bodygen.form.body import Body
from bodygen.form.fairing.shape import body_of
from bodygen.form.integrals import body_volume
from bodygen.mesh.measure import enclosed, vertex_normals
from bodygen.mesh.skin import Mesh, Rings, body_mesh
from bodygen.scan.cloud import traced
from bodygen.scan.cloud.scanned import Scanned, scanned
from bodygen.scan.nearest import signed_distances
from bodygen.scan.said import said

Rng = np.random.Generator
INCH = 25.4
NOISE_MM = 0.1


@dataclass(frozen=True)
class Posed:
    """A mesh in some pose: ``p turn^T + move`` brings the true points there, in mm, before ``scale`` divides."""

    mesh: Mesh
    turn: np.ndarray
    move: np.ndarray
    scale: float


def any_turn(rng: Rng) -> np.ndarray:
    """A turn that favours no direction."""
    turn, upper = np.linalg.qr(rng.normal(size=(3, 3)))
    turn = turn * np.sign(np.diag(upper))
    if np.linalg.det(turn) < 0:
        turn[:, 0] *= -1
    return turn


def scan_of(mesh: Mesh, rng: Rng, noise: float = NOISE_MM, scale: float = INCH) -> Posed:
    """The mesh as a scanner hands it over: any pose, another unit, every corner off along its normal."""
    rough = mesh.vertices + vertex_normals(mesh) * rng.normal(0, noise, len(mesh.vertices))[:, None]
    turn, move = any_turn(rng), rng.normal(0, 60, 3)
    return Posed(Mesh((rough @ turn.T + move) / scale, mesh.faces), turn, move, scale)


def fine(body: Body, tolerance: float = 0.004) -> Mesh:
    """A body's own mesh."""
    return body_mesh(body, tolerance)


def random_body(seed: int) -> Body | None:
    """The body of a random bait; None where the seed draws a mesh, or a recipe that is refused."""
    bait = random_baits.random_bait(seed)
    if "mesh" in bait.doc["shape"]:
        return None
    with tempfile.TemporaryDirectory() as folder:
        recipe = bait.saved(Path(folder))
        try:
            return body_of(bodygen.read_recipe(recipe))
        except bodygen.BodygenError:
            return None


def strange(seed: int) -> Mesh:
    """A surface outside the fit's own family."""
    rng = np.random.default_rng([seed, 11])
    length = float(rng.uniform(45, 120))
    depth = length * rng.uniform(0.18, 0.34)
    thick = depth * rng.uniform(0.45, 0.9)
    t = (1 - np.cos(np.linspace(0, np.pi, 140))) / 2
    at, p, q = rng.uniform(0.28, 0.45), rng.uniform(0.5, 0.62), rng.uniform(0.55, 0.8)
    front, back = np.clip(1 - t / at, 0, 1), np.clip((t - at) / (1 - at), 0, 1)
    rise = np.where(t < at, (1 - front**2) ** p, (1 - back**2) ** q)
    wide = np.where(t < at, (1 - front**2) ** p, (1 - back**1.8) ** (q + 0.1))
    above = rng.uniform(0.42, 0.58)
    bent = rng.uniform(-0.04, 0.04) * length * 4 * t * (1 - t)
    n, m = rng.uniform(1.7, 3.2, 2)
    lower = rng.uniform(1.7, 3.2)
    angle = np.linspace(-np.pi / 2, np.pi / 2, 61)
    # |y|^n + |z|^m = 1 along rays of equal angle: other exponents above than below
    c, s = np.cos(angle), np.sin(angle)
    upper = s >= 0
    y, z = np.zeros((len(t), len(angle))), np.zeros((len(t), len(angle)))
    for half, ny, nz, share in ((upper, n, m, above), (~upper, n, lower, 1 - above)):
        ray = _ray(np.abs(c[half]), np.abs(s[half]), ny, nz)
        y[:, half] = thick / 2 * wide[:, None] * (ray * c[half])
        z[:, half] = depth * share * rise[:, None] * (ray * s[half])
    y[:, [0, -1]] = 0.0
    ring = np.stack([np.broadcast_to((t * length)[:, None], y.shape), y, z + bent[:, None]], axis=2)
    gill = np.array([rng.uniform(0.24, 0.34) * length, 0.05 * depth])
    near = ((ring[..., 0] - gill[0]) ** 2 + (ring[..., 2] - bent[:, None] - gill[1]) ** 2) / (0.04 * length) ** 2
    ring[..., 1] -= rng.uniform(0.02, 0.05) * thick * np.exp(-near) * np.where(ring[..., 1] > 0, 1, 0)
    return Rings(ring, (False, False)).mesh()


def _ray(c: np.ndarray, s: np.ndarray, n: float, m: float) -> np.ndarray:
    """How far out (r c)^n + (r s)^m = 1 is met, by Newton's method."""
    r = np.ones_like(c)
    for _ in range(60):
        f = (r * c) ** n + (r * s) ** m - 1
        r = r - f / (n * (r * c) ** n / r + m * (r * s) ** m / r)
    return r


def revolved(x: np.ndarray, radius: np.ndarray) -> Mesh:
    """A body of revolution through its half profile (k,) [mm], closed at both ends."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 49)
    ring = np.stack(
        np.broadcast_arrays(x[:, None], radius[:, None] * np.cos(angle), radius[:, None] * np.sin(angle)), 2
    )
    return Rings(ring, (False, False)).mesh()


@dataclass(frozen=True)
class Nearness:
    """How near a found surface lies to the true one: 95 in 100 of the true skin's area within ``p95`` [mm], ...

    ``volume`` is the share by which it is larger [-]; ``turn`` from the true axes to the found ones.
    """

    p95: float
    volume: float
    turn: np.ndarray


def nearness(true: Mesh, posed: Posed, found: Scanned, body: Body, volume: float | None = None) -> Nearness:
    """Hold a body in the found axes against the true mesh, and its volume [mm^3] where the mesh is only near it."""
    at = (true.vertices @ posed.turn.T + posed.move) @ found.turn.T + found.move
    off = np.abs(signed_distances(body, at))
    corner = true.vertices[true.faces]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
    weight = sum(np.bincount(true.faces[:, k], area, len(off)) for k in range(3))
    order = np.argsort(off)
    p95 = off[order][np.searchsorted(np.cumsum(weight[order]), 0.95 * weight.sum())]
    return Nearness(float(p95), body_volume(body).volume / (volume or enclosed(true)) - 1, found.turn @ posed.turn)


def chance_of(mesh: Mesh, noise: float = NOISE_MM) -> float:
    """What a scanner's scatter does to the volume by chance (sd) [-]: 0.17 % of 35 mm, 0.02 % of a usual bait.

    Elementary: each corner moves its own share of the skin.
    """
    corner = mesh.vertices[mesh.faces]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) / 2
    own = sum(np.bincount(mesh.faces[:, k], area / 3, len(mesh.vertices)) for k in range(3))
    return float(noise * np.sqrt((own**2).sum()) / enclosed(mesh))


def with_hardware(mesh: Mesh, length: float, depth: float) -> Mesh:
    """A lip and two hooks fused to the body: a sheet below the nose, wires below the belly and behind the tail."""
    from bodygen.mesh.cut import to_manifold, to_mesh

    low = float(mesh.vertices[np.abs(mesh.vertices[:, 0] - 0.5 * length) < 0.1 * length, 2].min())
    sheet = trimesh.creation.box((0.22 * length, 0.2 * length, 1.5))
    sheet.apply_transform(trimesh.transformations.rotation_matrix(np.radians(35), (0, 1, 0)))
    sheet.apply_translation((0.02 * length, 0, -0.22 * depth))
    parts = [sheet, _hook((0.5 * length, 0, low + 1.0)), _hook((0.97 * length, 0, 0.0))]
    solid = to_manifold(mesh)
    for part in parts:
        solid += to_manifold(Mesh(np.asarray(part.vertices), np.asarray(part.faces, dtype=np.int64)))
    return to_mesh(solid)


def _hook(at: tuple[float, float, float]) -> trimesh.Trimesh:
    """A bend of wire hanging from a place."""
    angle = np.linspace(np.pi / 2, -np.pi, 14)
    bend = np.stack([4 * np.cos(angle) + 0.5, 0 * angle, 4 * np.sin(angle) - 12], axis=1)
    path = np.concatenate([[[0.5, 0, 1], [0.5, 0, -4]], bend]) + at
    tube = trimesh.creation.sweep_polygon(shapely.Point(0, 0).buffer(0.6, 4), path)
    tube.fix_normals()
    return tube


def with_holes(mesh: Mesh, places: np.ndarray, radius: float = 5.0) -> Mesh:
    """The scanner saw nothing round these places (k, 3) [mm]."""
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    seen = (np.linalg.norm(middle[:, None] - places, axis=2) > radius).all(axis=1)
    return Mesh(mesh.vertices, mesh.faces[seen])


def saved(mesh, path):
    trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)
    return path


def found(posed, path):
    """What a file is traced to, in mm: the scan in its axes, and the body that the recipe's own words make.

    A unit that was said to be guessed is told, as a maker would; a scan of 7 to 9 inches might as well be one in cm.
    """
    cloud, own, *_, guessed = traced._read(saved(posed.mesh, path), "auto")
    if guessed:
        cloud, own, *_ = traced._read(path, "in")
    scan = scanned(cloud, own, lambda _: (None, None))
    return scan, said(scan.fitted.sizes.offsets(), "mm", scan.fitted.noise, "rows.csv").body


def refusal(path, **asked):
    with pytest.raises(InputError) as caught:
        traced.traced_from(path, traced.Asked(**asked))
    return str(caught.value).replace(f"{path}: ", "")


def ball(at, size=(35, 8, 11)):
    mesh = trimesh.creation.icosphere(4)
    return trimesh.Trimesh(mesh.vertices * size + at, mesh.faces, process=False)
