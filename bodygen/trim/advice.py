"""Which change to make: each is floated on the bait as it came out, and ranked by chance, ease and grams.

Knows a goal, what was inferred, and candidates. Knows no words of the bench.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import degrees

import numpy as np

from bodygen.form.integrals import Array
from bodygen.recipe.model import Goal
from bodygen.tables import load
from bodygen.trim.bait import Bait, Sight
from bodygen.trim.candidate import SWAP, Candidate
from bodygen.trim.pairs import Pairs, nets_of

SHOWN = 3
FLOATED = 24
"""Candidates that are floated; the straight lines near the bait say which are worth it."""
OF_A_KIND = 4
"""Candidates of each kind that are floated at least."""
ALONE = 0.9
"""A change, or a bait as it is, whose chance is as good needs none but what can be undone beside it."""
AS_GOOD = 0.03
"""Chances nearer than this are alike, so that the easier change is told first."""
SURE = 0.99
"""A bait whose own chance is as good is left as it is."""
BETTER = 0.9
"""Share of the distance to the goal that a change must leave at most, to be worth a hole or a wire."""

WORTH = 0.75
"""Of a bait that most likely meets its goal: share of its chance to miss that a change may leave, to be worth it."""


@dataclass(frozen=True, slots=True)
class Aim:
    """One wish: what is seen, how it should be, and how near is met, all in its unit."""

    what: Sight
    wanted: float
    within: float


@dataclass(frozen=True, slots=True, eq=False)
class Advice:
    """A change with what the tub should then show [deg, deg, g], its chance of meeting the goal [-], whether it does.

    ``distance`` is how far it stays off the goal, in tolerances of the worst wish.
    """

    change: Candidate
    nose_deg: float
    lean_deg: float
    spare_g: float
    chance: float
    distance: float
    met: bool


@dataclass(frozen=True, slots=True, eq=False)
class Now:
    """How the bait came out: nose and lean [deg], spare weight [g], its distance from the goal and its chance."""

    nose_deg: float
    lean_deg: float
    spare_g: float
    distance: float
    chance: float


def aims(goal: Goal, reserve: float | None, *, leans: bool) -> tuple[Aim, ...]:
    """What a goal wishes for, with how near is met (``trim.toml``); level across where a lean was told."""
    table = load("trim")["goal"]
    found = []
    if reserve is not None:
        suspends = goal.state == "suspends" or goal.suspends_at is not None
        found.append(Aim(Sight("lift"), reserve, float(table["suspends_g" if suspends else "reserve_g"])))
    if goal.pitch is not None:
        found.append(Aim(Sight("nose"), degrees(goal.pitch), float(table["pitch_deg"])))
    if goal.waterline is not None:
        line = Sight("waterline", goal.waterline.x)
        found.append(Aim(line, goal.waterline.height, float(table["waterline_mm"])))
    if leans:
        found.append(Aim(Sight("lean"), 0.0, float(table["lean_deg"])))
    return tuple(found)


def off(aimed: tuple[Aim, ...], shown: Array) -> Array:
    """How far each wish is missed, in its own tolerance (..., k); a height of what is wholly under counts as far."""
    wanted, within = (np.array([getattr(one, name) for one in aimed]) for name in ("wanted", "within"))
    return np.asarray(np.where(np.isfinite(shown), np.abs(shown - wanted) / within, 99.0))


def advise(
    bait: Bait,
    values: Array,
    covariance: Array,
    aimed: tuple[Aim, ...],
    changes: tuple[Candidate, ...],
    sound: Callable[[Candidate], bool],
) -> tuple[Now, tuple[Advice, ...]]:
    """The changes that bring a bait nearest to its goal, the first to be made first.

    Derived here: each is floated on the bait as it most likely came out; its chance is the share of draws of what is
    still unknown (normal, straight near there) that meet every wish. Never one that makes the chance or the distance
    worse; of a bait that meets its goal nine times in ten none that cannot be undone.

    Parameters
    ----------
    bait : Bait
        The finished bait, in the goal's water.
    values, covariance : (n,) and (n, n)
        How its inputs came out, and how sure that is.
    aimed : k wishes
    changes : candidates
    sound : callable
        Whether the wood stands a candidate.
    """
    what = (*(one.what for one in aimed), Sight("nose"), Sight("lean"), Sight("lift"))
    base, lift = bait.loads.T @ values, float(bait.lifts @ values)
    here = bait.all_shown(what, base, lift)
    slopes = bait.slopes(what, base)
    lifts = np.array([one.kind == "lift" for one in what])
    by_input = np.where(lifts[:, None], bait.lifts, np.nan_to_num(slopes) @ bait.loads.T)
    k = len(aimed)
    strays = _strays(by_input[:k] @ covariance @ by_input[:k].T)

    def judged(shown: Array) -> tuple[float, float]:
        distance = float(off(aimed, shown[:k]).max())
        return distance, float((off(aimed, shown[:k] + strays).max(axis=1) <= 1).mean())

    distance, chance = judged(here)
    nose, lean, spare = here[k:].tolist()
    now = Now(nose, lean, spare, distance, chance)
    if distance <= 1 and chance >= SURE:
        return now, ()

    def nearest(nets: Array) -> list[int]:
        guessed = here + nets @ np.nan_to_num(slopes).T + np.where(lifts, -nets[:, :1], 0.0)
        return [int(n) for n in np.argsort(off(aimed, guessed[:, :k]).max(axis=1), kind="stable")]

    def floated(some: list[Candidate]) -> list[Advice]:
        found = []
        for one in some:
            shown = bait.all_shown(what, base + one.net, lift - float(one.net[0]))
            far, likely = judged(shown)
            worth = distance > 1 or 1 - likely <= WORTH * (1 - chance)
            if far < BETTER * distance and likely >= chance and worth:
                nose, lean, spare = shown[k:].tolist()
                found.append(Advice(one, nose, lean, spare, likely, far, far <= 1))
        return found

    wanting = distance > 1 or chance < ALONE
    tried = [one for one in changes if wanting or one.ease <= SWAP]
    told = floated(_worth_floating([tried[n] for n in nearest(nets_of(tried))]))
    if wanting and not any(one.met and one.chance >= ALONE for one in told):
        pairs = Pairs(bait.answer.recipe, changes)
        told += floated([pairs[n] for n in nearest(pairs.nets)[:FLOATED]])
    return now, _ranked(told, sound)


def _worth_floating(nearest: list[Candidate]) -> list[Candidate]:
    """The first of all, and the first of each kind: many alike must not crowd out another way."""
    of_a_kind = [[one for one in nearest if one.ease == ease][:OF_A_KIND] for ease in {one.ease for one in nearest}]
    return nearest[:FLOATED] + [one for some in of_a_kind for one in some if one not in nearest[:FLOATED]]


def _strays(covariance: Array) -> Array:
    """How far what is wished for may still be off (draws, k), from the table's own seed."""
    table = load("trim")["goal"]
    chance = np.random.default_rng(int(table["seed"]))
    values, ways = np.linalg.eigh((covariance + covariance.T) / 2)
    drawn = chance.standard_normal((int(table["draws"]), len(values)))
    return np.asarray(drawn * np.sqrt(np.maximum(values, 0.0)) @ ways.T)


def _ranked(found: list[Advice], sound: Callable[[Candidate], bool]) -> tuple[Advice, ...]:
    """Those that meet the goal first; of chances that are alike, the simplest; one of a kind each."""
    told = list[Advice]()
    left = list(found)
    while left and len(told) < SHOWN:
        met = [one for one in left if one.met]
        if met:
            best = max(one.chance for one in met)
            alike = [one for one in met if one.chance >= best - AS_GOOD]
            first = min(alike, key=_simplest)
        else:
            first = min(left, key=lambda one: one.distance)
        left.remove(first)
        if sound(first.change):
            told.append(first)
            left = [one for one in left if one.change.ease != first.change.ease]
    return tuple(told)


def _simplest(one: Advice) -> tuple[int, float, int, float]:
    """What is told first of changes that are as likely to do: easy, near the middle of the goal, few parts, light."""
    return one.change.ease, round(one.distance, 1), one.change.parts, abs(one.change.mass_g)
