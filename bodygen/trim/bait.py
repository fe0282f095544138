"""A bait in the tub: what each thing that may have come out otherwise does to it, and what one then sees.

Knows the inputs of ``ballast/sureness`` and how loads turn a bait. Knows no readings and gives no advice.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from bodygen.ballast.answer import Answer
from bodygen.ballast.sureness.inputs import Effect, Input, inputs_of
from bodygen.ballast.sureness.spread import wetted_skin
from bodygen.flotation.equilibrium import Flotation, find_attitudes
from bodygen.flotation.immersion import immerse
from bodygen.flotation.refit import lies_with, load
from bodygen.form.integrals import Array
from bodygen.tables import load as load_table
from bodygen.weights.item import MM3_PER_CM3, Item

Kind = Literal["nose", "lean", "back", "lift", "waterline"]
STEP_G, STEP_MM = 0.02, 0.05
"""Of a central difference: a load [g], and how far all of the mass moves [mm]."""


@dataclass(frozen=True, slots=True)
class Sight:
    """What can be seen of a bait: its ``kind``, and for a height the place along the body and, of the back, its own z.

    nose and lean [deg], height of the back above the water and of the water over the axis [mm], lift [g].
    """

    kind: Kind
    x: float = 0.0
    z: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Bait:
    """A bait as planned in one water, with everything that may have come out otherwise.

    ``loads`` (n, 4) [g, g mm] and ``lifts`` (n,) [g] are what a unit of each of n inputs does to how it lies, and to
    its lift wholly under; ``sds`` (n,) its standard deviation.
    """

    answer: Answer
    flotation: Flotation
    inputs: tuple[Input, ...]
    loads: Array
    lifts: Array
    sds: Array

    def lies(self, more: Array) -> Flotation:
        """How it lies with another load (4,) [g, g mm]."""
        total = self.answer.total
        return lies_with(self.answer.hull, total.mass, total.centre_of_mass, self.flotation, more)

    def shows(self, seen: Sight, flotation: Flotation, lift: float) -> float:
        """What is seen of it as it lies, with this lift wholly under [g]; nan of a height where it is wholly under."""
        at = flotation.attitude
        x, _, z = at.up
        match seen.kind:
            case "nose":
                return at.pitch_deg
            case "lean":
                return at.roll_deg or 0.0
            case "lift":
                return lift
            case "back":
                return np.nan if at.water_height is None else x * seen.x + z * seen.z - at.water_height
            case "waterline":
                return np.nan if at.water_height is None else (at.water_height - x * seen.x) / z

    def all_shown(self, what: tuple[Sight, ...], more: Array, lift: float) -> Array:
        """Everything that is asked for (k,) with a load (4,) and a change of the lift [g]."""
        flotation = self.lies(more)
        return np.array([self.shows(one, flotation, self.flotation.reserve_g + lift) for one in what])

    def slopes(self, what: tuple[Sight, ...], more: Array) -> Array:
        """What a gram and a gram millimetre each way (k, 4) do to what is seen, by central differences; not to lift."""
        mass = self.answer.total.mass
        steps = np.array([STEP_G, *(3 * [STEP_MM * mass])])
        columns = []
        for row, step in zip(np.eye(4), steps, strict=True):
            if row[0]:  # where it is, so that it sinks and does not turn
                row = row + np.array([0.0, *self.answer.total.centre_of_mass])  # noqa: PLW2901  a column of its own
            up, down = (self.all_shown(what, more + way * step * row, 0.0) for way in (1.0, -1.0))
            columns.append((up - down) / (2 * step))
        sinks, along = columns[0], np.array(columns[1:])
        return np.column_stack([sinks - self.answer.total.centre_of_mass @ along, *along])


def bait_of(answer: Answer, water_g_cm3: float) -> Bait:
    """The bait of an answer in this water [g/cm^3], and all that may have come out otherwise."""
    flotation = answer.flotation
    if abs(water_g_cm3 - flotation.water_g_cm3) > 1e-9:
        total = answer.total
        flotation = find_attitudes(answer.hull, total.mass, total.centre_of_mass, water_g_cm3, others=False)
    inputs = (*inputs_of(answer), *_places(answer))
    wet = _wet(answer, flotation)
    loads = np.array([sum((_load(e, water_g_cm3, wet) for e in one.effects), np.zeros(4)) for one in inputs])
    lifts = np.array([sum(water_g_cm3 * e.volume / MM3_PER_CM3 - e.mass for e in one.effects) for one in inputs])
    return Bait(answer, flotation, inputs, loads, lifts, np.array([one.sd for one in inputs]))


def _wet(answer: Answer, flotation: Flotation) -> tuple[float, Array] | None:
    """Share of the skin under water and its middle; None where all of it is."""
    at = flotation.attitude
    if at.water_height is None:
        return None
    cut = immerse(answer.hull, np.array([at.up]), np.array([at.water_height]))
    return wetted_skin(answer.hull.parts[0], cut)


def _load(effect: Effect, water: float, wet: tuple[float, Array] | None) -> Array:
    """An effect as a load [g, g mm], net of the water it pushes aside; of a film, where the skin is wet."""
    lift = water * effect.volume / MM3_PER_CM3
    share, place = wet if effect.film and wet is not None else (1.0, effect.at)
    return load(effect.mass, effect.at) - load(share * lift, place)


def _places(answer: Answer) -> list[Input]:
    """How far metal, wood and what hangs come out beside their places [mm]: moments without a mass."""
    table = load_table("trim")["place"]
    found = []
    for item in answer.items:
        if item.kind == "metal":
            found.append(_moved(item, f"place of {item.name} along", (1.0, 0.0, 0.0), table["bore_along_mm"]))
            found.append(_moved(item, f"place of {item.name} across", (0.0, 1.0, 0.0), table["bore_across_mm"]))
        elif item.hangs:
            found.append(_moved(item, f"place of {item.name}", (1.0, 0.0, 0.0), table["hanging_along_mm"]))
        elif item.kind == "wood":
            found.append(_moved(item, "middle of the wood across", (0.0, 1.0, 0.0), table["body_across_mm"]))
    return found


def _moved(item: Item, name: str, way: tuple[float, float, float], sd: float) -> Input:
    there = Effect(item.stage, item.mass, item.at + np.array(way))
    return Input(name, "normal", -float(sd), 0.0, float(sd), (there, Effect(item.stage, -item.mass, item.at)))


def same_values(values: Array, of: Bait, to: Bait) -> Array:
    """Values of one bait's inputs at those of another that have the same names, 0 at the others."""
    known = {one.name: value for one, value in zip(of.inputs, values, strict=True)}
    return np.array([known.get(one.name, 0.0) for one in to.inputs])
