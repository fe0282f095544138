"""The four demo recipes read, and between them use every key there is."""

import math
import re
from pathlib import Path

import pytest

from bodygen import tables
from bodygen.recipe.keys import RECIPE, Key
from bodygen.recipe.model import Parameters, Stations
from bodygen.recipe.read import read_recipe

PARAMS = Path(__file__).parents[2] / "params"
DEMOS = sorted(PARAMS.glob("*.toml"))
ELSEWHERE = {
    "shape.mesh",
    "goal.suspends_at",
    "goal.sinks_at",
    *(f"weighed.{stage}" for stage in ("hangers", "ballast", "painted", "cleared", "rigged")),
}


def every_key(keys: dict[str, Key], path: str = "") -> set[str]:
    found = set()
    for name, key in keys.items():
        here = f"{path}.{name}" if path else name
        found |= {here} | every_key(dict(key.table), here)
    return found


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_reads_and_says_that_it_is_invented(path):
    assert read_recipe(path).source.file == path.as_posix()
    assert '"Tarn Bench"' in path.read_text()
    assert "invented" in path.read_text()


def test_the_demos_use_every_key():
    """But for a mesh, which needs a scan, goals of baits that do not float, and later weighings, the same key again."""
    used = {re.sub(r"\[\d+\]", "", line) for path in DEMOS for line in read_recipe(path).source.lines}
    assert every_key(RECIPE) - used <= ELSEWHERE


def test_the_perch_is_read_to_the_last_figure():
    recipe = read_recipe(PARAMS / "tarn-perch-70.toml")
    assert isinstance(recipe.shape, Parameters)
    assert recipe.units == "in"
    assert recipe.shape.length == 69.85
    assert recipe.shape.back.family == "acorn"
    assert recipe.shape.back.points == tuple(map(tuple, tables.load("outlines")["outline"]["acorn"]["points"]))
    assert recipe.wood.species == "basswood"
    ballast, belly, tail, tie, eye = recipe.bores
    assert (ballast.diameter, ballast.depth, ballast.drill) == (6.35, 9.525, "1/4")
    assert ballast.tip_angle == pytest.approx(math.radians(118))
    assert ballast.fill is not None
    assert ballast.fill.clearance == pytest.approx(0.1016)
    assert belly.diameter == pytest.approx(0.0465 * 25.4, abs=5e-5)
    assert (tail.entry, tie.entry) == ("tail", "nose")
    assert (eye.entry, eye.mirror, eye.tip) == ("side", True, "flat")
    assert recipe.lip is not None
    assert recipe.lip.thickness == 1.524
    assert recipe.lip.angle == pytest.approx(math.radians(40))
    assert [fitting.size for fitting in recipe.fittings][:2] == ["5 mm resin", "0.041 x 0.5 in"]
    assert [coat.stage for coat in recipe.coats] == ["sealed", "painted", "painted", "cleared"]
    assert recipe.coats[-1].film == 0.0254
    assert recipe.water.temperature == pytest.approx((58 - 32) / 1.8)
    assert recipe.line is not None
    assert recipe.line.length_m == pytest.approx(24.384)
    assert recipe.retrieve is not None
    assert recipe.retrieve.speed_m_s == pytest.approx(2.5 * 0.44704)
    assert recipe.source.lines["bore[2].x"] == 45


def test_the_dace_comes_from_its_stations():
    recipe = read_recipe(PARAMS / "beck-dace-80.toml")
    assert isinstance(recipe.shape, Stations)
    assert recipe.shape.rows[0] == (0, 0, 0, 0, 2.2)
    assert recipe.shape.rows[-1][0] == 80
    assert recipe.wood.density_g_cm3 == pytest.approx(26.5 * 0.01601846337, rel=1e-9)
    assert recipe.bores[1].direction == pytest.approx((0.0995037, 0, 0.9950372), abs=1e-7)
    assert recipe.weighed == (("squared", 13.4), ("blank", 3.5), ("drilled", 3.28))


def test_the_reed_is_drawn_in_lengths_with_no_depth_written():
    recipe = read_recipe(PARAMS / "fell-reed-110.toml")
    assert isinstance(recipe.shape, Parameters)
    assert recipe.shape.depth is None
    assert not recipe.shape.back.fractions
    assert recipe.shape.squareness_belly.points == ((0, 2), (45, 2.5), (110, 2))
    assert not recipe.shape.squareness_belly.fractions
    assert recipe.wood.blank_size == (120, 25, 20)
    assert recipe.lip is not None
    assert (recipe.lip.length, recipe.lip.width, recipe.lip.outline) == (24, 18, "points")


def test_the_roach_has_a_corner_and_flat_sides():
    recipe = read_recipe(PARAMS / "reedbed-roach-65.toml")
    assert isinstance(recipe.shape, Parameters)
    assert recipe.shape.belly.corners == (6,)
    assert recipe.shape.flat_side is not None
    assert recipe.shape.flat_side.height == 9
    assert recipe.wood.density_g_cm3 == 0.175
    assert recipe.limits.chin == 4
