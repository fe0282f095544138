"""Where a hand may take hold of a drawing: a place, a way to move, and how far the key's number goes with a millimetre.

Views as ``drawing.py`` has them. A number is in the unit of its field; the page writes it into the key as it is.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from math import cos, degrees, hypot, sin
from typing import Any, TypeAlias

import numpy as np

from bodygen.form.body import Body
from bodygen.form.cuts import Prism, Revolved, slot_of
from bodygen.form.facing import END, PLAN, SIDE, Projection
from bodygen.form.integrals import Array
from bodygen.recipe.changes import key_of
from bodygen.recipe.keys import bounds
from bodygen.recipe.model import Curve, Parameters
from bodygen.serve.answer.fields import in_unit, ruler_step
from bodygen.serve.answer.known import Known
from bodygen.units import INCH

Pair: TypeAlias = Sequence[float] | Array
"""Two numbers: to the right and up."""
LINES = {"back": (1.0, "side"), "belly": (-1.0, "side"), "plan": (1.0, "plan")}
"""Outlines: which way a larger value goes, and in which view it is seen."""
BEYOND = 1.03
"""Where the handle of the length lies, in lengths: clear of what is at the tail [-]."""
ALONG = np.linspace(0.02, 0.98, 97)
"""Where a body is looked at for its deepest and thickest place, in lengths."""
LEAST_SEEN = 0.3
"""Of a way to move in the plane of a view, the least share that is left of it to take hold of [-]."""


def handles_of(known: Known, view: str) -> list[dict[str, Any]]:
    """Every handle of a view but the section's, which are ``section_handles``'."""
    return [
        *_shape(known, view),
        *_bores(known, view),
        *_slots(known, view),
        *_lip(known, view),
        *_weights(known, view),
    ]


def handle(known: Known, key: str, label: str, at: Pair, along: Pair, number: float, per_mm: float) -> dict[str, Any]:
    """One handle; ``number`` and ``per_mm`` are in mm (or degrees, or shares) and told in the field's unit."""
    unit, inches, low, high, step = _ruled(key, known.recipe.units)
    size = hypot(float(along[0]), float(along[1]))
    return {
        "key": key,
        "label": label,
        "at": [round(float(value), 3) for value in at],
        "along": [float(value) / size for value in along],
        "number": number * inches,
        "per_mm": per_mm * inches / size,
        "unit": unit,
        "low": low,
        "high": high,
        "step": step,
    }


@lru_cache(maxsize=256)  # no bait has so many handles
def _ruled(key: str, units: str) -> tuple[str, float, float | None, float | None, float]:
    """A handle's unit, how many of it a mm is (1 for what is no length), its least and greatest number, its step."""
    about = key_of(key)
    low: float | None = None
    high: float | None = None
    if about is not None and about.bounds:
        low, high = (in_unit(bound, about, units) for bound in bounds(about.bounds))
    is_length = about is None or about.kind == "length"
    unit = units if is_length else "deg" if about is not None and about.kind == "angle" else ""
    return unit, 1 / float(INCH) if unit == "in" else 1.0, low, high, ruler_step(unit, low, high)


def plain_handle(
    label: str,
    key: str,
    at: Pair,
    along: Pair,
    number: float,
    per_mm: float,
    bounds_and_step: tuple[float, float, float],
) -> dict[str, Any]:
    """One handle of a number without a unit."""
    low, high, step = bounds_and_step
    size = hypot(float(along[0]), float(along[1]))
    return {
        "key": key,
        "label": label,
        "at": [round(float(value), 3) for value in at],
        "along": [float(value) / size for value in along],
        "number": number,
        "per_mm": per_mm,
        "unit": "",
        "low": low,
        "high": high,
        "step": step,
    }


def _shape(known: Known, view: str) -> Iterator[dict[str, Any]]:
    shape, body = known.recipe.shape, known.shaped.body
    if not isinstance(shape, Parameters) or body is None:
        return
    if view in {"side", "plan"}:
        yield handle(known, "shape.length", "length", (BEYOND * body.length, 0.0), (1.0, 0.0), shape.length, 1.0)
    if view == "side" and shape.depth is not None:
        x, belly, back = _deepest(body)
        share = max(back / (back - belly), 0.05)
        yield handle(known, "shape.depth", "depth", (x, back), (0.0, 1.0), shape.depth, 1 / share)
    if view == "plan" and shape.thickness is not None:
        yield handle(known, "shape.thickness", "thickness", _thickest(body), (0.0, 1.0), shape.thickness, 2.0)
    for name, (way, seen) in LINES.items():
        if seen == view:
            yield from _points(known, name, getattr(shape, name), way)


@lru_cache(maxsize=4)
def _deepest(body: Body) -> tuple[float, float, float]:
    """Where along the body it is deepest, and belly and back there [mm]."""
    x = ALONG * body.length
    belly, back = body.heights_at(x)
    at = int(np.argmax(back - belly))
    return float(x[at]), float(belly[at]), float(back[at])


@lru_cache(maxsize=4)
def _thickest(body: Body) -> tuple[float, float]:
    """Where along the body it is thickest, and half of that [mm]."""
    x = ALONG * body.length
    half = body.half_width_at(x)
    at = int(np.argmax(half))
    return float(x[at]), float(half[at])


def _points(known: Known, name: str, curve: Curve, way: float) -> Iterator[dict[str, Any]]:
    """The points that an outline is drawn through, each along its height; those of a family are the table's."""
    body = known.shaped.body
    if curve.family is not None or body is None:
        return

    def height(x: Array) -> Array:
        return body.half_width_at(x) if name == "plan" else way * body.heights_at(x)[1 if name == "back" else 0]

    kind = "fractions" if curve.fractions else "points"
    x_mm = np.array([x for x, _ in curve.points]) * (body.length if curve.fractions else 1.0)
    places = zip(x_mm.tolist(), (way * height(np.clip(x_mm, 0.0, body.length))).tolist(), strict=True)
    tallest = float(np.max(height(np.linspace(0.0, body.length, 97)))) if curve.fractions else 0.0
    highest = max(value for _, value in curve.points)
    for number, ((_, value), at) in enumerate(zip(curve.points, places, strict=True), 1):
        if value == 0:
            continue
        key, label = f"shape.{name}.{kind}[{number}][2]", f"{name}, point {number}"
        if curve.fractions:
            per_mm = highest / max(tallest, 1e-6)  # a share has no ruler
            yield plain_handle(label, key, at, (0.0, way), value, per_mm, (0.0, 1.0, 0.005))
        else:
            yield handle(known, key, label, at, (0.0, way), value, 1.0)


def _bores(known: Known, view: str) -> Iterator[dict[str, Any]]:
    projection = {"side": SIDE, "plan": PLAN, "nose": END}[view]
    for tool in known.shaped.tools:
        if isinstance(tool, Revolved) and not tool.mirrored:
            yield from bore_handles(known, tool, projection)


def bore_handles(known: Known, tool: Revolved, projection: Projection) -> Iterator[dict[str, Any]]:
    """Where a bore is, and how deep, as far as a view shows it."""
    bore, path = known.recipe.bores[tool.bore], f"bore[{tool.bore + 1}]"
    origin, axis = np.array(tool.origin), np.array(tool.axis)
    mouth = projection.flat(origin[None])[0]
    moves: list[tuple[str, Array, float]] = []
    if bore.entry in {"belly", "back", "side"} and bore.x is not None:
        moves.append(("x", np.array([1.0, 0.0, 0.0]), bore.x))
    if bore.entry in {"belly", "back", "nose", "tail"}:
        moves.append(("offset", np.array([0.0, 1.0, 0.0]), bore.offset))
    if bore.entry in {"side", "nose", "tail"}:
        moves.append(("height", np.array([0.0, 0.0, 1.0]), bore.height))
    aside = 0.0
    for name, way, number in moves:
        seen = projection.flat(way[None])[0]
        if float(np.linalg.norm(seen)) > LEAST_SEEN:
            at = mouth + seen * aside
            yield handle(known, f"{path}.{name}", f"{bore.name}, {name}", at, seen, number, 1.0)
            aside = tool.diameter / 2 + 2.0  # a second one beside the mouth
    seen = projection.flat(axis[None])[0]
    if bore.depth is not None and float(np.linalg.norm(seen)) > LEAST_SEEN:
        end = tool.point if bore.depth_to == "point" else tool.shoulder
        at = projection.flat((origin + axis * end)[None])[0]
        yield handle(known, f"{path}.depth", f"{bore.name}, depth", at, seen, bore.depth, 1.0)


def _slots(known: Known, view: str) -> Iterator[dict[str, Any]]:
    """Both ends of every wire kerf."""
    if view != "side":
        return
    for tool in known.shaped.tools:
        if isinstance(tool, Prism) and tool.kind == "wire":
            slot = known.recipe.wire_slots[tool.slot]
            level = float(np.mean([b for _, b in tool.polygon]))
            for name, x in (("start", slot.start), ("end", slot.end)):
                key = f"wire_slot[{tool.slot + 1}].{name}"
                yield handle(known, key, f"{slot.name}, {name}", (x, level), (1.0, 0.0), x, 1.0)


def _lip(known: Known, view: str) -> Iterator[dict[str, Any]]:
    lip, slot, plate = known.recipe.lip, slot_of(known.shaped.tools), known.shaped.plate
    if lip is None or slot is None or plate is None or view == "nose":
        return
    ahead = np.array([-cos(lip.angle), -sin(lip.angle)])
    mouth = np.array([slot.origin[0], slot.origin[2]])
    reach = plate.exposed_length
    drawn = bool(lip.points)
    if view == "plan":
        if not drawn:
            side = slot.origin[0] + ahead[0] * reach / 2, plate.width / 2
            yield handle(known, "lip.width", "lip, width", side, (0.0, 1.0), lip.width, 2.0)
        return
    if lip.x is not None:
        yield handle(known, "lip.x", "lip, x", mouth, (1.0, 0.0), lip.x, 1.0)
    else:
        yield handle(known, "lip.height", "lip, height", mouth, (0.0, 1.0), lip.height, 1.0)
    turning = (sin(lip.angle), -cos(lip.angle))
    arm = 0.6 * reach
    yield handle(known, "lip.angle", "lip, angle", mouth + ahead * arm, turning, degrees(lip.angle), degrees(1 / arm))
    if not drawn:
        yield handle(known, "lip.length", "lip, length", mouth + ahead * reach, ahead, lip.length, 1.0)
    into = -ahead
    yield handle(known, "lip.slot_depth", "lip, slot depth", mouth + into * lip.slot_depth, into, lip.slot_depth, 1.0)
    if lip.tie_hole is not None:
        at = mouth + ahead * lip.tie_hole.distance
        yield handle(known, "lip.tie_hole.distance", "lip, tie", at, ahead, lip.tie_hole.distance, 1.0)


def _weights(known: Known, view: str) -> Iterator[dict[str, Any]]:
    """What the recipe puts at a place of its own."""
    if view == "nose":
        return
    up, name = (2, "height") if view == "side" else (1, "offset")
    for place, fitting in enumerate(known.recipe.fittings):
        if fitting.on is not None or fitting.bent is not None:
            continue
        at = fitting.at[0], fitting.at[up]
        key = f"fitting[{place + 1}].at"
        yield handle(known, f"{key}[1]", f"{fitting.name}, x", at, (1.0, 0.0), fitting.at[0], 1.0)
        beside = at[0], at[1] + 2.0
        yield handle(known, f"{key}[{up + 1}]", f"{fitting.name}, {name}", beside, (0.0, 1.0), fitting.at[up], 1.0)
