"""What is hung on and bent, as middle lines with a thickness: hooks, rings, screw eyes, wires; for pictures alone.

A hook hangs straight down, as the bait lies. Sizes are those of the tables; what no table knows is not drawn.
"""

from dataclasses import dataclass
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

AROUND, BEND = 20, 9
"""Points of a drawn circle, and of a hook's bend."""


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """A wire's middle line (k, 3) and thickness [mm]; ``role`` as the page colours it."""

    role: str
    line: Array
    thick: float
    closed: bool = False


def strands_of(known: Known) -> list[Strand]:
    """Every hook, ring, screw eye and bent wire of a bait at rest [mm], body axes."""
    down = -np.array(known.flotation.attitude.up)
    found = [strand for hook in trebles_of(known.recipe) for strand in _hook(hook, down)]
    for wire in bent_wires(known.recipe, known.shaped.tools, known.shaped.caster):
        fitting = known.recipe.fittings[wire.place]
        thick = wire_diameter(fitting.size or "")
        found.append(Strand("wire", wire.line, thick))
        if fitting.mirror:
            found.append(Strand("wire", wire.line * (1.0, -1.0, 1.0), thick))
    return found + _screw_eyes(known)


def _hook(hook: Treble, down: Array) -> list[Strand]:
    """Rings, shank and three round bends below the eye that it hangs from."""
    first, second = (np.array(v) for v in square_to((float(down[0]), float(down[1]), float(down[2]))))
    eye = np.array(hook.at)
    strands = []
    if hook.chain > 0:
        radius = max(hook.ring - hook.wire / 2, hook.chain / 2)
        strands.append(_circle("ring", eye + down * hook.chain / 2, down, first, radius, hook.wire))
    round_bend = (hook.gape + hook.wire) / 2
    turn = np.linspace(0.0, pi, BEND)
    top, foot = hook.chain + hook.wire, hook.down - round_bend
    strands.append(_circle("hook", eye + down * (top + hook.wire), down, second, hook.wire * 1.4, hook.wire))
    for angle in (0.0, 2 * pi / 3, 4 * pi / 3):
        out = np.cos(angle) * first + np.sin(angle) * second
        along = np.concatenate([[top + 2 * hook.wire], foot + round_bend * np.sin(turn), [hook.points_down]])
        aside = np.concatenate([[0.0], round_bend * (1 - np.cos(turn)), [2 * round_bend]])
        aside = aside + hook.wire / 2
        strands.append(Strand("hook", eye + along[:, None] * down + aside[:, None] * out, hook.wire))
    return strands


def _screw_eyes(known: Known) -> list[Strand]:
    """The ring of every screw eye that is on a bore, outside its mouth."""
    mouths = {known.recipe.bores[t.bore].name: t for t in known.shaped.tools if isinstance(t, Revolved)}
    found = []
    for fitting in known.recipe.fittings:
        bore = mouths.get(fitting.on or "")
        if fitting.kind != "screw_eye" or bore is None or fitting.size is None:
            continue
        wire = float(fitting.size.split()[0]) * (1.0 if fitting.size.endswith("mm") else float(INCH))
        radius = (eye_stands_out(fitting.on or "", known.recipe) + wire) / 2
        axis = np.array(bore.axis)
        middle = np.array(bore.origin) - axis * radius
        found.append(_circle("eye", middle, axis, square_to(bore.axis)[1], radius, wire))
    return found


def _circle(role: str, middle: Array, one: Array, other: Array, radius: float, thick: float) -> Strand:
    turn = np.linspace(0.0, 2 * pi, AROUND, endpoint=False)[:, None]
    return Strand(role, middle + radius * (np.cos(turn) * one + np.sin(turn) * other), thick, closed=True)
