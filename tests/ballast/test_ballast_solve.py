"""The search closes: what it answers, put into the recipe, weighs and floats as was asked."""

import shutil
from dataclasses import replace
from math import degrees, radians

import numpy as np
import pytest
from metal import metal_mass

from bodygen.ballast.bore import depth_for, least_depth, level_for
from bodygen.ballast.layout import layouts, mode_of
from bodygen.ballast.solve import solve
from bodygen.ballast.trial import context_for, without_bores
from bodygen.ballast.wood import broken, deepest, errors_of, judge, to_back
from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.recipe.model import Fill, Goal, Waterline
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import rewrite

QUICK = {"metal": "tungsten_putty"}
# (demo, more lift than now [g], other pitch than now [deg]); the dace's rattle leaves its ballast no other place
DEMOS = [
    ("tarn-perch-70", -0.3, None, (6.35,)),
    ("tarn-perch-70", 0.15, 0.5, (6.35,)),
    ("fell-reed-110", -0.3, 0.5, (4.0,)),
    ("reedbed-roach-65", 0.3, 0.5, (4.0, 5.0)),
    ("beck-dace-80", 0.4, None, (4.5, 5.0)),
]


@pytest.fixture(scope="session")
def lead_perch(perch):
    """The perch with a plain lead bore: full to the skin, no clearance, so that a hand can follow."""
    bore = replace(perch.bores[0], fill=Fill("lead_cast_slug"))
    return replace(perch, bores=(bore, *perch.bores[1:]), goal=Goal(drills=(6.35,)))


@pytest.mark.parametrize(("demo", "lift", "turn", "drills"), DEMOS, ids=[f"{row[0]}, pitch {row[2]}" for row in DEMOS])
def test_the_answer_put_into_the_file_weighs_and_floats_as_was_asked(demo, lift, turn, drills, ask, params, tmp_path):
    """Within what half a step of the drill and of the place is worth, and exactly as the answer said."""
    for file in params.glob(f"{demo}.*"):
        shutil.copy(file, tmp_path)
    path = tmp_path / f"{demo}.toml"
    recipe = read_recipe(path)
    now = ask(recipe).flotation
    pitch = None if turn is None else radians(now.attitude.pitch_deg + turn)
    goal = Goal(reserve=now.reserve_g + lift, pitch=pitch, bores="one" if turn else "given", drills=drills, **QUICK)
    offer = solve(recipe, goal, ask).offers[0]
    path.write_text(rewrite(path, offer.changes))
    after = ask(read_recipe(path)).flotation
    assert offer.met
    assert not offer.findings
    assert after.reserve_g == pytest.approx(offer.reserve_g, abs=1e-4)
    assert after.reserve_g == pytest.approx(goal.reserve, abs=offer.within_g)
    assert offer.within_g < 0.08
    if pitch is not None:
        assert after.attitude.pitch_deg == pytest.approx(degrees(pitch), abs=offer.within_deg)
        assert offer.within_deg < 0.7


def test_a_board_15_percent_heavy_takes_as_much_less_lead_as_a_hand_works_out(ask, lead_perch):
    """0.15 of the drilled wood, over 1 - wood/lead, for each gram of lead stands where wood stood.

    The two answers' depths are rounded, so each is first carried to the very reserve that was asked.
    """
    expected = next(s.mass for s in ask(lead_perch).stages if s.name == "drilled")
    goal = replace(lead_perch.goal, reserve=2.4, bores="given", metal="lead_cast_slug")
    heavy_goal = goal
    usual, heavy = solve(lead_perch, goal, ask), solve(lead_perch, heavy_goal, ask, [("drilled", 1.15 * expected)])
    lead, wood, heavier = 11.2, usual.given.wood.g_cm3, heavy.given.wood.g_cm3
    assert heavier == pytest.approx(1.15 * wood, rel=1e-3)

    def needed(solution, density):
        offer = next(o for o in solution.offers if o.bores[0].level == 1)
        return offer.mass_g + (offer.reserve_g - 2.4) / (1 - density / lead)

    # the bait without a ballast bore: this much heavier; lead adds itself less the wood in its cavity
    cavity = usual.given.measured.bores[0].cavity.volume / 1000
    more = (heavier - wood) * (expected / wood + cavity)
    before, after = needed(usual, wood), needed(heavy, heavier)
    by_hand = (before * (1 - wood / lead) - more) / (1 - heavier / lead)
    assert after == pytest.approx(by_hand, abs=0.005)
    assert before - after == pytest.approx(0.15 * expected, rel=0.08)
    # what the board weighs too much, but for the wood that the lead takes the place of, wood / lead = 4 % either way


def test_readings_are_carried_as_the_woods_density(ask, perch):
    """A reading is of the bait as it stands; the answer's changes take it out and write what it taught."""
    weighed = replace(perch, weighed=(("drilled", 4.8),))
    changes = solve(weighed, Goal(reserve=2.4, bores="given", drills=(6.35,), **QUICK), ask).offers[0].changes
    assert changes["weighed.drilled"] is None
    assert changes["wood.density_g_cm3"] == pytest.approx(4.8 / ask(perch).measured.wood_left.volume * 1000, abs=1e-4)


def test_what_cannot_be_had_says_which_limit_stops_it_and_the_nearest(ask, perch):
    """Eight grams under no drill holds: the nearest bore goes as deep as can be made, one step more comes out."""
    solution = solve(perch, Goal(reserve=-8.0, bores="given", drills=(6.35,), metal="lead_cast_slug"), ask)
    nearest = solution.offers[0]
    assert not any(offer.met for offer in solution.offers)
    assert not errors_of(nearest.findings)
    assert [f.code for f in solution.findings][:2] == ["goal-out-of-reach", "bore-breaks-out"]
    assert solution.findings[0].value == nearest.reserve_g < solution.given.flotation.reserve_g
    deeper = replace(nearest.recipe.bores[0], depth=nearest.recipe.bores[0].depth + 25.4 / 64)
    assert errors_of(judge(nearest.recipe, (deeper,), solution.given))


def test_a_limit_that_is_a_doubt_is_left_before_the_search_gives_up(ask, perch):
    """In water of 12 degC the perch suspends with a bore nearer to the back than [limits] has it, and is told so."""
    solution = solve(perch, Goal(suspends_at=12.0, bores="given", drills=(6.35,), metal="lead_cast_slug"), ask)
    first = solution.offers[0]
    assert first.met
    assert abs(first.reserve_g) <= first.within_g
    assert {f.code for f in first.findings} == {"ballast-near-back"}
    (told,) = solution.findings
    assert (told.code, told.where) == ("limits-relaxed", "limits.ballast_to_back")
    assert f"({first.findings[0].value / 25.4:.3f}) of wood" in told.remedy


def test_a_bait_too_heavy_without_any_metal_is_told_so(ask, perch):
    heavy = replace(perch, wood=replace(perch.wood, density_g_cm3=1.0))
    solution = solve(heavy, Goal(reserve=1.0, bores="given", drills=(6.35,), **QUICK), ask)
    assert [f.code for f in solution.findings] == ["goal-out-of-reach", "no-metal-wanted"]
    assert {f.severity for f in solution.findings[1:]} == {"note"}
    assert not solution.offers[0].met


def test_a_bait_without_a_ballast_bore_gets_one(ask, perch):
    bare = replace(perch, bores=perch.bores[1:])
    offer = solve(bare, Goal(reserve=2.5, drills=(5.55625,), **QUICK), ask).offers[0]
    assert offer.met
    assert offer.recipe.bores[-1].name == "ballast"  # behind the others, as it is written into the file
    assert offer.recipe.bores[:-1] == bare.bores


def test_two_bores_share_the_mass_so_that_it_lies_as_asked(ask, perch):
    goal = Goal(reserve=2.4, pitch=radians(6.5), bores="two", metal="lead_cast_slug", drills=(4.7625, 5.55625))
    offer = solve(perch, goal, ask).offers[0]
    assert offer.met
    assert [bore.name for bore in offer.bores] == ["ballast", "rear ballast"]
    assert offer.reserve_g == pytest.approx(2.4, abs=offer.within_g)
    assert offer.pitch_deg == pytest.approx(6.5, abs=offer.within_deg)


def test_a_waterline_is_met_at_its_station(ask, perch):
    goal = Goal(waterline=Waterline(30.0, 3.0), bores="given", drills=(6.35,), **QUICK)
    offer = solve(perch, goal, ask).offers[0]
    up, height = (at := ask(offer.recipe).flotation.attitude).up, at.water_height
    assert offer.met
    assert (height - up[0] * 30.0) / up[2] == pytest.approx(offer.waterline_mm) == pytest.approx(3.0, abs=0.25)


def test_lead_free_comes_before_lead_and_each_more_upright_one_before_the_less(ask, perch):
    solution = solve(perch, Goal(reserve=2.4, bores="given", drills=(5.55625, 6.35)), ask)
    offers = solution.offers
    kinds = [(not offer.met, not offer.lead_free, -offer.gm_mm) for offer in offers]
    assert kinds == sorted(kinds)
    assert {True, False} == {offer.lead_free for offer in offers}
    assert solution.asked <= 11  # the bait as given, and each of five corrected once: what keeps it to a second or so


def test_a_goal_without_a_figure_is_refused(ask, perch):
    with pytest.raises(DesignError, match="names no figure to aim at"):
        solve(perch, Goal(state="floats"), ask)


# --- the local model ---


@pytest.mark.parametrize("metal", ["lead_cast_slug", "tungsten_putty"])
@pytest.mark.parametrize("finish", ["flush", "flat"])
@pytest.mark.parametrize("depth", [6.0, 11.0])
def test_the_local_model_tells_what_the_whole_flow_weighs(metal, finish, depth, ask, perch, perch_answer):
    """Change depth, metal and finish of one bore: mass within 3 mg, moment within 3 mg over a tenth of the bait."""
    context = context_for(perch_answer)
    bore = replace(
        perch.bores[0], depth=depth, fill=Fill(metal, "putty" if "putty" in metal else "slug", finish=finish)
    )
    bare, adds = without_bores(context, (perch.bores[0],)), context.adds(bore)
    whole = ask(replace(perch, bores=(bore, *perch.bores[1:])))
    assert bare.mass + adds[0] == pytest.approx(whole.total.mass, abs=0.003)
    moment = whole.total.mass * whole.total.centre_of_mass
    assert np.abs(bare.moment + adds[1] - moment).max() < 0.003 * 7
    metal_item = next(i.mass for i in whole.items if i.name.startswith("ballast: ") and "filler" not in i.name)
    assert metal_mass(context.holes(bore), bore.fill, depth) == pytest.approx(metal_item, abs=0.003)


def test_depth_and_level_are_solved_exactly(perch, perch_answer):
    context, fill = context_for(perch_answer), Fill("lead_cast_slug", level=0.8)
    bore, wood = perch.bores[0], perch_answer.wood.g_cm3
    wanted = context.adds(replace(bore, depth=8.0, fill=fill))[0]
    assert depth_for(context.holes(bore), fill, wanted, wood) == pytest.approx(8.0)
    assert level_for(context.holes(bore), fill, 8.0, wanted, wood) == pytest.approx(0.8)


def test_the_deepest_bore_breaks_nothing_and_one_step_more_does(perch, perch_answer):
    bore, unit = perch.bores[0], 25.4 / 64
    most, stops = deepest(perch, bore, perch_answer)
    assert least_depth(bore) < most
    assert not judge(perch, (replace(bore, depth=most),), perch_answer)
    assert judge(perch, (replace(bore, depth=most + unit),), perch_answer) == stops
    assert to_back(perch, (replace(bore, depth=most),), perch_answer) == pytest.approx(6.35, abs=unit)


def test_what_the_given_design_breaks_elsewhere_is_not_laid_to_the_ballast(perch_answer, perch):
    """A tail hanger near the skin is accepted where it is given so; a ballast bore through the skin never is."""
    hanger = Finding("bore-near-skin", "warning", "bore[3] tail hanger", "", 1.1, 1.2, "mm", about=(("bore", 2),))
    out = Finding("bore-breaks-out", "error", "bore[1] ballast", "", -1.0, 0.0, "mm", about=(("bore", 0),))
    given = replace(perch_answer, findings=(*perch_answer.findings, hanger, out))
    assert broken([hanger], perch, given, perch.bores[:1]) == ()
    assert broken([replace(hanger, value=hanger.value - 1)], perch, given, perch.bores[:1])
    assert broken([out], perch, given, perch.bores[:1]) == (out,)
    assert broken([out], perch, given, perch.bores[1:2]) == ()


def test_the_bores_that_may_change_follow_from_the_wishes(perch):
    assert mode_of(Goal(reserve=2.0), perch) == "given"
    assert mode_of(Goal(reserve=2.0, pitch=0.1), perch) == "one"
    ((alone,),) = layouts(perch, Goal(reserve=2.0), 70, 6.0)
    assert (alone.places, alone.free_x) == ((0,), False)
    ((free,),) = layouts(perch, Goal(reserve=2.0, pitch=0.1), 70, 6.0)
    assert free.free_x
    none = replace(perch, bores=perch.bores[1:])
    (new,), elsewhere = layouts(none, Goal(reserve=2.0), 70, 6.0)
    assert (new.bores[0].name, new.bores[0].entry, new.bores[0].diameter) == ("ballast", "belly", 6.0)
    assert len({layout.bores[0].x for layout in (new, *elsewhere)}) > 10  # one wish, and no place that is fixed
