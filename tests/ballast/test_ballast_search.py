"""The search's own measures, each by itself: what is tried, how far off it is, what a step is worth."""

from dataclasses import replace
from math import radians

import numpy as np
import pytest

from bodygen.ballast.drag import drag_for
from bodygen.ballast.layout import layouts
from bodygen.ballast.offer import _gap, _shallowest, _steps_worth, changes_of, without_one
from bodygen.ballast.solve import choose, roll_of, trials_of
from bodygen.ballast.target import Target, target_for
from bodygen.ballast.trial import Search, Trial, context_for, try_layout, try_level, without_new_bores
from bodygen.ballast.wood import errors_of, judge
from bodygen.recipe.model import Goal, Waterline
from bodygen.tables import load


@pytest.fixture
def begun(ask, perch, perch_answer):
    """A search for a goal as it begins, and its first layout."""

    def begin(**wishes):
        goal = Goal(**wishes)
        search = Search(goal, context_for(perch_answer), drag_for(goal, perch_answer), ask, {}, {})
        return search, layouts(perch, goal, perch_answer.sizes[0], 6.0)[0][0]

    return begin


def tried(search, plan, drills):
    given = search.context.given
    target = target_for(search.goal, given.hull, given.recipe.water, search.drag, roll_of(given))
    return trials_of(search, plan, drills, target)


def test_where_every_bore_breaks_a_limit_those_that_break_it_least_are_verified(begun, perch, perch_answer):
    """To suspend with lead takes wood from the back at every drill: none left out lacks less wood by a step of 1/64."""
    drills = (5.953125, 6.35, 7.540625, 9.525)
    search, plan = begun(suspends_at=12.0, bores="given", metal="lead_cast_slug", drills=drills)
    lacks = {}
    for trial in tried(search, plan, drills):
        found = judge(perch, trial.bores, perch_answer)
        if not errors_of(found):
            lacks[trial] = max(doubt.limit - doubt.value for doubt in found)
    assert len(lacks) == len(drills)
    own, other = sorted(choose(search, list(lacks), relaxed=True), key=lambda trial: trial.bores[0].diameter)
    assert own.bores[0].diameter == perch.bores[0].diameter
    assert lacks[other] < min(lacks.values()) + 25.4 / 64


def test_every_drill_is_tried_in_the_one_bore_that_is_given_and_a_few_where_places_are_many(begun):
    drills = tuple(4.0 + 0.5 * n for n in range(10))
    few = int(load("ballast")["places"]["drills_tried"])
    assert few < len(drills)
    used = {}
    for bores in ("given", "two"):
        search, plan = begun(reserve=2.4, bores=bores, metal="lead_cast_slug", drills=drills)
        used[bores] = {trial.bores[0].diameter for trial in tried(search, plan, drills)}
    assert used["given"] >= set(drills)
    assert len(used["two"] & set(drills)) <= few


@pytest.mark.parametrize(
    ("units", "drill", "depth"), [("in", 6.35, 2.38125), ("in", 4.7625, 1.5875), ("mm", 5.0, 2.0), ("mm", 6.0, 2.0)]
)
def test_the_shallowest_bore_is_the_first_step_of_the_shop_at_a_third_of_its_width(units, drill, depth, perch):
    """By hand: 2.117 mm are 5.33 of 1/64 in, 1.5875 mm are 4; 1.667 mm are 3.33 steps of 0.5 mm, 2 mm are 4."""
    bore = replace(perch.bores[0], diameter=drill, depth_to="shoulder")
    assert _shallowest(bore, replace(perch, units=units)) == pytest.approx(depth, abs=1e-9)


def test_a_bore_as_it_is_drilled_is_filled_to_the_level_that_weighs_as_asked(begun, perch, perch_answer):
    """Levels are said in hundredths: half of one is 0.5 % of what the bore holds."""
    search, plan = begun(reserve=2.8, bores="given", metal="bismuth_tin_58_42")
    bare, wanted = without_new_bores(search, plan), perch_answer.total.mass - 0.2
    trial = try_level(search.context, plan, bare, Target(np.array([wanted])), None)
    (bore,) = trial.bores
    assert (trial.kind, bore.depth) == ("level", perch.bores[0].depth)
    metal = next(item.mass for item in perch_answer.items if item.name.startswith("ballast: bismuth"))
    holds = metal / perch.bores[0].fill.level
    assert bare.mass + search.context.adds(bore)[0] == pytest.approx(wanted, abs=0.005 * holds)
    assert try_level(search.context, plan, bare, Target(np.array([wanted + 2.0])), None) is None  # more than it holds
    with_moment = Target(np.array([wanted]), np.array([[1.0, 0.0, 0.0]]), np.array([0.0]))
    assert try_level(search.context, plan, bare, with_moment, None) is None


def test_of_the_shops_steps_the_one_that_weighs_nearest_to_what_is_asked_is_taken(begun, perch, perch_answer):
    """Whatever is asked, a bore one step of 1/64 in deeper or less deep is no nearer."""
    search, plan = begun(reserve=2.4, bores="given")
    bare = without_new_bores(search, plan)
    for more in np.linspace(-0.4, 0.4, 9):
        wanted = perch_answer.total.mass + more
        (bore,) = try_layout(search.context, plan, None, None, bare, Target(np.array([wanted]))).bores
        near = [replace(bore, depth=bore.depth + n * 25.4 / 64) for n in (0, -1, 1)]
        off = [abs(bare.mass + search.context.adds(one)[0] - wanted) for one in near]
        assert off[0] == min(off)


def test_how_far_a_trial_is_from_the_aim_is_its_mass_and_its_moment_over_a_quarter_of_the_length(
    begun, perch, perch_answer
):
    """The perch as it stands, 70 mm long: 0.3 g from one target; 0.4 g and 0.3 g at 17.5 mm from another are 0.5 g."""
    search, plan = begun(reserve=2.4, bores="given")
    trial, mass = Trial(plan, perch.bores[:1]), perch_answer.total.mass
    assert _gap(search, trial, Target(np.array([mass - 0.3, mass + 5]))) == pytest.approx(0.3, abs=0.003)
    ahead = perch_answer.total.centre_of_mass[0] + 0.3 * perch_answer.sizes[0] / 4 / mass
    target = Target(np.array([mass + 0.4]), np.array([[1.0, 0.0, 0.0]]), np.array([(mass + 0.4) * ahead]))
    assert _gap(search, trial, target) == pytest.approx(0.5, abs=0.003)


def test_a_waterline_is_met_the_more_loosely_the_farther_its_station_is_from_the_middle(begun, perch, perch_answer):
    """What half a step turns the bait by moves the water over a station by the turn times its distance (geometry)."""
    worth = {}
    for off in (0.0, 20.0, -30.0):
        search, plan = begun(waterline=Waterline(perch_answer.sizes[0] / 2 + off, 0.0), bores="given")
        worth[off] = _steps_worth(search, Trial(plan, perch.bores[:1]), perch_answer)
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


@pytest.mark.parametrize(
    ("named", "left", "written"), [(("ballast", "eyes"), ("eyes",), ["eyes"]), (("ballast",), (), None)]
)
def test_a_bore_that_named_one_that_is_left_out_names_the_others_still(named, left, written, perch):
    ballast, other, *more = perch.bores
    given = replace(perch, bores=(ballast, replace(other, may_meet=named), *more))
    offered = replace(perch, bores=(replace(other, may_meet=left), *more))
    assert changes_of(given, offered, ()) == {"bore[2].may_meet": written, "bore[1]": None}


def test_what_an_offer_leaves_as_it_is_is_no_change_of_it(perch):
    own = perch.bores[0]
    deeper = replace(own, depth=own.depth + 25.4 / 64)
    offered = replace(perch, bores=(deeper, *perch.bores[1:]))
    assert own.fill.mass is None
    assert list(changes_of(perch, offered, (deeper,))) == ["bore[1].depth"]
    weighed = replace(perch, bores=(replace(own, fill=replace(own.fill, mass=2.0)), *perch.bores[1:]))
    assert changes_of(weighed, perch, (own,)) == {"bore[1].fill.mass": None}
    empty = replace(perch, bores=(replace(own, fill=None), *perch.bores[1:]))
    filled = changes_of(empty, perch, (own,))
    assert {f"bore[1].fill.{name}" for name in ("metal", "placed", "level")} <= filled.keys()
    assert None not in filled.values()
