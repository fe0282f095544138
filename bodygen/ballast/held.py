"""A bait held against its own goal: each wish, what came out, and what is near enough.

Knows goals and answers. Judges nothing (``doubts.py``) and searches nothing.
"""

from dataclasses import dataclass
from math import degrees, pi, radians, tan

from bodygen.ballast.aim import asks_for_a_figure, reserve_of, water_of
from bodygen.ballast.answer import Answer
from bodygen.ballast.bore import metal_density
from bodygen.ballast.drills import step
from bodygen.ballast.search import drag_for
from bodygen.flotation.water import density
from bodygen.recipe.model import Goal, Units
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.rooms import metal_row

NEAR_G, NEAR_DEG, NEAR_MM = 0.05, 2.0, 0.1
"""Nearer than this to what was asked for no eye, and no kitchen scale, tells at the water."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One figure that a goal asks for: ``name`` is reserve, pitch or waterline, ``unit`` that of all three figures.

    ``within`` is what is near enough; ``got`` is None where there is no such figure (no water line wholly under).
    """

    name: str
    unit: str
    wanted: float
    got: float | None
    within: float

    @property
    def met(self) -> bool:
        """Whether it is near enough."""
        return self.got is not None and abs(self.got - self.wanted) <= self.within


def held(answer: Answer, goal: Goal) -> tuple[Wish, ...]:
    """Every wish of a goal against a bait as it is, its lift in the goal's own water."""
    at, wishes = answer.flotation.attitude, []
    step_g = _one_step(answer, answer.recipe.units)
    if asks_for_a_figure(goal):
        water = density(water_of(goal, answer.recipe.water))
        drag = drag_for(goal, answer) if goal.sinks_at or goal.rises_at else None
        wanted = reserve_of(goal, drag, water)
        if wanted is not None:
            lift = answer.hull.volume / MM3_PER_CM3 * water - answer.total.mass
            wishes.append(Wish("reserve", "g", wanted, lift, step_g))
    if goal.pitch is not None:
        wishes.append(Wish("pitch", "deg", degrees(goal.pitch), at.pitch_deg, NEAR_DEG))
    if goal.waterline is not None:
        sinks = step_g * 10 / max(at.waterplane_cm2, 1e-6) / answer.flotation.water_g_cm3
        tips = tan(radians(NEAR_DEG)) * abs(goal.waterline.x - answer.sizes[0] / 2)
        line = water_at(goal, at.up, at.water_height)
        wishes.append(Wish("waterline", "mm", goal.waterline.height, line, sinks + tips + NEAR_MM))
    return tuple(wishes)


def water_at(goal: Goal, up: tuple[float, float, float], water_height: float | None) -> float | None:
    """Height of the water in the mid-plane at the goal's station [mm], in body axes; None where there is none."""
    if goal.waterline is None or water_height is None or abs(up[2]) < 1e-6:
        return None
    return (water_height - up[0] * goal.waterline.x) / up[2]


def _one_step(answer: Answer, units: Units) -> float:
    """What a step of depth in every ballast bore is worth [g]; nearer than that no drill comes."""
    worth = NEAR_G
    for bore in answer.recipe.bores:
        if bore.fill is not None:
            more = metal_density(metal_row(bore.fill)) - answer.wood.g_cm3
            worth += pi / 4 * bore.diameter**2 * step(units) * more / MM3_PER_CM3 * (1 + bore.mirror)
    return worth
