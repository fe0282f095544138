"""Where drills and saws go, on bars and an ellipsoid whose skin is known."""

from dataclasses import replace
from math import cos, degrees, radians, sin, sqrt, tan

import carved
import numpy as np
import planks
import pytest

from bodygen.errors import InputError
from bodygen.form.cuts import square_to
from bodygen.form.ray_caster import once
from bodygen.recipe.model import Bore, Counterbore, Lip, Mouth, WireSlot

ROUND_MM = 0.004
BAR = planks.bar()


def drilled(*bores, body=BAR):
    return planks.tools(body, bores=bores)


@pytest.mark.parametrize(
    ("bore", "mouth", "axis"),
    [
        (Bore("b", "any", "belly", 4, 8, x=30, offset=5), (30, 5, -sqrt(119)), (0, 0, 1)),
        (Bore("b", "any", "back", 4, 8, x=30, offset=-5), (30, -5, sqrt(119)), (0, 0, -1)),
        (Bore("b", "eye", "side", 4, 2, x=30, height=5), (30, sqrt(119), 5), (0, -1, 0)),
        (Bore("b", "eye", "side", 4, 2, x=30, height=5, side="left"), (30, -sqrt(119), 5), (0, 1, 0)),
        (Bore("b", "tie", "nose", 2, 9, height=3, offset=1), (0, 1, 3), (1, 0, 0)),
        (Bore("b", "tie", "tail", 2, 9, height=3, offset=1), (80, 1, 3), (-1, 0, 0)),
        (Bore("b", "any", "point", 4, 8, at=(40, 0, 20), direction=(0, 0, -2)), (40, 0, 12), (0, 0, -1)),
    ],
    ids=["belly", "back", "right flank", "left flank", "nose", "tail", "point"],
)
def test_the_mouth_is_on_the_skin_and_the_axis_points_into_the_wood(bore, mouth, axis):
    (tool,) = drilled(bore)
    np.testing.assert_allclose(tool.origin, mouth, atol=ROUND_MM)
    np.testing.assert_allclose(tool.axis, axis, atol=1e-12)


@pytest.mark.parametrize(
    ("entry", "place", "axis"),
    [
        ("belly", {"x": 30.0}, (sin(0.3), 0, cos(0.3))),
        ("back", {"x": 30.0}, (sin(0.3), 0, -cos(0.3))),
        ("side", {"x": 30.0}, (sin(0.3), -cos(0.3), 0)),
        ("nose", {}, (cos(0.3), 0, sin(0.3))),
        ("tail", {}, (-cos(0.3), 0, sin(0.3))),
    ],
)
def test_lean_takes_the_inner_end_aft_or_for_the_ends_up(entry, place, axis):
    """The mouth stays where the straight line meets the skin."""
    (tool,) = drilled(Bore("b", "any", entry, 3, 8, lean=0.3, **place))
    (straight,) = drilled(Bore("b", "any", entry, 3, 8, **place))
    np.testing.assert_allclose(tool.axis, axis, atol=1e-12)
    np.testing.assert_allclose(tool.origin, straight.origin, atol=1e-9)


@pytest.mark.parametrize(("tip", "length"), [("twist", 2 / tan(radians(59))), ("ball", 2.0), ("flat", 0.0)])
def test_depth_is_to_the_shoulder_or_to_the_point_as_the_maker_says(tip, length):
    """A 118 degree point of a 4 mm drill is 1.2017 mm long."""
    shoulder, point = drilled(
        Bore("s", "any", "belly", 4, 8, x=20, tip=tip, tip_angle=radians(118)),
        Bore("p", "any", "belly", 4, 8, x=60, tip=tip, tip_angle=radians(118), depth_to="point"),
    )
    assert (shoulder.shoulder, shoulder.point) == pytest.approx((8, 8 + length))
    assert (point.shoulder, point.point) == pytest.approx((8 - length, 8))


def test_a_through_bore_ends_where_its_axis_leaves_the_skin_and_cuts_beyond():
    (tool,) = drilled(Bore("pivot", "through", "side", 3, None, x=40, height=5))
    assert tool.through
    assert tool.point == pytest.approx(2 * sqrt(119), abs=ROUND_MM)
    assert tool.profile[-1][0] > 80, "its profile reaches clear of the body"


def test_a_mirrored_bore_is_drilled_on_both_flanks():
    right, left = drilled(Bore("eye", "eye", "side", 5, 2, x=20, height=3, lean=0.1, mirror=True))
    assert (right.mirrored, left.mirrored) == (False, True)
    flip = np.array([1, -1, 1])
    np.testing.assert_array_equal(left.origin, right.origin * flip)
    np.testing.assert_array_equal(left.axis, right.axis * flip)


def test_a_counterbore_is_a_step_in_the_profile():
    (tool,) = drilled(Bore("b", "any", "belly", 4, 8, x=30, tip="flat", counterbore=Counterbore(7, 1.5)))
    assert tool.profile[1][1] == 3.5
    assert tool.profile[2:] == ((1.5, 3.5), (1.5, 2.0), (8, 2.0), (8, 0.0))


def test_every_mouth_beside_the_body_is_told_at_once():
    with pytest.raises(InputError) as caught:
        drilled(Bore("a", "any", "belly", 4, 8, x=90), Bore("b", "any", "nose", 4, 8, height=13))
    assert str(caught.value).count("does not meet the body") == 2
    assert "bore[1]" in str(caught.value)
    assert "bore[2]" in str(caught.value)


def test_a_bore_behind_the_tail_is_told_at_its_x_with_what_to_write():
    with pytest.raises(InputError) as caught:
        drilled(Bore("after", "any", "belly", 4, 8, x=90))
    told = str(caught.value)
    assert "bore[1].x: its axis (after) does not meet the body, x is behind the tail\n    x from 0.00 mm to " in told
    assert "put the old length back and make the new size with bodygen new NAME --from" in told


def test_a_point_longer_than_the_depth_to_it_is_told_with_its_length():
    with pytest.raises(InputError, match=r"the point alone is 1\.20 mm long"):
        drilled(Bore("b", "any", "belly", 4, 1.0, x=30, depth_to="point", tip_angle=radians(118)))


def test_the_slots_frame_stands_on_the_belly_and_tips_by_the_lips_angle():
    """Along: into the wood, aft and up; normal: square to it in the mid-plane; the mouth on the belly line."""
    (slot,) = planks.tools(BAR, lip=Lip("sheet", 1.5, radians(40), 8, 20, 16, x=15, fit=0.1, slot_width=12))
    np.testing.assert_allclose(slot.origin, (15, 0, -12), atol=ROUND_MM)
    assert degrees(np.arctan2(slot.along[2], slot.along[0])) == pytest.approx(40)
    assert np.dot(slot.along, slot.normal) == pytest.approx(0)
    a, b = np.array(slot.polygon).T
    assert a.max() == pytest.approx(8)
    assert a.min() < -80, "the saw comes from clear outside"
    assert (b.min(), b.max()) == pytest.approx((-0.8, 0.8))
    assert slot.half == 6


def test_a_slot_from_the_nose_starts_at_its_height_and_one_without_a_width_cuts_right_across():
    (slot,) = planks.tools(BAR, lip=Lip("sheet", 1.5, 0.0, 8, 20, 16, entry="nose", height=-4))
    np.testing.assert_allclose(slot.origin, (0, 0, -4), atol=1e-9)
    assert slot.half > 12


def test_a_mouth_is_a_second_cut_above_the_slot():
    slot, mouth = planks.tools(BAR, lip=Lip("sheet", 1.5, 0.5, 8, 20, 16, x=15, fit=0.1, mouth=Mouth(2.5, 3.0)))
    assert (slot.kind, mouth.kind) == ("slot", "mouth")
    a, b = np.array(mouth.polygon).T
    assert (a.max(), b.min(), b.max()) == pytest.approx((3.0, 0.0, 0.8 + 2.5))


@pytest.mark.parametrize(("along", "up"), [("belly", 1), ("back", -1)])
def test_a_kerf_of_constant_depth_follows_the_skin(along, up):
    body = carved.body()
    (kerf,) = planks.tools(body, wire_slots=(WireSlot("wire", along, 20, 60, 1.5, depth=4),))
    floor = np.array([p for p in kerf.polygon if abs(p[1]) < 14.9])
    skin = body.heights_at(floor[:, 0])[0 if up > 0 else 1]
    np.testing.assert_allclose(floor[:, 1], skin + up * 4, atol=1e-6)
    assert (floor[:, 0].min(), floor[:, 0].max()) == (20, 60)
    assert kerf.half == 0.75
    assert kerf.depth == pytest.approx(4)


def test_a_kerf_with_a_floor_is_straight_at_its_bottom():
    (kerf,) = planks.tools(BAR, wire_slots=(WireSlot("wire", "back", 20, 60, 1.5, floor=3.0),))
    assert sorted(p for p in kerf.polygon if p[1] == 3.0) == [(20, 3.0), (60, 3.0)]
    assert kerf.depth == pytest.approx(9, abs=ROUND_MM)


def test_a_floor_in_the_air_is_told():
    with pytest.raises(InputError, match="outside the wood all along the kerf"):
        planks.tools(BAR, wire_slots=(WireSlot("wire", "back", 20, 60, 1.5, floor=13.0),))


def test_equal_crossings_are_one_and_none_stays_none():
    assert once(np.array([3.0, 1.0, 1.0 + 1e-9])).tolist() == [1.0, 3.0]
    assert once(np.array([])).tolist() == []


def test_square_to_gives_a_right_angled_frame():
    for axis in ((0, 0, 1.0), (1.0, 0, 0), (cos(1), 0, sin(1)), (0.6, 0.8, 0)):
        first, second = square_to(axis)
        frame = np.array([first, second, axis])
        np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(frame) == pytest.approx(1)


def test_a_hole_straight_through_from_side_to_side_is_its_own_mirror_image():
    """Cut twice it took nothing the second time, and rounding said whether that was refused."""
    pair = Bore("tie", "tie", "side", 4.0, None, x=30.0, mirror=True)
    assert len(drilled(pair)) == 1
    assert len(drilled(replace(pair, lean=0.3))) == 2
