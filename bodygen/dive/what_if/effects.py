"""What a maker can change, and what it does: each alone, by central differences through the whole estimate.

The lip's own changes go through the recipe, so that mass and balance move with it; tie, ballast and the model's own
factors are changed in what the model is given; the line in the conditions. Knows no words but the names of changes.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import degrees, log, radians
from typing import Any

from bodygen.dive.attitude import Running, running
from bodygen.dive.estimate import Estimate, fished, modelled
from bodygen.dive.inputs import DiveInputs
from bodygen.dive.spread import Conditions
from bodygen.dive.what_if.lip import sized
from bodygen.recipe.model import Recipe
from bodygen.tables import load

PER_MM, PER_5_DEG = 1.0, 5.0


@dataclass(frozen=True, slots=True)
class DiveEffect:
    """What one change does, as long as it is small; None where the model has no ground beside it.

    ``what`` names the change and how much of it; pitch and line angle [deg], pull and depth [%].
    """

    what: str
    pitch_deg: float | None
    line_angle_deg: float | None
    pull_percent: float | None
    depth_percent: float | None


def effects(e: Estimate, recipe: Recipe, again: Callable[[Recipe], Estimate]) -> tuple[DiveEffect, ...]:
    """Every change, the lip's first.

    Parameters
    ----------
    e : Estimate
        Of ``recipe``, with a depth.
    recipe : Recipe
        Lengths [mm], angles [rad].
    again : callable
        The estimate of a changed recipe, under the same conditions.

    Returns
    -------
    tuple of DiveEffect
        Per 1 mm, 5 deg, 1 g, a tenth of a factor and of a condition.

    Notes
    -----
    Central differences, elementary; steps in ``fishing.toml``.
    """
    inputs, now, conditions = e.runs.inputs, e.runs.running, e.asked.conditions
    if inputs is None or now is None or conditions is None or e.modelled_m is None:
        return ()
    found = []
    for what, per, step, change in _of_lip(recipe):
        low, high = (again(change(way * step)) for way in (-1, 1))
        pair = [(one.runs.running, one.modelled_m) for one in (low, high)]
        found.append(_effect(what, per / (2 * step), *pair[0], *pair[1]))
    for what, per, step, moved in _of_inputs():
        found.append(_by_inputs(e, conditions, what, per / (2 * step), [moved(inputs, way * step) for way in (-1, 1)]))
    share = load("fishing")["steps"]["share"]
    for what, name in (("line a tenth thicker", "line_diameter_mm"), ("a tenth more line out", "line_out_m")):
        value = getattr(conditions, name)
        depths = [fished(e, replace(conditions, **{name: value * (1 + way * share)})).depth for way in (-1, 1)]
        found.append(_effect(what, 0.1 / (2 * share), now, depths[0], now, depths[1]))
    return tuple(found)


def _of_lip(recipe: Recipe) -> Iterator[tuple[str, float, float, Callable[[float], Recipe]]]:
    """Changes through the recipe: words, per how much, the step, how."""
    steps = load("fishing")["steps"]
    if recipe.lip is None:
        return
    lip = recipe.lip

    def changed(**values: float) -> Recipe:
        return replace(recipe, lip=sized(lip, **values))

    yield "lip 1 mm longer", PER_MM, steps["length_mm"], lambda by: changed(length=lip.length + by)
    yield "lip 1 mm wider", PER_MM, steps["length_mm"], lambda by: changed(width=lip.width + by)
    yield "lip angle +5 deg (steeper)", PER_5_DEG, steps["angle_deg"], lambda by: changed(angle=lip.angle + radians(by))


def _of_inputs() -> Iterator[tuple[str, float, float, Callable[[DiveInputs, float], DiveInputs]]]:
    steps = load("fishing")["steps"]
    length, mass, factor = steps["length_mm"], steps["mass_g"], steps["factor"]

    def shifted(name: str, x: float, z: float) -> Callable[[DiveInputs, float], DiveInputs]:
        def change(inputs: DiveInputs, by: float) -> DiveInputs:
            at = getattr(inputs, name)
            moved: dict[str, Any] = {name: (at[0] + x * by, at[1] + z * by)}
            return replace(inputs, **moved)

        return change

    def more(name: str) -> Callable[[DiveInputs, float], DiveInputs]:
        def change(inputs: DiveInputs, by: float) -> DiveInputs:
            moved: dict[str, Any] = {name: getattr(inputs, name) + by}
            return replace(inputs, **moved)

        return change

    yield "line tie 1 mm aft", PER_MM, length, shifted("tie_mm", 1.0, 0.0)
    yield "line tie 1 mm up", PER_MM, length, shifted("tie_mm", 0.0, 1.0)
    yield "weight 1 mm farther aft", PER_MM, length, shifted("centre_of_mass_mm", 1.0, 0.0)
    yield "weight 1 mm lower", PER_MM, length, shifted("centre_of_mass_mm", 0.0, -1.0)
    yield "1 g more where the weight lies", 1.0, mass, more("mass_g")
    yield "the model's lip share +0.1", 0.1, factor, more("eta_lip")
    yield "the model's turning factor +0.1", 0.1, factor, more("munk_factor")
    yield "the model's cross-flow drag +0.1", 0.1, factor, more("c_cross")


def _by_inputs(e: Estimate, conditions: Conditions, what: str, per_step: float, pair: list[DiveInputs]) -> DiveEffect:
    pitch = e.runs.running.pitch if e.runs.running else 0.0
    ran = [running(inputs, conditions.speed_m_s, pitch) for inputs in pair]
    depths = [
        None if one is None or one.down_force <= 0 else modelled(one, conditions, inputs.water_kg_m3).depth
        for one, inputs in zip(ran, pair, strict=True)
    ]
    return _effect(what, per_step, ran[0], depths[0], ran[1], depths[1])


def _effect(
    what: str, per: float, low: Running | None, low_m: float | None, high: Running | None, high_m: float | None
) -> DiveEffect:
    """Slopes between two estimates."""
    deep = None if not low_m or not high_m else 100 * log(high_m / low_m) * per
    if low is None or high is None:
        return DiveEffect(what, None, None, None, deep)
    pitch, line = (degrees(b - a) * per for a, b in ((low.pitch, high.pitch), (low.line_angle, high.line_angle)))
    return DiveEffect(what, pitch, line, 100 * log(high.pull / low.pull) * per, deep)
