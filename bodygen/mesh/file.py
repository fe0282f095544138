"""A body taken as it is from a mesh file: read, merged, checked; its own answers to straight lines."""

from bodygen.errors import InputError, Mistake
from bodygen.form.cuts import Probe
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import MeshFile, Recipe

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
MOST_FACES = 2_000_000


def read_mesh(recipe: Recipe, shape: MeshFile) -> Mesh:
    """The closed mesh of ``[shape] mesh``, in mm.

    Raises
    ------
    InputError
        Not a mesh file, not closed after merging equal vertices, more than one body, or an absurd size.
    """
    import trimesh  # noqa: PLC0415  0.6 s, only where a mesh is the body

    def refuse(problem: str, accepted: str) -> InputError:
        line = recipe.lines.get("shape.mesh", 0)
        return InputError([Mistake(recipe.file, line, "shape.mesh", f'"{shape.path.name}"', problem, accepted)])

    try:
        loaded = trimesh.load(shape.path, force="mesh", process=False)
        vertices, faces = np.asarray(loaded.vertices, dtype=np.float64), np.asarray(loaded.faces, dtype=np.int64)
    except Exception as error:  # a parser may raise anything on a hostile file
        raise refuse(f"cannot be read as a mesh ({type(error).__name__})", "STL, OBJ, 3MF or PLY") from error
    if not len(faces) or len(faces) > MOST_FACES or not np.isfinite(vertices).all():
        raise refuse(f"has {len(faces)} triangles, or corners that are no numbers", f"1 to {MOST_FACES} triangles with finite corners")
    vertices, where = np.unique(vertices * shape.scale + 0.0, axis=0, return_inverse=True)
    faces = where.reshape(-1)[faces]
    faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
    tail, head = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    count = len(vertices)
    open_edges = int(np.count_nonzero(np.sort(tail * count + head) != np.sort(head * count + tail)))
    if open_edges:
        raise refuse(f"is not watertight: {open_edges} edges have a face on one side only", "a closed mesh, its faces all looking outwards")
    corner = vertices[faces]
    volume = float(np.einsum("ij,ij->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])) / 6)
    if volume <= 0:
        raise refuse("is inside out: its volume is negative", "a closed mesh, its faces all looking outwards")
    longest = float(np.ptp(vertices, axis=0).max())
    if not 3 <= longest <= 1000:  # noqa: PLR2004  a bait, whatever the unit slip
        raise refuse(f"is {longest:.3g} mm long", f"3 to 1000 mm; the file's numbers are taken in units = \"{recipe.units}\"")
    mesh = Mesh(vertices, faces)
    to_manifold(mesh)
    return mesh


def probe_of(mesh: Mesh) -> Probe:
    """A mesh's answers to straight lines."""
    corner = mesh.vertices[mesh.faces]
    a, u, v = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]

    def crossings(origin: Array, direction: Array) -> Array:
        # T. Moeller, B. Trumbore, J. Graphics Tools 2 (1997) 21-28 (from memory)
        p = np.cross(direction, v)
        det = np.einsum("ij,ij->i", u, p)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = origin - a
            s = np.einsum("ij,ij->i", t, p) / det
            q = np.cross(t, u)
            r = q @ direction / det
            way = np.einsum("ij,ij->i", v, q) / det
        hit = (np.abs(det) > 1e-12) & (s >= 0) & (r >= 0) & (s + r <= 1)
        found = np.sort(way[hit])
        apart = np.concatenate([[True], np.diff(found) > 1e-6]) if len(found) else np.empty(0, bool)
        return found[apart]

    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)

    def heights(x: Array) -> tuple[Array, Array]:
        below, above = np.full(len(x), np.nan), np.full(len(x), np.nan)
        for i, at in enumerate(x):
            hits = crossings(np.array([at, 0.0, low[2] - 1.0]), np.array([0.0, 0.0, 1.0]))
            if len(hits) > 1:
                below[i], above[i] = low[2] - 1.0 + hits[0], low[2] - 1.0 + hits[-1]
        return below, above

    return Probe(crossings, heights, low, high)
