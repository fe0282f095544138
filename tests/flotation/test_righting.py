"""Righting moments against statics by hand."""

import math

import numpy as np
import pytest
import trimesh

from bodygen.flotation.equilibrium import find_attitudes, moment_n_mm
from bodygen.flotation.hull import Shell, build_hull
from bodygen.flotation.righting import righting_curve


@pytest.fixture
def plank():
    mesh = trimesh.creation.box((100, 40, 10))
    return build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])


@pytest.mark.parametrize("about", ["roll", "pitch"])
def test_the_curve_starts_with_the_metacentric_height(plank, about):
    """M'(0) = W GM: the definition of the metacentric height."""
    centre = (4.0, 1.0, -1.0)
    attitude = find_attitudes(plank, 20.0, centre, 1.0).attitude
    curve = righting_curve(plank, attitude, centre, 1.0, about, (-0.05, 0.0, 0.05))
    slope = (curve.moments_n_mm[2] - curve.moments_n_mm[0]) / math.radians(0.1)
    height = attitude.gm_mm if about == "roll" else attitude.gml_mm
    assert slope == pytest.approx(moment_n_mm(20.0, height), rel=1e-4)
    assert curve.moments_n_mm[1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("water", [0.8, 1.0, 1.25])
def test_afloat_it_is_the_whole_weight_that_pulls_at_the_lever_in_any_water(plank, water):
    """M = W GZ (Tupper 2013, from memory): 20 g whatever carries them; GM = BM + KB - KG of a box by hand."""
    centre = (0.0, 0.0, 1.0)
    attitude = find_attitudes(plank, 20.0, centre, water).attitude
    curve = righting_curve(plank, attitude, centre, water, "roll", (-0.05, 0.05))
    draught = 20000 / water / (100 * 40)
    height = 40**2 / (12 * draught) + draught / 2 - (5 + 1)
    slope = (curve.moments_n_mm[1] - curve.moments_n_mm[0]) / math.radians(0.1)
    assert slope == pytest.approx(20e-3 * 9.80665 * height, rel=1e-5)  # sin and tan of 0.05 deg: 1e-6


def test_wholly_under_it_is_what_the_water_carries_that_pulls(plank):
    """40 cm^3 in water of 1.1 carry 44 of 50 g; the lever is 2 mm times the sine."""
    centre = (0.0, 0.0, -2.0)
    attitude = find_attitudes(plank, 50.0, centre, 1.1).attitude
    curve = righting_curve(plank, attitude, centre, 1.1, "roll", (30.0,))
    assert curve.moments_n_mm[0] == pytest.approx(44e-3 * 9.80665 * 2 * 0.5, rel=1e-9)


def test_the_lever_of_a_wall_sided_box_is_the_wall_sided_formula(plank):
    """GZ = sin(a) (GM + BM tan(a)^2 / 2) while neither deck nor bottom meets the water (Tupper 2013, from memory)."""
    attitude = find_attitudes(plank, 20.0, (0.0, 0.0, 0.0), 1.0).attitude
    angles = (2.0, 5.0, 8.0, 13.0)
    curve = righting_curve(plank, attitude, (0.0, 0.0, 0.0), 1.0, "roll", angles)
    bm = 40**2 / (12 * 5)
    wall = [math.sin(a) * (attitude.gm_mm + bm * math.tan(a) ** 2 / 2) for a in map(math.radians, angles)]
    assert curve.moments_n_mm == pytest.approx([moment_n_mm(20.0, lever) for lever in wall], rel=1e-9)


@pytest.mark.parametrize("nose_up", [True, False])
@pytest.mark.parametrize("about", ["roll", "pitch"])
def test_one_that_hangs_straight_is_turned_back_whichever_end_is_up(plank, nose_up, about):
    """Wholly under, G 30 mm below B: M = lift x 30 mm x sine, whatever the axis (statics by hand)."""
    centre = (30.0 if nose_up else -30.0, 0.0, 0.0)
    attitude = find_attitudes(plank, 50.0, centre, 1.0).attitude
    assert (attitude.pitch_deg, attitude.roll_deg) == (pytest.approx(90.0 if nose_up else -90.0), None)
    curve = righting_curve(plank, attitude, centre, 1.0, about, (-90.0, 30.0))
    lift = moment_n_mm(40.0, 30.0)
    assert curve.moments_n_mm == pytest.approx([-lift, lift / 2], rel=1e-9)


def test_the_work_all_the_way_round_is_nothing(plank):
    """The energy is a function of the attitude alone, so the moment's mean over a full turn vanishes."""
    attitude = find_attitudes(plank, 20.0, (0.0, 2.0, -1.0), 1.0).attitude
    for about in ("roll", "pitch"):
        curve = righting_curve(plank, attitude, (0.0, 2.0, -1.0), 1.0, about, np.arange(-180.0, 180.0, 1.0))
        assert np.mean(curve.moments_n_mm) == pytest.approx(0.0, abs=2e-3 * max(curve.moments_n_mm))


def test_wholly_under_the_moment_is_weight_times_sine(plank):
    attitude = find_attitudes(plank, 50.0, (0.0, 0.0, -2.0), 1.0).attitude
    curve = righting_curve(plank, attitude, (0.0, 0.0, -2.0), 1.0, "roll", (-90.0, 30.0, 180.0))
    lift = moment_n_mm(40.0, 2.0)  # the water carries 40 of the 50 g
    assert curve.moments_n_mm == pytest.approx([-lift, lift / 2, 0.0], abs=1e-9)
