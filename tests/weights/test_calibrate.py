"""Readings off the maker's scale: what they say of the wood, and what moves after it."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bodygen.errors import DesignError, InputError
from bodygen.form.blank import Blank
from bodygen.recipe.model import Bore, Coat, Fill, Fitting, Source, Wood, read_from
from bodygen.weights.calibrate import calibrate
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import BoreCavity, Measured
from bodygen.weights.wood import wood_density

ROOM = np.pi * 16 * 12  # mm^3, the ballast bore
LEFT = 48000 - ROOM


@pytest.fixture
def measured(body, skin, shapes):
    cavity = shapes.cylinder(8.0, 12.0, (30.0, 0.0, -9.0))
    return Measured(body, shapes.without(body, cavity), skin, (BoreCavity(0, False, np.zeros(3), cavity, cavity),))


@pytest.fixture
def bait(recipe):
    """Basswood with one slug, three coats of varnish and a hook."""

    def make(wood=None, fill=None):
        return recipe(
            wood=wood or Wood("basswood"),
            bores=(Bore("ballast", "ballast", "belly", 8.0, 12.0, x=30.0, fill=fill or Fill()),),
            fittings=(Fitting("treble", "hook", (40.0, 0.0, -17.0), "rigged", size="#6"),),
            coats=(Coat("clear", "oil_polyurethane_dip", "cleared", coats=3),),
        )

    return make


def masses(stages):
    return {s.name: s.mass for s in stages}


def test_without_readings_it_is_the_ledger(bait, measured):
    found = bait()
    weighed = calibrate(found, measured)
    plain = ledger(found, measured, wood_density(found.wood))
    assert [(i.name, i.mass) for i in weighed.items] == [(i.name, i.mass) for i in plain]
    assert weighed.moves == ()
    assert masses(weighed.stages) == masses(weighed.stages_before)


def test_board_15_percent_heavy_moves_the_density_as_by_hand(bait, measured):
    """By hand: the drilled body should weigh 47.397 cm^3 x 0.4144 = 19.641 g; it reads 22.587 g, so the board has
    22.587 / 47.397 = 0.4766 g/cm^3, and every later weigh-in is 2.946 g heavier.
    """
    read = 1.15 * 0.4144e-3 * LEFT
    assert read == pytest.approx(22.587, abs=0.001)
    weighed = calibrate(bait(), measured, [("drilled", read)])
    assert weighed.density.g_cm3 == pytest.approx(1.15 * 0.4144, rel=1e-12)
    before, after = masses(weighed.stages_before), masses(weighed.stages)
    for stage in ("drilled", "ballast", "cleared", "rigged"):
        assert after[stage] - before[stage] == pytest.approx(0.15 * 0.4144e-3 * LEFT)
    assert after["blank"] / before["blank"] == pytest.approx(1.15)
    (move,) = weighed.moves
    assert move.moved == (("wood", pytest.approx(read / 1.15), pytest.approx(read)),)
    assert not weighed.findings  # 15 % is within two standard deviations


def test_wood_after_a_reading_is_as_sure_as_the_scale(bait, measured):
    weighed = calibrate(bait(), measured, [("drilled", 20.0)])
    assert weighed.density.cov == pytest.approx(0.1 / 12**0.5 / 20.0)
    assert weighed.density.basis == "from the reading drilled = 20 g"


def test_blank_reading_sets_the_density_by_the_blanks_own_size(bait, measured):
    """A block of 78.75 cm^3, first thought to be 30 g, reads 31.5 g: 0.4 g/cm^3, so the 48 cm^3 body has 19.2 g."""
    wood = Wood(blank_mass=30.0, blank_size=(90.0, 25.0, 35.0))
    measured = replace(measured, block=Blank((-3.0, -12.5, -17.5), (87.0, 12.5, 17.5)))
    weighed = calibrate(bait(wood), measured, [("squared", 31.5)])
    assert weighed.density.g_cm3 == pytest.approx(0.4)
    assert masses(weighed.stages)["squared"] == pytest.approx(31.5)
    assert masses(weighed.stages)["blank"] == pytest.approx(19.2)


def test_a_blank_reading_is_of_the_shaped_body(bait, measured):
    assert calibrate(bait(), measured, [("blank", 19.2)]).density.g_cm3 == pytest.approx(0.4)


def test_a_squared_reading_of_a_block_that_nobody_knows_is_refused(bait, measured):
    with pytest.raises(InputError, match="nobody said how large the squared block is"):
        calibrate(bait(), measured, [("squared", 31.5)])


def test_later_reading_corrects_what_went_on_since(bait, measured):
    """Drilled 20.00 g, then 26.90 g with the slug in: the slug weighs 6.90 g, its place and volume stay."""
    weighed = calibrate(bait(), measured, [("ballast", 26.9), ("drilled", 20.0)])
    slug = next(i for i in weighed.items if i.stage == "ballast")
    assert slug.mass == pytest.approx(6.9)
    assert slug.displaces == pytest.approx(ROOM)
    assert weighed.density.g_cm3 == pytest.approx(20.0 / LEFT * 1000)
    assert [m.stage for m in weighed.moves] == ["drilled", "ballast"]
    assert weighed.moves[1].expected == pytest.approx(20.0 + ROOM * 11.2e-3)


def test_heavier_coats_are_thicker(bait, measured):
    weighed = calibrate(bait(), measured, [("ballast", 26.5), ("cleared", 28.0)])
    film = next(i for i in weighed.items if i.stage == "cleared")
    assert film.mass == pytest.approx(1.5)
    assert film.displaces == pytest.approx(1500 / 1.1)


def test_first_reading_with_ballast_in_is_borne_by_the_wood(bait, measured):
    """Least squares: the wood bears s^2 of its 1.96 g against s^2 of the slug's 0.059 g: more than 99.9 %."""
    found = bait()
    before = {i.name: i.mass for i in ledger(found, measured, wood_density(found.wood))}
    weighed = calibrate(found, measured, [("ballast", 28.0)])
    after = {i.name: i.mass for i in weighed.items}
    wood, slug = (after[n] - before[n] for n in ("wood", "ballast: lead_cast_slug"))
    spread_wood, spread_slug = 0.1 * before["wood"], (11.34 - 11.0) / 12**0.5 * ROOM * 1e-3
    assert wood / slug == pytest.approx((spread_wood / spread_slug) ** 2)
    assert after["wood"] + after["ballast: lead_cast_slug"] == pytest.approx(28.0)


def test_mass_off_the_makers_scale_stays(bait, measured):
    """The slug was weighed; with the coats in the same reading, the coats alone move."""
    weighed = calibrate(bait(fill=Fill(mass=6.5)), measured, [("drilled", 20.0), ("cleared", 28.0)])
    got = {i.name: i.mass for i in weighed.items}
    assert got["ballast: lead_cast_slug"] == pytest.approx(6.5)
    assert got["clear"] == pytest.approx(1.5)


def test_given_density_yields_to_the_scale(bait, measured):
    weighed = calibrate(bait(Wood(density_g_cm3=0.40)), measured, [("drilled", 0.44e-3 * LEFT)])
    assert weighed.density.g_cm3 == pytest.approx(0.44)


def test_reading_far_off_is_doubted(bait, measured):
    """Twice the weight: outside the tolerance, and ten standard deviations from basswood."""
    weighed = calibrate(bait(), measured, [("drilled", 2 * 0.4144e-3 * LEFT)])
    assert [f.code for f in weighed.findings] == ["reading-far", "board-unusual"]
    assert weighed.findings[0].where == "weighed.drilled"
    assert weighed.findings[0].value == pytest.approx(0.4144e-3 * LEFT)


def test_a_reading_that_makes_the_wood_no_wood_is_refused_with_what_was_written(bait, measured):
    """62 g for 47.4 cm^3 is 1.31 g/cm^3, whatever the recipe said of the board."""
    with pytest.raises(InputError) as caught:
        calibrate(bait(Wood(density_g_cm3=0.4)), measured, [("drilled", 62.1)])
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.line) == ("command line", 0)
    assert (mistake.key, mistake.written) == ("weighed.drilled", "62.1 g")
    assert mistake.problem == "the wood would have 1.31 g/cm^3 then, heavier than any wood (1.3)."


def test_an_impossible_reading_of_the_recipe_is_refused_at_its_line(bait, measured):
    recipe = read_from(replace(bait(), weighed=(("rigged", 700.0),)), Source("bar.toml", "", {"weighed.rigged": 41}))
    with pytest.raises(InputError) as caught:
        calibrate(recipe, measured, [("drilled", 20.0), *recipe.weighed])
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.line, mistake.key) == ("bar.toml", 41, "weighed.rigged")
    assert "g then, where" in mistake.problem


def test_a_block_that_no_wood_weighs_is_refused(bait, measured):
    """200 g in 78.75 cm^3."""
    with pytest.raises(InputError, match="heavier than any wood"):
        calibrate(bait(Wood(blank_mass=200.0, blank_size=(90.0, 25.0, 35.0))), measured, [])


def test_a_blank_reading_far_off_is_told_the_word_for_the_block(bait, measured):
    (far,) = calibrate(bait(), measured, [("blank", 25.0)]).findings
    assert far.remedy == "blank is the shaped body before any hole: the block before it is shaped is squared"


def test_reading_between_which_nothing_goes_on_is_not_booked(bait, measured):
    weighed = calibrate(bait(), measured, [("drilled", 20.0), ("hangers", 20.4)])
    assert [f.code for f in weighed.findings] == ["reading-alone"]
    assert masses(weighed.stages)["drilled"] == pytest.approx(20.0)


def test_reading_below_what_is_on_already_is_refused(bait, measured):
    with pytest.raises(InputError, match=r"weighed.ballast = 19 g: ballast: lead_cast_slug would weigh -1.00 g then"):
        calibrate(bait(), measured, [("drilled", 20.0), ("ballast", 19.0)])


def test_reading_at_no_stage_is_refused(bait, measured):
    with pytest.raises(DesignError, match='"glued": no such stage'):
        calibrate(bait(), measured, [("glued", 19.0)])


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.floats(0.3, 3.0), min_size=4, max_size=4), st.permutations(range(4)))
def test_every_reading_is_met_whatever_order_they_come_in(bait, measured, steps, order):
    """After re-weighing each stage that was read shows the reading, to rounding."""
    names = ["drilled", "ballast", "cleared", "rigged"]
    read = dict(zip(names, np.cumsum([18.0 + steps[0], 5.0 + steps[1], steps[2], steps[3]]), strict=True))
    weighed = calibrate(bait(), measured, [(names[i], read[names[i]]) for i in order])
    after = masses(weighed.stages)
    assert {n: after[n] for n in names} == pytest.approx(read, rel=1e-12)
    assert all(a.mass <= b.mass for a, b in pairwise(weighed.stages[1:]))
