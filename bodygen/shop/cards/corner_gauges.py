"""Gauges for corners and places: rounded edges, where the eyes go.

Each is a card (card.py) of plain geometry that takes its numbers from the recipe. Knows no section.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, TypeGuard

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.facing import Side, side_of
from bodygen.plane.arcs import line_and_circle, passes
from bodygen.plane.shapes import Arc, Circle, Item, Line, Loop, Piece, Point, Text, ending
from bodygen.recipe.model import Fitting, FlatSide, Parameters, Recipe
from bodygen.shop.cards.card import Card
from bodygen.shop.engrave import words_size
from bodygen.shop.face_label import FaceLabel, Letters, place_in
from bodygen.tables import load
from bodygen.units import inch_fraction

if TYPE_CHECKING:
    from shapely import Polygon as Region

_SAME_EYE_MM = 0.2  # eyes nearer than this to each other, seen from the side, are one
_SAG_MM = 0.01
_DIAGONAL_MM = 20.0  # card left of the stairs, and below them, for the figures


def edge_gauge(recipe: Recipe) -> Card:
    """Stairs with an inner corner for each radius of the ruler's row, and for the body's own edge where it has one."""
    row = load("gauges")["edge"]
    radii = list(row["radii_in_mm"] if recipe.units == "in" else row["radii_mm"])
    own = _own_edge(recipe)
    if own is not None:
        radii = sorted([r for r in radii if abs(r - own) > row["same_mm"]] + [own])
    straight, base = row["straight_mm"], 12.0
    x, y = 0.0, base + sum(r + straight for r in radii)
    foot, here = (0.0, y - _DIAGONAL_MM), (base, y)
    pieces: list[Piece] = [Line(foot, (0.0, y)), Line((0.0, y), here)]
    marks: list[Item] = []
    x = base
    for r in radii:
        low = y - r - straight
        start, end = (x, low + r), (x + r, low)
        pieces += [Line(here, start), Arc(start, end, (x + r, low + r))]
        tread = (x + r + straight, low)
        pieces.append(Line(end, tread))
        words = inch_fraction(r / 25.4) if recipe.units == "in" else f"{round(r, 2):g}"
        label = f"own {words}" if own is not None and abs(r - own) < row["same_mm"] else words
        marks.append(Text(label, (x - 1.5, low - 3.2), 2.2, "right"))
        x, y, here = tread[0], low, tread
    heel = (x - _DIAGONAL_MM, 0.0)
    pieces += [Line(here, (x, 0.0)), Line((x, 0.0), heel), Line(heel, foot)]
    marks += [Text("radius", (x - 1.0, 6.0), 2.2, "right"), Text(recipe.units, (x - 1.0, 2.0), 2.2, "right")]
    return Card(
        "edge gauge",
        Loop(tuple(pieces)).reversed(),
        (),
        tuple(marks),
        "radii for rounded edges" + ("" if own is None else ", the body's own among them"),
        "hold the blank's edge in the step of its radius, both faces flat on the card: round it until no light shows",
    )


def _own_edge(recipe: Recipe) -> float | None:
    shape = recipe.shape
    flat = shape.flat_side if isinstance(shape, Parameters) else None
    return flat.edge_radius if isinstance(flat, FlatSide) else None


def eye_places(recipe: Recipe, tools: Sequence[Tool]) -> tuple[tuple[Point, float], ...]:
    """Middle (x, z) and diameter [mm] of each eye seen from the side, sockets first, each place once."""
    sockets = [((tool.origin[0], tool.origin[2]), tool.diameter) for tool in tools if _is_socket(tool)]
    set_on = [((fit.at[0], fit.at[2]), 0.0) for fit in recipe.fittings if _is_eye(fit)]
    found: list[tuple[Point, float]] = []
    for (x, z), size in (*sockets, *set_on):
        if all(np.hypot(x - a, z - b) > max(_SAME_EYE_MM, other / 2) for (a, b), other in found):
            found.append(((x, z), size))
    return tuple(found)


def eye_flanks(
    recipe: Recipe, tools: Sequence[Tool], eyes: Sequence[tuple[Point, float]]
) -> tuple[frozenset[Side], ...]:
    """The flanks that have an eye at each of these places."""
    there = [((t.origin[0], t.origin[2]), side_of(-t.axis[1])) for t in tools if _is_socket(t)]
    for fit in filter(_is_eye, recipe.fittings):
        there += [((fit.at[0], fit.at[2]), side_of(way * fit.at[1])) for way in ((1, -1) if fit.mirror else (1,))]
    return tuple(
        frozenset(side for (x, z), side in there if np.hypot(x - a, z - b) <= max(_SAME_EYE_MM, size / 2))
        for (a, b), size in eyes
    )


def _is_socket(tool: Tool) -> TypeGuard[Revolved]:
    return isinstance(tool, Revolved) and tool.kind == "eye" and abs(tool.axis[1]) > 0.5


def _is_eye(fitting: Fitting) -> bool:
    return fitting.kind == "eye" and fitting.at[1] != 0


def eye_gauge(
    side: Loop, eyes: Sequence[tuple[Point, float]], flanks: Sequence[frozenset[Side]] | None = None
) -> tuple[Card | None, tuple[Finding, ...]]:
    """The head of the side view as a card: its nose, back and belly lie flush with the body's, an eye's hole in it.

    Parameters
    ----------
    side : Loop
        Side view (x, z) [mm].
    eyes : sequence of (Point, float)
        Middles and diameters as ``eye_places`` gives them; a diameter of 0 makes an awl hole.
    flanks : sequence of frozenset, optional
        Which flanks have each eye, as ``eye_flanks`` gives them; left out: both.

    Returns
    -------
    card : Card or None
        None without eyes, or where no hole has room.
    findings : tuple of Finding
        What was made smaller or left out.
    """
    from shapely import LineString, Polygon
    from shapely import Point as PointOf

    if not eyes:
        return None, ()
    row = load("gauges")["eye"]
    x0, _, x1, _ = side.box
    end = min(max(x + size / 2 for (x, _), size in eyes) + row["behind_mm"], x0 + 0.9 * (x1 - x0))
    head = _head(side, end, row["vee_mm"])
    free = Polygon(head.points(_SAG_MM))
    holes, checks = _eye_holes(free, eyes)
    if not holes:
        return None, tuple(checks)
    axis = LineString([(x0 - 1, 0.0), (end, 0.0)]).intersection(free)
    for hole in holes:
        axis = axis.difference(PointOf(hole.centre).buffer(hole.radius + 0.3))
    parts = [axis] if axis.geom_type == "LineString" else list(getattr(axis, "geoms", ()))
    lines = tuple(Line(*part.coords) for part in parts if len(part.coords) == 2)
    words, unsaid = _named(head, holes, lines)
    return (
        Card(
            "eye gauge",
            head,
            tuple(holes),
            (*lines, *words),
            "where the eyes go, from the nose and the parting line",
            "lay it on one flank, its lettering out on the left one, flush at nose, back and belly, the pencilled "
            f"parting line in the notch; mark through the hole, {_turned_over(eyes, flanks)}",
        ),
        (*checks, *unsaid),
    )


def _eye_holes(free: "Region", eyes: Sequence[tuple[Point, float]]) -> tuple[list[Circle], list[Finding]]:
    """A hole for each eye, or one for the awl where its own would break out; findings where neither has room."""
    from shapely import Point as PointOf

    row = load("gauges")["eye"]
    checks: list[Finding] = []
    holes: list[Circle] = []
    for (x, z), size in eyes:
        left = PointOf(x, z).distance(free.exterior) if free.contains(PointOf(x, z)) else 0.0
        radius = size / 2 if size and left - size / 2 >= row["wall_mm"] else row["prick_mm"] / 2
        if left - radius < row["prick_mm"] / 2:
            remedy = "the eye lies on the edge of the side view: mark it from the template"
            checks.append(Finding("eye-gauge-edge", "note", "eye gauge", remedy, round(left, 2), row["prick_mm"], "mm"))
        elif all(np.hypot(x - h.centre[0], z - h.centre[1]) > radius + h.radius + 0.8 for h in holes):
            holes.append(Circle((x, z), radius))
    return holes, checks


def _turned_over(eyes: Sequence[tuple[Point, float]], flanks: Sequence[frozenset[Side]] | None) -> str:
    """What to do for the other flank, which may have no eye, or another."""
    if not flanks or all(len(on) == 2 for on in flanks):
        return "then turn it over for the other flank"
    (first, *_), kinds = flanks, set(flanks)
    if len(kinds) == 1:
        return f"on the {' and '.join(first)} flank alone: the other has no eye"
    told = [
        f"{x:.1f} mm from the nose on {'both flanks' if len(on) == 2 else f'the {min(on)} flank'}"
        for ((x, _), _), on in zip(eyes, flanks, strict=True)
    ]
    return f"each on its own flank: {', '.join(told)}"


def _named(head: Loop, holes: Sequence[Circle], lines: Sequence[Line]) -> tuple[tuple[Text, ...], tuple[Finding, ...]]:
    """What it is, which flank it lies on as it is read, and its end towards the tail, where they find room."""
    row, curve = load("gauges")["eye"], manifold3d.JoinType.Round
    letters = Letters(row["label_mm"], row["least_label_mm"], 0.0, row["label_wall_mm"])
    free = manifold3d.CrossSection([head.points(_SAG_MM)], manifold3d.FillRule.NonZero).offset(-letters.wall, curve)
    for hole in holes:
        free -= manifold3d.CrossSection.circle(hole.radius + letters.wall, 48).translate(hole.centre)
    for line in lines:
        dot = manifold3d.CrossSection.circle(letters.wall, 12)
        free -= manifold3d.CrossSection.batch_hull([dot.translate(line.start), dot.translate(line.end)])
    low, _, high, _ = head.box
    found, lost = [], []
    half = (high - low) / 2
    for choice, within in ((("left flank", "left"), 2 * half), (("tail",), half), (("eyes", "eye"), 2 * half)):
        places = ((word, place_in(free, FaceLabel((word,), high, within), letters)) for word in choice)
        word, place = next(((word, place) for word, place in places if place), (choice[0], None))
        if place is None:
            lost.append(word)
            continue
        at, height = place
        found.append(Text(word, at, height, "middle"))
        wide, tall = words_size([word], height)
        taken = manifold3d.CrossSection.square((wide + letters.wall, tall + letters.wall), center=True)
        free -= taken.translate(at)
    if not lost:
        return tuple(found), ()
    remedy = f"no room on it for {', '.join(lost)}: write it on by hand"
    return tuple(found), (Finding("jig-no-label", "note", "eye gauge", remedy),)


def _head(side: Loop, end: float, vee: float) -> Loop:
    """The part of the side view ahead of ``end``, cut off square, with a notch at the parting line."""
    low, high = crossings_of(side, end)
    (i, below), (j, above) = low, high
    pieces = side.pieces
    chain: list[Piece] = [_from(pieces[j], above)]
    k = (j + 1) % len(pieces)
    while k != i:
        chain.append(pieces[k])
        k = (k + 1) % len(pieces)
    chain.append(ending(pieces[i], below))
    corners = [below, above]
    if below[1] + vee < 0.0 < above[1] - vee:
        corners = [below, (end, -vee), (end - vee, 0.0), (end, vee), above]
    chain += [Line(a, b) for a, b in pairwise(corners)]
    return Loop(tuple(piece for piece in chain if piece.start != piece.end))


def crossings_of(loop: Loop, x: float) -> tuple[tuple[int, Point], tuple[int, Point]]:
    """Where an outline crosses an upright line: its lowest and its highest piece there, and the points.

    Raises
    ------
    DesignError
        If the line misses the outline.
    """
    found: list[tuple[float, int, Point]] = []
    for i, piece in enumerate(loop.pieces):
        box = piece.extremes()
        if not min(p[0] for p in box) - 1e-9 <= x <= max(p[0] for p in box) + 1e-9:
            continue
        if isinstance(piece, Line):
            dx = piece.end[0] - piece.start[0]
            if dx:
                share = (x - piece.start[0]) / dx
                found.append((z := piece.start[1] + share * (piece.end[1] - piece.start[1]), i, (x, z)))
        else:
            upright = Line((x, piece.centre[1] - 1.0), (x, piece.centre[1] + 1.0))
            found += [(p[1], i, (x, p[1])) for p in line_and_circle(upright, piece) if passes(piece, p)]
    if len(found) < 2:
        msg = f"no outline at x = {x:g} mm"
        raise DesignError(msg)
    low, high = min(found), max(found)
    return (low[1], low[2]), (high[1], high[2])


def _from(piece: Piece, start: Point) -> Piece:
    return Line(start, piece.end) if isinstance(piece, Line) else Arc(start, piece.end, piece.centre, piece.ccw)
