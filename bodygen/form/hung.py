"""Where a thing that goes on a bore is: a screw eye or wire at its mouth, a ring on the eye, a hook on the ring.

All along the bore's own axis, outwards from the skin, whatever way it hangs later: flotation lets hooks and rings hang
from the eye. Knows tools and the sizes of hardware; weighs nothing.
"""

from dataclasses import replace

import numpy as np

from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.integrals import Array
from bodygen.recipe.model import Fitting, Recipe
from bodygen.tables import load
from bodygen.units import INCH

USUAL_EYE_MM = 4.0
"""How far a bent wire's eye stands out where no screw eye says: its inside and two wires, common practice."""


def hung(recipe: Recipe, tools: tuple[Tool, ...]) -> Recipe:
    """The recipe with every fitting that is ``on`` a bore at its place [mm], as the tools have that bore.

    A screw eye or wire is at the mouth; a ring or hook is at the outer end of the eye there, which is where it hangs.
    """
    mouths = {t.name: t for t in tools if isinstance(t, Revolved) and not t.mirrored}
    fittings = tuple(_placed(fitting, recipe, mouths) for fitting in recipe.fittings)
    return replace(recipe, fittings=fittings)


def _placed(fitting: Fitting, recipe: Recipe, mouths: dict[str, Revolved]) -> Fitting:
    if fitting.on is None:
        return fitting
    bore = mouths[fitting.on]
    out = _eye_stands_out(fitting.on, recipe) if fitting.kind in {"hook", "ring"} else 0.0
    x, y, z = np.array(bore.origin) - out * np.array(bore.axis)
    return replace(fitting, at=(float(x), float(y), float(z)))


def _eye_stands_out(bore: str, recipe: Recipe) -> float:
    """From the skin to the inside of the eye's outer end [mm]: a screw eye's by the table, or as is usual."""
    table = load("hardware")["screw_eye"]
    inch = {f"{r['wire_in']:g} x {r['shank_in']:g} in": r["ring_inside_in"] * float(INCH) for r in table["sizes"]}
    metric = {f"{r['wire_mm']:g} x {r['shank_mm']:g} mm": r["ring_inside_mm"] for r in table["metric_sizes"]}
    eyes = inch | metric
    sizes = [eyes[f.size] for f in recipe.fittings if f.on == bore and f.kind == "screw_eye" and f.size in eyes]
    return float(max(sizes, default=USUAL_EYE_MM))


def hung_doubts(recipe: Recipe, tools: tuple[Tool, ...]) -> tuple[Finding, ...]:
    """Doubt a hanger that nothing goes on or near, and a hook that is far from every hanger [mm].

    ``recipe`` is as ``hung`` gives it. A through-wire in a kerf hangs hooks without a bore: then nothing is doubted.
    """
    if recipe.wire_slots:
        return ()
    mouths = {t.name: np.array(t.origin) for t in tools if isinstance(t, Revolved) and t.kind in {"hanger", "through"}}
    limit = load("limits")["hung"]["far_mm"]
    found: list[Finding] = []
    for number, bore in enumerate(recipe.bores, 1):
        near = (_apart(f, mouths.get(bore.name)) for f in recipe.fittings)
        if bore.kind == "hanger" and not any(gap <= limit for gap in near):
            remedy = f'a hanger without a fitting: say what goes in, with on = "{bore.name}", or leave the bore out'
            found.append(Finding("hanger-empty", "warning", f"bore[{number}] {bore.name}", remedy))
    for number, fitting in enumerate(recipe.fittings, 1):
        gap = min((_apart(fitting, mouth) for mouth in mouths.values()), default=0.0)
        if fitting.kind == "hook" and gap > limit:
            remedy = "no hanger is near: say on = the hanger's name in place of at, and it moves with the bore"
            where = f"fitting[{number}] {fitting.name}"
            found.append(Finding("hook-far", "warning", where, remedy, round(gap, 2), limit, "mm"))
    return tuple(found)


def _apart(fitting: Fitting, mouth: Array | None) -> float:
    return float("inf") if mouth is None else float(np.linalg.norm(np.array(fitting.at) - mouth))
