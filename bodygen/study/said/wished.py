"""``[[limit]]``, ``[[aim]]`` and ``[search]``: what passes, and what is looked for."""

import re
from collections.abc import Mapping
from math import nan
from typing import Any

from bodygen import units
from bodygen.recipe.keys import Key
from bodygen.recipe.keys.key import choice, table, tables_of, text
from bodygen.recipe.text.read_context import ReadContext, read_value
from bodygen.recipe.text.read_context import Values as Table
from bodygen.study.said.kept import NoFigureError, one_column
from bodygen.study.said.model import Column, Limit, Normal, StudyAim, StudySearch, Varied
from bodygen.study.said.named import label_and_unit, with_unit
from bodygen.study.said.varied import zero_of
from bodygen.tables import load

Tables = list[tuple[str, Table, bool]]
LIMIT = {
    "figure": text("a figure of properties.json, by its path", "float.reserve_g", required=True),
    "least": Key(
        "other", about="what passes has so much at least; a bare number is in the figure's unit", example="1 g"
    ),
    "most": Key("other", about="what passes has so much at most; a bare number is in the figure's unit", example="3 g"),
}
AIM = {
    "figure": text("a figure of properties.json, by its path", "dive.depth_m", required=True),
    "target": Key("other", about="what it is to be; a bare number is in the figure's unit", example="2.5 m"),
    "within": Key("other", about="so near counts as met", example="5 cm", left_out="1 % of the target"),
    "as_can_be": choice("in place of a target: as little, or as much, as can be", "least", "most"),
}
SEARCH = {
    "designs": Key("whole", "study_designs", "so many are tried at most", 600, required=True),
}
AMOUNTS = ("least", "most", "target", "within")
_NUMBER = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(.*)")
INSTEAD = (
    "[search] with designs in place of [plan]: it begins with a sample of its own; "
    "or [plan] without [[aim]], and [[limit]] for what passes"
)
WISHED = {
    "limit": tables_of("What passes; a search keeps to it.", LIMIT),
    "search": table("In place of a plan: the designs that come nearest to the aims are looked for.", SEARCH),
    "aim": tables_of("What a search is for; targets are wished all at once, each least or most gives a front.", AIM),
}


def read_limits(ctx: ReadContext, tables: Tables, document: Mapping[str, Any]) -> tuple[tuple[Limit, Column], ...]:
    """Make the limits, each with the column that it needs."""
    found = []
    for path, values, clean in tables:
        column, read = _read(ctx, path, values, document) if clean else (None, values)
        if column is None:
            continue
        least, most = read.get("least"), read.get("most")
        if least is None and most is None:
            ctx.fault(path, "says neither least nor most.", "least, most, or both")
        elif least is not None and most is not None and least > most:
            ctx.fault(f"{path}.most", f"less than least, {with_unit(least, _unit(column))}.", "the greater end")
        else:
            found.append((Limit(column.path, least, most, column.name), column))
    return tuple(found)


def read_aims(ctx: ReadContext, tables: Tables, document: Mapping[str, Any]) -> tuple[tuple[StudyAim, Column], ...]:
    """Make the aims, each with the column that it needs."""
    found: dict[str, tuple[StudyAim, Column]] = {}
    for path, values, clean in tables:
        column, read = _read(ctx, path, values, document) if clean else (None, values)
        if column is None:
            continue
        target, sense, within = read.get("target"), values.get("as_can_be"), read.get("within")
        if (target is None) == (sense is None):
            ctx.fault(path, f"says {'both' if sense else 'neither'} target and as_can_be.", "one of the two")
        elif within is not None and (target is None or within <= 0):
            ctx.fault(f"{path}.within", "not a nearness to a target.", "more than 0, beside a target")
        elif target == 0 and within is None:
            ctx.fault(path, "a target of 0 has no share of itself.", "within beside it, in the figure's unit")
        elif column.name in found:
            ctx.fault(f"{path}.figure", "aimed at twice.", "each figure once")
        else:
            near = within or load("study")["target"]["within_share"] * abs(target or 0.0)
            found[column.name] = (StudyAim(column.path, target, near, sense, column.name), column)
    return tuple(found.values())


def read_search(
    ctx: ReadContext, raw: Mapping[str, Any], values: Table | None, varied: tuple[Varied, ...]
) -> StudySearch | None:
    """Make the search, where the file has one; what does not go with it is a mistake."""
    if values is None:
        if "aim" in raw:
            what = "this file has a plan, which lays designs out" if "plan" in raw else "there is none"
            ctx.fault("aim", f"aims are for a search, and {what}.", INSTEAD)
        return None
    if "plan" in raw:
        ctx.fault("search", "a file has a plan, which lays designs out, or a search, which looks for one.", INSTEAD)
    if "aim" not in raw:
        ctx.missing("aim", "a table [[aim]] for each figure that is aimed at")
    for number, one in enumerate(varied, start=1):
        if isinstance(one.spread, Normal):
            ctx.fault(
                f"vary[{number}]", "a search chooses values, and chance cannot be chosen.", "from and to, or values"
            )
    return StudySearch(values["designs"]) if "designs" in values else None


def _read(
    ctx: ReadContext, path: str, values: Table, document: Mapping[str, Any]
) -> tuple[Column | None, dict[str, float]]:
    """Find the figure's column, and read in its unit what is said of it; no column where something is wrong."""
    column = _column(ctx, path, values, document)
    if column is None:
        return None, {}
    before = len(ctx.mistakes)
    read = {name: _amount(ctx, f"{path}.{name}", values[name], _unit(column)) for name in AMOUNTS if name in values}
    if "within" in read and _unit(column) == "degC":  # a difference of two
        read["within"] -= zero_of(values["within"])
    return (column if len(ctx.mistakes) == before else None), read


def _amount(ctx: ReadContext, path: str, raw: object, unit: str) -> float:
    """Read so much of a figure, in the figure's unit; NaN, and the mistake noted, where it is none of it."""
    quantity = next((one for one, known in units.UNITS.items() if unit.lower() in known), None)
    try:
        if quantity is not None:
            own = units.UNITS[quantity][unit.lower()]
            return float(units.fraction(raw, quantity, unit.lower()) / own.scale - own.zero)
    except units.UnitError as error:
        ctx.fault(path, error.problem, error.accepted)
        return nan
    if isinstance(raw, str) and unit:
        found = _NUMBER.fullmatch(raw.strip())
        if found and found[2] in {"", unit}:
            return float(found[1])
        ctx.fault(path, f"no number of {unit}.", f'a number, such as 2.5 or "2.5 {unit}"')
        return nan
    value = read_value(ctx, path, raw, Key("number"))
    return float(value) if isinstance(value, float | int) else nan


def _unit(column: Column) -> str:
    return label_and_unit(column.path)[1]


def _column(ctx: ReadContext, path: str, values: Table, document: Mapping[str, Any]) -> Column | None:
    try:
        column = one_column(document, values["figure"])
    except NoFigureError as error:
        near = error.near[0] if len(error.near) == 1 else ""
        ctx.fault(f"{path}.figure", f"{error}{f' Did you mean {near}?' if near else ''}", ", ".join(error.near[:12]))
        return None
    if column.kind != "number":
        ctx.fault(f"{path}.figure", "no number.", "a figure that is a number")
        return None
    return column
