"""The nearest that can be had where a goal cannot: trials held to the limits of wood and drill.

Knows trials that fail and why. Knows nothing of those that do not.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, hypot

import numpy as np

from bodygen import tables
from bodygen.ballast.aim import Aim
from bodygen.ballast.answer import Answer
from bodygen.ballast.drills import step
from bodygen.ballast.held import water_at
from bodygen.ballast.hole import least_depth
from bodygen.ballast.layout import Layout, given_bores, wishes
from bodygen.ballast.offer import Offer, offer_of
from bodygen.ballast.search import Search, base_for
from bodygen.ballast.trial import Trial
from bodygen.ballast.wood import deepest
from bodygen.findings import Finding
from bodygen.recipe.goal import LIFTS
from bodygen.recipe.model import Bore, Goal, Recipe

HELD = 40
"""Trials that are held to their limits."""


def nearest(search: Search, tried: Sequence[Trial], aim: Aim) -> tuple[list[tuple[Trial, Answer]], tuple[Finding, ...]]:
    """Of the trials that fail, the two that come nearest when held to what can be made; and what stops them."""
    limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]] = {}
    held: list[tuple[float, Trial, tuple[Finding, ...]]] = []
    hopeful = sorted((t for t in tried if t.kind == "depth" and np.isfinite(t.miss)), key=lambda t: t.miss)
    for trial in hopeful[:HELD]:
        bores, stop = _held(search, trial, limits)
        if bores:
            kept = replace(trial, bores=bores, stop=None)
            held.append((_gap(search, kept, aim), kept, ((trial.stop,) if trial.stop else ()) + stop))
    best = sorted(held, key=lambda one: one[0])[:2]
    if not best:  # not even the shallowest bore anywhere
        own = [t.stop for t in tried if t.stop is not None][:1]
        return [], tuple(dict.fromkeys([*(f for _, stops in limits.values() for f in stops), *own]))
    stops = tuple(dict.fromkeys(f for _, _, found in best for f in found))
    asked = ((trial, search.ask.or_none(trial.layout.with_bores(trial.bores))) for _, trial, _ in best)
    return [(trial, answer) for trial, answer in asked if answer is not None], stops


def without_one(goal: Goal) -> list[tuple[str, Goal]]:
    """The goal without each of its wishes in turn, where another is left: the wish's key and the rest."""
    lift = next((key for key in LIFTS if getattr(goal, key) is not None), "float" if goal.state == "suspends" else "")
    rests = []
    if goal.pitch is not None:
        rests.append(("pitch", replace(goal, pitch=None)))
    if goal.waterline is not None:
        rests.append(("waterline", replace(goal, waterline=None)))
    if lift:
        free = replace(goal, state=None, reserve=None, suspends_at=None, sinks_at=None, rises_at=None)
        rests.append((lift, free))
    return [(key, rest) for key, rest in rests if wishes(rest)]


def as_it_stands(search: Search) -> Offer | None:
    """The bait with the ballast that it has, as an offer that changes nothing; None without any."""
    given = search.ground.given
    places = given_bores(given.recipe, given.sizes[0])
    if not places:
        return None
    layout = Layout(given.recipe, places)
    offer = offer_of(search, Trial(layout, layout.bores, "as it stands"), given)
    return replace(offer, changes=dict(search.taught))


def off_given(search: Search, reserve: float | None) -> float:
    """How far the bait as it stands is from the goal, with or without ballast; see ``off``."""
    given, goal = search.ground.given.flotation, search.goal
    line = water_at(goal, given.attitude.up, given.attitude.water_height)
    return _off(goal, reserve, given.reserve_g, given.attitude.pitch_deg, line)


def _gap(search: Search, trial: Trial, aim: Aim) -> float:
    """How far a trial is from the aim by the local model [g]: its mass, and its moment over a quarter of the length."""
    mass, moment = (base := base_for(search, trial.layout)).mass, base.moment
    for bore in trial.bores:
        adds = search.ground.adds(bore)
        mass, moment = mass + adds[0], moment + adds[1]
    lift = float(np.abs(aim.mass - mass).min())
    if aim.moment is None or aim.along is None:
        return lift
    at = int(np.argmin(np.abs(aim.mass - mass)))
    turn = float(moment @ aim.along[at]) / mass - float(aim.moment[at]) / float(aim.mass[at])
    return hypot(lift, abs(turn) * mass / (search.ground.given.sizes[0] / 4))


def _held(
    search: Search, trial: Trial, limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]]
) -> tuple[tuple[Bore, ...], tuple[Finding, ...]]:
    """A trial's bores no deeper than the wood allows and no shallower than a bore can be; and what stops them.

    ``limits`` remembers how deep each may go, for the other metals.
    """
    given, recipe = search.ground.given, trial.layout.with_bores(trial.bores)
    bores: list[Bore] = []
    stops: tuple[Finding, ...] = ()
    for bore in trial.bores:
        bare = replace(bore, depth=None, fill=None)
        key = bare, replace(trial.bores[0], depth=None, fill=None)
        if key not in limits:
            limits[key] = deepest(recipe, bore, given, relaxed=True)
        most, stop = limits[key]
        if most <= 0:
            return (), stop
        if (bore.depth or 0.0) > most:
            stops += stop
        bores.append(replace(bore, depth=min(max(bore.depth or 0.0, _shallowest(bore, recipe)), most)))
    return tuple(bores), stops


def _shallowest(bore: Bore, recipe: Recipe) -> float:
    unit = step(recipe.units)
    return float(np.ceil(least_depth(bore) / unit)) * unit


def off(offer: Offer, goal: Goal, reserve: float | None) -> float:
    """How far an offer is from the goal: what counts as one in each wish, together in squares [-]."""
    return _off(goal, reserve, offer.reserve_g, offer.pitch_deg, offer.waterline_mm)


def _off(goal: Goal, reserve: float | None, got_g: float, got_deg: float, got_mm: float | None) -> float:
    alike = tables.load("ballast")["nearest"]
    lift = 0.0 if reserve is None else (got_g - reserve) / float(alike["reserve_g"])
    pitch = 0.0 if goal.pitch is None else (got_deg - degrees(goal.pitch)) / float(alike["pitch_deg"])
    line = 0.0
    if goal.waterline is not None:
        line = 1e3 if got_mm is None else (got_mm - goal.waterline.height) / float(alike["waterline_mm"])
    return hypot(lift, pitch, line)
