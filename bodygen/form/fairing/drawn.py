"""A body drawn by parameters: outlines, taper, widest line, squareness as fair lines, sampled into a table of offsets.

Outlines may be given as lengths or as shares of a size; shares are scaled so that the greatest depth and thickness come
out exactly as written.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError
from bodygen.form.body import Body
from bodygen.form.fairing import rows
from bodygen.form.fairing.fair import fair_line
from bodygen.form.fairing.offsets import FoldError, Offsets, refuse_folds, surface_through
from bodygen.form.fairing.outlines import CLOSED_MM, Lines, Outline, lines_of, mistake, point_key
from bodygen.form.section import smaller_of
from bodygen.form.spline import distinct
from bodygen.recipe.model import Curve, Parameters, Recipe
from bodygen.units import length_text

Array = NDArray[np.float64]
FOLLOWED = 7e-5
"""A surface further than this share of the length from a drawn line, or from a point of the maker's, gets a row there:
0.005 mm of 70. A share, so that a bait has the same rows in any size and its wood grows by the cube exactly."""
PARTS = 6
"""Into how many parts a span is looked at."""
MISSED_MM, MISSED = 0.02, 2.0
"""A point of the maker's that the surface misses by more, whatever rows are added, is refused; of a long body by so
many times as much as calls for a row."""
ROUNDS = 60
"""How often rows are added at most; two or three are usual where any is needed."""
MOST_ROWS = 2000
ROUND_ABOVE = 0.5
"""Bluntness above which a closed end counts as round: x then grows like the square of the way along the skin."""


def body_of(recipe: Recipe, shape: Parameters) -> Body:
    """The body [mm] of a drawn recipe: the surface through rows of its outlines, with rows added until it follows them.

    Sizes given for outlines drawn as shares come out as written to 1e-6 mm: the little that is missing between the rows
    is made up by stretching the whole body.

    Derived here; it follows a line when it is within ``FOLLOWED`` of the length, square to it.

    Raises
    ------
    InputError
        Sizes that contradict the points, a widest line outside the body, a flat side taller than the body.
    DesignError
        No surface follows the outlines without folding.
    """
    corners = rows.corner_places(shape)
    lines = lines_of(recipe, shape, corners)
    x = rows.first_rows(shape, lines.blunt, corners)
    for _ in range(ROUNDS):
        table = _offsets(recipe, shape, lines, x, corners)
        body = surface_through(table)
        long = rows.uneven(x, table.steps(), corners)
        more = rows.between(x[long], x[long + 1], 0.5, shape.length, lines.blunt)
        if not len(long):
            more = _not_followed(body, lines, x)
        if not len(more) or len(x) > MOST_ROWS:
            break
        x = distinct(np.concatenate([x, more]))
    try:
        refuse_folds(body)
    except FoldError as fold:
        raise _at_nearest_point(recipe, shape, fold) from None
    if len(lines.own):
        off = _leaves(body, lines, body.parameter_at(lines.own))
        if off.max() > max(MISSED_MM, MISSED * FOLLOWED * shape.length):
            by = length_text(float(off.max()), recipe.units)
            missed = FoldError(f"misses a line by {by}", float(lines.own[int(np.argmax(off))]))
            raise _at_nearest_point(recipe, shape, missed)
    _, depth, thickness = body.sizes()
    wider = shape.thickness / thickness if shape.thickness and shape.plan.fractions else 1.0
    deeper = shape.depth / depth if shape.depth and shape.back.fractions and shape.belly.fractions else 1.0
    return replace(body, poles=body.poles * (1.0, wider, deeper))


def _not_followed(body: Body, lines: Lines, x: Array) -> Array:
    """Places (k,) [mm] for more rows than x, where the surface leaves a drawn line or does not run forward.

    In a span that holds a point of the maker's the row goes there, elsewhere into the middle.
    """
    within = FOLLOWED * lines.back.length
    part = np.arange(1, PARTS)[:, None] / PARTS
    u = body.breaks[:-1] + part * np.diff(body.breaks)
    off = np.maximum(_leaves(body, lines, u.ravel()).reshape(u.shape).max(axis=0), 0.0)
    apart = (np.round(lines.own, 9)[:, None] != np.round(x, 9)).all(axis=1)
    own = lines.own[apart]
    if len(own) and (off < np.inf).all():
        own = own[_leaves(body, lines, body.parameter_at(own)) > within]
    taken = np.searchsorted(x, own, side="right") - 1
    spans = np.flatnonzero(off > within)
    spans = spans[(spans[:, None] != taken).all(axis=1)]
    middle = rows.between(x[spans], x[spans + 1], 0.5, lines.back.length, lines.blunt)
    return np.concatenate([middle, own])


def _leaves(body: Body, lines: Lines, u: Array) -> Array:
    """How far the surface is from the drawn lines at u (k,) [mm], infinitely where it does not run forward."""
    at, rate = body.polygons_both(u)
    x, forward = at[:, 0, 0], rate[:, 0, 0]
    off = np.where(forward > 0, 0.0, np.inf)
    off[(at[:, body.widest_index, 1] <= 0) | (at[:, -1, 2] <= at[:, 0, 2])] = np.inf
    for column, axis, line, factor in (
        (-1, 2, lines.back, lines.up),
        (0, 2, lines.belly, -lines.down),
        (body.widest_index, 1, lines.plan, lines.wide),
    ):
        # square to the line, not upwards: at a round end every line is steep
        lean = np.hypot(1.0, rate[:, column, axis] / np.where(forward > 0, forward, 1.0))
        off = np.maximum(off, np.abs(at[:, column, axis] - line(x) * factor) / lean)
    return off


def _offsets(recipe: Recipe, shape: Parameters, lines: Lines, x: Array, corners: Array) -> Offsets:
    """The table of offsets with rows at x; ``corners`` are places [mm], each one of the rows."""
    top, bottom, half_width = lines.back(x) * lines.up, -lines.belly(x) * lines.down, lines.plan(x) * lines.wide
    for end in (0, -1):
        if top[end] - bottom[end] < CLOSED_MM:  # exactly one point
            top[end] = bottom[end] = (top[end] + bottom[end]) / 2
            half_width[end] = 0.0
    depth = top - bottom
    step = np.hypot(np.hypot(np.diff(top), np.diff(bottom)), np.diff(half_width))
    steep = step[0] > x[1] - x[0], step[-1] > x[-1] - x[-2]
    widest = bottom + depth * _widest_share(recipe, shape, x, (lines.back, lines.up), (lines.belly, lines.down))
    return Offsets(
        x,
        top,
        bottom,
        half_width,
        widest,
        _squareness(shape.squareness_back, shape.length, x),
        _squareness(shape.squareness_belly, shape.length, x),
        _flats(recipe, shape, (top, bottom, widest), half_width),
        nose_round=bool(lines.blunt[0] > ROUND_ABOVE and (depth[0] < CLOSED_MM or steep[0])),
        tail_round=bool(lines.blunt[1] > ROUND_ABOVE and (depth[-1] < CLOSED_MM or steep[1])),
        corners=tuple(int(np.searchsorted(x, at)) for at in corners),
    )


def _at_nearest_point(recipe: Recipe, shape: Parameters, fold: FoldError) -> InputError | FoldError:
    """Word a fold as a mistake of the maker's own point that is nearest; families have none."""
    near: list[tuple[float, str]] = []
    for key, curve in (("back", shape.back), ("belly", shape.belly), ("plan", shape.plan)):
        if curve.family is None:
            scale = shape.length if curve.fractions else 1.0
            inner = enumerate(curve.points[1:-1], start=1)
            near += [(abs(x * scale - fold.x), point_key(key, curve, i)) for i, (x, _) in inner]
    if not near:
        return fold
    accepted = "move this point, or its neighbours, or leave one out"
    return mistake(
        recipe, min(near)[1], f"the surface {fold.what} near x = {length_text(fold.x, recipe.units)}", accepted
    )


def _widest_share(
    recipe: Recipe, shape: Parameters, x: Array, back: tuple[Outline, float], belly: tuple[Outline, float]
) -> Array:
    """Height of the widest line as a share of the depth above the belly [-]."""
    if shape.widest is None:
        return np.full(x.shape, 0.5)
    points = np.array(shape.widest.points, dtype=float)
    at = points[:, 0] * (shape.length if shape.widest.fractions else 1.0)
    top, bottom = back[0](at) * back[1], -belly[0](at) * belly[1]
    height = points[:, 1] * ((shape.depth or float((top - bottom).max())) if shape.widest.fractions else 1.0)
    depth = np.maximum(top - bottom, 1e-9)
    share = (height - bottom) / depth
    closed = top - bottom < CLOSED_MM
    inner = ~closed
    for i in np.flatnonzero(inner & ((share < 0.05) | (share > 0.95))):
        place, high, low, up = (length_text(float(v[i]), recipe.units) for v in (at, height, bottom, top))
        raise mistake(
            recipe,
            "shape.widest",
            f"at x = {place} the widest line is {high} high, but the body lies between {low} and {up} there",
            "between 5 % and 95 % of the depth at that place",
        )
    share[closed] = np.interp(at[closed], at[inner], share[inner]) if inner.any() else 0.5
    if len(at) == 1:
        return np.full(x.shape, share[0])
    return fair_line(at, share, shape.widest.corners)(x)


def _flats(
    recipe: Recipe, shape: Parameters, heights: tuple[Array, Array, Array], half_width: Array
) -> tuple[Array, Array, Array] | None:
    if shape.flat_side is None:
        return None
    top, bottom, widest = heights
    height, radius = shape.flat_side.height, shape.flat_side.edge_radius
    depth = float((top - bottom).max())
    up, down = top - widest, widest - bottom
    if height is not None:
        if height >= 0.98 * depth:
            flat, deep, most = (length_text(v, recipe.units) for v in (height, depth, 0.98 * depth))
            raise mistake(
                recipe,
                "shape.flat_side.height",
                f"{flat} leaves no room for edges on a body {deep} deep",
                f"less than {most}",
            )
        above, below = up * (height / depth), down * (height / depth)
    else:
        assert radius is not None  # noqa: S101  the reader asks for one of the two
        inside = np.maximum(up, 1e-12), np.maximum(down, 1e-12)
        above, below = up - smaller_of(inside[0], radius), down - smaller_of(inside[1], radius)
    across = half_width - smaller_of(half_width, radius) if radius is not None else np.zeros_like(half_width)
    return np.maximum(above, 0.0), np.maximum(below, 0.0), np.maximum(across, 0.0)


def _squareness(curve: Curve, length: float, x: Array) -> Array:
    points = np.array(curve.points, dtype=float)
    if len(points) == 1:
        return np.full(x.shape, points[0, 1])
    return fair_line(points[:, 0] * (length if curve.fractions else 1.0), points[:, 1], curve.corners)(x)
