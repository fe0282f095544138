"""The nearest that can be had where a goal cannot: trials held to the limits of wood and drill.

Knows trials that fail and why. Knows nothing of those that do not.
"""

from dataclasses import replace
from math import degrees, hypot

import numpy as np

from bodygen.ballast.aim import Aim
from bodygen.ballast.drills import step
from bodygen.ballast.hole import least_depth
from bodygen.ballast.offer import Offer, offer_of
from bodygen.ballast.search import Search, base_for
from bodygen.ballast.trial import Trial
from bodygen.ballast.wood import deepest
from bodygen.findings import Finding
from bodygen.recipe.model import Bore, Goal, Recipe


def nearest(search: Search, tried: list[Trial], aim: Aim) -> tuple[list[Offer], tuple[Finding, ...]]:
    """Of the trials that fail, the two that come nearest when held to their limits; and what stops them."""
    limits: dict[tuple[Bore, Bore], tuple[float, tuple[Finding, ...]]] = {}
    held: list[tuple[float, Trial, tuple[Finding, ...]]] = []
    for trial in tried:
        if trial.kind != "depth" or not np.isfinite(trial.miss):
            continue
        bores, stop = _held(search, trial, limits)
        if bores:
            kept = replace(trial, bores=bores, stop=None)
            held.append((_gap(search, kept, aim), kept, ((trial.stop,) if trial.stop else ()) + stop))
    best = sorted(held, key=lambda one: one[0])[:2]
    if not best:  # not even the shallowest bore anywhere
        return [], tuple(dict.fromkeys(f for _, stops in limits.values() for f in stops))
    stops = tuple(dict.fromkeys(f for _, _, found in best for f in found))
    return [offer_of(search, t, search.ask(t.layout.with_bores(t.bores))) for _, t, _ in best], stops


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
            limits[key] = deepest(recipe, bore, given)
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


def off(offer: Offer, goal: Goal, reserve: float | None) -> tuple[bool, float]:
    """How far an offer is from the goal, in steps of the drill: those within the limits first."""
    lift = 0.0 if reserve is None else (offer.reserve_g - reserve) / offer.within_g
    pitch = 0.0 if goal.pitch is None else (offer.pitch_deg - degrees(goal.pitch)) / offer.within_deg
    line = 0.0
    if goal.waterline is not None:
        line = 1e3 if offer.waterline_mm is None else offer.waterline_mm - goal.waterline.height
    return bool(offer.findings), hypot(lift, pitch, line)
