"""Lines on the skin, and things that hang."""

import numpy as np
import pytest
import trimesh

from bodygen.flotation.hull import Shell, build_hull
from bodygen.flotation.waterline import Hanging, hang, waterlines

LEVEL = (0.0, 0.0, 1.0)


@pytest.fixture
def egg(ball):
    vertices, faces = ball(3)
    return build_hull([Shell(vertices * [40, 12, 15] + [40, 0, 0], faces)])


def test_the_waterline_lies_on_the_plane_and_encloses_the_waterplane(egg):
    """Its shoelace area is the cross-section's, measured by trimesh."""
    (loop,) = waterlines(egg, LEVEL, 2.5)
    assert loop[:, 2] == pytest.approx(2.5)
    x, y = loop[:, 0], loop[:, 1]
    enclosed = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2
    mesh = trimesh.Trimesh(egg.vertices, egg.faces, process=False)
    assert abs(enclosed) == pytest.approx(mesh.section(LEVEL, (0, 0, 2.5)).to_2D()[0].area, rel=1e-9)


def test_two_humps_give_two_lines_and_a_dry_body_none(ball):
    vertices, faces = ball(2)
    hull = build_hull([Shell(vertices * 5, faces), Shell(vertices * 5 + [20, 0, 0], faces)])
    assert len(waterlines(hull, LEVEL, 1.0)) == 2
    assert waterlines(hull, LEVEL, -9.0) == ()


def test_a_plane_through_vertices_still_closes(egg):
    """The middle of the sphere's triangles: a ring of vertices lies exactly in the water."""
    (loop,) = waterlines(egg, LEVEL, 0.0)
    assert np.ptp(loop[:, 0]) == pytest.approx(80.0, rel=1e-6)


def test_vertices_stored_more_than_once_are_joined():
    """A box with its corners repeated face by face still gives one line of its outline."""
    mesh = trimesh.creation.box((60, 20, 10))
    hull = build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])
    apart = hull.vertices[hull.faces].reshape(-1, 3)
    object.__setattr__(hull, "vertices", apart)
    object.__setattr__(hull, "faces", np.arange(len(apart)).reshape(-1, 3))
    (loop,) = waterlines(hull, LEVEL, 1.0)
    assert np.ptp(loop, axis=0) == pytest.approx([60, 20, 0])


@pytest.mark.parametrize(
    ("up", "free"),
    [(LEVEL, True), ((0.0, 0.0, -1.0), False), ((-1.0, 0.0, 0.0), True)],
    ids=["upright", "on its back", "nose up"],
)
def test_a_hook_at_the_belly_hangs_free_unless_the_body_is_below_it(egg, up, free):
    """Eye half a mm below the belly's lowest point; upside down the plumb line runs into the body."""
    found = hang(egg, up, Hanging("belly hook", (40.0, 0.0, -15.5), 12.0))
    assert found.free is free
    assert found.lowest == pytest.approx(tuple(np.array([40.0, 0.0, -15.5]) - 12.0 * np.array(up)))


def test_an_eye_in_the_skin_does_not_count_as_lying_against_it(egg):
    assert hang(egg, LEVEL, Hanging("belly hook", (40.0, 0.0, -14.5), 12.0)).free
    assert not hang(egg, LEVEL, Hanging("back hook", (40.0, 0.0, 16.0), 60.0)).free


@pytest.mark.parametrize(
    ("height", "length", "free"),
    [
        (-3.1, 10.0, True),  # 1.9 mm of the first 2 within the skin
        (-2.9, 10.0, False),
        (16.0, 10.5, True),  # ends half a mm over the back
        (16.0, 11.5, False),  # within
        (16.0, 30.0, False),  # out below again
        (-5.5, 40.0, True),
        (-4.25, 4.0, True),  # 0.75 mm of the first 0.8
        (-4.05, 4.0, False),
    ],
)
@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (0.0, -0.6, 0.8)], ids=["level", "pitched", "rolled"])
def test_what_hangs_is_free_by_where_its_line_passes_a_boxs_skin(up, height, length, free):
    """A box from -5 to 5: a fifth of the length at most lies in the skin; a slanting line is longer by the cosine."""
    mesh = trimesh.creation.box((300, 300, 10))
    hull = build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])
    found = hang(hull, up, Hanging("hook", (1.3, 0.7, height), length / up[2]))
    assert found.free is free
