"""A recipe in another size: the shape grows; what is bought is chosen anew from the tables, and it is said what was.

Lengths of the body and places on it grow exactly (``recipe/rewrite.py``). Trebles and rings come in sizes; sheet, wire
and coats are what the shop has.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bodygen.recipe.model import Fitting, Parameters, Recipe, Units
from bodygen.recipe.rewrite import Copy, copy_recipe
from bodygen.tables import load
from bodygen.units import inch_fraction, length_text

MEASURED = ("length", "hook_length", "gape", "displaces_cm3")
"""Keys of a hook or a ring that say what a maker measured of that one size."""
Sizes = tuple[float, float | None, float | None]
"""Length of the copy [mm]; its depth and thickness where they are not to grow with it [mm]."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What did not grow as the body did: the part, what it was, what it would be, what it is, and why."""

    part: str
    was: str
    exactly: str
    taken: str
    why: str

    def document(self) -> dict[str, str]:
        """Give the fields that JSON has."""
        return {"part": self.part, "was": self.was, "exactly": self.exactly, "taken": self.taken, "why": self.why}


def scaled_copy(source: Path, recipe: Recipe, name: str, wanted: Sizes, sizes: tuple[float, float, float]) -> Copy:
    """The text of a recipe in another size, its hooks and rings chosen anew.

    Parameters
    ----------
    source : Path
        The recipe's file.
    recipe : Recipe
        What it says.
    name : str
        Of the copy.
    wanted : Sizes
        Of the copy [mm].
    sizes : tuple of float
        Length, depth and thickness of the body as it is [mm].

    Raises
    ------
    InputError
        As ``recipe.rewrite.copy_recipe``.
    """
    import tomlkit  # noqa: PLC0415 - 30 ms that weighing a bait does not need

    length, depth, thickness = wanted
    factor = length / sizes[0]
    copy = copy_recipe(source, name, length=length)
    document: Any = tomlkit.parse(copy.recipe)
    for table in document.get("fitting", ()):
        new = _next_size(table, factor)
        if new is not None:
            _bought(table, new)
    across = (thickness / (sizes[2] * factor)) if thickness else 1.0
    upwards = (depth / (sizes[1] * factor)) if depth else 1.0
    stations = copy.stations
    if across != 1.0 or upwards != 1.0:
        if stations is not None:
            stations = stations[0], _stretched_rows(stations[1], upwards, across)
        else:
            _stretched(document["shape"], recipe, upwards, across)
        _moved(document, recipe, upwards, across)
    return replace(copy, recipe=tomlkit.dumps(document), stations=stations)


def _bought(table: Any, size: str) -> None:  # noqa: ANN401 - tomlkit's
    """Put another size in; what was measured of the old one goes with it, and the table's figures take its place."""
    if _plain(table["size"]) != _plain(size):
        for key in MEASURED:
            table.pop(key, None)
    table["size"] = size


def _plain(size: object) -> str:
    return str(size).lower().removeprefix("size").removeprefix("no.").removeprefix("no").strip(" #")


def _next_size(table: Mapping[str, Any], factor: float) -> str | None:
    """The treble or ring of the table that has grown most nearly as the body; None where it is not from there."""
    kind = table.get("kind")
    if kind not in {"hook", "ring"} or "mass" in table or "size" not in table:
        return None
    rows = load("hardware")["treble_hook" if kind == "hook" else "split_ring"]["sizes"]
    key, power = ("length_mm", 1) if kind == "hook" else ("mass_g", 3)
    known = {str(row["size"]): float(row[key]) for row in rows if key in row}
    was = next((size for size in known if _plain(size) == _plain(table["size"])), None)
    if was is None:
        return None
    return min(known, key=lambda size: abs(known[size] - known[was] * factor**power))


def _stretched_rows(text: str, upwards: float, across: float) -> str:
    """Stations with other heights and widths."""
    head, *rows = text.strip().split("\n")
    lines = []
    grows = {"top_mm": upwards, "bottom_mm": upwards, "widest_mm": upwards, "half_width_mm": across}
    for row in rows:
        cells = zip(head.split(","), row.split(","), strict=True)
        lines.append(",".join(f"{float(v) * grows[name]:.10g}" if name in grows else v for name, v in cells))
    return "\n".join([head, *lines, ""])


def _stretched(shape: Any, recipe: Recipe, upwards: float, across: float) -> None:  # noqa: ANN401 - tomlkit's
    """Give a drawn shape other heights and widths: sizes where they are written, else every point of a line."""
    drawn = recipe.shape
    assert isinstance(drawn, Parameters)  # noqa: S101  stations are stretched by rows, and a mesh is refused before
    for key, factor in (("depth", upwards), ("thickness", across)):
        if key in shape:
            shape[key] = _times(shape[key], factor, recipe.units)
    lines = (("back", upwards), ("belly", upwards), ("widest", upwards), ("plan", across))
    for key, factor in lines:
        line = shape.get(key)
        if isinstance(line, dict) and "points" in line:
            line["points"] = [[x, _times(y, factor, recipe.units), *rest] for x, y, *rest in line["points"]]
    flat = shape.get("flat_side")
    if isinstance(flat, dict) and "height" in flat:
        flat["height"] = _times(flat["height"], upwards, recipe.units)


def _moved(document: Any, recipe: Recipe, upwards: float, across: float) -> None:  # noqa: ANN401 - tomlkit's
    """Move what is placed on the body with its skin; depths of bores stay, and are to be checked."""
    for table in document.get("bore", ()):
        for key, factor in (("height", upwards), ("offset", across)):
            if key in table:
                table[key] = _times(table[key], factor, recipe.units)
    for table in [*document.get("bore", ()), *document.get("fitting", ())]:
        if "at" in table:
            x, y, z = table["at"]
            table["at"] = [x, _times(y, across, recipe.units), _times(z, upwards, recipe.units)]
    for table in document.get("wire_slot", ()):
        if "floor" in table:
            table["floor"] = _times(table["floor"], upwards, recipe.units)


def _times(value: Any, factor: float, ruler: str) -> Any:  # noqa: ANN401 - tomlkit's items have no common type
    """A length that is so many times as large, in the recipe's own units."""
    from bodygen import units  # noqa: PLC0415 - beside its only use

    millimetres = units.length(value if not isinstance(value, float | int) else float(value), ruler) * factor
    per = float(units.INCH) if ruler == "in" else 1.0
    return round(millimetres / per, 5)


def chosen(before: Recipe, after: Recipe, factor: float) -> tuple[Chosen, ...]:
    """What did not grow as the body did, part by part."""
    ruler = before.units
    rows: list[Chosen] = []

    def differs(part: str, was: float, now: float, why: str) -> None:
        if abs(now - was * factor) > 1e-3:
            old_text, exact, new_text = (length_text(v, ruler) for v in (was, was * factor, now))
            rows.append(Chosen(part, old_text, exact, new_text, why))

    bores = {bore.name: bore for bore in after.bores}
    for old in before.bores:
        why = "it holds wire" if old.kind in {"hanger", "tie", "through"} else "the nearest drill or eye"
        if old.name in bores:
            differs(f"bore {old.name}, diameter", old.diameter, bores[old.name].diameter, why)
    for old_fitting, new_fitting in zip(before.fittings, after.fittings, strict=False):
        if old_fitting.kind in {"hook", "ring"} and old_fitting.size is not None:
            exactly = f"{factor:.3g} times as long"
            why = "the nearest size of the table" if old_fitting.size != new_fitting.size else "no size is nearer"
            rows.append(Chosen(f"fitting {old_fitting.name}", old_fitting.size, exactly, str(new_fitting.size), why))
            rows += _no_longer_measured(old_fitting, new_fitting, factor, ruler)
        elif old_fitting.kind not in {"weight", "hook", "ring"} and old_fitting.size == new_fitting.size:
            size = str(old_fitting.size or f"{old_fitting.mass} g")
            rows.append(Chosen(f"fitting {old_fitting.name}", size, f"{factor:.3g} times", size, "as it is sold"))
    if before.lip and after.lip:
        differs("lip, sheet", before.lip.thickness, after.lip.thickness, "sheet as it is sold")
    for slot in before.wire_slots:
        differs(f"wire slot {slot.name}, width", slot.width, slot.width, "the saw's kerf")
    rows += [
        Chosen(f"coat {coat.name}", f"{coat.coats} x", "", f"{coat.coats} x", "films do not grow")
        for coat in before.coats
    ]
    return tuple(rows)


def _no_longer_measured(old: Fitting, new: Fitting, factor: float, ruler: Units) -> list[Chosen]:
    """What a maker had measured of a hook or a ring that has another size now, so that the table stands for it."""
    if old.size == new.size:
        return []
    known = load("hardware")["treble_hook" if old.kind == "hook" else "split_ring"]["sizes"]
    row: Mapping[str, Any] = next((row for row in known if row["size"] == new.size), {})
    why = "it was measured of the old one: measure the new one"
    rows = []
    for part, was, key in (("length", old.length, "length_mm"), ("gape", old.gape, "gape_mm")):
        if was is not None:
            taken = f"the table's {length_text(float(row[key]), ruler)}"
            exactly = length_text(was * factor, ruler)
            rows.append(Chosen(f"fitting {old.name}, {part}", length_text(was, ruler), exactly, taken, why))
    if old.displaces_cm3 is not None:
        was_text, exactly = (f"{v:.3g} cm3" for v in (old.displaces_cm3, old.displaces_cm3 * factor**3))
        rows.append(Chosen(f"fitting {old.name}, displaces_cm3", was_text, exactly, "the table's", why))
    return rows


def named_after(name: str, length: float, ruler: str) -> str:
    """The name of one of a family: the family's, and its length."""
    return f"{name} {inch_fraction(length / 25.4)} in" if ruler == "in" else f"{name} {length:.4g} mm"
