"""Where each drill enters the squared blank, and how far it goes in from the face of its guide.

Knows bores, the blank and how long a guide is. Knows nothing of the block that carries the guides (drill_block.py).
"""

from dataclasses import dataclass
from math import cos, radians, tan
from typing import Literal

import numpy as np

from bodygen.findings import Finding
from bodygen.form.blank import Blank
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.integrals import Array
from bodygen.recipe.model import Bore, Recipe
from bodygen.tables import as_row, load

Face = Literal["nose", "tail", "left", "right", "belly", "back"]
FACES: tuple[Face, ...] = ("nose", "tail", "left", "right", "belly", "back")
"""Least and greatest x, y, z, as the blank's corners have them."""
SQUARE_RAD = radians(0.05)
"""A drill that leans less stands square to its face."""


@dataclass(frozen=True, slots=True)
class GuideSize:
    """How a guide is made; lengths mm.

    ``diameters`` long [-] and at least ``least``; ``running`` clearance on the diameter; ``relief`` more on the
    diameter above it; ``collar``: how much wider than the drill the seat of a stop collar is; ``steepest`` lean [rad].
    """

    diameters: float
    least: float
    running: float
    relief: float
    collar: float
    steepest: float


def default_guide() -> GuideSize:
    """The guide of ``tables/jigs.toml``: common practice, no published source."""
    row = load("jigs")["block"]
    return as_row(
        GuideSize,
        row,
        diameters=row["guide_diameters"],
        least=row["least_guide_mm"],
        steepest=radians(row["steepest_lean_deg"]),
    )


@dataclass(frozen=True, slots=True)
class DrillEntry:
    """One drill at the blank: the face it enters, how far that is from the skin along the axis [mm], its lean [rad]."""

    tool: Revolved
    face: Face
    waste: float
    lean: float

    def guide_length(self, size: GuideSize) -> float:
        """From the blank's face, on the axis; a leaning drill is led all round for the length asked [mm]."""
        d = self.tool.diameter
        return max(size.diameters * d, size.least) + d / 2 * tan(self.lean)

    def seat(self, size: GuideSize) -> float:
        """How far a stop collar's seat lies below the guide's outer face, on the axis [mm]."""
        return (self.tool.diameter + size.collar) / 2 * tan(self.lean) if self.lean > SQUARE_RAD else 0.0

    def wall(self, size: GuideSize) -> float:
        """Thickness of wall that the guide needs [mm]."""
        return (self.guide_length(size) + self.seat(size)) * cos(self.lean)

    def top(self, size: GuideSize, wall: float, gap: float = 0.0) -> float:
        """From the skin to where the drill's stop rests, on the axis, in a wall ``gap`` off the blank [mm]."""
        return self.waste + (gap + wall) / cos(self.lean) - self.seat(size)


def entries(
    tools: tuple[Tool, ...], blank: Blank, size: GuideSize
) -> tuple[tuple[DrillEntry, ...], tuple[Finding, ...]]:
    """Where every bore enters the blank, in the order of the tools; drills too slanting for a guide are findings."""
    found, checks = [], []
    for tool in tools:
        if not isinstance(tool, Revolved):
            continue
        face, waste = leaves(np.array(tool.origin), -np.array(tool.axis), blank)
        lean = float(np.arccos(min(1.0, abs(tool.axis[FACES.index(face) // 2]))))
        if lean > size.steepest:
            remedy = f"{tool.name}: slants too much through the {face} face for a guide: set its angle by hand"
            checks.append(
                Finding(
                    "block-no-guide",
                    "warning",
                    f"bore[{tool.bore + 1}].lean",
                    remedy,
                    round(float(np.degrees(lean)), 1),
                    round(float(np.degrees(size.steepest)), 1),
                    "deg",
                )
            )
            continue
        found.append(DrillEntry(tool, face, waste, lean if lean > SQUARE_RAD else 0.0))
    return tuple(found), tuple(checks)


def leaves(start: Array, way: Array, blank: Blank) -> tuple[Face, float]:
    """Through which face, and after how far [mm], a ray from inside the blank leaves it."""
    walls = np.where(way > 0, blank.high, blank.low)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(np.abs(way) > 1e-12, (walls - start) / way, np.inf)
    axis = int(np.argmin(far))
    return FACES[2 * axis + (1 if way[axis] > 0 else 0)], float(far[axis])


def stop_length(bore: Bore, top: float) -> float | None:
    """From the stop's rest to the bore's end, as the recipe measures its depth [mm]; None right through."""
    return None if bore.depth is None else top + bore.depth


def stop_mark(bore: Bore, stop: float | None, units: str) -> str:
    """The stop length as it is engraved, with S or P for shoulder or point where the two differ."""
    if stop is None:
        return "THRU"
    number = f"{stop:.1f}" if units == "mm" else f"{stop / 25.4:.3f}"
    return number + ("" if bore.tip == "flat" else bore.depth_to[0].upper())


def stop_words(recipe: Recipe, entry: DrillEntry, stop: float | None) -> str:
    """One bore of the list that goes with the block."""
    bore = recipe.bores[entry.tool.bore]
    said = f"{entry.tool.name} ({entry.face}): {bit_words(bore, recipe.units)}, {depth_words(bore, recipe.units)}"
    if stop is None or bore.depth is None:
        return said
    return f"{said}, stop {depth_words(bore, recipe.units, 'the top of the bush', stop - bore.depth)}"
