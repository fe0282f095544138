"""``[[bore]]`` and ``[[wire_slot]]``: which keys go with which way in, and the drill that was named.

Knows drills that can be bought. Knows nothing of the body: whether a bore leaves wood is for later rooms.
"""

import math
from bisect import bisect
from collections.abc import Iterable
from functools import cache
from typing import Any

from bodygen import tables, units
from bodygen.recipe.keys import Key
from bodygen.recipe.model import Bore, Counterbore, Fill, WireSlot
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name, within

_PLACE = {
    "belly": ("x", "offset", "lean"),
    "back": ("x", "offset", "lean"),
    "side": ("x", "height", "side", "lean"),
    "nose": ("offset", "height", "lean"),
    "tail": ("offset", "height", "lean"),
    "point": ("at", "direction"),
}
_NEEDED = {"belly": ("x",), "back": ("x",), "side": ("x",), "nose": (), "tail": (), "point": ("at", "direction")}
_PLACE_KEYS = ("x", "offset", "height", "side", "at", "direction", "lean")
_BLIND_ONLY = ("depth", "depth_to", "tip", "tip_angle")
SAME_DRILL = 1e-6  # mm


def read_bores(ctx: ReadContext, found: Iterable[tuple[str, Values, bool]]) -> tuple[Bore, ...]:
    """Make the bores; where one cannot be made a mistake has been noted."""
    bores: list[Bore] = []
    counts: dict[str, int] = {}
    names: dict[str, str] = {}
    wanted: list[tuple[str, str]] = []
    for path, values, clean in found:
        kind = values.get("kind", "any")
        counts[kind] = counts.get(kind, 0) + 1
        values.setdefault("name", f"{kind} {counts[kind]}")
        one_name_each(ctx, path, values["name"], names)
        wanted += [(f"{path}.may_meet[{number}]", name) for number, name in enumerate(values.get("may_meet", ()), 1)]
        bore = _bore(ctx, path, values, kind) if clean else None
        if bore is not None:
            bores.append(bore)
    for place, name in wanted:
        if name not in names:
            no_such_name(ctx, place, name, tuple(names))
    return tuple(bores)


def one_name_each(ctx: ReadContext, path: str, name: str, names: dict[str, str]) -> None:
    """Note a name that is taken already; ``names`` maps each name to the key path that has it."""
    if name in names:
        ctx.fault(f"{path}.name", f"{names[name]} has this name already.", "a name of its own for each")
    else:
        names[name] = path


def _bore(ctx: ReadContext, path: str, values: Values, kind: str) -> Bore | None:
    before = len(ctx.mistakes)
    entry = values.get("from", "side" if kind == "eye" else None)
    if entry is None:
        ctx.missing(f"{path}.from", ", ".join(_PLACE))
    else:
        _check_place(ctx, path, values, entry)
    diameter = _diameter(ctx, path, values)
    _check_bottom(ctx, path, values, kind)
    fill = _fill(ctx, path, values.get("fill"), kind, diameter)
    mirror = values.get("mirror", kind == "eye" and entry == "side")
    if mirror and entry in {"belly", "back", "nose", "tail"} and not values.get("offset"):
        ctx.fault(f"{path}.mirror", "this bore is in the middle; its mirror image is itself.", "an offset beside it")
    counterbore = _counterbore(ctx, path, values.get("counterbore"), diameter)
    if len(ctx.mistakes) > before or entry is None or diameter is None:
        return None
    direct: dict[str, Any] = {
        key: values[key]
        for key in ("x", "offset", "height", "side", "at", "lean", "depth_to", "tip", "tip_angle", "closed")
        if key in values
    }
    if "direction" in values:
        size = math.hypot(*values["direction"])
        direct["direction"] = tuple(part / size for part in values["direction"])
    return Bore(
        name=values["name"],
        kind=kind,  # type: ignore[arg-type]  # one of the choices in keys/
        entry=entry,
        diameter=diameter,
        depth=values.get("depth"),
        drill=str(values["drill"]) if "drill" in values else None,
        mirror=mirror,
        counterbore=counterbore,
        may_meet=tuple(values.get("may_meet", ())),
        fill=fill,
        **direct,
    )


def _check_bottom(ctx: ReadContext, path: str, values: Values, kind: str) -> None:
    """Hold the keys of a blind bore's bottom against its kind."""
    if kind == "through":
        for key in _BLIND_ONLY:
            if key in values:
                ctx.fault(f"{path}.{key}", 'does not go with kind = "through", which goes right out of the wood.')
    elif "depth" not in values:
        ctx.missing(f"{path}.depth", 'how deep, along the axis; only kind = "through" has none')
    if "tip_angle" in values and values.get("tip", "twist") != "twist":
        ctx.fault(f"{path}.tip_angle", 'goes with tip = "twist" only.')


def _counterbore(ctx: ReadContext, path: str, values: Values | None, diameter: float | None) -> Counterbore | None:
    """Make the counterbore, which is wider than its bore [mm]."""
    if values is None:
        return None
    if diameter is not None and values["diameter"] <= diameter:
        accepted = f"more than the bore's own {ctx.length_text(diameter)}"
        ctx.fault(f"{path}.counterbore.diameter", "not wider than the bore.", accepted)
    return Counterbore(**values)


def _check_place(ctx: ReadContext, path: str, values: Values, entry: str) -> None:
    """Hold the placing keys against the way in."""
    good = _PLACE[entry]
    for key in _PLACE_KEYS:
        if key in values and key not in good:
            ctx.fault(
                f"{path}.{key}", f'does not go with from = "{entry}".', f'with from = "{entry}": {", ".join(good)}'
            )
    for key in _NEEDED[entry]:
        if key not in values:
            ctx.missing(f"{path}.{key}", f'with from = "{entry}": {", ".join(good)}')
    if "direction" in values and not any(values["direction"]):
        ctx.fault(f"{path}.direction", "no direction.", "three numbers, not all 0, that point into the wood")


def _diameter(ctx: ReadContext, path: str, values: Values) -> float | None:
    """Take the diameter [mm] from ``diameter`` or ``drill``, exactly one of them."""
    if "diameter" in values and "drill" in values:
        ctx.fault(f"{path}.drill", f"{path}.diameter says the size already.", "diameter or drill, not both")
        return None
    if "drill" in values:
        return drill_size(ctx, f"{path}.drill", values["drill"])
    if "diameter" not in values:
        ctx.missing(f"{path}.diameter", 'the bore\'s diameter, or drill = "5/16", "#30" or "8 mm"')
        return None
    return float(values["diameter"])


@cache
def drill_sizes() -> dict[str, float]:
    """Every drill of the table by the name it is sold under [mm]."""
    table = tables.load("drills")
    tenths = range(5, round(table["metric"]["step_tenths_to_mm"] * 10) + 1)
    metric = sorted({*(tenth / 10 for tenth in tenths), *table["metric"]["set_mm"]})
    return (
        dict(zip(table["fractional_inch"]["inch"], table["fractional_inch"]["mm"], strict=True))
        | {f"#{n}": mm for n, mm in zip(table["number"]["number"], table["number"]["mm"], strict=True)}
        | dict(zip(table["letter"]["letter"], table["letter"]["mm"], strict=True))
        | {f"{mm:g} mm": mm for mm in metric}
    )


@cache
def _by_size() -> tuple[list[str], list[float]]:
    """Every drill's name, and its diameter [mm], the smallest first."""
    rows = sorted(drill_sizes().items(), key=lambda row: row[1])
    return [name for name, _ in rows], [size for _, size in rows]


def drill_size(ctx: ReadContext, path: str, raw: object) -> float | None:
    """Look up a drill's diameter [mm]: ``5/16``, ``#30``, ``F``, ``8 mm``; not sold: note the nearest two."""
    sizes = drill_sizes()
    name = raw.replace(" ", "").upper() if isinstance(raw, str) else ""
    if name.startswith("#") or (len(name) == 1 and name.isalpha()):
        if name not in sizes:
            ctx.fault(path, "no such number drill.", "#1 to #80, or a letter from A to Z")
        return sizes.get(name)
    try:
        unit = "in" if isinstance(raw, str) and "/" in raw else ctx.units
        wanted = units.length(raw, unit)
    except units.UnitError as error:
        ctx.fault(path, error.problem, 'a drill such as "5/16", "#30" or "8 mm"')
        return None
    if not within(ctx, path, wanted, Key("length", "bore_diameter_mm")):
        return None
    names, ordered = _by_size()
    first = bisect(ordered, wanted - SAME_DRILL)
    if first < len(ordered) and ordered[first] < wanted + SAME_DRILL:
        return ordered[first]
    near = " and ".join(f'"{name}"' for name in names[max(first - 1, 0) : first + 1])
    ctx.fault(path, "no such drill is sold.", f"nearest: {near}; or diameter = ... for a bore made some other way")
    return None


def _fill(ctx: ReadContext, path: str, values: Values | None, kind: str, diameter: float | None) -> Fill | None:
    if values is None:
        return None
    metals = tables.load("metals")["metal"]
    if kind != "ballast":
        ctx.fault(f"{path}.fill", f'does not go with kind = "{kind}".', 'kind = "ballast"')
    fill = Fill(**{"metal": Fill().metal, **values})
    if fill.metal not in metals:
        no_such_name(ctx, f"{path}.fill.metal", fill.metal, tuple(metals))
    elif fill.placed == "poured" and not metals[fill.metal]["pour_into_wood"]:
        poured = ", ".join(name for name, row in metals.items() if row["pour_into_wood"])
        ctx.fault(f"{path}.fill.placed", f"{fill.metal} goes in as a solid piece.", f"poured: {poured}")
    if fill.clearance and fill.placed != "slug":
        ctx.fault(f"{path}.fill.clearance", 'goes with placed = "slug" only.')
    elif diameter is not None and fill.clearance >= diameter:
        accepted = f"less than the bore's own {ctx.length_text(diameter)}"
        ctx.fault(f"{path}.fill.clearance", "leaves nothing of the slug.", accepted)
    return fill


def read_wire_slots(ctx: ReadContext, found: Iterable[tuple[str, Values, bool]]) -> tuple[WireSlot, ...]:
    """Make the wire slots."""
    slots: list[WireSlot] = []
    names: dict[str, str] = {}
    for number, (path, values, clean) in enumerate(found, start=1):
        values.setdefault("name", f"wire slot {number}")
        one_name_each(ctx, path, values["name"], names)
        if not clean:
            continue
        before = len(ctx.mistakes)
        if values["end"] <= values["start"]:
            ctx.fault(f"{path}.end", "not behind the start.", f"more than {ctx.length_text(values['start'])}")
        if ("depth" in values) == ("floor" in values):
            if "depth" in values:
                ctx.fault(f"{path}.floor", f"{path}.depth says how deep already.", "depth or floor, not both")
            else:
                ctx.missing(f"{path}.depth", "depth below the skin, or floor = the height of a straight bottom")
        if len(ctx.mistakes) == before:
            slots.append(WireSlot(**values))
    return tuple(slots)
