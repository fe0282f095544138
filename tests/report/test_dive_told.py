"""Where a recipe says line and speed, weighing, checking and the build sheet tell the dive; else which keys to add."""

import json
from dataclasses import asdict, replace
from math import degrees, radians
from pathlib import Path

import by_hand
import pytest

import bodygen
from bodygen.cli import main
from bodygen.log import store
from bodygen.recipe.model import LineOut, Retrieve
from bodygen.report.dive import is_not
from bodygen.report.properties import as_json
from bodygen.report.sheet import build_sheet

PARAMS = Path(__file__).parents[2] / "params"
RECIPE = bodygen.read_recipe(PARAMS / "tarn-perch-70.toml")
LINE, RETRIEVE = RECIPE.line, RECIPE.retrieve


def _flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def told():
    return bodygen.assess(RECIPE)


def test_sheet_and_summary_tell_a_range_and_what_it_is_not(told):
    depth = told.dive.depth
    for text in (_flat(bodygen.as_text(told)), _flat(build_sheet(told, {}))):
        assert is_not() in text
        assert f"({depth.low:.1f} m) to" in text
        assert f"({depth.high:.1f} m) deep" in text
        assert "m/s" in text


def test_properties_hold_the_dive_that_the_command_tells(told, capsys):
    assert main(["dive", str(PARAMS / "tarn-perch-70.toml"), "--json"]) == 0
    asked = json.loads(capsys.readouterr().out)
    document = json.loads(as_json(bodygen.properties(told)))["dive"]
    for key in ("depth_m", "pitch_deg", "pull_n", "conditions", "inputs", "classes", "lip_off"):
        assert document[key] == asked[key]


def test_the_inputs_in_the_document_give_its_attitude_by_hand(told):
    document = json.loads(as_json(bodygen.properties(told)))
    dive = document["dive"]
    rest = radians(document["float"]["pitch_deg"])
    pitch, pull, line = by_hand.settled(dive["inputs"], dive["inputs"]["speed_m_s"], rest)
    assert degrees(pitch) == pytest.approx(dive["pitch_deg"], abs=0.02)
    assert pull == pytest.approx(dive["pull_n"], rel=1e-3)
    assert degrees(line) == pytest.approx(dive["line_angle_deg"], abs=0.02)
    assert set(asdict(told.dive.runs.inputs)) <= set(dive["inputs"])


@pytest.mark.parametrize(
    ("line", "retrieve", "keys"),
    [
        (None, None, "line.diameter, line.length_m, retrieve.speed_m_s"),
        (LINE, None, "retrieve.speed_m_s"),
        (None, RETRIEVE, "line.diameter, line.length_m"),
        (LineOut(0.3, None), Retrieve(1.0), "line.length_m"),
    ],
)
def test_without_line_or_speed_one_line_says_which_keys_to_add(line, retrieve, keys):
    a = bodygen.assess(replace(RECIPE, line=line, retrieve=retrieve))
    assert a.dive is None
    assert "dive" not in bodygen.properties(a)
    said = [row for row in bodygen.as_text(a).splitlines() if "to be told a depth" in row]
    assert said == [f"  add {keys} to the recipe to be told a depth"]


def test_a_refused_dive_is_told_with_its_reason_and_no_figure():
    a = bodygen.assess(replace(RECIPE, retrieve=Retrieve(3.0)))
    dive = bodygen.properties(a)["dive"]
    assert dive["refused"]
    assert "depth_m" not in dive
    assert "dive-speed" in {finding.code for finding in a.findings}
    assert "no depth is told" in bodygen.as_text(a)


def test_a_bait_without_a_lip_is_asked_for_no_line():
    a = bodygen.assess(replace(RECIPE, lip=None, line=None, retrieve=None))
    assert "depth" not in bodygen.as_text(a)


def test_check_tells_the_dive_beside_the_doubts(capsys):
    assert main(["check", str(PARAMS / "tarn-perch-70.toml")]) == 0
    assert is_not() in _flat(capsys.readouterr().out)
    assert main(["check", str(PARAMS / "tarn-perch-70.toml"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["dive"]["depth_m"]["likely"] > 0


def test_dives_of_the_log_teach_the_dive_of_an_assessment(told, tmp_path, capsys):
    perch = tmp_path / "perch.toml"
    perch.write_text((PARAMS / "tarn-perch-70.toml").read_text(encoding="utf-8"), encoding="utf-8")
    deeper = f"{1.3 * told.dive.modelled_m:.6f} m"
    conditions = ["--line", "0.28 mm", "--line-out", "80 ft", "--speed", "2.5 mph", "--tip", "3 ft"]
    assert main(["log", str(perch), "--start", "pale", "--water-test", "floats", "--depth", deeper, *conditions]) == 0
    history = store.builds(store.log_beside(perch))
    taught = bodygen.assess(bodygen.read_recipe(perch), (), history).dive
    assert taught.factor.readings == 1
    assert told.dive.depth.likely < taught.depth.likely < 1.3 * told.dive.depth.likely
