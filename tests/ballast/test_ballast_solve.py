"""The search closes: what it answers, put into the recipe, weighs and floats as was asked."""

import shutil
from dataclasses import replace
from math import degrees, radians

import numpy as np
import pytest
from metal import metal_mass

from bodygen.ballast.aim import Aim, aim_at
from bodygen.ballast.bore import depth_for, least_depth, level_for
from bodygen.ballast.drag import drag_for
from bodygen.ballast.layout import layouts, mode_of
from bodygen.ballast.offer import _gap, _shallowest, _steps_worth, without_one
from bodygen.ballast.solve import choose, roll_of, solve, trials_of
from bodygen.ballast.trial import Search, Trial, base_for, base_of, ground_of, try_level
from bodygen.ballast.wood import broken, deepest, errors_of, judge, to_back
from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.recipe.model import Fill, Goal, Waterline
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import rewrite
from bodygen.tables import load

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

    # the bait without a ballast bore: this much heavier; lead adds itself less the wood in its room
    room = usual.given.measured.bores[0].room.volume / 1000
    more = (heavier - wood) * (expected / wood + room)
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


def test_where_every_bore_breaks_a_limit_those_that_break_it_least_are_verified(ask, perch, perch_answer):
    """To suspend with lead takes wood from the back at every drill: none left out lacks less wood by a step of 1/64."""
    drills = (5.953125, 6.35, 7.540625, 9.525)
    goal = Goal(suspends_at=12.0, bores="given", metal="lead_cast_slug", drills=drills)
    search = Search(goal, ground_of(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
    aim = aim_at(goal, perch_answer.hull, perch.water, search.drag, roll_of(perch_answer))
    ((plan,),) = layouts(perch, goal, perch_answer.sizes[0], 6.0)
    lacks = {}
    for trial in trials_of(search, plan, drills, aim):
        found = judge(perch, trial.bores, perch_answer)
        if not errors_of(found):
            lacks[trial] = max(doubt.limit - doubt.value for doubt in found)
    assert len(lacks) == len(drills)
    own, other = sorted(choose(search, list(lacks), relaxed=True), key=lambda trial: trial.bores[0].diameter)
    assert own.bores[0].diameter == perch.bores[0].diameter
    assert lacks[other] < min(lacks.values()) + 25.4 / 64


def test_every_drill_is_tried_in_the_one_bore_that_is_given_and_a_few_where_places_are_many(ask, perch, perch_answer):
    drills = tuple(4.0 + 0.5 * n for n in range(10))
    few = int(load("ballast")["places"]["drills_tried"])
    assert few < len(drills)
    tried = {}
    for bores in ("given", "two"):
        goal = Goal(reserve=2.4, bores=bores, metal="lead_cast_slug", drills=drills)
        search = Search(goal, ground_of(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
        aim = aim_at(goal, perch_answer.hull, perch.water, search.drag, roll_of(perch_answer))
        plan = layouts(perch, goal, perch_answer.sizes[0], 6.0)[0][0]
        tried[bores] = {trial.bores[0].diameter for trial in trials_of(search, plan, drills, aim)}
    assert tried["given"] >= set(drills)
    assert len(tried["two"] & set(drills)) <= few


@pytest.mark.parametrize(
    ("units", "drill", "depth"), [("in", 6.35, 2.38125), ("in", 4.7625, 1.5875), ("mm", 5.0, 2.0), ("mm", 6.0, 2.0)]
)
def test_the_shallowest_bore_is_the_first_step_of_the_shop_at_a_third_of_its_width(units, drill, depth, perch):
    """By hand: 2.117 mm are 5.33 of 1/64 in, 1.5875 mm are 4; 1.667 mm are 3.33 steps of 0.5 mm, 2 mm are 4."""
    bore = replace(perch.bores[0], diameter=drill, depth_to="shoulder")
    assert _shallowest(bore, replace(perch, units=units)) == pytest.approx(depth, abs=1e-9)


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
    ground = ground_of(perch_answer)
    bore = replace(
        perch.bores[0], depth=depth, fill=Fill(metal, "putty" if "putty" in metal else "slug", finish=finish)
    )
    base, adds = base_of(ground, (perch.bores[0],)), ground.adds(bore)
    whole = ask(replace(perch, bores=(bore, *perch.bores[1:])))
    assert base.mass + adds[0] == pytest.approx(whole.total.mass, abs=0.003)
    moment = whole.total.mass * whole.total.centre_of_mass
    assert np.abs(base.moment + adds[1] - moment).max() < 0.003 * 7
    metal_item = next(i.mass for i in whole.items if i.name.startswith("ballast: ") and "filler" not in i.name)
    assert metal_mass(ground.holes(bore), bore.fill, depth) == pytest.approx(metal_item, abs=0.003)


def test_depth_and_level_are_solved_exactly(perch, perch_answer):
    ground, fill = ground_of(perch_answer), Fill("lead_cast_slug", level=0.8)
    bore, wood = perch.bores[0], perch_answer.wood.g_cm3
    wanted = ground.adds(replace(bore, depth=8.0, fill=fill))[0]
    assert depth_for(ground.holes(bore), fill, wanted, wood) == pytest.approx(8.0)
    assert level_for(ground.holes(bore), fill, 8.0, wanted, wood) == pytest.approx(0.8)


def test_a_bore_as_it_is_drilled_is_filled_to_the_level_that_weighs_as_asked(ask, perch, perch_answer):
    """Levels are said in hundredths: half of one is 0.5 % of what the bore holds."""
    goal = Goal(reserve=2.8, bores="given", metal="bismuth_tin_58_42")
    search = Search(goal, ground_of(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
    ((plan,),) = layouts(perch, goal, perch_answer.sizes[0], 6.0)
    base, wanted = base_for(search, plan), perch_answer.total.mass - 0.2
    trial = try_level(search.ground, plan, base, Aim(np.array([wanted])), None)
    (bore,) = trial.bores
    assert (trial.kind, bore.depth) == ("level", perch.bores[0].depth)
    metal = next(item.mass for item in perch_answer.items if item.name.startswith("ballast: bismuth"))
    holds = metal / perch.bores[0].fill.level
    assert base.mass + search.ground.adds(bore)[0] == pytest.approx(wanted, abs=0.005 * holds)
    assert try_level(search.ground, plan, base, Aim(np.array([wanted + 2.0])), None) is None  # more than it holds
    with_moment = Aim(np.array([wanted]), np.array([[1.0, 0.0, 0.0]]), np.array([0.0]))
    assert try_level(search.ground, plan, base, with_moment, None) is None


def test_how_far_a_trial_is_from_the_aim_is_its_mass_and_its_moment_over_a_quarter_of_the_length(
    ask, perch, perch_answer
):
    """The perch as it stands, 70 mm long: 0.3 g from one aim; 0.4 g and 0.3 g at 17.5 mm from another are 0.5 g."""
    goal = Goal(reserve=2.4, bores="given")
    search = Search(goal, ground_of(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
    ((plan,),) = layouts(perch, goal, perch_answer.sizes[0], 6.0)
    trial, mass = Trial(plan, perch.bores[:1]), perch_answer.total.mass
    assert _gap(search, trial, Aim(np.array([mass - 0.3, mass + 5]))) == pytest.approx(0.3, abs=0.003)
    ahead = perch_answer.total.centre_of_mass[0] + 0.3 * perch_answer.sizes[0] / 4 / mass
    aim = Aim(np.array([mass + 0.4]), np.array([[1.0, 0.0, 0.0]]), np.array([(mass + 0.4) * ahead]))
    assert _gap(search, trial, aim) == pytest.approx(0.5, abs=0.003)


def test_a_waterline_is_met_the_more_loosely_the_farther_its_station_is_from_the_middle(ask, perch, perch_answer):
    """What half a step turns the bait by moves the water over a station by the turn times its distance (geometry)."""
    trial = Trial(layouts(perch, Goal(reserve=2.4), perch_answer.sizes[0], 6.0)[0][0], perch.bores[:1])
    worth = {}
    for off in (0.0, 20.0, -30.0):
        goal = Goal(waterline=Waterline(perch_answer.sizes[0] / 2 + off, 0.0))
        search = Search(goal, ground_of(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
        worth[off] = _steps_worth(search, trial, perch_answer)
    turn = radians(worth[0.0][1] - 0.1)  # less what is allowed for rounding
    assert worth[20.0][2] - worth[0.0][2] == pytest.approx(20.0 * turn)
    assert worth[-30.0][2] - worth[0.0][2] == pytest.approx(30.0 * turn)


def test_each_wish_of_a_goal_is_given_up_in_turn_where_another_is_left():
    line = Waterline(30.0, 3.0)
    assert without_one(Goal(reserve=2.0, pitch=0.1)) == [("pitch", Goal(reserve=2.0)), ("reserve", Goal(pitch=0.1))]
    assert without_one(Goal(state="suspends", pitch=0.1)) == [
        ("pitch", Goal(state="suspends")),
        ("float", Goal(pitch=0.1)),
    ]
    assert without_one(Goal(pitch=0.1, waterline=line)) == [
        ("pitch", Goal(waterline=line)),
        ("waterline", Goal(pitch=0.1)),
    ]
    assert without_one(Goal(reserve=2.0)) == []


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
