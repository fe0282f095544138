"""The hull: everything that pushes water aside, as closed triangle shells and small spheres.

Knows triangles and volumes; how they lie in boxes is ``blocks.py``'s. Knows nothing of mass, of what the shells were
made from, nor of where the water stands (``immersion.py``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.flotation.blocks import Blocks, Faces, in_blocks, neighbours
from bodygen.form.integrals import Array
from bodygen.form.triples import extents
from bodygen.kept import Kept
from bodygen.mesh.measure import moments
from bodygen.mesh.skin import Mesh

Number = TypeVar("Number", np.float64, np.int64)

MIRRORED = 1e-7
"""Of a hull's size: what is as near to its mirror image lies the same way for every purpose."""
_SCRAMBLE = 0x2545F4914F6CDD1D
"""An odd number whose products run over, so that no two places of a hull give the same sum."""


@dataclass(frozen=True, slots=True)
class Shell:
    """A closed triangle mesh: vertices (n, 3) [mm], faces (m, 3) counter-clockwise seen from outside.

    ``share`` is how much of the space inside pushes water aside, on top of what the shells around it say [-]: -1 makes
    a void that floods, -0.7 one that something fills to 0.3, evenly. Equal vertices must be merged.
    """

    vertices: Array
    faces: Faces
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class PointVolume:
    """A small thing outside the shells (a ring, a hook): its volume [mm^3] as a sphere about ``at`` (3,) [mm]."""

    volume: float
    at: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Hull:
    """Shells and spheres ready for cutting: vertices (n, 3) [mm], faces (m, 3), volume [mm^3] and centroid (3,) [mm].

    ``parts`` are the shells by themselves; faces of voids look inwards. ``places`` (3, n) are the vertices from the
    ``origin``, each coordinate by itself [mm].

    ``volume`` and ``centroid`` count the spheres; ``sphere_radii`` (k,) [mm] and ``sphere_centres`` (k, 3) [mm].
    ``origin`` (3,) [mm] is where the sums are taken about, the middle of the first shell, to keep rounding small.
    """

    parts: tuple["HullPart", ...]
    vertices: Array
    places: Array
    faces: Faces
    sphere_centres: Array
    sphere_radii: Array
    origin: Array
    blocks: Blocks
    volume: float
    centroid: Array

    @property
    def size(self) -> float:
        """Edge of the cube of the same volume [mm]: the yardstick of every tolerance.

        Elementary.

        Examples
        --------
        >>> import manifold3d
        >>> from bodygen.mesh.cut import to_mesh
        >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
        >>> build_hull([Shell(cube.vertices, cube.faces)]).size
        10.0
        """
        return float(self.volume ** (1 / 3))


@dataclass(frozen=True, slots=True, eq=False)
class HullPart:
    """A shell ready for cutting: counted by ``share``, laid out in blocks about ``origin`` (3,) [mm].

    ``volume`` [mm^3] and ``first`` (3,) [mm^4], its moment about the origin, are of what it counts. ``kept``: answers
    that follow from it.
    """

    vertices: Array
    faces: Faces
    share: float
    origin: Array
    volume: float
    first: Array
    blocks: Blocks
    kept: Kept = field(default_factory=Kept)

    @property
    def centroid(self) -> Array:
        """Of what it counts (3,) [mm].

        Elementary: first moment over volume.

        Examples
        --------
        >>> import manifold3d
        >>> from bodygen.mesh.cut import to_mesh
        >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 20.0, 30.0)))
        >>> part_of(Shell(cube.vertices, cube.faces), np.zeros(3)).centroid.tolist()
        [5.0, 10.0, 15.0]
        """
        return self.origin + self.first / self.volume


def part_of(shell: Shell, origin: Array, order: Faces | None = None) -> HullPart:
    """Make a shell ready, with its sums about ``origin`` (3,) [mm].

    ``order`` (b, 16) is what ``neighbours`` gave for a closed mesh of the same faces, which then is known to be closed.

    Elementary: signed cones from the origin to each face.

    Raises
    ------
    DesignError
        The shell has an open edge.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 20.0, 30.0)))
    >>> part_of(Shell(cube.vertices, cube.faces, -0.5), np.zeros(3)).volume   # half floods
    -3000.0
    """
    vertices = np.asarray(shell.vertices, dtype=np.float64).reshape(-1, 3)
    faces = np.asarray(shell.faces, dtype=np.int64).reshape(-1, 3)
    if order is None:
        _refuse_open(faces, len(vertices))
    return _part(vertices, faces[:, :: 1 if shell.share > 0 else -1], abs(shell.share), origin, order)


def _part(vertices: Array, faces: Faces, share: float, origin: Array, order: Faces | None = None) -> HullPart:
    about = vertices - origin
    blocks = in_blocks(about, faces, share, neighbours(about, faces) if order is None else order)
    volume, *first = blocks.sums.sum(axis=1)
    return HullPart(vertices, faces, share, origin, float(volume), np.array(first), blocks)


def shifted(part: HullPart, by: Array) -> HullPart:
    """The same part elsewhere, moved by (3,) [mm]; its sums are about its own origin and stay.

    Elementary.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0), True))
    >>> shifted(part_of(Shell(cube.vertices, cube.faces), np.zeros(3)), np.array([0.0, 0, 7])).centroid.tolist()
    [0.0, 0.0, 7.0]
    """
    return replace(part, vertices=part.vertices + by, origin=part.origin + by, kept=Kept())


def build_hull(shells: Sequence[Shell | HullPart], points: Sequence[PointVolume] = ()) -> Hull:
    """Join shells and small volumes into one hull.

    Elementary: volumes and first moments add.

    Parameters
    ----------
    shells : sequence of Shell, or of parts that are ready
        At least one; several may lie apart, and a void may lie inside another shell [mm]. Parts that are ready have one
        origin.
    points : sequence of PointVolume
        Small volumes outside the shells [mm^3, mm].

    Returns
    -------
    Hull

    Raises
    ------
    DesignError
        A shell has an open edge, or nothing is left to float.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0), True))
    >>> hull = build_hull([Shell(cube.vertices, cube.faces)], [PointVolume(250.0, (25.0, 0.0, 0.0))])
    >>> hull.volume, hull.centroid.tolist()
    (1250.0, [5.0, 0.0, 0.0])
    """
    origin = next((shell.origin for shell in shells if isinstance(shell, HullPart)), None)
    if origin is None:
        vertices = [np.asarray(shell.vertices, dtype=np.float64).reshape(-1, 3) for shell in shells]
        low, high = extents(np.concatenate(vertices))
        origin = (low + high) / 2
    parts = tuple(shell if isinstance(shell, HullPart) else part_of(shell, origin) for shell in shells)
    centres = np.array([point.at for point in points], dtype=np.float64).reshape(-1, 3)
    return _joined(parts, centres, np.array([point.volume for point in points], dtype=np.float64))


def _joined(parts: tuple[HullPart, ...], centres: Array, volumes: Array) -> Hull:
    """Make a hull of parts about one origin, and of spheres (k,) at their centres [mm, mm^3]."""
    origin = parts[0].origin
    volume = float(sum(part.volume for part in parts) + volumes.sum())
    if not np.isfinite(volume) or volume <= 0 or (volumes < 0).any():
        text = f"the hull's volume is {volume / 1000:g} cm3: its faces look inwards, or nothing is left to float"
        raise DesignError(text)
    first = np.sum([part.first for part in parts], axis=0) + volumes @ (centres - origin)
    last = parts[0].kept.of("in a row", lambda: Kept(1))  # a bore that is moved leaves skin and plate as they are
    vertices, places, faces, blocks = last.of(parts[1:], lambda: _in_a_row(parts))
    return Hull(
        parts=parts,
        vertices=vertices,
        places=places,
        faces=faces,
        sphere_centres=centres,
        sphere_radii=np.cbrt(volumes * 0.75 / np.pi),
        origin=origin,
        blocks=blocks,
        volume=volume,
        centroid=origin + first / volume,
    )


def _in_a_row(parts: tuple[HullPart, ...]) -> tuple[Array, Array, Faces, Blocks]:
    """Vertices, places, faces and blocks of parts together, as ``Hull`` has them."""
    starts = np.cumsum([0, *(len(part.vertices) for part in parts)])
    numbered = [
        (part.faces + start, part.blocks.corners + start) if start else (part.faces, part.blocks.corners)
        for part, start in zip(parts, starts, strict=False)
    ]
    blocks = [part.blocks for part in parts]
    vertices = _end_to_end([part.vertices for part in parts])
    joined = Blocks(
        corners=_end_to_end([corners for _, corners in numbered], axis=1),
        cones=_end_to_end([each.cones for each in blocks], axis=1),
        sums=_end_to_end([each.sums for each in blocks], axis=1),
        shares=_end_to_end([each.shares for each in blocks]),
        centres=_end_to_end([each.centres for each in blocks]),
        half_sizes=_end_to_end([each.half_sizes for each in blocks]),
    )
    places = np.ascontiguousarray((vertices - parts[0].origin).T)
    return vertices, places, _end_to_end([faces for faces, _ in numbered]), joined


def _end_to_end(rows: Sequence[NDArray[Number]], axis: int = 0) -> NDArray[Number]:
    """Arrays joined; one alone as it is, for a copy of a whole skin takes as long as a cut."""
    return rows[0] if len(rows) == 1 else np.concatenate(rows, axis=axis)


def is_symmetric(hull: Hull) -> bool:
    """Whether the hull is its own mirror image at y = 0, to within ``MIRRORED`` of its size.

    The first part, the skin, by its vertices; every other part and sphere needs one of the same moments opposite.

    Elementary: moments that are odd in y change their sign under reflection.
    """
    skin, least = hull.parts[0], MIRRORED * hull.size
    if not skin.kept.of(("mirrored", least), lambda: _is_mirrored(skin.vertices, least)):
        return False
    # volume, first and second moments: of an image those change sign that hold y oddly
    each = (moments(Mesh(part.vertices, part.faces)) for part in hull.parts[1:])
    rows = np.array([[v, *first, *second[np.triu_indices(3)]] for v, first, second in each]).reshape(-1, 10)
    shares = np.array([[part.share] for part in hull.parts[1:]]).reshape(-1, 1)
    size = hull.size ** np.array([3, 4, 4, 4, 5, 5, 5, 5, 5, 5])
    signs = np.array([1, 1, -1, 1, 1, -1, 1, 1, -1, 1])
    balls = np.column_stack([hull.sphere_radii, hull.sphere_centres]).reshape(-1, 4) / hull.size
    return _paired(rows * shares / size, signs) and _paired(balls, np.array([1, 1, -1, 1]))


def _is_mirrored(vertices: Array, least: float) -> bool:
    x, y, z = np.round(vertices.T / least).astype(np.int64)
    # a place in the plane of x and z and how far off that is, as one number: those of right and left must be the same
    place = (x * _SCRAMBLE + z) * _SCRAMBLE + np.abs(y)
    return bool(np.array_equal(np.sort(place[y > 0]), np.sort(place[y < 0])))


def _paired(rows: Array, signs: NDArray[np.int64]) -> bool:
    """Whether each of the rows (k, n) [-] has one of its mirror image, itself counted."""
    apart = np.abs(rows[:, None] - rows[None] * signs).max(axis=2)
    return not len(rows) or bool(apart.min(axis=1).max() < MIRRORED)


def coarser(hull: Hull, cells: int) -> Hull:
    """Draw all vertices of each grid cell together, for a first look; ``cells`` along the first part's length [-].

    Drawing vertices together keeps a closed surface closed, whatever it looks like, so every sum stays sound
    (J. Rossignac, P. Borrel, Multi-resolution 3D approximations, 1993, from memory).

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.mesh.cut import to_mesh
    >>> ball = to_mesh(manifold3d.Manifold.sphere(10.0, 64))
    >>> hull = build_hull([Shell(ball.vertices, ball.faces)])
    >>> few = coarser(hull, 8)
    >>> len(few.faces) < len(hull.faces) / 3, bool(abs(few.volume / hull.volume - 1) < 0.15)
    (True, True)
    """
    low, high = extents(hull.parts[0].vertices)
    step = float((high - low).max()) / cells
    volumes = hull.sphere_radii**3 * 4 / 3 * np.pi
    parts = tuple(few for part in hull.parts if (few := _coarser(part, step)) is not None)
    return _joined(parts, hull.sphere_centres, volumes)


def _coarser(part: HullPart, step: float) -> HullPart | None:
    """One part, drawn together in cells of ``step`` [mm]; None where nothing is left of it."""

    def drawn() -> HullPart | None:
        rows = np.ascontiguousarray(part.vertices.T)
        x, y, z = place = ((rows - rows.min(axis=1, keepdims=True)) / step).astype(np.int64)
        side = int(place.max()) + 1
        cell = (x * side + y) * side + z
        counts = np.bincount(cell)  # a table of all cells is short, and saves sorting every vertex
        merged, sizes = (np.cumsum(counts > 0) - 1)[cell], counts[counts > 0]
        sums = [np.bincount(merged, row) for row in rows]
        a, b, c = faces = np.take(merged, np.ascontiguousarray(part.faces.T))
        solid = (a != b) & (b != c) & (c != a)
        if not solid.any():
            return None
        return _part(np.stack(sums, axis=1) / sizes[:, None], faces[:, solid].T, part.share, part.origin)

    return part.kept.of(("coarser", step), drawn)


def _refuse_open(faces: Faces, count: int) -> None:
    """Each directed edge needs its opposite: without it the flux through the hole would be left out of every sum."""
    tail, head = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    one_way, other_way = tail * count + head, head * count + tail
    if not np.array_equal(np.sort(one_way), np.sort(other_way)):
        open_edges = max(1, np.count_nonzero(~np.isin(one_way, other_way)))
        text = f"the hull is not closed: {open_edges} of {len(tail)} edges have a face on one side only"
        raise DesignError(text)
