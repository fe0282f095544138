"""A body taken as it is from a mesh file: read, merged, checked; its own answers to straight lines."""

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile, is_zipfile

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError, InputError, Mistake
from bodygen.findings import Finding
from bodygen.form.ray_caster import RayCaster, once, remembered
from bodygen.form.triples import cross
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.measure import enclosed
from bodygen.mesh.skin import Faces, Mesh
from bodygen.recipe.model import MeshFile, Recipe
from bodygen.tables import load

Array = NDArray[np.float64]
MOST_FACES = 2_000_000
MOST_UNPACKED_BYTES = 1_000_000_000
"""A 3MF is a packed text: this much of it is more than ``MOST_FACES`` triangles."""
EDGE = 1e-9
"""Share of a triangle by which a line may pass beside it and still hit: neighbours must not both miss their edge."""


def read_mesh(recipe: Recipe, shape: MeshFile) -> Mesh:
    """The closed mesh of ``[shape] mesh`` [mm].

    Raises
    ------
    InputError
        Not a mesh file, not closed after merging equal vertices, inside out, more than one body, or an absurd size.
    """
    try:
        vertices, faces = loaded(shape.path)
        own = own_unit(shape.path)
    except Exception as error:  # a parser may raise anything on a hostile file
        problem = f"cannot be read as a mesh ({type(error).__name__})"
        raise _refusal(recipe, shape, problem, "STL, OBJ, 3MF or PLY") from error
    scale = shape.scale if own is None else load("mesh")["unit_3mf"].get(f"{own}_mm")
    if scale is None:
        known = ", ".join(key.removesuffix("_mm") for key in load("mesh")["unit_3mf"] if key.endswith("_mm"))
        raise _refusal(recipe, shape, f'is in "{own}", which is no unit of a 3MF', known)
    fault = _count_fault(vertices, faces)
    if fault is None:
        mesh = _merged(vertices * scale, faces)
        fault = _fault(mesh, recipe.units)
    if fault is not None:
        raise _refusal(recipe, shape, *fault)
    return mesh


def _refusal(recipe: Recipe, shape: MeshFile, problem: str, accepted: str) -> InputError:
    file, line = recipe.place("shape.mesh")
    return InputError([Mistake(file, line, "shape.mesh", f'"{shape.path.name}"', problem, accepted)])


def loaded(path: Path) -> tuple[Array, Faces]:
    """Corners (n, 3) in the file's own unit [-] and triangles (m, 3) as the file has them, nothing merged or judged.

    Read from memory, so that the file cannot name another one. A parser may raise anything on a hostile file.
    """
    import trimesh  # 0.6 s: only where a mesh is the body

    packed = path.read_bytes()
    if is_zipfile(BytesIO(packed)):
        unpacked = sum(entry.file_size for entry in ZipFile(BytesIO(packed)).infolist())
        if unpacked > MOST_UNPACKED_BYTES:
            msg = f"{unpacked} bytes unpacked"
            raise ValueError(msg)
    kind = path.suffix.lower().removeprefix(".")
    if kind == "stl":  # without a scene round it: two million triangles take a third of the room
        from trimesh.exchange.stl import load_stl

        read = load_stl(BytesIO(packed))
        if "faces" in read:  # a text with several solids holds them apart
            return np.asarray(read["vertices"], dtype=np.float64), np.asarray(read["faces"], dtype=np.int64)
    held = trimesh.load(BytesIO(packed), file_type=kind, force="mesh", process=False)
    return np.asarray(held.vertices, dtype=np.float64), np.asarray(held.faces, dtype=np.int64)


def own_unit(path: Path) -> str | None:
    """The unit that a 3MF says it is in, which no recipe can know better; None for files that say none."""
    packed = BytesIO(path.read_bytes())
    if path.suffix.lower() != ".3mf" or not is_zipfile(packed):
        return None
    with ZipFile(packed) as whole:
        model = next(name for name in whole.namelist() if name.lower().endswith(".model"))
        with whole.open(model) as file:
            head = file.read(65536)
    # the root's attribute alone: an XML reader would take whatever a hostile file holds before it
    told = re.search(rb"""<(?:\w+:)?model\b[^>]*?\sunit\s*=\s*["']([^"']*)["']""", head)
    return told[1].decode("utf-8", "replace") if told else str(load("mesh")["unit_3mf"]["default_unit"])


def _count_fault(vertices: Array, faces: Faces) -> tuple[str, str] | None:
    if not 0 < len(faces) <= MOST_FACES:
        return f"has {len(faces)} triangles", f"1 to {MOST_FACES} triangles"
    if not np.isfinite(vertices).all():
        return "has corners that are no numbers", "finite corners"
    if faces.min() < 0 or faces.max() >= len(vertices):
        return f"has triangles on corners that it does not hold ({len(vertices)} in all)", "a whole file"
    return None


def _merged(vertices: Array, faces: Faces) -> Mesh:
    """Equal vertices made one (-0 and 0 are equal), triangles without area dropped."""
    vertices, where = np.unique(vertices + 0.0, axis=0, return_inverse=True)
    faces = where.reshape(-1)[faces]
    apart = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return Mesh(vertices, faces[apart])


def _fault(  # noqa: PLR0911  one return for each fault
    mesh: Mesh, units: str
) -> tuple[str, str] | None:
    """What keeps a mesh from being a body: the problem and what is accepted; None when nothing does."""
    closed = "a closed mesh, its faces all looking outwards"
    count = len(mesh.vertices)
    tail, head = mesh.faces.ravel(), np.roll(mesh.faces, -1, axis=1).ravel()
    # every edge there must have one back: what is left over stands once as it is and once the other way round
    edges, place = np.unique(np.concatenate([tail * count + head, head * count + tail]), return_inverse=True)
    balance = np.bincount(place.reshape(-1), np.repeat([1.0, -1.0], len(tail)), len(edges))
    open_edges = int(np.abs(balance).sum()) // 2
    if open_edges:
        return f"is not watertight: {open_edges} edges have a face on one side only", closed
    longest = float(np.ptp(mesh.vertices, axis=0).max()) if count else 0.0
    size = load("mesh")["size"]
    least, most = size["longest_mm"]
    if not least <= longest <= most:
        accepted = f'{least:.0f} to {most:.0f} mm; the file\'s numbers are taken in units = "{units}"'
        return f"is {longest:.3g} mm long", accepted
    thinnest = float(np.ptp(mesh.vertices, axis=0).min())
    if thinnest < size["thinnest_mm"]:
        return f"is {thinnest:.2g} mm thick at the most", f"{size['thinnest_mm']:g} mm or more along x, y and z"
    if enclosed(mesh) <= 0:
        return "is inside out or flat: its volume is not above zero", closed
    try:
        skins = len(to_manifold(mesh).decompose())
    except DesignError as error:
        return f"is no sound solid: {error}", closed
    if skins != 1:
        return f"holds {skins} separate skins", "one body, without loose pieces or hollows"
    return None


def lies_across(sizes: tuple[float, float, float]) -> tuple[Finding, ...]:
    """Doubt a mesh that is longer across or upwards than along x; length, depth, thickness [mm].

    Common practice, no published source.

    Examples
    --------
    >>> lies_across((60.0, 20.0, 16.0)), lies_across((20.0, 60.0, 16.0))
    ((), (<warning mesh-across at shape.mesh, 20 (limit 60) mm>,))
    """
    length, depth, thickness = sizes
    if length >= max(depth, thickness):
        return ()
    axis = "y" if thickness >= depth else "z"
    remedy = f"it is longest along {axis}: turn it in the program it came from, nose at the least x, back up along z"
    return (Finding("mesh-across", "warning", "shape.mesh", remedy, length, max(depth, thickness), "mm"),)


def ray_caster_of(mesh: Mesh) -> RayCaster:
    """A mesh's answers to straight lines, all in [mm]: exact for its own triangles.

    References
    ----------
    T. Moeller, B. Trumbore, J. Graphics Tools 2 (1997) 21-28 (from memory).

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> caster = ray_caster_of(to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True)))
    >>> caster.crossings(np.array([1.0, 2.0, -50.0]), np.array([0.0, 0.0, 1.0])).tolist()
    [45.0, 55.0]
    """
    corner = mesh.vertices[mesh.faces]
    a, u, v = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]

    def crossings(origin: Array, direction: Array) -> Array:
        # T. Moeller, B. Trumbore, J. Graphics Tools 2 (1997) 21-28 (from memory)
        p = cross(direction, v)
        det = np.einsum("ij,ij->i", u, p)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = origin - a
            s = np.einsum("ij,ij->i", t, p) / det
            q = cross(t, u)
            r = q @ direction / det
            way = np.einsum("ij,ij->i", v, q) / det
            hit = (np.abs(det) > 1e-12) & (s >= -EDGE) & (r >= -EDGE) & (s + r <= 1 + EDGE)
        return once(way[hit])

    def lines(origins: Array, directions: Array) -> list[Array]:
        return [crossings(*line) for line in zip(origins, directions, strict=True)]

    return RayCaster(remembered(lines), _profile_of(corner), mesh.vertices.min(axis=0), mesh.vertices.max(axis=0))


def _profile_of(corner: Array) -> Callable[[Array], tuple[Array, Array]]:
    """Belly and back of triangles (m, 3, 3) where the mid-plane y = 0 cuts them, as a function of x."""
    right = corner[..., 1] >= 0
    cut = corner[right.any(axis=1) & ~right.all(axis=1)]
    after = np.roll(cut, -1, axis=1)
    crosses = (cut[..., 1] >= 0) != (after[..., 1] >= 0)  # two of each triangle's three edges
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(crosses, cut[..., 1] / (cut[..., 1] - after[..., 1]), 0.0)
    ends = (cut + share[..., None] * (after - cut))[crosses].reshape(-1, 2, 3)[..., [0, 2]]
    ends = np.take_along_axis(ends, np.argsort(ends[..., :1], axis=1), axis=1)
    x0, x1, z0, z1 = ends[:, 0, 0], ends[:, 1, 0], ends[:, 0, 1], ends[:, 1, 1]
    slope = (z1 - z0) / np.where(x1 > x0, x1 - x0, 1.0)

    def heights(x: Array) -> tuple[Array, Array]:
        below, above = np.full(len(x), np.nan), np.full(len(x), np.nan)
        for i, at in enumerate(x):
            over = (x0 <= at) & (at <= x1)
            if over.any():
                z = z0[over] + slope[over] * (at - x0[over])
                below[i], above[i] = z.min(), z.max()
        return below, above

    return heights
