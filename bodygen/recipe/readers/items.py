"""``[[fitting]]`` and ``[[coat]]``: what is hung on, glued in and brushed over.

Knows the sizes in ``hardware.toml`` and the finishes in ``coatings.toml``. Weighs nothing (weights/ does).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from math import pi
from typing import Any

from bodygen import tables, units
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Bore, Coat, Fitting, WireSlot
from bodygen.recipe.readers.bores import one_name_each
from bodygen.recipe.readers.wire import read_bent
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name

_DEFAULT_STAGE = "rigged"
_OF_A_COAT = ("coats", "film", "density_g_cm3", "gain", "dries_as", "after_h", "viscosity", "draw_speed")
SAME_SIZE = 0.02  # mm, within which a written size is the table's


@dataclass(frozen=True, slots=True)
class Size:
    """One size of the hardware table: mass [g] and the volume of its own material [cm^3]; None where nobody weighed it.

    For wire both are for each metre.
    """

    mass: float | None
    volume: float | None


@cache
def sizes(kind: str) -> dict[str, Size]:
    """Sizes of a kind of fitting by the label that ``Fitting.size`` carries.

    Hooks and rings go by the maker's number (``"#6"``), wire by its diameter (``"0.041 in"``), screw eyes by wire and
    shank (``"0.062 x 0.75 in"``), eyes by diameter and material (``"5 mm resin"``, ``"5 mm glass"``).
    """
    table = tables.load("hardware")
    match kind:
        case "hook" | "ring":
            rows = table["treble_hook" if kind == "hook" else "split_ring"]["sizes"]
            return {row["size"]: Size(row.get("mass_g"), row.get("displaced_cm3")) for row in rows}
        case "wire":
            density = table["wire"]["density_kg_m3"] / 1000
            inch = {f"{r['inch']:g} in": Size(r["g_per_m"], r["g_per_m"] / density) for r in table["wire"]["sizes"]}
            areas = {f"{mm:g} mm": pi / 4 * mm**2 for mm in table["wire"]["metric_mm"]}  # mm^2 are cm^3 for each metre
            return inch | {name: Size(area * density, area) for name, area in areas.items()}
        case "screw_eye":
            rows = table["screw_eye"]["sizes"]
            inch = {f"{r['wire_in']:g} x {r['shank_in']:g} in": Size(r["mass_g"], r["displaced_cm3"]) for r in rows}
            return inch | {name: _screw_eye(row) for name, row in metric_screw_eyes().items()}
        case "eye":
            eye = table["eye"]
            resin = {f"{r['d_mm']} mm resin": Size(r["resin_dome_g"], r["dome_mm3"] / 1000) for r in eye["sizes"]}
            glass = {
                f"{r['d_mm']} mm glass": Size(
                    r["glass_half_ball_g"], r["glass_half_ball_g"] / eye["glass_kg_m3"] * 1000
                )
                for r in eye["sizes"]
            }
            return resin | glass
    return {}


def metric_screw_eyes() -> dict[str, dict[str, float]]:
    """Rows of the screw eyes sold by mm, by their label."""
    rows = tables.load("hardware")["screw_eye"]["metric_sizes"]
    return {f"{row['wire_mm']:g} x {row['shank_mm']:g} mm": row for row in rows}


def _screw_eye(row: dict[str, float]) -> Size:
    """Weigh a screw eye as its wire: the shank and one turn round the middle of the ring."""
    wire = row["wire_mm"]
    volume = pi / 4 * wire**2 * (row["shank_mm"] + pi * (row["ring_inside_mm"] + wire)) / 1000
    return Size(volume * tables.load("hardware")["wire"]["density_kg_m3"] / 1000, volume)


@lru_cache(maxsize=256)  # a recipe that is changed over and over names the same sizes each time
def label(kind: str, written: str, ruler: str) -> str | None:
    """Find the table's label for a size as a maker writes it; None where there is none such.

    Examples
    --------
    >>> label("hook", "No. 6", "mm")
    '#6'
    >>> label("screw_eye", "0.062 x 3/4 in", "mm")
    '0.062 x 0.75 in'
    >>> label("eye", "glass 5 mm", "in")
    '5 mm glass'
    """
    if kind in {"hook", "ring"}:
        plain = re.sub(r"(?i)^(#|no\.?|size)\s*", "", written).strip()
        return next((size for size in sizes(kind) if size.removeprefix("#") == plain), None)
    wanted = _measures(written, ruler)
    off: dict[str, float] = {}
    for size in sizes(kind):
        have = _measures(size, ruler)
        if ("glass" in written.lower()) == ("glass" in size) and len(have) == len(wanted):
            off[size] = max((abs(a - b) for a, b in zip(have, wanted, strict=True)), default=SAME_SIZE)
    near = min(off, key=lambda size: off[size], default=None)
    return near if near is not None and off[near] < SAME_SIZE else None


def _nearest(kind: str, written: str, ruler: str) -> list[str]:
    """Name the sizes of the table that are nearest to a written one: on either side, or the one at an end."""
    wanted = _order(kind, written, ruler)
    known = {size: _order(kind, size, ruler) for size in sizes(kind)}
    if not wanted:
        return []
    below = max((size for size in known if known[size] <= wanted), key=lambda size: known[size], default=None)
    above = min((size for size in known if known[size] >= wanted), key=lambda size: known[size], default=None)
    return [size for size in (below, above) if size is not None]


def _order(kind: str, size: str, ruler: str) -> list[float]:
    """What sizes are put in order by: lengths, or a number's step, where #2 to #1 to 1/0 to 2/0 grows for hooks."""
    if kind not in {"hook", "ring"}:
        return _measures(size, ruler)
    number = re.fullmatch(r"(?i)(?:#|no\.?|size)?\s*(\d{1,3})(/0)?", size.strip())
    if number is None:
        return []
    return [float(number[1]) * (1 if number[2] or kind == "ring" else -1)]


def _measures(size: str, ruler: str) -> list[float]:
    """Lengths [mm] in a size such as ``0.062 x 3/4 in``; a unit at the end is for all of them."""
    plain = re.sub(r"(?i)\b(glass|resin)\b", "", size).strip()
    unit = re.search(r"[a-zA-Z\"″]+\.?$", plain)
    parts = re.split(r"\s*[x×]\s*", plain)
    try:
        return [units.length(part, unit[0] if unit and part is not parts[-1] else ruler) for part in parts]
    except units.UnitError:
        return []


def read_fittings(
    ctx: ReadContext,
    found: Iterable[tuple[str, Values, bool]],
    bores: tuple[Bore, ...] = (),
    slots: tuple[WireSlot, ...] = (),
) -> tuple[Fitting, ...]:
    """Make the fittings, each ``on`` one of these bores or ``at`` a point; a through-wire in one of these slots.

    A size of the table stands for a mass only where somebody has weighed one.
    """
    fittings: list[Fitting] = []
    counts: dict[str, int] = {}
    names: dict[str, str] = {}
    for path, values, clean in found:
        kind = values.setdefault("kind", "weight")
        counts[kind] = counts.get(kind, 0) + 1
        values.setdefault("name", f"{kind} {counts[kind]}")
        values.setdefault("stage", _DEFAULT_STAGE)
        one_name_each(ctx, path, values["name"], names)
        before = len(ctx.mistakes)
        _check_fitting(ctx, path, values, kind)
        if "bent" in values:
            bent = read_bent(ctx, path, values, bores, slots)
            if values["bent"].get("form") == "through_wire":
                values["at"] = (0.0, 0.0, 0.0)  # as it will lie in its kerf
            else:
                _check_place(ctx, path, values, bores)
            values["bent"] = bent
        else:
            _check_place(ctx, path, values, bores)
        if clean and len(ctx.mistakes) == before:
            fittings.append(Fitting(**values))
    return tuple(fittings)


def _check_place(ctx: ReadContext, path: str, values: Values, bores: tuple[Bore, ...]) -> None:
    """Hold a fitting to one place: a point, or the mouth of a bore by its name."""
    written = {key for key in ("at", "on") if f"{path}.{key}" in ctx.written}
    kinds = {bore.name: bore.kind for bore in bores}
    takes = tuple(name for name, kind in kinds.items() if kind not in {"ballast", "rattle"})
    if len(written) == 2:
        ctx.fault(f"{path}.on", f"{path}.at says the place already.", "at or on: leave one of the two out")
    elif not written:
        ctx.missing(f"{path}.at", f"[x, y, z]; or on = a bore: {', '.join(takes) or 'there is none'}")
    elif "on" in values:
        kind = kinds.get(values["on"])
        if kind is None:
            no_such_name(ctx, f"{path}.on", values["on"], takes, "at = [x, y, z]")
        elif values["on"] not in takes:
            what = {"ballast": "metal", "rattle": "balls"}[kind]
            accepted = f"{', '.join(takes)}; or at = [x, y, z]" if takes else "at = [x, y, z]"
            ctx.fault(f"{path}.on", f"a {kind} bore holds {what}, and nothing hangs on it.", accepted)
        values["at"] = (0.0, 0.0, 0.0)


def _check_fitting(ctx: ReadContext, path: str, values: Values, kind: str) -> None:
    """Hold a fitting's keys against its kind; a size found in the table gets the table's own label."""
    if kind == "weight":
        if "size" in values:
            ctx.fault(f"{path}.size", 'does not go with kind = "weight".', "mass")
        elif "mass" not in values and f"{path}.mass" not in ctx.written:
            ctx.missing(f"{path}.mass", 'what it weighs, such as "4 g"; or a kind and size of the hardware table')
    elif "size" in values:
        _check_size(ctx, path, values, kind)
    elif "mass" not in values and not ctx.written & {f"{path}.size", f"{path}.mass"}:
        ctx.missing(f"{path}.size", f"{', '.join(sizes(kind))}; or mass")
    told = {"mass", "length", "bent"} & values.keys() or f"{path}.length" in ctx.written
    if kind == "wire" and not told:
        ctx.missing(f"{path}.length", "how much of the wire, along its bends")
    _check_length(ctx, path, values, kind)


def _check_length(ctx: ReadContext, path: str, values: Values, kind: str) -> None:
    """Let a wire and a hook alone have lengths, a hook its own by either name."""
    if kind not in {"wire", "hook"} and "length" in values:
        ctx.fault(f"{path}.length", f'does not go with kind = "{kind}".', 'kind = "wire" or "hook"; or leave it out')
    for key in {"hook_length", "gape"} & values.keys() if kind != "hook" else ():
        ctx.fault(f"{path}.{key}", f'does not go with kind = "{kind}".', 'kind = "hook"; or leave it out')
    if {"hook_length", "length"} <= values.keys():
        ctx.fault(f"{path}.hook_length", "length says it already.", "one of the two: leave the other out")
    elif "hook_length" in values:
        values["length"] = values.pop("hook_length")


def _check_size(ctx: ReadContext, path: str, values: Values, kind: str) -> None:
    """Give a size the table's own label; a mass of the maker's own makes up for a size that is not there."""
    found = label(kind, values["size"], ctx.units)
    known = {size: row for size, row in sizes(kind).items() if row.mass is not None}
    if found is not None:
        values["size"] = found
    if "mass" in values or found in known:
        return
    if found is None:
        near = " and ".join(f'"{size}"' for size in _nearest(kind, values["size"], ctx.units))
        accepted = (
            f"{f'nearest: {near}; ' if near else ''}sold are {', '.join(sizes(kind))}; or mass = what yours weighs"
        )
        ctx.fault(f"{path}.size", "no such size here.", accepted)
    else:
        accepted = f"mass = what yours weighs beside it, or a weighed size: {', '.join(known)}"
        ctx.fault(f"{path}.size", "nobody has weighed this size.", accepted)


def read_coats(ctx: ReadContext, found: Iterable[tuple[str, Values, bool]]) -> tuple[Coat, ...]:
    """Make the coats."""
    coats: list[Coat] = []
    for path, values, clean in found:
        coat = _coat(ctx, path, values) if clean else None
        if coat is not None:
            coats.append(coat)
    return tuple(coats)


def _coat(ctx: ReadContext, path: str, values: Values) -> Coat | None:
    before = len(ctx.mistakes)
    known = tables.load("coatings")["coat"]
    finish = values.get("finish")
    stages: list[str] = []
    if finish is None:
        if "gain" not in values:
            ctx.missing(f"{path}.finish", f"{', '.join(known)}; or gain = what the coats added on the scale")
    elif finish not in known:
        no_such_name(ctx, f"{path}.finish", finish, tuple(known))
    else:
        stages = known[finish]["stage"].split(" or ")
    for key, table in (("dries_as", "finish"), ("viscosity", "viscosity")):
        rows = tables.load("finishes")[table]
        if key in values and values[key] not in rows:
            no_such_name(ctx, f"{path}.{key}", values[key], tuple(rows))
    if "draw_speed" in values and "viscosity" not in values and f"{path}.viscosity" not in ctx.written:
        ctx.missing(f"{path}.viscosity", f"what the dip runs like: {', '.join(tables.load('finishes')['viscosity'])}")
    stage = values.get("stage", stages[0] if len(stages) == 1 else None)
    if stage is None and (finish is None or finish in known):
        ctx.missing(f"{path}.stage", ", ".join(stages or ("sealed", "painted", "cleared")))
    if len(ctx.mistakes) > before:
        return None
    rest: dict[str, Any] = {key: values[key] for key in _OF_A_COAT if key in values}
    return Coat(name=str(values.get("name", finish or stage)), finish=finish, stage=str(stage), **rest)


def read_weighed(values: Values) -> tuple[tuple[str, float], ...]:
    """Put the maker's weighings in shop order, whatever order they were written in."""
    return tuple((stage, values[stage]) for stage in STAGES if stage in values)
