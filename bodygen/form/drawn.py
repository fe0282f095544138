"""A body drawn by parameters: outlines, taper, widest line, squareness as fair lines, sampled into a table of offsets.

Outlines may be given as lengths or as shares of a size; shares are scaled so that the greatest depth and thickness come
out exactly as written.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.body import Body
from bodygen.form.fair import FairLine, fair_line
from bodygen.form.offsets import Offsets, skin_through
from bodygen.form.section import smaller_of
from bodygen.recipe.model import Curve, End, Parameters, Recipe
from bodygen.tables import load

Array = NDArray[np.float64]
STATIONS = 33
"""Rows before those of the maker's own points; most drawn outlines are followed within 0.005 mm by their 32 spans."""
FOLLOWED_MM = 0.005
"""Spans whose middle lies further from a drawn line get a row there."""
ROUNDS = 4
"""How often rows are added at most; one round is usual where any is needed."""
CLOSED_MM = 1e-6
"""An end smaller than this is a point."""
ROUND_ABOVE = 0.5
"""Bluntness above which a closed end counts as round: x then grows like the square of the way along the skin."""
AGREE_MM = 0.05
"""A written size and the points' own size may differ by what a pencil line is wide."""


@dataclass(frozen=True, slots=True)
class Outline:
    """One drawn line over the length: a fair line in the parameter t that opens round ends.

    ``nose`` and ``tail`` are the bluntness of the ends [-]: a line with a plain slope in t closes straight there for
    bluntness 0 and like an ellipse for 1 (see ``opened``).
    """

    line: FairLine
    length: float
    nose: float
    tail: float

    def __call__(self, x: Array) -> Array:
        """Height of the line at x [mm]."""
        return self.line(opened(x / self.length, self.nose, self.tail))


def opened(share: Array, nose: float, tail: float) -> Array:
    """The parameter t of a share of the length [-]: 0 to 1, rising, opened towards blunt ends.

    Near an end t grows like distance^p, p = 1 - bluntness/2 up to bluntness 1 (half a circle's growth), beyond it
    1/(1 + bluntness).

    Examples
    --------
    >>> opened(np.array([0.0, 0.25, 0.5, 1.0]), 0.0, 0.0)
    array([0.  , 0.25, 0.5 , 1.  ])
    """
    share = np.clip(share, 0.0, 1.0)
    front, back = share ** _growth(nose), (1 - share) ** _growth(tail)
    return front / (front + back)


def _growth(bluntness: float) -> float:
    return 1 - bluntness / 2 if bluntness <= 1 else 1 / (1 + bluntness)


@dataclass(frozen=True, slots=True)
class _Lines:
    """The drawn lines with their factors to mm, and the ends' bluntness."""

    back: Outline
    up: float
    belly: Outline
    down: float
    plan: Outline
    wide: float
    blunt: tuple[float, float]


def body_of(recipe: Recipe, shape: Parameters) -> Body:
    """The body of a drawn recipe: the surface through rows of its outlines, with rows added until it follows them.

    Sizes given for outlines drawn as shares come out as written to 1e-6 mm: the little that is missing between the rows
    is made up by stretching the whole body.

    Raises
    ------
    InputError
        Sizes that contradict the points, a widest line outside the body, a flat side taller than the body.
    DesignError
        No surface follows the outlines without folding.
    """
    lines = _lines(recipe, shape)
    x, corners = _stations(shape, lines.blunt)
    body = skin_through(_offsets(recipe, shape, lines, x, corners))
    for _ in range(ROUNDS):
        more = _not_followed(body, lines)
        if not len(more):
            break
        x = np.sort(np.concatenate([x, more]))
        body = skin_through(_offsets(recipe, shape, lines, x, corners))
    _, depth, thickness = body.sizes()
    wider = shape.thickness / thickness if shape.thickness and shape.plan.fractions else 1.0
    deeper = shape.depth / depth if shape.depth and shape.back.fractions and shape.belly.fractions else 1.0
    return replace(body, poles=body.poles * (1.0, wider, deeper))


def _lines(recipe: Recipe, shape: Parameters) -> _Lines:
    blunt = _bluntness(shape, shape.nose, 0), _bluntness(shape, shape.tail, 1)
    back, belly, plan = (_outline(curve, shape, blunt) for curve in (shape.back, shape.belly, shape.plan))
    fine = np.linspace(0, shape.length, 2001)
    up, down = _heights(recipe, shape, back, belly, fine)
    return _Lines(back, up, belly, down, plan, _widths(recipe, shape, plan, fine), blunt)


def _not_followed(body: Body, lines: _Lines) -> Array:
    """Places (k,) [mm] in the middle of spans where the surface leaves a drawn line."""
    u = (body.breaks[1:] + body.breaks[:-1]) / 2
    at, rate = body.polygons(u), body.polygons(u, 1)
    x, forward = at[:, 0, 0], rate[:, 0, 0]
    off = np.zeros(len(u))
    for column, axis, line, factor in (
        (-1, 2, lines.back, lines.up),
        (0, 2, lines.belly, -lines.down),
        (body.widest_index, 1, lines.plan, lines.wide),
    ):
        # square to the line, not upwards: at a round end every line is steep
        lean = np.hypot(1.0, rate[:, column, axis] / forward)
        off = np.maximum(off, np.abs(at[:, column, axis] - line(x) * factor) / lean)
    return np.asarray(x[off > FOLLOWED_MM])


def _offsets(recipe: Recipe, shape: Parameters, lines: _Lines, x: Array, corners: Array) -> Offsets:
    """The table of offsets with rows at x; ``corners`` are places [mm], each one of the rows."""
    top, bottom, half_width = lines.back(x) * lines.up, -lines.belly(x) * lines.down, lines.plan(x) * lines.wide
    for end in (0, -1):
        depth = top[end] - bottom[end]
        if min(depth, half_width[end]) < CLOSED_MM:  # closed one way: closed to a point
            top[end] = bottom[end] = (top[end] + bottom[end]) / 2
            half_width[end] = 0.0
    depth = top - bottom
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
        nose_round=bool(depth[0] < CLOSED_MM and lines.blunt[0] > ROUND_ABOVE),
        tail_round=bool(depth[-1] < CLOSED_MM and lines.blunt[1] > ROUND_ABOVE),
        corners=tuple(int(np.searchsorted(x, at)) for at in corners),
    )


def _mistake(recipe: Recipe, key: str, problem: str, accepted: str) -> InputError:
    return InputError([Mistake(recipe.file, recipe.lines.get(key, 0), key, "", problem, accepted)])


def _bluntness(shape: Parameters, end: End, which: int) -> float:
    """As written; else as the back's outline family says; else round where the outline closes, square where not."""
    if end.bluntness is not None:
        return end.bluntness
    family = load("outlines")["outline"].get(shape.back.family) if shape.back.family else None
    if family:
        return float(family[("nose_bluntness", "tail_bluntness")[which]])
    index = (0, -1)[which]
    open_end = (end.size or 0.0) > 0 or min(shape.back.points[index][1], shape.plan.points[index][1]) > 0
    return 0.0 if open_end else 1.0


def _outline(curve: Curve, shape: Parameters, blunt: tuple[float, float]) -> Outline:
    points = np.array(curve.points, dtype=float)
    share = points[:, 0] / (1.0 if curve.fractions else shape.length)
    values = points[:, 1].copy()
    greatest = int(np.argmax(values))
    for part, end in ((slice(0, greatest + 1), shape.nose), (slice(greatest, None), shape.tail)):
        if end.size is not None:
            values[part] = _squeezed(values[part], end.size)
    return Outline(fair_line(opened(share, *blunt), values, curve.corners), shape.length, *blunt)


def _squeezed(values: Array, size: float) -> Array:
    """The heights from the greatest to an end, drawn in or out so that ``size`` of the greatest is left there."""
    top, low = values.max(), min(values[0], values[-1])
    return top - (top - values) * (top - size * top) / (top - low) if top > low else values


def _stations(shape: Parameters, blunt: tuple[float, float]) -> tuple[Array, Array]:
    """Where the rows lie: evenly in t, and at every point of the maker's; and where the corners are [mm]."""
    table = np.concatenate([[0.0], np.geomspace(1e-9, 0.5, 2000)])
    share = np.concatenate([table, 1 - table[-2::-1]])
    even = np.interp(np.linspace(0, 1, STATIONS), opened(share, *blunt), share) * shape.length
    own: dict[float, bool] = {}
    for curve in (shape.back, shape.belly, shape.plan):
        scale = shape.length if curve.fractions else 1.0
        for i, (at, _) in enumerate(curve.points[1:-1], start=1):
            own[round(at * scale, 9)] = own.get(round(at * scale, 9), False) or i in curve.corners
    kept: list[float] = []
    for at in sorted(own, key=lambda at: (not own[at], at)):  # corners first: a row a hair beside one would be a wiggle
        if all(abs(at - other) > 0.25 * shape.length / STATIONS for other in kept) or own[at]:
            kept.append(at)
    gap = np.diff(even)
    near = np.minimum(np.append(gap, gap[-1]), np.insert(gap, 0, gap[0])) * 0.4
    rows = [float(e) for e, g in zip(even[1:-1], near[1:-1], strict=True) if all(abs(e - at) > g for at in kept)]
    x = np.array(sorted([0.0, *rows, *kept, shape.length]))
    return x, np.array([at for at in sorted(own) if own[at]])


def _heights(recipe: Recipe, shape: Parameters, back: Outline, belly: Outline, x: Array) -> tuple[float, float]:
    """Factors from the drawn values of back and belly to mm."""
    high, low = back(x), belly(x)
    if shape.back.fractions and shape.belly.fractions:
        assert shape.depth is not None  # noqa: S101  the reader asks for it
        sum_of_shares = (high * shape.back_share + low * (1 - shape.back_share)).max()
        scale = shape.depth / sum_of_shares
        return scale * shape.back_share, scale * (1 - shape.back_share)
    if shape.back.fractions or shape.belly.fractions:
        assert shape.depth is not None  # noqa: S101
        drawn, shares = (low, high) if shape.back.fractions else (high, low)
        small, large = 0.0, 2 * shape.depth / shares.max()
        if (drawn).max() >= shape.depth:
            key = "shape.belly" if shape.back.fractions else "shape.back"
            raise _mistake(
                recipe, key, "alone is deeper than the whole body", "less than shape.depth on this side of the x axis"
            )
        for _ in range(60):
            middle = (small + large) / 2
            small, large = (middle, large) if (drawn + middle * shares).max() < shape.depth else (small, middle)
        return (middle, 1.0) if shape.back.fractions else (1.0, middle)
    depth = (high + low).max()
    if shape.depth is not None and abs(depth - shape.depth) > AGREE_MM:
        raise _mistake(
            recipe,
            "shape.depth",
            f"the points of back and belly are {depth:.2f} mm apart at the deepest, not {shape.depth:.2f} mm",
            "leave shape.depth out, or move the points, or give them as fractions",
        )
    return 1.0, 1.0


def _widths(recipe: Recipe, shape: Parameters, plan: Outline, x: Array) -> float:
    wide = plan(x).max()
    if shape.plan.fractions:
        assert shape.thickness is not None  # noqa: S101  the reader asks for it
        return float(shape.thickness / 2 / wide)
    if shape.thickness is not None and abs(2 * wide - shape.thickness) > AGREE_MM:
        raise _mistake(
            recipe,
            "shape.thickness",
            f"twice the greatest half thickness of shape.plan is {2 * wide:.2f} mm, not {shape.thickness:.2f} mm",
            "leave shape.thickness out, or move the points, or give them as fractions",
        )
    return 1.0


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
        raise _mistake(
            recipe,
            "shape.widest",
            f"at x = {at[i]:.2f} mm the widest line is {height[i]:.2f} mm high, but the body lies between "
            f"{bottom[i]:.2f} and {top[i]:.2f} mm there",
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
            raise _mistake(
                recipe,
                "shape.flat_side.height",
                f"{height:.2f} mm leaves no room for edges on a body {depth:.2f} mm deep",
                f"less than {0.98 * depth:.2f} mm",
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
