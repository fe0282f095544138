"""How far the search reaches before it gives up, and what it says then."""

import json
from dataclasses import replace
from math import radians

import numpy as np
import pytest

from bodygen.ballast.goal import held
from bodygen.ballast.layout import fills, layouts, shop_set, steps_around, written
from bodygen.ballast.offer import off
from bodygen.ballast.solve import solve
from bodygen.ballast.target import Target
from bodygen.ballast.trial import context_for, try_layout, without_bores
from bodygen.cli import main
from bodygen.recipe.model import Bore, Fill, Goal, Waterline
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import rewrite

QUICK = {"metal": "tungsten_putty", "drills": (6.35,)}


@pytest.mark.parametrize("last", [False, True])
def test_an_offer_weighs_as_promised_whoever_has_the_wood_that_cuts_share(last, ask, params, tmp_path):
    """A wide hole runs into the ballast's: cut before it, or after it, the changed file weighs what was offered."""
    text = (params / "tarn-perch-70.toml").read_text()
    start, end = text.index("[[bore]]"), text.index('[[bore]]\nname = "belly hanger"')
    own = text[start:end]
    hole = '[[bore]]\nname = "window"\nkind = "any"\nfrom = "side"\nx = "1-1/8 in"\nheight = "-0.26 in"\n'
    hole += 'diameter = "4 mm"\ndepth = "9 mm"\nclosed = "sealed"\nmay_meet = ["ballast"]\n\n'
    path = tmp_path / "perch.toml"
    path.write_text(text[:start] + (hole + own if last else own + hole) + text[end:])
    recipe = read_recipe(path)
    solution = solve(recipe, Goal(reserve=ask(recipe).flotation.reserve_g - 0.3, bores="given", **QUICK), ask)
    offer = solution.offers[0]
    path.write_text(rewrite(path, offer.changes))
    after = ask(read_recipe(path)).flotation
    assert offer.met
    assert after.reserve_g == pytest.approx(offer.reserve_g, abs=1e-6)
    assert after.attitude.pitch_deg == pytest.approx(offer.pitch_deg, abs=1e-4)


def test_with_a_lift_alone_one_bore_moves_where_its_own_place_has_no_wood(ask, perch):
    """Near the tail the body is too shallow for as much metal."""
    aft = replace(perch, bores=(replace(perch.bores[0], x=61.0), *perch.bores[1:]))
    solution = solve(aft, Goal(reserve=2.4, bores="one", **QUICK), ask)
    offer = solution.offers[0]
    assert offer.met
    assert not offer.findings
    assert offer.bores[0].x_mm < 55
    assert offer.changes["bore[1].x"] == written(offer.bores[0].x_mm, "in")


def test_two_given_bores_are_solved_together_where_neither_is_enough(ask, params):
    """By the local model: the pair weighs what is asked to a step, each with its own drill, near its own depth."""
    answer = ask(read_recipe(params / "beck-dace-80.toml"))
    alone, (pair,) = layouts(answer.recipe, Goal(reserve=1.0), answer.sizes[0], 5.0)
    assert [layout.places for layout in (*alone, pair)] == [(1,), (2,), (1, 2)]
    context, bare = context_for(answer), without_bores(context_for(answer), pair.bores)
    trial = try_layout(context, pair, None, None, bare, Target(np.array([answer.total.mass + 0.8])))
    assert trial.stop is None
    assert bare.mass + sum(context.adds(b)[0] for b in trial.bores) == pytest.approx(answer.total.mass + 0.8, abs=0.1)
    assert [b.diameter for b in trial.bores] == [b.diameter for b in pair.bores]
    assert all(new.depth >= old.depth - 1 for new, old in zip(trial.bores, pair.bores, strict=True))


def test_a_goal_that_cannot_be_had_says_which_wish_stands_in_the_way(ask, perch):
    goal = Goal(reserve=2.6, waterline=Waterline(35.0, -9.0), bores="one", **QUICK)
    solution = solve(perch, goal, ask)
    assert not any(offer.met for offer in solution.offers)
    assert solution.offers
    assert ("wish-to-give-up", "goal.waterline") in [(f.code, f.where) for f in solution.findings]


@pytest.mark.parametrize(("reserve", "pitch"), [(-30.0, None), (2.6, 60.0), (400.0, None)])
def test_the_nearest_is_never_farther_off_than_the_bait_as_it_stands(reserve, pitch, ask, perch):
    goal = Goal(reserve=reserve, pitch=None if pitch is None else radians(pitch), bores="given", **QUICK)
    solution = solve(perch, goal, ask)
    given = solution.given.flotation
    as_it_stands = abs(given.reserve_g - reserve) / 0.1
    if pitch is not None:
        as_it_stands = ((given.reserve_g - reserve) ** 2 / 0.01 + (given.attitude.pitch_deg - pitch) ** 2) ** 0.5
    assert solution.offers
    assert solution.findings[0].code == "goal-out-of-reach"
    for offer in solution.offers:
        assert off(offer, goal, reserve) <= as_it_stands + 1e-9


def test_a_waterline_that_no_attitude_has_is_exit_code_1_with_its_document(params, capsys):
    asked = ["--pitch", "0 deg", "--waterline", "35 mm", "20 mm", "--metal", "tungsten_putty", "--drills", "1/4"]
    code = main(["ballast", str(params / "tarn-perch-70.toml"), *asked, "--json"])
    document = json.loads(capsys.readouterr().out)
    assert code == 1
    assert document["findings"][0]["code"] == "goal-out-of-reach"
    assert "no attitude within 75 deg" in document["findings"][0]["remedy"]


def test_a_bore_in_the_nose_is_asked_for_its_depth_alone(ask, perch, params, tmp_path):
    """It has no x; what is offered reads back."""
    text = (params / "tarn-perch-70.toml").read_text()
    ballast = text[text.index("[[bore]]") : text.index('[[bore]]\nname = "belly hanger"')]
    nose = ballast.replace('from = "belly"\nx = "1-1/8 in"', 'from = "nose"\nheight = "-1/8 in"')
    tie = text[text.index('[[bore]]\nname = "nose tie"') : text.index('[[bore]]\nname = "eye socket"')]
    lip = text[text.index("[lip]") : text.index("[[fitting]]")]
    path = tmp_path / "nose.toml"
    path.write_text(
        text.replace(ballast, nose).replace(tie, "").replace(lip, "").replace('on = "nose tie"', "at = [0, 0, 0]")
    )
    recipe = read_recipe(path)
    goal = Goal(reserve=ask(recipe).flotation.reserve_g + 0.2, bores="one", **QUICK)
    offer = solve(recipe, goal, ask).offers[0]
    path.write_text(rewrite(path, offer.changes))
    assert offer.met
    assert read_recipe(path).bores == offer.recipe.bores
    assert ask(read_recipe(path)).flotation.reserve_g == pytest.approx(offer.reserve_g, abs=1e-6)


@pytest.mark.parametrize("thickness", [2.0, 4.0, 5.0])
def test_a_thin_body_takes_the_drill_that_it_can(thickness, perch):
    (drill,) = shop_set(replace(perch, units="mm", goal=None), thickness)
    assert drill <= max(0.6 * thickness, 1.0)


def test_a_body_5_mm_thick_gets_an_answer(ask, perch):
    thin = replace(perch.shape, thickness=5.0)
    flat = replace(perch, shape=thin, bores=(), lip=None, wood=replace(perch.wood, density_g_cm3=0.2), goal=None)
    light = replace(flat, fittings=())
    now = ask(light).flotation.reserve_g
    solution = solve(light, Goal(reserve=now - 0.05), ask)
    assert solution.offers


def test_a_length_lies_between_two_steps_or_on_one():
    assert steps_around(17.2, "mm") == (17.0, 17.5)
    assert steps_around(0.2, "mm") == (0.5,)
    assert steps_around(25.4 / 64 * 7, "in") == pytest.approx((25.4 / 64 * 7,))
    assert written(9.125, "mm") == "9.125 mm"  # off the steps: with its unit, so that it means the same in any ruler
    assert written(25.4 / 4, "in") == "1/4 in"


def test_the_scale_is_to_stop_where_the_lift_is_just_what_was_asked(ask, perch):
    """The stage of the ballast, less what the offer's rounding leaves too little or too much."""
    goal = Goal(reserve=2.45, bores="given", **QUICK)
    offer = next(o for o in solve(perch, goal, ask).offers if o.met)
    stage = next(s.mass for s in ask(offer.recipe).stages if s.name == "ballast")
    assert offer.scale_g == pytest.approx(stage + offer.reserve_g - 2.45, abs=1e-9)


@pytest.mark.parametrize("demo", ["beck-dace-80", "fell-reed-110", "reedbed-roach-65", "tarn-perch-70"])
def test_every_demo_has_a_goal_that_its_own_bores_meet(demo, ask, params):
    answer = ask(read_recipe(params / f"{demo}.toml"))
    wishes = held(answer, answer.recipe.goal)
    assert wishes
    assert all(wish.met for wish in wishes), wishes
    assert answer.recipe.goal.state in {None, answer.flotation.state}


def test_a_bore_is_offered_with_the_metal_that_is_in_it():
    """Two given bores keep a metal each."""
    bores = tuple(Bore(m, "ballast", "belly", 5.0, 8.0, x=20.0, fill=Fill(m)) for m in ("tin", "lead_cast_slug"))
    assert fills(bores, Goal(reserve=1.0))[0] is None
    assert fills(bores, Goal(reserve=1.0, metal="tin"))[0] == Fill("tin")
