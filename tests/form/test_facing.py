"""Which way each view looks: held against the body's own axes, by cross products and by where points fall."""

import numpy as np
import pytest

from bodygen.form.facing import END, FLANKS, PLAN, SIDE, SIDES, outwards, side_of

TO_TAIL, TO_RIGHT, UP = np.eye(3)


@pytest.mark.parametrize("projection", [SIDE, FLANKS["right"], PLAN, END])
def test_a_projection_is_right_handed_so_nothing_seen_is_mirrored(projection):
    assert np.cross(projection.right, projection.up) == pytest.approx(projection.viewer)
    assert np.linalg.det(np.stack([projection.right, projection.up, projection.viewer])) == pytest.approx(1.0)


def test_each_flank_is_seen_from_outside():
    """An eye on the right flank lies farther out to the right (y) than the bait."""
    assert FLANKS["right"].viewer == pytest.approx(TO_RIGHT)
    assert FLANKS["left"].viewer == pytest.approx(-TO_RIGHT)
    assert [outwards(side) for side in SIDES] == [1.0, -1.0]
    assert (side_of(3.0), side_of(-3.0)) == ("right", "left")


@pytest.mark.parametrize(("side", "hand"), [("right", "right"), ("left", "left")])
def test_seen_from_outside_the_nose_of_the_right_flank_is_at_the_right(side, hand):
    """Whoever stands at the bait's right and looks at it has its head at the right hand."""
    nose, tail = FLANKS[side].flat(np.array([[0.0, 0.0, 0.0], [70.0, 0.0, 0.0]]))
    assert FLANKS[side].nose == hand == ("right" if nose[0] > tail[0] else "left")
    assert FLANKS[side].flat(UP[None])[0] == pytest.approx((0.0, 1.0))


def test_the_plan_lies_above_the_side_view_and_the_end_view_beside_its_nose():
    """Third-angle projection (ISO 128-30): what is nearer to the fold in one view is nearer in the other."""
    assert (SIDE.viewer, PLAN.viewer, END.viewer) == tuple(map(pytest.approx, (-TO_RIGHT, UP, -TO_TAIL)))
    assert PLAN.flat(-TO_RIGHT[None])[0] == pytest.approx((0.0, -1.0))  # the left flank, which the side view shows
    assert END.flat(-TO_RIGHT[None])[0] == pytest.approx((1.0, 0.0))
    assert (SIDE.axes, PLAN.axes) == ((0, 2), (0, 1))
