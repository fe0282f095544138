"""The table of offsets: the body's sizes at a row of stations, and the surface that passes through every one of them.

Drawn outlines (drawn.py) and measured stations (stations.py) both end here, so there is one kind of surface.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import DesignError
from bodygen.form import spline
from bodygen.form.body import Body, fine_parameters
from bodygen.form.section import half_section, handle_ratio

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Offsets:
    """Sizes at m stations, all (m,) arrays: lengths [mm], squareness [-].

    ``flat`` is (above, below, across) as in ``section.half_section``, or None. ``nose_round``/``tail_round``: that end
    closes round, so that x grows with the square of the way along the skin. ``corners``: indices of inner rows.
    """

    x: Array
    top: Array
    bottom: Array
    half_width: Array
    widest: Array
    squareness_back: Array
    squareness_belly: Array
    flat: tuple[Array, Array, Array] | None = None
    nose_round: bool = False
    tail_round: bool = False
    corners: tuple[int, ...] = ()


def skin_through(offsets: Offsets) -> Body:
    """The surface through every row of the table; its poles are the body's definition from here on.

    The parameter is the way along the skin (the chord length of x, back, belly and flank together): near a rounded end
    the radii then open evenly while x starts with slope 0, as on an ellipse.

    Raises
    ------
    DesignError
        When the rows cannot be joined without the surface folding back or crossing its own middle.
    """
    handles = tuple(
        np.array([handle_ratio(float(n)) for n in squareness])
        for squareness in (offsets.squareness_back, offsets.squareness_belly)
    )
    polygons = half_section(
        offsets.half_width, offsets.top, offsets.bottom, offsets.widest, (handles[0], handles[1]), offsets.flat
    )
    x = np.repeat(offsets.x[:, None], polygons.shape[1], axis=1)
    rows = np.concatenate([x[..., None], polygons], axis=2)
    way = np.stack([offsets.x, offsets.top, offsets.bottom, offsets.half_width], axis=1)
    step = np.linalg.norm(np.diff(way, axis=0), axis=1)
    parameter = np.concatenate([[0.0], np.cumsum(step)]) / np.sum(step)
    bounds = [0, *sorted(offsets.corners), len(x) - 1]
    joined: tuple[Array, Array] | None = None
    for first, last in pairwise(bounds):
        ends = (offsets.nose_round and first == 0, offsets.tail_round and last == len(x) - 1)
        piece = _run(parameter[first : last + 1], rows[first : last + 1], ends)
        joined = spline.join(joined, piece) if joined else piece
    assert joined is not None  # noqa: S101  bounds always hold at least one run
    knots, poles = joined
    points = poles.reshape(len(poles), -1, 3)
    points[:, [0, -1], 1] = 0.0 if offsets.flat is None or points.shape[1] == 16 else points[:, [0, -1], 1]
    body = Body(knots, _exact_ends(points, rows), _sized(rows[0]), _sized(rows[-1]))
    _refuse_folds(body)
    return body


def _run(parameter: Array, rows: Array, ends: tuple[bool, bool]) -> tuple[Array, Array]:
    """One smooth run between corners; short runs get rows added so that a cubic has enough to pass through."""
    columns = list(range(0, rows.shape[1] * 3, 3))
    poles = spline.interpolate(
        parameter, rows.reshape(len(rows), -1), columns if ends[0] else (), columns if ends[1] else ()
    )
    return spline.clamped_knots(parameter), poles


def _exact_ends(poles: Array, rows: Array) -> Array:
    """End poles are the end rows themselves, free of the solver's rounding, so that a point stays one point."""
    poles[0], poles[-1] = rows[0], rows[-1]
    return poles


def _sized(row: Array) -> bool:
    return bool(np.ptp(row[:, 1:], axis=0).max() > 1e-9)


def _refuse_folds(body: Body) -> None:
    u = fine_parameters(body, 6)[1:-1]
    forward = body.polygons(u, 1)[:, 0, 0]
    polygon = body.polygons(u)
    depth, width = polygon[:, -1, 2] - polygon[:, 0, 2], polygon[:, body.widest_index, 1]
    widest = polygon[:, body.widest_index, 2]
    for value, what in (
        (forward, "runs backwards"),
        (depth, "has no depth left"),
        (width, "has no thickness left"),
        (polygon[:, -1, 2] - widest, "has its widest line above the back"),
        (widest - polygon[:, 0, 2], "has its widest line below the belly"),
    ):
        if not np.isfinite(value).all() or value.min() <= 0:
            where = float(polygon[int(np.argmin(value)), 0, 0])
            msg = f"the surface through these stations {what} near x = {where:.2f} mm: move or add points there"
            raise DesignError(msg)
