"""``dive`` and the dives of ``log`` as a maker types them. The builds and depths are made up."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from bodygen.cli import main
from bodygen.dive.readings import dive_readings
from bodygen.log.record import Build, WaterTest
from bodygen.log.store import builds, log_beside
from bodygen.report.dive import is_not

DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
LINE = ["--line-out", "20 m", "--line", "0.3 mm", "--speed", "1.2 m/s", "--tip", "1 m"]


@pytest.fixture
def perch(tmp_path):
    return Path(shutil.copy(DEMO, tmp_path))


def said(capsys, *words):
    code = main([str(word) for word in words])
    return code, capsys.readouterr().out


def document(capsys, *words):
    code, out = said(capsys, *words, "--json")
    return code, json.loads(out)


def test_the_answer_is_a_range_with_its_conditions_and_what_it_is_not(perch, capsys):
    code, out = said(capsys, "dive", perch)
    assert code == 0
    assert "eight dives in ten" in out
    assert "cast and drawn home at 1.12 m/s" in out
    assert "rod tip 3.0 ft" in out
    assert "fresh water" in out
    assert "no measurement" in out
    assert "0-3 ft, 3-8 ft" in out


def test_the_document_has_all_that_was_promised(perch, capsys):
    code, found = document(capsys, "dive", perch, *LINE, "--tow")
    assert code == 0
    assert found["depth_m"]["low"] < found["depth_m"]["likely"] < found["depth_m"]["high"]
    assert {"pitch_deg", "incidence_deg", "pull_n", "line_angle_deg", "others_pitch_deg"} <= set(found)
    conditions = {"how", "line_diameter_mm", "line_out_m", "speed_m_s", "tip_height_m"}
    assert conditions <= set(found["conditions"])
    names = {"speed_m_s", "tie_mm", "slot_mm", "hooks_x_z_cda_mm_mm_mm2", "lip_area_mm2", "lip_centroid_from_tip_mm"}
    assert names | {"c_n"} <= set(found["inputs"])
    assert found["inputs"]["c_n"] == 1.5
    assert {"ln_factor_mean", "ln_sd", "readings"} <= set(found["spread"])
    assert found["spread"]["ln_sd_floor"] == 0.18
    assert found["spread"]["ln_sd_after_days"] == pytest.approx({"1": 0.2371, "3": 0.2050, "5": 0.1961}, abs=1e-4)
    assert found["classes"] == ["0-3 ft", "3-8 ft"]


def test_the_size_of_lip_past_which_the_depth_falls_is_named(perch, capsys):
    said_, found = said(capsys, "dive", perch)[1], document(capsys, "dive", perch)[1]
    deepest = found["deepest_lip"]
    assert deepest["length_mm"] == pytest.approx(deepest["share"] * 5 / 8 * 25.4)
    assert deepest["depth_m"] > found["depth_m"]["likely"]
    assert (deepest["beyond"], deepest["tried_all"]) == ("", False)
    assert "of lips of this shape one about 1 in long and 1 in wide runs deepest" in " ".join(said_.split())
    assert "a larger one mostly brakes" in " ".join(said_.split())


def test_every_answer_says_what_the_estimate_is_not(perch, capsys):
    for words in (("dive", perch), ("weigh", perch), ("check", perch), ("ballast", perch)):
        assert is_not() in " ".join(said(capsys, *words)[1].split())
    assert document(capsys, "dive", perch)[1]["is_not"] == is_not()
    assert document(capsys, "dive", perch, "--speed", "3 m/s")[1]["is_not"] == is_not()
    for command in ("weigh", "check"):
        assert document(capsys, command, perch)[1]["dive"]["is_not"] == is_not()


def test_a_refusal_says_why_and_what_else_is_known(perch, capsys):
    code, found = document(capsys, "dive", perch, "--speed", "3 m/s")
    assert code == 1
    assert found["refused"]
    assert "depth_m" not in found
    assert found["inputs"]["speed_m_s"] == 3.0
    assert said(capsys, "dive", perch, "--speed", "3 m/s")[1].count("no depth is told") == 1


def test_what_cannot_be_read_is_the_command_lines_fault(perch, capsys):
    assert main(["dive", str(perch), "--line", "thin"]) == 2
    assert '--line: "thin"' in capsys.readouterr().err.replace(" = ", ": ")
    assert main(["dive", str(perch), "--aim", "3", "2"]) == 2


def test_a_logged_depth_teaches_the_next_answer(perch, capsys):
    before = document(capsys, "dive", perch, *LINE, "--tow")[1]
    told = before["depth_m"]["likely"]
    depth = ["--depth", f"{1.3 * told:.6f} m"]
    code, _ = said(capsys, "log", perch, "--start", "pale", "--water-test", "floats", *depth, *LINE, "--tow")
    assert code == 0
    (test,) = builds(log_beside(perch))[0].water_tests
    assert (test.how, test.lip_tie) == ("tow", "nose bore")
    assert test.told_m == pytest.approx(told, rel=1e-8)
    assert set(json.loads(test.dive_inputs)) == set(before["inputs"])
    after = document(capsys, "dive", perch, *LINE, "--tow")[1]
    assert after["spread"]["readings"] == 1
    assert told < after["depth_m"]["likely"] < 1.3 * told
    assert "told" in said(capsys, "log", perch)[1]


def test_the_logs_inputs_tell_that_depth_again(perch, capsys):
    """By hand from what the row holds: the attitude, then the line."""
    from bodygen.dive.attitude import running
    from bodygen.dive.estimate import modelled
    from bodygen.dive.inputs import DiveInputs
    from bodygen.dive.readings import asked_in

    said(capsys, "log", perch, "--start", "pale", "--water-test", "floats", "--depth", "1.1 m", *LINE)
    (test,) = builds(log_beside(perch))[0].water_tests
    row = json.loads(test.dive_inputs)
    speed, line_drag = row.pop("speed_m_s"), row.pop("c_n")
    assert line_drag == 1.5
    found = running(DiveInputs(**row), speed, 0.1)
    again = modelled(found, asked_in(test).conditions, row["water_kg_m3"])
    assert again.depth == pytest.approx(test.told_m, rel=1e-9)
    assert test.how == "retrieve"


def test_a_depth_that_an_earlier_bodygen_wrote_teaches_nothing_and_that_is_said(perch, capsys):
    said(capsys, "log", perch, "--start", "pale", "--water-test", "floats", "--depth", "1.1 m", *LINE)
    with closing(sqlite3.connect(log_beside(perch))) as base:
        base.execute("UPDATE water_test SET how = NULL, told_m = NULL, dive_inputs = NULL, lip_kind = NULL")
        base.commit()
    code, found = document(capsys, "dive", perch, *LINE)
    assert code == 0
    assert (found["spread"]["readings"], found["spread"]["silent_readings"]) == (0, 1)
    assert "teach nothing" in said(capsys, "dive", perch, *LINE)[1]
    assert "teaches no depth" in said(capsys, "log", perch)[1]


def test_a_depth_under_conditions_that_cannot_be_told_is_kept_and_teaches_nothing(perch, capsys):
    fast = ["--line-out", "20 m", "--line", "0.3 mm", "--speed", "5 m/s"]
    code, out = said(capsys, "log", perch, "--start", "pale", "--water-test", "floats", "--depth", "1.1 m", *fast)
    assert code == 0
    assert "no depth could be told" in out
    assert document(capsys, "dive", perch, *LINE)[1]["spread"]["silent_readings"] == 1


def test_depths_are_read_build_by_build():
    """The same bait and day twice; another build is another bait."""
    line = {"depth_m": 2.0, "line_mm": 0.3, "line_out_m": 20.0, "speed_m_s": 1.2, "tip_height_m": 1.0, "how": "tow"}
    lip = {"told_m": 2.5, "lip_kind": "shovel", "lip_tie": "nose", "lip_angle_deg": 35.0}
    test = WaterTest("2031-03-09", "floats", **line, **lip)
    log = [Build(1, "perch", "", "0", "2031-03-09", water_tests=(test, test)), Build(2, "perch", "", "0", "2031-03-09")]
    readings, silent = dive_readings(log)
    assert ([one.bait for one in readings], silent) == (["build 1", "build 1"], 0)


def test_an_aim_that_is_met_names_keys_to_paste(perch, capsys):
    code, found = document(capsys, "dive", perch, *LINE, "--tow", "--aim", "1.2", "1.35")
    assert code == 0
    first = found["aim"]["offers"][0]
    assert first["met"]
    assert 1.2 <= first["depth_m"]["likely"] <= 1.35
    assert {"pull_n", "pitch_deg", "changes", "toml"} <= set(first)
    assert found["aim"]["line_diameter_mm"] < 0.3
