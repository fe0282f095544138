"""Rows of drop-cutter points joined into moves: level by level for roughing, once over for finishing.

Knows rows and the order to run them in. Every move lies on or above the cutter's surface: links between rows are
dropped onto it like the rows themselves.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, hypot, tan

import numpy as np
from numpy.typing import NDArray

from bodygen.shop.mill.cutters import Feeds
from bodygen.shop.mill.drop_cutter import Surface, followed, thinned
from bodygen.shop.mill.job import Machining, Move, approach, retract

Array = NDArray[np.float64]
LINK_STEPS = 6.0
"""Rows whose ends lie within this many steps are joined without lifting the cutter."""
THIN_MM = 0.002
_ROUGH_THIN_MM = 0.02
_LINK_CHORD_MM = 0.008
_AIR_MM = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A stretch of one row to be cut: (k, 3) points of the tip."""

    row: int
    points: Array


def roughed(
    surface: Surface,
    rows: Sequence[Array],
    numbers: NDArray[np.int64],
    how: Machining,
    allowance: float,
    ramp: float,
) -> list[Move]:
    """Take the wood off in level passes no deeper than the bite, each entered by a ramp along its first row.

    Parameters
    ----------
    surface : Surface
        Of the roughing cutter, its lowest place lowered by the allowance.
    rows : sequence of (k, 6)
        Points of the rows, as ``followed`` gives them.
    numbers : (n,)
        Which line of the raster each row lies on.
    how : Machining
        Where, how fast, how high the rapids.
    allowance : float
        What is left on the part [mm].
    ramp : float
        Slope of an entry [rad].
    """
    bottom = surface.lowest + allowance
    passes = ceil(-bottom / how.feeds.bite - 1e-9)
    levels = [bottom * (i + 1) / passes for i in range(passes)]
    passed: list[tuple[float, list[list[Array]]]] = []
    before = 0.0
    for level in levels:
        runs = []
        for row, number in zip(rows, numbers.tolist(), strict=True):
            target = row[:, 2] + allowance
            for part in _stretches(target < before - 1e-6):
                points = np.column_stack([row[part, :2], np.maximum(target[part], level)])
                runs.append(_Run(number, thinned(points, _ROUGH_THIN_MM)))
        passed.append((before, _chains(runs, LINK_STEPS * how.feeds.step)))
        before = level
    chains = _linked(surface, [chain for _, found in passed for chain in found])
    heights = [(begin, level) for level, (begin, found) in zip(levels, passed, strict=True) for _ in found]
    moves: list[Move] = []
    for chain, (begin, level) in zip(chains, heights, strict=True):
        parts = [_lifted(part, allowance if i % 2 else 0.0, level) for i, part in enumerate(chain)]
        _enter(moves, parts[0], begin, ramp, how)
        moves += _along(np.concatenate(parts), how.feeds)
        retract(moves, how)
    return moves


def _lifted(points: Array, allowance: float, level: float) -> Array:
    """Higher by an allowance, and nowhere below a level."""
    return np.column_stack([points[:, :2], np.maximum(points[:, 2] + allowance, level)])


def finished(
    surface: Surface,
    rows: Sequence[Array],
    numbers: NDArray[np.int64],
    how: Machining,
    wanted: Callable[[Array], NDArray[np.bool_]],
    step: float,
) -> list[Move]:
    """Go once over the parts of the rows where the skin leans as ``wanted`` says; ``step`` between the rows [mm]."""
    runs = [
        _Run(number, thinned(row[part, :3], THIN_MM))
        for row, number in zip(rows, numbers.tolist(), strict=True)
        for part in _stretches(wanted(row[:, 3:]))
    ]
    moves: list[Move] = []
    for chain in _linked(surface, _chains(runs, LINK_STEPS * step)):
        x, y, z = chain[0][0].tolist()
        approach(moves, (x, y, z), how)
        moves += _along(np.concatenate(chain), how.feeds)
        retract(moves, how)
    return moves


def _stretches(active: NDArray[np.bool_]) -> list[slice]:
    """Runs of True, each with one neighbour on either side; those that then touch are one."""
    if not active.any():
        return []
    wide = active.copy()
    wide[1:] |= active[:-1]
    wide[:-1] |= active[1:]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wide.astype(np.int8), [0]])))
    return [slice(int(a), int(b)) for a, b in edges.reshape(-1, 2) if b - a > 1]


def _chains(runs: Sequence[_Run], link: float) -> list[list[Array]]:
    """Runs in an order that lifts the cutter seldom: each chain goes from row to the next while an end lies near."""
    left: dict[int, list[_Run]] = {}
    for run in runs:
        left.setdefault(run.row, []).append(run)
    chains: list[list[Array]] = []
    for row in sorted(left):
        while left[row]:
            chain = [left[row].pop(0).points]
            at = row
            while True:
                x, y = chain[-1][-1, :2].tolist()
                found = _nearest(left.get(at + 1, []), x, y, link)
                if found is None:
                    break
                run, turn = found
                left[at + 1].remove(run)
                chain.append(run.points[::-1] if turn else run.points)
                at += 1
            chains.append(chain)
    return chains


def _linked(surface: Surface, chains: Sequence[list[Array]]) -> list[list[Array]]:
    """Each chain with the ways between its runs, let down on the surface: run, way, run, way, run ..."""
    pairs = [(before[-1, :2], after[0, :2]) for chain in chains for before, after in pairwise(chain)]
    starts, ends = (np.array([pair[k] for pair in pairs]).reshape(-1, 2) for k in (0, 1))
    ways = iter(followed(surface, starts, ends, 0.5, _LINK_CHORD_MM))
    joined = []
    for chain in chains:
        parts = [chain[0]]
        for run in chain[1:]:
            parts += [next(ways)[1:-1, :3], run]
        joined.append(parts)
    return joined


def _nearest(runs: Sequence[_Run], x: float, y: float, link: float) -> tuple[_Run, bool] | None:
    """The run with an end nearest to a place, if within reach, and whether it is then run backwards."""
    best: tuple[_Run, bool] | None = None
    for run in runs:
        for turn, (a, b, _) in ((False, run.points[0]), (True, run.points[-1])):
            away = hypot(a - x, b - y)
            if away < link:
                best, link = (run, turn), away
    return best


def _along(points: Array, feeds: Feeds) -> list[Move]:
    return [Move("line", (x, y, z), feeds.feed) for x, y, z in points[1:].tolist()]


def _enter(moves: list[Move], run: Array, before: float, ramp: float, how: Machining) -> None:
    """Come down in the air that the pass before has made, then down a ramp along the run and back to its start."""
    x, y, z = run[0].tolist()
    begin = max(z, before)
    approach(moves, (x, y, min(begin + _AIR_MM, 1.0)), how)
    moves.append(Move("line", (x, y, begin), how.feeds.plunge))
    slope, height, reach = tan(ramp), begin, 0.0
    stretch = _first(run, (begin - float(run[:, 2].min())) / slope + 1.0)
    way = stretch
    for _ in range(200):
        for a, b in pairwise(way):
            reach = hypot(b[0] - a[0], b[1] - a[1])
            height -= reach * slope
            moves.append(Move("line", (float(b[0]), float(b[1]), max(float(b[2]), height)), how.feeds.feed))
        way = way[::-1]
        if height <= float(stretch[:, 2].min()) and len(way) and np.array_equal(way[0], run[0]):
            break
    if moves[-1].end != (x, y, z):
        moves.append(Move("line", (x, y, z), how.feeds.plunge))


def _first(run: Array, length: float) -> Array:
    """The first stretch of a run that is about so long in plan, in steps no longer than 1 mm."""
    points = [run[0]]
    gone = 0.0
    for a, b in pairwise(run):
        span = float(np.hypot(*(b - a)[:2]))
        steps = max(1, ceil(span))
        for i in range(1, steps + 1):
            points.append(a + (b - a) * i / steps)
            gone += span / steps
            if gone >= length:
                return np.array(points)
    return np.array(points)
