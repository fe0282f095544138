"""Small changes to a finished bait, each as a load net of its water, with the words and the text of the recipe for it.

Knows hooks, rings, bores and the lip of an answer. Knows no goal, and chooses nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import hypot, pi

import numpy as np

from bodygen.ballast.answer import Answer, Ask
from bodygen.errors import BodygenError
from bodygen.flotation.refit import load
from bodygen.form.cuts import Revolved
from bodygen.form.hooks.treble import Treble, trebles_of
from bodygen.form.integrals import Array
from bodygen.recipe.readers.items import sizes
from bodygen.tables import load as load_table
from bodygen.trim.readings import metal_g_cm3
from bodygen.units import length_text
from bodygen.weights.fittings import fitted
from bodygen.weights.item import MM3_PER_CM3

WIRE, SWAP, PUTTY, LIP, PLUG, OUT = range(1, 7)
"""How easy a change is: wire on a shank, another hook or ring, putty, the lip, a trim bore, metal out."""


DRILLED = ("spinning_tools", "small_workpiece", "wood_dust")
"""Cautions of a hole in a finished bait."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One change: what to do, how easy (1 is the easiest), what the scale then says more [g], and where (3,) [mm].

    ``net`` (4,) [g, g mm] is its load in the water; ``changes`` are key paths with new values, ``toml`` what to append,
    ``cautions`` those of what is worked.
    """

    what: str
    ease: int
    mass_g: float
    at: Array
    net: Array
    changes: dict[str, object] = field(default_factory=dict)
    toml: str = ""
    cautions: tuple[str, ...] = ()


def candidates(answer: Answer, water: float, ask: Ask, *, aside: bool, halves: bool) -> tuple[Candidate, ...]:
    """Every change that can be tried on a bait in this water [g/cm^3].

    ``ask`` weighs a changed recipe.
    ``aside``: also off the middle, for one that leans. ``halves``: also half turns, for one that suspends.

    Computed in the tables' own units (``trim.toml``): wire by its turns, plugs by their volume less the wood's.
    """
    return (
        *_wires(answer, water, halves),
        *_swaps(answer, water),
        *_putty(answer),
        *_shaved(answer, water, ask),
        *_plugs(answer, aside),
        *_taken_out(answer),
    )


def _wires(answer: Answer, water: float, halves: bool) -> Iterator[Candidate]:
    """Turns of one wire round the shank of each treble, and round two of them."""
    table = load_table("trim")["wrap"]
    density = metal_g_cm3(table["metal"])
    for d in table["wire_mm"]:
        for hooks in _alone_and_in_pairs(trebles_of(answer.recipe)):
            steps = [_turns(hook, d, int(table["most_turns"]), halves and d == min(table["wire_mm"])) for hook in hooks]
            for turns in _each(steps):
                yield _wound(hooks, turns, d, density, water)


def _alone_and_in_pairs(hooks: tuple[Treble, ...]) -> list[tuple[Treble, ...]]:
    return [(hook,) for hook in hooks] + [(a, b) for n, a in enumerate(hooks) for b in hooks[n + 1 :]]


def _each(steps: list[Array]) -> Iterator[tuple[float, ...]]:
    grid = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, len(steps))
    yield from (tuple(row) for row in grid.tolist())


def _turns(hook: Treble, d: float, most: int, halves: bool) -> Array:
    """Turns of a wire [mm] that the shank has room for between eye and points' level."""
    room = (hook.points_down - hook.chain - 2.8 * hook.wire) / d
    step = 0.5 if halves else 1.0
    return np.arange(step, min(room, most) + 1e-9, step)


def _wound(hooks: tuple[Treble, ...], turns: tuple[float, ...], d: float, density: float, water: float) -> Candidate:
    net, words, text, grams, moment = np.zeros(4), [], [], 0.0, np.zeros(3)
    metal = load_table("metals")["metal"][load_table("trim")["wrap"]["metal"]]["name"]
    for hook, count in zip(hooks, turns, strict=True):
        around = load_table("trim")["wrap"]["bundle_in_wires"] * hook.wire
        mm3 = count * hypot(pi * (around + d), d) * pi / 4 * d**2
        mass = mm3 * density / MM3_PER_CM3
        net = net + load(mass - water * mm3 / MM3_PER_CM3, np.array(hook.at))
        words.append(f"{count:g} turns round the shank of {hook.name} ({mass:.2f} g)")
        text.append(_fitting(f"trim wire on {hook.name}", mass, mm3 / MM3_PER_CM3, hook.at))
        grams, moment = grams + mass, moment + mass * np.array(hook.at)
    what = f"{d:g} mm wire of {metal}: {' and '.join(words)}"
    return Candidate(
        what,
        WIRE,
        grams,
        moment / grams,
        net,
        toml="\n".join(text),
        cautions=_cold(load_table("trim")["wrap"]["metal"]),
    )


def _fitting(name: str, mass: float, cm3: float, at: tuple[float, float, float] | Array) -> str:
    place = ", ".join(f'"{value:.2f} mm"' for value in at)
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'[[fitting]]\nname = "{quoted}"\nmass = "{mass:.3f} g"\ndisplaces_cm3 = {cm3:.4f}\nat = [{place}]\n'


def _swaps(answer: Answer, water: float) -> Iterator[Candidate]:
    """Each hook and ring a size up and down."""
    recipe = answer.recipe
    now = {one.item.owner: one.item for one in fitted(recipe)}
    for place, one in enumerate(recipe.fittings):
        known = [size for size, row in sizes(one.kind).items() if row.mass is not None]
        if one.kind not in {"hook", "ring"} or one.size not in known or one.mirror:
            continue
        for step in (-1, 1):
            n = known.index(one.size) + step
            if not 0 <= n < len(known):
                continue
            bought = replace(one, size=known[n], mass=None, displaces_cm3=None, length=None, gape=None)
            other = replace(recipe, fittings=tuple(bought if f is one else f for f in recipe.fittings))
            new = next(f.item for f in fitted(other) if f.item.owner == ("fitting", place))
            old = now["fitting", place]
            more = new.mass - old.mass
            net = load(more - water * (new.displaces - old.displaces) / MM3_PER_CM3, old.at)
            what = f"{one.name} {known[n]} in place of {one.size} ({more:+.2f} g)"
            yield Candidate(what, SWAP, more, old.at, net, {f"fitting[{place + 1}].size": known[n]})


def _putty(answer: Answer) -> Iterator[Candidate]:
    """Tungsten putty in the part of a ballast bore that its metal leaves open to filler."""
    putty = metal_g_cm3(load_table("trim")["plug"]["putty"])
    for item in answer.items:
        if item.kind != "closing" or item.owner is None or item.owner[0] != "bore":
            continue
        bore = answer.recipe.bores[item.owner[1]]
        volume = _open(answer, item.owner[1])
        if bore.fill is None or volume <= 0:
            continue
        for share in (0.25, 0.5, 0.75, 1.0):
            grams = share * volume * (putty - item.mass * MM3_PER_CM3 / volume) / MM3_PER_CM3
            what = f"tungsten putty in {100 * share:.0f} % of the open part of {bore.name} ({grams:+.2f} g)"
            text = _fitting(f"trim putty in {bore.name}", grams, 0.0, item.at)
            yield Candidate(what, PUTTY, grams, item.at, load(grams, item.at), toml=text)


def _open(answer: Answer, place: int) -> float:
    """What metal leaves of a bore [mm^3]."""
    cavities = [one for one in answer.measured.bores if one.index == place]
    return sum(one.cavity.volume - (one.metal.volume if one.metal is not None else 0.0) for one in cavities)


def _shaved(answer: Answer, water: float, ask: Ask) -> Iterator[Candidate]:
    """The lip's tip shortened: each is weighed as a recipe of its own."""
    lip = answer.recipe.lip
    if lip is None or lip.length is None:
        return
    before = _whole(answer, water)
    for off in load_table("trim")["shave"]["lip_mm"]:
        try:
            shorter = ask(replace(answer.recipe, lip=replace(lip, length=lip.length - off)))
        except BodygenError:  # no such lip can be drawn
            return
        net, grams = _whole(shorter, water) - before, shorter.total.mass - answer.total.mass
        at = net[1:] / net[0] if abs(net[0]) > 1e-6 else np.zeros(3)
        what = f"the lip {length_text(off, answer.recipe.units)} shorter at its tip ({grams:+.2f} g)"
        yield Candidate(what, LIP, grams, at, net, {"lip.length": round(lip.length - off, 3)})


def _whole(answer: Answer, water: float) -> Array:
    """All of a bait as a load, net of its water."""
    total = answer.total
    lift = water * total.displaced / MM3_PER_CM3
    return load(total.mass, total.centre_of_mass) - load(lift, total.centre_of_buoyancy)


def _plugs(answer: Answer, aside: bool) -> Iterator[Candidate]:
    """Trim bores in the belly, filled flush with metal."""
    table = load_table("trim")["plug"]
    metal, wood = metal_g_cm3(table["metal"]), answer.wood.g_cm3
    named = load_table("metals")["metal"][table["metal"]]["name"]
    length = answer.sizes[0]
    ends = length * table["from_ends_share"]
    along = np.arange(ends, length - ends, table["every_mm"])
    belly = answer.caster.heights(along)[0]
    taken = [np.array(tool.origin) for tool in answer.tools if isinstance(tool, Revolved)]
    for x, z in zip(along.tolist(), belly.tolist(), strict=True):
        for y in table["across_mm"] if aside else [0.0]:
            mouth = np.array([x, y, z])
            if any(np.linalg.norm(mouth - other) < 8.0 for other in taken):
                continue
            for d in table["drill_mm"]:
                for deep in table["depth_mm"]:
                    if deep > 0.6 * answer.sizes[1]:
                        continue
                    mm3 = pi / 4 * d**2 * deep
                    grams = mm3 * (metal - wood) / MM3_PER_CM3
                    at = mouth + np.array([0.0, 0.0, deep / 2])
                    yield Candidate(
                        _plug_words(answer, named, d, deep, x, y, grams),
                        PLUG,
                        grams,
                        at,
                        load(grams, at),
                        toml=_plug(table["metal"], d, deep, x, y),
                        cautions=DRILLED,
                    )


def _plug_words(answer: Answer, metal: str, d: float, deep: float, x: float, y: float, grams: float) -> str:
    units = answer.recipe.units
    off = "" if not y else f", {length_text(abs(y), units)} to the {'right' if y > 0 else 'left'}"
    return (
        f"a trim bore from the belly at {length_text(x, units)}{off}: {d:g} mm drill, {length_text(deep, units)} deep, "
        f"plugged flush with {metal} ({grams:+.2f} g)"
    )


def _plug(metal: str, d: float, deep: float, x: float, y: float) -> str:
    offset = f'offset = "{y:g} mm"\n' if y else ""
    return (
        f'[[bore]]\nname = "trim bore"\nkind = "ballast"\nfrom = "belly"\nx = "{x:.2f} mm"\n{offset}'
        f'diameter = "{d:g} mm"\ndepth = "{deep:g} mm"\ntip = "flat"\n\n'
        f'[bore.fill]\nmetal = "{metal}"\nplaced = "slug"\nclearance = 0\n'
    )


def _cold(metal: str) -> tuple[str, ...]:
    """Cautions of a metal that is not molten."""
    named = load_table("metals")["metal"].get(metal, {}).get("cautions", ())
    return tuple(key for key in named if key not in {"lead_pouring", "hot_metal"})


def _taken_out(answer: Answer) -> Iterator[Candidate]:
    """Ballast drilled out from the mouth of its bore, and made good with wood as light as the body's."""
    wood = answer.wood.g_cm3
    for item in answer.items:
        if item.kind != "metal" or item.owner is None or not item.displaces:
            continue
        bore = answer.recipe.bores[item.owner[1]]
        area = pi / 4 * bore.diameter**2
        for deep in load_table("trim")["shave"]["out_mm"]:
            if area * deep > 0.8 * item.displaces:
                continue
            grams = area * deep * (wood - item.mass * MM3_PER_CM3 / item.displaces) / MM3_PER_CM3
            what = (
                f"{length_text(deep, answer.recipe.units)} of the metal in {bore.name} drilled out with a "
                f"{bore.diameter:.3g} mm drill, a plug of the same wood in its place ({grams:+.2f} g)"
            )
            changes: dict[str, object] = {f"bore[{item.owner[1] + 1}].fill.mass": round(item.mass + grams, 3)}
            held = bore.fill.metal if bore.fill is not None else ""
            yield Candidate(what, OUT, grams, item.at, load(grams, item.at), changes, cautions=(*DRILLED, *_cold(held)))
