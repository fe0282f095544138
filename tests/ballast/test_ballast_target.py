"""What a goal asks of weight and moment, held against a floating box whose statics a hand can do.

100 x 20 x 30 mm about its own middle. While neither deck nor bottom meets the water (z = zc + a x + b y over the box)
it is wall-sided: V = A (zc + 15), and the centre of buoyancy follows from the second moments of the waterplane
(Tupper 2013, wall-sided formula, from memory).
"""

from math import atan, cos, degrees, sin

import numpy as np
import pytest
import trimesh

from bodygen.ballast.target import asks_for_a_figure, target_for
from bodygen.errors import DesignError
from bodygen.flotation.hull import Shell, build_hull
from bodygen.recipe.model import Goal, Water, Waterline

AREA, ALONG, ACROSS = 100 * 20, 100**3 * 20 / 12, 100 * 20**3 / 12
LINE = Waterline(30.0, 3.0)
LEVEL = atan(3.0 / 30.0)
"""Pitch at which the water through LINE goes through the middle of the box, too, and so half of it is under."""


@pytest.fixture(scope="module")
def box():
    mesh = trimesh.creation.box((100, 20, 30))
    return build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])


def target(hull, roll=0.0, **wishes):
    """In water of 1 g/cm^3: what is under in cm^3 is the mass in g."""
    return target_for(Goal(**wishes), hull, Water(density_g_cm3=1.0), None, roll)


def under(up, line=LINE):
    """Volume [mm^3] and moment about the middle [mm^4] of what is under, where up says how the box leans."""
    a, b = -up[0] / up[2], -up[1] / up[2]
    at_middle = line.height - a * line.x
    assert abs(at_middle) + 50 * abs(a) + 10 * abs(b) < 15  # wall-sided
    upwards = (AREA * (at_middle**2 - 15**2) + a**2 * ALONG + b**2 * ACROSS) / 2
    return AREA * (at_middle + 15), np.array([a * ALONG, b * ACROSS, upwards])


def test_lift_and_waterline_together_fix_the_pitch(box):
    """30 g of the box's 60 are under where the water goes through its middle: tan(pitch) = 3/30.

    The search ends within a 7200th of 150 degrees; the moment changes with the pitch by mass x longitudinal GM.
    """
    found = target(box, reserve=30.0, waterline=LINE)
    assert found.mass == pytest.approx([30.0])
    assert found.along[0] == pytest.approx([cos(LEVEL), 0.0, sin(LEVEL)], abs=1e-5)
    moment = under((-sin(LEVEL), 0.0, cos(LEVEL)))[1] @ [cos(LEVEL), 0.0, sin(LEVEL)] / 1000
    assert found.moment == pytest.approx([moment], abs=30 * ALONG / 30000 * 1e-5)


@pytest.mark.parametrize("roll", [0.0, 0.2, -0.4])
def test_pitch_and_waterline_together_fix_weight_and_moment(box, roll):
    pitch = 0.07
    up = (-sin(pitch), cos(pitch) * sin(roll), cos(pitch) * cos(roll))
    along = np.array([1.0, 0.0, 0.0]) - up[0] * np.array(up)
    along /= np.linalg.norm(along)
    volume, moment = under(up)
    found = target(box, roll, pitch=pitch, waterline=LINE)
    assert found.mass == pytest.approx([volume / 1000], rel=1e-9)
    assert found.along[0] == pytest.approx(along, abs=1e-12)
    assert found.moment == pytest.approx([along @ moment / 1000], rel=1e-9)


@pytest.mark.parametrize("roll", [0.0, 0.3])
def test_a_waterline_alone_leaves_a_line_of_weights_each_with_its_own_attitude(box, roll):
    """From steeply nose down to steeply nose up; those that lean little are wall-sided."""
    found = target(box, roll, waterline=LINE)
    looked_at = 0
    for mass, along, moment in zip(found.mass, found.along, found.moment, strict=True):
        pitch = np.arctan2(along[2], along[0] * cos(roll))  # along = (cos p, sin p sin r, sin p cos r)
        if abs(degrees(pitch)) < 7:
            up = np.array([-sin(pitch), cos(pitch) * sin(roll), cos(pitch) * cos(roll)])
            volume, expected = under(up)
            assert (mass, moment) == pytest.approx((volume / 1000, along @ expected / 1000), rel=1e-9)
            looked_at += 1
    assert looked_at >= 5
    assert len(found.mass) > 30


def test_a_pitch_alone_leaves_every_weight_that_floats(box):
    """Half under at 5 degrees nose up: the water cuts both ends while the box is 0.3 to 0.7 under."""
    pitch = 0.09
    found = target(box, pitch=pitch)
    assert found.mass[[0, -1]] == pytest.approx([3.0, 59.4])
    half = found.mass.searchsorted(30.0)
    for mass, moment in zip(found.mass[half - 3 : half + 4], found.moment[half - 3 : half + 4], strict=True):
        line = Waterline(0.0, 1000 * mass / AREA - 15)
        expected = under((-sin(pitch), 0.0, cos(pitch)), line)[1] @ [cos(pitch), 0.0, sin(pitch)]
        assert moment == pytest.approx(expected / 1000, rel=1e-7)


def test_wholly_under_the_weight_hangs_under_the_middle_of_the_box(box):
    """Nothing but the middle, where the moment is none, carries what sinks at any pitch."""
    found = target(box, reserve=-5.0, pitch=0.4)
    assert found.mass == pytest.approx([65.0])
    assert found.moment == pytest.approx([0.0], abs=1e-9)
    assert found.along[0] == pytest.approx([cos(0.4), 0.0, sin(0.4)])


def test_lift_alone_asks_for_a_weight_alone(box):
    found = target(box, reserve=12.5)
    assert (found.mass.tolist(), found.along, found.moment) == ([pytest.approx(47.5)], None, None)


def test_what_no_attitude_has_is_refused(box):
    for wishes in (
        {"reserve": 1.0, "waterline": Waterline(30.0, -10.0)},
        {"reserve": 0.0, "waterline": LINE},
        {"pitch": 0.0, "waterline": Waterline(0.0, 16.0)},
    ):
        with pytest.raises(DesignError, match=r"goal\.waterline: no attitude within 75 deg"):
            target(box, **wishes)
    with pytest.raises(DesignError, match=r"a reserve of 60\.50 g is more than the 60\.00 g"):
        target(box, reserve=60.5)


def test_each_wish_is_a_figure_to_aim_at_and_a_name_is_none_but_for_suspends():
    for wish in ({"reserve": 0.0}, {"sinks_at": 0.1}, {"rises_at": 0.1}, {"pitch": 0.0}, {"suspends_at": 12.0}):
        assert asks_for_a_figure(Goal(**wish))
    assert asks_for_a_figure(Goal(waterline=LINE))
    assert asks_for_a_figure(Goal(state="suspends"))
    assert not asks_for_a_figure(Goal(state="floats"))
    assert not asks_for_a_figure(Goal())
