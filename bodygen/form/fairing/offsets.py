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
ONE_ROW = 1e-15
"""Share of the way along the skin below which two rows are one: no spline goes through both."""


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

    def steps(self) -> Array:
        """The way along the skin from row to row (m - 1,) [mm]: chords of x, back, belly and flank together.

        Elementary.

        Examples
        --------
        >>> one = np.ones(2)
        >>> table = Offsets(np.array([0.0, 3]), np.array([6.0, 10]), -one, one, 0 * one, 2 * one, 2 * one)
        >>> table.steps().tolist()   # 3, 4, 5
        [5.0]
        """
        way = np.stack([self.x, self.top, self.bottom, self.half_width], axis=1)
        return np.asarray(np.linalg.norm(np.diff(way, axis=0), axis=1))


class FoldError(DesignError):
    """A surface that cannot be a body: what it does, and near which x [mm]."""

    def __init__(self, what: str, x: float) -> None:
        self.what, self.x = what, x
        super().__init__(f"the surface through these stations {what} near x = {x:.2f} mm: move or add points there")


def skin_through(offsets: Offsets) -> Body:
    """The surface [mm] through every row of the table; its poles are the body's definition from here on.

    Raises
    ------
    DesignError
        When the rows cannot be joined without the surface folding back or crossing its own middle.

    Examples
    --------
    >>> one = np.ones(4)
    >>> bar = skin_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> bar.sizes()
    (60.0, 20.0, 16.0)
    """
    body = surface_through(offsets)
    refuse_folds(body)
    return body


def surface_through(offsets: Offsets) -> Body:
    """The same surface [mm] whether or not it folds.

    The parameter is the way along the skin (the chord length of x, back, belly and flank together): near a rounded end
    the radii then open evenly while x starts with slope 0, as on an ellipse. From one corner to the next there must be
    four rows or more.

    Raises
    ------
    FoldError
        Two rows are one, or sizes are no numbers.

    References
    ----------
    A row of sections joined by a spline (skinning): Piegl and Tiller, The NURBS Book (1997), section 10.3 (from
    memory).

    Examples
    --------
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> bar.parameter_at(np.array([15.0])).tolist()   # chord lengths of a straight bar
    [0.25]
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
    step = offsets.steps()
    parameter = np.concatenate([[0.0], np.cumsum(step)]) / max(float(np.sum(step)), 1e-300)
    same = np.flatnonzero(~(np.diff(parameter) > ONE_ROW))
    if len(same):
        what = "has two rows in one place"
        raise FoldError(what, float(offsets.x[same[0]]))
    bounds = [0, *sorted(offsets.corners), len(x) - 1]
    joined: tuple[Array, Array] | None = None
    for first, last in pairwise(bounds):
        closing = first == 0, last == len(x) - 1
        rounded = closing[0] and offsets.nose_round, closing[1] and offsets.tail_round
        piece = _run(parameter[first : last + 1], rows[first : last + 1], closing, rounded)
        joined = spline.join(joined, piece) if joined else piece
    assert joined is not None  # noqa: S101  bounds always hold at least one run
    knots, poles = joined
    points = poles.reshape(len(poles), -1, 3)
    points[:, [0, -1], 1] = 0.0 if offsets.flat is None or points.shape[1] == 16 else points[:, [0, -1], 1]
    return Body(knots, _exact_ends(points, rows), _sized(rows[0]), _sized(rows[-1]))


def _run(parameter: Array, rows: Array, closing: tuple[bool, bool], rounded: tuple[bool, bool]) -> tuple[Array, Array]:
    """One smooth run between corners; ``closing`` are the body's own ends, ``rounded`` those where x starts flat.

    At an end of the body a size that would first turn the wrong way (a thin tail that dips below nothing just before it
    closes) starts flat instead.
    """
    values = rows.reshape(len(rows), -1)
    x = list(range(0, values.shape[1], 3))
    flat = [x if end else [] for end in rounded]
    knots = spline.clamped_knots(parameter)
    poles = spline.interpolate(parameter, values, *flat)
    away = (poles[1] - poles[0]) * (values[1] - values[0]) < 0, (poles[-1] - poles[-2]) * (values[-1] - values[-2]) < 0
    turned = [[int(c) for c in np.flatnonzero(back)] if end else [] for back, end in zip(away, closing, strict=True)]
    if any(turned):
        poles = spline.interpolate(parameter, values, *(sorted({*f, *t}) for f, t in zip(flat, turned, strict=True)))
    return knots, poles


def _exact_ends(poles: Array, rows: Array) -> Array:
    """End poles are the end rows themselves, free of the solver's rounding, so that a point stays one point."""
    poles[0], poles[-1] = rows[0], rows[-1]
    return poles


def _sized(row: Array) -> bool:
    return bool(np.ptp(row[:, 1:], axis=0).max() > 1e-9)


def refuse_folds(body: Body) -> None:
    """Hold the surface against what a body is: forward everywhere, back above the widest line above the belly.

    Raises
    ------
    FoldError
        It is not; of several places the worst is named.
    """
    u = fine_parameters(body, 6)[1:-1]
    polygon, rising = body.polygons_both(u)
    forward = rising[:, 0, 0]
    depth, width = polygon[:, -1, 2] - polygon[:, 0, 2], polygon[:, body.widest_index, 1]
    widest = polygon[:, body.widest_index, 2]
    for value, what in (
        (forward, "runs backwards"),
        (depth, "has no depth left"),
        (width, "has no thickness left"),
        (polygon[:, -1, 2] - widest, "has its widest line above the back"),
        (widest - polygon[:, 0, 2], "has its widest line below the belly"),
    ):
        if not value.min() > 0:  # nor what is no number
            raise FoldError(what, float(polygon[int(np.argmin(value)), 0, 0]))
