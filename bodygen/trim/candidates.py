"""All small changes to a finished bait that are tried: those on hooks, rings and lip, and those in the wood (holes.py).

Knows hooks, rings and the lip of an answer. Knows no goal, and chooses nothing.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import hypot, pi

import numpy as np

from bodygen.ballast.answer import Answer, Ask
from bodygen.errors import BodygenError
from bodygen.flotation.refit import load
from bodygen.form.hooks.treble import Treble, trebles_of
from bodygen.form.integrals import Array
from bodygen.recipe.model import Recipe
from bodygen.recipe.readers.items import sizes
from bodygen.tables import load as load_table
from bodygen.trim.candidate import (
    LIP,
    SWAP,
    WIRE,
    Candidate,
    cold_cautions,
    fitting_table,
    free_name,
    on_the_scale,
)
from bodygen.trim.holes import plugs, putty, taken_out
from bodygen.trim.readings import metal_g_cm3
from bodygen.units import length_text
from bodygen.weights.fittings import fitted
from bodygen.weights.item import MM3_PER_CM3


def candidates(answer: Answer, water: float, ask: Ask, *, aside: bool, halves: bool) -> tuple[Candidate, ...]:
    """Every change that can be tried on a bait in this water [g/cm^3].

    ``ask`` weighs a changed recipe.
    ``aside``: also off the middle, for one that leans. ``halves``: also half turns, for one that suspends.

    Computed in the tables' own units (``trim.toml``): wire by its turns, plugs by their volume less the wood's.
    """
    return (
        *_wires(answer, water, halves),
        *_swaps(answer, water),
        *putty(answer),
        *_shaved(answer, water, ask),
        *plugs(answer, aside),
        *taken_out(answer),
    )


def _wires(answer: Answer, water: float, halves: bool) -> Iterator[Candidate]:
    """Turns of one wire round the shank of each treble, and round two of them."""
    table = load_table("trim")["wrap"]
    density = metal_g_cm3(table["metal"])
    for d in table["wire_mm"]:
        for hooks in _alone_and_in_pairs(trebles_of(answer.recipe)):
            steps = [_turns(hook, d, int(table["most_turns"]), halves and d == min(table["wire_mm"])) for hook in hooks]
            for turns in _each(steps):
                yield _wound(answer.recipe, hooks, turns, d, density, water)


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


def _wound(
    recipe: Recipe, hooks: tuple[Treble, ...], turns: tuple[float, ...], d: float, density: float, water: float
) -> Candidate:
    net, words, grams, moment = np.zeros(4), [], 0.0, np.zeros(3)
    changes: dict[str, object] = {}
    metal = load_table("metals")["metal"][load_table("trim")["wrap"]["metal"]]["name"]
    for hook, count in zip(hooks, turns, strict=True):
        around = load_table("trim")["wrap"]["bundle_in_wires"] * hook.wire
        mm3 = count * hypot(pi * (around + d), d) * pi / 4 * d**2
        mass = mm3 * density / MM3_PER_CM3
        net = net + load(mass - water * mm3 / MM3_PER_CM3, np.array(hook.at))
        words.append(f"{count:g} turn{'s' * (count != 1)} round the shank of {hook.name} ({mass:.2f} g)")
        name = free_name(f"trim wire on {hook.name}", [one.name for one in recipe.fittings])
        wire = fitting_table(name, mass, mm3 / MM3_PER_CM3, hook.at)
        changes[f"fitting[{len(recipe.fittings) + len(words)}]"] = wire
        grams, moment = grams + mass, moment + mass * np.array(hook.at)
    what = f"{d:g} mm wire of {metal}: {' and '.join(words)}"
    return Candidate(
        what,
        WIRE,
        grams,
        moment / grams,
        net,
        changes | on_the_scale(recipe, {"rigged": grams}),
        cautions=cold_cautions(load_table("trim")["wrap"]["metal"]),
    )


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
            changes: dict[str, object] = {f"fitting[{place + 1}].size": known[n]}
            for key in ("mass", "displaces_cm3", "length", "gape"):  # those of the old one
                changes |= {f"fitting[{place + 1}].{key}": None} if getattr(one, key) is not None else {}
            changes |= on_the_scale(recipe, {"rigged": more})
            yield Candidate(what, SWAP, more, old.at, net, changes)


def _shaved(answer: Answer, water: float, ask: Ask) -> Iterator[Candidate]:
    """The lip's tip shortened: each is weighed as a recipe of its own. A lip drawn by points keeps its tip."""
    recipe, lip = answer.recipe, answer.recipe.lip
    if lip is None or lip.length is None or lip.points:
        return
    before, sheet = _lip(answer, water)
    for off in load_table("trim")["shave"]["lip_mm"]:
        try:
            shorter = ask(replace(recipe, lip=replace(lip, length=lip.length - off)))
        except BodygenError:  # no such lip can be drawn
            return
        after, left = _lip(shorter, water)
        net, grams = after - before, left - sheet
        at = net[1:] / net[0] if abs(net[0]) > 1e-6 else np.zeros(3)
        what = f"the lip {length_text(off, recipe.units)} shorter at its tip ({grams:+.2f} g)"
        changes = {"lip.length": f"{lip.length - off:.3f} mm", **on_the_scale(recipe, {"rigged": grams})}
        yield Candidate(what, LIP, grams, at, net, changes)


def _lip(answer: Answer, water: float) -> tuple[Array, float]:
    """The lip as a load net of its water (4,) [g, g mm], and its mass [g]; a weigh-in puts no other wood in for it."""
    sheet = [item for item in answer.items if item.kind in {"plate", "tongue"}]
    net = np.zeros(4)
    for item in sheet:
        net = net + load(item.mass, item.at) - load(water * item.displaces / MM3_PER_CM3, item.displaces_at)
    return net, sum(item.mass for item in sheet)
