"""Readings that do not fair: which one was misread, by how much, and whether a neighbour explains it as well.

Each reading in turn is taken as the slip, and all others are judged without it: whichever of these tells the likeliest
story names the slip. An interpolating line blames the neighbour of the wrong reading in three of ten. Knows numbers.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.readings.lines import Data, Judged, Modes, SmoothLine, judged, modes_of, smoothed

DOUBTFUL, LEFT_OUT = 4.0, 8.0
"""How many of its own spreads a reading is off before it is named, and before it is not used."""
AS_WELL, ALONE = 2 * log(7), 2 * log(20)
"""How much less likely another story may be that still explains a slip as well, and that leaves no doubt [2 log]."""
KEPT = 2.0
"""A doubtful reading that is used weighs so little that it is this many spreads off."""
MOST_SLIPS = 6
LOOKED_AT = 45
"""Of more readings than this those that are farthest off are looked at."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A reading ``at`` of a ``line`` that is ``off`` [mm] from where the others have it, in ``spreads`` of its own."""

    line: str
    at: int
    off: float
    spreads: float
    left_out: bool


@dataclass(frozen=True, slots=True, eq=False)
class Faired:
    """The lines by name, each through its readings less the slips; ``judged`` by the readings that are none."""

    lines: Mapping[str, SmoothLine]
    slips: tuple[Slip, ...]
    judged: Judged


def faired(
    readings: Mapping[str, Data],
    fixed: Mapping[str, NDArray[np.bool_]],
    least: float,
    smooth: float | None = None,
) -> Faired:
    """Find the slips and lay the lines through the rest.

    Parameters
    ----------
    readings : mapping of Data
        By line.
    fixed : mapping of (n,) bool arrays
        Which of them are no readings but ends that are known.
    least : float
        No reading is known better than this [mm].
    smooth : float, optional
        The weight of the bend; None: the likeliest.
    """
    tried = np.array([smooth]) if smooth is not None else None
    held = {name: np.arange(len(data.t)) for name, data in readings.items()}
    slips: list[Slip] = []
    for _ in range(min(MOST_SLIPS, max(1, sum(map(len, held.values())) // 8))):
        found = _likeliest(readings, held, fixed, least, tried)
        if not found:
            break
        slips += found
        first = found[0]
        held[first.line] = held[first.line][held[first.line] != first.at]
    modes = [modes_of(_picked(readings[name], rows)) for name, rows in held.items()]
    verdict = _judged(modes, least, tried)
    lines = {name: _line(name, data, slips, verdict) for name, data in readings.items()}
    return Faired(lines, tuple(slips), verdict)


def _picked(data: Data, rows: NDArray[np.intp]) -> Data:
    return Data(data.t[rows], data.y[rows], data.w[rows])


def _judged(modes: list[Modes], least: float, tried: NDArray[np.float64] | None) -> Judged:
    return judged(modes, least) if tried is None else judged(modes, least, tried)


def _likeliest(
    readings: Mapping[str, Data],
    held: Mapping[str, NDArray[np.intp]],
    fixed: Mapping[str, NDArray[np.bool_]],
    least: float,
    tried: NDArray[np.float64] | None,
) -> list[Slip]:
    """The next slip, and the readings beside it that explain what is seen as well; none where all is fair."""
    parts = {name: _picked(readings[name], rows) for name, rows in held.items()}
    modes = {name: modes_of(part) for name, part in parts.items()}
    now = _judged(list(modes.values()), least, tried)
    stories: list[tuple[float, Slip]] = []
    for name, i in _suspects(parts, held, fixed, now):
        without = [modes_of(parts[name].without(i)) if other == name else m for other, m in modes.items()]
        verdict = _judged(without, least, tried)
        line = smoothed(parts[name], verdict.smooth)
        off, spread = float(line.off[i]), verdict.spread * float(np.sqrt(line.free[i]))
        stories.append((verdict.score, Slip(name, int(held[name][i]), off, abs(off) / spread, left_out=False)))
    if not stories:
        return []
    stories.sort(key=lambda story: story[0])
    best, slip = stories[0]
    if slip.spreads <= DOUBTFUL:
        return []
    as_well = [other for score, other in stories[1:3] if score - best < AS_WELL and other.spreads > DOUBTFUL]
    alone = len(stories) == 1 or stories[1][0] - best >= ALONE
    return [replace(slip, left_out=alone and slip.spreads > LEFT_OUT), *as_well]


def _suspects(
    parts: Mapping[str, Data],
    held: Mapping[str, NDArray[np.intp]],
    fixed: Mapping[str, NDArray[np.bool_]],
    now: Judged,
) -> list[tuple[str, int]]:
    """The readings to look at, by line and place among those held."""
    found = []
    for name, part in parts.items():
        line = smoothed(part, now.smooth)
        spreads = np.abs(line.off) / np.sqrt(line.free)
        found += [(float(spreads[i]), name, i) for i, row in enumerate(held[name]) if not fixed[name][row]]
    found.sort(key=lambda row: -row[0])
    return [(name, i) for _, name, i in found[:LOOKED_AT]]


def _line(name: str, data: Data, slips: list[Slip], verdict: Judged) -> SmoothLine:
    """The line through all that is used; a doubtful reading weighs as little as it is believed."""
    out = [slip.at for slip in slips if slip.line == name and slip.left_out]
    doubted = {slip.at: slip for slip in slips if slip.line == name and not slip.left_out}
    weights = data.w.copy()
    full = smoothed(data, verdict.smooth)
    for at, slip in doubted.items():
        believed = (slip.off / (verdict.spread * KEPT)) ** 2 - float(full.free[at]) + 1 / data.w[at]
        weights[at] = min(data.w[at], 1 / max(believed, 1e-9))
    keep = np.setdiff1d(np.arange(len(data.t)), out)
    return smoothed(_picked(Data(data.t, data.y, weights), keep), verdict.smooth)
