"""Ballast of a bait that is drawn: no offer of which the dive would be refused, where there are others."""

from dataclasses import replace
from pathlib import Path

import pytest

import bodygen
from bodygen.ballast.dives import that_dive
from bodygen.findings import Finding

DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
LOST = (Finding("dive-rest", "warning", "float.pitch_deg", "it stands on end", 50.0, 45.0, "deg"),)


def none_dives(*_):
    return LOST


@pytest.fixture(scope="module")
def solution():
    return bodygen.solve_ballast(bodygen.read_recipe(DEMO), bodygen.Goal(reserve=2.0))


def test_every_offer_of_a_demo_dives(solution):
    from bodygen.assessment import runs_of

    speed = solution.given.recipe.retrieve.speed_m_s
    assert solution.offers
    assert not [o for o in solution.offers if runs_of(bodygen.assess(o.recipe), speed).refusals]


def test_an_offer_that_does_not_dive_is_left_out_and_counted(solution):
    first = solution.offers[0]
    kept = that_dive(solution, lambda recipe, _: LOST if recipe is first.recipe else ())
    assert kept.offers == solution.offers[1:]
    assert [f.severity for f in kept.findings if f.code == "ballast-no-dive"] == ["note"]


def test_where_none_dives_all_stay_and_it_is_said(solution):
    kept = that_dive(solution, none_dives)
    assert kept.offers == solution.offers
    assert [f.severity for f in kept.findings if f.code == "ballast-no-dive"] == ["warning"]


@pytest.mark.parametrize("left_out", ["lip", "retrieve"])
def test_a_bait_that_is_not_drawn_is_not_asked(solution, left_out):
    given = replace(solution.given, recipe=replace(solution.given.recipe, **{left_out: None}))
    same = replace(solution, given=given)
    assert that_dive(same, none_dives) is same


def test_what_is_meant_to_sink_is_not_asked(solution):
    sinks = replace(solution, goal=bodygen.Goal(state="sinks"))
    assert that_dive(sinks, none_dives) is sinks
