"""The running attitude: worked cases through the public function, and what must hold for any bait."""

from dataclasses import replace
from math import degrees, radians

import numpy as np
import pytest
from dive_cases import CASES, cases, inputs

from bodygen.dive.attitude import forces, root_between, running

REFERENCE = CASES["attitude-tarn-perch-1.2"]


def _settled(given):
    return running(inputs(given), given["speed_m_s"], 0.0)


@pytest.mark.parametrize(
    "case", [c for c in cases("attitude") if "pitch_deg" in c["expect"]], ids=lambda case: case["id"]
)
def test_the_reference_bait_runs_as_worked(case):
    expect, tolerance, found = case["expect"], case["tolerance"], _settled(case["given"])
    for name, angle in (("pitch", found.pitch), ("incidence", found.incidence), ("line_angle", found.line_angle)):
        assert degrees(angle) == pytest.approx(expect[f"{name}_deg"], abs=tolerance["angles_abs_deg"])
    for name, force in (("drag_n", found.drag), ("down_n", found.down_force), ("tension_n", found.pull)):
        assert force == pytest.approx(expect[name], rel=tolerance["forces_rel"])


def test_a_bait_tied_too_far_aft_on_its_back_has_no_attitude_to_run_in():
    assert _settled(CASES["attitude-no-root"]["given"]) is None


def test_line_angle_and_pull_follow_the_lips_angle_as_worked():
    case = CASES["sensitivity-lip-angle"]
    step, expect = case["given"]["half_step"], case["expect"]
    low, high = (
        _settled(REFERENCE["given"] | {"lip_angle_deg": REFERENCE["given"]["lip_angle_deg"] + way * step})
        for way in (-1, 1)
    )
    turned = degrees(high.line_angle - low.line_angle) / (2 * step)
    pulled = 100 * (high.pull - low.pull) / (2 * step) / _settled(REFERENCE["given"]).pull
    rel = case["tolerance"]["rel"]
    assert turned == pytest.approx(expect["line_angle_deg_per_deg"], rel=rel)
    assert pulled == pytest.approx(expect["tension_percent_per_deg"], rel=rel)


def test_moments_vanish_where_it_settles_and_turn_it_back_from_either_side():
    bait, found = inputs(REFERENCE["given"]), _settled(REFERENCE["given"])
    below, there, above = forces(bait, 1.2, found.pitch + np.array([-0.01, 0.0, 0.01])).moment
    assert abs(there) < 1e-12 < below
    assert above < -1e-12
    assert found.slope == pytest.approx((above - below) / 0.02, rel=0.01)  # a chord of a curve


def test_from_rest_it_comes_to_the_attitude_that_lies_ahead_and_the_others_are_listed():
    # a flat lip, tied on it at about its pressure centre: two ways to run
    tie = [6 - 12 * np.cos(radians(25)), -8 - 12 * np.sin(radians(25))]
    given = REFERENCE["given"] | {"lip_angle_deg": 25.0, "tie_mm": tie}
    bait = inputs(given)
    found = running(bait, 1.2, 0.0)
    every = sorted([found.pitch, *found.other_pitches])
    assert len(every) > 1
    for pitch in every:
        again = running(bait, 1.2, pitch)
        assert again.pitch == pytest.approx(pitch, abs=1e-9)
        assert sorted([again.pitch, *again.other_pitches]) == pytest.approx(every, abs=1e-9)


def test_places_may_be_counted_from_anywhere():
    given, bait = REFERENCE["given"], inputs(REFERENCE["given"])
    by = 17.0

    def moved(place):
        return place[0] + by, place[1] - by

    elsewhere = replace(
        bait,
        **{
            name: moved(getattr(bait, name))
            for name in ("tie_mm", "slot_mm", "centre_of_mass_mm", "centre_of_buoyancy_mm", "cross_at_mm")
        },
        hooks_x_z_cda_mm_mm_mm2=tuple((*moved(hook), hook[2]) for hook in bait.hooks_x_z_cda_mm_mm_mm2),
    )
    assert running(elsewhere, given["speed_m_s"], 0.0).pitch == pytest.approx(_settled(given).pitch, abs=1e-9)


@pytest.mark.parametrize("low", [-3.0, -0.2])
def test_a_root_is_found_between_places_that_differ_in_sign(low):
    assert root_between(lambda x: np.tanh(9 * x) - 0.5, low, 4.0) == pytest.approx(np.arctanh(0.5) / 9, abs=1e-12)
    assert root_between(lambda x: x**9, low, 1.0) == pytest.approx(0.0, abs=0.1)  # flat: any place with next to nothing
    assert abs(root_between(lambda x: x**9, low, 1.0) ** 9) < 1e-9
