"""``[[vary]]`` and ``[[board]]``: which keys of the recipe change, and between what."""

from dataclasses import replace
from decimal import Decimal
from math import degrees, inf
from typing import Any

from bodygen.errors import InputError, did_you_mean
from bodygen.recipe.about import every_key, unit_of
from bodygen.recipe.changes import changed_text, key_of
from bodygen.recipe.keys import Key, bounds
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.text.read_context import ReadContext, read_value
from bodygen.recipe.text.read_context import Values as Table
from bodygen.study.said.batch import said_besides
from bodygen.study.said.model import Board, Normal, Range, Values, Varied
from bodygen.study.said.recipe import Base
from bodygen.units import temperature

Tables = list[tuple[str, Table, bool]]
DENSITY = "wood.density_g_cm3"
FIXED = frozenset({"format", "name", "units"})
FORMS = ({"from", "to"}, {"values"}, {"mean", "deviation"})
COLUMN_UNITS = {"degC": "c", "m/s": "m_s", "g/cm3": "g_cm3", "%": "percent", "mm/min": "mm_min"}
NUMBERS = frozenset({"length", "mass", "angle", "temperature", "speed", "density", "percent", "number", "whole"})
CUT_AT = 3.0
"""Deviations at which a normal distribution is cut off, so that no design is one in ten million."""
_FORMS_TOLD = "from and to; or values; or mean and deviation"


def read_varied(ctx: ReadContext, tables: Tables, base: Base) -> tuple[Varied, ...]:
    """Make what is varied, in the order of the file; what cannot be is noted and left out."""
    found: dict[str, Varied] = {}
    for path, values, clean in tables:
        if not clean:
            continue
        key = values["key"]
        if key in found:
            ctx.fault(f"{path}.key", "varied twice.", "each key once")
            continue
        about = _about(ctx, path, key, base)
        if about is None:
            continue
        spread = _spread(ctx, path, values, about, base)
        if spread is not None:
            # a list of names has no unit
            unit = unit_of(about) if not isinstance(spread, Values) or about.kind in NUMBERS else ""
            found[key] = Varied(key, spread, unit, column_of(key, unit), about.kind == "whole")
    return tuple(found.values())


def column_of(key: str, unit: str = "") -> str:
    """Name a key's column: its path, and its unit at the end.

    >>> column_of("bore[2].depth", "mm"), column_of("wood.density_g_cm3", "g/cm3"), column_of("lip.angle", "deg")
    ('bore_2_depth_mm', 'wood_density_g_cm3', 'lip_angle_deg')
    """
    name = "".join(c if c.isalnum() else "_" for c in key.replace("]", "")).strip("_")
    end = COLUMN_UNITS.get(unit, unit)
    return name if not end or name.endswith(f"_{end}") else f"{name}_{end}"


def read_boards(
    ctx: ReadContext, tables: list[tuple[str, Table, bool]], varied: tuple[Varied, ...]
) -> tuple[Board, ...]:
    """Make the boards; two of one name, and a density besides, are mistakes."""
    boards: dict[str, Board] = {}
    for path, values, clean in tables:
        if not clean:
            continue
        if values["name"] in boards:
            ctx.fault(f"{path}.name", "a board of this name is there already.", "another name")
        board = Board(**values | said_besides(ctx, path, values))
        least, most = bounds("wood_density_g_cm3")
        if not least <= board.density <= most:
            problem = f"with this size it is of {board.density:.3g} g/cm3, which is no wood."
            ctx.fault(f"{path}.mass", problem, f"size and mass of wood from {least:g} to {most:g} g/cm3")
        boards[values["name"]] = board
    if tables and any(one.key == DENSITY for one in varied):
        ctx.fault("board", f"boards have their densities, and {DENSITY} is varied too.", "one of the two")
    return tuple(boards.values())


def _about(ctx: ReadContext, path: str, key: str, base: Base) -> Key | None:
    """What the recipe's key takes: of a place in a list, such as an outline's point, a length or a number."""
    about = key_of(key)
    if about is None and key in base.places:
        length = ".points[" in key
        return Key("length" if length else "number", "place_mm" if length else "")
    if about is None or key in FIXED or about.table:
        known = [name for name, one in every_key() if not one.table and name not in FIXED]
        plain = "".join(c for c in key if not c.isdigit() and c not in "[]")
        hint = did_you_mean(plain, known, nearness=0.5)
        problem = "a table, and no key." if about and about.table else f"no key of a recipe that can be varied.{hint}"
        ctx.fault(f"{path}.key", problem, "a key such as shape.thickness, bore[1].depth, shape.back.fractions[2][2]")
        return None
    return about


def _spread(ctx: ReadContext, path: str, values: Table, about: Key, base: Base) -> Range | Values | Normal | None:
    """Make the one spread that a table describes."""
    said = {*values} - {"key", "steps"}
    if said not in FORMS:
        ctx.fault(path, f"says {', '.join(sorted(said)) or 'nothing'}.", _FORMS_TOLD)
    elif "steps" in values and "from" not in said:
        ctx.fault(f"{path}.steps", "steps of what is no range.", "from and to beside it, or no steps")
    elif "values" in said:
        return _values(ctx, path, values, about, base)
    elif about.kind not in NUMBERS:
        ctx.fault(path, f"{values['key']} takes no number, so it has no range.", "values, a list")
    else:
        return _range(ctx, path, values, about) if "from" in said else _normal(ctx, path, values, about)
    return None


def _range(ctx: ReadContext, path: str, values: Table, about: Key) -> Range | None:
    low = _number(ctx, f"{path}.from", values["from"], about)
    high = _number(ctx, f"{path}.to", values["to"], about)
    if low is None or high is None:
        return None
    if low >= high:
        ctx.fault(f"{path}.to", f"not more than from, {values['from']}.", "the greater end of the range")
        return None
    return Range(low, high, values.get("steps"))


def _normal(ctx: ReadContext, path: str, values: Table, about: Key) -> Normal | None:
    mean = _number(ctx, f"{path}.mean", values["mean"], about)
    deviation = _number(ctx, f"{path}.deviation", values["deviation"], replace(about, bounds=""))
    if mean is None or deviation is None:
        return None
    if about.kind == "temperature":  # a difference of two: 9 degF are 5 degC, wherever the scale begins
        deviation -= zero_of(values["deviation"])
    if deviation <= 0:
        ctx.fault(f"{path}.deviation", "not more than 0.", "how far it usually strays")
        return None
    least, most = bounds(about.bounds) if about.bounds else (-inf, inf)
    return Normal(mean, deviation, max(least, mean - CUT_AT * deviation), min(most, mean + CUT_AT * deviation))


def _values(ctx: ReadContext, path: str, values: Table, about: Key, base: Base) -> Values | None:
    """Make a list; each is tried in the recipe, whose own reader says what is wrong with it."""
    written = values["values"]
    if not isinstance(written, list) or not written:
        ctx.fault(f"{path}.values", "not a list with something in it.", 'a list such as ["35 deg", "40 deg"]')
        return None
    texts: list[str] = []
    numbers: list[float] = []
    before = len(ctx.mistakes)
    for number, one in enumerate(written, start=1):
        place = f"{path}.values[{number}]"
        text = str(one).lower() if isinstance(one, bool) else str(one)
        if not isinstance(one, str | int | float | Decimal):
            ctx.fault(place, "neither a text nor a number.", "as it stands in a recipe")
        elif about.kind in NUMBERS:
            numbers += [value] if (value := _number(ctx, place, one, about)) is not None else []
        else:
            try:
                parse_recipe(changed_text(base.text, {values["key"]: text}), base.path, allow_outside=True)
            except InputError as error:
                ctx.fault(place, error.mistakes[0].problem, error.mistakes[0].accepted)
        texts.append(text)
    if len({*texts}) < len(texts):
        ctx.fault(f"{path}.values", "one of them twice.", "each once")
    return Values(tuple(texts), tuple(numbers)) if len(ctx.mistakes) == before else None


def zero_of(raw: object) -> float:
    """Where the scale begins [degC] that a temperature was written on: 0 of degC, -17.8 of degF."""
    return temperature(f"0 {raw.strip().lstrip('+-0123456789./ ')}") if isinstance(raw, str) else 0.0


def _number(ctx: ReadContext, path: str, raw: Any, about: Key) -> float | None:  # noqa: ANN401  TOML's own types
    """Read one value in the key's unit, as people write it (degrees, not radians)."""
    value = read_value(ctx, path, raw, about)
    if not isinstance(value, float | int):
        return None
    return degrees(value) if about.kind == "angle" else float(value)
