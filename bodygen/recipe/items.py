"""``[[fitting]]`` and ``[[coat]]``: what is hung on, glued in and brushed over.

Knows the sizes in ``hardware.toml`` and the finishes in ``coatings.toml``. Weighs nothing (weights/ does).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from bodygen import tables
from bodygen.recipe.bores import one_name_each
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Coat, Fitting
from bodygen.recipe.page import Page, Values, no_such_name

_DEFAULT_STAGE = "rigged"


@dataclass(frozen=True, slots=True)
class Size:
    """One size of the hardware table: mass [g] and the volume of its own material [cm^3]; None where nobody weighed it.

    For wire both are for each metre.
    """

    mass: float | None
    volume: float | None


@cache
def sizes(kind: str) -> dict[str, Size]:
    """Sizes of a kind of fitting by the name a recipe gives them.

    Hooks and rings go by the maker's number (``"#6"``), screw eyes by wire and shank in inches (``"0.062 x 0.75"``),
    wire by its diameter in inches (``"0.041"``), eyes by diameter and material (``"5 mm resin"``, ``"5 mm glass"``).
    """
    table = tables.load("hardware")
    match kind:
        case "hook" | "ring":
            rows = table["treble_hook" if kind == "hook" else "split_ring"]["sizes"]
            return {row["size"]: Size(row.get("mass_g"), row.get("displaced_cm3")) for row in rows}
        case "screw_eye":
            rows = table["screw_eye"]["sizes"]
            return {f"{r['wire_in']:g} x {r['shank_in']:g}": Size(r["mass_g"], r["displaced_cm3"]) for r in rows}
        case "wire":
            density = table["wire"]["density_kg_m3"] / 1000
            return {f"{r['inch']:g}": Size(r["g_per_m"], r["g_per_m"] / density) for r in table["wire"]["sizes"]}
        case "eye":
            found: dict[str, Size] = {}
            for row in table["eye"]["sizes"]:
                glass = row["glass_half_ball_g"]
                found[f"{row['d_mm']} mm resin"] = Size(row["resin_dome_g"], row["dome_mm3"] / 1000)
                found[f"{row['d_mm']} mm glass"] = Size(glass, glass / table["eye"]["glass_kg_m3"] * 1000)
            return found
    return {}


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
    known = sizes(kind)
    if kind == "weight":
        if "size" in values:
            page.fault(f"{path}.size", 'does not go with kind = "weight".', "mass")
        elif "mass" not in values and f"{path}.mass" not in page.places:
            page.missing(f"{path}.mass", 'what it weighs, such as "4 g"; or a kind and size of the hardware table')
    elif "size" in values and values["size"] not in known and "mass" not in values:
        no_such_name(page, f"{path}.size", values["size"], tuple(known))
    elif "size" in values and "mass" not in values and known[values["size"]].mass is None:
        problem = "nobody has weighed this size."
        weighed = ", ".join(name for name, size in known.items() if size.mass is not None)
        page.fault(f"{path}.size", problem, f"mass = what yours weighs beside it, or a weighed size: {weighed}")
    elif "size" not in values and "mass" not in values and not page.places.keys() & {f"{path}.size", f"{path}.mass"}:
        page.missing(f"{path}.size", f"{', '.join(known)}; or mass")
    if kind == "wire" and "mass" not in values and "length" not in values and f"{path}.length" not in page.places:
        page.missing(f"{path}.length", "how much of the wire, along its bends")
    if kind != "wire" and "length" in values:
        page.fault(f"{path}.length", 'goes with kind = "wire" only.')


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
    return Coat(name=values.get("name", finish or stage), finish=finish, stage=str(stage), **rest)


def read_weighed(values: Values) -> tuple[tuple[str, float], ...]:
    """Put the maker's weighings in shop order, whatever order they were written in."""
    return tuple((stage, values[stage]) for stage in STAGES if stage in values)
