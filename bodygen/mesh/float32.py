"""A mesh fit for files of 32-bit numbers: no slivers, no vertex twice, closed and turned outwards, in fixed order.

Booleans leave triangles a millionth of a millimetre high; rounded to 32 bits they turn over or fall together, and a
slicer then mends the file its own way. Here is the one place that removes them. Nothing is measured or written.
"""

import numpy as np

from bodygen.errors import DesignError
from bodygen.mesh.cut import known_manifold, to_mesh
from bodygen.mesh.skin import Faces, Mesh
from bodygen.mesh.slivers import least_heights, without_slivers

LEAST_HEIGHT_MM = 1e-5
"""Triangles lower than this are slivers; 32-bit numbers near 100 mm lie 7.6e-6 mm apart."""
SHARES = (0.05, 0.1, 0.2, 0.4, 0.7, 1.0)
"""Of the tolerance, tried in turn: the least that leaves no sliver moves the skin least."""


def repair_for_float32(mesh: Mesh, tolerance: float) -> Mesh:
    """The same solid without slivers; vertices are exact 32-bit numbers, none twice, the order of everything fixed.

    Derived here; the spacing of 32-bit numbers is IEEE 754's.

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

    Examples
    --------
    >>> import manifold3d
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    >>> repair_for_float32(cube, 0.001).faces[0].tolist()[0], len(repair_for_float32(cube, 0.001).faces)
    (0, 12)
    """
    solid = known_manifold(mesh)
    fault = ""
    for share in SHARES:
        rounded = _rounded(to_mesh(solid.simplify(share * tolerance)))
        fault = _edge_fault(rounded) or _sliver_fault(rounded)
        if fault and not _edge_fault(rounded):
            rounded = without_slivers(rounded, LEAST_HEIGHT_MM)
            fault = _edge_fault(rounded) or _sliver_fault(rounded)
        if not fault:
            return _ordered(rounded)
    msg = f"the mesh cannot be written in 32-bit numbers: {fault}; two cuts meet in a line or a point, move one of them"
    raise DesignError(msg)


def moved_for_float32(repaired: Mesh, moved: Mesh, tolerance: float) -> Mesh:
    """A repaired mesh where it was moved to: the same faces, as long as rounding there leaves them sound.

    Parameters
    ----------
    repaired : Mesh
        What ``repair_for_float32`` gave [mm].
    moved : Mesh
        The same, turned or shifted; its vertices need be no 32-bit numbers [mm].
    tolerance : float
        How far the surface may move where it has to be repaired again [mm], > 0.

    Raises
    ------
    DesignError
        As ``repair_for_float32``.

    Examples
    --------
    >>> import manifold3d
    >>> cube = repair_for_float32(to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0))), 0.001)
    >>> moved_for_float32(cube, Mesh(cube.vertices + 0.1, cube.faces), 0.001).vertices[0].tolist()
    [0.10000000149011612, 0.10000000149011612, 0.10000000149011612]
    """
    if np.array_equal(repaired.vertices, moved.vertices):
        return repaired
    rounded = _rounded(moved)
    return repair_for_float32(moved, tolerance) if _edge_fault(rounded) or _sliver_fault(rounded) else _ordered(rounded)


def _rounded(mesh: Mesh) -> Mesh:
    """Vertices rounded to 32 bits, equal ones made one; sorted by x, y, z."""
    narrow = mesh.vertices.astype(np.float32) + np.float32(0)  # adding 0 turns -0 into 0: equal numbers, equal bytes
    order = np.lexsort(narrow.T[::-1])
    ranked = narrow[order]
    first = np.ones(len(ranked), dtype=bool)
    first[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.cumsum(first) - 1
    vertices, faces = ranked[first], place[mesh.faces]
    whole = (faces != np.roll(faces, 1, axis=1)).all(
        axis=1
    )  # an edge whose ends fall together takes both its faces along
    return Mesh(vertices.astype(np.float64), faces[whole])


def _edge_fault(mesh: Mesh) -> str:
    """What keeps the mesh from being a closed, oriented skin; empty when nothing does."""
    if not len(mesh.faces):
        return "nothing is left of it"
    edges = _unpaired(mesh.faces, len(mesh.vertices))
    return f"{edges} edges do not join exactly two faces that run against each other" if edges else ""


def _sliver_fault(mesh: Mesh) -> str:
    slivers = int((least_heights(mesh.vertices, mesh.faces) < LEAST_HEIGHT_MM).sum())
    return f"{slivers} triangles are lower than {LEAST_HEIGHT_MM:g} mm" if slivers else ""


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
