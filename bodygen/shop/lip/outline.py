"""Outline of a lip: half a profile from the recipe or the tables, mirrored, with a tongue, rounded, at its told size.

Knows the recipe's lip and the outline families. Knows no sheet and no body. Plate axes as in ``plate.py``.
"""

from functools import lru_cache
from itertools import pairwise
from math import atan2, hypot, radians
from typing import TYPE_CHECKING

import numpy as np

from bodygen.errors import BodygenError, DesignError
from bodygen.form.integrals import Array
from bodygen.plane.arcs import arcs_through, directions_of, distance, line_and_circle
from bodygen.plane.parallel import rounded
from bodygen.plane.shapes import Line, Loop, Piece, Placement, Point, placed
from bodygen.recipe.model import Lip
from bodygen.tables import load

if TYPE_CHECKING:
    from collections.abc import Sequence

_SHARP = radians(30)  # a turn of the given points that is meant as a corner
_LONG = 2.0  # a side so many times as long as the next one is meant as straight
_EXACT = 1e-9  # mm: length and width come out as told to this
_RADIUS_STEP = 0.01, 0.002  # mm, or a share of the roundest: of radii that are tried, finer than anybody files
_HAIR = 0.001  # mm: a tongue as round as it is wide has a point for an end, where rounding cannot tell pieces apart
_NEARLY = 0.98  # of what would fit a straight tongue: of most plates that much does
_STRETCHES = 12  # by the slope they end in seven; what does not end comes and goes with how ends are joined
_MOST_STRETCHED = 1.5  # times the size: a plate that must be drawn larger is all corners


def profile_of(lip: Lip) -> tuple[Point, ...]:
    """Read half the outline from the mouth to the tip as shares: x of the length, y of the width (so at most 1/2)."""
    if lip.outline == "points":
        points: Sequence[Sequence[float]] = lip.points
    else:
        families = load("outlines")["lip"]
        if lip.outline not in families:
            msg = f'lip.outline = "{lip.outline}": no such outline; there are {", ".join(families)} and points'
            raise DesignError(msg)
        points = families[lip.outline]["points"]
    far, wide = max((p[0] for p in points), default=0.0), max((p[1] for p in points), default=0.0)
    if len(points) < 2 or far <= 0 or wide <= 0 or any(b[0] < a[0] for a, b in pairwise(points)):
        msg = f"lip.points = {[list(p) for p in points]}: at least 2 points with half widths, from the mouth to the tip"
        raise DesignError(msg)
    shares = [(x / far, y / wide / 2) for x, y in points]
    if shares[0][0] > 0:
        shares.insert(0, (0.0, shares[0][1]))
    if len(shares) > 2 and shares[-1][1] == 0 and shares[-2][0] == shares[-1][0]:
        del shares[-1]  # the middle of a straight tip is no corner
    return tuple(shares)


def tongue_width(lip: Lip, mouth: float, body_width: float | None, same: float) -> float:
    """Width of the tongue [mm]; ``mouth`` is the plate's width at the slot's mouth."""
    if lip.tongue_width is not None:
        wanted = lip.tongue_width
    elif lip.slot_width is not None:
        wanted = lip.slot_width - lip.fit
    else:
        wanted = mouth if body_width is None else min(body_width, mouth)
    return mouth if abs(wanted - mouth) < same and lip.tongue_width is None else wanted


def fitted_outline(lip: Lip, profile: tuple[Point, ...], tongue: float, tongue_length: float) -> tuple[Loop, float]:
    """Outline at exactly the told length and width, with the greatest corner radius up to the told one that fits."""
    return _fitted((lip.length, lip.width), lip.corner_radius, profile, tongue, tongue_length)


@lru_cache(maxsize=64)  # a lip that is turned or moved is the same plate
def _fitted(
    size: Point, corner_radius: float, profile: tuple[Point, ...], tongue: float, tongue_length: float
) -> tuple[Loop, float]:
    fits = 0.0
    too_large = max(0.0, min(corner_radius, _most_round(size, tongue, tongue_length) - _HAIR))
    found = _scaled(size, profile, tongue, tongue_length, too_large)
    if found:
        return found[0], too_large
    best, step, share = None, max(_RADIUS_STEP[0], _RADIUS_STEP[1] * too_large), _NEARLY
    while too_large - fits > step:
        radius, share = fits + share * (too_large - fits), 0.5
        found = _scaled(size, profile, tongue, tongue_length, radius, best and best[1])
        fits, too_large, best = (radius, too_large, found) if found else (fits, radius, best)
    best = best or _scaled(size, profile, tongue, tongue_length, 0.0)
    if best is None:
        msg = f"no plate {size[0]:g} x {size[1]:g} mm with a tongue {tongue:g} mm wide can be made of this outline"
        raise DesignError(msg)
    return best[0], fits


def _most_round(size: Point, tongue: float, tongue_length: float) -> float:
    """No outline of this size has rounder corners [mm]: each is part of a disc that lies in the plate.

    One that touches the tongue's end is, so far in as the tongue is long, no wider than the tongue.
    """
    half, deep = tongue / 2, min(tongue_length, tongue / 2)
    return min((half**2 + deep**2) / (2 * deep), max(size[1], tongue) / 2, (size[0] + tongue_length) / 2)


def _scaled(
    size: Point,
    profile: tuple[Point, ...],
    tongue: float,
    tongue_length: float,
    radius: float,
    begin: tuple[Array, Array] | None = None,
) -> tuple[Loop, tuple[Array, Array]] | None:
    """Stretch until the size is right: rounding takes a little off a corner that is the widest or farthest point.

    Also tells what was drawn (2,) [mm] and its slopes (2, 2) [-]: the next search may ``begin`` there.
    """
    drawn, slopes = begin or (np.array(size), None)
    before: tuple[Array, Array] | None = None
    for _ in range(_STRETCHES):
        try:
            sharp = _sharp(profile, float(drawn[0]), float(drawn[1]), tongue, tongue_length, radius)
            outline = rounded(sharp, radius, radius) if radius else sharp
        except BodygenError:
            return None
        ends = [p for piece in outline.pieces for p in piece.extremes()]
        if abs(min(p[0] for p in ends) + tongue_length) > _EXACT:
            return None  # the rounding has eaten the tongue
        tops = [p for p in ends if p[0] > -_EXACT]
        far, wide = max(p[0] for p in tops), 2 * max(p[1] for p in tops)
        if tongue > size[1]:
            wide = size[1]  # the tongue is the widest part, and its rounding does not reach the plate's
        over = np.array([far - size[0], wide - size[1]])
        if np.abs(over).max() < _EXACT:
            return outline, (drawn, np.eye(2) if slopes is None else slopes)
        if slopes is None:
            slopes = np.diag(drawn / (over + size))
        elif before is not None:
            slopes = _slopes(slopes, drawn - before[0], over - before[1])
        before, drawn = (drawn, over), np.maximum(drawn - slopes @ over, np.array(size) / _MOST_STRETCHED)
        if (drawn > _MOST_STRETCHED * np.array(size)).any():
            return None  # more corner than plate
    return None


def _slopes(slopes: Array, drawn: Array, came: Array) -> Array:
    """How much more to draw for what more shall come out (2, 2) [-], after one more step of both (2,) [mm].

    Broyden's first update, "A class of methods for solving nonlinear simultaneous equations" (1965), of the inverse.
    """
    foreseen = slopes @ came
    length = drawn @ foreseen
    return slopes if length == 0 else slopes + np.outer(drawn - foreseen, drawn @ slopes) / length


def _sharp(
    profile: tuple[Point, ...], length: float, width: float, tongue: float, tongue_length: float, radius: float
) -> Loop:
    """Draw the plate with sharp corners.

    A shoulder stands off the mouth by the corner radius: the fillet in its corner would otherwise keep the tongue from
    going home.
    """
    half = _curve([(x * length, y * width) for x, y in profile])
    mouth = half[0].start[1]
    begin = (0.0, mouth)
    step = mouth - tongue / 2
    if step > _EXACT and radius:
        half = _beyond(half, radius)
        begin = half[0].start
    back = (-tongue_length, tongue / 2)
    side: list[Point] = [back] if abs(step) <= _EXACT else [back, (begin[0], tongue / 2)]
    upper = [*(Line(a, b) for a, b in pairwise([*side, begin])), *half]
    lower = [placed(p, Placement(mirror=True)).reversed() for p in reversed(upper)]
    tip, foot = upper[-1].end, lower[-1].end
    across = [Line(tip, lower[0].start)] if tip[1] > 0 else []
    return Loop((*upper, *across, *lower, Line(foot, upper[0].start))).reversed()


def _curve(points: list[Point]) -> tuple[Piece, ...]:
    """Lines and tangent arcs through half an outline: smooth but for sharp turns, straight where a side is long."""
    closing = (points[-1][0], -points[-1][1]) if points[-1][1] else (points[-2][0], -points[-2][1])
    whole = [*points, closing]
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(whole)]
    pieces: list[Piece] = []
    begin = 0
    for i in range(1, len(points)):
        (ux, uy), (vx, vy) = sides[i - 1], sides[i]
        corner = abs(atan2(ux * vy - uy * vx, ux * vx + uy * vy)) > _SHARP
        if i == len(points) - 1 or corner:
            smooth_tip = i == len(points) - 1 and not corner
            pieces += _run(whole[begin : i + 2] if smooth_tip else whole[begin : i + 1], i - begin)
            begin = i
    return tuple(pieces)


def _run(points: list[Point], count: int) -> tuple[Piece, ...]:
    """First ``count`` spans of a smooth run."""
    ways = list(directions_of(points))
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
    lengths = [hypot(*s) for s in sides]
    for i, (size, (x, y)) in enumerate(zip(lengths, sides, strict=True)):
        near = lengths[max(0, i - 1) : i] + lengths[i + 1 : i + 2]
        if near and all(size > _LONG * other for other in near):
            ways[i] = ways[i + 1] = (x / size, y / size)
    return arcs_through(points[: count + 1], ways[: count + 1])


def _beyond(half: tuple[Piece, ...], x: float) -> tuple[Piece, ...]:
    """Part of the half outline that lies farther from the mouth than ``x``."""
    for i, piece in enumerate(half):
        if piece.end[0] > x:
            meeting = _crossing(piece, x)
            return _shortened(piece, meeting, piece.end), *half[i + 1 :]
    msg = f"a corner radius of {x:g} mm is longer than the plate"
    raise DesignError(msg)


def _crossing(piece: Piece, x: float) -> Point:
    """Where a piece with ends on both sides of it crosses the line across the plate at ``x``."""
    if isinstance(piece, Line):
        share = (x - piece.start[0]) / (piece.end[0] - piece.start[0])
        return x, piece.start[1] + share * (piece.end[1] - piece.start[1])
    found = line_and_circle(Line((x, 0.0), (x, 1.0)), piece)
    return x, min(found, key=lambda p: distance(piece, p))[1]


def _shortened(piece: Piece, start: Point, end: Point) -> Piece:
    return Line(start, end) if isinstance(piece, Line) else type(piece)(start, end, piece.centre, piece.ccw)


def exposed_part(outline: Loop) -> Loop:
    """Exposed part: the outline beyond the slot's mouth, closed along it."""
    pieces = outline.pieces
    first = next(i for i, p in enumerate(pieces) if p.start[0] <= _EXACT < p.end[0])
    kept: list[Piece] = []
    for piece in (*pieces[first:], *pieces[:first]):
        start = piece.start if piece.start[0] > _EXACT else None
        end = piece.end if piece.end[0] > _EXACT else None
        if start or end:
            edge = _crossing(piece, 0.0) if not (start and end) else piece.start
            kept.append(_shortened(piece, start or edge, end or edge))
    return Loop((*kept, Line(kept[-1].end, kept[0].start)))
