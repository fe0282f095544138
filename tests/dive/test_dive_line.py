"""The worked cases of line, retrieve, range and factor; the second method of each stands beside it in the file."""

import tomllib
from math import degrees, radians
from pathlib import Path

import pytest

from bodygen.dive.line.retrieve import bound, depth_of, line_drag
from bodygen.dive.line.tow import bend, hung, hung_from_tip
from bodygen.dive.spread import depth_range, factor_of

CASES = tomllib.loads((Path(__file__).parent / "line_cases.toml").read_text(encoding="utf-8"))["case"]


def cases_of(model):
    return [pytest.param(case, id=case["id"]) for case in CASES if case["given"]["model"] == model]


def bend_of(given):
    return bend(
        given["tension_n"], given["line_diameter_mm"] / 1000, given["speed_m_s"], given["c_n"], given["water_kg_m3"]
    )


@pytest.mark.parametrize("case", cases_of("line"))
def test_a_towed_line(case):
    given, expect = case["given"], case["expect"]
    line = hung(bend_of(given), radians(given["line_angle_deg"]), given["wet_length_m"])
    found = (bend_of(given), line.depth, line.behind, degrees(line.angle_at_surface))
    wanted = tuple(expect[key] for key in ("k_per_m", "depth_m", "behind_m", "angle_at_surface_deg"))
    assert found == pytest.approx(wanted, rel=case["tolerance"]["rel"])


@pytest.mark.parametrize("case", cases_of("line_from_tip"))
def test_a_towed_line_from_a_rods_tip(case):
    given, expect = case["given"], case["expect"]
    line = hung_from_tip(bend_of(given), radians(given["line_angle_deg"]), given["line_out_m"], given["tip_height_m"])
    found = (line.wet, line.depth, degrees(line.angle_at_surface))
    wanted = tuple(expect[key] for key in ("wet_length_m", "depth_m", "angle_at_surface_deg"))
    assert found == pytest.approx(wanted, rel=case["tolerance"]["rel"])


@pytest.mark.parametrize("case", cases_of("retrieve_no_line_drag"))
def test_the_bound_of_a_retrieve(case):
    given, expect = case["given"], case["expect"]
    found = bound(given["down_over_drag"], given["cast_m"], given["tip_height_m"])
    wanted = tuple(expect[key] for key in ("r_deepest_m", "psi_deepest_deg", "depth_m"))
    assert (found.line_out, degrees(found.dip), found.depth) == pytest.approx(wanted, rel=case["tolerance"]["rel"])


@pytest.mark.parametrize("case", cases_of("retrieve_with_line"))
def test_a_retrieve_with_the_lines_drag(case):
    given, expect, tolerance = case["given"], case["expect"], case["tolerance"]
    k, cast, tip = (given[key] for key in ("down_over_drag", "cast_m", "tip_height_m"))
    drag = line_drag(given["line_diameter_mm"] / 1000, given["c_n"], cast, given["drag_n_s2_m2"], given["water_kg_m3"])
    found = (drag, depth_of(k, drag, cast, tip), bound(k, cast, tip).depth)
    wanted = tuple(expect[key] for key in ("lambda_line", "depth_quick_m", "depth_no_line_drag_m"))
    assert found == pytest.approx(wanted, rel=tolerance["others_rel"])
    assert found[1] == pytest.approx(expect["depth_chain_m"], rel=tolerance["depth_chain_rel"])


@pytest.mark.parametrize("case", cases_of("range"))
def test_a_range(case):
    found = depth_range(case["given"]["depth_m"], case["given"]["sd_ln"])
    wanted = tuple(case["expect"][key] for key in ("low_m", "likely_m", "high_m"))
    assert (found.low, found.likely, found.high) == pytest.approx(wanted, rel=case["tolerance"]["rel"])


@pytest.mark.parametrize("case", cases_of("calibrate"))
def test_what_readings_teach(case):
    from math import exp, log

    given, expect = case["given"], case["expect"]
    factor = factor_of([log(m / p) for m, p in zip(given["measured_m"], given["predicted_m"], strict=True)])
    told = depth_range(given["new_prediction_m"] * exp(factor.ln_mean), factor.ln_sd)
    found = (factor.ln_mean, factor.ln_mean_sd, factor.ln_sd, told.low, told.likely, told.high)
    keys = ("ln_factor_mean", "ln_factor_sd", "sd_ln_predictive", "low_m", "likely_m", "high_m")
    assert found == pytest.approx(tuple(expect[key] for key in keys), rel=case["tolerance"]["rel"])
