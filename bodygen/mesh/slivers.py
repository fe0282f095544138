"""Taking single slivers out of a closed mesh: a needle's short edge is closed, a flat cap's long edge is turned over.

Works on what simplification leaves, a few triangles in twenty thousand. Each step moves the surface by less than the
sliver's own height or short edge. Knows nothing of files; that nothing is left is asked by ``repair_for_float32``.
"""

import numpy as np

from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Array, Faces, Mesh

SHORT_MM = 1e-3
"""An edge shorter than this may be closed up."""
ROUNDS = 12
"""One sliver's cure may leave another beside it; they die out within a few rounds or not at all."""

Corners = tuple[int, int, int]


def without_slivers(mesh: Mesh, least_height: float) -> Mesh:
    """The mesh with as many triangles lower than ``least_height`` [mm] taken out as can be; the rest untouched.

    Derived here; an edge is closed only where the link condition holds (T. Dey and others, 1999, from memory).

    Parameters
    ----------
    mesh : Mesh
        Closed, each edge between exactly two faces [mm].
    least_height : float
        [mm], far below any size that matters.
    """
    patch = _Patch(mesh)
    for _ in range(ROUNDS):
        cured = [patch.cure(index) for index in patch.low(least_height)]
        if not any(cured):
            break
    return patch.mesh()


def least_heights(vertices: Array, faces: Faces) -> Array:
    """Smallest height of each triangle (m,) [mm]; 0 for a needle or a point.

    Elementary: twice the area over the longest side.

    Examples
    --------
    >>> least_heights(np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]])).tolist()   # 3 * 4 / 5
    [2.4]
    """
    corner = vertices[faces]
    longest = np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).max(axis=1)
    double_area = np.linalg.norm(doubled_areas(corner), axis=1)
    return np.asarray(double_area / np.maximum(longest, np.finfo(float).tiny))


def _replaced(face: Corners, gone: int, kept: int) -> Corners:
    a, b, c = (kept if vertex == gone else vertex for vertex in face)
    return a, b, c


class _Patch:
    """A mesh that can be changed face by face: ``face_of`` finds the face left of a directed edge."""

    def __init__(self, mesh: Mesh) -> None:
        self.vertices = mesh.vertices
        self.faces: list[Corners | None] = [(a, b, c) for a, b, c in mesh.faces.tolist()]
        self.face_of: dict[tuple[int, int], int] = {}
        self.around: dict[int, set[int]] = {}
        for index, face in enumerate(self.faces):
            if face:
                self._enter(index, face)

    def mesh(self) -> Mesh:
        """What is left; vertices that no face uses any more are left out."""
        faces = np.array([face for face in self.faces if face], dtype=np.int64).reshape(-1, 3)
        used, place = np.unique(faces, return_inverse=True)
        return Mesh(self.vertices[used], place.reshape(-1, 3))

    def low(self, least_height: float) -> list[int]:
        """Faces lower than ``least_height`` [mm], lowest first."""
        index = np.array([i for i, face in enumerate(self.faces) if face])
        heights = least_heights(self.vertices, np.array([face for face in self.faces if face], dtype=np.int64))
        order = np.argsort(heights, kind="stable")
        return [int(i) for i in index[order[heights[order] < least_height]]]

    def cure(self, index: int) -> bool:
        """Take one sliver out if it is still there; False when neither way is open."""
        face = self.faces[index]
        if face is None:
            return False
        edges = [(face[i], face[(i + 1) % 3]) for i in range(3)]
        lengths = [float(np.linalg.norm(self.vertices[a] - self.vertices[b])) for a, b in edges]
        short, long = int(np.argmin(lengths)), int(np.argmax(lengths))
        a, b = edges[short]
        if lengths[short] < SHORT_MM and (self._close(a, b) or self._close(b, a)):
            return True
        return self._turn(*edges[long], apex=face[(long + 2) % 3])

    def _close(self, kept: int, gone: int) -> bool:
        """Move ``gone`` onto ``kept``: the two faces at their edge vanish, the others must not turn over."""
        ends = {self.face_of[kept, gone], self.face_of[gone, kept]}
        if len(self._neighbours(kept) & self._neighbours(gone)) != 2:
            return False  # more than the two apexes in common: the skin would be pinched
        changed = {}
        for index in self.around[gone] - ends:
            before = self._face(index)
            after = _replaced(before, gone, kept)
            if not self._same_way(before, after):
                return False
            changed[index] = after
        for index in ends | set(changed):
            self._leave(index)
        for index, face in changed.items():
            self.faces[index] = face
            self._enter(index, face)
        return True

    def _turn(self, a: int, b: int, apex: int) -> bool:
        """Replace the edge a-b, which the apex all but touches, by one from the apex to the far side."""
        mine, other = self.face_of[a, b], self.face_of[b, a]
        (far,) = set(self._face(other)) - {a, b}
        if far == apex or (apex, far) in self.face_of or (far, apex) in self.face_of:
            return False
        along = self.vertices[b] - self.vertices[a]
        share = float((self.vertices[apex] - self.vertices[a]) @ along / (along @ along))
        if not 0 < share < 1:
            return False
        self._leave(mine)
        self._leave(other)
        for index, face in ((mine, (a, far, apex)), (other, (far, b, apex))):
            self.faces[index] = face
            self._enter(index, face)
        return True

    def _same_way(self, before: Corners, after: Corners) -> bool:
        old, new = self._normal(before), self._normal(after)
        return float(old @ new) > 0 or not old.any()

    def _normal(self, face: Corners) -> Array:
        a, b, c = self.vertices[list(face)]
        return np.cross(b - a, c - a)

    def _face(self, index: int) -> Corners:
        face = self.faces[index]
        assert face is not None  # noqa: S101  every edge in face_of belongs to a living face
        return face

    def _neighbours(self, vertex: int) -> set[int]:
        return {v for index in self.around[vertex] for v in self._face(index)} - {vertex}

    def _enter(self, index: int, face: Corners) -> None:
        for i, vertex in enumerate(face):
            self.face_of[vertex, face[(i + 1) % 3]] = index
            self.around.setdefault(vertex, set()).add(index)

    def _leave(self, index: int) -> None:
        face = self._face(index)
        for i, vertex in enumerate(face):
            del self.face_of[vertex, face[(i + 1) % 3]]
            self.around[vertex].discard(index)
        self.faces[index] = None
