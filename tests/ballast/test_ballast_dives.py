"""Ballast of a bait that is drawn: no offer of which the dive would be refused, where there are others."""

from dataclasses import replace
from pathlib import Path

import pytest

import bodygen
from bodygen.ballast.dives import that_dive
from bodygen.ballast.goal import relaxed_limits
from bodygen.findings import Finding
from bodygen.report.ballast import solution_document, solution_text
from bodygen.report.dive import is_not

DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
LOST = (Finding("dive-rest", "warning", "float.pitch_deg", "it stands on end", 50.0, 45.0, "deg"),)


def none_dives(*_):
    return LOST, None


def dives_without(*lost):
    """Every recipe dives a metre but these."""
    return lambda recipe, _: (LOST, None) if any(recipe is one.recipe for one in lost) else ((), (0.6, 1.0, 1.6))


@pytest.fixture(scope="module")
def solution():
    return bodygen.solve_ballast(bodygen.read_recipe(DEMO), bodygen.Goal(reserve=2.0))


def test_every_offer_of_a_demo_dives(solution):
    from bodygen.assessment import runs_of

    speed = solution.given.recipe.retrieve.speed_m_s
    assert solution.offers
    assert not [o for o in solution.offers if runs_of(bodygen.assess(o.recipe), speed).refusals]


def test_an_offer_that_does_not_dive_is_left_out_and_counted(solution):
    kept = that_dive(replace(solution, spare=()), dives_without(solution.offers[0]))
    assert [offer.recipe for offer in kept.offers] == [offer.recipe for offer in solution.offers[1:]]
    assert [f.severity for f in kept.findings if f.code == "ballast-no-dive"] == ["note"]


def test_the_next_best_takes_the_place_of_one_that_does_not_dive(solution):
    shown, spare = solution.offers[:2], solution.offers[2:]
    assert len(spare) > 1
    kept = that_dive(replace(solution, offers=shown, spare=spare), dives_without(shown[1], spare[0]))
    assert [offer.recipe for offer in kept.offers] == [shown[0].recipe, spare[1].recipe]
    assert {offer.depth_m for offer in kept.offers} == {(0.6, 1.0, 1.6)}
    assert [f.remedy[:6] for f in kept.findings if f.code == "ballast-no-dive"] == ["2 more"]


def test_what_the_first_that_dives_leaves_of_the_limits_is_said(solution):
    leaves = Finding("bores-close", "warning", "bore[1].depth", "near", 1.0, 2.0, "mm")
    first, second, *_ = solution.offers
    offers = (replace(first, findings=()), replace(second, findings=(leaves,)))
    kept = that_dive(replace(solution, offers=offers, spare=()), dives_without(first))
    assert "limits-relaxed" in {f.code for f in kept.findings}
    offers = (replace(first, findings=(leaves,)), replace(second, findings=()))
    asked = replace(solution, offers=offers, spare=(), findings=relaxed_limits(offers[0]))
    assert "limits-relaxed" not in {f.code for f in that_dive(asked, dives_without(first)).findings}


def test_one_command_tells_how_an_offer_floats_and_how_deep_it_dives(solution):
    """The same as of the offer's own recipe."""
    text = " ".join(solution_text(solution).split())
    document = solution_document(solution)
    assert is_not() in text
    assert document["depth_is_not"] == is_not()
    for offer, row in zip(solution.offers, document["offers"], strict=True):
        depth = bodygen.assess(offer.recipe).dive.depth
        assert offer.depth_m == pytest.approx((depth.low, depth.likely, depth.high), rel=1e-9)
        assert row["depth_m"]["likely"] == offer.depth_m[1]
        assert f"({depth.low:.1f} m) to" in text


def test_without_a_line_no_depth_stands_beside_an_offer():
    recipe = replace(bodygen.read_recipe(DEMO), line=None)
    found = bodygen.solve_ballast(recipe, bodygen.Goal(reserve=2.0))
    assert {offer.depth_m for offer in found.offers} == {None}
    assert is_not() not in " ".join(solution_text(found).split())


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
