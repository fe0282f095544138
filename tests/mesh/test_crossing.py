"""A mesh that folds through itself is told from a sound one: both are closed and wound well."""

import manifold3d
import numpy as np
import pytest

from bodygen.mesh.crossing import crosses_itself
from bodygen.mesh.cut import to_mesh
from bodygen.mesh.skin import Mesh


def both(one, other):
    """Two closed skins in one mesh, as a careless export leaves them."""
    faces = np.concatenate([one.faces, other.faces + len(one.vertices)])
    return Mesh(np.concatenate([one.vertices, other.vertices]), faces)


def ball(radius, x=0.0):
    return to_mesh(manifold3d.Manifold.sphere(radius, 48).translate((x, 0.0, 0.0)))


@pytest.mark.parametrize("x", [4.0, 10.0, 17.0])
def test_two_balls_in_one_skin_are_doubted_where_they_overlap(x):
    """Of radius 10 and 8: they share a lens about the plane in which they cross."""
    (doubt,) = crosses_itself(both(ball(10.0), ball(8.0, x)))
    assert (doubt.code, doubt.severity) == ("mesh-crosses-itself", "warning")
    assert x - 8.0 < doubt.lengths[0] < 10.0
    assert "{}" in doubt.remedy


def test_sound_bodies_are_not_doubted():
    for mesh in (
        ball(10.0),
        to_mesh(manifold3d.Manifold.sphere(10.0, 48) - manifold3d.Manifold.cube((4.0, 40.0, 4.0))),
    ):
        assert crosses_itself(mesh) == ()


def test_a_body_that_is_twisted_through_itself_is_doubted():
    """Its far half is mirrored, so that the skin is turned inside out there and crosses in a waist."""
    mesh = ball(10.0)
    twisted = mesh.vertices.copy()
    twisted[twisted[:, 0] > 0, 1] *= -1.0
    assert crosses_itself(Mesh(twisted, mesh.faces))[0].code == "mesh-crosses-itself"
