"""From a recipe to a range: demos through the whole estimate; lips for a wanted depth, written back and read again."""

import os
import re
from dataclasses import replace
from math import exp, log
from pathlib import Path

import pytest
from amount import only_with_more
from hypothesis import given, settings
from hypothesis import strategies as st

import bodygen
from bodygen.assessment import runs_of
from bodygen.dive.asked import DiveAsked, conditions_asked, measured_dives, wanted_depths
from bodygen.dive.estimate import estimated, fished
from bodygen.dive.spread import Conditions
from bodygen.dive.what_if.lip import moved_by, reach_of
from bodygen.errors import InputError
from bodygen.recipe.rewrite import rewrite
from bodygen.report.dive_answer import _moved

PARAMS = Path(__file__).parents[2] / "params"
OPTIONS = {"line_out": "20 m", "line": "0.3 mm", "speed": "1.2 m/s", "tip": "1 m"}
AIMED = [("fell-reed-110", 1.1), ("tarn-perch-70", 1.1), ("reedbed-roach-65", 0.88)]
if not os.environ.get("BODYGEN_MORE"):
    AIMED = AIMED[:1]


def assessed(name):
    return bodygen.assess(bodygen.read_recipe(PARAMS / f"{name}.toml"))


@pytest.fixture(scope="module")
def perch():
    return assessed("tarn-perch-70")


@pytest.fixture(scope="module")
def roach():
    return assessed("reedbed-roach-65")


def estimate(bait, how="tow", readings=(), **changed):
    asked = conditions_asked(bait.recipe, {**OPTIONS, **changed}, how)
    return estimated(runs_of(bait, asked.speed_m_s), asked, readings)


@pytest.mark.parametrize("how", ["tow", "retrieve"])
def test_a_depth_is_a_range_around_what_the_model_says(perch, how):
    e = estimate(perch, how)
    assert e.depth.low < e.modelled_m == e.depth.likely < e.depth.high
    assert log(e.depth.high / e.depth.low) == pytest.approx(2 * 1.2816 * 0.35, rel=1e-4)
    assert not e.refused
    assert e.classes


def test_a_cast_drawn_home_never_reaches_the_depth_without_line_drag(perch):
    from bodygen.dive.line.retrieve import bound

    e = estimate(perch, "retrieve")
    k = e.runs.running.down_force / e.runs.running.drag
    assert e.modelled_m < bound(k, 20.0, 1.0).depth


@given(diameter=st.floats(0.1, 0.6), out=st.floats(8.0, 60.0), more=st.floats(1.02, 1.6))
@settings(max_examples=40)
def test_thinner_line_and_more_of_it_run_deeper(perch, diameter, out, more):
    for how in ("tow", "retrieve"):
        e = estimate(perch, how)
        here, thinner, longer = (
            fished(e, Conditions(how, wide, long, 1.2, 0.0)).depth
            for wide, long in ((diameter, out), (diameter / more, out), (diameter, out * more))
        )
        if here is None:  # outside of what the chain was run for
            continue
        assert thinner is None or thinner > here
        assert longer is None or longer > here


def test_without_a_line_no_depth_is_told_but_how_it_runs(roach):
    asked = conditions_asked(roach.recipe, {"speed": "1.2 m/s"})
    e = estimated(runs_of(roach, asked.speed_m_s), asked)
    assert e.depth is None
    assert "which line" in e.refused
    assert e.runs.running is not None
    assert bodygen.estimate_dive(roach).estimate.runs.running is None


@pytest.mark.parametrize(
    ("changed", "how", "word"),
    [
        ({"tip": "6 m", "line_out": "7 m"}, "tow", "too short"),
        ({"tip": "-1 m"}, "retrieve", "hold it at the water"),
        ({"line": "2 mm"}, "retrieve", "thinner line"),
        ({"tip": "-1 m"}, "retrieve", "a steady pull can be told: --tow"),
        ({"tip": "6 m", "line_out": "5 m"}, "retrieve", "too short"),
        ({"speed": "4 m/s"}, "tow", "speed"),
    ],
)
def test_what_the_model_has_no_ground_for_is_refused_with_the_reason(perch, changed, how, word):
    e = estimate(perch, how, **changed)
    assert e.depth is None
    assert word in e.refused


@pytest.mark.parametrize(
    ("changed", "remedy", "option"),
    [
        ({"line_out": "9 m", "tip": "1.5 m"}, r"cast more than ([\d.]+) ft", "line_out"),
        ({"line_out": "9 m", "tip": "1.5 m"}, r"hold it below ([\d.]+) ft", "tip"),
        ({"line": "1.2 mm", "line_out": "60 m"}, r"or at most ([\d.]+) ft", "line_out"),
        ({"line": "0.06 mm", "line_out": "4 m", "tip": "0.1 m"}, r"or at least ([\d.]+) ft", "line_out"),
    ],
)
def test_a_cast_that_was_not_worked_out_says_which_one_was(perch, changed, remedy, option):
    """What it names, in the recipe's units, gives a depth a little to one side of it and none to the other."""
    e = estimate(perch, "retrieve", **changed)
    assert e.depth is None
    told = float(re.search(remedy, e.refused).group(1))
    beside = [estimate(perch, "retrieve", **{**changed, option: f"{told * by:g} ft"}).depth for by in (0.95, 1.05)]
    assert sum(depth is not None for depth in beside) == 1


def test_a_small_bait_on_a_short_cast_is_told_a_depth(roach):
    """Weaker than the first runs of the chain, and the line steeper."""
    e = estimate(roach, "retrieve", line_out="14.5 m", line="0.25 mm", speed="1 m/s")
    assert e.runs.running.down_force / e.runs.running.drag < 0.2
    assert e.depth is not None


def test_a_lipless_bait_is_refused():
    assert "lip" in estimate(assessed("beck-dace-80")).refused


def test_a_tip_that_nobody_told_is_a_metre_up_and_said(roach):
    asked = conditions_asked(roach.recipe, {"line_out": "20 m", "line": "0.3 mm", "speed": "1.2 m/s"})
    assert (asked.conditions.tip_height_m, asked.conditions.how, asked.tip_assumed) == (1.0, "retrieve", True)
    assert not conditions_asked(roach.recipe, OPTIONS).tip_assumed


def test_a_measured_dive_moves_the_likely_depth_and_narrows_the_range(perch):
    told = bodygen.estimate_dive(perch, OPTIONS, "tow")
    half = f"{0.5 * told.estimate.modelled_m:.6f} m at 20 m of 0.3 mm, 1.2 m/s"
    taught = bodygen.estimate_dive(perch, OPTIONS, "tow", measured=[half])
    weight = 1 / 0.18**2 / (1 / 0.18**2 + 1 / 0.30**2)  # by hand
    assert taught.estimate.depth.likely == pytest.approx(told.estimate.depth.likely * exp(weight * log(0.5)), rel=1e-5)
    assert taught.estimate.factor.readings == 1
    assert taught.estimate.factor.ln_sd == pytest.approx(0.237115, abs=1e-6)
    thrice = bodygen.estimate_dive(perch, OPTIONS, "tow", measured=[half] * 3)
    assert thrice.estimate.factor.readings == 1
    assert (thrice.measured, thrice.unheard) == (3, 0)


def test_a_dive_measured_where_none_can_be_told_teaches_nothing(perch):
    found = bodygen.estimate_dive(perch, OPTIONS, "tow", measured=["2 m at 20 m of 0.3 mm, 5 m/s"])
    assert (found.estimate.factor.readings, found.unheard) == (0, 1)


@pytest.mark.parametrize(
    "written",
    [
        "2 m",
        "2 m at 20 m",
        "2 m at 20 m of 0.3 mm",
        "deep at 20 m of 0.3 mm, 1 m/s",
        "90 m at 20 m of 0.3 mm, 1 m/s",
    ],
)
def test_a_measured_dive_that_cannot_be_read_is_told(perch, written):
    with pytest.raises(InputError, match="--measured"):
        measured_dives(perch.recipe, [written], "tow")


def test_a_measured_dive_in_feet_and_miles(perch):
    (dive,) = measured_dives(perch.recipe, ["7 ft at 60 ft of 0.28 mm, 2.5 mph"], "tow")
    assert dive.depth_m == pytest.approx(7 * 0.3048)
    assert (dive.conditions.line_out_m, dive.conditions.speed_m_s) == pytest.approx((18.288, 1.1176))


@pytest.mark.parametrize("wanted", [("2", "1"), ("1", "1"), ("a", "2"), ("1", "900")])
def test_depths_that_cannot_be_wanted_are_told(wanted):
    with pytest.raises(InputError, match="--aim"):
        wanted_depths(wanted)


@pytest.mark.parametrize("option", ["line_out", "line", "speed", "tip"])
def test_an_option_out_of_its_keys_bounds_is_told_with_what_was_written(perch, option):
    with pytest.raises(InputError, match=f'--{option.replace("_", "-")}.*"999999"'):
        conditions_asked(perch.recipe, {**OPTIONS, option: "999999"})


def test_effects_are_slopes_of_the_estimate_itself(perch):
    """A lip 1 mm longer: the effect beside the whole estimate of such a recipe, to a fifth (it is not straight)."""
    found = bodygen.estimate_dive(perch, OPTIONS, "tow")
    rows = {row.what: row for row in found.effects}
    lip = replace(perch.recipe.lip, length=perch.recipe.lip.length + 1)
    longer = bodygen.estimate_dive(bodygen.assess(replace(perch.recipe, lip=lip)), OPTIONS, "tow").estimate
    grown = 100 * log(longer.modelled_m / found.estimate.modelled_m)
    assert rows["lip 1 mm longer"].depth_percent == pytest.approx(grown, rel=0.2)
    assert rows["line a tenth thicker"].depth_percent < 0 < rows["a tenth more line out"].depth_percent
    assert rows["line a tenth thicker"].pitch_deg == 0.0


@pytest.mark.parametrize(("name", "share"), AIMED)
def test_an_offer_written_into_the_recipe_dives_as_it_was_offered(name, share):
    """To 1e-9: what is written is read as the very figure that was tried."""
    bait = assessed(name)
    now = bodygen.estimate_dive(bait, OPTIONS, "tow").estimate.depth.likely
    wanted = [f"{now * share * (1 + off):.6f}" for off in (-0.04, 0.04)]
    aimed = bodygen.estimate_dive(bait, OPTIONS, "tow", wanted=wanted).aimed
    assert aimed.offers
    assert [offer.changed for offer in aimed.offers] == sorted(offer.changed for offer in aimed.offers)
    for offer in aimed.offers[:2]:
        assert offer.met
        path = PARAMS / f"{name}.toml"
        again = bodygen.assess(bodygen.parse_recipe(rewrite(path, offer.changes), path))
        deep = bodygen.estimate_dive(again, OPTIONS, "tow").estimate.depth
        assert deep.likely == pytest.approx(offer.estimate.depth.likely, rel=1e-9)
        assert float(wanted[0]) <= deep.likely <= float(wanted[1])
        assert not again.failed


@only_with_more
def test_a_depth_out_of_reach_gives_the_nearest_and_what_stands_in_the_way(perch):
    aimed = bodygen.estimate_dive(perch, OPTIONS, "tow", wanted=("9 m", "10 m")).aimed
    (nearest,) = aimed.offers
    assert not nearest.met
    assert nearest.estimate.depth.likely == pytest.approx(aimed.lip_reach_m[1])
    assert (aimed.line_diameter_mm, aimed.line_out_m) == (None, None)
    assert aimed.stops


@only_with_more
def test_depths_that_it_has_already_need_no_change(perch):
    now = bodygen.estimate_dive(perch, OPTIONS, "tow").estimate.depth.likely
    aimed = bodygen.estimate_dive(perch, OPTIONS, "tow", wanted=(f"{now * 0.99}", f"{now * 1.01}")).aimed
    assert dict(aimed.offers[0].changes) == {}


def test_nothing_is_asked_of_a_recipe_whose_line_is_unknown(roach):
    assert conditions_asked(roach.recipe) == DiveAsked(None, None, ("how much line is out", "which line", "how fast"))


def test_an_answer_prints_as_its_range_or_its_reason(perch, roach):
    assert repr(bodygen.estimate_dive(perch, OPTIONS, "tow")).count(" to ") == 1
    assert "no depth is told" in repr(bodygen.estimate_dive(roach))


@only_with_more
def test_a_lip_too_small_for_a_depth_is_aimed_at_a_larger_one(roach):
    """Of the lip as it is no depth is told; of those that are tried it is."""
    lip = roach.recipe.lip
    hole = replace(lip.tie_hole, distance=3.0)
    small = bodygen.assess(replace(roach.recipe, lip=replace(lip, length=6.0, width=6.0, tie_hole=hole)))
    found = bodygen.estimate_dive(small, OPTIONS, "tow", wanted=("0.3", "0.6"))
    assert found.estimate.depth is None
    assert found.aimed.offers[0].met
    assert not found.effects


def test_what_an_offer_moves_is_told_in_the_recipes_own_units():
    assert _moved("length", 9.525, {"lip.length": "1 in"}, "in") == "lip longer by 3/8 in (0.375)"
    assert _moved("angle", -4.0, {"lip.angle": "36 deg"}, "mm") == "lip flatter by 4.0 deg"
    assert _moved("tie", 0.5, {"lip.length": "1 in", "bore[2].x": "8 mm"}, "mm") == "tie aft by 0.50 mm"
    assert _moved("tie", -0.5, {"lip.tie_hole.distance": "4 mm"}, "mm") == "tie nearer to the slot by 0.50 mm"


def test_no_step_leads_to_a_size_that_no_recipe_may_say(roach):
    """A random diver was offered a tie hole 1.5 mm from the slot, which the reader refuses: 2 mm is the least."""
    lip = roach.recipe.lip
    for distance in (2.0, 2.2, 3.0):
        recipe = replace(roach.recipe, lip=replace(lip, tie_hole=replace(lip.tie_hole, distance=distance)))
        lowest, highest = reach_of(recipe, "tie")
        assert lowest <= 0 < highest
        assert moved_by(recipe, {"tie": lowest}).recipe.lip.tie_hole.distance >= 2.0
