"""A body from measured stations: rows of x, back, belly, half width, squareness; fair rows where they are sparse."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding, Severity
from bodygen.form.fairing.fair import fair_line
from bodygen.form.fairing.offsets import Offsets
from bodygen.form.fairing.thinned import Thinned, thinned
from bodygen.recipe.model import Stations
from bodygen.tables import load

Array = NDArray[np.float64]
LEAST_ROWS = 33
"""Below this many rows, fair rows are put between the measured ones; the measured ones always stay."""
ROUND_BELOW = 0.75
"""Growth exponent of the first rows (size ~ x^p) below which an end counts as round: 0.5 is an ellipse, 1 a point."""


EARLY = 1 / 400
"""Share of the length behind which an end's growth is read: nearer, of many rows, the last digit alone is read."""


def offsets_of(stations: Stations) -> Offsets:
    """The table of offsets [mm]: every measured row, and fair ones between them up to at least ``LEAST_ROWS``.

    Where the rows do not say it, the widest line lies midway between back and belly. Whether a closed end is round or
    pointed is read off how fast the first rows open. Of more rows than ``limits.toml`` lets a surface pass exactly,
    fair ones.

    Derived here: rows between are faired in the parameter that opens round ends.
    """
    fewer = thinned_of(stations)
    if fewer is not None:
        return fewer.offsets
    rows = _rows(stations)
    rounded = _rounded(rows)
    return _table(_filled(rows, rounded) if len(rows) < LEAST_ROWS else rows, rounded)


@lru_cache(maxsize=2)  # the shape and its findings ask one after the other
def thinned_of(stations: Stations) -> Thinned | None:
    """The fair rows [mm] in place of very many measured ones; None where the surface passes through each."""
    limits = load("limits")["stations"]
    if len(stations.rows) <= limits["exact_rows"]:
        return None
    rows = _rows(stations)
    rounded = _rounded(rows)
    return thinned(rows, rounded, lambda some: _table(some, rounded), limits["near_mm"], limits["exact_rows"])


def stations_checks(stations: Stations) -> tuple[Finding, ...]:
    """Say how near [mm] the surface is to very many measured rows; where it is not as near as wanted, doubt them.

    The limit is common practice, no published source (``limits.toml`` [stations]).
    """
    fewer = thinned_of(stations)
    if fewer is None:
        return ()
    near = float(load("limits")["stations"]["near_mm"])
    rows, kept = len(stations.rows), len(fewer.offsets.x)
    remedy = f"{rows} rows: the surface goes through {kept} fair ones, and every measured one is within {{}} of it"
    severity: Severity = "note"
    lengths: tuple[float, ...] = (near,)
    if fewer.off > near:
        x = [row[0] for row in stations.rows]
        line = f" on line {stations.lines[x.index(fewer.at)]}" if stations.lines else ""
        remedy += f", the farthest{line} at x = {{}}: are readings wrong there, or rougher than callipers read?"
        severity, lengths = "warning", (fewer.off, fewer.at)
    off = round(fewer.off, 4)
    return (Finding("stations-thinned", severity, "shape.stations", remedy, off, near, "mm", lengths=lengths),)


def _rows(stations: Stations) -> Array:
    """(m, 5), or (m, 7) where the lower halves differ; a closed end's widest line lies as that of the row beside it."""
    rows = np.array(stations.rows, dtype=float)
    if not stations.lower:
        return rows
    lower = np.array(stations.lower, dtype=float)
    for end, beside in ((0, 1), (-1, -2)):
        if rows[end, 3] == 0:
            lower[end, 1] = lower[beside, 1]
    return np.concatenate([rows, lower], axis=1)


def _rounded(rows: Array) -> tuple[bool, bool]:
    """Whether nose and tail close round."""
    size = (rows[:, 1] - rows[:, 2]) / 2 + rows[:, 3]
    return _is_round(rows[:, 0], size), _is_round(rows[-1, 0] - rows[::-1, 0], size[::-1])


def _table(rows: Array, rounded: tuple[bool, bool]) -> Offsets:
    x, top, bottom, half_width, squareness = rows.T[:5]
    below, share = rows.T[5:] if rows.shape[1] > 5 else (squareness, np.full(len(x), 0.5))
    return Offsets(
        x,
        top,
        bottom,
        half_width,
        (top + bottom) / 2 + (share - 0.5) * (top - bottom),
        squareness,
        below,
        nose_round=rounded[0],
        tail_round=rounded[1],
    )


def _is_round(x: Array, size: Array) -> bool:
    if size[0] > 1e-9:
        return False
    near = min(max(1, int(np.searchsorted(x, EARLY * x[-1]))), len(x) - 2)
    far = min(2 * near, len(x) - 1)
    return bool(np.log(size[far] / size[near]) / np.log(x[far] / x[near]) < ROUND_BELOW)


def _filled(rows: Array, round_ends: tuple[bool, bool]) -> Array:
    # the chord between sparse rows is a poor measure of a round end: weigh it by the fair parameter of its own length
    step = np.linalg.norm(np.diff(rows[:, :4], axis=0), axis=1)
    t = np.concatenate([[0.0], np.cumsum(step)])
    parts = int(np.ceil((LEAST_ROWS - 1) / (len(rows) - 1)))
    fine = np.concatenate([t[:-1] + np.diff(t) * i / parts for i in range(parts)] + [t[-1:]])
    fine.sort()
    columns = [fair_line(t, rows[:, 0], flat_ends=round_ends)(fine)]
    columns += [fair_line(t, rows[:, i])(fine) for i in range(1, rows.shape[1])]
    return np.stack(columns, axis=1)
