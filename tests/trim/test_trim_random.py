"""Simulated baits with hidden errors of density, coats, ballast, hooks and places, read in a tub and mended once.

BODYGEN_RANDOM_TUBS says how many that start outside their goal; CI takes 300.
"""

import os

import numpy as np
import tubs

from bodygen.trim.advice import advise
from bodygen.trim.infer import infer

COUNT = int(os.environ.get("BODYGEN_RANDOM_TUBS", "2"))
BAITS = (("tarn-perch-70",), ("reedbed-roach-65",), ("fell-reed-110",), ("tarn-perch-70", "suspends"))
TRIES = 400
"""At most for one that starts outside its goal: a bait of few spreads hardly ever does."""


def outside(tub, chance):
    """A bait as it happens to come out, outside its goal."""
    for _ in range(TRIES):
        more, lift = tubs.drawn(tub.bait, chance)
        if (off := tubs.missed(tub, more, lift)) > 1:
            return more, lift, off
    return None


@tubs.simulated
def test_baits_outside_their_goal_are_mended_where_any_change_can_and_none_is_made_worse():
    """Of those that the best of all changes mends at least nine in ten end within 1.5 deg and 0.2 g (0.03 g hanging).

    A handful must not be worse than that by chance: there two failures are allowed for, by numbers.
    """
    chance = np.random.default_rng(20310309)
    made = [tubs.tub(*which) for which in (BAITS if COUNT > 20 else BAITS[1:2])]
    mendable = mended = worse = 0
    for n in range(COUNT):
        tub = made[n % len(made)]
        drawn = outside(tub, chance)
        if drawn is None:
            continue
        more, lift, before = drawn
        inferred = infer(tub.bait, tubs.read(tub, more, lift, chance))
        can = tubs.best_of_all(tub, more, lift) <= 1
        after = before
        if not inferred.contradicts:
            _, advice = advise(tub.bait, inferred.values, inferred.covariance, tub.aimed, tub.tried, lambda _: True)
            if advice:
                net = advice[0].change.net
                after = tubs.missed(tub, more + net, lift - net[0])
        mendable, mended, worse = mendable + can, mended + (can and after <= 1), worse + (after > before + 1e-9)
    assert worse == 0
    assert mended >= (0.9 * mendable if COUNT > 20 else mendable - 2)
