"""Of very many rows the median of neighbours stands for them; a single one far off its line is still named."""

from dataclasses import replace
from typing import Any

import numpy as np

from bodygen.form.fairing.offsets import Offsets
from bodygen.scan.readings.lines import Array
from bodygen.scan.readings.table import Readings
from bodygen.scan.record import Doubtful

MOST_ROWS = 100
"""Rows that are each weighed against all others; so many tell a line better than any calliper needs."""
COLUMNS = ("x", "top", "bottom", "half_width", "widest", "squareness_back", "squareness_belly")
FAR_MM, FAR_SPREADS = 0.5, 8.0
MOST_NAMED = 20


def fewer_rows(readings: Readings) -> Readings:
    """The first row, the last, and medians of neighbours between them, ``MOST_ROWS`` in all; few rows stay as they are.

    Elementary: of rows so close that their lines run straight the median of x lies where the medians of sizes do.
    """
    count = len(readings.x)
    if count <= MOST_ROWS:
        return readings
    inner = np.array_split(np.arange(1, count - 1), MOST_ROWS - 2)
    groups = [np.array([0]), *inner, np.array([count - 1])]

    def medians(values: Array) -> Array:
        picked = [values[group][~np.isnan(values[group])] for group in groups]
        return np.array([np.median(some) if len(some) else np.nan for some in picked])

    columns: dict[str, Any] = {name: medians(getattr(readings, name)) for name in COLUMNS}
    return replace(readings, **columns, lines=tuple(readings.lines[int(group[len(group) // 2])] for group in groups))


def far_off(readings: Readings, offsets: Offsets, spread: float) -> tuple[Doubtful, ...]:
    """The readings of a large table that are far from the surface [mm]; the farthest first, not all of many."""
    found = []
    for name, what, sign, line in (
        ("top", "top", 1.0, offsets.top),
        ("bottom", "bottom", -1.0, offsets.bottom),
        ("half_width", "half width", 1.0, offsets.half_width),
    ):
        off = sign * (getattr(readings, name) - np.interp(readings.x, offsets.x, line))
        inner = (readings.x > 0) & (readings.x < readings.length)
        far = np.flatnonzero(inner & (np.abs(np.nan_to_num(off)) > max(FAR_MM, FAR_SPREADS * spread)))
        found += [Doubtful(float(readings.x[i]), what, float(off[i]), left_out=True) for i in far]
    return tuple(sorted(found, key=lambda one: -abs(one.off))[:MOST_NAMED])
