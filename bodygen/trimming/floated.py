"""From what was seen in the tub to advice, through the whole flow: trim_bait(recipe, words) -> Trimmed.

Knows the pipeline. What readings tell and which change is best lies in ``trim/``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from bodygen.assessment import answer_of
from bodygen.ballast.answer import Answer
from bodygen.ballast.drag import drag_for
from bodygen.ballast.target import asks_for_a_figure, reserve_of, water_of
from bodygen.ballast.wood import broken
from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.water import density
from bodygen.form.integrals import Array
from bodygen.log.record import WaterTest
from bodygen.pipeline import assess_quickly, hull_of
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Recipe
from bodygen.trim.advice import advise, aims
from bodygen.trim.bait import Bait, bait_of, same_values
from bodygen.trim.candidate import Candidate
from bodygen.trim.candidates import candidates
from bodygen.trim.infer import Inferred, infer, wood_told
from bodygen.trim.outcome import Trimmed
from bodygen.trim.readings import TubReading, readings, told
from bodygen.units import mass_text
from bodygen.weights.item import total


def trim_bait(recipe: Recipe, words: Mapping[str, str | None], weighed: Sequence[tuple[str, float]] = ()) -> Trimmed:
    """What to do to a bait that was floated in a tub.

    Parameters
    ----------
    recipe : Recipe
        As designed, with its ``[goal]``.
    words : Mapping[str, str or None]
        What was seen, ``trim.readings.OPTIONS`` by name, as written.
    weighed : sequence of (str, float)
        Stages and what the scale said [g], besides the recipe's own.

    Returns
    -------
    Trimmed
        What explains the readings, or why they cannot be; how the finished bait is now; advice, the first first.

    Raises
    ------
    InputError
        Words that cannot be read; no goal with a figure.
    DesignError
        As ``assess``.
    """
    goal = recipe.goal
    if goal is None or not asks_for_a_figure(goal):
        accepted = "a table [goal] with reserve, suspends_at, sinks_at, rises_at, pitch or waterline"
        raise InputError([Mistake(*recipe.place("goal"), "goal", "", "nothing is asked for.", accepted)])
    said = told(recipe, words)
    finished = answer_of(assess_quickly(recipe, weighed))
    tub_water = (
        recipe.water if said.water is None else replace(recipe.water, temperature=said.water, density_g_cm3=None)
    )
    tub, lake = density(tub_water), density(water_of(goal, recipe.water))
    floated = finished if said.stage == STAGES[-1] else _at_stage(recipe, weighed, said.stage)
    bait = bait_of(floated, tub)
    read = readings(said, floated, tub)
    _can_be_carried(words.get("spare"), read, floated, tub)
    inferred = infer(bait, read)
    reserve = reserve_of(goal, drag_for(goal, finished), lake)
    aimed = aims(goal, reserve, leans=said.lean is not None)
    if inferred.contradicts:
        return Trimmed(recipe, said, read, inferred, aimed, None, (), tub_water.temperature)
    whole = bait_of(finished, lake)
    values, covariance = _carried(inferred, bait, whole)
    halves = goal.state == "suspends" or goal.suspends_at is not None
    tried = candidates(finished, lake, _ask, aside=said.lean is not None, halves=halves)
    now, advice = advise(whole, values, covariance, aimed, tried, lambda one: _sound(one, finished))
    wood = wood_told(bait, inferred)
    return Trimmed(recipe, said, read, inferred, aimed, now, advice, tub_water.temperature, wood)


def _ask(recipe: Recipe) -> Answer:
    return answer_of(assess_quickly(recipe))


def _can_be_carried(spare: str | None, read: Sequence[TubReading], floated: Answer, water_g_cm3: float) -> None:
    """Refuse a spare weight that would need a bait of no weight at all."""
    pushed = floated.flotation.displaced_cm3 * water_g_cm3
    if spare is not None and any(one.what.kind == "lift" and one.value >= pushed for one in read):
        text = mass_text(pushed, floated.recipe.units)
        problem = f"wholly under it pushes {text} of water aside, so it carries less than that."
        raise InputError([Mistake("command line", 0, "--spare", f'"{spare}"', problem, f"less than {text}")])


def _at_stage(recipe: Recipe, weighed: Sequence[tuple[str, float]], stage: str) -> Answer:
    """The bait as it lies on the bench at a stage: what goes on later is not there, and its holes are full of water."""
    a = assess_quickly(recipe, weighed)
    items = tuple(item for item in a.weighed.items if STAGES.index(item.stage) <= STAGES.index(stage))
    there = any(item.kind == "plate" for item in items)
    shaped = a.shaped if there else replace(a.shaped, set_plate=None)
    hull, whole = hull_of(a.recipe, shaped, a.measured, items), total(items)
    flotation = find_attitudes(hull, whole.mass, whole.centre_of_mass, a.flotation.water_g_cm3, others=False)
    return replace(answer_of(a), items=items, total=whole, hull=hull, flotation=flotation)


def _carried(inferred: Inferred, seen: Bait, whole: Bait) -> tuple[Array, Array]:
    """What was inferred at a stage, for all inputs of the finished bait; what goes on later is as planned."""
    if seen.answer is whole.answer:
        return inferred.values, inferred.covariance
    values = same_values(inferred.values, seen, whole)
    names = {one.name: n for n, one in enumerate(seen.inputs)}
    covariance = np.diag(whole.sds**2)
    rows = [(n, names[one.name]) for n, one in enumerate(whole.inputs) if one.name in names]
    for n, i in rows:
        for m, j in rows:
            covariance[n, m] = inferred.covariance[i, j]
    return values, covariance


def _sound(one: Candidate, given: Answer) -> bool:
    """Whether the wood stands a trim bore; other changes leave it as it is."""
    if one.bore is None:
        return True
    recipe = replace(given.recipe, bores=(*given.recipe.bores, one.bore))
    try:
        return not broken(_ask(recipe).findings, recipe, given, (one.bore,))
    except BodygenError:
        return False


def water_test(found: Trimmed, day: str) -> WaterTest:
    """What was seen as the bench log writes it down: how it lay, and its lift [g]."""
    lift = next((one.value for one in found.read if one.what.kind == "lift"), None)
    shown = found.inferred.lift if lift is None else lift
    test = WaterTest(day, "floats" if shown >= 0 else "sinks", found.water_c, found.said.nose, lift)
    wood = found.wood
    return test if wood is None else replace(test, wood_lot=wood.lot, wood_ratio=wood.ratio, wood_sd=wood.sd)
