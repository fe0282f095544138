"""Marks on a lip that nothing cuts along: where it may stay joined to its sheet, and where it is bent.

Knows the plate's outline and the recipe's wishes. Knows no layers (sheet.py) and no machine.

A tab is two ticks across the path and no gap in it: laser and router programs want closed loops, to tell a part from
a hole and the inside from the outside, and set tabs or bridges on them at the places that they are told.
"""

from itertools import accumulate
from math import degrees, hypot, pi, radians

import numpy as np

from bodygen.findings import Finding
from bodygen.plane.shapes import Line, Loop, Point, Text
from bodygen.recipe.model import Cutting, Lip
from bodygen.tables import load

_STEP = 0.25  # mm: places along the outline that are tried for a tab
_BESIDE = 0.5  # mm: of edge on both sides of a tab that is no corner either
_SAG = 0.01  # mm: of the chords that stand for the outline's arcs


def tab_width(cutting: Cutting) -> float:
    """Width of a tab as told, or as usual for the process [mm]."""
    usual: dict[str, float] = load("lips")["tab"]
    return cutting.tab_width or usual["width_laser_mm" if cutting.process == "laser" else "width_router_mm"]


def tab_marks(outline: Loop, cutting: Cutting) -> tuple[tuple[Line, Line], ...]:
    """Ticks at both ends of each tab, across the outline and the path beside it.

    The tabs share the exposed edge evenly, each moved to the nearest stretch that is straight or gently curved and
    clear of the tongue; fewer where the edge does not hold so many.
    """
    half, length = tab_width(cutting) / 2 / _STEP, load("lips")["tab"]["tick_mm"]
    places, ways = _edge(outline)
    ticks: list[tuple[Line, Line]] = []
    for middle in _middles(places, ways, cutting):
        ends = (max(0, round(middle - half)), min(len(places) - 1, round(middle + half)))
        first, second = (_tick(places[i], ways[i], length, cutting.kerf) for i in ends)
        ticks.append((first, second))
    return tuple(ticks)


def tab_places(outline: Loop, cutting: Cutting) -> tuple[Point, ...]:
    """Middles of the tabs that ``tab_marks`` marks, on the outline [mm]."""
    places, ways = _edge(outline)
    return tuple(places[i] for i in _middles(places, ways, cutting))


def _middles(places: list[Point], ways: list[float], cutting: Cutting) -> list[int]:
    """Which places are the middles of tabs."""
    width = tab_width(cutting)
    fit = _gentle(places, ways, width)
    taken: list[int] = []
    for number in range(cutting.tabs):
        wanted = (number + 0.5) / cutting.tabs * (len(places) - 1)
        clear = [i for i in fit if all(abs(i - other) * _STEP >= 2 * width for other in taken)]
        if clear:
            taken.append(min(clear, key=lambda i: abs(i - wanted)))
    return taken


def _edge(outline: Loop) -> tuple[list[Point], list[float]]:
    """Places every _STEP along the exposed edge, from one side of the mouth round the tip to the other, and ways [rad].

    The way is that of travel, counter-clockwise, without jumps of whole turns.
    """
    corners = np.array((*outline.points(_SAG), outline.points(_SAG)[0]))
    along = np.array([0.0, *accumulate(hypot(*step) for step in np.diff(corners, axis=0))])
    stations = np.arange(0.0, along[-1], _STEP)
    x, y = (np.interp(stations, along, corners[:, k]) for k in (0, 1))
    start = int(np.argmin(x))  # on the tongue, so that what is exposed is one run
    x, y = np.roll(x, -start), np.roll(y, -start)
    way = np.unwrap(np.arctan2(np.roll(y, -1) - np.roll(y, 1), np.roll(x, -1) - np.roll(x, 1)))
    out = x > 0
    places: list[Point] = [(float(a), float(b)) for a, b in zip(x[out], y[out], strict=True)]
    return places, [float(w) for w in way[out]]


def _gentle(places: list[Point], ways: list[float], width: float) -> list[int]:
    """Where a tab's whole width, and a little on both sides, hardly turns."""
    reach = round((width / 2 + _BESIDE) / _STEP)
    most = radians(load("lips")["tab"]["straight_deg"])
    return [
        i
        for i in range(reach, len(places) - reach)
        if max(ways[i - reach : i + reach + 1]) - min(ways[i - reach : i + reach + 1]) <= most
    ]


def _tick(place: Point, way: float, length: float, kerf: float) -> Line:
    """Draw a tick from inside the outline to as far beyond the path's middle."""
    out = (np.sin(way), -np.cos(way))  # to the right of travel
    (x, y), reach = place, kerf / 2 + length
    return Line(
        (float(x - length * out[0]), float(y - length * out[1])), (float(x + reach * out[0]), float(y + reach * out[1]))
    )


def bend_mark(outline: Loop, lip: Lip) -> tuple[Line, Text] | None:
    """Draw the line to bend along from edge to edge, and its angle in letters beside it on the tip's side."""
    if lip.bend is None:
        return None
    at = lip.bend.distance
    points = np.array((*outline.points(_SAG), outline.points(_SAG)[0]))
    (ax, ay), (bx, by) = points[:-1].T, points[1:].T
    crosses = (ax <= at) != (bx <= at)
    heights = ay[crosses] + (at - ax[crosses]) * (by - ay)[crosses] / (bx - ax)[crosses]
    label = f"bend {abs(round(degrees(lip.bend.angle), 1)):g}° {'down' if lip.bend.angle >= 0 else 'up'}"
    line = Line((at, float(heights.min())), (at, float(heights.max())))
    rules = load("lips")
    height = min(rules["bend"]["lettering_mm"], line.length / len(label))  # generous: a capital is narrower than high
    height = max(height, rules["engraving"]["least_height_mm"])
    return line, Text(label, (at + height, 0.0), height, "middle", pi / 2)


def mark_findings(outline: Loop, lip: Lip) -> list[Finding]:
    """Doubts about the tabs and the bend."""
    found, cutting = [], lip.cutting
    fit = len(tab_marks(outline, cutting)) if cutting.tabs else 0
    if fit < cutting.tabs:
        remedy = f"{fit} of {cutting.tabs} tabs are marked: ask for fewer or narrower ones, or a blunter outline"
        value, limit = float(cutting.tabs), float(fit)
        found.append(
            Finding("lip-tabs", "warning", "lip.cutting.tabs", remedy, value, limit, "", load("lips")["tab"]["source"])
        )
    if lip.bend is None:
        return found
    row = load("sheet")["sheet"][lip.sheet]
    if "bends" not in row:
        remedy = f"{row['name']} breaks or springs back: leave the bend out, or take a sheet that bends"
        found.append(Finding("lip-sheet-bend", "warning", "lip.bend", remedy))
    bends = f"; this sheet bends {row['bends']}" if "bends" in row else ""
    remedy = (
        "mass and flotation take the plate as flat, a dive as a flat one through its middle: weigh it bent, and tune "
        f"on the water{bends}"
    )
    value = degrees(lip.bend.angle)
    return [*found, Finding("lip-bend-flat", "note", "lip.bend.angle", remedy, value, 0.0, "deg")]
