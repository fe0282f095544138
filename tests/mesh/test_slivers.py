"""Single slivers, put on purpose into a cube of two triangles a side."""

import numpy as np
import pytest
import trimesh

from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import Mesh
from bodygen.mesh.slivers import least_heights, without_slivers

LEAST_MM = 1e-5
SIDE_MM = 10.0


def cube():
    box = trimesh.creation.box((SIDE_MM, SIDE_MM, SIDE_MM))
    return Mesh(np.array(box.vertices), np.array(box.faces, dtype=np.int64))


def with_cap(mesh, off):
    """A corner set ``off`` mm beside the middle of the first face's longest edge, inside that face."""
    face = mesh.faces[0]
    corner = mesh.vertices[face]
    k = int(np.argmax(np.linalg.norm(np.roll(corner, -1, axis=0) - corner, axis=1)))
    a, b, c = np.roll(face, -k)
    middle = (mesh.vertices[a] + mesh.vertices[b]) / 2
    inwards = mesh.vertices[c] - middle
    point = middle + off * inwards / np.linalg.norm(inwards)
    m = len(mesh.vertices)
    faces = np.concatenate([mesh.faces[1:], [[a, b, m], [b, c, m], [c, a, m]]])
    return Mesh(np.concatenate([mesh.vertices, [point]]), faces)


def with_needle(mesh, short):
    """An edge split twice, ``short`` mm apart: two needles, one on each of its faces."""
    a, b, c = mesh.faces[0]
    (other,) = [face for face in mesh.faces[1:] if {a, b} <= set(face.tolist())]
    (d,) = set(other.tolist()) - {a, b}
    along = mesh.vertices[b] - mesh.vertices[a]
    p = (mesh.vertices[a] + mesh.vertices[b]) / 2
    q = p + short * along / np.linalg.norm(along)
    m, n = len(mesh.vertices), len(mesh.vertices) + 1
    kept = [face for face in mesh.faces[1:] if face is not other and not np.array_equal(face, other)]
    fan = [[a, m, c], [m, n, c], [n, b, c], [m, a, d], [n, m, d], [b, n, d]]
    return Mesh(np.concatenate([mesh.vertices, [p, q]]), np.concatenate([kept, fan]))


@pytest.mark.parametrize(
    "spoilt",
    [
        with_cap(cube(), 1e-7),
        with_cap(cube(), 0.0),
        with_needle(cube(), 1e-7),
        with_needle(with_cap(cube(), 1e-6), 1e-6),
    ],
    ids=["cap", "flat cap", "needle", "both"],
)
def test_a_sliver_is_taken_out_and_the_skin_stays_closed(spoilt):
    assert least_heights(spoilt.vertices, spoilt.faces).min() < LEAST_MM
    mended = without_slivers(spoilt, LEAST_MM)
    assert least_heights(mended.vertices, mended.faces).min() > 1.0
    skin = trimesh.Trimesh(mended.vertices, mended.faces, process=False)
    assert skin.is_watertight
    assert skin.is_winding_consistent
    assert mesh_volume(mended).volume == pytest.approx(SIDE_MM**3, abs=1e-4)


def test_a_sound_mesh_stays_as_it_is():
    mesh = without_slivers(cube(), LEAST_MM)
    assert np.array_equal(mesh.vertices, cube().vertices)
    assert np.array_equal(mesh.faces, cube().faces)


def test_a_sliver_that_is_the_whole_body_stays():
    """A plate of no thickness has nothing to lean on: it is left for others to refuse, not turned inside out."""
    corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [3, 3, 1e-7]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
    mended = without_slivers(Mesh(corners, faces), LEAST_MM)
    assert trimesh.Trimesh(mended.vertices, mended.faces, process=False).is_watertight
