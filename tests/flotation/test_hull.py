"""Hulls: closed, whatever the order of their triangles, with voids and small volumes counted."""

import numpy as np
import pytest
import trimesh

from bodygen.errors import DesignError
from bodygen.flotation.hull import PointVolume, Shell, build_hull, coarser, is_symmetric


@pytest.fixture
def cube():
    mesh = trimesh.creation.box((10, 10, 10))
    return np.array(mesh.vertices), np.array(mesh.faces)


def test_volume_and_centroid_are_those_of_another_library(dented):
    """trimesh 5, mass properties after D. Eberly, Polyhedral Mass Properties."""
    vertices, faces = dented(np.random.default_rng(1), 3)
    hull, mesh = build_hull([Shell(vertices, faces)]), trimesh.Trimesh(vertices, faces, process=False)
    assert hull.volume == pytest.approx(mesh.volume, rel=1e-12)
    assert hull.centroid == pytest.approx(mesh.center_mass, abs=1e-9)


def test_a_flooded_void_and_small_volumes_add_up(cube):
    """Archimedes' sum: 1000 - 8 + 5 mm^3, first moments likewise."""
    vertices, faces = cube
    void = Shell(vertices / 5 + [2, 0, 0], faces, share=-1)
    hull = build_hull([Shell(vertices, faces), void], [PointVolume(5.0, (0.0, 0.0, -8.0))])
    assert hull.volume == pytest.approx(997.0, rel=1e-12)
    assert hull.centroid == pytest.approx(np.array([-8 * 2, 0, 5 * -8]) / 997, abs=1e-12)


def test_an_open_skin_is_refused_and_says_how_open(cube):
    vertices, faces = cube
    with pytest.raises(DesignError) as caught:
        build_hull([Shell(vertices, faces[1:])])
    assert str(caught.value) == "the hull is not closed: 3 of 33 edges have a face on one side only"


def test_a_skin_that_looks_inwards_is_refused(cube):
    vertices, faces = cube
    with pytest.raises(DesignError, match="the hull's volume is -1 cm3: its faces look inwards"):
        build_hull([Shell(vertices, faces[:, ::-1])])


def test_a_coarser_hull_is_closed_and_nearly_as_big(dented):
    hull = build_hull([Shell(*dented(np.random.default_rng(3), 5))])
    rough = coarser(hull, 24)
    assert len(rough.faces) < len(hull.faces) / 8
    # vertices are drawn to their mean, inside a convex skin: twice an ellipsoid's 2.9 % (next test)
    assert rough.volume == pytest.approx(hull.volume, rel=0.06)
    build_hull([Shell(rough.vertices, rough.faces)])  # refuses an open one


def test_a_coarser_hull_keeps_its_small_volumes(ball):
    """A third of the body's volume is in one ball beside it: 4/3 pi r^3."""
    vertices, faces = ball(3)
    hull = build_hull([Shell(vertices * 10, faces)], [PointVolume(1400.0, (0.0, 0.0, -20.0))])
    rough = coarser(hull, 48)
    assert rough.sphere_radii == pytest.approx([(1400 * 3 / 4 / np.pi) ** (1 / 3)])
    assert rough.volume - 1400 == pytest.approx(hull.volume - 1400, rel=0.01)
    assert rough.centroid[2] == pytest.approx(hull.centroid[2], abs=0.05)


def test_a_coarser_hull_nears_the_fine_one_with_the_square_of_its_cells(ball):
    """On an ellipsoid 70 x 24 x 18 mm: a chord's sagitta goes with its square, so half the cell misses a quarter."""
    vertices, faces = ball(5)
    hull = build_hull([Shell(vertices * [35.0, 12.0, 9.0], faces)])
    missing = [1 - coarser(hull, cells).volume / hull.volume for cells in (12, 24, 48)]
    assert missing[1] == pytest.approx(0.029, abs=0.001)  # a regression
    assert [missing[0] / missing[1], missing[1] / missing[2]] == pytest.approx([4.0, 4.0], rel=0.1)  # the next term


RIGHT, LEFT, MIDDLE = (1.0, 3.0, 2.0), (1.0, -3.0, 2.0), (4.0, 0.0, -1.0)


@pytest.mark.parametrize(
    ("balls", "voids", "alike"),
    [
        ([], [], True),
        ([(2.0, RIGHT), (2.0, LEFT), (5.0, MIDDLE)], [], True),
        ([(2.0, RIGHT), (3.0, LEFT)], [], False),
        ([(2.0, RIGHT)], [], False),
        ([], [RIGHT, LEFT], True),
        ([], [RIGHT], False),
        ([], [RIGHT, (1.0, -3.0, 2.01)], False),
    ],
)
def test_a_hull_is_symmetric_where_every_part_has_its_image(cube, balls, voids, alike):
    vertices, faces = cube
    shells = [Shell(vertices, faces), *(Shell(vertices / 9 + at, faces, share=-1) for at in voids)]
    assert is_symmetric(build_hull(shells, [PointVolume(*ball) for ball in balls])) is alike


def test_a_lopsided_skin_is_not_symmetric(cube):
    vertices, faces = cube
    assert not is_symmetric(build_hull([Shell(vertices + np.where(vertices[:, :1] > 0, [0, 0.01, 0], 0), faces)]))


def test_a_room_that_leans_across_the_middle_is_not_its_own_image(cube):
    """Its centre lies in the plane of symmetry; only its second moment yz tells."""
    vertices, faces = cube
    upright = vertices / 9 * [1, 1, 5]
    for lean, alike in ((0.0, True), (0.3, False)):
        void = Shell(upright + lean * upright[:, [2]] * [0, 1, 0], faces, share=-1)
        assert is_symmetric(build_hull([Shell(vertices, faces), void])) is alike
