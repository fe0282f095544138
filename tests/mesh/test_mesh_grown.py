"""A skin grown along its normals encloses what is asked for: the cubic of its volume against the mesh itself."""

import numpy as np
import planks
import pytest

from bodygen.mesh.grown import growing
from bodygen.mesh.measure import enclosed
from bodygen.mesh.skin import body_mesh


@pytest.mark.parametrize("thickness", [-0.4, 0.0, 0.01, 0.35, 2.0])
def test_the_cubic_is_the_volume_of_the_moved_mesh(thickness):
    """Of the mesh itself, by the sum of its tetrahedra (elementary)."""
    skin = growing(body_mesh(planks.bar(), 0.05))
    assert skin.cubic @ thickness ** np.arange(4) == pytest.approx(enclosed(skin.moved(thickness)), rel=1e-12)


@pytest.mark.parametrize("share", [0.9, 1.0, 1.0 + 1e-9, 1.04, 1.5])
def test_it_grows_to_the_volume_that_is_asked_for(share):
    skin = growing(body_mesh(planks.bar(), 0.05))
    wanted = share * enclosed(skin.mesh)
    assert enclosed(skin.moved(skin.thickness(wanted))) == pytest.approx(wanted, rel=1e-11)
