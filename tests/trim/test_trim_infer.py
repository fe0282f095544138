"""What readings tell of a bait, by closed forms where there are any, and what they cannot."""

import numpy as np
import pytest
import tubs
from amount import only_with_more

from bodygen.trim.bait import Sight
from bodygen.trim.infer import infer, wood_told
from bodygen.trim.readings import TubReading

LIFT, NOSE = tubs.LIFT, tubs.NOSE


@pytest.fixture(scope="module")
def tub():
    return tubs.tub("tarn-perch-70")


def seen(tub, what, value, sd):
    return TubReading(what.kind, what, value, sd, "")


def test_one_reading_of_the_lift_shares_the_change_by_variances(tub):
    """By hand: of lift c p with independent p, each takes c s^2 / (sum c^2 s^2 + noise^2) of what is seen."""
    c, s = tub.bait.lifts, tub.bait.sds
    more, noise = 0.4, 0.1
    plan = tub.bait.flotation.reserve_g
    found = infer(tub.bait, (seen(tub, LIFT, plan + more, noise),))
    assert found.values == pytest.approx(c * s**2 / ((c * s) @ (c * s) + noise**2) * more, abs=1e-9)
    assert found.lift == pytest.approx(more * ((c * s) @ (c * s)) / ((c * s) @ (c * s) + noise**2))
    assert sum(one.share for one in found.explains) <= 1 + 1e-9
    assert [one.share for one in found.explains] == sorted((one.share for one in found.explains), reverse=True)


@only_with_more
def test_two_sharp_readings_fix_net_weight_and_the_moment_fore_and_aft(tub):
    """Nose and lift of a bait that came out otherwise are found again, 0.02 deg and 0.002 g, whatever carried them."""
    chance = np.random.default_rng(4)
    for _ in range(3):
        more, lift = tubs.drawn(tub.bait, chance)
        nose, spare = tub.bait.all_shown((NOSE, LIFT), more, lift)
        found = infer(tub.bait, (seen(tub, NOSE, nose, 0.01), seen(tub, LIFT, spare, 0.001)))
        if not found.contradicts:
            again = tub.bait.all_shown((NOSE, LIFT), found.load, found.lift)
            assert again == pytest.approx([nose, spare], abs=0.02)


def test_what_a_tub_tells_of_the_wood_is_one_reading_apart_from_the_tables(tub):
    """Put together again with the prior, by variances, it is the posterior that the tub's readings gave."""
    n = [one.name for one in tub.bait.inputs].index("density of the wood")
    nose, spare = tub.bait.all_shown((NOSE, LIFT), np.zeros(4), 0.0)
    found = infer(tub.bait, (seen(tub, NOSE, nose + 0.5, 0.58), seen(tub, LIFT, spare + 0.4, 0.058)))
    told = wood_told(tub.bait, found)
    (wood,) = (item for item in tub.bait.answer.items if item.kind == "wood")
    grams = sum(effect.mass for effect in tub.bait.inputs[n].effects)
    assert told.lot == "wood: basswood"
    tables, tub_says = tub.bait.sds[n] * grams / wood.mass, told.sd
    both = (told.ratio / tub_says**2 + 1 / tables**2) / (1 / tub_says**2 + 1 / tables**2)
    assert both == pytest.approx(1 + found.values[n] * grams / wood.mass, rel=1e-6)


def test_a_nose_alone_and_a_bait_weighed_sealed_tell_nothing_of_the_wood(tub):
    """Other parts may have made what is seen; of the roach, weighed at sealed, the scale has told already."""
    assert wood_told(tub.bait, infer(tub.bait, (seen(tub, NOSE, 7.0, 0.6),))) is None
    roach = tubs.tub("reedbed-roach-65")
    shown = roach.bait.all_shown((NOSE, LIFT), np.zeros(4), 0.0)
    read = (seen(roach, NOSE, shown[0], 0.58), seen(roach, LIFT, shown[1], 0.058))
    assert wood_told(roach.bait, infer(roach.bait, read)) is None


@only_with_more
def test_boards_off_the_tables_are_read_by_the_tub_as_surely_as_it_says(tub):
    """Sixty baits as they happen to come out: what is told of the wood strays as its deviation, 25 % either way."""
    chance = np.random.default_rng(20310601)
    n = [one.name for one in tub.bait.inputs].index("density of the wood")
    (wood,) = (item for item in tub.bait.answer.items if item.kind == "wood")
    share = sum(effect.mass for effect in tub.bait.inputs[n].effects) / wood.mass
    off = []
    for _ in range(60):
        values = np.array([float(one.draw(1, chance)[0]) for one in tub.bait.inputs])
        more, lift = tub.bait.loads.T @ values, float(tub.bait.lifts @ values)
        found = infer(tub.bait, tubs.read(tub, more, lift, chance))
        told = wood_told(tub.bait, found)
        if told is not None:
            off.append((told.ratio - 1 - values[n] * share) / told.sd)
    assert len(off) > 50
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(1.0, abs=0.25)


def test_a_reading_further_off_than_three_spreads_is_refused_with_its_name(tub):
    found = infer(tub.bait, (seen(tub, NOSE, 40.0, 0.6),))
    (reason,) = found.contradicts
    assert reason.startswith("nose: ")
    assert "of its spreads from what wood, coats and metals allow (+6.1" in reason
    assert not infer(tub.bait, (seen(tub, NOSE, 7.5, 0.6),)).contradicts


def test_readings_that_do_not_go_together_are_refused_by_pairs(tub):
    """The back lies lower as it is heavier: low at the water and light at the scale is not one bait."""
    back = Sight("back", 35.0, float(tub.bait.answer.caster.heights(np.array([35.0]))[1][0]))
    nose, height, spare = tub.bait.all_shown((NOSE, back, LIFT), np.zeros(4), 0.0)
    fits = [seen(tub, NOSE, nose, 0.6), seen(tub, back, height, 0.3), seen(tub, LIFT, spare, 0.06)]
    assert not infer(tub.bait, tuple(fits)).contradicts
    fits[1:] = [seen(tub, back, height - 1.2, 0.1), seen(tub, LIFT, spare + 0.7, 0.06)]
    (reason,) = infer(tub.bait, tuple(fits)).contradicts
    assert reason.startswith("back and lift do not go together")
