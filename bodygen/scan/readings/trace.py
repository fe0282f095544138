"""A fair surface from a table of readings: back, belly and flank as smooth lines, what is missing guessed and said."""

from math import pi

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.fairing.offsets import Offsets
from bodygen.form.fairing.rows import between, opened
from bodygen.scan.readings.lines import Array, Data, judged, modes_of
from bodygen.scan.readings.many import far_off, fewer_rows
from bodygen.scan.readings.sections import sections_of, volume_of
from bodygen.scan.readings.slips import Faired, Slip, faired
from bodygen.scan.readings.table import Readings
from bodygen.scan.record import Doubtful, Guessed, Traced
from bodygen.tables import load

Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]
ROWS = 49
ENDS = ("nose", "tail")
NAMES = {"top": "top", "bottom": "bottom", "half_width": "half width"}
OUTWARDS = {"top": 1.0, "bottom": -1.0, "half_width": 1.0}
READ_END, EXACT_END = 25.0, 1e4
"""Weights of a closed end that was read (heights of back and belly agree) and of one that is closed by nature."""
BLUNT, BLUNTEST_SIZED = (0.0, 0.4, 0.7, 1.0, 1.4, 2.0), 1.0
"""What is tried for how an end closes, as ``rows.opened`` has it: 0 a point, 1 round; a sized end up to round [-]."""
BLUNTEST = 3.0
"""What is thought of besides before a reading beside an end is called a slip [-]."""
HOLLOW = 0.4
"""An end that is thinner than this share of a pointed one dips: its line is laid anew."""
POWERS = (0.35, 0.9)
"""How fast a flank may close: half size ~ distance^p [-]."""
ROUND_BELOW = 0.75
"""Growth of an end (size ~ x^p) below which it is round: 0.5 is an ellipse, 1 a point."""


def traced_from(readings: Readings, smooth_mm: float | None = None) -> Traced:
    """The surface through readings [mm].

    Parameters
    ----------
    readings : Readings
        As read and checked.
    smooth_mm : float, optional
        Waves of the lines shorter than this are taken as the hand's [mm]; None: as the readings themselves have it.

    Raises
    ------
    InputError
        No body goes through these lines; where they fail is told.
    """
    table, readings = readings, fewer_rows(readings)
    closed, heights, guessed = _ends(readings)
    facts = load("limits")["readings"]
    blunt = _bluntness(readings, closed, heights, float(facts["least_spread_mm"]))
    data, fixed, rows = _data(readings, closed, heights, blunt)
    weight = None if smooth_mm is None else _weight(smooth_mm, readings.length, data)
    others = [_data(readings, closed, heights, other)[0] for other in _ways(blunt)]
    fair = faired(data, fixed, float(facts["least_spread_mm"]), weight, others)
    offsets = _offsets(readings, fair, closed, blunt)
    offsets, more = sections_of(readings, offsets)
    volume_of(readings, offsets)
    notes = [] if not readings.shifted else [f"The x axis began at {readings.shifted:g} mm; it begins at the nose now."]
    doubtful = tuple(_doubtful(readings, slip, rows) for slip in fair.slips)
    if table is not readings:
        notes.append(f"Of {len(table.x)} rows the medians of neighbours are used, {len(readings.x)} in all.")
        doubtful += far_off(table, offsets, fair.judged.spread)
    places = _places(readings, offsets, {(s.line, int(rows[s.line][s.at])) for s in fair.slips if s.left_out})
    noise = max(2 * fair.judged.spread, float(facts["least_spread_mm"]))
    return Traced(
        "stations",
        readings.file,
        readings.sha256,
        offsets,
        places,
        min(noise, 0.2),
        doubtful,
        (*guessed, *more),
        (),
        tuple(notes),
    )


def _ends(readings: Readings) -> tuple[tuple[bool, bool], tuple[float | None, float | None], tuple[Guessed, ...]]:
    """Which ends close, at which height if it was read, and what was guessed of them."""
    closed, heights, guessed = [], [], []
    least = float(load("limits")["readings"]["closed_mm"])
    for name, x in zip(ENDS, (0.0, readings.length), strict=True):
        at = readings.x == x
        top, bottom, half = (_first(getattr(readings, key)[at]) for key in NAMES)
        height = None if top is None or bottom is None else (top + bottom) / 2
        small = top is not None and bottom is not None and top - bottom <= least and (half or 0.0) <= least / 2
        shut = small or half == 0 or (top is None and bottom is None and half is None)
        if shut and top is not None and bottom is not None and top - bottom > least:
            line = readings.lines[int(np.flatnonzero(at)[0])]
            problem = f"no width at the {name}, where top and bottom are {top - bottom:g} mm apart: that is an edge."
            accepted = "a half width above 0, or an empty cell; a closed end is 0 on all sides"
            raise InputError([Mistake(readings.file, line, "half_width_mm", "0", problem, accepted)])
        closed.append(shut)
        heights.append(height if shut else None)
        if shut and height is None:
            why = "nothing was read there" if at.any() else "no row was read there"
            guessed.append(Guessed(f"{name} end", f"closed, at x = {x:g} mm", why))
    return (closed[0], closed[1]), (heights[0], heights[1]), tuple(guessed)


def _first(values: Array) -> float | None:
    known = values[~np.isnan(values)]
    return float(known[0]) if len(known) else None


def _ways(blunt: tuple[float, float]) -> list[tuple[float, float]]:
    """How else one of the ends may close."""
    every = (*BLUNT, BLUNTEST)
    return [*((b, blunt[1]) for b in every if b != blunt[0]), *((blunt[0], b) for b in every if b != blunt[1])]


def _bluntness(
    readings: Readings, closed: tuple[bool, bool], heights: tuple[float | None, float | None], least: float
) -> tuple[float, float]:
    """How the ends close, of all three lines at once: that under which the readings are likeliest."""
    nose, tail = (BLUNT if shut else [b for b in BLUNT if b <= BLUNTEST_SIZED] for shut in closed)
    tried = [(a, b) for a in nose for b in tail]

    def score(blunt: tuple[float, float]) -> float:
        data, _, _ = _data(readings, closed, heights, blunt)
        return judged([modes_of(line) for line in data.values()], least).score

    return min(tried, key=score)


def _data(
    readings: Readings,
    closed: tuple[bool, bool],
    heights: tuple[float | None, float | None],
    blunt: tuple[float, float],
) -> tuple[
    dict[str, Data],
    dict[str, Flags],
    dict[str, Rows],
]:
    """The readings by line; which are ends that are known; and the row of the table of each, -1 for these."""
    data, fixed, rows = {}, {}, {}
    at_ends = [
        _height_of(readings, end) if height is None else height for end, height in zip((0, -1), heights, strict=True)
    ]
    for name in NAMES:
        y = getattr(readings, name)
        known = ~np.isnan(y)
        for end, shut in zip((0.0, readings.length), closed, strict=True):
            known &= ~((readings.x == end) & shut)
        at = np.flatnonzero(known)
        t, value, weight = opened(readings.x[at] / readings.length, *blunt), y[at], np.ones(len(at))
        for end, shut, height in zip((0.0, 1.0), closed, at_ends, strict=True):
            if shut:
                t = np.append(t, end)
                value = np.append(value, 0.0 if name == "half_width" else height)
                weight = np.append(weight, EXACT_END if name == "half_width" else READ_END)
        data[name] = Data(t, value, weight)
        fixed[name] = np.arange(len(t)) >= len(at)
        rows[name] = np.concatenate([at, np.full(len(t) - len(at), -1)])
    return data, fixed, rows


def _height_of(readings: Readings, end: int) -> float:
    """Height of a closed end that nobody read: where the middle of back and belly runs to [mm]."""
    both = np.flatnonzero(~np.isnan(readings.top) & ~np.isnan(readings.bottom))
    if len(both) < 2:
        return 0.0
    near = both[:2] if end == 0 else both[-2:]
    middle = (readings.top[near] + readings.bottom[near]) / 2
    x = readings.x[near]
    target = 0.0 if end == 0 else readings.length
    slope = (middle[1] - middle[0]) / max(x[1] - x[0], 1e-9)
    return float(middle[0] + slope * (target - x[0]))


def _weight(smooth_mm: float, length: float, data: dict[str, Data]) -> float:
    """The weight of the bend that halves a wave of this length amid the body.

    Derived here: of n readings spread over t in 0..1 a wave of k turns keeps 1 / (1 + weight (2 pi k)^4 / n); in the
    middle of the body t runs half as fast as x / length.
    """
    n = float(np.mean([len(d.t) for d in data.values()]))
    return n * (smooth_mm / length / 2 / (2 * pi)) ** 4


def _offsets(readings: Readings, fair: Faired, closed: tuple[bool, bool], blunt: tuple[float, float]) -> Offsets:
    """The lines at rows that lie closer at closed ends; the widest line midway, sections elliptic."""
    length = readings.length
    rows = min(blunt[0], 1.0), min(blunt[1], 1.0)
    x = between(np.zeros(ROWS), np.full(ROWS, length), np.linspace(0, 1, ROWS), length, rows)
    x[0], x[-1] = 0.0, length
    t = opened(x / length, *blunt)
    top, bottom, half = (fair.lines[name](t) for name in NAMES)
    middle, depth = (top + bottom) / 2, top - bottom
    both = ~np.isnan(readings.top) & ~np.isnan(readings.bottom) & (readings.top > readings.bottom)
    depth = _closing(readings.x[both], x, depth, closed)
    top, bottom = middle + depth / 2, middle - depth / 2
    half = _closing(readings.x[readings.half_width > 0], x, half, closed)
    for end, shut in zip((0, -1), closed, strict=True):
        if shut:
            top[end] = bottom[end] = (top[end] + bottom[end]) / 2
            half[end] = 0.0
    _refuse_crossing(readings, x, top, bottom, half)
    size = (top - bottom) / 2 + half
    rounded = tuple(_is_round(x, size, end) for end in (0, -1))
    two = np.full(ROWS, 2.0)
    return Offsets(
        x, top, bottom, half, (top + bottom) / 2, two, two, nose_round=bool(rounded[0]), tail_round=bool(rounded[1])
    )


def _closing(read: Array, x: Array, half: Array, closed: tuple[bool, bool]) -> Array:
    """A size, laid anew as a power of the way between a closed end and its first reading where it dips there.

    The power is the one with the line's own slope at the reading, so that the two meet smoothly; derived here.
    """
    half = half.copy()
    read = read[(read > 0) & (read < x[-1])]
    if not len(read):
        return half
    for shut, way, sizes, first in (
        (closed[0], x, half, read[0]),
        (closed[1], x[-1] - x[::-1], half[::-1], x[-1] - read[-1]),
    ):
        inner = (way > 0) & (way < first)
        at, step = float(np.interp(first, way, sizes)), 0.05 * first
        if not shut or (sizes[inner] > HOLLOW * at * (way[inner] / first) ** POWERS[1]).all():
            continue
        slope = (float(np.interp(first + step, way, sizes)) - at) / step
        power = float(np.clip(slope * first / at, *POWERS))
        sizes[inner] = at * (way[inner] / first) ** power
    return half


def _is_round(x: Array, size: Array, end: int) -> bool:
    """Whether an end opens round: by p of size ~ distance^p over its first rows, and steeper than it is long."""
    way, grown = (x, size - size[0]) if end == 0 else (x[-1] - x[::-1], size[::-1] - size[-1])
    if grown[1] <= way[1] or grown[3] <= grown[1]:
        return False
    return bool(np.log(grown[3] / grown[1]) / np.log(way[3] / way[1]) < ROUND_BELOW)


def _refuse_crossing(readings: Readings, x: Array, top: Array, bottom: Array, half: Array) -> None:
    """Let no line cross another within the body; the nearest row is named."""
    for least, column, problem in (
        (top - bottom, "top_mm", "the lines of back and belly cross"),
        (half, "half_width_mm", "the flank crosses the middle"),
    ):
        inner = least[1:-1]
        if inner.min() > 0:
            continue
        at = float(x[1 + int(np.argmin(inner))])
        nearest = int(np.argmin(np.abs(readings.x - at)))
        accepted = "check this row and those beside it, or leave a cell empty"
        mistake = Mistake(
            readings.file, readings.lines[nearest], column, "", f"{problem} near x = {at:.1f} mm.", accepted
        )
        raise InputError([mistake])


def _doubtful(readings: Readings, slip: Slip, rows: dict[str, Rows]) -> Doubtful:
    at = int(rows[slip.line][slip.at])
    return Doubtful(
        float(readings.x[at]), NAMES[slip.line], OUTWARDS[slip.line] * slip.off, slip.left_out, slip.beside_end
    )


def _places(readings: Readings, offsets: Offsets, left_out: set[tuple[str, int]]) -> Array:
    """Where each reading that was used lies (k, 3) [mm]; widths at the height where the body is widest."""
    places = []
    for name in NAMES:
        y = getattr(readings, name)
        for i in np.flatnonzero(~np.isnan(y)):
            if (name, int(i)) in left_out:
                continue
            x = float(readings.x[i])
            widest = float(np.interp(x, offsets.x, offsets.widest))
            places.append((x, float(y[i]), widest) if name == "half_width" else (x, 0.0, float(y[i])))
    return np.array(places)
