"""Changing a recipe that a maker wrote, comments kept; and copying one in another size.

Knows which lengths grow with a bait and which stay what the shop has. tomlkit keeps every comment and space.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from bodygen import units
from bodygen.errors import InputError, Mistake
from bodygen.recipe.model import MeshFile, Parameters, Recipe, Stations
from bodygen.recipe.read import read_recipe

# Key paths without numbers: "bore.x" is x of every [[bore]]. Drills, sheets, hooks, coats and clearances stay.
GROWING = frozenset({
    *(f"shape.{key}" for key in ("length", "depth", "thickness")),
    *(f"shape.{key}.points" for key in ("back", "belly", "plan", "widest")),
    *("shape.flat_side.height", "shape.flat_side.edge_radius"),
    *(f"bore.{key}" for key in ("x", "offset", "height", "at", "depth", "counterbore.depth")),
    *(f"wire_slot.{key}" for key in ("start", "end", "depth", "floor")),
    *(f"lip.{key}" for key in ("x", "height", "slot_depth", "slot_width", "length", "width", "points")),
    *("lip.corner_radius", "lip.tongue_width", "lip.mouth.height", "lip.mouth.depth", "lip.tie_hole.distance"),
    *("fitting.at", "fitting.length"),
    *(f"mask.{key}" for key in ("start", "end", "width", "x")),
})
GROWING_X = frozenset({"shape.squareness", "shape.squareness.back", "shape.squareness.belly"})  # x as a length only
_STEP = re.compile(r'(?P<key>[A-Za-z0-9_-]+)|"(?P<quoted>[^"]*)"|\[(?P<index>\d+)\]|\.')


@dataclass(frozen=True, slots=True)
class Copy:
    """A copied recipe's text, and the stations file that goes with it as (name, text), if there is one."""

    recipe: str
    stations: tuple[str, str] | None = None


def rewrite(path: Path, changes: Mapping[str, object | None]) -> str:
    """Change values by key path and keep everything else as the maker wrote it.

    Parameters
    ----------
    path : Path
        A recipe.
    changes : Mapping[str, object]
        Key path (``shape.length``, ``bore[2].depth``) to the new value, in TOML's own types; None takes the key out. A
        key that is not there is added; a table that is not there is made. An array's element must be there, but for a
        whole one (a mapping) at the end of the array, which it is put behind.

    Returns
    -------
    str
        The new text; nothing is written.

    Raises
    ------
    InputError
        The file has mistakes, or a path leads nowhere.
    """
    import tomlkit  # noqa: PLC0415 - 30 ms that weighing a bait does not need

    read_recipe(path)
    document = tomlkit.parse(path.read_text(encoding="utf-8-sig"))
    for key, value in changes.items():
        table: Any = document
        *steps, last = _steps(key)
        try:
            for step, after in zip(steps, [*steps[1:], last], strict=True):
                if isinstance(step, str) and step not in table:
                    table[step] = tomlkit.table() if isinstance(after, str) else tomlkit.aot()
                table = table[step]
            if isinstance(last, int) and isinstance(value, Mapping):
                _put(table, last, value)
            elif value is None and isinstance(last, int):
                del table[last]
            elif value is None:
                table.pop(last, None)
            else:
                table[last] = value
        except (KeyError, IndexError, TypeError):
            problem = "no such place in this recipe."
            raise InputError([Mistake(path.as_posix(), 0, key, str(value), problem)]) from None
    return tomlkit.dumps(document)


def _put(array: Any, at: int, values: Mapping[str, object]) -> None:  # noqa: ANN401 - tomlkit's containers
    """Put a table of keys in an array's place ``at``, or behind its last."""
    import tomlkit  # noqa: PLC0415 - as above

    table = tomlkit.table()
    for key, value in values.items():
        table[key] = value
    if at == len(array):
        array.append(table)
    else:
        array[at] = table


def copy_recipe(source: Path, name: str, *, factor: float | None = None, length: float | None = None) -> Copy:
    """Copy a recipe under another name, larger or smaller.

    Parameters
    ----------
    source : Path
        The recipe to copy.
    name : str
        The copy's name.
    factor : float, optional
        Growth of every length of the body and of what is placed on it [-].
    length : float, optional
        The body's new length instead [mm].

    Returns
    -------
    Copy
        Text of the recipe, and of the stations file if it has one. Drills, sheet, kerfs, hooks, rings, coats and masses
        are left as they were, and a comment at the top says so; ``[weighed]`` is left out, being another bait's.

    Raises
    ------
    InputError
        The source has mistakes, or its shape is a mesh and another size is asked for.
    """
    import tomlkit  # noqa: PLC0415 - as above

    recipe = read_recipe(source)
    if factor is None:
        factor = 1.0 if length is None else length / _length(recipe, source)
    document = tomlkit.parse(source.read_text(encoding="utf-8-sig"))
    document["name"] = name
    stations = None
    if isinstance(recipe.shape, Stations):
        stations = (f"{file_name(name)}.csv", _scaled_stations(recipe.shape, factor))
        document["shape"]["stations"] = stations[0]
    if factor != 1.0:
        document.pop("weighed", None)
        _grow(document, "", Fraction(factor).limit_denominator(10**6))
    head = f"# A copy of {source.name}"
    if factor != 1.0:
        head += (
            f", {factor:.4g} times its size. Lengths of the body and places on it have grown;\n"
            "# drills, diameters, sheet thickness, kerfs, fits, hooks, rings, coats and masses have not: check each."
        )
    return Copy(f"{head}\n\n{tomlkit.dumps(document).lstrip()}", stations)


def _steps(path: str) -> list[str | int]:
    """Split a key path into keys and indices from 0."""
    steps: list[str | int] = []
    for match in _STEP.finditer(path):
        if match["index"]:
            steps.append(int(match["index"]) - 1)
        elif match["key"] or match["quoted"]:
            steps.append(match["key"] or match["quoted"])
    return steps or [""]


def _length(recipe: Recipe, source: Path) -> float:
    """Body length before the copy [mm]."""
    if isinstance(recipe.shape, Parameters):
        return recipe.shape.length
    if isinstance(recipe.shape, Stations):
        return recipe.shape.rows[-1][0]
    return _no_mesh(recipe.shape, source)


def _no_mesh(shape: MeshFile, source: Path) -> float:
    problem = "a mesh is taken as it is; its size cannot be changed from here."
    line = "shape.mesh"
    raise InputError([Mistake(source.as_posix(), 0, line, shape.path.name, problem, "scale the mesh itself")])


def _grow(table: Any, path: str, factor: Fraction) -> None:  # noqa: ANN401 - tomlkit's containers have no common type
    """Scale every growing value below a table, in place."""
    for key in list(table):
        value, here = table[key], f"{path}.{key}" if path else key
        if here in GROWING:
            table[key] = _with_comment(value, _each(value, lambda one: _times(one, factor)))
        elif here in GROWING_X and isinstance(value, list):
            rows = [[_times(x, factor) if isinstance(x, str) else x, *rest] for x, *rest in value]
            table[key] = _with_comment(value, rows)
        elif isinstance(value, Mapping):
            _grow(value, here, factor)
        elif isinstance(value, list):
            for one in value:
                if isinstance(one, Mapping):
                    _grow(one, here, factor)


def _with_comment(old: Any, new: object) -> object:  # noqa: ANN401 - any of tomlkit's items
    """Give a new value the comment behind the old one."""
    import tomlkit  # noqa: PLC0415 - as above

    item = tomlkit.item(new)
    item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    return item


def _each(value: object, change: Callable[[object], object]) -> object:
    """Change every value in a list of lists; the word "corner" stays."""
    if isinstance(value, list):
        return [_each(one, change) for one in value]
    return value if value == "corner" else change(value)


def _times(value: object, factor: Fraction) -> object:
    """Scale a length as it is written: its unit stays, inches stay fractions where 1/64 says it exactly."""
    if not isinstance(value, str):
        grown = float(Fraction(str(value)) * factor)
        return int(grown) if grown.is_integer() else round(grown, 6)
    unit = re.search(r"[^\d\s./-].*$", value)
    name = unit[0] if unit else "mm"
    number = (
        units.fraction(value if unit else f"{value} mm", "length", "mm") * factor / units.fraction(1, "length", name)
    )
    if name in {"in", "inch", '"'} and (number * 64).denominator == 1:
        text = units.inch_fraction(float(number))
    else:
        text = f"{float(number):.6f}".rstrip("0").rstrip(".")
    return f"{text} {unit[0]}" if unit else text


def _scaled_stations(stations: Stations, factor: float) -> str:
    """Write the stations in another size."""
    rows = [(*(round(size * factor, 5) for size in row[:4]), row[4]) for row in stations.rows]
    lines = [",".join(f"{value:.7g}" for value in row) for row in rows]
    return "\n".join(["x_mm,top_mm,bottom_mm,half_width_mm,squareness", *lines, ""])


def file_name(name: str) -> str:
    """Make a plain file name of a bait's name, without its ending."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "copy"
