"""From words on the command line to the next assessment, on a demo recipe. The builds are made up."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from bodygen import pipeline
from bodygen.log.entry import Words, book
from bodygen.log.store import builds
from bodygen.recipe.read import read_recipe
from bodygen.weights.expected import expectations

DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"


@pytest.fixture(scope="module")
def plain():
    return pipeline.assess(read_recipe(DEMO))


def test_the_next_assessment_starts_from_what_the_log_taught(plain, tmp_path):
    """Three baits of which every board was 6 % heavy and every ballast 3 % light."""
    log = tmp_path / "bench-log.sqlite"
    expected = expectations(plain.recipe, plain.measured)
    on = {stage: sum(e.mass for e in expected if e.stage == stage) for stage in ("drilled", "hangers", "ballast")}
    metal = next(e for e in expected if e.lot.startswith("metal"))
    drilled = 1.06 * on["drilled"]
    hangers = drilled + on["hangers"]
    ballast = hangers + on["ballast"] - 0.03 * metal.mass
    for _ in range(3):
        weighed = [f"drilled={drilled}", f"hangers={hangers}", f"ballast={ballast}"]
        book(log, plain.recipe, Words(start="plank 3", weighed=weighed), lambda: expected)
    taught = pipeline.assess(plain.recipe, history=builds(log), board="plank 3")
    before, after = ({i.name: i.mass for i in a.weighed.items} for a in (plain, taught))
    name = next(i.name for i in plain.weighed.items if i.lot == metal.lot)
    assert 1.03 < after["wood"] / before["wood"] < 1.06
    assert 0.97 < after[name] / before[name] < 1
    assert {f.where for f in taught.findings if f.code == "learned"} == {"wood: basswood", metal.lot}
    assert taught.flotation.reserve_g < plain.flotation.reserve_g


def test_an_empty_log_changes_nothing(plain):
    again = pipeline.assess(plain.recipe, history=())
    assert again.total.mass == plain.total.mass


def test_what_was_learned_of_another_recipe_s_pours_is_not_used(plain, tmp_path):
    log = tmp_path / "bench-log.sqlite"
    expected = expectations(plain.recipe, plain.measured)
    other = replace(plain.recipe, name="another bait")
    for _ in range(3):
        book(log, other, Words(start="", weighed=["hangers=5", "ballast=9"]), lambda: expected)
    taught = pipeline.assess(plain.recipe, history=builds(log))
    assert not [f for f in taught.findings if f.where.startswith("metal")]


def test_weighing_loads_no_database():
    code = "import sys, bodygen.pipeline; sys.exit('sqlite3' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
