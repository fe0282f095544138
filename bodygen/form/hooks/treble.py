"""A round-bend treble on its rings as a solid turned about its own shank; sizes of the table, or the maker's own.

Knows the rows of ``hardware.toml``. Weighs nothing, and knows neither body nor water.
"""

from dataclasses import dataclass, replace
from math import hypot
from typing import Any

import numpy as np

from bodygen.form.integrals import Array
from bodygen.recipe.model import Fitting, Recipe
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Treble:
    """A treble that hangs ``at`` an eye (3,) [mm], free to turn about its shank and to swing every way.

    ``place`` is its number among the recipe's fittings, from 0. ``chain`` is the inside of all rings between,
    ``ring`` half the outside of the widest; ``length`` from the outside of its eye to the outside of its bend, ``wire``
    its thickness, ``gape`` clear from point to shank [mm]. Places along the shank count from the eye it hangs from.
    """

    name: str
    place: int
    at: tuple[float, float, float]
    chain: float
    ring: float
    length: float
    wire: float
    gape: float

    @property
    def down(self) -> float:
        """From the eye to the outside of the bend, pulled straight [mm]: the hook's own eye lies on the ring."""
        return self.chain + self.length - self.wire

    @property
    def points_down(self) -> float:
        """From the eye to the level of the points [mm]."""
        return self.down - float(_shape()["throat_in_gapes"]) * self.gape - self.wire

    @property
    def points_out(self) -> float:
        """Radius of the circle that the points turn in [mm]."""
        return float(_shape()["bundle_in_wires"]) * self.wire + self.gape

    @property
    def points_reach(self) -> float:
        """From the eye to a point [mm]: radius of the ball that its swings stay in."""
        return hypot(self.points_down, self.points_out)

    @property
    def reach(self) -> float:
        """From the eye to the farthest of the bend [mm]."""
        round_bend = self.gape / 2 + self.wire
        return hypot(self.down - round_bend, self.points_out - self.gape / 2) + round_bend

    def turned(self, along: Array) -> Array:
        """Radius of what it fills as it turns (n,) [mm], at places (n,) along the shank [mm]; 0 beyond its ends.

        Derived here from the round bend of ``hardware.toml``: rings, eye, shank, then the cup of three bends, its
        inside counted as filled.

        Examples
        --------
        >>> hook = Treble("#8", 0, (0.0, 0.0, 0.0), 5.0, 3.0, 16.0, 1.0, 6.0)   # down to 20, points at 12.7
        >>> [round(float(r), 3) for r in hook.turned(np.array([2.0, 10.0, 14.0, 20.0, 21.0]))]
        [2.958, 1.077, 8.077, 4.077, 0.0]
        """
        shape = _shape()
        s = np.asarray(along, dtype=float)
        round_bend = self.gape / 2 + self.wire
        over = np.clip(s - (self.down - round_bend), 0.0, round_bend)
        cup = self.points_out - self.gape / 2 + np.sqrt(round_bend**2 - over**2)
        eye, shank = float(shape["eye_in_wires"]) * self.wire / 2, float(shape["bundle_in_wires"]) * self.wire
        middle = min(self.ring, self.chain / 2)  # of the first and the last ring, from the chain's ends
        rings = _round(self.ring, np.maximum(np.maximum(middle - s, s - (self.chain - middle)), 0.0))
        top = np.maximum(rings, _round(eye, s - (self.chain + eye - self.wire)))  # its inside lies on a ring
        top = np.maximum(top, np.where(s < self.chain, 0.0, shank))
        return np.asarray(np.select([(s < 0) | (s > self.down), s >= self.points_down], [0.0, cup], top))


def trebles_of(recipe: Recipe) -> tuple[Treble, ...]:
    """Every treble whose length somebody knows [mm], a mirror pair as two; places as ``hung`` gives them.

    The maker's own ``length`` and ``gape`` win over the table's, which tells the wire; of no size, it is like the one
    of the table that is most nearly as long. A ring of no size counts as none.
    """
    found = []
    for place, fitting in enumerate(recipe.fittings):
        hook = treble_of(place, recipe) if fitting.kind == "hook" else None
        if hook is None:
            continue
        x, y, z = hook.at
        found += [hook, replace(hook, at=(x, -y, z))] if fitting.mirror else [hook]
    return tuple(found)


def treble_of(place: int, recipe: Recipe, size: str | None = None) -> Treble | None:
    """A hook of the recipe [mm], with ``size`` as one bought in its place; None where nobody knows how long it is."""
    fitting = recipe.fittings[place]
    length, gape = (fitting.length, fitting.gape) if size is None else (None, None)
    row = _like(size or fitting.size, length)
    if row is None:
        return None
    rings = [(one.quantity, _ring(one)) for one in recipe.fittings if _beside(one, fitting)]
    chain = sum(count * float(ring.get("inside_mm", 0.0)) for count, ring in rings)
    wide = max((float(ring.get("outside_mm", 0.0)) / 2 for _, ring in rings), default=0.0)
    length, gape = length or float(row["length_mm"]), gape or float(row["gape_mm"])
    return Treble(fitting.name, place, fitting.at, chain, wide, length, float(row["wire_mm"]), gape)


def _like(size: str | None, length: float | None) -> dict[str, Any] | None:
    """The row of a size; of no size, the one most nearly as long [mm]."""
    rows: list[dict[str, Any]] = _shape()["sizes"]
    row = next((row for row in rows if row["size"] == size), None)
    return row if row is not None or length is None else min(rows, key=lambda row: abs(row["length_mm"] - length))


def smaller(hook: Treble, recipe: Recipe) -> tuple[tuple[str, Treble], ...]:
    """Trebles of the table that could hang in its place and are shorter, the longest first."""
    sizes = [str(row["size"]) for row in _shape()["sizes"] if row["length_mm"] < hook.length]
    bought = ((size, treble_of(hook.place, recipe, size)) for size in reversed(sizes))
    return tuple((size, replace(one, at=hook.at)) for size, one in bought if one is not None)


def _beside(ring: Fitting, hook: Fitting) -> bool:
    """Whether a ring hangs on the same bore's eye as a hook."""
    return ring.kind == "ring" and hook.on is not None and ring.on == hook.on


def _ring(ring: Fitting) -> dict[str, Any]:
    rows: list[dict[str, Any]] = load("hardware")["split_ring"]["sizes"]
    return next((row for row in rows if row["size"] == ring.size), {})


def _round(radius: float, off: Array) -> Array:
    """Half the chord of a circle (n,), so far off its middle (n,) [mm]; 0 beside it."""
    return np.asarray(np.sqrt(np.maximum(radius**2 - off**2, 0.0)))


def _shape() -> dict[str, Any]:
    table: dict[str, Any] = load("hardware")["treble_hook"]
    return table
