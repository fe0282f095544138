"""The recipe that a trace ends in: an ordinary one, with its record, beside its pictures; nothing is written over."""

import json
import xml.etree.ElementTree as ET
from math import radians

import pytest
import traced
from PIL import Image

import bodygen
from bodygen.errors import InputError
from bodygen.form.integrals import body_volume
from bodygen.report.properties import as_json
from bodygen.scan.record import Doubtful, Guessed
from bodygen.scan.told import Told
from bodygen.scan.written import finished_volume, write_traced


@pytest.fixture(scope="module")
def body():
    return traced.plain()


def test_the_recipe_is_an_ordinary_one_that_makes_the_body(body, tmp_path):
    written = write_traced(traced.traced(body), Told("Old bleak", bare=True), tmp_path)
    again = bodygen.assess(bodygen.read_recipe(written.path))
    assert written.path == tmp_path / "old-bleak.toml"
    assert again.shaped.volume.volume == pytest.approx(body_volume(body).volume, rel=0.003)
    assert written.fit.p95 <= 0.06
    assert {p.name for p in tmp_path.iterdir()} == {
        "old-bleak.toml", "old-bleak-fit.svg", "old-bleak-fit.png", "bodygen-recipe.schema.json",
    }  # fmt: skip
    ET.parse(tmp_path / "old-bleak-fit.svg")  # noqa: S314  our own file
    with Image.open(tmp_path / "old-bleak-fit.png") as picture:
        assert picture.size[0] > 2000


def test_a_finished_skin_loses_its_coats_once(body, tmp_path):
    """Coated again by the recipe's own coats the copy is as large as the original was."""
    written = write_traced(traced.traced(body), Told("Old bleak"), tmp_path)
    assert written.film > 0.1
    wood = written.body
    assert finished_volume(wood, written.film) == pytest.approx(body_volume(body).volume, rel=0.004)
    assert written.fit.p95 <= 0.08
    assert [finding.code for finding in written.trace.findings] == ["film-taken-off"]
    assert "taken off its skin once" in written.path.read_text(encoding="utf-8")


def test_mass_and_pitch_are_a_goal_and_no_reading(body, tmp_path):
    """The lift is the water that the finished skin pushes aside, less what it weighs."""
    told = Told("Old bleak", mass=9.0, pitch=radians(6))
    recipe = bodygen.read_recipe(write_traced(traced.traced(body), told, tmp_path).path)
    assert recipe.weighed == ()
    assert recipe.goal.pitch == pytest.approx(radians(6), abs=1e-4)
    assert recipe.goal.reserve == pytest.approx(body_volume(body).volume / 1000 * 0.9991 - 9.0, abs=0.05)


def test_the_record_stands_in_the_recipe_and_in_the_document(body, tmp_path):
    doubtful = Doubtful(38.3, "top", 1.1), Doubtful(50.0, "bottom", -4.0, left_out=True)
    guessed = (Guessed("squareness", "2.2", "nobody measured it", (11.0, 12.5)),)
    trace = traced.traced(body, doubtful=doubtful, guessed=guessed, notes=("The nose is at the fuller end.",))
    written = write_traced(trace, Told("Old bleak", "in"), tmp_path)
    text = written.path.read_text(encoding="utf-8")
    assert "# Doubtful: at 38.3 mm the top sits 1.1 mm off the curve: measure again." in text
    assert "measure again; left out." in text
    assert (
        "# Guessed: squareness: taken as 2.2, nobody measured it; the volume then lies between 11.00 and 12.50 cm3."
        in text
    )
    assert "# The nose is at the fuller end." in text
    assert "some.stl" in text
    assert "0" * 64 in text
    document = json.loads(as_json(written.document()))
    assert [*document] == [
        "recipe", "kind", "units", "length_mm", "depth_mm", "thickness_mm", "volume_cm3", "film_mm", "fit", "doubtful",
        "guessed", "findings", "unsure", "proposed",
    ]  # fmt: skip
    assert document["doubtful"][0] == {"x_mm": 38.3, "what": "top", "off_mm": 1.1, "left_out": False}
    assert document["guessed"][0]["volume_cm3"] == [11.0, 12.5]
    assert document["units"] == "in"


@pytest.mark.parametrize("taken", ["old-bleak.toml", "old-bleak-fit.svg", "old-bleak-fit.png"])
def test_nothing_is_written_over(body, tmp_path, taken):
    (tmp_path / taken).write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        write_traced(traced.traced(body), Told("Old bleak"), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [taken]
