"""A JSON Schema of the recipe, made from its keys, so that an editor completes and checks while a maker types.

It refuses unknown keys, wrong kinds, and bare numbers out of bounds. What a text with a unit comes to, and which keys
go together, only ``check`` knows. Draft 7, which editors of TOML read; a number without a unit is bounded by the file's
``units``, which the conditions at its end tell apart.
"""

import json
from collections.abc import Mapping
from typing import Any

from bodygen import tables, units
from bodygen.recipe.about import accepted, left_out, names_of
from bodygen.recipe.keys import FORMAT, RECIPE, Key, bounds
from bodygen.recipe.pattern import CLOCK, COLOUR, DATE, DRILL, TEXT, quantity, sized
from bodygen.recipe.readers.curves import FEWEST_POINTS, HEIGHT, MOST_POINTS, SQUARE, WIDEST
from bodygen.recipe.readers.shop import cutters_sold
from bodygen.recipe.text.read_context import LONGEST_TEXT, QUANTITIES

Schema = dict[str, Any]
ID = "urn:bodygen:recipe"
FILE = "bodygen-recipe.schema.json"
_INCH = float(units.INCH)
_ALONG, _BORE, _POINT = (Key("length", f"{name}_mm") for name in ("place_along", "bore_diameter", "place"))
_SHARE, _RPM = Key("number", "share"), Key("number", "spindle_rpm")


def schema() -> Schema:
    """Make the whole schema."""
    quantities = {name: {"type": ["number", "string"], "pattern": quantity(name)} for name in units.UNITS}
    table = _table(RECIPE, "")
    table["properties"]["format"] |= {"const": FORMAT}
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "$id": ID,
        "title": f"bodygen recipe, format {FORMAT}",
        **table,
        "if": {"properties": {"units": {"const": "in"}}, "required": ["units"]},
        "then": {"$ref": "#/definitions/in"},
        "else": {"$ref": "#/definitions/mm"},
        "definitions": {
            "text": {"type": "string", "pattern": TEXT, "maxLength": LONGEST_TEXT},
            **quantities,
            "mm": _sizes(RECIPE, 1.0),
            "in": _sizes(RECIPE, _INCH),
        },
    }


def schema_text() -> str:
    """Write the schema as its file has it."""
    return json.dumps(schema(), ensure_ascii=False, indent=1) + "\n"


def is_ours(text: str) -> bool:
    """Whether a file is a schema that bodygen wrote, of this version or another."""
    try:
        return json.loads(text).get("$id") == ID  # type: ignore[no-any-return]
    except (ValueError, AttributeError):
        return False


def _table(keys: Mapping[str, Key], above: str) -> Schema:
    made: Schema = {
        "type": "object",
        "properties": {name: _said(f"{above}{name}", key) for name, key in keys.items()},
        "additionalProperties": False,
    }
    needed = [name for name, key in keys.items() if key.required]
    return made | ({"required": needed} if needed else {})


def _said(path: str, key: Key) -> Schema:
    """One key with its words."""
    if key.table:
        return {"description": key.about, **_of_tables(path, key)}
    missing = "It must be there." if key.required else f"If left out: {left_out(path, key)}."
    words = f"{key.about}. Accepted: {accepted(key)}. {missing}"
    return {"description": words, **_value(key), "examples": [key.example]}


def _of_tables(path: str, key: Key) -> Schema:
    inside = _table(key.table, f"{path}.")
    return {"type": "array", "items": inside} if key.kind == "tables" else inside


def _value(key: Key) -> Schema:
    """What a value of a key is: its kind, and bounds that hold on both rulers."""
    if key.kind in QUANTITIES:
        return {"allOf": [{"$ref": f"#/definitions/{key.kind}"}], **_span(key)}
    if key.kind == "text":
        return _text(key)
    if key.kind == "other":
        return _form(key)
    if key.kind in {"lengths", "numbers"}:
        one = _value(Key("length" if key.kind == "lengths" else "number", key.bounds))
        return {"type": "array", "items": one, "minItems": key.count, "maxItems": key.count}
    return {
        "number": {"type": "number", **_span(key)},
        "whole": {"type": "integer", **_span(key)},
        "flag": {"type": "boolean"},
        "choice": {"enum": list(key.choices)},
        "names": {"type": "array", "items": {"type": "string"}},
    }[key.kind]


def _text(key: Key) -> Schema:
    """A text; names where the reader takes only those, and names first where it takes other spellings, too."""
    any_text: Schema = {"$ref": "#/definitions/text"}
    if key.names in {"metal", "sheet", "finish", "lip", "drying", "viscosity"}:
        return {"enum": list(names_of(key))}
    if key.names == "wood":
        return {"anyOf": [{"enum": list(names_of(key))}, any_text]}
    if key.names in {"flat", "ball"}:
        known = cutters_sold(key.names)
        return {"anyOf": [{"enum": [*known.values(), *known]}, {"type": "string", "pattern": sized(key.names)}]}
    return {"allOf": [any_text]}


def _form(key: Key) -> Schema:  # noqa: PLR0911  one return for each form
    """Make a value of the kind "other", by its form."""
    match key.form:
        case "outline" | "widest":
            kinds = WIDEST if key.form == "widest" else HEIGHT
            families = [{"enum": list(names_of(key))}] if key.form == "outline" else []
            return {
                "anyOf": [*families, _line("points", _ALONG, kinds.length), _line("fractions", _SHARE, kinds.share)]
            }
        case "squareness":
            one: Schema = {"anyOf": [_value(SQUARE), _rows(_SHARE, SQUARE, 1), _long_rows()]}
            both = {"type": "object", "properties": {"back": one, "belly": one}, "additionalProperties": False}
            return {"anyOf": [one, both | {"minProperties": 1}]}
        case "drill":
            return {"anyOf": [_value(_BORE), {"type": "string", "pattern": DRILL}]}
        case "plate":
            row = {"type": "array", "items": _value(_ALONG), "minItems": 2, "maxItems": 2}
            return {"type": "array", "items": row, "minItems": 2}
        case "corners":
            row = {"type": "array", "items": _value(_POINT), "minItems": 2, "maxItems": 2}
            return {"type": "array", "items": row, "minItems": 3}
        case "date" | "clock" | "colour":
            pattern = {"date": DATE, "clock": CLOCK, "colour": COLOUR}[key.form]
            names = [{"enum": list(tables.load("colours")["colour"]["srgb"])}] if key.form == "colour" else []
            return {"anyOf": [*names, {"type": "string", "pattern": pattern}]}
        case _:
            return {"anyOf": [_value(_RPM), {"type": "array", "items": _value(_RPM), "minItems": 1}]}


def _line(way: str, x: Key, value: Key) -> Schema:
    rows = _rows(x, value, FEWEST_POINTS)
    return {"type": "object", "properties": {way: rows}, "required": [way], "additionalProperties": False}


def _rows(x: Key, value: Key, fewest: int) -> Schema:
    """Points along the body: x, the value there, and perhaps the word that makes a corner."""
    row = {
        "type": "array",
        "items": [_value(x), _value(value), {"const": "corner"}],
        "minItems": 2,
        "maxItems": 3,
        "additionalItems": False,
    }
    return {"type": "array", "items": row, "minItems": fewest, "maxItems": MOST_POINTS}


def _long_rows() -> Schema:
    """Points whose x are lengths: at least one of them says its unit."""
    return _rows(_ALONG, SQUARE, 1) | {"contains": {"type": "array", "items": [{"type": "string"}]}}


def _span(key: Key, scale: float | None = None) -> Schema:
    """Bounds of a bare number: on one ruler, by what its unit is in mm, or on either."""
    if not key.bounds:
        return {}
    least, most = bounds(key.bounds)
    if scale is None and _by_ruler(key):
        return {"minimum": min(least, _down(least / _INCH)), "maximum": max(most, _up(most / _INCH))}
    return {"minimum": _down(least / (scale or 1.0)), "maximum": _up(most / (scale or 1.0))}


def _down(value: float) -> float:
    """A little less where 12 digits do not say it: the schema may be looser than ``check``, never stricter."""
    near = float(f"{value:.12g}")
    return near if near <= value else float(f"{value - abs(value) * 1e-11:.12g}")


def _up(value: float) -> float:
    return -_down(-value)


def _by_ruler(key: Key) -> bool:
    """Whether a bare number of a key takes the file's units."""
    return (key.kind in {"length", "lengths"} and not key.unit) or key.unit == "mm/min"


def _sizes(keys: Mapping[str, Key], scale: float) -> Schema:
    """Bounds of all that takes the file's units, each at its place; what stands there otherwise is told above."""
    found: Schema = {}
    for name, key in keys.items():
        if key.table:
            inside = _sizes(key.table, scale)
            made = ({"items": inside} if key.kind == "tables" else inside) if inside else {}
        else:
            made = _size(key, scale)
        if made:
            found[name] = made
    return {"properties": found} if found else {}


def _size(key: Key, scale: float) -> Schema:
    along, pair = _span(_ALONG, scale), {"outline": HEIGHT, "widest": WIDEST}
    if key.form in pair:
        return {"properties": {"points": {"items": {"items": [along, _span(pair[key.form].length, scale)]}}}}
    made = {"drill": _span(_BORE, scale), "plate": {"items": {"items": along}}}
    made |= {"corners": {"items": {"items": _span(_POINT, scale)}}, "squareness": {"items": {"items": [along]}}}
    if key.form:
        return made.get(key.form, {})
    if key.kind == "lengths":
        return {"items": _span(key, scale)}
    return _span(key, scale) if _by_ruler(key) else {}
