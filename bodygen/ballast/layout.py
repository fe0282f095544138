"""Which bores a search may change: the recipe's own, one whose place is found, or one in front and one behind.

Knows recipes, drills and metals to try, and to which step a shop sets a depth. Knows nothing of weights: every layout
is a question, not yet an answer.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from bodygen import tables
from bodygen.recipe.model import Bore, Entry, Fill, Goal, Recipe, Units
from bodygen.recipe.readers.bores import SAME_DRILL, drill_sizes
from bodygen.units import INCH, inch_fraction

SAME_MM = 1e-6
MOVABLE: frozenset[Entry] = frozenset({"belly", "back", "side", "point"})
"""Ways in that have a place along the body; nose and tail are where they are."""


def step(units: Units) -> float:
    """What depths and places are rounded to [mm]: 1/64 in or 0.5 mm.

    Common practice, no published source (``ballast.toml`` [steps]).

    Examples
    --------
    >>> step("in") * 64 / 25.4
    1.0
    """
    return float(INCH / 64) if units == "in" else float(tables.load("ballast")["steps"]["metric_mm"])


def rounded(length: float, units: Units) -> float:
    """Round a length [mm] to the shop's step, exactly.

    Elementary, in fractions, so that 17.0 is exactly 17.

    >>> rounded(17.2, "in")
    17.0656
    >>> rounded(17.2, "mm")
    17.0
    """
    exact = INCH / 64 if units == "in" else Fraction(tables.load("ballast")["steps"]["metric_mm"])
    return float(round(Fraction(length) / exact) * exact)


def steps_around(length: float, units: Units) -> tuple[float, ...]:
    """The shop's steps on either side of a length [mm], above 0; the one where it lies on a step.

    >>> steps_around(17.2, "mm")
    (17.0, 17.5)
    """
    exact = INCH / 64 if units == "in" else Fraction(tables.load("ballast")["steps"]["metric_mm"])
    below = Fraction(length) // exact
    near = [float(count * exact) for count in (below, below + 1) if count > 0]
    return tuple(one for one in near if abs(one - length) < SAME_MM) or tuple(near)


def written(length: float, units: Units) -> object:
    """Write a length [mm] as a recipe has it: ``'43/64 in'`` or a number of mm; with its unit where off the steps."""
    if abs(rounded(length, units) - length) > SAME_MM:
        return f"{length:.7g} mm"
    return f"{inch_fraction(length / float(INCH))} in" if units == "in" else round(length, 6)


def name_of(diameter: float) -> str | None:
    """Name that a drill [mm] is sold under, None where none is.

    Examples
    --------
    >>> name_of(6.35), name_of(6.123)
    ('1/4', None)
    """
    return next((name for name, size in drill_sizes().items() if abs(size - diameter) < SAME_DRILL), None)


def shop_set(recipe: Recipe, thickness: float) -> tuple[float, ...]:
    """Drills to try for ballast in a body so thick [mm]: the goal's own list, else the set of the recipe's ruler [mm].

    Sizes below the least that holds metal worth the name, or wider than a share of the body, are left out of a set.

    Common practice, no published source: the sets of ``drills.toml``, the bounds of ``ballast.toml`` [drills].
    """
    if recipe.goal is not None and recipe.goal.drills:
        return tuple(sorted(set(recipe.goal.drills)))
    table, rule = tables.load("drills"), tables.load("ballast")["drills"]
    sizes = [float(d) for d in (table["fractional_inch"]["mm"] if recipe.units == "in" else table["metric"]["set_mm"])]
    widest = float(rule["most_share_of_thickness"]) * thickness
    usual = tuple(d for d in sizes if float(rule["least_mm"]) <= d <= widest)
    if usual:
        return usual
    thin = [d for d in sizes if d <= widest]  # a thin body takes what drill it can
    return (max(thin) if thin else min(sizes),)


@dataclass(frozen=True, slots=True)
class Layout:
    """A recipe in which the depth of the bores at ``places`` (indices) is wanted, and of one also the place along x.

    ``moved`` is how far a bore of the recipe lies from its own place [mm].
    """

    recipe: Recipe
    places: tuple[int, ...]
    free_x: bool = False
    moved: float = 0.0

    @property
    def bores(self) -> tuple[Bore, ...]:
        """The bores that are wanted [mm], front first."""
        return tuple(self.recipe.bores[i] for i in self.places)

    def with_bores(self, bores: tuple[Bore, ...]) -> Recipe:
        """The recipe with these [mm] in the places of its own."""
        changed = dict(zip(self.places, bores, strict=True))
        return replace(self.recipe, bores=tuple(changed.get(i, b) for i, b in enumerate(self.recipe.bores)))


def mode_of(goal: Goal, recipe: Recipe) -> str:
    """How the bores may change where the goal does not say: the given ones if they are enough, else one that moves."""
    if goal.bores is not None:
        return goal.bores
    count = sum(bore.kind == "ballast" for bore in recipe.bores)
    return "given" if count >= wishes(goal) else "one"


def wishes(goal: Goal) -> int:
    """How many figures [-] the goal fixes: lift, pitch, waterline.

    Examples
    --------
    >>> wishes(Goal(state="suspends", pitch=0.1)), wishes(Goal(state="floats"))
    (2, 0)
    """
    lift = goal.state == "suspends" or any(
        value is not None for value in (goal.reserve, goal.suspends_at, goal.sinks_at, goal.rises_at)
    )
    return lift + (goal.pitch is not None) + (goal.waterline is not None)


def layouts(recipe: Recipe, goal: Goal, length: float, default_drill: float) -> tuple[tuple[Layout, ...], ...]:
    """Every layout to try, in rounds: a later round is for what no earlier one can have.

    Derived here: shares of the length are ``ballast.toml``'s [places].

    Parameters
    ----------
    recipe, goal : what is given and asked
    length : float
        Of the body [mm].
    default_drill : float
        For a recipe without a ballast bore to go by [mm].
    """
    mode = mode_of(goal, recipe)
    given = given_bores(recipe, length)
    if mode == "given" and given:
        alone = tuple(Layout(recipe, (i,)) for i in given)
        pairs = tuple(Layout(recipe, pair) for pair in combinations(given, 2))
        if not pairs:
            return (alone,)
        return (alone, pairs) if wishes(goal) == 1 else (pairs,)
    if mode == "two":
        return (_two(recipe, given, length, default_drill),)
    return _one(recipe, given, length, default_drill, several=wishes(goal) > 1)


def given_bores(recipe: Recipe, length: float) -> tuple[int, ...]:
    """Indices of the recipe's blind ballast bores, front first; ``length`` of the body [mm]."""
    found = [i for i, bore in enumerate(recipe.bores) if bore.kind == "ballast" and bore.depth is not None]
    return tuple(sorted(found, key=lambda i: along(recipe.bores[i], length)))


def _one(
    recipe: Recipe, given: tuple[int, ...], length: float, drill: float, *, several: bool
) -> tuple[tuple[Layout, ...], ...]:
    """One bore: in its own place, then elsewhere; for several wishes its place follows from them."""
    first = next((i for i in given if recipe.bores[i].entry in MOVABLE), None)
    if first is None:  # a bore in nose or tail cannot move: it stays as it is asked for, then another takes its turn
        alone = tuple(Layout(_without(recipe, given, keep=(i,)), (_index_after(given, i),)) for i in given)
        bare, place = _added(_without(recipe, given), _default_bore(recipe, length, drill))
        ahead = (alone,) if alone else ()
    else:
        bare, place, ahead = _without(recipe, given, keep=(first,)), _index_after(given, first), ()
    if several:
        return (*ahead, (Layout(bare, (place,), free_x=True),))
    own = along(bare.bores[place], length)
    shares = tables.load("ballast")["places"]["one"]
    places = {rounded(float(share) * length, recipe.units) for share in shares} - {own}
    moved = tuple(
        Layout(_with(bare, place, at_x(bare.bores[place], x)), (place,), moved=abs(x - own))
        for x in sorted(places, key=lambda x: abs(x - own))
    )
    return (*ahead, (Layout(bare, (place,)),), moved)


def _two(recipe: Recipe, given: tuple[int, ...], length: float, drill: float) -> tuple[Layout, ...]:
    """Two bores: the recipe's outermost, or its only one with another before or behind it."""
    if len(given) > 1:
        keep = (given[0], given[-1])
        bare = _without(recipe, given, keep=keep)
        return (Layout(bare, tuple(_index_after(given, i, keep) for i in keep)),)
    shares = tables.load("ballast")["places"]
    fronts, rears = ([rounded(float(s) * length, recipe.units) for s in shares[end]] for end in ("front", "rear"))
    own = recipe.bores[given[0]] if given else None
    if own is not None and own.entry not in MOVABLE:
        x = along(own, length)
        others = rears if x < length / 2 else fronts
        bare, place = _added(recipe, _default_bore(recipe, length, drill))
        pairs = [(given[0], place) if x < length / 2 else (place, given[0])]
        return tuple(Layout(_with(bare, place, at_x(bare.bores[place], o)), pair) for o in others for pair in pairs)
    out = []
    pattern = own if own is not None else replace(_default_bore(recipe, length, drill), name="front ballast")
    behind = along(pattern, length) > float(shares["behind"]) * length
    bare, first = (recipe, given[0]) if given else _added(recipe, pattern)
    other = replace(bare.bores[first], name=_free_name(bare, "front ballast" if behind else "rear ballast"))
    bare, second = _added(bare, other)
    if own is not None:  # where it is, before where it might be
        (rears if behind else fronts).insert(0, along(own, length))
    for front in fronts:
        for rear in rears:
            if front < rear:
                ends = (second, first) if behind else (first, second)
                moved = _with(bare, ends[0], at_x(bare.bores[ends[0]], front))
                out.append(Layout(_with(moved, ends[1], at_x(bare.bores[ends[1]], rear)), ends))
    return tuple(out)


def _without(recipe: Recipe, given: tuple[int, ...], keep: tuple[int, ...] = ()) -> Recipe:
    """The recipe without its ballast bores but those to ``keep``, every other bore in its order; none names them."""
    gone = set(given) - set(keep)
    names = {recipe.bores[i].name for i in gone}
    left = (b for i, b in enumerate(recipe.bores) if i not in gone)
    return replace(
        recipe, bores=tuple(replace(b, may_meet=tuple(n for n in b.may_meet if n not in names)) for b in left)
    )


def _index_after(given: tuple[int, ...], index: int, keep: tuple[int, ...] = ()) -> int:
    """Index of a bore once the ballast bores that are not kept are out."""
    return index - sum(i < index for i in given if i not in (*keep, index))


def _with(recipe: Recipe, place: int, bore: Bore) -> Recipe:
    return replace(recipe, bores=(*recipe.bores[:place], bore, *recipe.bores[place + 1 :]))


def _added(recipe: Recipe, bore: Bore) -> tuple[Recipe, int]:
    """The recipe with one bore more, behind all others as one that is written at the end of a file, and its index."""
    named = replace(bore, name=_free_name(recipe, bore.name))
    return replace(recipe, bores=(*recipe.bores, named)), len(recipe.bores)


def _free_name(recipe: Recipe, name: str) -> str:
    taken, count, free = {bore.name for bore in recipe.bores}, 2, name
    while free in taken:
        free, count = f"{name} {count}", count + 1
    return free


def _default_bore(recipe: Recipe, length: float, drill: float) -> Bore:
    x = rounded(0.4 * length, recipe.units)
    return Bore("ballast", "ballast", "belly", drill, drill, x=x, drill=name_of(drill), fill=Fill())


def along(bore: Bore, length: float) -> float:
    """Where along a body of this ``length`` a bore is [mm].

    Examples
    --------
    >>> [along(Bore("b", "any", entry, 6.0, 10.0, x=25.0), 60.0) for entry in ("belly", "tail")]
    [25.0, 60.0]
    """
    if bore.at is not None:
        return bore.at[0]
    return length if bore.entry == "tail" else float(bore.x or 0.0)


def at_x(bore: Bore, x: float) -> Bore:
    """The bore moved along the body to ``x`` [mm]; how it lies to the skin stays. One in nose or tail has no place.

    Examples
    --------
    >>> at_x(Bore("b", "any", "point", 6.0, 10.0, at=(20.0, 1.0, -5.0)), 25.0).at
    (25.0, 1.0, -5.0)
    """
    if bore.entry not in MOVABLE:
        return bore
    return replace(bore, at=(x, *bore.at[1:])) if bore.at is not None else replace(bore, x=x)


def drilled(bore: Bore, diameter: float) -> Bore:
    """The bore with another drill [mm]; a counterbore stays if it is still the wider one.

    Examples
    --------
    >>> wide = drilled(Bore("b", "any", "belly", 6.0, 10.0), 6.35)
    >>> wide.diameter, wide.drill
    (6.35, '1/4')
    """
    if abs(bore.diameter - diameter) < 1e-6:
        return bore
    wider = bore.counterbore if bore.counterbore is not None and bore.counterbore.diameter > diameter else None
    return replace(bore, diameter=diameter, drill=name_of(diameter), counterbore=wider)


def fills(bores: tuple[Bore, ...], goal: Goal) -> tuple[Fill | None, ...]:
    """Fills to try in bores, with their levels [-]: the goal's metal, or what is in each (None) and then the table's.

    Common practice, no published source (``ballast.toml`` [metals]).
    """
    own = own_fill(bores[0])
    table = tables.load("ballast")["metals"]
    placed = dict(zip(table["tried"], table["placed"], strict=True))
    if goal.metal is not None:
        if all(own_fill(bore).metal == goal.metal for bore in bores):
            return (None,)
        return (_of(own, goal.metal, placed.get(goal.metal, "slug")),)
    alike = len({own_fill(bore).metal for bore in bores}) == 1
    others = [_of(own, metal, way) for metal, way in placed.items() if not alike or metal != own.metal]
    return (None, *others)


def own_fill(bore: Bore) -> Fill:
    """What a bore is filled with, by volume [mm^3]: the mass off the scale was of the old depth."""
    return replace(bore.fill, mass=None) if bore.fill is not None else Fill()


def _of(own: Fill, metal: str, placed: str) -> Fill:
    clearance = own.clearance if placed == "slug" else 0.0
    return replace(own, metal=metal, placed="putty" if placed == "putty" else "slug", clearance=clearance)


def is_lead_free(fill: Fill) -> bool:
    """Whether the table calls the metal lead-free."""
    return bool(tables.load("metals")["metal"][fill.metal]["lead_free"])
