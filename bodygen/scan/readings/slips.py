"""Readings that do not fair: which one was misread, by how much, and whether a neighbour explains it as well.

Each reading in turn is taken as the slip, and all others are judged without it: whichever of these tells the likeliest
story names the slip. An interpolating line blames the neighbour of the wrong reading in three of ten. Knows numbers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.readings.lines import Data, Judged, Modes, SmoothLine, judged, modes_of, smoothed

DOUBTFUL, BESIDE_END, ANOTHER, LEFT_OUT = 1.9, 1.6, 3.0, 8.0
"""How many of its own spreads a reading is off before it is named, before it is as the last one beside an end, where
nothing else tells how the line closes, before a further one is named, and before it is not used."""
SMALL_MM, SMALL_DOUBTFUL = 0.5, 4.0
"""A reading that is off by less than this is named only where it is so many spreads: a hand is no surer."""
AS_WELL, ALONE = 2 * log(7), 2 * log(20)
"""How much less likely another story may be that still explains a slip as well, and that leaves no doubt [2 log]."""
KEPT = 4.0
"""A doubtful reading that is used weighs so little that it is this many spreads off at most."""
MOST_SLIPS, LIKELIEST = 6, 4
LOOKED_AT = 45
"""Of more readings than this those that are farthest off are looked at."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A reading ``at`` of a ``line`` that is ``off`` [mm] from where the others have it, in ``spreads`` of its own.

    ``beside_end``: the last one there, so that the line may also close otherwise.
    """

    line: str
    at: int
    off: float
    spreads: float
    left_out: bool
    beside_end: bool = False


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
    others: Sequence[Mapping[str, Data]] = (),
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
    others : sequence of mappings
        The same readings in other parameters, as other ways for the ends to close have them: a reading that one of
        these explains is no slip, for the first and the last reading alone tell how an end closes.
    """
    tried = np.array([smooth]) if smooth is not None else None
    held = {name: np.arange(len(data.t)) for name, data in readings.items()}
    slips: list[Slip] = []
    for _ in range(min(MOST_SLIPS, max(1, sum(map(len, held.values())) // 8))):
        found = _likeliest(readings, held, fixed, least, tried, others, first=not slips)
        if not found:
            break
        slips += found
        out = found[0]
        held[out.line] = held[out.line][held[out.line] != out.at]
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
    others: Sequence[Mapping[str, Data]],
    *,
    first: bool,
) -> list[Slip]:
    """The next slip, and the readings beside it that explain what is seen as well; none where all is fair."""
    parts = {name: _picked(readings[name], rows) for name, rows in held.items()}
    modes = {name: modes_of(part) for name, part in parts.items()}
    now = _judged(list(modes.values()), least, tried)
    stories: list[tuple[float, Slip]] = []
    for name, i in _suspects(parts, held, fixed, now):
        score, off, spreads = _story(parts, modes, name, i, least, tried)
        stories.append((score, Slip(name, int(held[name][i]), off, spreads, left_out=False)))
    stories.sort(key=lambda story: story[0])
    elsewise = [{name: _picked(other[name], rows) for name, rows in held.items()} for other in others]
    kept: list[tuple[float, Slip]] = []
    for score, slip in stories[:LIKELIEST]:
        limit = _limit(readings[slip.line], fixed[slip.line], slip, first=first)
        if slip.spreads > limit:
            at = int(np.flatnonzero(held[slip.line] == slip.at)[0])
            spreads = _least_spreads(elsewise, slip, at, score, least, tried)
            beside = _beside_end(readings[slip.line], fixed[slip.line], slip.at)
            kept += [(score, replace(slip, spreads=spreads, beside_end=beside))] if spreads > limit else []
    if not kept:
        return []
    best, slip = kept[0]
    as_well = [other for score, other in kept[1:] if score - best < AS_WELL]
    alone = all(score - best >= ALONE for score, other in stories if other.at != slip.at or other.line != slip.line)
    return [replace(slip, left_out=alone and slip.spreads > LEFT_OUT), *as_well[:1]]


def _limit(data: Data, fixed: NDArray[np.bool_], slip: Slip, *, first: bool) -> float:
    """How many spreads a reading may be off."""
    if abs(slip.off) < SMALL_MM:
        return SMALL_DOUBTFUL
    if not first:
        return ANOTHER
    return BESIDE_END if _beside_end(data, fixed, slip.at) else DOUBTFUL


def _beside_end(data: Data, fixed: NDArray[np.bool_], at: int) -> bool:
    t = data.t[~fixed]
    return bool(data.t[at] in {t.min(), t.max()})


def _story(
    parts: Mapping[str, Data],
    modes: Mapping[str, Modes],
    name: str,
    i: int,
    least: float,
    tried: NDArray[np.float64] | None,
) -> tuple[float, float, float]:
    """How likely all other readings are without one, how far it is off then [mm], and that in its own spreads."""
    without = [modes_of(parts[name].without(i)) if other == name else m for other, m in modes.items()]
    verdict = _judged(without, least, tried)
    line = smoothed(parts[name], verdict.smooth)
    off, spread = float(line.off[i]), verdict.spread * float(np.sqrt(line.free[i]))
    return verdict.score, off, abs(off) / spread


def _least_spreads(
    elsewise: Sequence[Mapping[str, Data]],
    slip: Slip,
    at: int,
    score: float,
    least: float,
    tried: NDArray[np.float64] | None,
) -> float:
    """By how many spreads the reading is off at least, of all parameters that explain the others as well."""
    found = [(score, slip.spreads)]
    for parts in elsewise:
        modes = {name: modes_of(part) for name, part in parts.items()}
        other, _, spreads = _story(parts, modes, slip.line, at, least, tried)
        found.append((other, spreads))
    best = min(likely for likely, _ in found)
    return min(spreads for likely, spreads in found if likely - best < AS_WELL)


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
