"""What is hung on and bent, as middle lines with a thickness: hooks, rings, screw eyes, wires; for pictures alone.

A hook hangs straight down, as the bait lies. Sizes are those of the tables; what no table knows is not drawn.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import pi

import numpy as np

from bodygen.form.cuts import Revolved, square_to
from bodygen.form.cuts.hung import eye_stands_out
from bodygen.form.cuts.wired import bent_wires
from bodygen.form.hooks.treble import Treble, trebles_of
from bodygen.form.integrals import Array
from bodygen.recipe.readers.wire import wire_diameter
from bodygen.serve.answer.known import Known
from bodygen.units import INCH

AROUND, BEND = 16, 8
"""Points of a drawn circle, and of a hook's bend."""


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """A wire's middle line (k, 3) and thickness [mm]; ``role`` as the page colours it.

    It is drawn turned by ``turn`` (3, 3), then moved to ``at`` (3,) [mm]; ``own`` is the one that it was made from,
    the same for every place.
    """

    role: str
    line: Array
    thick: float
    closed: bool = False
    turn: Array = field(default_factory=lambda: np.eye(3))
    at: Array = field(default_factory=lambda: np.zeros(3))
    own: "Strand | None" = None

    @property
    def placed(self) -> Array:
        """The middle line where it is drawn (k, 3) [mm]."""
        return self.line @ self.turn + self.at


def strands_of(known: Known) -> list[Strand]:
    """Every hook, ring, screw eye and bent wire of a bait at rest [mm], body axes."""
    down = -np.array(known.flotation.attitude.up)
    first, second = square_to((float(down[0]), float(down[1]), float(down[2])))
    turn = np.array([first, second, down])
    found = [
        replace(own, turn=turn, at=np.array(hook.at), own=own)
        for hook in trebles_of(known.recipe)
        for own in _hook(replace(hook, at=(0.0, 0.0, 0.0), place=0, name=""))
    ]
    for wire in bent_wires(known.recipe, known.shaped.tools, known.shaped.caster):
        fitting = known.recipe.fittings[wire.place]
        thick = wire_diameter(fitting.size or "")
        found.append(Strand("wire", wire.line, thick))
        if fitting.mirror:
            found.append(Strand("wire", wire.line * (1.0, -1.0, 1.0), thick))
    return [*found, *_screw_eyes(known)]


@lru_cache(maxsize=32)
def _hook(hook: Treble) -> tuple[Strand, ...]:
    """Rings, shank and three round bends along z, from the eye that it hangs from."""
    strands = []
    if hook.chain > 0:
        radius = max(hook.ring - hook.wire / 2, hook.chain / 2)
        strands.append(_circle("ring", np.array([0.0, 0.0, hook.chain / 2]), (2, 0), radius, hook.wire))
    round_bend = (hook.gape + hook.wire) / 2
    bend = np.linspace(0.0, pi, BEND)
    top, foot = hook.chain + hook.wire, hook.down - round_bend
    strands.append(_circle("hook", np.array([0.0, 0.0, top + hook.wire]), (2, 1), hook.wire * 1.4, hook.wire))
    along = np.concatenate([[top + 2 * hook.wire], foot + round_bend * np.sin(bend), [hook.points_down]])
    aside = np.concatenate([[0.0], round_bend * (1 - np.cos(bend)), [2 * round_bend]]) + hook.wire / 2
    for angle in (0.0, 2 * pi / 3, 4 * pi / 3):
        line = np.stack([aside * np.cos(angle), aside * np.sin(angle), along], axis=1)
        strands.append(Strand("hook", line, hook.wire))
    return tuple(strands)


def _screw_eyes(known: Known) -> Iterator[Strand]:
    """The ring of every screw eye that is on a bore, outside its mouth."""
    mouths = {known.recipe.bores[t.bore].name: t for t in known.shaped.tools if isinstance(t, Revolved)}
    for fitting in known.recipe.fittings:
        bore = mouths.get(fitting.on or "")
        if fitting.kind == "screw_eye" and bore is not None and fitting.size is not None:
            wire = float(fitting.size.split()[0]) * (1.0 if fitting.size.endswith("mm") else float(INCH))
            radius = (eye_stands_out(fitting.on or "", known.recipe) + wire) / 2
            own = _eye(radius, wire)
            axis = np.array(bore.axis)
            turn = np.array([*square_to(bore.axis), axis])
            yield replace(own, turn=turn, at=np.array(bore.origin) - axis * radius, own=own)


@lru_cache(maxsize=32)
def _eye(radius: float, wire: float) -> Strand:
    return _circle("screw_eye", np.zeros(3), (2, 1), radius, wire)


def _circle(role: str, middle: Array, axes: tuple[int, int], radius: float, thick: float) -> Strand:
    """A circle that two of the axes span."""
    turn = np.linspace(0.0, 2 * pi, AROUND, endpoint=False)
    line = np.tile(middle, (AROUND, 1))
    line[:, axes[0]] += radius * np.cos(turn)
    line[:, axes[1]] += radius * np.sin(turn)
    return Strand(role, line, thick, closed=True)
