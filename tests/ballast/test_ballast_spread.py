"""Spread: the linear model against the whole flow, its shares against draws, its weigh-ins against the formula."""

from dataclasses import replace
from math import radians, sqrt

import numpy as np
import pytest

from bodygen.ballast.goal import Wish, bait_checks, goal_checks, spread_checks
from bodygen.ballast.sureness.inputs import Effect, Input, inputs_of
from bodygen.ballast.sureness.spread import Percentiles, Share, largest_first, rates_of, spread_of
from bodygen.ballast.sureness.tilt import pitches
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.recipe.model import Fill, Goal
from bodygen.recipe.read import read_recipe
from bodygen.weights.spread import scale_reading


@pytest.fixture(scope="module")
def spread(perch_answer):
    return spread_of(perch_answer)


def test_the_same_seed_gives_the_same_figures(perch_answer, spread):
    again, other = spread_of(perch_answer), spread_of(perch_answer, seed=21)
    assert np.array_equal(again.reserves, spread.reserves)
    assert again.shares == spread.shares
    assert again.weigh_ins == spread.weigh_ins
    assert (again.total_g, again.reserve_g, again.pitch_deg) == (spread.total_g, spread.reserve_g, spread.pitch_deg)
    assert not np.array_equal(other.reserves, spread.reserves)
    assert other.reserve_g.p10 == pytest.approx(spread.reserve_g.p10, abs=0.05 * spread.reserve_sd_g * 2)


def test_the_shares_of_each_figure_add_up_to_one(spread):
    for what in ("total", "reserve", "pitch"):
        assert sum(getattr(share, what) for share in spread.shares) == pytest.approx(1)


def test_the_shares_are_the_squared_correlations_of_the_draws(perch_answer, spread):
    """For a sum of independent inputs both are the first-order index; 10,000 draws leave about 0.01."""
    inputs, chance = inputs_of(perch_answer), np.random.default_rng(5)
    values = np.array([one.draw(10000, chance) for one in inputs])
    reserve = rates_of(perch_answer, inputs).reserve @ values
    shares = {share.name: share.reserve for share in spread.shares}
    for one, value in zip(inputs, values, strict=True):
        assert np.corrcoef(value, reserve)[0, 1] ** 2 == pytest.approx(shares[one.name], abs=0.02)
    assert np.std(reserve) == pytest.approx(spread.reserve_sd_g, rel=0.03)


@pytest.mark.parametrize("demo", ["perch", "lightly loaded perch"])
def test_a_heavier_board_does_what_the_rates_say(demo, ask, perch):
    """Two percent either way: reserve to the milligram, the middle slope of the pitch to a fiftieth."""
    if demo != "perch":
        perch = replace(perch, bores=(replace(perch.bores[0], depth=6.0), *perch.bores[1:]))
    answer = ask(perch)
    inputs = inputs_of(answer)
    rates = rates_of(answer, inputs)
    wood = next(i for i, one in enumerate(inputs) if one.name == "density of the wood")
    heavy, light = (
        ask(replace(perch, wood=replace(perch.wood, density_g_cm3=answer.wood.g_cm3 * share))).flotation
        for share in (1.02, 0.98)
    )
    assert heavy.reserve_g - light.reserve_g == pytest.approx(0.04 * rates.reserve[wood], abs=1e-3)
    turned = heavy.attitude.pitch_deg - light.attitude.pitch_deg
    assert turned == pytest.approx(0.04 * rates.pitch[wood], rel=0.02)


def test_a_heavier_hook_does_what_the_rates_say(ask, perch, perch_answer):
    """Both trebles two percent heavier and lighter; they grow with it, and push more aside where they are under water.

    The middle slope of the pitch to 1e-3: over so small a turn the bend of the curve is 1e-4 of it.
    """
    inputs = inputs_of(perch_answer)
    rates = rates_of(perch_answer, inputs)
    hooks = next(i for i, one in enumerate(inputs) if one.name == "pattern of the hooks")
    mass = {item.name: item.mass for item in perch_answer.items}

    def with_hooks(share):
        hung = tuple(replace(f, mass=share * mass[f.name]) if f.kind == "hook" else f for f in perch.fittings)
        return ask(replace(perch, fittings=hung)).flotation

    heavy, light = with_hooks(1.02), with_hooks(0.98)
    assert heavy.reserve_g - light.reserve_g == pytest.approx(0.04 * rates.reserve[hooks], abs=1e-9)
    turned = heavy.attitude.pitch_deg - light.attitude.pitch_deg
    assert turned == pytest.approx(0.04 * rates.pitch[hooks], rel=1e-3)


def test_a_thicker_film_does_what_the_rates_say(ask, perch, perch_answer):
    """Half more of the table's primer: what of it is under water is pushed up where the wetted skin has its middle.

    The reserve to rounding. The pitch to 5 %: the one-sided slope bends by 1.5 % over so much, facets take the rest.
    """
    inputs = inputs_of(perch_answer)
    rates = rates_of(perch_answer, inputs)
    film = next(i for i, one in enumerate(inputs) if one.name == "film of primer_white")
    white = next(coat for coat in perch.coats if coat.finish == "primer_white")
    more = replace(white, film=1.5 * (0.0152 + 0.0254 + 0.0381) / 3)
    thick = replace(perch, coats=tuple(more if coat is white else coat for coat in perch.coats))
    after, before = ask(thick).flotation, perch_answer.flotation
    assert after.reserve_g - before.reserve_g == pytest.approx(0.5 * rates.reserve[film], abs=1e-9)
    turned = after.attitude.pitch_deg - before.attitude.pitch_deg
    assert turned == pytest.approx(0.5 * rates.pitch[film], rel=0.05)


def test_a_deeper_poured_bore_does_what_the_rates_say(ask, perch):
    """Half a millimetre; the mouth is where it was, so the rate is the drill's section times metal less wood."""
    bore = replace(perch.bores[0], fill=replace(perch.bores[0].fill, placed="poured", clearance=0.0, level=1.0))
    poured = replace(perch, bores=(bore, *perch.bores[1:]))
    answer = ask(poured)
    inputs = inputs_of(answer)
    at = next(i for i, one in enumerate(inputs) if one.name == "depth of ballast")
    deeper = ask(replace(poured, bores=(replace(bore, depth=bore.depth + 0.5), *perch.bores[1:])))
    change = deeper.flotation.reserve_g - answer.flotation.reserve_g
    assert change == pytest.approx(0.5 * rates_of(answer, inputs).reserve[at], rel=2e-3)


def test_a_slug_or_a_weighed_fill_does_not_grow_with_the_bore(perch_answer):
    """Only wood and filler change places: less than a tenth of what a pour would take."""
    inputs = inputs_of(perch_answer)
    at = next(i for i, one in enumerate(inputs) if one.name == "depth of ballast")
    assert abs(rates_of(perch_answer, inputs).mass[at]) < 0.1 * np.pi / 4 * 6.35**2 * 8.556e-3


@pytest.mark.parametrize(
    ("clearance", "closed", "comes"), [(0.1, "filled", 1.15), (0.0, "filled", 1.15), (0.1, "open", 0.0)]
)
def test_a_bore_that_comes_out_wider_has_glue_round_its_slug_where_it_is_closed(
    clearance, closed, comes, perch, perch_answer
):
    """By hand: the cavity grows by 2 dd/d, epoxy of 1.15 g/cm^3 comes where wood was; a tight slug, too."""
    bore = replace(perch.bores[0], fill=replace(perch.bores[0].fill, clearance=clearance), closed=closed)
    answer = replace(perch_answer, recipe=replace(perch, bores=(bore, *perch.bores[1:])))
    (wider,) = (one for one in inputs_of(answer) if one.name == "width of the 6.35 mm bores")
    cavity = perch_answer.measured.bores[0].cavity.volume / 1000
    assert sum(e.mass for e in wider.effects) == pytest.approx(2 / 6.35 * cavity * (comes - perch_answer.wood.g_cm3))


def test_a_poured_bore_that_comes_out_wider_takes_more_metal_and_putty_in_their_shares(perch, perch_answer):
    """By hand: the cavity grows by 2 dd/d; what was metal stays metal of 8.556 g/cm^3, the rest putty of 1 g/cm^3."""
    poured = Fill("bismuth_tin_58_42", "poured", level=0.9)
    answer = replace(
        perch_answer, recipe=replace(perch, bores=(replace(perch.bores[0], fill=poured), *perch.bores[1:]))
    )
    (wider,) = (one for one in inputs_of(answer) if one.name == "width of the 6.35 mm bores")
    bored = perch_answer.measured.bores[0]
    metal, cavity = bored.metal.volume / 1000, bored.cavity.volume / 1000
    expected = metal * 8.556 + (cavity - metal) * 1.0 - cavity * perch_answer.wood.g_cm3
    assert 0.05 * cavity < cavity - metal
    assert sum(e.mass for e in wider.effects) == pytest.approx(2 / 6.35 * expected, rel=1e-3)


def test_a_weigh_in_leaves_what_the_best_linear_estimate_leaves(perch_answer, spread):
    """Drilled: the reading is the wood, to the scale; var - cov^2 / (var of the reading), with the wood alone."""
    inputs = inputs_of(perch_answer)
    rates = rates_of(perch_answer, inputs)
    wood = next(i for i, one in enumerate(inputs) if one.name == "density of the wood")
    variance = inputs[wood].sd ** 2
    grams = rates.mass[wood]
    known = (rates.reserve[wood] * grams * variance) ** 2 / (grams**2 * variance + scale_reading() ** 2)
    drilled = next(one for one in spread.weigh_ins if one.stage == "drilled")
    assert drilled.sd_after_g == pytest.approx(sqrt(spread.reserve_sd_g**2 - known), rel=0.01)
    assert drilled.removes == pytest.approx(known / spread.reserve_sd_g**2, rel=0.01)


def test_more_readings_never_leave_more(spread):
    after = [one.sd_after_all_g for one in spread.weigh_ins]
    assert after == sorted(after, reverse=True)
    assert all(one.sd_after_all_g <= one.sd_after_g + 1e-9 for one in spread.weigh_ins)


def test_a_reading_narrows_the_spread(ask, perch, spread):
    drilled = ask(replace(perch, weighed=(("drilled", 4.5),)))
    after = spread_of(drilled).reserve_sd_g
    assert after < 0.4 * spread.reserve_sd_g


def test_wholly_under_the_pitch_is_the_line_between_the_centres(ask, perch):
    """A heavy board sinks; its draws are taken from the centres, one by one."""
    sunk = ask(replace(perch, wood=replace(perch.wood, density_g_cm3=0.75)))
    assert sunk.flotation.state == "sinks"
    spread = spread_of(sunk, draws=2000)
    assert spread.pitch_deg.p10 < sunk.flotation.attitude.pitch_deg < spread.pitch_deg.p90
    assert all(abs(p) <= 90 for p in (spread.pitch_deg.p10, spread.pitch_deg.p90))


def test_wholly_under_the_rates_are_the_slopes_of_the_line_between_the_centres(ask, perch):
    """pitch = asin(-a_x / |a|), a = B - G; dG = m (p - G) / M, dB = v (p - B) / V: differentiated by hand.

    The program takes a step of a hundredth of a standard deviation, so the line bends by less than 1e-3 of the slope.
    """
    sunk = ask(replace(perch, wood=replace(perch.wood, density_g_cm3=0.75)))
    inputs = inputs_of(sunk)
    mass, centre, volume, lift = sunk.total.mass, sunk.total.centre_of_mass, sunk.hull.volume, sunk.hull.centroid
    arm = lift - centre
    size, flat = np.linalg.norm(arm), np.hypot(arm[1], arm[2])
    slopes = []
    for one in inputs:
        change = sum(e.volume * (e.at - lift) / volume - e.mass * (e.at - centre) / mass for e in one.effects)
        slopes.append(np.degrees((-change[0] + arm[0] * (arm @ change) / size**2) / flat))
    assert rates_of(sunk, inputs).pitch == pytest.approx(slopes, rel=2e-3, abs=1e-3 * np.abs(slopes).max())
    turns = np.abs(slopes) * [one.sd for one in inputs]
    found = spread_of(sunk, draws=50)
    assert found.pitch_sd_deg == pytest.approx(np.sqrt((turns**2).sum()), rel=2e-3)


@pytest.mark.parametrize("density", [0.58, 0.62, 0.645, 0.67])
def test_near_neutral_each_draw_lies_as_it_lies_itself(density, ask, perch):
    """Some of 40 draws float and some go under; each is set afloat by itself, at its own mass and volume.

    Between the attitudes and shares that are tabled the lever is taken as even: within 1 deg of each, 0.2 deg of the
    percentiles.
    """
    answer = ask(replace(perch, wood=replace(perch.wood, density_g_cm3=density)))
    wood = replace(answer.items[0], spread=0.05 * answer.items[0].mass)
    answer = replace(answer, items=(wood, *answer.items[1:]))
    inputs = inputs_of(answer)
    values = np.array([one.draw(40, np.random.default_rng(3 + i)) for i, one in enumerate(inputs)])
    found = pitches(answer, inputs, values, rates_of(answer, inputs).pitch)
    states, real = set(), []
    for draw in values.T:
        effects = [(value, e) for value, one in zip(draw, inputs, strict=True) for e in one.effects]
        mass = answer.total.mass + sum(v * e.mass for v, e in effects)
        moment = answer.total.mass * answer.total.centre_of_mass + sum(v * e.mass * e.at for v, e in effects)
        fuller = 1 + sum(v * e.volume for v, e in effects) / answer.hull.volume
        water = answer.flotation.water_g_cm3 * fuller  # the same hull in denser water carries as a fuller one
        own = find_attitudes(answer.hull, mass, moment / mass, water, others=False)
        if own.state != "floats":  # wholly under, what a thicker film or hook pushes aside also moves the centre
            moved = sum(v * e.volume * (e.at - answer.hull.centroid) for v, e in effects)
            arm = moment / mass - moved / (fuller * answer.hull.volume)
            own = find_attitudes(answer.hull, mass, arm, water, others=False)
        states.add(own.state == "floats")
        real.append(own.attitude.pitch_deg)
    assert states == {True, False}
    assert found == pytest.approx(np.array(real), abs=1.0)
    assert np.percentile(found, (10, 50, 90)) == pytest.approx(np.percentile(real, (10, 50, 90)), abs=0.2)


@pytest.mark.parametrize("demo", ["beck-dace-80", "fell-reed-110", "reedbed-roach-65", "tarn-perch-70"])
def test_what_is_weighed_is_the_middle_of_what_comes_out(demo, ask, params):
    """Lopsided films, soaks and hook patterns are planned by their means: the median is within 0.02 g of the plan."""
    answer = ask(read_recipe(params / f"{demo}.toml"))
    assert spread_of(answer).reserve_g.p50 == pytest.approx(answer.flotation.reserve_g, abs=0.02)


def test_every_input_has_its_mean_at_the_plan(ask, params):
    for path in sorted(params.glob("*.toml")):
        for one in inputs_of(ask(read_recipe(path))):
            assert one.mean == pytest.approx(0.0, abs=1e-12)


def test_a_bait_with_nothing_uncertain_has_no_spread(perch_answer):
    sure = replace(
        perch_answer,
        items=tuple(replace(item, spread=0.0) for item in perch_answer.items),
        measured=replace(perch_answer.measured, bores=()),
    )
    spread = spread_of(sure, draws=100)
    assert spread.reserve_g.p10 == spread.reserve_g.p90 == pytest.approx(perch_answer.flotation.reserve_g)
    assert "wood" in spread.exact
    assert spread.shares == ()


@pytest.mark.parametrize(
    ("form", "low", "likely", "high"), [("uniform", -1, 0, 3), ("triangular", -1, 0, 3), ("normal", -2, 0, 2)]
)
def test_an_inputs_mean_and_deviation_are_its_draws(form, low, likely, high):
    one = Input("x", form, low, likely, high, (Effect("drilled", 1.0, np.zeros(3)),))
    values = one.draw(200_000, np.random.default_rng(1))
    assert np.mean(values) == pytest.approx(one.mean, abs=0.02)
    assert np.std(values) == pytest.approx(one.sd, rel=0.01)


def test_a_single_normal_input_has_the_printed_percentiles(perch_answer):
    """Tenth and ninetieth lie 1.2816 standard deviations out (NIST/SEMATECH e-Handbook, 1.3.6.7.1, from memory)."""
    wood_only = tuple(i if i.name == "wood" else replace(i, spread=0.0) for i in perch_answer.items)
    answer = replace(perch_answer, items=wood_only, measured=replace(perch_answer.measured, bores=()))
    spread = spread_of(answer, draws=100_000)
    sd = wood_only[0].spread
    assert spread.reserve_sd_g == pytest.approx(sd)
    assert (spread.reserve_g.p90 - spread.reserve_g.p10) / 2 == pytest.approx(1.2816 * sd, rel=0.01)


# --- findings ---


def test_a_reserve_smaller_than_its_spread_is_doubted_and_told_which_weigh_in_helps(perch_answer, spread):
    (finding,) = spread_checks(perch_answer.flotation, replace(spread, reserve_g=Percentiles(-0.2, 0.1, 0.6)), None)
    assert (finding.code, finding.severity, finding.limit) == ("reserve-within-spread", "warning", pytest.approx(0.4))
    assert "-0.20 and +0.60 g" in finding.remedy
    assert "density of the wood" in finding.remedy
    assert spread_checks(perch_answer.flotation, spread, None) == ()


def test_a_bait_that_is_to_suspend_is_always_within_its_spread_so_that_is_a_note(perch_answer, spread):
    near = replace(spread, reserve_g=Percentiles(-0.2, 0.1, 0.6))
    (finding,) = spread_checks(perch_answer.flotation, near, Goal(suspends_at=12.0))
    assert finding.severity == "note"


def test_a_goal_that_is_not_met_is_told():
    wishes = (
        Wish("reserve", "g", 1.0, 2.5, 0.1),
        Wish("pitch", "deg", 0.0, 6.0, 2.0),
        Wish("waterline", "mm", 1, None, 1),
    )
    assert [f.code for f in goal_checks(wishes)] == ["goal-reserve", "goal-pitch", "goal-waterline"]
    assert goal_checks((Wish("reserve", "g", 2.5, 2.45, 0.1),)) == ()


@pytest.mark.parametrize(
    ("goal", "more", "codes"),
    [
        (Goal(state="floats"), None, []),
        (Goal(), 0.01, []),
        (Goal(), -1.6, ["goal-reserve"]),
        (Goal(suspends_at=12.0), None, ["goal-reserve"]),
        (Goal(sinks_at=0.1), None, ["goal-reserve"]),
        (None, None, []),
    ],
    ids=["floats", "what it has", "less reserve", "suspends", "sinks", "none"],
)
def test_a_bait_is_held_against_its_own_goal(goal, more, codes, perch_answer, spread):
    """``more``: the reserve wished for is so much more than what this bait has, at its own pitch."""
    has = perch_answer.flotation
    assert has.reserve_g > 2.0  # far from neutral
    if more is not None:
        goal = replace(goal, reserve=has.reserve_g + more, pitch=radians(has.attitude.pitch_deg))
    answer = replace(perch_answer, recipe=replace(perch_answer.recipe, goal=goal))
    assert [f.code for f in bait_checks(answer, spread)] == codes


def test_two_that_are_alike_but_for_rounding_stand_by_what_tells_them_apart():
    """Shares of the reserve that differ in the last digit: pitch decides, whichever of them the sums left ahead."""
    first, second = Share("a", 0.5, 0.5 + 1e-15, 0.2), Share("b", 0.5, 0.5 - 1e-15, 0.8)
    assert sorted([first, second], key=largest_first) == sorted([second, first], key=largest_first) == [second, first]
