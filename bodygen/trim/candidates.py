"""All small changes to a finished bait that are tried: those on hooks, rings and lip, and those in the wood (holes.py).

Knows hooks, rings and the lip of an answer. Knows no goal, and chooses nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product
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
    """Turns of one wire round the shank of each treble, and round two of them.

    ``halves``: half turns of the thinnest, too, which beside whole ones of a thicker come nearer than one wire does.
    """
    table, hooks = load_table("trim")["wrap"], trebles_of(answer.recipe)
    thin, *thicker = sorted(table["wire_mm"])
    shanks = [[(hook, d) for d in (thin, *thicker)] for hook in hooks]
    wound = [[one] for some in shanks for one in some]
    wound += [list(pair) for some, others in combinations(shanks, 2) for pair in product(some, others)]
    if halves:
        thick = [wires for wires in wound if all(d != thin for _, d in wires)]
        wound += [[*wires, (hook, thin)] for wires in thick if len({d for _, d in wires}) == 1 for hook in hooks]
    for wires in wound:
        for turns in _each([_turns(hook, d, halves and d == thin) for hook, d in wires]):
            rows = [(hook, d, count) for (hook, d), count in zip(wires, turns, strict=True)]
            last = rows[-1][0]
            if sum(count * d for hook, d, count in rows if hook is last) <= _room(last) + 1e-9:
                yield _wound(answer.recipe, rows, water)


def _each(steps: list[Array]) -> Iterator[tuple[float, ...]]:
    grid = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, len(steps))
    yield from (tuple(row) for row in grid.tolist())


def _room(hook: Treble) -> float:
    """Length of the shank between eye and points' level [mm]."""
    return hook.points_down - hook.chain - 2.8 * hook.wire


def _turns(hook: Treble, d: float, halves: bool) -> Array:
    """Turns of a wire [mm] that the shank has room for."""
    step = 0.5 if halves else 1.0
    return np.arange(step, min(_room(hook) / d, int(load_table("trim")["wrap"]["most_turns"])) + 1e-9, step)


def _wound(recipe: Recipe, rows: Sequence[tuple[Treble, float, float]], water: float) -> Candidate:
    """Wire round shanks: each hook, its wire [mm] and its turns."""
    net, words, grams, moment = np.zeros(4), list[str](), 0.0, np.zeros(3)
    changes: dict[str, object] = {}
    table, names = load_table("trim")["wrap"], [one.name for one in recipe.fittings]
    metal, density = load_table("metals")["metal"][table["metal"]]["name"], metal_g_cm3(table["metal"])
    before = None
    for hook, d, count in rows:
        mm3 = count * hypot(pi * (table["bundle_in_wires"] * hook.wire + d), d) * pi / 4 * d**2
        mass = mm3 * density / MM3_PER_CM3
        net = net + load(mass - water * mm3 / MM3_PER_CM3, np.array(hook.at))
        turned = f"{count:g} turn{'s' * (count != 1)} round the shank of {hook.name} ({mass:.2f} g)"
        words.append(turned if d == before else f"{d:g} mm wire of {metal}: {turned}")
        names.append(free_name(f"trim wire on {hook.name}", names))
        changes[f"fitting[{len(names)}]"] = fitting_table(names[-1], mass, mm3 / MM3_PER_CM3, hook.at)
        grams, moment, before = grams + mass, moment + mass * np.array(hook.at), d
    return Candidate(
        " and ".join(words),
        WIRE,
        grams,
        moment / grams,
        net,
        changes | on_the_scale(recipe, {"rigged": grams}),
        cautions=cold_cautions(table["metal"]),
        parts=len(rows) + len({d for _, d, _ in rows}) - 1,
        added={"rigged": grams},
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
            yield Candidate(what, SWAP, more, old.at, net, changes, added={"rigged": more})


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
        yield Candidate(what, LIP, grams, at, net, changes, added={"rigged": grams})


def _lip(answer: Answer, water: float) -> tuple[Array, float]:
    """The lip as a load net of its water (4,) [g, g mm], and its mass [g]; a weigh-in puts no other wood in for it."""
    sheet = [item for item in answer.items if item.kind in {"plate", "tongue"}]
    net = np.zeros(4)
    for item in sheet:
        net = net + load(item.mass, item.at) - load(water * item.displaces / MM3_PER_CM3, item.displaces_at)
    return net, sum(item.mass for item in sheet)
