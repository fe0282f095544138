"""The finished hull pushes aside what the ledger says, however thick its coats."""

import carved
import pytest

from bodygen.flotation.afloat import finished_hull
from bodygen.mesh.measure import enclosed, vertex_normals


@pytest.mark.parametrize("share", [1.0, 1.01, 1.12, 1.3, 0.99])
def test_the_skin_is_grown_to_the_ledgers_volume(share):
    """A thousandth or a third more: the same to rounding, and moved outwards everywhere alike."""
    skin = carved.body_skin()
    wanted = share * enclosed(skin)
    hull = finished_hull(skin, vertex_normals(skin), wanted, None, [], [])
    assert hull.volume == pytest.approx(wanted, rel=1e-9)
