"""A body from measured stations: rows of x, back, belly, half width, squareness; fair rows where they are sparse."""

import numpy as np
from numpy.typing import NDArray

from bodygen.form.fair import fair_line
from bodygen.form.offsets import Offsets
from bodygen.recipe.model import Stations

Array = NDArray[np.float64]
LEAST_ROWS = 33
"""Below this many rows, fair rows are put between the measured ones; the measured ones always stay."""
ROUND_BELOW = 0.75
"""Growth exponent of the first rows (size ~ x^p) below which an end counts as round: 0.5 is an ellipse, 1 a point."""


def offsets_of(stations: Stations) -> Offsets:
    """The table of offsets [mm]: every measured row, and fair ones between them up to at least ``LEAST_ROWS``.

    The widest line lies midway between back and belly (contract section 2). Whether a closed end is round or pointed is
    read off how fast the first rows open.
    """
    rows = np.array(stations.rows, dtype=float)
    size = (rows[:, 1] - rows[:, 2]) / 2 + rows[:, 3]
    round_ends = (_is_round(rows[:, 0], size), _is_round(rows[-1, 0] - rows[::-1, 0], size[::-1]))
    if len(rows) < LEAST_ROWS:
        rows = _filled(rows, round_ends)
    x, top, bottom, half_width, squareness = rows.T
    return Offsets(
        x,
        top,
        bottom,
        half_width,
        (top + bottom) / 2,
        squareness,
        squareness,
        nose_round=round_ends[0],
        tail_round=round_ends[1],
    )


def _is_round(x: Array, size: Array) -> bool:
    if size[0] > 1e-9:
        return False
    return bool(np.log(size[2] / size[1]) / np.log(x[2] / x[1]) < ROUND_BELOW)


def _filled(rows: Array, round_ends: tuple[bool, bool]) -> Array:
    # the chord between sparse rows is a poor measure of a round end: weigh it by the fair parameter of its own length
    step = np.linalg.norm(np.diff(rows[:, :4], axis=0), axis=1)
    t = np.concatenate([[0.0], np.cumsum(step)])
    parts = int(np.ceil((LEAST_ROWS - 1) / (len(rows) - 1)))
    fine = np.concatenate([t[:-1] + np.diff(t) * i / parts for i in range(parts)] + [t[-1:]])
    fine.sort()
    columns = [fair_line(t, rows[:, 0], flat_ends=round_ends)(fine)]
    columns += [fair_line(t, rows[:, i])(fine) for i in range(1, 5)]
    return np.stack(columns, axis=1)
