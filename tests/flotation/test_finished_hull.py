"""The finished hull pushes aside what the ledger says, however thick its coats."""

import carved
import numpy as np
import pytest

from bodygen.flotation.afloat import finished_hull, water_in
from bodygen.mesh.grown import growing
from bodygen.mesh.measure import enclosed, mesh_volume
from bodygen.weights.item import Item


@pytest.mark.parametrize("share", [1.0, 1.01, 1.12, 1.3, 0.99])
def test_the_skin_is_grown_to_the_ledgers_volume(share):
    """A thousandth or a third more: the same to rounding, and moved outwards everywhere alike."""
    skin = carved.body_skin()
    wanted = share * enclosed(skin)
    body = mesh_volume(skin)
    at = body.centroid + np.array([0.5, 0.0, -0.2])
    film = Item("film", "sealed", 1.0, at, wanted - body.volume, at, outside=wanted - body.volume, kind="film")
    hull = finished_hull(growing(skin), body, [film], None, [])
    assert hull.volume == pytest.approx(wanted, rel=1e-9)
    centre = (body.volume * body.centroid + (wanted - body.volume) * at) / wanted
    assert hull.centroid == pytest.approx(centre, abs=1e-9)


def test_a_crumb_of_a_room_holds_no_water():
    """What a cut leaves by rounding alone has no volume to share water by."""
    assert water_in(6.1e-15, []) == 0.0
    assert water_in(1.0, []) == 1.0
