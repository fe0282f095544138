"""What may be put into a recipe besides what it has, and what may be taken out: each whole, as a new recipe begins it.

A table whose keys need each other cannot be written key by key: in between the recipe would not be understood.
"""

import json
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from math import floor
from typing import Any

from bodygen.log.entry import today
from bodygen.recipe.about import toml
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.readers.bores import drill_sizes
from bodygen.recipe.starter import size_text, starter_text
from bodygen.units import INCH, length

More = tuple[str, str, object]
"""The group of the bench, the words of its button, the table or value to be put in."""

ONCE = ("lip", "line", "retrieve", "goal", "finish")
"""Tables that stand once or not at all."""
PLACES = (0.42, 0.6, 0.3, 0.5, 0.7, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75)
"""Where along the body one more hole goes, as shares of its length. Common practice, no published source."""


def more_of(raw: Mapping[str, Any], units: str, length_mm: float) -> dict[str, list[dict[str, str]]]:
    """What may be put in by one change, by group of the bench: ``words``, ``key`` and ``value`` of each.

    Parameters
    ----------
    raw : Mapping[str, Any]
        The recipe's TOML.
    units, length_mm
        Its ruler, and how long the body is [mm]: what is put in is in proportion.
    """
    new = _starter(units, round(length_mm, 3))
    found: dict[str, list[dict[str, str]]] = {}
    for name, (group, words, table) in [*_once(raw, new), *_another(raw, new, units, length_mm)]:
        key = name if name in ONCE else f"{name}[{len(raw.get(name, ())) + 1}]"
        found.setdefault(group, []).append({"words": words, "key": key, "value": toml(table)})
    return found


def outs_of(raw: Mapping[str, Any]) -> list[str]:
    """Key paths of the tables that may be taken out."""
    numbered = [f"{name}[{n}]" for name, key in RECIPE.items() if key.kind == "tables" for n in _numbers(raw, name)]
    return [*numbered, *(name for name in ONCE if name in raw)]


def _numbers(raw: Mapping[str, Any], name: str) -> range:
    return range(1, len(raw.get(name, ())) + 1)


@lru_cache(maxsize=4)
def _starter(units: str, length_mm: float) -> dict[str, Any]:
    return tomllib.loads(starter_text("new", units, length_mm))


def _once(raw: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[tuple[str, More]]:
    examples = {name: _examples(name) for name in ("goal", "finish")}
    begun = {"start": today()}
    for name, group, words, table in (
        ("lip", "lip", "A lip", new["lip"]),
        ("line", "lip", "The line it is fished on", new["line"]),
        ("retrieve", "lip", "How it is drawn", new["retrieve"]),
        ("finish", "finish", "A calendar of the coats, from today", begun | examples["finish"]),
        ("goal", "tub", "A goal: how it should lie", examples["goal"]),
    ):
        if name not in raw:
            yield name, (group, words, table)


def _examples(name: str) -> dict[str, object]:
    """A table's keys that stand for the rest of them, as its reference shows them."""
    keys = {"goal": ("reserve", "pitch"), "finish": ("temperature", "humidity")}[name]
    return {key: RECIPE[name].table[key].example for key in keys}


def _another(
    raw: Mapping[str, Any], new: Mapping[str, Any], units: str, length_mm: float
) -> Iterator[tuple[str, More]]:
    own = {"name", "fill"}  # which metal, and how much, is for the ballast's offers
    bores = {bore["kind"]: {key: bore[key] for key in bore if key not in own} for bore in new["bore"][::-1]}
    x = json.loads(size_text(_roomiest(raw, units, length_mm), units))
    kinds = {bore.get("kind") for bore in raw.get("bore", ())}
    yield "bore", ("metal", "Another bore for metal", bores["ballast"] | {"x": x})
    yield "bore", ("hooks", "Another hanger", bores["hanger"] | {"x": x})
    if "tie" not in kinds:
        yield "bore", ("hooks", "A line tie", bores["tie"])
    if "eye" not in kinds:
        yield "bore", ("body", "Sockets for eyes", bores["eye"])
    yield "fitting", ("hooks", "Another fitting", {"kind": "weight", "mass": "1 g", "at": [x, 0, 0]})
    if not raw.get("wire_slot"):
        end = floor(1000 * length_mm / (1 if units == "mm" else float(INCH))) / 1000  # no further than the tail
        kerf = {"along": "belly", "start": 0, "end": end, "width": "1.2 mm", "floor": 0}
        yield "wire_slot", ("hooks", "A kerf for a wire", kerf)
    yield "coat", ("finish", "Another coat", new["coat"][-1])
    masked = {mask.get("kind") for mask in raw.get("mask", ())}
    free = [kind for kind in RECIPE["mask"].table["kind"].choices if kind not in masked]
    if free:
        yield "mask", ("finish", "Another mask", {"kind": free[0]})
    yield "paint", ("finish", "Another layer of colour", {"colour": RECIPE["paint"].table["colour"].example})


def _roomiest(raw: Mapping[str, Any], units: str, length_mm: float) -> float:
    """Where along the body [mm] a hole of usual place is farthest from those that are there, and from the lip."""
    spans = [_span(one, units, length_mm) for one in [*raw.get("bore", ()), raw.get("lip", {})]]
    taken = [span for span in spans if span]
    return max(
        (share * length_mm for share in PLACES),
        key=lambda x: min((max(low - x, x - high) for low, high in taken), default=0),
    )


def _span(one: Mapping[str, Any], units: str, length_mm: float) -> tuple[float, float] | None:
    """From where to where along the body [mm] a hole or the lip is; one that leans is taken to be upright."""
    if "x" not in one and "at" not in one:
        deep = length(one.get("depth", 0), units)
        return {"nose": (0.0, deep), "tail": (length_mm - deep, length_mm)}.get(str(one.get("from")))
    x = length(one["x"] if "x" in one else one["at"][0], units)
    drill = drill_sizes().get(str(one["drill"]), 0.0) if "drill" in one else 0.0
    half = (length(one["diameter"], units) if "diameter" in one else drill) / 2
    return x - half, x + half
