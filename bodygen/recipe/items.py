"""``[[fitting]]`` and ``[[coat]]``: what is hung on, glued in and brushed over.

Knows the sizes in ``hardware.toml`` and the finishes in ``coatings.toml``. Weighs nothing (weights/ does).
"""

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from bodygen import tables, units
from bodygen.recipe.bores import one_name_each
from bodygen.recipe.keys import STAGES, Key
from bodygen.recipe.model import Coat, Fitting
from bodygen.recipe.page import Page, Values, no_such_name, within

_DEFAULT_STAGE = "rigged"
SAME_SIZE = 0.02  # mm, within which a written size is the table's


@cache
def sizes(kind: str) -> dict[str, bool]:
    """List the sizes of a kind that come by a label, and whether anybody has weighed them.

    Hooks and rings go by the maker's number (``"#6"``), screw eyes by wire and shank (``"0.062 x 0.75 in"``). Wire and
    eyes come in any diameter, and have no list.
    """
    table = tables.load("hardware")
    if kind in {"hook", "ring"}:
        rows = table["treble_hook" if kind == "hook" else "split_ring"]["sizes"]
        return {row["size"]: bool(row["mass_known"]) for row in rows}
    if kind == "screw_eye":
        return {f"{row['wire_in']:g} x {row['shank_in']:g} in": True for row in table["screw_eye"]["sizes"]}
    return {}


def label(kind: str, written: str, ruler: str) -> str | None:
    """Find the table's label for a size as a maker writes it; None where there is none such.

    >>> label("hook", "No. 6", "mm")
    '#6'
    >>> label("screw_eye", '1/16 x 3/4"', "mm")   # not the 0.062 in of the table
    >>> label("screw_eye", "0.062 x 3/4 in", "mm")
    '0.062 x 0.75 in'
    """
    if kind != "screw_eye":
        plain = re.sub(r"(?i)^(#|no\.?|size)\s*", "", written).strip()
        return next((size for size in sizes(kind) if size.removeprefix("#") == plain), None)
    match = re.fullmatch(r"(.+?)\s*[x×]\s*(.+?)\s*([a-z\"″]*)", written, re.IGNORECASE)
    if match is None:
        return None
    unit = match[3] or ruler
    try:
        wire, shank = (units.length(part if part.endswith(unit) else f"{part} {unit}") for part in match.groups()[:2])
    except units.UnitError:
        return None
    for size in sizes(kind):
        table_wire, table_shank = (units.length(part, "in") for part in size.removesuffix(" in").split(" x "))
        if abs(table_wire - wire) < SAME_SIZE and abs(table_shank - shank) < SAME_SIZE:
            return size
    return None


def read_fittings(page: Page, found: Iterable[tuple[str, Values, bool]]) -> tuple[Fitting, ...]:
    """Make the fittings; a size of the table stands for a mass only where somebody has weighed one."""
    fittings: list[Fitting] = []
    counts: dict[str, int] = {}
    names: dict[str, str] = {}
    for path, values, clean in found:
        kind = values.setdefault("kind", "weight")
        counts[kind] = counts.get(kind, 0) + 1
        values.setdefault("name", f"{kind} {counts[kind]}")
        values.setdefault("stage", _DEFAULT_STAGE)
        one_name_each(page, path, values["name"], names)
        before = len(page.mistakes)
        _check_fitting(page, path, values, kind)
        if clean and len(page.mistakes) == before:
            fittings.append(Fitting(**values))
    return tuple(fittings)


def _check_fitting(page: Page, path: str, values: Values, kind: str) -> None:
    """Hold a fitting's keys against its kind; a size found in the table gets the table's own label."""
    if kind == "weight":
        if "size" in values:
            page.fault(f"{path}.size", 'does not go with kind = "weight".', "mass")
        elif "mass" not in values and f"{path}.mass" not in page.places:
            page.missing(f"{path}.mass", 'what it weighs, such as "4 g"; or a kind and size of the hardware table')
    elif "size" in values:
        _check_size(page, path, values, kind)
    elif "mass" not in values and not page.places.keys() & {f"{path}.size", f"{path}.mass"}:
        page.missing(f"{path}.size", f"{_sizes_text(kind)}; or mass")
    if kind == "wire" and "mass" not in values and "length" not in values and f"{path}.length" not in page.places:
        page.missing(f"{path}.length", "how much of the wire, along its bends")
    if kind != "wire" and "length" in values:
        page.fault(f"{path}.length", 'goes with kind = "wire" only.')


def _check_size(page: Page, path: str, values: Values, kind: str) -> None:
    """Find the size in the table, or see that a wire's or an eye's is a length; a mass of one's own makes up for it."""
    written, weighed = values["size"], "mass" in values
    if kind in {"wire", "eye"}:
        diameter = re.sub(r"(?i)\b(glass|resin)\b", "", written) if kind == "eye" else written
        try:
            within(page, f"{path}.size", units.length(diameter, page.units), Key("length", "fitting_diameter_mm"))
        except units.UnitError as error:
            page.fault(f"{path}.size", error.problem, _sizes_text(kind))
        return
    found = label(kind, written, page.units)
    if found is not None:
        values["size"] = found
    if weighed:
        return
    if found is None:
        no_such_name(page, f"{path}.size", written, tuple(sizes(kind)))
    elif not sizes(kind)[found]:
        known = ", ".join(size for size, is_known in sizes(kind).items() if is_known)
        accepted = f"mass = what yours weighs beside it, or a weighed size: {known}"
        page.fault(f"{path}.size", "nobody has weighed this size.", accepted)


def _sizes_text(kind: str) -> str:
    """Say in one line which sizes there are."""
    if kind == "wire":
        return 'the wire\'s diameter, such as "0.041 in"'
    if kind == "eye":
        return 'the eye\'s diameter, such as "5 mm resin" or "6 mm glass"'
    return ", ".join(sizes(kind))


def read_coats(page: Page, found: Iterable[tuple[str, Values, bool]]) -> tuple[Coat, ...]:
    """Make the coats."""
    coats: list[Coat] = []
    for path, values, clean in found:
        coat = _coat(page, path, values) if clean else None
        if coat is not None:
            coats.append(coat)
    return tuple(coats)


def _coat(page: Page, path: str, values: Values) -> Coat | None:
    before = len(page.mistakes)
    known = tables.load("coatings")["coat"]
    finish = values.get("finish")
    stages: list[str] = []
    if finish is None:
        if "gain" not in values:
            page.missing(f"{path}.finish", f"{', '.join(known)}; or gain = what the coats added on the scale")
    elif finish not in known:
        no_such_name(page, f"{path}.finish", finish, tuple(known))
    else:
        stages = known[finish]["stage"].split(" or ")
    stage = values.get("stage", stages[0] if len(stages) == 1 else None)
    if stage is None and (finish is None or finish in known):
        page.missing(f"{path}.stage", ", ".join(stages or ("sealed", "painted", "cleared")))
    if len(page.mistakes) > before:
        return None
    rest: dict[str, Any] = {key: values[key] for key in ("coats", "film", "density_g_cm3", "gain") if key in values}
    return Coat(name=str(values.get("name", finish or stage)), finish=finish, stage=str(stage), **rest)


def read_weighed(values: Values) -> tuple[tuple[str, float], ...]:
    """Put the maker's weighings in shop order, whatever order they were written in."""
    return tuple((stage, values[stage]) for stage in STAGES if stage in values)
