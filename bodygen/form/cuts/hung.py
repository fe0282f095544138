"""Where a thing that goes on a bore is: a screw eye or wire at its mouth, the rings on the eye, the hooks on the rings.

Whatever the order in the recipe, the eye goes first, then the rings as one chain, then the hooks. The chain is loose,
so all of its weight acts where it begins, at the outer end of the eye's inside, on the bore's axis; a hook hangs lower
than that by the inside of each ring between. Knows tools and the sizes of hardware; weighs nothing.
"""

from dataclasses import replace

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.form.cuts.tools import Prism, Revolved, Tool
from bodygen.form.cuts.wired import BentWire, bend_radius, bent_wires
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.form.wire.forms import eye_height
from bodygen.recipe.model import Fitting, Recipe, read_from
from bodygen.recipe.readers.wire import wire_diameter
from bodygen.tables import load
from bodygen.units import INCH

USUAL_EYE_MM = 4.0
"""How far a bent wire's eye stands out where no screw eye says: its inside and two wires, common practice."""
STEP_MM = 1.0
"""Between the places along a kerf where a loop of its wire may come out."""


def hung(recipe: Recipe, tools: tuple[Tool, ...], caster: RayCaster) -> Recipe:
    """The recipe with every fitting that is ``on`` a bore at its place [mm], as the tools have that bore.

    A screw eye or wire is at the mouth; a bent wire where its weight acts, as long as its form. Rings and hooks are
    where their weight acts, at the outer end of the eye's inside: what is loose pulls there, however long the chain and
    whichever way it hangs.

    Common practice, no published source.

    Raises
    ------
    InputError
        A bore that is not there; a file with one is not read, but a recipe may have been changed since. A bent wire
        that has no room.
    """
    mouths = {t.name: t for t in tools if isinstance(t, Revolved) and not t.mirrored}
    lost = [(f"fitting[{n}].on", f.on) for n, f in enumerate(recipe.fittings, 1) if f.on not in {None, *mouths}]
    if lost:
        accepted = f"one of {', '.join(mouths)}" if mouths else "at = [x, y, z]"
        raise InputError([Mistake(*recipe.place(key), key, f'"{on}"', "no such bore.", accepted) for key, on in lost])
    bent = {wire.place: wire for wire in bent_wires(recipe, tools, caster)}
    fittings = tuple(
        _bent(fitting, bent[place]) if place in bent else _placed(fitting, recipe, mouths)
        for place, fitting in enumerate(recipe.fittings)
    )
    return read_from(replace(recipe, fittings=fittings), recipe.source)  # worked out of what it says, not changed


def _bent(fitting: Fitting, wire: BentWire) -> Fitting:
    x, y, z = (float(value) for value in wire.centre)
    return replace(fitting, at=(x, y, z), length=wire.form.cut_length, outside=wire.form.outside)


def _placed(fitting: Fitting, recipe: Recipe, mouths: dict[str, Revolved]) -> Fitting:
    if fitting.on is None:
        return fitting
    bore = mouths[fitting.on]
    out = eye_stands_out(fitting.on, recipe) if fitting.kind in {"hook", "ring"} else 0.0
    x, y, z = np.array(bore.origin) - out * np.array(bore.axis)
    return replace(fitting, at=(float(x), float(y), float(z)))


def eye_stands_out(bore: str, recipe: Recipe) -> float:
    """From the skin to the inside of the eye's outer end [mm]: a bent wire's, a screw eye's, or as is usual."""
    table = load("hardware")["screw_eye"]
    inch = {f"{r['wire_in']:g} x {r['shank_in']:g} in": r["ring_inside_in"] * float(INCH) for r in table["sizes"]}
    metric = {f"{r['wire_mm']:g} x {r['shank_mm']:g} mm": r["ring_inside_mm"] for r in table["metric_sizes"]}
    eyes = inch | metric
    sizes = [eyes[f.size] for f in recipe.fittings if f.on == bore and f.kind == "screw_eye" and f.size in eyes]
    for f in recipe.fittings:
        if f.on == bore and f.bent is not None and f.size is not None:
            wire = wire_diameter(f.size)
            sizes.append(eye_height(f.bent.loop, wire, bend_radius(f.bent, wire)))
    return float(max(sizes, default=USUAL_EYE_MM))


def hung_checks(recipe: Recipe, tools: tuple[Tool, ...], caster: RayCaster) -> tuple[Finding, ...]:
    """Doubt a hanger that nothing goes on or near, and a hook that is far from all that could hold it [mm].

    ``recipe`` is as ``hung`` gives it. A hanger that a wire's kerf crosses holds the wire, and so does one that may
    meet a bore which the kerf crosses; a hook may hang from a hanger, an end of the kerf, or a loop out of its mouth.

    The limit is common practice, no published source (``limits.toml`` [hung]).
    """
    bores = [t for t in tools if isinstance(t, Revolved)]
    kerfs = [t for t in tools if isinstance(t, Prism) and t.kind == "wire"]
    mouths = {t.name: np.array([t.origin]) for t in bores if t.kind in {"hanger", "through"}}
    wired = {t.name for t in bores if any(_crosses(t, kerf) for kerf in kerfs)}
    holds = np.concatenate([*mouths.values(), *(_wire_out(recipe, kerf, caster) for kerf in kerfs), np.zeros((0, 3))])
    limit = load("limits")["hung"]["far_mm"]
    found: list[Finding] = []
    for number, bore in enumerate(recipe.bores, 1):
        if bore.kind != "hanger" or wired & {bore.name, *bore.may_meet}:
            continue
        if not any(f.on == bore.name or _apart(f, mouths[bore.name]) <= limit for f in recipe.fittings):
            remedy = f'a hanger without a fitting: say what goes in, with on = "{bore.name}", or leave the bore out'
            found.append(Finding("hanger-empty", "warning", f"bore[{number}] {bore.name}", remedy))
    for number, fitting in enumerate(recipe.fittings, 1):
        if fitting.kind != "hook" or fitting.on is not None or not len(holds):
            continue
        gap = _apart(fitting, holds)
        if gap > limit:
            hold = "hanger, wire's end or loop" if kerfs else "hanger"
            remedy = f"no {hold} is near: say on = the hanger's name in place of at, and it moves with the bore"
            where = f"fitting[{number}] {fitting.name}"
            found.append(Finding("hook-far", "warning", where, remedy, round(gap, 2), limit, "mm"))
    return tuple(found)


def _apart(fitting: Fitting, places: Array) -> float:
    """From a fitting to the nearest of (n, 3) places [mm]."""
    return float(np.linalg.norm(np.array(fitting.at) - places, axis=1).min())


def _crosses(bore: Revolved, kerf: Prism) -> bool:
    """Whether a bore runs into a kerf, looked at along its axis."""
    deep = np.arange(0.0, bore.point, STEP_MM / 4)[:, None]
    points = np.array(bore.origin) + deep * np.array(bore.axis)
    low, high = _walls(kerf, points[:, 0])
    near = np.abs(points[:, 1]) <= kerf.half + bore.diameter / 2
    return bool(np.any(near & (points[:, 2] >= low) & (points[:, 2] <= high)))


def _walls(kerf: Prism, x: Array) -> tuple[Array, Array]:
    """Lower and upper height of a kerf at places along the body [mm]; nan beside it."""
    polygon = np.array(kerf.polygon)
    outside = polygon[np.argmax(np.abs(polygon[:, 1])), 1]
    floor = polygon[polygon[:, 1] != outside]
    floor = floor[np.argsort(floor[:, 0])]
    z = np.interp(x, floor[:, 0], floor[:, 1], left=np.nan, right=np.nan)
    return np.minimum(z, outside), np.maximum(z, outside)


def _wire_out(recipe: Recipe, kerf: Prism, caster: RayCaster) -> Array:
    """Places (n, 3) where the wire of a kerf can leave the wood [mm]: its ends, and loops all along its mouth."""
    polygon = np.array(kerf.polygon)
    x = np.arange(polygon[:, 0].min(), polygon[:, 0].max() + STEP_MM / 2, STEP_MM)
    mouth = caster.heights(x)[0 if recipe.wire_slots[kerf.slot].along == "belly" else 1]
    low, high = _walls(kerf, x[[0, -1]])
    floor = high if recipe.wire_slots[kerf.slot].along == "belly" else low
    places = np.concatenate([np.column_stack([x, 0 * x, mouth]), np.column_stack([x[[0, -1]], [0, 0], floor])])
    return np.asarray(places[np.isfinite(places).all(axis=1)])
