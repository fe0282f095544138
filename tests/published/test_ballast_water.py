"""A suspending bait between two temperatures, against the printed densities of water.

Tanaka et al., Metrologia 38 (2001) 301: 999.9749 kg/m^3 at 4 degC and 997.0470 at 25 degC (``water.toml``
[fresh_checks], computed from the paper's formula and equal to IAPWS-95 within 0.001).
"""

from dataclasses import replace
from pathlib import Path

import pytest

from bodygen import pipeline
from bodygen.assessment import answer_of
from bodygen.ballast.solve import solve
from bodygen.recipe.model import Fitting, Goal, Water
from bodygen.recipe.read import read_recipe
from bodygen.tables import load

TABLE = dict(zip(load("water")["fresh_checks"]["t_c"], load("water")["fresh_checks"]["rho_kg_m3"], strict=True))


def ask(recipe):
    return answer_of(pipeline.assess(recipe))


@pytest.fixture(scope="module")
def suspending():
    """A perch of heavy wood, ballasted to suspend at 15 degC and trimmed there to the last milligram."""
    perch = read_recipe(Path(__file__).parents[2] / "params" / "tarn-perch-70.toml")
    heavy = replace(perch, wood=replace(perch.wood, density_g_cm3=0.6))
    goal = Goal(suspends_at=15.0, bores="given", metal="lead_cast_slug", drills=(6.35,))
    offer = solve(heavy, goal, ask).offers[0]
    assert offer.met
    assert offer.state == "suspends"
    assert offer.recipe.water == Water(temperature=15.0)
    left = offer.reserve_g
    assert abs(left) <= offer.within_g
    trim = Fitting("trim", "weight", (35.0, 0.0, -5.0), "rigged", mass=max(left, 0.0), displaces_cm3=0.0)
    lift = Fitting("lift", "weight", (35.0, 0.0, -5.0), "rigged", mass=0.0, displaces_cm3=max(-left, 0.0) / 0.9991026)
    return replace(offer.recipe, fittings=(*offer.recipe.fittings, trim, lift))


def test_it_rises_in_colder_water_and_sinks_in_warmer(suspending):
    """By its displacement times the difference of the table's densities; at 15 degC nothing is left to spare."""
    at = {t: ask(replace(suspending, water=Water(temperature=t))).flotation for t in (4.0, 15.0, 25.0)}
    assert at[15.0].reserve_g == pytest.approx(0.0, abs=2e-5)
    assert at[4.0].reserve_g > 0 > at[25.0].reserve_g
    for t in (4, 25):
        by_table = at[15.0].displaced_cm3 * (TABLE[t] - TABLE[15]) / 1000
        assert at[t].reserve_g == pytest.approx(by_table, abs=3e-5)


def test_the_ballast_that_is_asked_for_changes_by_the_tables_difference(suspending):
    """Colder water carries more: the same bait is asked for more metal at 4 degC than at 25, by V (rho4 - rho25)."""
    goal = Goal(bores="given", metal="lead_cast_slug", drills=(6.35,))
    cold, warm = (solve(suspending, replace(goal, suspends_at=t), ask) for t in (4.0, 25.0))
    needed = cold.given.flotation.reserve_g - warm.given.flotation.reserve_g
    assert cold.given.flotation.reserve_g > 0 > warm.given.flotation.reserve_g
    assert needed == pytest.approx(cold.given.flotation.displaced_cm3 * (TABLE[4] - TABLE[25]) / 1000, abs=5e-5)
