"""Baits whose hidden errors are drawn from their own spreads, floated in a tub and read as well as an eye reads."""

import os
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from amount import MORE

from bodygen.assessment import answer_of
from bodygen.ballast.target import water_of
from bodygen.flotation.water import density
from bodygen.pipeline import assess_quickly, solve_ballast
from bodygen.recipe.model import Goal
from bodygen.recipe.read import read_recipe
from bodygen.tables import load
from bodygen.trim.advice import aims, off
from bodygen.trim.bait import Sight, bait_of
from bodygen.trim.candidates import candidates
from bodygen.trim.pairs import Pairs, nets_of
from bodygen.trim.readings import TubReading
from bodygen.weights.spread import uniform

PARAMS = Path(__file__).parents[1] / "params"
simulated = pytest.mark.skipif(
    not (MORE or os.environ.get("BODYGEN_RANDOM_TUBS")), reason="BODYGEN_MORE=1 or BODYGEN_RANDOM_TUBS asks for it"
)
NOSE, LIFT = Sight("nose"), Sight("lift")


@dataclass(frozen=True)
class Tub:
    """A planned bait, its goal's wishes, and all changes that can be tried."""

    name: str
    bait: object
    aimed: tuple
    tried: tuple
    suspends: bool
    finished: object
    goal: Goal


@cache
def tub(stem, state="floats", leans=False):
    """A demo, its goal what its own plan has; or with the ballast that lets it hang or sinks it; or with its lean."""
    return of_recipe(read_recipe(PARAMS / f"{stem}.toml"), state, leans=leans)


def of_recipe(recipe, state="floats", *, leans=False):
    """As ``tub``, of any recipe."""
    if state != "floats":
        wish = Goal(state=state, reserve=-0.8 if state == "sinks" else None, metal="tungsten_putty")
        recipe = solve_ballast(recipe, wish).offers[0].recipe
    answer, suspends = answer_of(assess_quickly(recipe)), state == "suspends"
    flotation = answer.flotation
    pitch = np.radians(flotation.attitude.pitch_deg)
    goal = Goal(state="suspends") if suspends else Goal(state=state, reserve=flotation.reserve_g, pitch=pitch)
    water = density(water_of(goal, recipe.water))
    bait = bait_of(answer, water)
    aimed = aims(goal, 0.0 if suspends else flotation.reserve_g, leans=leans)
    tried = candidates(answer, water, lambda changed: answer_of(assess_quickly(changed)), aside=leans, halves=suspends)
    return Tub(recipe.name, bait, aimed, tried, suspends, answer, goal)


def drawn(bait, chance):
    """A load and a lift, as everything that varies happens to come out."""
    values = np.array([float(one.draw(1, chance)[0]) for one in bait.inputs])
    return bait.loads.T @ values, float(bait.lifts @ values)


def read(tub, more, lift, chance):
    """What is read of it: nose and spare weight, each anywhere within its bounds."""
    table = load("trim")["reading"]
    nose, spare = tub.bait.all_shown((NOSE, LIFT), more, lift)
    near = "spare_suspends_g" if tub.suspends else "spare_g"
    offs = chance.uniform(-1, 1, 2) * (table["nose_deg"], table[near])
    return (
        TubReading("nose", NOSE, nose + offs[0], uniform(-table["nose_deg"], table["nose_deg"]), "deg"),
        TubReading("spare", LIFT, spare + offs[1], uniform(-table[near], table[near]), "g"),
    )


def missed(tub, more, lift):
    """How far the worst wish is off, in its tolerance."""
    return float(off(tub.aimed, tub.bait.all_shown(tuple(one.what for one in tub.aimed), more, lift)).max())


def best_of_all(tub, more, lift):
    """The nearest that any change or pair brings it to the goal: each that straight lines give a chance is floated."""
    what = tuple(one.what for one in tub.aimed)
    here, slopes = tub.bait.all_shown(what, more, lift), np.nan_to_num(tub.bait.slopes(what, more))
    nets = np.concatenate([nets_of(tub.tried), Pairs(tub.bait.answer.recipe, tub.tried).nets])
    lifts = np.array([one.kind == "lift" for one in what])
    guessed = off(tub.aimed, here + nets @ slopes.T + np.where(lifts, -nets[:, :1], 0.0)).max(axis=1)
    likely = np.argsort(guessed, kind="stable")[:24]
    return min(missed(tub, more + nets[n], lift - nets[n, 0]) for n in likely)
