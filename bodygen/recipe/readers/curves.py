"""Lines drawn along the length: a family's name, points in lengths, or points in shares of length and height.

Knows how such a line is written and that x runs from nose to tail. Knows nothing of the curve through it (form/).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from bodygen import tables
from bodygen.recipe.keys import Key
from bodygen.recipe.model import Curve
from bodygen.recipe.text.read_context import ReadContext, no_such_name, read_value

FEWEST_POINTS = 3
MOST_POINTS = 500
SAME_LENGTH = 1e-6  # share of the length within which the last point is the tail
OUTLINE_ACCEPTED = (
    "a family's name, {{ points = [[x, {0}], ...] }} in lengths, or {{ fractions = [[x, {0}], ...] }} from 0 to 1"
)


@dataclass(frozen=True, slots=True)
class Kinds:
    """What the value beside x is: as a length, and as a share; ``word`` names it in messages."""

    length: Key
    share: Key
    word: str
    positive: bool  # above zero everywhere but at the ends


HEIGHT = Kinds(Key("length", "line_height_mm"), Key("number", "share"), "height", positive=False)
HALF_WIDTH = Kinds(Key("length", "line_height_mm"), Key("number", "share"), "half width", positive=True)
WIDEST = Kinds(Key("length", "bore_offset_mm"), Key("number", "signed_share"), "height", positive=False)
SQUARE = Key("number", "squareness")


def outline(ctx: ReadContext, path: str, raw: object, length: float | None, kinds: Kinds) -> Curve | None:
    """Read ``back``, ``belly`` or ``plan``: a family or points that close the body from nose to tail."""
    if isinstance(raw, str):
        return family(ctx, path, raw)
    curve = spanning(ctx, path, raw, length, kinds)
    if curve is None:
        return None
    where = f"{path}.{'fractions' if curve.fractions else 'points'}"
    values = [value for _, value in curve.points]
    if max(values) <= 0:
        ctx.fault(where, "no height anywhere.", f"at least one {kinds.word} above 0")
        return None
    if kinds.positive and min(values[1:-1]) <= 0:
        number = values[1:-1].index(min(values[1:-1])) + 2
        ctx.fault(f"{where}[{number}]", "no width between nose and tail.", f"a {kinds.word} above 0")
        return None
    return curve


def family(ctx: ReadContext, path: str, name: str) -> Curve | None:
    """Take an outline family of the table by its name."""
    known = tables.load("outlines")["outline"]
    if name not in known:
        no_such_name(ctx, path, name, tuple(known))
        return None
    points = tuple((float(x), float(height)) for x, height in known[name]["points"])
    return Curve(points, fractions=True, family=name)


def spanning(ctx: ReadContext, path: str, raw: object, length: float | None, kinds: Kinds) -> Curve | None:
    """Read points that run from x = 0 to the tail."""
    accepted = OUTLINE_ACCEPTED.format(kinds.word)
    if not isinstance(raw, dict) or len(raw) != 1 or not raw.keys() <= {"points", "fractions"}:
        ctx.fault(path, "not a line along the body.", accepted)
        return None
    (way, rows), = raw.items()  # fmt: skip
    fractions = way == "fractions"
    curve = _points(ctx, f"{path}.{way}", rows, fractions, kinds.share if fractions else kinds.length)
    if curve is None:
        return None
    end = 1.0 if fractions else length
    first, last = curve.points[0][0], curve.points[-1][0]
    where = f"{path}.{way}"
    if first != 0:
        ctx.fault(f"{where}[1]", "does not start at the nose.", "x = 0 in the first point")
        return None
    if end is not None and abs(last - end) > SAME_LENGTH * end:
        shown = "1" if fractions else ctx.length_text(end)
        accepted = f"x = {shown} in the last point{'' if fractions else ctx.grown_with(end)}"
        ctx.fault(f"{where}[{len(curve.points)}]", "does not end at the tail.", accepted)
        return None
    return curve if _apart(ctx, where, curve, length) else None


def _apart(ctx: ReadContext, where: str, curve: Curve, length: float | None) -> bool:
    """Whether each point stands clear of the one before it; a pencil cannot draw what lies between them otherwise."""
    scale = length if curve.fractions else 1.0
    least = float(tables.load("limits")["line"]["points_apart_mm"])
    before = len(ctx.mistakes)
    if scale is not None:
        for number, ((x0, _), (x1, _)) in enumerate(pairwise(curve.points), start=2):
            if (x1 - x0) * scale < least:
                problem = f"only {(x1 - x0) * scale:.3f} mm behind the point before it."
                ctx.fault(f"{where}[{number}]", problem, f"{least:g} mm or more; or one point for the two")
    return len(ctx.mistakes) == before


def squareness(ctx: ReadContext, path: str, raw: object, length: float | None) -> tuple[Curve, Curve] | None:
    """Read the section's exponent for back and belly: one number, or each a number or a list along the length."""
    if isinstance(raw, dict):
        if not raw or not raw.keys() <= {"back", "belly"}:
            ctx.fault(path, "not a squareness.", "a number from 1 to 10, or { back = ..., belly = ... }")
            return None
        plain = Curve(((0.0, 2.0),), fractions=True)
        pair = [
            _one_squareness(ctx, f"{path}.{half}", raw[half], length) if half in raw else plain
            for half in ("back", "belly")
        ]
        back, belly = pair
        return (back, belly) if back is not None and belly is not None else None
    both = _one_squareness(ctx, path, raw, length)
    return (both, both) if both is not None else None


def _one_squareness(ctx: ReadContext, path: str, raw: object, length: float | None) -> Curve | None:
    """Read a number, or [x, n] points: x as a bare share of the length, or as a length with its unit."""
    if not isinstance(raw, list):
        value = read_value(ctx, path, raw, SQUARE)
        return Curve(((0.0, float(value)),), fractions=True) if isinstance(value, float) else None
    as_lengths = any(isinstance(row, list) and row and isinstance(row[0], str) for row in raw)
    curve = _points(ctx, path, raw, not as_lengths, SQUARE, fewest=1)
    if curve is not None and as_lengths and length is not None and curve.points[-1][0] > length * (1 + SAME_LENGTH):
        ctx.fault(
            f"{path}[{len(curve.points)}]",
            "behind the tail.",
            f"x up to {ctx.length_text(length)}{ctx.grown_with(length)}",
        )
        return None
    return curve


def _points(
    ctx: ReadContext, path: str, rows: object, fractions: bool, value_key: Key, *, fewest: int = FEWEST_POINTS
) -> Curve | None:
    """Read [x, value] rows with x growing; a third element "corner" marks a corner."""
    if not isinstance(rows, list) or not fewest <= len(rows) <= MOST_POINTS:
        ctx.fault(path, "not a list of points.", f"{fewest} to {MOST_POINTS} points, each [x, value]")
        return None
    x_key = Key("number", "share") if fractions else Key("length", "place_along_mm")
    points: list[tuple[float, float]] = []
    corners: list[int] = []
    before = len(ctx.mistakes)
    for number, row in enumerate(rows):
        place = f"{path}[{number + 1}]"
        if not isinstance(row, list) or not _is_point(row):
            ctx.fault(place, "not a point.", '[x, value] or [x, value, "corner"]')
            continue
        x = read_value(ctx, f"{place}[1]", row[0], x_key)
        value = read_value(ctx, f"{place}[2]", row[1], value_key)
        if not isinstance(x, float) or not isinstance(value, float):
            continue
        if points and x <= points[-1][0]:
            ctx.fault(place, "not behind the point before it.", "x growing from nose to tail")
        if len(row) == 3:
            corners.append(number)
        points.append((x, value))
    return Curve(tuple(points), fractions, tuple(corners)) if len(ctx.mistakes) == before else None


def _is_point(row: Sequence[object]) -> bool:
    return len(row) == 2 or (len(row) == 3 and row[2] == "corner")
