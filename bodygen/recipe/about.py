"""What is said of each key: what it accepts, what stands for it when left out, how a line of it looks.

README's reference, ``bodygen explain`` and the schema are made from these words. Reads no recipe.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields
from math import degrees
from typing import Any

from bodygen import tables
from bodygen.recipe import model
from bodygen.recipe.keys import RECIPE, Key, bounds
from bodygen.recipe.readers.shop import cutters_sold
from bodygen.tables.told import millimetres, told

MODELS: Mapping[str, type] = {
    "shape": model.Parameters,
    "wood": model.Wood,
    "bore": model.Bore,
    "bore.fill": model.Fill,
    "wire_slot": model.WireSlot,
    "lip": model.Lip,
    "lip.cutting": model.Cutting,
    "fitting": model.Fitting,
    "fitting.bent": model.Bent,
    "fitting.bent.trial_bend": model.TrialBend,
    "coat": model.Coat,
    "finish": model.Finish,
    "water": model.Water,
}
"""Where the reader puts the keys of a table; those of all other tables have no value of their own when left out."""
FIELDS = {"from": "entry"}
UNIT = {"mass": "g", "angle": "deg", "temperature": "degC", "speed": "m/s", "density": "g/cm3", "percent": "%"}
FORMS = {
    "outline": "a family's name; { points = [[x, height], ...] } in lengths; or { fractions = [[x, height], ...] } "
    "from 0 to 1",
    "widest": "{ points = [[x, height], ...] } in lengths, or { fractions = [[x, height], ...] }, heights from -1 to 1",
    "squareness": "a number from 1 to 10; a list of [x, number]; or { back = ..., belly = ... } with either",
    "drill": '"1/4", "#56" (#1 to #80), "F" (A to Z) or "6.3 mm"',
    "plate": "two or more [distance, half width], the first at distance 0",
    "corners": "three or more [x, y]",
    "speeds": "a number, or a list of them",
    "date": '"2031-03-04", year-month-day',
    "clock": '"18:30", from 00:00 to 23:59',
    "colour": 'a name of CSS Color Module Level 4, such as "olivedrab", or "#6b8e23"',
}
NAMED: Mapping[str, Callable[[], Iterable[str]]] = {
    "wood": lambda: tables.load("woods")["wood"],
    "metal": lambda: tables.load("metals")["metal"],
    "sheet": lambda: (name for name, row in tables.load("sheet")["sheet"].items() if "lip" in row["use"]),
    "finish": lambda: tables.load("coatings")["coat"],
    "drying": lambda: tables.load("finishes")["finish"],
    "viscosity": lambda: tables.load("finishes")["viscosity"],
    "lip": lambda: (*tables.load("outlines")["lip"], "points"),
    "flat": lambda: cutters_sold("flat").values(),
    "ball": lambda: cutters_sold("ball").values(),
}


def every_key(keys: Mapping[str, Key] = RECIPE, above: str = "") -> Iterator[tuple[str, Key]]:
    """Every key with its path, ``bore.fill.metal``; a table stands before its keys."""
    for name, key in keys.items():
        yield f"{above}{name}", key
        yield from every_key(key.table, f"{above}{name}.")


def names_of(key: Key) -> tuple[str, ...]:
    """Give the names that a text may be one of; none where any text will do."""
    if key.form == "outline":
        return tuple(tables.load("outlines")["outline"])
    return tuple(NAMED[key.names]()) if key.names else ()


def unit_of(key: Key) -> str:
    """Give the unit of a key's bounds, and of a bare number in a file in mm; "" for what has none."""
    return key.unit or ("mm" if key.kind in {"length", "lengths"} else UNIT.get(key.kind, ""))


def accepted(key: Key) -> str:
    """Say in a few words what a key takes, with its bounds.

    >>> accepted(RECIPE["bore"].table["depth"])
    'length, 0.3 to 200 mm'
    """
    span = ""
    if key.bounds:
        least, most = bounds(key.bounds)
        span = f", {least:g} to {most:g} {unit_of(key)}".rstrip()
    words = [f'"{word}"' for word in key.choices]
    return {
        "choice": " or ".join(filter(None, (", ".join(words[:-1]), *words[-1:]))),
        "flag": "true or false",
        "text": f"a name: {', '.join(names_of(key))}" if key.names else "text",
        "names": "list of names",
        "lengths": f"{key.count} lengths{span}",
        "numbers": f"{key.count} numbers{span}",
        "table": f"a table with {', '.join(key.table)}",
        "tables": f"tables with {', '.join(key.table)}",
        "other": FORMS.get(key.form, "") + span,
        "whole": f"whole number{span}",
    }.get(key.kind, f"{key.kind}{span}")


def left_out(path: str, key: Key) -> str:
    """Say what stands for a key that is not written; "" for a table, and where it must be there.

    >>> left_out("lip.fit", RECIPE["lip"].table["fit"])
    '0.1 mm'
    """
    if key.left_out:
        return told(key.left_out)
    table, _, name = path.rpartition(".")
    field = FIELDS.get(name, name)
    given = {one.name: one.default for one in fields(MODELS[table])} if table in MODELS else {}
    return "" if key.required or key.table else _shown(key, given[field])


def example(path: str, key: Key) -> str:
    """Show a line with this key below the header of its table, as a recipe has them.

    >>> print(example("lip.bend.angle", RECIPE["lip"].table["bend"].table["angle"]))
    [lip.bend]
    angle = "6 deg"
    """
    if not key.table:
        table, _, name = path.rpartition(".")
        line = f"{name} = {toml(key.example)}"
        return f"{header(table)}\n{line}" if table else line
    needed = [(name, one) for name, one in key.table.items() if one.required and not one.table]
    shown = needed or [(name, one) for name, one in key.table.items() if not one.table][:1]
    return "\n".join([header(path), *(f"{name} = {toml(one.example)}" for name, one in shown)])


def header(path: str) -> str:
    """Write the header of a table as a recipe has it; of a table without keys of its own none is needed."""
    return f"[[{path}]]" if "." not in path and RECIPE[path].kind == "tables" else f"[{path}]"


def toml(value: object) -> str:
    """Write a plain value as TOML has it."""
    match value:
        case dict():
            return "{ " + ", ".join(f"{name} = {toml(one)}" for name, one in value.items()) + " }"
        case list():
            return "[" + ", ".join(toml(one) for one in value) + "]"
        case _:
            return json.dumps(value, ensure_ascii=False)


def _shown(key: Key, value: Any) -> str:  # noqa: ANN401  a field's default may be anything
    """Show a field's default [mm, rad, ...] in the unit of its key."""
    if key.kind in {"length", "lengths"}:
        return millimetres(list(value) if isinstance(value, tuple) else value)
    if key.kind == "choice" or isinstance(value, str | bool):
        return json.dumps(value)
    return f"{degrees(value) if key.kind == 'angle' else value:g} {unit_of(key)}".rstrip()
