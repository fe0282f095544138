"""The skin moved outwards by a fit: what a cradle's cavity is cut with.

Every point of a drawn body moves along its normal; where the skin turns sharply (a flat end, a corner of the outline, a
pointed tip) an arc of the fit's own radius closes the gap, so that the new skin is as far from the old one there as
everywhere. A body that is a mesh has only facets: each moves by the fit, and a sharp edge stays sharp.

Knows surfaces. Knows nothing of cradles.
"""

from itertools import pairwise

import numpy as np

from bodygen.form.body import Body, bezier_points
from bodygen.form.integrals import Array
from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Faces, Mesh, parameters_along, steps_around

TURN_RAD = 0.15
"""Greatest angle of one step of a rounded edge: its chord lies 0.3 % of the fit inside the arc."""
LONGEST = 1.5
"""A mesh's vertex moves no farther than this many fits, however sharp its edge."""
SAME_POINT_MM, SAME_SHARE = 0.01, 0.1
"""Neighbours on a ring nearer than this, and than this share of the usual step there, have one normal between them."""


def offset_skin(body: Body, distance: float, tolerance: float) -> Mesh:
    """A closed mesh that lies ``distance`` outside a drawn body.

    Parameters
    ----------
    body : Body
        The drawn body.
    distance : float
        [mm], > 0 and smaller than the radius of any hollow of the skin.
    tolerance : float
        How far facets may lie from it [mm].
    """
    u = parameters_along(body, tolerance)
    half = bezier_points(body.polygons(u), steps_around(body, tolerance))
    rings = np.concatenate([half, half[:, -2:0:-1] * (1.0, -1.0, 1.0)], axis=1)
    edges = [0, *(int(np.argmin(np.abs(u - corner))) for corner in body.corners), len(u) - 1]
    groups = [rings[a : b + 1] for a, b in pairwise(edges)]
    normals = [_ring_normals(group) for group in groups]
    ahead = np.broadcast_to(np.array([-1.0, 0.0, 0.0]), rings[0].shape)
    rows = [*_turn(rings[0], ahead, normals[0][0], distance)]
    for number, (group, normal) in enumerate(zip(groups, normals, strict=True)):
        first, last = group + distance * normal, number == len(groups) - 1
        if not last:
            before, after = normal[-1], normals[number + 1][0]
            forward = group[-1] - group[-2]
            hollow = (((after - before) * forward).sum(axis=1) < 0)[:, None]
            mitre = (before + after) / (1 + (before * after).sum(axis=1))[:, None]
            before, after = np.where(hollow, mitre, before), np.where(hollow, mitre, after)
            first[-1] = group[-1] + distance * before
            groups[number + 1], normals[number + 1] = groups[number + 1], normals[number + 1].copy()
            normals[number + 1][0] = after
            rows += [*first, *_turn(group[-1], before, after, distance)]
        else:
            rows += [*first, *_turn(group[-1], normal[-1], -ahead, distance)]
    out = np.array([distance, 0.0, 0.0])
    return _closed(np.array(rows), rings[0].mean(axis=0) - out, rings[-1].mean(axis=0) + out)


def _ring_normals(rings: Array) -> Array:
    """Outward unit normals at the points of closed rings (m, k, 3), from the facets between these rings alone."""
    following = np.roll(rings, -1, axis=1)
    facet = np.cross(following[1:] - rings[:-1], rings[1:] - following[:-1])
    total = np.zeros_like(rings)
    for at in (slice(None, -1), slice(1, None)):
        total[at] += facet + np.roll(facet, 1, axis=1)
    total = _shared(rings, total)
    unit: Array = total / np.maximum(np.linalg.norm(total, axis=2), 1e-300)[..., None]
    return unit


def _shared(rings: Array, values: Array) -> Array:
    """Values (m, k, 3) at ring points summed over runs of points that all but coincide.

    A tip has all its points in one place, and yet a normal each: its runs are those of the ring beside it.
    """
    step = np.linalg.norm(rings - np.roll(rings, 1, axis=1), axis=2)
    for tip, beside in ((0, 1), (-1, -2)):
        if step[tip].max() < SAME_POINT_MM * SAME_SHARE:
            step[tip] = step[beside]
    apart = step >= np.minimum(SAME_POINT_MM, SAME_SHARE * step.mean(axis=1, keepdims=True))
    run = np.cumsum(apart, axis=1)
    around = np.where(run == run[:, -1:], 0, run)  # the last run goes on behind the seam, where the count begins at 0
    run = np.where(apart[:, :1], run, around)
    row = np.arange(len(rings))[:, None]
    sums = np.zeros((len(rings), rings.shape[1] + 1, 3))
    np.add.at(sums, (np.broadcast_to(row, run.shape), run), values)
    return np.asarray(sums[row, run])


def _turn(points: Array, before: Array, after: Array, distance: float) -> list[Array]:
    """Rows of a ring's rounded edge strictly between two normals, on the great circle from one to the other."""
    angle = np.arccos(np.clip((before * after).sum(axis=1), -1.0, 1.0))
    steps = int(np.ceil(angle.max() / TURN_RAD))
    sine = np.sin(angle)
    rows = []
    for share in np.arange(1, steps) / max(steps, 1):
        with np.errstate(divide="ignore", invalid="ignore"):
            a, b = np.sin((1 - share) * angle) / sine, np.sin(share * angle) / sine
        flat = sine < 1e-9
        a, b = np.where(flat, 1 - share, a), np.where(flat, share, b)
        rows.append(points + distance * (a[:, None] * before + b[:, None] * after))
    return rows


def _closed(rings: Array, nose: Array, tail: Array) -> Mesh:
    count, size = rings.shape[:2]
    index = np.arange(count * size).reshape(count, size)
    a, b = index[:-1], np.roll(index[:-1], -1, axis=1)
    c, d = index[1:], np.roll(index[1:], -1, axis=1)
    sides = np.stack([np.stack([a, b, c], -1), np.stack([b, d, c], -1)], axis=2).reshape(-1, 3)
    tip = count * size
    fans = [
        np.stack([np.full(size, tip), np.roll(index[0], -1), index[0]], axis=1),
        np.stack([np.full(size, tip + 1), index[-1], np.roll(index[-1], -1)], axis=1),
    ]
    return Mesh(np.concatenate([rings.reshape(-1, 3), [nose, tail]]), np.concatenate([sides, *fans]))


def offset_mesh(mesh: Mesh, distance: float) -> Mesh:
    """A mesh's facets moved outwards by ``distance`` [mm]: each vertex to where the planes around it then meet."""
    corner = mesh.vertices[mesh.faces]
    facet = doubled_areas(corner)
    area = np.linalg.norm(facet, axis=1)
    unit = facet / np.maximum(area, 1e-300)[:, None]
    left = _gathered(mesh.faces, area[:, None, None] * unit[:, :, None] * unit[:, None, :], len(mesh.vertices))
    right = _gathered(mesh.faces, area[:, None] * unit, len(mesh.vertices))
    weight = _gathered(mesh.faces, area, len(mesh.vertices))
    # across a flat place any shift along it would do: a hair of the identity asks for the shortest
    moved = np.linalg.solve(left + 1e-4 * weight[:, None, None] * np.eye(3), right[..., None])[..., 0] * distance
    length = np.linalg.norm(moved, axis=1, keepdims=True)
    return Mesh(mesh.vertices + moved * np.minimum(1.0, LONGEST * distance / np.maximum(length, 1e-300)), mesh.faces)


def _gathered(faces: Faces, values: Array, count: int) -> Array:
    """Sum of the values of the facets around each vertex."""
    flat = values.reshape(len(values), -1)
    columns = [sum(np.bincount(faces[:, k], flat[:, j], count) for k in range(3)) for j in range(flat.shape[1])]
    return np.stack(columns, axis=1).reshape(count, *values.shape[1:])
