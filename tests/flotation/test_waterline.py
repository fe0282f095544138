"""Lines on the skin."""

import numpy as np
import pytest
import trimesh

from bodygen.flotation.hull import Shell, build_hull
from bodygen.flotation.waterline import waterlines

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
