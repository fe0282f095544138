"""How sure the numbers are: percentiles of weight, reserve and pitch, by input, and what each weigh-in takes away.

Knows inputs and a floated bait. Mass and lift are straight in every input, so a draw is a sum and the shares of the
variance are exact: first-order Sobol' indices of a linear model with independent inputs are c_j^2 Var_j / sum, with no
interaction left over. Pitch is that of each draw in its own state (``tilt.py``); its shares are straight in the moments
by the longitudinal metacentric height, or by the line between the centres for a plan that is wholly under.

References
----------
A. Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, section 1.2: linear models (from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import sqrt

import numpy as np

from bodygen import tables
from bodygen.ballast.answer import Answer
from bodygen.ballast.sureness.inputs import Effect, Input, inputs_of, taken_as_exact
from bodygen.ballast.sureness.tilt import changed_centres, pitch_under, pitches
from bodygen.flotation.hull import HullPart
from bodygen.flotation.immersion import Immersion, immerse
from bodygen.form.integrals import Array
from bodygen.form.triples import area_rows, corner_rows
from bodygen.recipe.keys import BARE, STAGES
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.spread import scale_reading

PERCENTILES = (10, 50, 90)


@dataclass(frozen=True, slots=True)
class Percentiles:
    """Tenth, fiftieth and ninetieth percentile, in the unit of what they are of."""

    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class Share:
    """What an input is to the variance of total, reserve and pitch [-]; each adds up to 1 over the inputs."""

    name: str
    total: float
    reserve: float
    pitch: float


@dataclass(frozen=True, slots=True)
class WeighIn:
    """A reading at ``stage``: standard deviation of the reserve [g] once this one is known, and once all up to it are.

    ``removes`` is the share of the reserve's variance that this reading alone takes away [-]. ``where`` the ballast is
    still to be trimmed.
    """

    stage: str
    sd_after_g: float
    sd_after_all_g: float
    removes: float


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """Percentiles of ``draws`` seeded draws, shares (largest share of the reserve first), weigh-ins in shop order.

    ``exact`` names parts of some weight whose spread nobody knows; they count as exact here. ``reserves`` (draws,) are
    the drawn reserves themselves [g].
    """

    draws: int
    seed: int
    total_g: Percentiles
    reserve_g: Percentiles
    pitch_deg: Percentiles
    reserve_sd_g: float
    pitch_sd_deg: float
    shares: tuple[Share, ...]
    weigh_ins: tuple[WeighIn, ...]
    exact: tuple[str, ...]
    reserves: Array


@dataclass(frozen=True, slots=True, eq=False)
class Rates:
    """Per unit of each of n inputs: mass [g], reserve [g] and pitch [deg], all (n,)."""

    mass: Array
    reserve: Array
    pitch: Array


def spread_of(
    answer: Answer, draws: int | None = None, seed: int | None = None, *, pause: Callable[[], None] = lambda: None
) -> Spread:
    """Draw the bait many times over [g, deg].

    Parameters
    ----------
    answer : Answer
        The bait as planned, or as weighed so far.
    draws, seed : int
        How many and from which seed; the table's where None. The same seed gives the same figures.
    pause : callable
        Called before every piece of the work; what it raises ends it.

    References
    ----------
    JCGM 101:2008, propagation of distributions by a Monte Carlo method (from memory); shares of the variance by the
    rates, as in JCGM 100:2008, 5.1.2 (from memory).
    """
    rule = tables.load("ballast")["spread"]
    count, start = int(draws or rule["draws"]), int(rule["seed"] if seed is None else seed)
    inputs = inputs_of(answer)
    rates = rates_of(answer, inputs)
    values = _drawn(inputs, rates, count, start)
    flotation = answer.flotation
    pitch = pitches(answer, inputs, values, rates.pitch, pause)
    sds = np.array([one.sd for one in inputs])
    parts = [(rate * sds) ** 2 for rate in (rates.mass, rates.reserve, rates.pitch)]
    sums = [max(float(part.sum()), 1e-300) for part in parts]
    shares = [
        Share(one.name, *(float(part[i]) / total for part, total in zip(parts, sums, strict=True)))
        for i, one in enumerate(inputs)
    ]
    reserves = flotation.reserve_g + rates.reserve @ values
    return Spread(
        count,
        start,
        _percentiles(answer.total.mass + rates.mass @ values),
        _percentiles(reserves),
        _percentiles(pitch),
        sqrt(float(parts[1].sum())),
        sqrt(float(parts[2].sum())),
        # of two that move the reserve alike (or not at all) the other figures decide, not their order in the recipe
        tuple(sorted(shares, key=largest_first)),
        _weigh_ins(answer, inputs, rates, sds),
        taken_as_exact(answer),
        reserves,
    )


def largest_first(share: Share) -> tuple[float, float, float]:
    """By reserve, then pitch, then total; a billionth of the variance is rounding, and must not change places."""
    return -round(share.reserve, 9), -round(share.pitch, 9), -round(share.total, 9)


def _drawn(inputs: tuple[Input, ...], rates: Rates, count: int, seed: int) -> Array:
    """Values (n, count) of the inputs, drawn in the order of their own figures, whatever the order of the recipe."""
    chance, values = np.random.default_rng(seed), np.zeros((len(inputs), count))
    figures = np.array([(one.low, one.likely, one.high) for one in inputs]).reshape(len(inputs), 3)
    keys = np.column_stack([figures, rates.mass, rates.reserve, rates.pitch])
    # nine digits: what is the same but for the order of a sum must not change places
    told = [[inputs[i].form, *(float(f"{key:.8e}") for key in row)] for i, row in enumerate(keys.tolist())]
    for i in sorted(range(len(inputs)), key=told.__getitem__):
        values[i] = inputs[i].draw(count, chance)
    return values


def rates_of(answer: Answer, inputs: tuple[Input, ...]) -> Rates:
    """What a unit of each input does to the finished bait [g, deg], by first moments and the metacentric height.

    Elementary hydrostatics: a moment over weight times metacentric height is a small angle.
    """
    water, at = answer.flotation.water_g_cm3, answer.flotation.attitude
    mass = np.array([sum(e.mass for e in one.effects) for one in inputs])
    lift = np.array([sum(e.volume for e in one.effects) for one in inputs]) * water / MM3_PER_CM3
    if at.water_height is None:
        bare = pitch_under(*changed_centres(answer, inputs, np.zeros((len(inputs), 1))))[0]
        step = np.diag([one.sd for one in inputs]) * 0.01
        moved = pitch_under(*changed_centres(answer, inputs, step))
        pitch = (moved - bare) / np.maximum(np.diag(step), 1e-300)
    else:
        hull, up = answer.hull, np.array([at.up])
        cut = immerse(hull, up, np.array([at.water_height]))
        skin = wetted_skin(hull.parts[0], cut)
        pitch = np.array([sum(_turning(answer, cut, skin, e) for e in one.effects) for one in inputs])
    return Rates(mass, lift - mass, np.asarray(pitch))


def _turning(answer: Answer, cut: Immersion, skin: tuple[float, Array], effect: Effect) -> float:
    """Pitch [deg] by an effect afloat: a load away from the centre of flotation turns the bait by moment over W GML."""
    at, hull, way = answer.flotation.attitude, answer.hull, cut.along[0]
    pivot = float(hull.origin @ way) + float(cut.area_firsts[0, 0] / max(float(cut.area[0]), 1e-9))
    moment = effect.mass * (float(effect.at @ way) - pivot)
    if effect.volume:
        if effect.film:
            wet, place = skin
        else:
            wet, place = float(float(effect.at @ cut.up[0]) < float(at.water_height or 0.0)), effect.at
        lift = wet * effect.volume * answer.flotation.water_g_cm3 / MM3_PER_CM3
        moment -= lift * (float(place @ way) - pivot)
    return float(np.degrees(moment / (answer.total.mass * at.gml_mm)))


def wetted_skin(skin: HullPart, cut: Immersion) -> tuple[float, Array]:
    """Share of the skin's area that is under water [-] and its centre (3,) [mm]; a facet goes by its middle."""
    area, middle = skin.kept.of("facets", partial(_facets, skin))
    under = np.where(middle @ cut.up[0] < cut.height[0], area, 0.0)
    wet = float(under.sum())
    return wet / float(area.sum()), np.asarray(under @ middle / max(wet, 1e-9))


def _facets(skin: HullPart) -> tuple[Array, Array]:
    """Twice the area (m,) [mm^2] and the middle (m, 3) [mm] of each facet."""
    corners = corner_rows(skin.vertices, skin.faces)
    areas = area_rows(corners)
    return np.sqrt((areas * areas).sum(axis=0)), corners.sum(axis=1).T / 3


def _weigh_ins(answer: Answer, inputs: tuple[Input, ...], rates: Rates, sds: Array) -> tuple[WeighIn, ...]:
    """What is left of the reserve's variance when readings are known: the best linear estimate from them."""
    variance = sds**2
    reserve = float((rates.reserve**2 * variance).sum())
    stages = [stage.name for stage in answer.stages if stage.name not in BARE]
    seen = np.array([
        [sum(e.mass for e in one.effects if STAGES.index(e.stage) <= STAGES.index(stage)) for one in inputs]
        for stage in stages
    ]).reshape(len(stages), len(inputs))
    noise = scale_reading() ** 2
    between = seen * variance @ rates.reserve
    among = seen * variance @ seen.T + noise * np.eye(len(stages))
    out = []
    for i, stage in enumerate(stages):
        alone = between[i] ** 2 / among[i, i]
        together = between[: i + 1] @ np.linalg.solve(among[: i + 1, : i + 1], between[: i + 1])
        left, left_all = (sqrt(max(reserve - float(known), 0.0)) for known in (alone, together))
        out.append(WeighIn(stage, left, left_all, float(alone) / max(reserve, 1e-300)))
    return tuple(out)


def _percentiles(values: Array) -> Percentiles:
    """Between two draws in proportion, as numpy has them; its own way to it takes ten times as long."""
    places = np.array(PERCENTILES) / 100 * (len(values) - 1)
    low, middle, high = np.interp(places, np.arange(len(values)), np.sort(values)).tolist()
    return Percentiles(low, middle, high)
