"""The drawn lines of a body: back, belly and plan as fair lines, brought to the sizes that were written.

Lines may be given as lengths or as shares of a size. Knows points and sizes, and words what contradicts itself; knows
nothing of the surface.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.fairing import rows
from bodygen.form.fairing.fair import FairLine, fair_line
from bodygen.form.fairing.rows import opened
from bodygen.form.spline import distinct
from bodygen.recipe.model import Curve, End, Parameters, Recipe
from bodygen.tables import load
from bodygen.units import length_text

Array = NDArray[np.float64]
CLOSED_MM = 1e-6
"""An end smaller than this is a point."""
AGREE_MM = 0.05
"""A written size and the points' own size may differ by what a pencil line is wide."""


@dataclass(frozen=True, slots=True, eq=False)
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


@dataclass(frozen=True, slots=True)
class Lines:
    """The drawn lines with their factors to mm, and the ends' bluntness."""

    back: Outline
    up: float
    belly: Outline
    down: float
    plan: Outline
    wide: float
    blunt: tuple[float, float]
    own: Array  # where the maker's own points stand (k,) [mm]


def lines_of(recipe: Recipe, shape: Parameters, corners: Array) -> Lines:
    """The three lines of a drawn body; ``corners`` (k,) [mm] are where any of its lines turns sharply.

    Derived here: shares are scaled so that greatest depth and thickness come out as written.

    Raises
    ------
    InputError
        Sizes that contradict the points, an end that is an edge, points that a sized end draws through the axis.
    """
    blunt = _bluntness(shape, shape.nose, 0), _bluntness(shape, shape.tail, 1)
    curves = shape.back, shape.belly, shape.plan
    places = [rows.points_of(curve, shape, corners) for curve in curves]
    back, belly, plan = (
        _outline(recipe, key, curve, at, shape, blunt)
        for key, curve, at in zip(("back", "belly", "plan"), curves, places, strict=True)
    )
    fine = distinct(np.concatenate([np.linspace(0, shape.length, 2001), *places]))
    up, down = _heights(recipe, shape, back, belly, fine)
    own = distinct(np.concatenate([at[1:-1] for at in places]))
    lines = Lines(back, up, belly, down, plan, _widths(recipe, shape, plan, fine), blunt, own)
    for end in (0, -1):
        _refuse_edge(recipe, shape, lines, end)
    return lines


def _refuse_edge(recipe: Recipe, shape: Parameters, lines: Lines, end: int) -> None:
    """Hold an end's height against its width: either both close or neither, as an edge is no plane and no point."""
    x = np.array([0.0, shape.length])[[end]]
    depth, half = (
        float((lines.back(x) * lines.up + lines.belly(x) * lines.down)[0]),
        float(lines.plan(x)[0] * lines.wide),
    )
    if (depth < CLOSED_MM) == (half < CLOSED_MM):
        return
    key, curve = ("plan", shape.plan) if half < CLOSED_MM else ("back", shape.back)
    key = point_key(key, curve, end % len(curve.points))
    name = ("nose", "tail")[end]
    if half < CLOSED_MM:
        apart = length_text(depth, recipe.units)
        problem = f"closes to nothing at the {name}, where back and belly are {apart} apart: that is an edge"
        accepted = f"a half width above 0 at the {name}, or a back and belly that meet there"
    else:
        thick = length_text(2 * half, recipe.units)
        problem = f"meets the belly at the {name}, where the body is {thick} thick: that is an edge"
        accepted = f"a height above 0 at the {name}, or a plan that closes there"
    raise mistake(recipe, key, problem, accepted)


def _outline(
    recipe: Recipe, key: str, curve: Curve, places: Array, shape: Parameters, blunt: tuple[float, float]
) -> Outline:
    share = places / shape.length
    values = np.array([value for _, value in curve.points], dtype=float)
    greatest = int(np.argmax(values))
    for part, end in ((slice(0, greatest + 1), shape.nose), (slice(greatest, None), shape.tail)):
        if end.size is not None:
            values[part] = _squeezed(values[part], end.size)
    for i in np.flatnonzero(values[1:-1] < 0) + 1:
        name = "nose" if i < greatest else "tail"
        problem = f"shape.{name}.size draws the line in until this point lies beyond the x axis"
        raise mistake(recipe, point_key(key, curve, int(i)), problem, f"a larger shape.{name}.size, or a higher point")
    return _faired(share.tobytes(), values.tobytes(), curve.corners, shape.length, blunt)


@lru_cache(maxsize=16)  # a body of another depth or thickness has the same lines, brought to other sizes
def _faired(
    share: bytes, values: bytes, corners: tuple[int, ...], length: float, blunt: tuple[float, float]
) -> Outline:
    return Outline(fair_line(opened(np.frombuffer(share), *blunt), np.frombuffer(values), corners), length, *blunt)


@lru_cache(maxsize=16)
def _heights_along(line: Outline, x: bytes) -> Array:
    """The line's heights over places (k,) [mm]; read only."""
    heights = line(np.frombuffer(x))
    heights.setflags(write=False)
    return heights


def _squeezed(values: Array, size: float) -> Array:
    """The heights from the greatest to an end, drawn in or out so that ``size`` of the greatest is left there."""
    top, low = values.max(), min(values[0], values[-1])
    return top - (top - values) * (top - size * top) / (top - low) if top > low else values


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


def _heights(recipe: Recipe, shape: Parameters, back: Outline, belly: Outline, x: Array) -> tuple[float, float]:
    """Factors from the drawn values of back and belly to mm."""
    high, low = _heights_along(back, x.tobytes()), _heights_along(belly, x.tobytes())
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
            raise mistake(
                recipe, key, "alone is deeper than the whole body", "less than shape.depth on this side of the x axis"
            )
        for _ in range(60):
            middle = (small + large) / 2
            small, large = (middle, large) if (drawn + middle * shares).max() < shape.depth else (small, middle)
        return (middle, 1.0) if shape.back.fractions else (1.0, middle)
    depth = (high + low).max()
    if shape.depth is not None and abs(depth - shape.depth) > AGREE_MM:
        raise mistake(
            recipe,
            "shape.depth",
            f"the points of back and belly are {length_text(float(depth), recipe.units)} apart at the deepest, "
            f"not {length_text(shape.depth, recipe.units)}",
            "leave shape.depth out, or move the points, or give them as fractions",
        )
    return 1.0, 1.0


def _widths(recipe: Recipe, shape: Parameters, plan: Outline, x: Array) -> float:
    wide = _heights_along(plan, x.tobytes()).max()
    if shape.plan.fractions:
        assert shape.thickness is not None  # noqa: S101  the reader asks for it
        return float(shape.thickness / 2 / wide)
    if shape.thickness is not None and abs(2 * wide - shape.thickness) > AGREE_MM:
        raise mistake(
            recipe,
            "shape.thickness",
            f"twice the greatest half thickness of shape.plan is {length_text(float(2 * wide), recipe.units)}, "
            f"not {length_text(shape.thickness, recipe.units)}",
            "leave shape.thickness out, or move the points, or give them as fractions",
        )
    return 1.0


def point_key(key: str, curve: Curve, index: int) -> str:
    """Key path of a line's point, counted from 0 [-]; of the whole line where a family draws it.

    Examples
    --------
    >>> point_key("back", Curve(((0.0, 0.0), (0.5, 1.0), (1.0, 0.0)), fractions=True), 1)
    'shape.back.fractions[2]'
    """
    return (
        f"shape.{key}" if curve.family else f"shape.{key}.{'fractions' if curve.fractions else 'points'}[{index + 1}]"
    )


def mistake(recipe: Recipe, key: str, problem: str, accepted: str) -> InputError:
    """What is wrong at a key of the recipe."""
    return InputError([Mistake(*recipe.place(key), key, "", problem, accepted)])
