"""Going round a loop while going down: ramps, helices and the rise over tabs, as lines and arcs with heights.

Knows loops and heights over the length travelled. Knows no sheet and no tab (profile.py).
"""

from collections.abc import Iterator
from itertools import pairwise
from math import ceil, tan

from bodygen.plane.kerf import compensated
from bodygen.plane.shapes import Arc, Circle, Loop, Piece, Point, Shape
from bodygen.shop.mill.cutters import Cutter
from bodygen.shop.mill.job import Machining, Move

_SAME_MM = 1e-9


def as_loop(shape: Shape) -> Loop:
    """A circle as two half turns, so that no arc closes on itself."""
    if isinstance(shape, Loop):
        return shape if shape.ccw else shape.reversed()
    (x, y), r = shape.centre, shape.radius
    left, right = (x - r, y), (x + r, y)
    return Loop((Arc(right, left, shape.centre), Arc(left, right, shape.centre)))


def walked(path: Loop, profile: list[tuple[float, float]], feed: float) -> Iterator[Move]:
    """Follow a loop round and round, with the heights of a profile over the length travelled."""
    begin = 0.0
    end = profile[-1][0]
    number = 0
    while begin < end - _SAME_MM:
        piece = path.pieces[number % len(path.pieces)]
        length = piece.length
        stops = [s for s, _ in profile if begin + _SAME_MM < s < begin + length - _SAME_MM]
        here: Piece = piece
        for s in [*stops, begin + length]:
            if s > end + _SAME_MM:
                break
            whole = s == begin + length
            share = 1.0 if whole else (s - begin) / length
            at = piece.end if whole else _point(piece, share)
            z = _at(profile, min(s, end))
            if isinstance(here, Arc):
                yield Move("ccw" if here.ccw else "cw", (*at, z), feed, here.centre)
            else:
                yield Move("line", (*at, z), feed)
        begin, number = begin + length, number + 1


def upper_envelope(
    base: list[tuple[float, float]], bumps: list[list[tuple[float, float]]]
) -> list[tuple[float, float]]:
    """The upper envelope of a line over the whole length and of trapezoids on parts of it, corner by corner."""
    low = base[-1][1]
    stops = {s for s, _ in base}
    for bump in bumps:
        stops |= {s for s, _ in bump if 0 < s < base[-1][0]}
        for (a, za), (b, zb) in pairwise(bump):
            for (c, zc), (d, zd) in pairwise(base):
                left, right = max(a, c), min(b, d)
                if left < right:
                    first = _between(a, za, b, zb, left) - _between(c, zc, d, zd, left)
                    last = _between(a, za, b, zb, right) - _between(c, zc, d, zd, right)
                    if first * last < 0:
                        stops.add(left + (right - left) * first / (first - last))
    found = []
    for s in sorted(stops):
        heights = [_at(base, s), *(_at(bump, s) for bump in bumps if bump[0][0] <= s <= bump[-1][0])]
        found.append((s, max(*heights, low)))
    return found


def _at(line: list[tuple[float, float]], s: float) -> float:
    for (a, za), (b, zb) in pairwise(line):
        if a <= s <= b:
            return max(za, zb) if a == b else _between(a, za, b, zb, s)
    return line[-1][1]


def _between(a: float, za: float, b: float, zb: float, s: float) -> float:
    return za + (zb - za) * (s - a) / (b - a)


def _point(piece: Piece, share: float) -> Point:
    if isinstance(piece, Arc):
        return piece.at(share)
    (x0, y0), (x1, y1) = piece.start, piece.end
    return x0 + (x1 - x0) * share, y0 + (y1 - y0) * share


def bored(centre: Point, diameter: float, depth: float, how: Machining, ramp: float) -> Iterator[Move]:
    """A round hole from Z0 down, helically by a narrower cutter, with one level turn at its bottom.

    Starts and ends at the first point of its circle. ``depth`` > 0 [mm], ``ramp`` [rad].

    Raises
    ------
    DesignError
        If the cutter does not turn in the hole.
    """
    path = as_loop(compensated(Circle(centre, diameter / 2), how.cutter.diameter, "inside"))
    down = min(tan(ramp) * path.length, how.feeds.bite)
    turns = ceil(depth / down)
    s = turns * path.length
    yield from walked(path, [(0.0, 0.0), (s, -depth), (s + path.length, -depth)], how.feeds.feed)


def entry_of(centre: Point, diameter: float, cutter: Cutter) -> Point:
    """Where ``bored`` starts [mm]."""
    return centre[0] + diameter / 2 - cutter.radius, centre[1]
