"""Bores and saw cuts as they are marked on the squared blank: where each enters a face, its axis, its hidden sides.

Knows tools (form/cuts/) and the blank. Knows no paper and no card. A view is two of the body's axes: "side" (x, z) or
"plan" (x, y).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot
from typing import Literal

import numpy as np

from bodygen.findings import PartKey
from bodygen.form.blank import Blank
from bodygen.form.cuts import Prism, Revolved, Tool
from bodygen.form.facing import PLAN, SIDE
from bodygen.form.integrals import Array
from bodygen.plane.shapes import Arc, Box, Circle, Line, Piece, Point
from bodygen.plane.tiles import clipped

View = Literal["side", "plan"]
AXES: dict[View, tuple[int, int]] = {"side": SIDE.axes, "plan": PLAN.axes}
FACES = (("nose", "tail"), ("left", "right"), ("belly", "back"))
_END_ON = 0.5  # an axis whose projection is shorter than this share of it is seen end on
_PLAIN_MM = 0.05  # how far a drawn kerf may be straightened
_BEYOND_MM = 1.5  # how far crosses and axes reach beyond a bore


@dataclass(frozen=True, slots=True)
class ToolMark:
    """One cut in one view: ``letter``; the blank's ``face`` that it enters, and ``at`` where, in the view [mm].

    ``sides`` are hidden edges, ``axes`` middle lines and crosses; ``end_on``: seen along the drill. ``far``: it enters
    the face behind the one that the view shows, and that alone, so nobody may drill it from this one: it has no cross.
    """

    letter: str
    tool: Tool
    face: str
    at: Point
    sides: tuple[Piece | Circle, ...]
    axes: tuple[Piece, ...]
    end_on: bool
    far: bool = False


def lettered(tools: Sequence[Tool]) -> dict[PartKey, str]:
    """A letter for each cut by its part of the recipe, in their order.

    Both of a mirrored pair, and a slot with its mouth, share one. After Z come AA, AB and so on.
    """
    letters: dict[PartKey, str] = {}
    for tool in tools:
        if tool.part not in letters and tool.kind != "mouth":
            number = len(letters)
            letters[tool.part] = (chr(64 + number // 26) if number >= 26 else "") + chr(65 + number % 26)
    return letters


def marks_in(view: View, tools: Sequence[Tool], blank: Blank) -> tuple[ToolMark, ...]:
    """How every cut shows in a view of the blank; a mirrored one only where it does not hide behind its twin."""
    letters = lettered(tools)
    behind = FACES[3 - sum(AXES[view])][0 if view == "plan" else 1]
    twins = {tool.bore for tool in tools if isinstance(tool, Revolved) and tool.mirrored}
    found = []
    for tool in tools:
        if isinstance(tool, Revolved):
            if not (tool.mirrored and view == "side"):
                mark = _bore(tool, letters[tool.part], view, blank)
                paired = view == "side" and tool.bore in twins
                far = mark.end_on and mark.face == behind and not tool.through and not paired
                found.append(replace(mark, axes=(), far=True) if far else mark)
        else:
            found.append(_saw_cut(tool, "" if tool.kind == "mouth" else letters[tool.part], view, blank))
    return tuple(found)


def frame_of(view: View, blank: Blank) -> Box:
    """The blank's rectangle in a view [mm]."""
    i, j = AXES[view]
    return blank.low[i], blank.low[j], blank.high[i], blank.high[j]


def way_out(blank: Blank, start: Array, direction: Array) -> tuple[float, str]:
    """How far it is from a point in the blank to its skin along a unit direction [mm], and which face is met."""
    best, face = np.inf, ""
    for axis in range(3):
        if abs(direction[axis]) > 1e-9:
            high = bool(direction[axis] > 0)
            limit = blank.high[axis] if high else blank.low[axis]
            distance = float((limit - start[axis]) / direction[axis])
            if distance < best:
                best, face = max(0.0, distance), FACES[axis][high]
    return best, face


def _bore(tool: Revolved, letter: str, view: View, blank: Blank) -> ToolMark:
    pick = list(AXES[view])
    origin, axis = np.array(tool.origin), np.array(tool.axis)
    above, face = way_out(blank, origin, -axis)
    middle, along = origin[pick], axis[pick]
    size = hypot(*along)
    entry = middle - above * along
    radii = sorted({r for _, r in tool.profile if r})
    if size < _END_ON:
        reach = radii[-1] + _BEYOND_MM
        x, y = float(entry[0]), float(entry[1])
        cross = (Line((x - reach, y), (x + reach, y)), Line((x, y - reach), (x, y + reach)))
        return ToolMark(letter, tool, face, (x, y), tuple(Circle((x, y), r) for r in radii), cross, end_on=True)
    limit = way_out(blank, origin, axis)[0]
    end = middle + min(tool.point, limit) * along + _BEYOND_MM * along / size
    frame = frame_of(view, blank)
    sides = tuple(_inside(_silhouette(tool, middle, along, (-above, limit)), frame))
    axes = tuple(_inside([_line(entry, end)], frame))
    return ToolMark(letter, tool, face, _point(entry), sides, axes, end_on=False)


def _silhouette(tool: Revolved, middle: Array, along: Array, ends: tuple[float, float]) -> Iterator[Piece]:
    """Both sides of a turned profile seen from beside its axis, from where it enters the blank."""
    across = np.array([-along[1], along[0]]) / hypot(*along)
    steps = [(min(max(s, ends[0]), ends[1]), r) for s, r in tool.profile[1:]]
    for way in (1, -1):
        places = [_point(middle + s * along + way * r * across) for s, r in steps]
        for k, (a, b) in enumerate(pairwise(places), start=2):
            if tool.ball and k == len(steps):
                yield Arc(a, b, _point(middle + tool.shoulder * along), ccw=way < 0)
            elif a != b and not (tool.through and k == len(steps)):
                yield Line(a, b)


def _saw_cut(tool: Prism, letter: str, view: View, blank: Blank) -> ToolMark:
    """A saw cut: its outline in the side view; from above the strip of blank that it passes through."""
    origin, along, normal = (np.array(v) for v in (tool.origin, tool.along, tool.normal))
    from shapely import Polygon

    corners = [_point((origin + a * along + b * normal)[[0, 2]]) for a, b in tool.polygon]
    around = list(
        Polygon(corners).simplify(_PLAIN_MM).exterior.coords
    )  # a kerf's floor follows the skin in short steps
    drawn = [Line(p, q) for p, q in pairwise(around)]
    shown = [line for line in _inside(drawn, frame_of("side", blank)) if line.length > 1e-6]
    at, face = _saw_entry(tool, shown, blank)
    if view == "side":
        return ToolMark(letter, tool, face, at, tuple(shown), (), end_on=False)
    xs = [x for line in shown for x, _ in (line.start, line.end)]
    half = min(tool.half, blank.high[1], -blank.low[1])
    x0, x1 = min(xs), max(xs)
    box = [(x0, -half), (x1, -half), (x1, half), (x0, half)]
    strip = _inside(
        [Line(p, q) for p, q in zip(box, (*box[1:], box[0]), strict=True) if p != q], frame_of("plan", blank)
    )
    return ToolMark(letter, tool, face, (at[0], -half), tuple(strip), (), end_on=False)


def _saw_entry(tool: Prism, shown: list[Piece], blank: Blank) -> tuple[Point, str]:
    """Where the middle of a saw cut leaves the blank, in the side view."""
    if tool.kind == "wire":
        ends = [p for line in shown for p in (line.start, line.end)]
        belly = sum(abs(z - blank.low[2]) < 1e-6 for _, z in ends) > sum(abs(z - blank.high[2]) < 1e-6 for _, z in ends)
        x = sum(p[0] for p in ends) / len(ends)
        return ((x, blank.low[2]), "belly") if belly else ((x, blank.high[2]), "back")
    origin, along = np.array(tool.origin), np.array(tool.along)
    distance, face = way_out(blank, origin, -along)
    return _point((origin - distance * along)[[0, 2]]), face


def _inside(pieces: Iterable[Piece], frame: Box) -> Iterator[Piece]:
    for piece in pieces:
        yield from clipped(piece, frame)


def _line(start: Array, end: Array) -> Line:
    return Line(_point(start), _point(end))


def _point(pair: Array) -> Point:
    return float(pair[0]), float(pair[1])
