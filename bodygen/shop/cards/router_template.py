"""Router templates: what a guide bush or a bearing runs along so that the cutter leaves the body's outline.

An eared template lies on the plank and the cutter goes round it. It is smaller than the outline by half of what the
bush is wider than the cutter, once; a bearing of the cutter's own size needs no offset. An ear at nose and tail takes a
screw, and the strap between is sawn through afterwards. A window template lies round the body, larger than the outline
by half of both together, and the body stays in the plank by two tabs. Knows outlines and cutters; knows no machine.
"""

from dataclasses import dataclass
from math import dist

from bodygen.errors import DesignError
from bodygen.findings import Finding, Severity
from bodygen.plane.arcs import line_and_circle, passes
from bodygen.plane.kerf import TightCorner, tight_corners
from bodygen.plane.parallel import parallel
from bodygen.plane.shapes import Arc, Circle, Line, Loop, Piece, Point, Text
from bodygen.shop.cards.card import Card
from bodygen.shop.cards.tool_marks import View
from bodygen.tables import as_row, load

_STRAP_SHARE, _LEAST_STRAP_MM = 0.7, 2.0  # a thin template has a narrower strap, down to this
_LONGEST_SHARE = 0.25  # of the length, hidden by one strap, before it is a warning
_SHOWN_MM = 0.1  # what a cutter leaves, or takes too much, is no matter below this


@dataclass(frozen=True, slots=True)
class RouterSizes:
    """``bush``: outer diameter of the guide bush or bearing, ``cutter``: of the cutter; an ear's ``ear`` diameter.

    ``strap``: width between ear and outline, ``reach``: from nose or tail to the screw, ``screw``: its hole [mm].
    """

    bush: float
    cutter: float
    ear: float
    strap: float
    reach: float
    screw: float
    label: float

    @property
    def offset(self) -> float:
        """How far the outline that is cut lies outside the template [mm]."""
        return (self.bush - self.cutter) / 2


def default_router() -> RouterSizes:
    """A flush-trim bit and the sizes of ``tables/gauges.toml``: common practice, no published source."""
    return as_row(RouterSizes, load("gauges")["router"])


def router_template(outline: Loop, view: View, sizes: RouterSizes) -> tuple[Card | None, tuple[Finding, ...]]:
    """The template of one outline with its two ears, and where the cutter cannot follow.

    Parameters
    ----------
    outline : Loop
        Side view or plan of the body, x from nose to tail [mm].
    view : {"side", "plan"}
        Which.
    sizes : RouterSizes
        Cutter, bush and ears.

    Returns
    -------
    card : Card or None
        None where the bush leaves no template.
    findings : tuple of Finding
        Hollows that the cutter does not reach into, bulges that it rounds off, each with its place and amount; places
        behind the straps are left out, as nothing is cut there.
    """
    where = f"router {view}"
    offset = sizes.offset
    if offset < 0:
        remedy = "a bush or bearing is never smaller than its cutter: measure both"
        return None, (Finding("router-bush", "error", where, remedy, sizes.bush, sizes.cutter, "mm"),)
    shrunk = parallel(outline, -offset)
    if len(shrunk) != 1:
        remedy = f"a bush {offset:.2f} mm outside the cutter leaves no template here: use a bearing-guided bit"
        return None, (Finding("router-no-template", "warning", where, remedy, sizes.bush, sizes.cutter, "mm"),)
    x0, _, x1, _ = outline.box
    try:
        loop, holes, hidden = _with_ears(shrunk[0], (x0, x1), sizes)
    except DesignError as error:
        return None, (Finding("router-no-template", "warning", where, f"no template: {error}"),)
    size = sizes.label
    (nose, tail), up, down = (hole.centre for hole in holes), sizes.screw / 2 + 1.2, -sizes.screw / 2 - 1.2 - size
    marks = (
        Line((x0, nose[1] - sizes.strap / 4), (x0, nose[1] + sizes.strap / 4)),
        Text(view, (nose[0], nose[1] + up), size, "centre"),
        Text("nose", (nose[0], nose[1] + down), size, "centre"),
        Text(f"cutter {sizes.cutter:.4g}", (tail[0], tail[1] + up), size, "centre"),
        Text(f"bush {sizes.bush:.4g}", (tail[0], tail[1] + down), size, "centre"),
    )
    card = Card(
        f"router template {view}",
        loop,
        holes,
        marks,
        f"guides a {sizes.cutter:g} mm cutter with a {sizes.bush:g} mm bush or bearing round the {view} of the body",
        "screw it to the plank by the ears, grain from ear to ear; rout in shallow passes, then saw through the straps",
    )
    return card, _checks(outline, hidden, sizes, where)


def _checks(outline: Loop, hidden: tuple[float, float], sizes: RouterSizes, where: str) -> tuple[Finding, ...]:
    x0, _, x1, _ = outline.box
    run_in = max(hidden)
    severity: Severity = "warning" if run_in > _LONGEST_SHARE * (x1 - x0) else "note"
    remedy = "the straps hide this much of nose or tail: shape it with saw and rasp after sawing them off"
    found = Finding("router-strap-hides", severity, where, remedy, round(run_in, 2), None, "mm")
    bulges = tight_corners(outline, 2 * sizes.offset, "inside") if sizes.offset else ()
    sharp = ("router-bulge", sizes.offset, "are rounded off", "a bearing-guided bit cuts it sharp")
    return (found, *_hollows(outline, hidden, sizes, where), *_told(outline, hidden, bulges, sharp, where))


def _hollows(outline: Loop, hidden: tuple[float, float], sizes: RouterSizes, where: str) -> tuple[Finding, ...]:
    hollows = tight_corners(outline, sizes.cutter, "outside")
    words = ("router-hollow", sizes.cutter / 2, "stay uncut in the hollow", "a thinner cutter, or a file")
    return _told(outline, hidden, hollows, words, where)


def _told(
    outline: Loop,
    hidden: tuple[float, float],
    corners: tuple[TightCorner, ...],
    words: tuple[str, float, str, str],
    where: str,
) -> tuple[Finding, ...]:
    """The worst of the corners about one place, each place once, but for what the straps hide."""
    (code, limit, what, cure), (x0, _, x1, _) = words, outline.box
    told: list[TightCorner] = []
    for corner in sorted(corners, key=lambda corner: -corner.left_over):
        shown = x0 + hidden[0] < corner.at[0] < x1 - hidden[1] and corner.left_over >= _SHOWN_MM
        if shown and all(dist(corner.at, other.at) > 2 * limit for other in told):
            told.append(corner)
    return tuple(
        Finding(
            code,
            "warning",
            where,
            f"{corner.left_over:.2f} mm {what} at x {corner.at[0]:.1f}, {corner.at[1]:.1f}: {cure}",
            round(corner.radius, 3),
            limit,
            "mm",
        )
        for corner in told
    )


def _with_ears(
    loop: Loop, ends: tuple[float, float], sizes: RouterSizes
) -> tuple[Loop, tuple[Circle, Circle], tuple[float, float]]:
    """Join an ear to each end of a counter-clockwise outline by a strap where the end lies.

    Returns the template, its screw holes, and how much of nose and tail the straps hide [mm].
    """
    nose = min((p for piece in loop.pieces for p in piece.extremes()), key=lambda p: (p[0], abs(p[1])))
    tail = max((p for piece in loop.pieces for p in piece.extremes()), key=lambda p: (p[0], -abs(p[1])))
    tops = max(p[1] for piece in loop.pieces for p in piece.extremes())
    bottoms = min(p[1] for piece in loop.pieces for p in piece.extremes())
    half = min(sizes.strap, _STRAP_SHARE * (tops - bottoms)) / 2
    if 2 * half < _LEAST_STRAP_MM:
        msg = f"{tops - bottoms:.1f} mm of template are too thin for a strap to an ear"
        raise DesignError(msg)
    heights = [min(max(end[1], bottoms + 1.1 * half), tops - 1.1 * half) for end in (nose, tail)]
    (i, nose_low), (j, nose_high) = (_beside(loop, heights[0] + way * half, -1) for way in (-1, 1))
    (k, tail_low), (m, tail_high) = (_beside(loop, heights[1] + way * half, 1) for way in (-1, 1))
    centres = (ends[0] - sizes.reach, heights[0]), (ends[1] + sizes.reach, heights[1])
    ear = sizes.ear / 2
    run = (ear**2 - half**2) ** 0.5
    a, b = (centres[0][0] + run, heights[0] + half), (centres[0][0] + run, heights[0] - half)
    c, d = (centres[1][0] - run, heights[1] - half), (centres[1][0] - run, heights[1] + half)
    chain: list[Piece] = [
        Line(nose_high, a),
        Arc(a, b, centres[0]),
        Line(b, nose_low),
        *_between(loop, (i, nose_low), (k, tail_low)),
        Line(tail_low, c),
        Arc(c, d, centres[1]),
        Line(d, tail_high),
        *_between(loop, (m, tail_high), (j, nose_high)),
    ]
    holes = Circle(centres[0], sizes.screw / 2), Circle(centres[1], sizes.screw / 2)
    hidden = max(nose_low[0], nose_high[0]) - ends[0], ends[1] - min(tail_low[0], tail_high[0])
    return Loop(tuple(chain)), holes, hidden


def _beside(loop: Loop, height: float, way: int) -> tuple[int, Point]:
    """Where an outline crosses a level line, farthest to the nose (way -1) or the tail (1): the piece and the point."""
    found: list[tuple[float, int, Point]] = []
    for i, piece in enumerate(loop.pieces):
        (x, y), (ex, ey) = piece.start, piece.end
        if isinstance(piece, Line):
            if min(y, ey) <= height <= max(y, ey) and y != ey:
                at = x + (height - y) / (ey - y) * (ex - x)
                found.append((way * at, i, (at, height)))
        else:
            level = Line((piece.centre[0] - 1.0, height), (piece.centre[0] + 1.0, height))
            found += [(way * p[0], i, (p[0], height)) for p in line_and_circle(level, piece) if passes(piece, p)]
    if not found:
        msg = f"no outline at height {height:.2f} mm to join an ear to"
        raise DesignError(msg)
    _, i, point = max(found)
    return i, point


def _between(loop: Loop, first: tuple[int, Point], last: tuple[int, Point]) -> list[Piece]:
    """The pieces of a loop from one point on it to another, in its own sense."""
    (i, start), (j, end) = first, last
    pieces = loop.pieces
    if i == j:
        return [_part(pieces[i], start, end)]
    chain = [_part(pieces[i], start, pieces[i].end)]
    k = (i + 1) % len(pieces)
    while k != j:
        chain.append(pieces[k])
        k = (k + 1) % len(pieces)
    chain.append(_part(pieces[j], pieces[j].start, end))
    return [piece for piece in chain if piece.start != piece.end]


def _part(piece: Piece, start: Point, end: Point) -> Piece:
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)
