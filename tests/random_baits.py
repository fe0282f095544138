"""Whole random recipes over every key, from a seed: plausible baits, near misses, and a share on the very limits.

They share no code with ``recipe_strategies.py``. A recipe is a document as TOML holds it, so that the same bait can be
written again under other names or in another order. ``random_bait(seed)`` is the whole of it: a failure names its seed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import random_shapes
import random_tables
from random_tables import INCH, Maker
from random_wire import add_wires

from bodygen.recipe.keys import RECIPE, Key, bounds

Doc = dict[str, Any]
NAMED = ("bore", "wire_slot", "fitting", "coat", "mask", "paint")


@dataclass(frozen=True)
class Bait:
    """A recipe as TOML holds it, and the files beside it that it names."""

    doc: Doc
    files: dict[str, str] = field(default_factory=dict)

    def text(self) -> str:
        """The recipe's file."""
        return toml(self.doc)

    def saved(self, folder: Path) -> Path:
        """Write the recipe as bait.toml into a folder, and the files that it names beside it."""
        for name, text in self.files.items():
            (folder / name).write_text(text, encoding="utf-8")
        path = folder / "bait.toml"
        path.write_text(self.text(), encoding="utf-8")
        return path


def toml(doc: Doc) -> str:
    """Write a document: plain values first, then tables, then arrays of tables; what lies deeper is inline."""
    lines = [f"{key} = {_value(value)}" for key, value in doc.items() if not _is_table(value)]
    for key, value in doc.items():
        for table in [value] if isinstance(value, dict) else value if _is_table(value) else []:
            lines += ["", f"[[{key}]]" if isinstance(value, list) else f"[{key}]"]
            lines += [f"{name} = {_value(entry)}" for name, entry in table.items()]
    return "\n".join(lines) + "\n"


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _value(value: Any) -> str:
    match value:
        case dict():
            return "{ " + ", ".join(f"{key} = {_value(entry)}" for key, entry in value.items()) + " }"
        case list() | tuple():
            return "[" + ", ".join(_value(entry) for entry in value) + "]"
        case bool():
            return str(value).lower()
        case str():
            return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        case _:
            return repr(value.item() if isinstance(value, np.generic) else value)


def random_bait(seed: int) -> Bait:
    """Draw the bait of a seed."""
    rng = np.random.default_rng([seed, 20])  # apart from whatever else is drawn from small seeds
    m = Maker(rng, str(rng.choice(["mm", "in"])))
    length = float(np.exp(rng.uniform(np.log(30), np.log(220))))
    depth = max(length * m.between(0.12, 0.42), 5.0)
    size = length, depth, max(depth * m.between(0.35, 1.15), 4.0)
    way, files = m.any("drawn", "drawn", "drawn", "drawn", "stations", "mesh"), {}
    if way == "drawn":
        shape = random_shapes.drawn(rng, size, m.length)
    elif way == "stations":
        files["rows.csv"] = random_shapes.stations(rng, size)
        shape = {"stations": "rows.csv"}
    else:
        files["body.obj"] = random_shapes.mesh(rng, size, INCH if m.ruler == "in" else 1.0)
        shape = {"mesh": "body.obj"}
    doc: Doc = {"format": 1, "name": m.name(), "units": m.ruler, "shape": shape, "wood": random_tables.wood(m, size)}
    doc["bore"] = _met(m, _named(m, random_tables.bores(m, size)))
    doc["wire_slot"] = _named(m, [random_tables.wire_slot(m, size)] if m.often(0.25) else [])
    if m.often(0.65):
        doc["lip"] = random_tables.lip(m, size)
    doc["fitting"] = _named(m, [random_tables.fitting(m, size, doc["bore"]) for _ in range(int(rng.integers(5)))])
    doc["coat"] = _named(m, [random_tables.coat(m) for _ in range(int(rng.integers(4)))])
    doc["mask"] = _named(m, [random_tables.mask(m, size) for _ in range(int(rng.integers(3)))] if m.often(0.3) else [])
    doc |= random_tables.rest(m, size)
    add_wires(Maker(np.random.default_rng([seed, 21]), m.ruler), size, doc)  # apart, so that all else stays as it was
    doc = {key: value for key, value in doc.items() if value not in ([], {})}
    apart = Maker(np.random.default_rng([seed, 21]), m.ruler)  # so that all other draws stay as they were
    random_tables.finished(apart, doc)
    if m.often(0.12):
        _to_the_limit(m, doc)
    return Bait(doc, files)


def _named(m: Maker, written: list[Doc]) -> list[Doc]:
    """Give some of them names of their own; each table's names are its own affair."""
    names: set[str] = set()
    for table in written:
        name = m.name()
        if m.often(0.6) and name not in names:
            table["name"] = name
            names.add(name)
    return written


def _met(m: Maker, bores: list[Doc]) -> list[Doc]:
    """Let some bores run into each other on purpose."""
    names = [bore["name"] for bore in bores if "name" in bore]
    for bore in bores:
        if names and m.often(0.08):
            bore["may_meet"] = [m.any(*names)]
    return bores


def _keys_of(doc: Mapping[str, Any], known: Mapping[str, Key]) -> list[tuple[Doc, str, Key]]:
    """Every key that is written and has bounds: the table it stands in, its name, its kind."""
    found = []
    for name, value in doc.items():
        key = known.get(name)
        for table in value if isinstance(value, list) else [value]:
            if key is not None and isinstance(table, dict):
                found += _keys_of(table, key.table)
        if key is not None and key.bounds and key.kind not in {"lengths", "numbers"}:
            found.append((doc, name, key))
    return found


def _to_the_limit(m: Maker, doc: Doc) -> None:
    """Set one or two values to the least or most that a recipe may say, or a hair inside."""
    written = _keys_of(doc, RECIPE)
    for _ in range(m.any(1, 1, 2)):
        table, name, key = m.any(*written)
        low, high = bounds(key.bounds)
        off = 1 if key.kind == "whole" else (high - low) * 1e-6
        value = m.any(low, high) + m.any(0, 0, 1, -1) * off
        unit = {"length": "mm", "mass": "g", "angle": "deg", "temperature": "degC", "speed": "m/s"}.get(key.kind, "")
        unit = key.unit or unit
        table[name] = f"{value:.9g} {unit}" if unit else int(value) if key.kind == "whole" else float(f"{value:.9g}")


def renamed(bait: Bait) -> Bait:
    """Write the same bait under other names, everything that a person named or might have."""
    doc: Doc = bait.doc | {"name": "Another evening"}
    new: dict[str, str] = {}
    masks: dict[str, str] = {}
    for kind in NAMED:
        if kind in doc:
            doc[kind] = [table | {"name": f"{kind[:2]} no. {i}"} for i, table in enumerate(doc[kind], start=1)]
            old = [table.get("name") for table in bait.doc[kind]]
            called = {name: f"{kind[:2]} no. {i}" for i, name in enumerate(old, start=1) if name}
            new |= called if kind == "bore" else {}
            masks |= called if kind == "mask" else {}
    for table in doc.get("bore", []):
        if "may_meet" in table:
            table["may_meet"] = [new[name] for name in table["may_meet"]]
    if "fitting" in doc:
        doc["fitting"] = [table | ({"on": new[table["on"]]} if "on" in table else {}) for table in doc["fitting"]]
        for table in doc["fitting"]:
            if "kerf" in table.get("bent", {}):  # of the one wire slot that there is
                table["bent"] = table["bent"] | {"kerf": "wi no. 1"}
    if "paint" in doc:
        doc["paint"] = [table | ({"mask": masks[table["mask"]]} if "mask" in table else {}) for table in doc["paint"]]
    return replace(bait, doc=doc)


def reordered(bait: Bait) -> Bait:
    """Write the same bait with its bores and fittings the other way round."""
    return replace(bait, doc={k: v[::-1] if k in {"bore", "fitting"} else v for k, v in bait.doc.items()})
