"""What of a lip and its tie can be moved, how far and in which steps of the maker's ruler, and what to write for it.

Knows the recipe and its keys. Knows nothing of depths.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import degrees, radians
from typing import Literal

from bodygen.recipe.keys.key import bounds
from bodygen.recipe.model import Lip, Recipe
from bodygen.tables import load
from bodygen.units import INCH, inch_fraction

Variable = Literal["length", "width", "angle", "tie"]
VARIABLES: tuple[Variable, ...] = ("length", "width", "angle", "tie")
INCH_STEP = float(INCH) / 64


@dataclass(frozen=True, slots=True)
class Moved:
    """A changed recipe, its ``changes`` as a recipe writes them (None: take the key out), and how far [mm, deg]."""

    recipe: Recipe
    changes: Mapping[str, object]
    by: Mapping[Variable, float]


def sized(lip: Lip, length: float | None = None, width: float | None = None, angle: float | None = None) -> Lip:
    """A lip of another length, width [mm] or angle [rad]: points drawn for it grow along, a weighed plate is none.

    Elementary.
    """
    new = replace(lip, length=length or lip.length, width=width or lip.width)
    new = new if angle is None else replace(new, angle=angle)
    if (new.length, new.width) == (lip.length, lip.width):
        return new
    long, wide = new.length / lip.length, new.width / lip.width
    return replace(new, points=tuple((x * long, y * wide) for x, y in lip.points), mass=None)


def reach_of(recipe: Recipe, name: Variable) -> tuple[int, int]:
    """Least and most steps of a variable."""
    row, lip = load("fishing")["aim"], recipe.lip
    if lip is None or (name == "tie" and _tie(recipe) is None):
        return 0, 0
    step = step_of(recipe, name)
    if name == "angle":
        now = degrees(lip.angle)
        return -max(int((now - row["angle_deg"][0]) / step), 0), max(int((row["angle_deg"][1] - now) / step), 0)
    if name == "tie":
        most = int(row["tie_mm"] / step)
        return (-most, most) if lip.tie_hole is None else _readable(lip.tie_hole.distance, step, -most, most)
    now = float(getattr(lip, name))
    low, high = (int(now * (share - 1) / step) for share in row["size_share"])
    return _readable(now, step, low, high)


def _readable(now: float, step: float, low: int, high: int) -> tuple[int, int]:
    """Of so many steps those that a recipe of the lip's sizes accepts, whichever way the ruler rounds [mm]."""
    least, most = bounds("lip_size_mm")
    return max(low, -max(int((now - least) / step - 0.5), 0)), min(high, max(int((most - now) / step - 0.5), 0))


def step_of(recipe: Recipe, name: Variable) -> float:
    """One step of a variable [mm, deg]."""
    row = load("fishing")["aim"]
    if name == "angle":
        return float(row["angle_step_deg"])
    if recipe.units == "in":
        return INCH_STEP
    return float(row["tie_step_mm" if name == "tie" else "size_step_mm"])


def steps_of(recipe: Recipe, name: Variable, by: float) -> int:
    """How many steps a move [mm, deg] is."""
    return round(by / step_of(recipe, name))


def _tie(recipe: Recipe) -> tuple[str, float] | None:
    """The key that moves the line tie, and what it is [mm]: the hole's distance in the plate, or the bore's place."""
    if recipe.lip is not None and recipe.lip.tie_hole is not None:
        return "lip.tie_hole.distance", recipe.lip.tie_hole.distance
    for number, bore in enumerate(recipe.bores, 1):
        if bore.kind == "tie" and bore.entry == "nose":
            return f"bore[{number}].height", bore.height
        if bore.kind == "tie" and bore.x is not None:
            return f"bore[{number}].x", bore.x
    return None


def moved_by(recipe: Recipe, steps: Mapping[Variable, int]) -> Moved | None:
    """The recipe with variables moved by steps of its ruler [mm, deg]; None without a lip."""
    lip = recipe.lip
    if lip is None:
        return None
    changes: dict[str, object] = {}
    moved: dict[Variable, float] = {}
    sizes: dict[str, float] = {}
    for name, count in steps.items():
        step = step_of(recipe, name)
        if name == "angle":
            new = round(degrees(lip.angle) / step + count) * step
            changes["lip.angle"], moved[name] = f"{new:g} deg", new - degrees(lip.angle)
            lip = sized(lip, angle=radians(new))
        elif name in {"length", "width"}:
            old = getattr(lip, name)
            changes[f"lip.{name}"], sizes[name] = _on_the_ruler(old + count * step, recipe, step)
            moved[name] = sizes[name] - old
    if sizes:
        old_lip, lip = lip, sized(lip, **sizes)
        changes |= {"lip.mass": None} if old_lip.mass is not None else {}
        if lip.points:
            lip = replace(lip, points=tuple((round(x, 3), round(y, 3)) for x, y in lip.points))
            lip = replace(lip, length=max(x for x, _ in lip.points), width=2 * max(y for _, y in lip.points))
            written = recipe.source.lines if recipe.source else ("lip.length", "lip.width")
            for key in ("lip.length", "lip.width"):  # which would stretch them
                changes.pop(key, None)
                changes |= {key: None} if key in written else {}
            changes |= {"lip.points": [[f"{x:g} mm", f"{y:g} mm"] for x, y in lip.points]}
    recipe = replace(recipe, lip=lip)
    if "tie" in steps:
        recipe, key, text, by = _moved_tie(recipe, steps["tie"])
        changes[key], moved["tie"] = text, by
    return Moved(recipe, changes, moved)


def _moved_tie(recipe: Recipe, count: int) -> tuple[Recipe, str, str, float]:
    tie = _tie(recipe)
    if tie is None or recipe.lip is None:
        return recipe, "", "", 0.0
    key, old = tie
    text, new = _on_the_ruler(old + count * step_of(recipe, "tie"), recipe, step_of(recipe, "tie"))
    if key.startswith("lip") and recipe.lip.tie_hole is not None:
        lip = replace(recipe.lip, tie_hole=replace(recipe.lip.tie_hole, distance=new))
        return replace(recipe, lip=lip), key, text, new - old
    number = int(key[5 : key.index("]")]) - 1
    bore = recipe.bores[number]
    bore = replace(bore, height=new) if key.endswith("height") else replace(bore, x=new)
    bores = (*recipe.bores[:number], bore, *recipe.bores[number + 1 :])
    return replace(recipe, bores=bores), key, text, new - old


def _on_the_ruler(length: float, recipe: Recipe, step: float) -> tuple[str, float]:
    """A length [mm] at the nearest mark, as a recipe writes it, and what that reads as."""
    new = round(length / step) * step
    return (f"{inch_fraction(new / float(INCH))} in", new) if recipe.units == "in" else (f"{new:g} mm", new)
