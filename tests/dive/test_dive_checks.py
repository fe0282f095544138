"""Where the estimate has no ground it says why, with figure, limit and remedy; baits on either side of each limit."""

from dataclasses import replace
from math import asin, cos, degrees, radians, sin

import pytest
from dive_cases import CASES, inputs

from bodygen.dive.attitude import running
from bodygen.dive.checks import doubts, heel, refusals, righting, turns_per_mm
from bodygen.flotation.equilibrium import Attitude, Flotation

GIVEN = CASES["attitude-tarn-perch-1.2"]["given"]
BAIT = inputs(GIVEN)
SPEED = 1.2


def _flotation(state="floats", pitch=6.0, water=2.0):
    up = (-sin(radians(pitch)), 0.0, cos(radians(pitch)))
    attitude = Attitude(up, water, pitch, 0.0, 5.0, 1.0, 30.0, 5.0, 14.0, (32, 0, -1), stable=True, residual_n_mm=0.0)
    return Flotation(0.998, state, 2.0, 16.0, attitude, ())


def _codes(bait=BAIT, speed=SPEED, flotation=None):
    """Codes of the refusals; each has a remedy, and a limit where it has a figure."""
    found = refusals(bait, speed, flotation or _flotation(), running(bait, speed, 0.0))
    assert all(one.remedy and (one.value is None) == (one.limit is None) for one in found)
    return {one.code for one in found}


def test_the_reference_bait_is_not_refused_and_not_doubted():
    assert _codes() == set()
    assert doubts(BAIT, SPEED, 0.0, running(BAIT, SPEED, 0.0)) == ()


def test_a_lip_of_nothing_is_refused():
    small = replace(BAIT, lip_length_mm=3.0, lip_width_mm=3.0, lip_area_mm2=9.0, lip_centroid_from_tip_mm=1.5)
    assert "dive-lip-small" in _codes(small)


@pytest.mark.parametrize(("share", "refused"), [(0.249, True), (0.251, False)])
def test_a_lip_of_less_than_a_quarter_of_the_frontal_area_is_refused(share, refused):
    assert ("dive-lip-small" in _codes(replace(BAIT, frontal_area_mm2=BAIT.lip_area_mm2 / share))) == refused


@pytest.mark.parametrize(("aspect", "refused"), [(0.39, True), (0.41, False), (2.9, False), (3.1, True)])
def test_a_lip_shape_that_no_measured_plate_stands_for_is_refused(aspect, refused):
    assert ("dive-lip-shape" in _codes(replace(BAIT, lip_width_mm=(aspect * BAIT.lip_area_mm2) ** 0.5))) == refused


@pytest.mark.parametrize(("aspect", "doubted"), [(0.69, True), (0.71, False), (1.9, False), (2.1, True)])
def test_a_lip_shape_outside_the_fit_is_doubted(aspect, doubted):
    bait = replace(BAIT, lip_width_mm=(aspect * BAIT.lip_area_mm2) ** 0.5)
    found = doubts(bait, SPEED, 0.0, running(bait, SPEED, 0.0))
    assert ("dive-lip-shape" in {one.code for one in found}) == doubted


@pytest.mark.parametrize(("state", "refused"), [("sinks", True), ("suspends", False), ("floats", False)])
def test_a_bait_that_sinks_is_refused(state, refused):
    assert ("dive-sinks" in _codes(flotation=_flotation(state))) == refused


@pytest.mark.parametrize(("pitch", "refused"), [(-46, True), (-44, False), (44, False), (46, True)])
def test_a_bait_that_stands_on_end_is_refused(pitch, refused):
    assert ("dive-rest" in _codes(flotation=_flotation(pitch=pitch, water=30.0))) == refused


def test_a_lip_whose_tip_is_out_of_the_water_is_refused_by_how_much():
    tip = -8 - 22 * sin(radians(35))
    for off, refused in ((0.1, False), (-0.1, True)):
        found = refusals(BAIT, SPEED, _flotation(pitch=0.0, water=tip + off), running(BAIT, SPEED, 0.0))
        assert [one.code for one in found] == ["dive-lip-dry"] * refused
        assert not refused or found[0].value == pytest.approx(0.1)


@pytest.mark.parametrize(("speed", "refused"), [(0.29, True), (0.31, False), (1.99, False), (2.01, True)])
def test_a_speed_at_which_nobody_measured_is_refused(speed, refused):
    assert ("dive-speed" in _codes(speed=speed)) == refused


def test_tied_on_the_back_it_is_refused_for_having_no_attitude():
    assert _codes(inputs(CASES["attitude-no-root"]["given"])) >= {"dive-no-attitude"}


def test_a_top_heavy_bait_is_refused_for_turning_over():
    lift = BAIT.water_kg_m3 * BAIT.displaced_cm3 / 1000
    # R = 0: m (z_tie - z_G) = -lift (z_B - z_tie)
    limit = BAIT.tie_mm[1] + lift * (BAIT.centre_of_buoyancy_mm[1] - BAIT.tie_mm[1]) / BAIT.mass_g
    for off, refused in ((-0.01, False), (0.01, True)):
        bait = replace(BAIT, centre_of_mass_mm=(BAIT.centre_of_mass_mm[0], limit + off))
        assert (righting(bait) <= 0) == refused
        assert ("dive-overturns" in _codes(bait)) == refused


@pytest.mark.parametrize(("angle", "refused"), [(45.0, False), (60.0, True)])
def test_a_lip_that_turns_broadside_is_refused(angle, refused):
    found = running(replace(BAIT, lip_angle_deg=angle), SPEED, 0.0)
    assert (degrees(found.incidence) > 80) == refused
    assert ("dive-broadside" in _codes(replace(BAIT, lip_angle_deg=angle))) == refused


@pytest.mark.parametrize(("incidence", "refused"), [(4.9, True), (5.1, False)])
def test_a_lip_along_the_water_is_refused(incidence, refused):
    found = replace(running(BAIT, SPEED, 0.0), incidence=radians(incidence))
    assert ("dive-lip-idle" in {one.code for one in refusals(BAIT, SPEED, _flotation(), found)}) == refused


@pytest.mark.parametrize("share", [0.9, 1.1])
def test_a_bait_that_its_lift_holds_up_is_refused(share):
    # the limit: a down force of a fifth of the lift, at the attitude that it comes to
    base = running(BAIT, SPEED, 0.0)
    lift = (BAIT.water_kg_m3 * BAIT.displaced_cm3 / 1e6 - BAIT.mass_g / 1e3) * 9.80665
    flow = base.down_force + lift  # what the water does, whatever the bait weighs
    wanted = flow / 1.2 * share
    heavier = BAIT.mass_g + (lift - wanted) / 9.80665 * 1e3
    bait = replace(BAIT, mass_g=heavier)
    found = refusals(bait, SPEED, _flotation(), replace(base, down_force=flow - wanted))
    assert ("dive-lifted" in {one.code for one in found}) == (share > 1)


@pytest.mark.parametrize(("pitch", "refused"), [(-61, True), (-59, False), (19, False), (21, True)])
def test_a_pitch_beyond_what_is_known_of_bodies_is_refused(pitch, refused):
    found = replace(running(BAIT, SPEED, 0.0), pitch=radians(pitch))
    assert ("dive-pitch" in {one.code for one in refusals(BAIT, SPEED, _flotation(), found)}) == refused


def _tied(out, angle=35.0):
    tie = (6 - out * cos(radians(angle)), -8 - out * sin(radians(angle)))
    return replace(BAIT, lip_angle_deg=angle, tie_mm=tie)


def test_a_tie_at_about_the_pressure_centre_is_touchy():
    # between 10 and 12 mm out from the slot the reference bait jumps from about -10 to about +11 deg
    assert degrees(running(_tied(10.0), SPEED, 0.0).pitch) == pytest.approx(-10, abs=1)
    assert degrees(running(_tied(12.0), SPEED, 0.0).pitch) == pytest.approx(11, abs=1)
    for out, touchy in ((2.0, False), (11.0, True), (20.0, False)):
        found = doubts(_tied(out), SPEED, 0.0, running(_tied(out), SPEED, 0.0))
        assert [one.code for one in found] == ["dive-touchy"] * touchy


def test_two_ways_to_run_are_touchy_and_the_other_is_told():
    bait = _tied(12.0, 25.0)
    found = running(bait, SPEED, 0.0)
    (touchy,) = doubts(bait, SPEED, 0.0, found)
    assert f"{degrees(found.other_pitches[0]):.0f} deg" in touchy.remedy


def test_a_tie_aft_or_up_turns_the_reference_bait_as_the_table_of_the_method_says():
    # the method's table: 1 mm aft -1.5 deg, 1 mm up -1.0 deg
    base = running(BAIT, SPEED, 0.0).pitch
    for by, turned in (((1, 0), -1.5), ((0, 1), -1.0)):
        tie = BAIT.tie_mm[0] + by[0], BAIT.tie_mm[1] + by[1]
        assert degrees(running(replace(BAIT, tie_mm=tie), SPEED, 0.0).pitch - base) == pytest.approx(turned, abs=0.15)
    assert turns_per_mm(BAIT, SPEED, 0.0, running(BAIT, SPEED, 0.0)) == pytest.approx(1.55, abs=0.1)


def test_a_lip_half_a_millimetre_off_heels_the_reference_bait_by_about_seven_degrees():
    found = running(BAIT, SPEED, 0.0)
    assert degrees(heel(BAIT, found)) == pytest.approx(7, abs=0.5)  # the method's own figure
    # by hand: R = g (14 g 1.5 mm + 15.97 g 1.5 mm) = 0.4408 N mm; N = 0.75 q S C_N, cos 65.4 deg
    stiff = 9.80665 * (14 * 1.5 + 15.968 * 1.5) * 1e-6
    assert righting(BAIT) == pytest.approx(stiff, rel=1e-4)
    assert heel(BAIT, found, 0.2) == pytest.approx(
        asin(found.lip_force * cos(found.incidence) * 2e-4 / stiff), rel=1e-4
    )
    assert heel(BAIT, found, 50.0) is None
