"""What readings tell of a bait: the likeliest way it came out, how sure that is, and readings that cannot be.

Knows a bait's slopes and spreads. Gives no advice.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from bodygen.form.integrals import Array
from bodygen.tables import load
from bodygen.trim.bait import Bait, Sight
from bodygen.trim.readings import TubReading
from bodygen.weights.learned import wood_lot
from bodygen.weights.wood import species_density

TURNS = 3
"""Gauss-Newton steps: the balance bends, and two are usual."""
BEYOND = {1: 9.0, 2: 11.83, 3: 14.16, 4: 16.25, 5: 18.21}
"""Squares that 0.27 % of true readings pass, by how many: of one, three spreads (chi-squared, from memory)."""
WOOD, TOLD_OF_WOOD = "density of the wood", 1 / 3
"""The wood's input, and the share of its deviation that may be left for a tub to speak for it."""
TOLD = 6
"""Explanations that are named."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One thing that came out otherwise: how far, in its unit, and its share of the whole explanation [-]."""

    what: str
    change: float
    unit: str
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Inferred:
    """How a bait came out: ``values`` (n,) of its inputs, their covariance (n, n), the ``load`` (4,) and lift of both.

    ``contradicts`` are the reasons why the readings cannot be; then the rest is worth nothing.
    """

    values: Array
    covariance: Array
    load: Array
    lift: float
    explains: tuple[Explanation, ...]
    contradicts: tuple[str, ...]


def infer(bait: Bait, read: tuple[TubReading, ...]) -> Inferred:
    r"""Weighted least squares of readings and priors, linear about the answer, and again from there.

    .. math:: \min_p \sum_i (p_i - \mu_i)^2 / s_i^2 + \sum_j (y_j - f_j(p))^2 / \sigma_j^2

    References
    ----------
    Best linear unbiased estimate with a prior: JCGM 101 and textbooks of optimal estimation (from memory).
    """
    what = tuple(one.what for one in read)
    value, noise = np.array([one.value for one in read]), np.array([one.sd for one in read])
    prior = np.array([one.mean for one in bait.inputs])
    p, variance = prior.copy(), bait.sds**2
    for _ in range(TURNS):
        slopes = _slopes(bait, what, bait.loads.T @ p)
        gap = value - bait.all_shown(what, bait.loads.T @ p, float(bait.lifts @ p))
        off = np.where(np.isfinite(gap), gap, 0.0) + slopes @ (p - prior)
        between = slopes * variance
        among = between @ slopes.T + np.diag(noise**2)
        p = prior + between.T @ np.linalg.solve(among, off)
    planned = bait.all_shown(what, bait.loads.T @ prior, float(bait.lifts @ prior))
    covariance = np.diag(variance) - between.T @ np.linalg.solve(among, between)
    loads, lift = bait.loads.T @ p, float(bait.lifts @ p)
    return Inferred(
        p, covariance, loads, lift, _explained(bait, p - prior), _contradicts(read, off, among, gap, planned)
    )


@dataclass(frozen=True, slots=True)
class WoodTold:
    """What a tub tells of a lot of wood: its mass over the expected [-], as one reading, and its deviation [-]."""

    lot: str
    ratio: float
    sd: float


def wood_told(bait: Bait, inferred: Inferred) -> WoodTold | None:
    r"""The one reading of the wood that would have told as much as the tub did, apart from what the tables say.

    .. math:: 1/n^2 = 1/v - 1/s^2, \quad m = n^2 (p/v - \mu/s^2)

    Of a normal prior and posterior (as ``infer``), over the species' average. None where the tub contradicts itself, no
    species is named, or more than ``TOLD_OF_WOOD`` of the prior's deviation is left: other parts may have made it.
    """
    names, species = [one.name for one in bait.inputs], bait.answer.recipe.wood.species
    if inferred.contradicts or species is None or WOOD not in names:
        return None
    n = names.index(WOOD)
    prior, v, s2 = bait.inputs[n].mean, float(inferred.covariance[n, n]), float(bait.sds[n] ** 2)
    if not 0 < v <= TOLD_OF_WOOD**2 * s2:
        return None
    noise = 1 / (1 / v - 1 / s2)
    value = noise * (float(inferred.values[n]) / v - prior / s2)
    wood = sum(item.mass for item in bait.answer.items if item.kind == "wood")
    share = sum(effect.mass for effect in bait.inputs[n].effects) / wood
    over = bait.answer.wood.g_cm3 / species_density(bait.answer.recipe.wood)[0]
    return WoodTold(wood_lot(species), over * (1 + value * share), over * float(np.sqrt(noise)) * abs(share))


def _slopes(bait: Bait, what: tuple[Sight, ...], more: Array) -> Array:
    """What a unit of each input does to each reading (k, n)."""
    by_load = np.nan_to_num(bait.slopes(what, more)) @ bait.loads.T
    lifts = np.array([one.kind == "lift" for one in what])
    return np.where(lifts[:, None], bait.lifts, by_load)


def _contradicts(read: tuple[TubReading, ...], off: Array, among: Array, gap: Array, planned: Array) -> tuple[str, ...]:
    """Why readings cannot be: out of a bait's reach one by one, or not together; empty where they can."""
    under = [one.words for one, each in zip(read, gap, strict=True) if not np.isfinite(each)]
    if under:
        return (f"{under[0]}: by the other readings it floats wholly under, and shows no height at all",)
    beyond = float(load("trim")["reading"]["doubted_beyond"])
    alone = off / np.sqrt(np.diag(among))
    far = [
        f"{one.words}: {abs(z):.1f} of its spreads from what wood, coats and metals allow ({plan:+.1f} "
        f"{one.unit} by the recipe); read it again, or look for water in the wood and a part left out"
        for one, z, plan in zip(read, alone, planned, strict=True)
        if abs(z) > beyond
    ]
    if far or len(read) < 2:
        return tuple(far)

    def odd(rows: tuple[int, ...]) -> float:
        some = list(rows)
        return float(off[some] @ np.linalg.solve(among[np.ix_(some, some)], off[some]))

    if odd(tuple(range(len(read)))) <= BEYOND[len(read)]:
        return ()
    a, b = max(combinations(range(len(read)), 2), key=lambda pair: odd(pair) - max(odd(pair[:1]), odd(pair[1:])))
    reason = "do not go together: no spread of wood, coats and metals gives both; read both again"
    return (f"{read[a].words} and {read[b].words} {reason}",)


def _explained(bait: Bait, changes: Array) -> tuple[Explanation, ...]:
    """What carries the change, the largest share of the prior's own first."""
    parts = (changes / np.maximum(bait.sds, 1e-300)) ** 2
    whole = max(float(parts.sum()), 1e-300)
    found = []
    for one, change, part in zip(bait.inputs, changes, parts, strict=True):
        grams = sum(e.mass for e in one.effects)
        by_length = one.name.startswith(("depth of", "width of", "place of", "middle of"))
        told = (float(change), "mm") if by_length else (float(change) * grams, "g")
        found.append(Explanation(one.name, *told, float(part) / whole))
    found.sort(key=lambda one: (-round(one.share, 9), one.what))
    return tuple(found[:TOLD])
