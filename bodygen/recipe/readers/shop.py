"""``[shop]``: the printer, cutters and boards at hand; whether the named cutters exist and have the right end.

Knows names and shapes of cutters. Knows nothing of what they cut (``shop/mill/``).
"""

from typing import Any

from bodygen import tables, units
from bodygen.errors import did_you_mean, quoted
from bodygen.recipe.keys import Key
from bodygen.recipe.model import Shop
from bodygen.recipe.text.read_context import ReadContext, Values, read_value

SHAPES = {"roughing": "flat", "finishing": "ball", "profile_cutter": "flat"}
SAME_MM = 0.002
_SPEED = Key("number", "spindle_rpm")


def read_shop(ctx: ReadContext, values: Values) -> Shop:
    """Make the shop; an unknown cutter, one with the wrong end, or a bush narrower than its cutter is noted."""
    for key, shape in SHAPES.items():
        if key in values:
            values[key] = _cutter(ctx, f"shop.{key}", values[key], shape)
    if "spindle_speeds" in values:
        values["spindle_speeds"] = _speeds(ctx, values["spindle_speeds"])
    if "bush" in values and "cutter" in values and values["bush"] < values["cutter"]:
        ctx.fault("shop.bush", "narrower than the cutter in it.", "shop.cutter or more, measured across its outside")
    return Shop(**values)


def cutters_sold(shape: str) -> dict[str, str]:
    """Rows of the table with this end, "flat" or "ball", each as it is sold; the thinnest first."""
    rows = [(key, row) for key, row in tables.load("cutters")["cutter"].items() if row["shape"] == shape]
    return {key: _as_sold(row) for key, row in sorted(rows, key=lambda one: one[1]["diameter_mm"])}


def _cutter(ctx: ReadContext, path: str, written: str, shape: str) -> str:
    """Row of the table for a cutter written by its key, ``flat_2``, or as it is sold, ``flat 1/16 in``."""
    rows: dict[str, dict[str, Any]] = tables.load("cutters")["cutter"]
    known = cutters_sold(shape)
    sold = ", ".join(f'"{name}"' for name in known.values())
    key = written if written in rows else _by_size(written, rows)
    if key is None:
        names = [*known, *known.values()]
        hint = did_you_mean(written.lower(), names, quoted, nearness=0.5)
        ctx.fault(path, f"no such cutter here.{hint}", sold)
    elif key not in known:
        ctx.fault(path, f"not a {shape} cutter.", sold)
    return key or written


def _as_sold(row: dict[str, Any]) -> str:
    """Shape and size in two words, without the trade's name for the tool."""
    return f"{row['shape']} {row['name'].split('mill ')[1]}"


def _by_size(written: str, rows: dict[str, dict[str, Any]]) -> str | None:
    shape, _, size = written.strip().lower().partition(" ")
    try:
        diameter = units.length(size, "mm")
    except units.UnitError:
        return None
    found = [k for k, row in rows.items() if row["shape"] == shape and abs(row["diameter_mm"] - diameter) < SAME_MM]
    return found[0] if found else None


def _speeds(ctx: ReadContext, raw: object) -> tuple[float, ...]:
    """The speeds of a spindle's dial [1/min]: one number, or a list of them."""
    listed = raw if isinstance(raw, list) else [raw]
    if not listed:
        ctx.fault("shop.spindle_speeds", "an empty list.", "the speeds that the spindle can run at, [10000, 16000]")
    places = [f"shop.spindle_speeds[{n}]" for n in range(1, len(listed) + 1)]
    if not isinstance(raw, list):
        places = ["shop.spindle_speeds"]
    read = [read_value(ctx, place, value, _SPEED) for place, value in zip(places, listed, strict=True)]
    return tuple(sorted(value for value in read if isinstance(value, float)))
