"""A mesh fit for files of 32-bit numbers: no slivers, no vertex twice, closed and turned outwards, in fixed order.

Booleans leave triangles a millionth of a millimetre high; rounded to 32 bits they turn over or fall together, and a
slicer then mends the file its own way. Here is the one place that removes them. Nothing is measured or written.
"""

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.mesh.cut import to_manifold, to_mesh
from bodygen.mesh.skin import Array, Faces, Mesh

LEAST_HEIGHT_MM = 1e-5
"""Triangles lower than this are slivers; 32-bit numbers near 100 mm lie 7.6e-6 mm apart."""
SHARES = (0.05, 0.1, 0.2, 0.4, 0.7, 1.0)
"""Of the tolerance, tried in turn: the least that leaves no sliver moves the skin least."""


ROUNDS = 8
"""Of flips at most: each clears a sliver, and may leave a smaller one beside it."""


def tidy(mesh: Mesh, tolerance: float) -> Mesh:
    """The same solid without slivers; vertices are exact 32-bit numbers, none twice, the order of everything fixed.

    Parameters
    ----------
    mesh : Mesh
        Closed [mm].
    tolerance : float
        How far the surface may move [mm], > 0.

    Raises
    ------
    DesignError
        When even the whole tolerance leaves slivers, or edges where more than two faces meet: two cuts that touch in a
        line leave wood of no thickness, which no file can hold.
    """
    solid = to_manifold(mesh)
    fault = ""
    for share in SHARES:
        rounded = _flipped(_rounded(solid.simplify(share * tolerance)))
        fault = _fault(rounded)
        if not fault:
            return _ordered(rounded)
    msg = f"the mesh cannot be written in 32-bit numbers: {fault}; two cuts meet in a line or a point, move one of them"
    raise DesignError(msg)


def least_heights(mesh: Mesh) -> Array:
    """Smallest height of each triangle (m,) [mm]; 0 for a needle or a point."""
    corner = mesh.vertices[mesh.faces]
    longest = np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).max(axis=1)
    double_area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1)
    return np.asarray(double_area / np.maximum(longest, np.finfo(float).tiny))


def _rounded(solid: manifold3d.Manifold) -> Mesh:
    """Vertices rounded to 32 bits, equal ones made one; sorted by x, y, z."""
    mesh = to_mesh(solid)
    narrow = mesh.vertices.astype(np.float32) + np.float32(0)  # adding 0 turns -0 into 0: equal numbers, equal bytes
    vertices, place = np.unique(narrow, axis=0, return_inverse=True)
    return Mesh(vertices.astype(np.float64), place.reshape(-1).astype(np.int64)[mesh.faces])


def _flipped(mesh: Mesh) -> Mesh:
    """Slivers whose middle corner lies on their longest edge, given away to the neighbour across that edge.

    The two triangles on the edge a-b become a-m-d and m-b-d, m the sliver's middle corner and d the neighbour's far one:
    the skin moves by the sliver's height at most, and stays closed. A flip that would draw an edge a second time is left.
    """
    faces = mesh.faces.copy()
    for _ in range(ROUNDS):
        bad = np.flatnonzero(least_heights(Mesh(mesh.vertices, faces)) < LEAST_HEIGHT_MM)
        if not len(bad):
            break
        owner = {(int(face[k]), int(face[(k + 1) % 3])): i for i, face in enumerate(faces) for k in range(3)}
        touched: set[int] = set()
        for i in bad.tolist():
            corner = mesh.vertices[faces[i]]
            k = int(np.argmax(np.linalg.norm(np.roll(corner, -1, axis=0) - corner, axis=1)))
            a, b, m = (int(faces[i][(k + j) % 3]) for j in range(3))
            j = owner.get((b, a), -1)
            if j < 0 or i in touched or j in touched:
                continue
            d = next(int(v) for v in faces[j] if v not in (a, b))
            if m == d or (m, d) in owner or (d, m) in owner:
                continue
            faces[i], faces[j] = (a, d, m), (d, b, m)
            touched |= {i, j}
        if not touched:
            break
    return Mesh(mesh.vertices, faces)


def _fault(mesh: Mesh) -> str:
    """What keeps the mesh from being a closed, oriented skin without slivers; empty when nothing does."""
    if not len(mesh.faces):
        return "nothing is left of it"
    slivers = int((least_heights(mesh) < LEAST_HEIGHT_MM).sum())
    if slivers:
        return f"{slivers} triangles are lower than {LEAST_HEIGHT_MM:g} mm"
    open_edges = _unpaired(mesh.faces, len(mesh.vertices))
    return f"{open_edges} edges do not join exactly two faces that run against each other" if open_edges else ""


def _unpaired(faces: Faces, vertices: int) -> int:
    """Directed edges without exactly one partner in the other direction."""
    start, end = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
    there, back = np.sort(start * vertices + end), np.sort(end * vertices + start)
    twice = int((np.diff(there) == 0).sum())
    return twice + int((there != back).sum())


def _ordered(mesh: Mesh) -> Mesh:
    """Each face from its lowest vertex on, faces sorted: the kernel's threads may hand them over in any order."""
    first = np.argmin(mesh.faces, axis=1)
    faces = np.take_along_axis(mesh.faces, (first[:, None] + np.arange(3)) % 3, axis=1)
    return Mesh(mesh.vertices, faces[np.lexsort(faces.T[::-1])])
