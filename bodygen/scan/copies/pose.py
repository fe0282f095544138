"""One skin laid over another whatever pose its file has it in: principal axes first, then the nearest places.

Knows closed meshes in mm. Decides nothing about which of the two is meant.
"""

from dataclasses import dataclass
from math import acos, degrees

import numpy as np

from bodygen.form.body import Array
from bodygen.form.triples import cross, doubled_areas
from bodygen.mesh.skin import Mesh

COARSE, FINE = (250, 1500), (900, 9000)
"""Places of the moving skin and of the still one, for the rounds from every start and for the last from the best."""
ROUNDS = 16
SPREADS, CLOSEST_MM = 4.0, 0.5
"""Places farther off than so many usual distances do not count, such as a lip's; nearer than this [mm] all do.

No share of them is left out: of a copy that is fat all round that would be one side's, and pull it aside.
"""
LEVER_MM, FREE = 4.0, 0.02
"""A turn that moves the skin by so much along its normals weighs as a shift; what tells less than this [-] is left.

Such is the turn of a round skin about its own axis.
"""
ALIKE = 1.2
"""A pose that is farther off than another by less than this factor is as good."""
ALONG = 0.97
"""Cosine between a mesh's long axis and x from which on it lies along x as it is."""
AT_ONCE = 300


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """How a skin was laid over another: p turn^T + move [mm]; ``apart`` is what is left in the mean [mm]."""

    turn: Array
    move: Array
    apart: float

    @property
    def turned_deg(self) -> float:
        """The angle of the turn [deg].

        Elementary: the trace of a turn is 1 + 2 cos of its angle.
        """
        return degrees(acos(float(np.clip((np.trace(self.turn) - 1) / 2, -1.0, 1.0))))

    def of(self, mesh: Mesh) -> Mesh:
        """The mesh in this pose."""
        return Mesh(mesh.vertices @ self.turn.T + self.move, mesh.faces)


def places_on(mesh: Mesh, count: int) -> tuple[Array, Array]:
    """So many places, each for an equal share of a skin's area, and the normals there (k, 3) [mm], [-].

    The same for the same mesh.
    """
    corners = mesh.vertices[mesh.faces]
    normals = doubled_areas(corners)
    area = np.linalg.norm(normals, axis=1)
    rng = np.random.default_rng(1)
    face = np.searchsorted(np.cumsum(area) / area.sum(), (np.arange(count) + 0.5) / count)
    a, b = rng.random((2, count, 1))
    fold = a + b > 1
    a, b = np.where(fold, 1 - a, a), np.where(fold, 1 - b, b)
    p, q, r = (corners[face, i] for i in range(3))
    return np.asarray(p + a * (q - p) + b * (r - p)), np.asarray(normals[face] / area[face, None])


def upright(mesh: Mesh) -> Pose | None:
    """How a mesh that does not lie along x comes to lie along it, its nose at 0; None for one that does.

    The fuller end is taken for the nose, the deeper way for the height, and the fuller side for the belly.
    """
    middle, axes = own_axes(mesh)
    if abs(axes[0, 0]) >= ALONG:
        return None
    at = (mesh.vertices - middle) @ axes.T
    across = (0, 2, 1) if np.ptp(at[:, 1]) > np.ptp(at[:, 2]) else (0, 1, 2)
    turn = axes[list(across)]
    at = at[:, across]
    ends = (at.min(axis=0) + at.max(axis=0)) / 2  # from the middle of the skin, which lies at 0
    turn *= np.where(ends < 0, -1.0, 1.0)[:, None]
    turn[1] = cross(turn[2], turn[0])
    at = (mesh.vertices - middle) @ turn.T
    return Pose(turn, -middle @ turn.T - (at[:, 0].min(), 0.0, 0.0), 0.0)


def laid_over(moving: Mesh, still: Mesh) -> Pose:
    """How a skin lies best over another one.

    Parameters
    ----------
    moving, still : Mesh
        What is turned and moved, and what stays [mm].

    Returns
    -------
    Pose
        Never a mirroring.

    References
    ----------
    Y. Chen, G. Medioni, Object modelling by registration of multiple range images (1992): distances along the normals;
    D. Chetverikov et al., the trimmed iterative closest point algorithm (2002) (both from memory);
    here what is trimmed goes by distance.
    """
    here, _ = places_on(moving, COARSE[0])
    there, normals = places_on(still, COARSE[1])
    tried = [_settled(here, there, normals, start) for start in _starts(moving, still)]
    best = min(tried, key=lambda pose: pose.apart)
    if tried[0].apart <= ALIKE * best.apart:  # a turned or mirrored shape is as good either way: leave it
        best = tried[0]
    return _settled(places_on(moving, FINE[0])[0], *places_on(still, FINE[1]), best)


def own_axes(mesh: Mesh) -> tuple[Array, Array]:
    """The middle (3,) of a skin and its axes (3, 3), a row each, the long one first; right-handed.

    Elementary: the eigenvectors of the second moments of its area.
    """
    places, _ = places_on(mesh, FINE[1])
    middle = places.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov((places - middle).T))
    rows = axes.T[::-1].copy()
    rows[2] = cross(rows[0], rows[1])
    return middle, rows


def _starts(moving: Mesh, still: Mesh) -> list[Pose]:
    """As both lie, and by their axes: nose to nose or to tail, each of four sides up."""
    middle, axes = own_axes(moving)
    other_middle, other_axes = own_axes(still)
    starts = [Pose(np.eye(3), other_middle - middle, np.inf)]
    for nose in (1.0, -1.0):
        for c, s in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
            way = np.array([[nose, 0, 0], [0, c, -s], [0, nose * s, nose * c]])
            turn = other_axes.T @ way @ axes
            starts.append(Pose(turn, other_middle - middle @ turn.T, np.inf))
    return starts


def _settled(here: Array, there: Array, normals: Array, pose: Pose) -> Pose:
    """The pose after rounds of steps to the planes of the nearest places, and what is then left."""
    turn, move = pose.turn, pose.move
    apart = np.inf
    for _ in range(ROUNDS):
        at = here @ turn.T + move
        nearest = _nearest(at, there)
        away, normal = at - there[nearest], normals[nearest]
        far = np.linalg.norm(away, axis=1)
        near = far <= max(SPREADS * float(np.median(far)), CLOSEST_MM)
        off = (away * normal).sum(axis=1)[near]
        rows = np.concatenate([cross(at[near], normal[near]) / LEVER_MM, normal[near]], axis=1)
        sure, ways = np.linalg.eigh(rows.T @ rows / len(off))
        step = -ways @ np.where(sure > FREE, ways.T @ (rows.T @ off / len(off)) / np.maximum(sure, FREE), 0.0)
        apart = float(np.abs(off).mean())
        turned = _turn_by(step[:3] / LEVER_MM)
        turn, move = turned @ turn, turned @ move + step[3:]
        if np.abs(step).max() < 1e-6:
            break
    return Pose(turn, move, apart)


def _nearest(points: Array, there: Array) -> Array:
    """Numbers (k,) of the nearest of ``there`` (m, 3) to points (k, 3)."""
    square = (there**2).sum(axis=1)
    parts = [np.argmin(square - 2 * points[i : i + AT_ONCE] @ there.T, axis=1) for i in range(0, len(points), AT_ONCE)]
    return np.concatenate(parts)


def _turn_by(angles: Array) -> Array:
    """The turn (3, 3) by a small vector of angles (3,) [rad]: Rodrigues' formula."""
    size = float(np.linalg.norm(angles))
    if size < 1e-12:
        return np.eye(3)
    x, y, z = angles / size
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + np.sin(size) * k + (1 - np.cos(size)) * k @ k)
