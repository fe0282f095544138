"""Whether trebles can hang, trail and swing free: of the body, the lip, the line's tie and each other.

Knows which way things hang and trail, as it is told. Weighs nothing: what another size does is asked of the caller.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from math import ceil, cos, sin

import numpy as np

from bodygen.findings import Finding
from bodygen.form.cuts.hung import eye_stands_out
from bodygen.form.cuts.tools import Revolved, Tool
from bodygen.form.hooks.swing import caught, clear_of, least_spacing, meet, points_circle, swung
from bodygen.form.hooks.treble import Treble, smaller, trebles_of
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.recipe.model import Recipe

ROOM_AT_EYE = 0.2
"""Share of a hook's reach that may lie in the skin, where its eye sits; common practice, no published source."""
SAMPLE_MM = 0.5
"""Between the places of a lip that are looked at."""
Changed = Callable[[dict[int, str]], tuple[str, Sequence[float]]]
"""What other sizes at some places do to weight and trim, in words, and the vertical (3,) as the bait then rests."""


@dataclass(frozen=True, slots=True)
class Ways:
    """Which way hooks are pulled: ``rest`` straight down as the bait lies, ``under_way`` with the water (3,) [-].

    ``known``: the attitude under way was worked out; else it is taken to run level.
    """

    rest: Array
    under_way: Array
    known: bool

    @property
    def named(self) -> tuple[tuple[str, Array], ...]:
        """Each with its words."""
        level = "" if self.known else " (taken to run level)"
        return ("hanging at rest", self.rest), (f"trailing under way{level}", self.under_way)


def ways(up: Sequence[float], pitch: float | None) -> Ways:
    """From the vertical at rest (3,) in body axes [-] and the pitch under way [rad], None where nobody knows that.

    Elementary.

    Examples
    --------
    >>> nose_down = ways((0.0, 0.0, 1.0), -0.5)   # what trails behind it swings away from the belly
    >>> nose_down.rest.tolist(), nose_down.under_way.round(3).tolist()
    ([-0.0, -0.0, -1.0], [0.878, 0.0, -0.479])
    """
    running = pitch or 0.0
    return Ways(-np.array(up, dtype=float), np.array([cos(running), 0.0, sin(running)]), pitch is not None)


def hook_checks(
    recipe: Recipe, tools: Sequence[Tool], caster: RayCaster, lip: Array, pulled: Ways, changed: Changed
) -> tuple[Finding, ...]:
    """Judge every treble of a recipe.

    Parameters
    ----------
    recipe : Recipe
        With the place of every fitting worked out [mm].
    tools, caster
        Its cuts, and the uncut body's answers to lines [mm].
    lip : (m, 3, 3)
        Triangles of the plate outside its slot [mm]; none of a lipless bait.
    pulled : Ways
        Which way hooks hang and trail.
    changed : callable
        Says what other sizes at these places among the fittings do to weight and trim.

    Returns
    -------
    tuple of Finding
        Warnings where points meet as it rests or runs, notes where only some swing brings them together.
    """
    hooks = trebles_of(recipe)
    found = [*_on_the_body(hooks, caster, pulled)]
    for a, b in combinations(hooks, 2):
        found += _pair(a, b, recipe, pulled, changed)
    for hook in hooks:
        found += _catches(hook, "hook-catches-lip", "the lip", (all_over(lip, hook), 0.0), recipe, pulled, changed)
        found += _catches(hook, "hook-catches-tie", "the line's tie", _ties(recipe, tools), recipe, pulled, changed)
    return tuple(found)


def _pair(a: Treble, b: Treble, recipe: Recipe, pulled: Ways, changed: Changed) -> list[Finding]:
    """Two trebles whose points reach each other; of a mirror pair the far twins tell nothing new."""
    where, about = f"{_where(a)}, {_where(b)}", (("fitting", a.place), ("fitting", b.place))

    def apart_all_ways(pulled: Ways, one: Treble, other: Treble) -> bool:
        return not any(meet(one, other, way) for _, way in pulled.named)

    tangled = [(words, way) for words, way in pulled.named if meet(a, b, way)]
    apart, wanted = float(np.linalg.norm(np.array(a.at) - np.array(b.at))), swung(a, b)
    if tangled:
        both = tuple(way for _, way in pulled.named)
        needs, along = least_spacing(a, b, both), abs(a.at[0] - b.at[0])
        remedy = f"{_and(words for words, _ in tangled)} their points meet: eyes {{}} apart along the body would do"
        remedy += _sizes([a, b], apart_all_ways, recipe, pulled, changed)
        remedy += _measured([a, b], recipe)
        return [Finding("hooks-tangle", "warning", where, remedy, along, needs, "mm", about=about, lengths=(needs,))]
    if apart >= wanted:
        return []
    remedy = "only swung towards each other do their points meet: eyes {} apart, or smaller hooks, and they never do"
    return [Finding("hooks-tangle", "note", where, remedy, apart, wanted, "mm", about=about, lengths=(wanted,))]


def _catches(
    hook: Treble,
    code: str,
    what: str,
    thing: tuple[Array, float],
    recipe: Recipe,
    pulled: Ways,
    changed: Changed,
) -> list[Finding]:
    """A treble whose points reach a thing at these places, so far around each [mm]."""
    places, margin = thing
    gap, about = clear_of(hook, places, margin), (("fitting", hook.place),)
    caught_so = [words for words, way in pulled.named if caught(hook, way, places, margin)]
    if not caught_so and gap >= hook.points_reach:
        return []
    if not caught_so:
        remedy = f"only swung towards it do its points reach {what}: an eye {{}} from it, or a smaller hook, never does"
        reach = (hook.points_reach,)
        return [Finding(code, "note", _where(hook), remedy, gap, *reach, "mm", about=about, lengths=reach)]

    def free(pulled: Ways, one: Treble) -> bool:
        return not any(caught(one, way, places, margin) for _, way in pulled.named)

    remedy = f"{_and(caught_so)} its points reach {what}: an eye farther aft" + _sizes(
        [hook], free, recipe, pulled, changed
    )
    remedy += _measured([hook], recipe)
    return [Finding(code, "warning", _where(hook), remedy, gap, hook.reach, "mm", about=about, lengths=(0.0,))]


def _sizes(hooks: list[Treble], free: Callable[..., bool], recipe: Recipe, pulled: Ways, changed: Changed) -> str:
    """The largest sizes that are free: of each hook alone, else of all of them; each with what it does."""
    bought = {hook.place: smaller(hook, recipe) for hook in hooks}

    def first(choices: Iterable[tuple[tuple[int, str, Treble], ...]]) -> list[str]:
        """The first of these choices that hangs and trails free, as the bait then lies, in words."""
        for choice in choices:
            new = {place: treble for place, _, treble in choice}
            then = [replace(new[one.place], at=one.at) if one.place in new else one for one in hooks]
            if not free(pulled, *then):
                continue
            words, up = changed({place: size for place, size, _ in choice})
            if free(replace(pulled, rest=-np.array(up)), *then):
                return [f"{_and(f'{_plain(treble.name)} {size}' for _, size, treble in choice)} ({words})"]
        return []

    alone = [[((place, size, new),) for size, new in sizes] for place, sizes in bought.items()]
    offers = [words for choices in alone for words in first(choices)]
    if not offers and len(bought) > 1:
        both = product(*([(place, size, new) for size, new in sizes] for place, sizes in bought.items()))
        offers = first(sorted(both, key=lambda pair: -sum(new.length for _, _, new in pair)))
    return f", or {'; or '.join(offers)}" if offers else "; no smaller size of the table would"


def _plain(name: str) -> str:
    """A name as it may stand among the lengths of a remedy."""
    return name.replace("{", "{{").replace("}", "}}")


def _measured(hooks: list[Treble], recipe: Recipe) -> str:
    fittings = [recipe.fittings[hook.place] for hook in hooks]
    if all(one.length is not None and one.gape is not None for one in fittings):
        return ""
    return ". By the table's sizes, of which makers differ by 10 to 15 %: hook_length and gape of your own are surer"


def _on_the_body(hooks: Sequence[Treble], caster: RayCaster, pulled: Ways) -> list[Finding]:
    """Hooks that the body is in the way of: at rest of shank or points, under way of the points alone."""
    if not hooks:
        return []
    found = []
    circles = np.array([[points_circle(hook, way) for way in (pulled.rest, pulled.under_way)] for hook in hooks])
    inside = _inside(caster, circles.reshape(-1, 3)).reshape(circles.shape[:3])  # many at once take little longer
    eyes = np.array([hook.at for hook in hooks])
    shanks = caster.lines(eyes, np.broadcast_to(pulled.rest, eyes.shape))
    for hook, depths, (_, trailing), (at_rest, rubbing) in zip(hooks, shanks, circles, inside, strict=True):
        rubs = trailing[rubbing]
        if at_rest.any() or _in_the_way(hook, depths):
            remedy = (
                "at rest it lies against the body instead of hanging free: move the hanger eye, or use a smaller one"
            )
            found.append(Finding("hook-fouls", "note", _where(hook), remedy))
        if len(rubs):
            remedy = (
                "trailing under way its points rub the skin at about x = {}: a harder clear coat there, or less gape"
            )
            found.append(Finding("hook-rubs", "note", _where(hook), remedy, lengths=(float(rubs[:, 0].mean()),)))
    return found


def _in_the_way(hook: Treble, depths: Array) -> bool:
    """Whether the skin met at these depths [mm] is in a shank's way from a fifth of it on: passed through, ended in."""
    depths = depths[depths > 0]
    inside = np.count_nonzero(depths > hook.down) % 2 == 1
    return bool(inside or np.any((depths > ROOM_AT_EYE * hook.down) & (depths <= hook.down)))


def _inside(caster: RayCaster, places: Array) -> Array:
    """Which of (k, 3) places lie in the body."""
    may = np.flatnonzero(((places > caster.low) & (places < caster.high)).all(axis=1))
    inside = np.zeros(len(places), dtype=bool)
    if len(may):
        sideways = np.broadcast_to(np.array([0.0, 1.0, 0.0]), (len(may), 3))
        beyond = [np.count_nonzero(way > 0) for way in caster.lines(places[may], sideways)]
        inside[may] = np.array(beyond) % 2 == 1
    return inside


def _ties(recipe: Recipe, tools: Sequence[Tool]) -> tuple[Array, float]:
    """The middles of the eyes of ties (k, 3) [mm], and half an eye."""
    ties = [tool for tool in tools if isinstance(tool, Revolved) and tool.kind == "tie"]
    out = [eye_stands_out(tool.name, recipe) / 2 for tool in ties]
    middles = [np.array(tool.origin) - half * np.array(tool.axis) for tool, half in zip(ties, out, strict=True)]
    return np.array(middles).reshape(-1, 3), max(out, default=0.0)


def all_over(triangles: Array, hook: Treble) -> Array:
    """Places (k, 3) on the triangles (m, 3, 3) that are in a hook's reach, half a millimetre apart at most [mm].

    Elementary: rows from a corner to the shortest side, each parted as that side must be, so that a sliver has few.
    """
    found = []
    middles = triangles.mean(axis=1)
    radii = np.linalg.norm(triangles - middles[:, None], axis=2).max(axis=1, initial=0.0)
    away = np.linalg.norm(middles - np.array(hook.at), axis=1)
    for corners in triangles[away < radii + hook.reach]:
        against = np.roll(corners, 1, axis=0) - np.roll(corners, -1, axis=0)  # the side across from each corner
        sides = np.linalg.norm(against, axis=1)
        top, left, right = np.roll(corners, -int(sides.argmin()), axis=0)
        rows, parts = (max(1, ceil(float(size) / SAMPLE_MM)) for size in (sides.max(), sides.min()))
        side = left + np.linspace(0, 1, parts + 1)[:, None] * (right - left)
        places = top + np.linspace(0, 1, rows + 1)[:, None, None] * (side - top)
        near = places.reshape(-1, 3)
        found.append(near[np.linalg.norm(near - np.array(hook.at), axis=1) <= hook.reach])
    return np.concatenate([np.zeros((0, 3)), *found])


def _where(hook: Treble) -> str:
    return f"fitting[{hook.place + 1}] {hook.name}"


def _and(words: Iterable[str]) -> str:
    return " and ".join(words)
