"""The recipe as fields in the order of the bench: each key with what is written, what may be, and what it means."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from math import floor, log10
from typing import Any, cast

from bodygen.findings import Finding
from bodygen.recipe.about import every_key, left_out, names_of, toml, unit_of
from bodygen.recipe.keys import RECIPE, Key, bounds
from bodygen.recipe.text.read_context import MM_MIN, QUANTITIES
from bodygen.recipe.text.source_positions import spans
from bodygen.serve.answer.more import more_of, outs_of
from bodygen.units import INCH, MM_PER_M, Quantity, fraction

KEYS: Mapping[str, Key] = dict(every_key())
GROUPS = {
    "body": "Body",
    "wood": "Wood",
    "metal": "Metal",
    "lip": "Lip and line",
    "hooks": "Hooks and wire",
    "finish": "Finish",
    "tub": "Tub",
}
"""In the order of the bench."""
_OF_TABLE = {
    "": "body",
    "shape": "body",
    "wood": "wood",
    "limits": "wood",
    "shop": "wood",
    "lip": "lip",
    "line": "lip",
    "retrieve": "lip",
    "wire_slot": "hooks",
    "fitting": "hooks",
    "coat": "finish",
    "mask": "finish",
    "paint": "finish",
    "finish": "finish",
    "water": "tub",
    "goal": "tub",
    "weighed": "tub",
}
_OF_BORE = {"ballast": "metal", "rattle": "metal", "hanger": "hooks", "tie": "hooks", "through": "hooks"}
_KINDS = {"temperature": "number", "speed": "number", "percent": "number", "whole": "number", "flag": "switch"}
_STEPS = {"mm": 0.1, "in": 1 / 64, "deg": 0.5, "g": 0.01, "g/cm3": 0.005}
UNITS_IN_NAMES = (" g cm3", " cm3", " percent")
"""Of keys that end in their unit: on the page it stands on the ruler, and what is written may be in another."""
LEAST_ON_A_RULE_IN = 0.25
"""Room under that is told in thousandths: fits and films."""
FINEST = 200
"""A ruler has at least so many steps."""


@dataclass(frozen=True, slots=True)
class RecipeTable:
    """One table of the recipe: its key path, what it is called, its keys, the group that it stands in."""

    path: str
    name: str
    keys: Mapping[str, Key]
    group: str
    raw: Mapping[str, Any]


def groups_of(text: str, units: str, findings: Sequence[Finding], length_mm: float) -> list[dict[str, Any]]:
    """Every group with its fields, with what may be put in, and which tables may be taken out.

    ``findings`` are numbered as they stand, the body is ``length_mm`` long.
    The text must be TOML, as that of every recipe is that was read.
    """
    raw, where = tomllib.loads(text, parse_float=Decimal), spans(text)
    doubts = [key_of_finding(finding.where) for finding in findings]
    filled: dict[str, list[dict[str, Any]]] = {group: [] for group in GROUPS}
    for part in _parts(raw):
        fields = [
            _field(part, name, key, units, text, where, length_mm) for name, key in part.keys.items() if not key.table
        ]
        for field in fields:
            field["findings"] = [n for n, key in enumerate(doubts) if key == field["key"]]
        of_all = [n for n, key in enumerate(doubts) if key == part.path]
        if of_all and fields:
            fields[0]["findings"] += of_all
        filled[part.group] += fields
    more, outs = more_of(raw, units, length_mm), outs_of(raw)
    return [
        {"name": name, "title": title, "fields": filled[name], "more": more.get(name, []), "outs": outs}
        for name, title in GROUPS.items()
    ]


def key_of_finding(where: str) -> str | None:
    """The key path that a doubt's place begins with; None where it is of no key.

    >>> key_of_finding("bore[3] tail hanger"), key_of_finding("lip.sheet"), key_of_finding("float.pitch_deg")
    ('bore[3]', 'lip.sheet', None)
    """
    path = where.partition(" ")[0]
    return path if path.partition(".")[0].partition("[")[0] in RECIPE else None


def _parts(raw: Mapping[str, Any]) -> Iterator[RecipeTable]:
    """The tables of a recipe and those within them, written or not; of what there may be many, those that are there."""
    top = {name: key for name, key in RECIPE.items() if not key.table and name != "format"}
    yield RecipeTable("", "", top, "body", raw)
    for name, key in RECIPE.items():
        if key.kind == "tables":
            for number, one in enumerate(raw.get(name, ()), 1):
                group = _OF_BORE.get(one.get("kind", ""), "body") if name == "bore" else _OF_TABLE[name]
                called = one.get("name") or f"{one.get('kind', name)} {number}".replace("_", " ")
                yield from _within(f"{name}[{number}]", str(called), key.table, group, one)
        elif key.kind == "table":
            yield from _within(name, name.replace("_", " "), key.table, _OF_TABLE[name], raw.get(name, {}))


def _within(path: str, name: str, keys: Mapping[str, Key], group: str, raw: Mapping[str, Any]) -> Iterator[RecipeTable]:
    yield RecipeTable(path, name, keys, group, raw)
    for inner, key in keys.items():
        if key.table:
            called = inner.replace("_", " ")
            yield from _within(f"{path}.{inner}", f"{name}, {called}", key.table, group, raw.get(inner, {}))


def _field(
    part: RecipeTable,
    name: str,
    key: Key,
    units: str,
    text: str,
    where: Mapping[str, tuple[int, int]],
    length_mm: float,
) -> dict[str, Any]:
    path = f"{part.path}.{name}" if part.path else name
    table = ".".join(step.partition("[")[0] for step in part.path.split("."))
    about = _about(f"{table}.{name}" if table else name, units)
    value = part.raw.get(name)
    written = "" if value is None else value if isinstance(value, str) else _as_written(path, value, text, where)
    number = number_of(value if value is not None else about["default"].strip('"'), key, units)
    low, high = about["low"], about["high"]
    if key.grows == "lengths" and key.kind == "length" and path != "shape.length" and low is not None:
        reach = length_mm if units == "mm" else length_mm / float(INCH)
        high = min(high, max(reach, number or 0.0))
        low = max(low, min(-reach, number or 0.0))
    return about | {
        "key": path,
        "part": part.name,
        "value": written,
        "number": number,
        "low": low,
        "high": high,
        "findings": [],
    }


def _as_written(path: str, value: object, text: str, where: Mapping[str, tuple[int, int]]) -> str:
    if path in where:
        start, end = where[path]
        return " ".join(text[start:end].split())
    return toml(value) if not isinstance(value, Decimal) else str(value)


@cache
def _about(path: str, units: str) -> dict[str, Any]:
    """What is said of a key whatever stands in it; the path has no numbers."""
    key = KEYS[path]
    name = path.rpartition(".")[2].replace("_", " ")
    for unit in UNITS_IN_NAMES:
        name = name.removesuffix(unit)
    kind = _KINDS.get(key.kind, key.kind)
    kind = "text" if kind in {"lengths", "numbers", "names", "other", "tables"} else kind
    choices = list(key.choices) or list(names_of(key))
    unit = _unit(key, units)
    low, high = (in_unit(bound, key, units) for bound in bounds(key.bounds)) if key.bounds else (None, None)
    return {
        "label": name,
        "kind": "choice" if choices and key.form != "outline" else kind,
        "unit": unit if kind != "text" else "",
        "low": low,
        "high": high,
        "step": ruler_step(unit, low, high, whole=key.kind == "whole"),
        "choices": choices or None,
        "default": left_out(path, key),
        "sentence": key.about,
        "required": key.required,
    }


def _unit(key: Key, units: str) -> str:
    """The unit of a field's numbers, which is that of a bare number in the file."""
    if key.unit == "mm/min" and units == "in":
        return "in/min"
    return units if key.kind == "length" and not key.unit else unit_of(key)


def in_unit(bound: float, key: Key, units: str) -> float:
    """A bound in the unit of the field's numbers."""
    inches = units == "in" and ((key.kind == "length" and not key.unit) or key.unit == "mm/min")
    return round(bound / float(INCH), 6) if inches else bound


def ruler_step(unit: str, low: float | None, high: float | None, *, whole: bool = False) -> float:
    """How finely a ruler moves: as the shop's does, or finer where there is little room."""
    if whole:
        return 1.0
    room = (high - low) if low is not None and high is not None and high > low else 1.0
    fine = 10.0 ** floor(log10(room / FINEST)) if room > 0 else 0.01
    if unit == "in":
        return _STEPS["in"] if room > LEAST_ON_A_RULE_IN else max(fine, 1e-4)
    return min(_STEPS.get(unit, fine), max(fine, 1e-4)) if unit in _STEPS else fine


def number_of(value: object, key: Key, units: str) -> float | None:
    """A value's number in the field's unit; None where it has none, or cannot be read.

    >>> depth = RECIPE["bore"].table["depth"]
    >>> number_of("3/8 in", depth, "in"), number_of("3/8 in", depth, "mm")
    (0.375, 9.525)
    """
    if isinstance(value, bool) or value is None or value == "":
        return None
    try:
        if key.kind in QUANTITIES:
            return _quantity(value, key, _unit(key, units))
        return float(str(value).partition(" ")[0]) if key.kind in {"number", "whole"} else None
    except ValueError:  # UnitError is one, too
        return None


def _quantity(value: object, key: Key, unit: str) -> float:
    kind = cast("Quantity", key.kind)
    base = fraction(value, kind, unit.lower() if kind == "temperature" else unit)
    if key.unit == "m":
        return float(base) / MM_PER_M
    if unit in {"mm/min", "in/min"}:
        return float(base) * MM_MIN / (float(INCH) if unit == "in/min" else 1.0)
    return float(base / INCH) if unit == "in" else float(base)
