"""Which bores a search may change: the recipe's own, one whose place is found, or one in front and one behind.

Knows recipes, drills and metals to try. Knows nothing of weights: every layout is a question, not yet an answer.
"""

from dataclasses import dataclass, replace

from bodygen import tables
from bodygen.ballast.drills import name_of, rounded
from bodygen.recipe.model import Bore, Fill, Goal, Recipe

MODES = ("given", "one", "two")


@dataclass(frozen=True, slots=True)
class Layout:
    """A recipe in which the depth of the bores at ``places`` (indices) is wanted, and of one also the place along x."""

    recipe: Recipe
    places: tuple[int, ...]
    free_x: bool = False

    @property
    def bores(self) -> tuple[Bore, ...]:
        """The bores that are wanted, front first."""
        return tuple(self.recipe.bores[i] for i in self.places)

    def with_bores(self, bores: tuple[Bore, ...]) -> Recipe:
        """The recipe with these in the places of its own."""
        changed = dict(zip(self.places, bores, strict=True))
        return replace(self.recipe, bores=tuple(changed.get(i, b) for i, b in enumerate(self.recipe.bores)))


def mode_of(goal: Goal, recipe: Recipe) -> str:
    """How the bores may change where the goal does not say: the given ones if they are enough, else one that moves."""
    if goal.bores is not None:
        return goal.bores
    count = sum(bore.kind == "ballast" for bore in recipe.bores)
    return "given" if count >= wishes(goal) else "one"


def wishes(goal: Goal) -> int:
    """How many figures the goal fixes: lift, pitch, waterline."""
    lift = goal.state == "suspends" or any(
        value is not None for value in (goal.reserve, goal.suspends_at, goal.sinks_at, goal.rises_at)
    )
    return lift + (goal.pitch is not None) + (goal.waterline is not None)


def layouts(recipe: Recipe, goal: Goal, length: float, usual_drill: float) -> tuple[Layout, ...]:
    """Every layout to try.

    Parameters
    ----------
    recipe, goal : what is given and asked
    length : float
        Of the body [mm].
    usual_drill : float
        For a recipe without a ballast bore to go by [mm].
    """
    mode = mode_of(goal, recipe)
    given = tuple(i for i, bore in enumerate(recipe.bores) if bore.kind == "ballast" and bore.depth is not None)
    if mode == "given" and given:
        if wishes(goal) == 1 or len(given) == 1:
            return tuple(Layout(recipe, (i,)) for i in given)
        order = sorted(given, key=lambda i: along(recipe.bores[i]))
        return (Layout(recipe, (order[0], order[-1])),)
    pattern = recipe.bores[given[0]] if given else _usual_bore(recipe, length, usual_drill)
    rest = tuple(bore for i, bore in enumerate(recipe.bores) if i not in given)
    if mode != "two":
        return (Layout(replace(recipe, bores=(pattern, *rest)), (0,), free_x=wishes(goal) > 1),)
    shares = tables.load("ballast")["places"]
    fronts, rears = ([rounded(float(s) * length, recipe.units) for s in shares[end]] for end in ("front", "rear"))
    if len(given) > 1:
        xs = sorted(along(recipe.bores[i]) for i in given)
        fronts, rears = [xs[0]], [xs[-1]]
    return tuple(
        Layout(replace(recipe, bores=(*_pair(pattern, front, rear), *rest)), (0, 1))
        for front in fronts
        for rear in rears
    )


def _pair(pattern: Bore, front: float, rear: float) -> tuple[Bore, Bore]:
    first, second = at_x(pattern, front), at_x(pattern, rear)
    return replace(first, name="front ballast"), replace(second, name="rear ballast")


def _usual_bore(recipe: Recipe, length: float, drill: float) -> Bore:
    x = rounded(0.4 * length, recipe.units)
    return Bore("ballast", "ballast", "belly", drill, drill, x=x, drill=name_of(drill), fill=Fill())


def along(bore: Bore) -> float:
    """Where along the body a bore is [mm]."""
    return bore.at[0] if bore.at is not None else float(bore.x or 0.0)


def at_x(bore: Bore, x: float) -> Bore:
    """The bore moved along the body to ``x`` [mm]; how it lies to the skin stays."""
    return replace(bore, at=(x, *bore.at[1:])) if bore.at is not None else replace(bore, x=x)


def drilled(bore: Bore, diameter: float) -> Bore:
    """The bore with another drill [mm]; a counterbore stays if it is still the wider one."""
    if abs(bore.diameter - diameter) < 1e-6:
        return bore
    wider = bore.counterbore if bore.counterbore is not None and bore.counterbore.diameter > diameter else None
    return replace(bore, diameter=diameter, drill=name_of(diameter), counterbore=wider)


def fills(bore: Bore, goal: Goal) -> tuple[Fill, ...]:
    """Fills to try in a bore: the goal's metal alone, or the recipe's first and then the table's."""
    own = replace(bore.fill, mass=None) if bore.fill is not None else Fill()
    table = tables.load("ballast")["metals"]
    placed = dict(zip(table["tried"], table["placed"], strict=True))
    if goal.metal is not None:
        return (own if own.metal == goal.metal else _of(own, goal.metal, placed.get(goal.metal, "slug")),)
    others = [_of(own, metal, way) for metal, way in placed.items() if metal != own.metal]
    return (own, *others)


def _of(own: Fill, metal: str, placed: str) -> Fill:
    clearance = own.clearance if placed == "slug" else 0.0
    return replace(own, metal=metal, placed="putty" if placed == "putty" else "slug", clearance=clearance)


def is_lead_free(fill: Fill) -> bool:
    """Whether the table calls the metal lead-free."""
    return bool(tables.load("metals")["metal"][fill.metal]["lead_free"])
