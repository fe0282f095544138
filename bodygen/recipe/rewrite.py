"""Changing a recipe that a maker wrote, comments kept; and copying one in another size.

Which lengths grow with a bait and which stay what the shop has is said in ``keys/``. tomlkit keeps every comment and
space.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import prod
from pathlib import Path
from typing import Any

from bodygen import units
from bodygen.errors import InputError, Mistake
from bodygen.recipe.keys import RECIPE, Key
from bodygen.recipe.model import MeshFile, Parameters, Recipe, Stations
from bodygen.recipe.read import read_recipe
from bodygen.recipe.readers.bores import drill_sizes
from bodygen.recipe.readers.items import label, sizes

WIRE_BORES = frozenset({"hanger", "tie", "through"})
DIGITS = 9
"""Behind the point of a scaled length: of a small fin in inches six are one part in ten million."""
DEEPEST = 12
"""Steps of a key path; no key of a recipe lies half as deep."""
_STEP = re.compile(r'(?P<key>[A-Za-z0-9_-]+)|"(?P<quoted>[^"]*)"|\[(?P<index>\d+)\]|\.')


@dataclass(frozen=True, slots=True)
class Copy:
    """A copied recipe's text, and the stations file that goes with it as (name, text), if there is one."""

    recipe: str
    stations: tuple[str, str] | None = None


def rewrite(path: Path | str, changes: Mapping[str, object | None]) -> str:
    """Change values by key path and keep everything else as the maker wrote it.

    Parameters
    ----------
    path : Path or str
        A recipe's file.
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
    path = Path(path)
    read_recipe(path)
    return rewritten(path.read_text(encoding="utf-8-sig"), changes, path.as_posix())


def rewritten(text: str, changes: Mapping[str, object | None], file: str = "") -> str:
    """Change values in a recipe's text as ``rewrite`` does in a file; it may have mistakes, but must be TOML.

    Raises
    ------
    InputError
        A path leads nowhere.
    """
    import tomlkit  # noqa: PLC0415 - 30 ms that weighing a bait does not need
    from tomlkit.items import AoT  # noqa: PLC0415 - as above

    document = tomlkit.parse(text)
    for key, value in changes.items():
        table: Any = document
        whole: Any = document
        *steps, last = _steps(key)
        problem = "no such place in this recipe."
        if -1 in {*steps, last} or len(steps) > DEEPEST:  # [0]: the first is [1], and none is counted from the end
            raise InputError([Mistake(file, 0, key, str(value), problem)])
        try:
            for step, after in pairwise([*steps, last]):
                if isinstance(step, str) and step not in table:
                    table[step] = tomlkit.table() if isinstance(after, str) else tomlkit.aot()
                whole, table = table, table[step]
            if isinstance(last, int) and (isinstance(value, Mapping) or (isinstance(table, AoT) and value is not None)):
                _put(table, last, value)
            elif value is None and isinstance(last, int):
                del table[last]
                if not table:  # an empty list of tables would stand as a key of its own
                    whole.pop(steps[-1])
            elif value is None:
                table.pop(last, None)
            else:
                table[last] = value
        except (KeyError, IndexError, TypeError):
            raise InputError([Mistake(file, 0, key, str(value), problem)]) from None
    return tomlkit.dumps(document)


def _put(array: Any, at: int, values: object) -> None:  # noqa: ANN401 - tomlkit's containers
    """Put a table of keys in an array's place ``at``, or behind its last."""
    import tomlkit  # noqa: PLC0415 - as above

    if not isinstance(values, Mapping):
        raise TypeError(values)
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
        Text of the recipe, and of the stations file if it has one. What grows is said in ``keys/``; the rest is left
        as it was, and a comment at the top says so. What another bait weighed is left out.

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
        _grow(document, RECIPE, Fraction(factor).limit_denominator(10**6), recipe.units)
        _board(document, recipe)
        document.pop("weighed", None)
    head = f"# A copy of {source.name}"
    if factor != 1.0:
        head += (
            f", {factor:.4g} times its size. Lengths of the body and places on it have grown;\n"
            "# bores for metal, air and eyes too, by the nearest drill and eye. What holds wire or is bought has not:\n"
            "# hangers, ties, sheet, kerfs, hooks, rings, coats, a goal's mass: check each. What the old bait weighed\n"
            "# is left out."
        )
    return Copy(f"{head}\n\n{tomlkit.dumps(document).lstrip()}", stations)


def _board(document: Any, recipe: Recipe) -> None:  # noqa: ANN401 - as below
    """Let the weighed blank stand for its density: the copy is cut from another."""
    if recipe.wood.blank_mass is not None and recipe.wood.blank_size is not None:
        del document["wood"]["blank"]
        density = recipe.wood.blank_mass / prod(recipe.wood.blank_size) * 1000
        document["wood"].setdefault("density_g_cm3", round(density, 4))


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


def _grow(table: Any, keys: Mapping[str, Key], factor: Fraction, ruler: str) -> None:  # noqa: ANN401 - tomlkit's
    """Scale every growing value below a table, in place; a reading of the old bait is taken out."""
    for name in list(table):
        value, key = table[name], keys[name]
        if key.table:
            for one in value if key.kind == "tables" else [value]:
                _grow(one, key.table, factor, ruler)
        elif key.grows == "reading":
            table.pop(name)
        elif key.grows == "drill" and table.get("kind") not in WIRE_BORES:
            table[name] = _with_comment(
                value, _drilled(value, factor, ruler) if name == "drill" else _times(value, factor)
            )
        elif key.grows == "eye" and table.get("kind") == "eye":
            table[name] = _with_comment(value, _eye(value, factor, ruler))
        elif key.grows in {"lengths", "x"} and isinstance(value, dict):  # a curve's points, or back and belly apart
            for part in [part for part in value if part != "fractions"]:
                value[part] = _grown(value[part], key, factor)
        elif key.grows in {"lengths", "x"} or (key.grows == "wire" and table.get("kind") == "wire"):
            table[name] = _grown(value, key, factor)


def _grown(value: Any, key: Key, factor: Fraction) -> Any:  # noqa: ANN401 - tomlkit's items have no common type
    """Scale one growing value, a list of them, or the places in a list of points."""
    if key.kind == "other" and not isinstance(value, list):  # an outline's name, or one squareness for all
        return value
    if key.grows == "x":
        return _with_comment(value, [[_times(x, factor) if isinstance(x, str) else x, *rest] for x, *rest in value])
    return _with_comment(value, _each(value, lambda one: _times(one, factor)))


def _drilled(value: object, factor: Fraction, ruler: str) -> str:
    """Name the nearest drill of the set that the written one is from: fractions of an inch, numbers or mm."""
    named = {name: size for name, size in drill_sizes().items() if _set_of(name) == _set_of(str(value))}
    name = str(value).replace(" in", "").strip()
    size = named.get(name, units.length(value, "in" if "/" in str(value) else ruler)) * float(factor)
    return min(named, key=lambda drill: abs(named[drill] - size))


def _set_of(drill: str) -> str:
    return "#" if drill.startswith("#") or drill.isalpha() else "in" if "/" in drill else "mm"


def _eye(value: str, factor: Fraction, ruler: str) -> str:
    """Name the nearest eye of the table, of the same stuff."""
    found = label("eye", value, ruler)
    if found is None:
        return value
    diameter, _, stuff = found.split()
    wanted = float(diameter) * float(factor)
    return min((eye for eye in sizes("eye") if eye.endswith(stuff)), key=lambda e: abs(float(e.split()[0]) - wanted))


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
        return int(grown) if grown.is_integer() else round(grown, DIGITS)
    unit = re.search(r"[^\d\s./-].*$", value)
    name = unit[0] if unit else "mm"
    number = (
        units.fraction(value if unit else f"{value} mm", "length", "mm") * factor / units.fraction(1, "length", name)
    )
    if name in {"in", "inch", '"'} and (number * 64).denominator == 1:
        text = units.inch_fraction(float(number))
    else:
        text = f"{float(number):.{DIGITS}f}".rstrip("0").rstrip(".")
    return f"{text} {unit[0]}" if unit else text


def _scaled_stations(stations: Stations, factor: float) -> str:
    """Write the stations in another size."""
    rows = [(*(size * factor for size in row[:4]), row[4]) for row in stations.rows]
    head = "x_mm,top_mm,bottom_mm,half_width_mm,squareness"
    if stations.lower:
        head += "_back,squareness_belly,widest_mm"
        rows = [
            (*row, belly, row[2] + share * (row[1] - row[2]))
            for row, (belly, share) in zip(rows, stations.lower, strict=True)
        ]
    lines = [",".join(f"{value:.10g}" for value in row) for row in rows]
    return "\n".join([head, *lines, ""])


def file_name(name: str) -> str:
    """Make a plain file name of a bait's name, without its ending."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "copy"
