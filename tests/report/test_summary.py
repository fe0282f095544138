"""The words that a maker reads: on his own ruler, and no line that says what another has said."""

from pathlib import Path

import pytest

from bodygen.findings import Finding
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.report.summary import as_text, findings_text

DEMOS = sorted((Path(__file__).parents[2] / "params").glob("*.toml"))
DOUBTS = (
    Finding("bore-near-skin", "warning", "bore[1]", "keep {} off the end", 2.94, 3.175, "mm", lengths=(12.7,)),
    Finding("goal-reserve", "warning", "goal", "another bore", 7.0, 5.0, "g"),
    Finding("water-temperature", "note", "water", "warmer", 2.0, 4.0, "degC"),
    Finding("cut-apart", "error", "body", "move it", 2.0, 1.0, "pieces"),
    Finding("wood-varies", "warning", "wood.species", "weigh it", 0.2, 0.1, "-"),
)


def test_doubts_speak_in_the_recipe_s_units():
    inches = "\n".join(findings_text(DOUBTS, "in"))
    assert "bore-near-skin 7/64 in (0.116) (limit 1/8 in (0.125))" in inches
    assert "keep 1/2 in (0.500) off the end" in inches
    assert "goal-reserve 7.00 g (0.247 oz) (limit 5.00 g (0.176 oz))" in inches
    assert "water-temperature 35.6 degF (2.0 degC)" in inches
    assert "cut-apart 2 pieces (limit 1 pieces)" in inches
    assert "wood-varies 0.2 (limit 0.1)" in inches, "a share has no unit"
    metric = "\n".join(findings_text(DOUBTS, "mm"))
    assert "bore-near-skin 2.94 mm (limit 3.17 mm)" in metric
    assert "keep 12.70 mm off the end" in metric


def test_json_keeps_millimetres_in_its_figures_and_the_maker_s_ruler_in_its_words():
    document = DOUBTS[0].document("in")
    assert (document["value"], document["unit"]) == (2.94, "mm")
    assert document["remedy"] == "keep 1/2 in (0.500) off the end"
    assert "lengths" not in document


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_one_line_says_which_weigh_in_is_worth_it(demo):
    lines = [line for line in as_text(assess(read_recipe(demo))).splitlines() if "then trimmed" in line]
    assert len(lines) <= 1
