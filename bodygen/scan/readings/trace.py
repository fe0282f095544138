"""A fair surface from a table of readings: back, belly and flank as smooth lines, what is missing guessed and said."""

from dataclasses import replace
from math import pi

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.fairing.fair import fair_line
from bodygen.form.fairing.offsets import FoldError, Offsets, skin_through
from bodygen.form.fairing.rows import between, opened
from bodygen.form.integrals import body_volume
from bodygen.scan.readings.lines import Array, Data
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
    closed, heights, guessed = _ends(readings)
    data, fixed, rows = _data(readings, closed, heights)
    facts = load("limits")["readings"]
    weight = None if smooth_mm is None else _weight(smooth_mm, readings.length, data)
    fair = faired(data, fixed, float(facts["least_spread_mm"]), weight)
    offsets = _offsets(readings, fair, closed)
    offsets, more = _sections(readings, offsets)
    _volume(readings, offsets)
    notes = [] if not readings.shifted else [f"The x axis began at {readings.shifted:g} mm; it begins at the nose now."]
    doubtful = tuple(_doubtful(readings, slip, rows) for slip in fair.slips)
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
    for name, x in zip(ENDS, (0.0, readings.length), strict=True):
        at = readings.x == x
        top, bottom, half = (_first(getattr(readings, key)[at]) for key in NAMES)
        height = None if top is None or bottom is None else (top + bottom) / 2
        shut = (top is not None and top == bottom) or half == 0 or (top is None and bottom is None and half is None)
        if shut and top is not None and bottom is not None and top - bottom > 1e-9:
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


def _parameter(x: Array, length: float, closed: tuple[bool, bool]) -> Array:
    return opened(np.asarray(x) / length, float(closed[0]), float(closed[1]))


def _data(
    readings: Readings, closed: tuple[bool, bool], heights: tuple[float | None, float | None]
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
        t, value, weight = _parameter(readings.x[at], readings.length, closed), y[at], np.ones(len(at))
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


def _offsets(readings: Readings, fair: Faired, closed: tuple[bool, bool]) -> Offsets:
    """The lines at rows that lie closer at closed ends; the widest line midway, sections elliptic."""
    length, blunt = readings.length, (float(closed[0]), float(closed[1]))
    x = between(np.zeros(ROWS), np.full(ROWS, length), np.linspace(0, 1, ROWS), length, blunt)
    x[0], x[-1] = 0.0, length
    t = _parameter(x, length, closed)
    top, bottom, half = (fair.lines[name](t) for name in NAMES)
    for end, shut in zip((0, -1), closed, strict=True):
        if shut:
            top[end] = bottom[end] = (top[end] + bottom[end]) / 2
            half[end] = 0.0
    _refuse_crossing(readings, x, top, bottom, half)
    size = (top - bottom) / 2 + half
    rounded = tuple(shut and _growth(x, size, end) < ROUND_BELOW for end, shut in zip((0, -1), closed, strict=True))
    two = np.full(ROWS, 2.0)
    return Offsets(
        x, top, bottom, half, (top + bottom) / 2, two, two, nose_round=bool(rounded[0]), tail_round=bool(rounded[1])
    )


def _growth(x: Array, size: Array, end: int) -> float:
    """How an end opens: p of size ~ distance^p over its first rows [-]."""
    way = x if end == 0 else x[-1] - x[::-1]
    size = size if end == 0 else size[::-1]
    return float(np.log(size[3] / size[1]) / np.log(way[3] / way[1]))


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


def _sections(readings: Readings, offsets: Offsets) -> tuple[Offsets, tuple[Guessed, ...]]:
    """The widest line and squareness as they were read; where they were not, as usual, and how much hangs on it."""
    depth = offsets.top - offsets.bottom
    guess = load("limits")["readings"]
    share, known_widest = _along(
        readings,
        (readings.widest - np.interp(readings.x, offsets.x, offsets.bottom))
        / np.maximum(np.interp(readings.x, offsets.x, depth), 1e-9),
        offsets.x,
        0.5,
        (0.05, 0.95),
    )
    low, high = (float(v) for v in load("limits")["range"]["squareness"])
    usual = float(guess["squareness"])
    back, known_back = _along(readings, readings.squareness_back, offsets.x, usual, (low, high))
    belly, known_belly = _along(readings, readings.squareness_belly, offsets.x, usual, (low, high))

    def made(back: Array, belly: Array, share: Array) -> Offsets:
        return replace(offsets, widest=offsets.bottom + share * depth, squareness_back=back, squareness_belly=belly)

    found = made(back, belly, share)
    apart = float(guess["volume_share"])
    guessed = []
    if not (known_back and known_belly):
        ends = [made(*_either(back, belly, n, known_back, known_belly), share) for n in guess["squareness_range"]]
        text = f"{usual:g}"
        guessed.append(
            Guessed("squareness", text, "nobody measured the sections' corners", _range(readings, ends, apart))
        )
    if not known_widest:
        ends = [made(back, belly, np.full_like(share, s)) for s in guess["widest_range"]]
        why = "nobody measured how high the body is widest"
        guessed.append(Guessed("widest line", "midway between back and belly", why, _range(readings, ends, apart)))
    return found, tuple(guessed)


def _either(back: Array, belly: Array, n: float, known_back: bool, known_belly: bool) -> tuple[Array, Array]:
    return back if known_back else np.full_like(back, n), belly if known_belly else np.full_like(belly, n)


def _along(
    readings: Readings, values: Array, x: Array, usual: float, bounds: tuple[float, float]
) -> tuple[Array, bool]:
    """What was read here and there, fair over x (k,); the usual where it never was; and whether it was."""
    known = ~np.isnan(values) & (np.abs(values) < 1e3)
    known &= (readings.x > 0) & (readings.x < readings.length) | np.isnan(readings.widest)
    at, which = np.unique(readings.x[known], return_index=True)
    some = np.clip(values[known][which], *bounds)
    if not len(at):
        return np.full(len(x), usual), False
    if len(at) == 1 or np.ptp(some) < 1e-9:
        return np.full(len(x), float(some.mean())), True
    return np.clip(fair_line(at, some)(x), *bounds), True


def _volume(readings: Readings, offsets: Offsets) -> float:
    """Volume [cm^3] of the surface; raises ``InputError`` where it folds."""
    try:
        return body_volume(skin_through(offsets)).volume / 1000
    except FoldError as fold:
        nearest = int(np.argmin(np.abs(readings.x - fold.x)))
        problem = f"the surface through the readings {fold.what} near x = {fold.x:.1f} mm."
        accepted = "check this row and those beside it, or leave one out"
        raise InputError([
            Mistake(readings.file, readings.lines[nearest], "x_mm", f"{readings.x[nearest]:g}", problem, accepted)
        ]) from None


def _range(readings: Readings, ends: list[Offsets], apart: float) -> tuple[float, float]:
    """Least and greatest volume [cm^3] of some surfaces, and what the lines themselves leave open."""
    volumes = [_volume(readings, one) for one in ends]
    return min(volumes) * (1 - apart), max(volumes) * (1 + apart)


def _doubtful(readings: Readings, slip: Slip, rows: dict[str, Rows]) -> Doubtful:
    at = int(rows[slip.line][slip.at])
    return Doubtful(float(readings.x[at]), NAMES[slip.line], OUTWARDS[slip.line] * slip.off, slip.left_out)


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
