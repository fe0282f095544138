"""What measured dives teach: against many invented benches, each with a factor of its own."""

from math import exp, log, sqrt

import numpy as np
import pytest

from bodygen.dive.spread import (
    Conditions,
    DiveReading,
    LipFamily,
    classes_touched,
    depth_range,
    factor_of,
    floor,
    foretold,
    learned_factor,
)

FAMILY = LipFamily("shovel", "nose", 35.0)
NOW = Conditions("tow", 0.3, 20.0, 1.2, 1.0)


def reading(ratio=0.8, bait="1", day="2031-03-09", family=FAMILY, conditions=NOW):
    return DiveReading(bait, day, family, conditions, 2.5 * ratio, 2.5)


def test_five_days_of_readings_narrow_the_range_to_what_was_promised():
    """1/(1/0.30^2 + 5/0.18^2) + 0.18^2 = 0.0384: by hand."""
    days = [reading(day=f"2031-03-{day:02}") for day in range(1, 6)]
    assert learned_factor(days, FAMILY, NOW).ln_sd == pytest.approx(0.196, abs=5e-4)


def test_the_sixth_reading_lies_in_the_range_four_times_in_five():
    """1,000 invented benches: each its own factor of N(0, 0.30), five days and a sixth with N(0, 0.18) each.

    80 +- 4 %: three deviations of a share of 1,000 draws are 3.8 %.
    """
    rng, inside = np.random.default_rng(11), 0
    for _ in range(1000):
        *five, sixth = 3.0 * np.exp(rng.normal(0, 0.30) + rng.normal(0, 0.18, 6))
        days = [
            DiveReading("1", f"2031-03-{day:02}", FAMILY, NOW, depth, 3.0) for day, depth in enumerate(five, start=1)
        ]
        factor = learned_factor(days, FAMILY, NOW)
        told = depth_range(3.0 * exp(factor.ln_mean), factor.ln_sd)
        inside += told.low <= sixth <= told.high
    assert inside == pytest.approx(800, abs=40)


def test_three_readings_of_one_bait_on_one_day_count_as_one():
    thrice = learned_factor([reading(ratio) for ratio in (0.7, 0.8, 0.9)], FAMILY, NOW)
    once = factor_of([(log(0.7) + log(0.8) + log(0.9)) / 3])
    assert (thrice.readings, thrice.ln_mean, thrice.ln_sd) == pytest.approx((1, once.ln_mean, once.ln_sd))
    assert learned_factor([reading(), reading(bait="2"), reading(day="2031-03-10")], FAMILY, NOW).readings == 3


@pytest.mark.parametrize(
    "other",
    [LipFamily("spade", "nose", 35.0), LipFamily("shovel", "lip", 35.0), LipFamily("shovel", "nose", 45.1)],
)
def test_lips_of_another_family_teach_nothing(other):
    assert learned_factor([reading(family=other)], FAMILY, NOW) == factor_of([])


def test_a_lip_ten_degrees_off_is_of_the_family():
    assert learned_factor([reading(family=LipFamily("shovel", "nose", 45.0))], FAMILY, NOW).readings == 1


@pytest.mark.parametrize(
    ("now", "word"),
    [
        (Conditions("tow", 0.3, 13.9, 1.2, 1.0), "line out"),
        (Conditions("tow", 0.3, 26.1, 1.2, 1.0), "line out"),
        (Conditions("tow", 0.4, 20.0, 1.2, 1.0), "line diameter"),
        (Conditions("tow", 0.23, 20.0, 1.2, 1.0), "line diameter"),
        (Conditions("tow", 0.3, 20.0, 0.9, 1.0), "speed"),
        (Conditions("tow", 0.3, 20.0, 1.57, 1.0), "speed"),
    ],
)
def test_far_from_the_readings_the_factor_stays_and_the_range_is_wide_again(now, word):
    factor = learned_factor([reading()] * 4, FAMILY, now)
    assert factor.ln_mean == factor_of([log(0.8)]).ln_mean
    assert factor.ln_sd == 0.35
    assert factor.why_not[0].startswith(word)


def test_readings_carry_to_their_own_edges_and_no_faster_than_was_thought_through():
    assert not learned_factor([reading()], FAMILY, Conditions("tow", 0.39, 26.0, 1.56, 0.0)).why_not
    fast = Conditions("tow", 0.3, 20.0, 1.7, 1.0)
    at_speed = [reading(conditions=Conditions("tow", 0.3, 20.0, 1.5, 1.0))]
    assert "1.6 m/s" in learned_factor(at_speed, FAMILY, fast).why_not[0]


def test_more_days_narrow_the_range_but_never_below_a_reading():
    spreads = list(foretold(factor_of([])).values())
    assert spreads == sorted(spreads, reverse=True)
    assert factor_of([0.0] * 100000).ln_sd == pytest.approx(floor(), rel=1e-4)
    assert factor_of([0.1] * 3).ln_sd == foretold(factor_of([]))[3]
    assert factor_of([]).ln_sd == pytest.approx(sqrt(0.30**2 + 0.18**2), abs=2e-4)


def test_every_class_that_the_range_touches_is_named():
    """In feet: 0-3, 3-8, 8-12, 12 and more; common practice, no published source."""
    assert classes_touched(0.5, 0.9) == ((0.0, 3.0),)
    assert classes_touched(0.8, 4.0) == ((0.0, 3.0), (3.0, 8.0), (8.0, 12.0), (12.0, float("inf")))
