"""The bait in the water as it will lie: from the side, from the nose and from above, true to scale, on one A4 page.

Knows an attitude and what it looks like. Knows no recipe keys and computes no attitude. Where the bait hangs wholly
under there is no surface to draw, only the plumb line through B and G.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import pi

import numpy as np

from bodygen.errors import DesignError
from bodygen.form.facing import Projection
from bodygen.plane.page import Array, Label, Mark, PaperPage, Stroke, bounds, moved, stroke, text_width
from bodygen.plane.shapes import Point
from bodygen.recipe.model import Units
from bodygen.report.pictures import dimension
from bodygen.report.pictures.chart import HEADING, MARGIN, panel
from bodygen.report.pictures.floating_view import FloatingView, Look, look_from, projections
from bodygen.units import length_text, mass_text, temperature_text

PAGE = (297.0, 210.0)
SCALES = ((3.0, "3:1"), (2.0, "2:1"), (1.5, "1.5:1"), (1.0, "1:1"), (0.5, "1:2"), (0.2, "1:5"), (0.1, "1:10"))
GAP = 9.0
"""Between views [mm]."""
SIZE, KEY_WIDTH, ROW = 2.8, 34.0, 4.6
MARK = 1.3
"""Radius of the signs for G, B and M [mm]."""
NEAR = 30.0
"""A metacentre farther above the bait than this is told in figures only [mm of paper]."""
FROM_LEVEL_DEG, LEAST_DRAWN_DEG = 0.05, 0.5


def afloat_sheet(floating: FloatingView) -> PaperPage:
    """Draw the bait at its waterline, or hanging in the water, at the largest simple scale that fits.

    Returns
    -------
    PaperPage
        PAGE mm.

    Raises
    ------
    DesignError
        It does not fit at 1:10: no bait.
    """
    looks = [look_from(floating, projection) for projection in projections(floating.attitude)]
    for scale, ratio in SCALES:
        marks = _page(floating, looks, scale, ratio)
        if marks is not None:
            what = f"at rest in the water, {ratio}"
            return panel(*PAGE, floating.recipe, what, marks, _says(floating))
    msg = f"a body {floating.length:g} mm long does not fit on A4 at 1:10."
    raise DesignError(msg)


def _says(floating: FloatingView) -> str:
    water, state = floating.recipe.water, floating.flotation.state
    reserve = mass_text(abs(floating.flotation.reserve_g), floating.recipe.units)
    end = f"a reserve of {reserve}" if floating.flotation.reserve_g >= 0 else f"{reserve} too heavy"
    warm = (
        "" if water.density_g_cm3 is not None else f" at {temperature_text(water.temperature, floating.recipe.units)}"
    )
    return f"{state}, {end}, in water of {floating.flotation.water_g_cm3:.4f} g/cm3{warm}"


def _page(floating: FloatingView, looks: Sequence[Look], scale: float, ratio: str) -> list[Mark] | None:
    """Everything at one scale; None where it does not fit."""
    from_side, from_nose, from_above = looks
    side, end = _upright_view(floating, from_side, scale), _upright_view(floating, from_nose, scale)
    side += _pitch(floating, from_side.projection, side, scale) + _freeboard(floating, from_side, scale)
    side, end = _named(side, "from the left"), _named(end, "from the nose")
    above = _above_view(floating, from_above, scale)
    figures = _figures(floating)
    s, e, p, f = bounds(side), bounds(end), bounds(above), bounds(figures)
    end = moved(end, s[2] + GAP - e[0], 0.0)
    above = moved(above, 0.0, max(s[3], e[3]) + GAP / 2 - p[1])
    e, p = bounds(end), bounds(above)
    left, top, right = min(s[0], p[0]), min(s[1], e[1]), max(e[2] + 6.0, p[2])
    low, high = MARGIN, PAGE[0] - MARGIN
    foot = PAGE[1] - MARGIN - dimension.FIGURE
    bar_top = foot - 12.0
    tall = p[3] - top
    if right - left > high - low or tall > bar_top - HEADING:
        return None
    # the figures stand at the right, below the end view; there the plan view may not reach
    corner = high - (f[2] - f[0]), foot - (f[3] - f[1])
    air = (bar_top - HEADING - tall) / 3
    dx, dy = low + (high - low - (right - left)) / 2 - left, HEADING + air - top
    dx = min(dx, corner[0] - GAP - p[2]) if p[3] + dy > corner[1] - 2.0 else dx
    if left + dx < low or max(s[3], e[3]) + dy > corner[1] - 2.0:
        return None
    reach = bounds([mark for mark in side if isinstance(mark, Stroke) and mark.part in ("body", "lip")])[0]
    water = _surface(floating, reach - 1.0, e[2] + 6.0)
    views = [*water, *side, *end, *above]
    bar = dimension.scale_bar((MARGIN + 2.0, foot - 4.0), scale, ratio)
    if bounds(bar)[2] > corner[0] - 4.0:
        return None
    return [*moved(views, dx, dy), *moved(figures, corner[0] - f[0], corner[1] - f[1]), *bar]


def _zero(floating: FloatingView) -> float:
    """Height along up that lies at y = 0 on paper: the water, or B where there is none [mm]."""
    at = floating.attitude
    return float(np.dot(at.up, at.centre_of_buoyancy)) if at.water_height is None else at.water_height


def _outlines(look: Look, place: Array, scale: float) -> list[Mark]:
    flip = np.array([scale, -scale])
    return [stroke((t.points - place) * flip, t.pen, closed=t.closed, part=t.part) for t in look.traces]


def _upright_view(floating: FloatingView, look: Look, scale: float) -> list[Mark]:
    """One view with the water level at y = 0: outlines, body axis, G, B and M with letters."""
    zero = np.array([0.0, _zero(floating)])
    flip = np.array([scale, -scale])
    projection, outlines = look.projection, _outlines(look, zero, scale)
    _, y0, _, y1 = bounds(outlines)
    if projection.name == "side":
        ends = np.array([[0.0, 0, 0], [floating.length, 0, 0]])
        ends += np.array([[-0.04], [0.04]]) * (ends[1] - ends[0])
    else:  # the mid-plane, seen along the body: through its middle, as high as the silhouette
        middle = np.array([floating.length / 2, 0.0, 0.0])
        reach = 0.55 * (y1 - y0) / scale
        ends = middle + np.array([[0, 0, -reach], [0, 0, reach]])
    axis = (projection.flat(ends) - zero) * flip
    marks = [stroke(axis, "centre", part="body axis"), *outlines]
    letters = _centres(floating, projection, zero, scale, y0)
    marks += [mark for _, at, solid in letters for mark in _sign(at, solid=solid)]
    highest = min([y0, float(axis[:, 1].min()), *(at[1] - MARK for _, at, _ in letters)])
    if floating.attitude.water_height is None:
        x = letters[0][1][0]
        marks.append(stroke([(x, highest - 2.0), (x, y1 + 2.0)], "hidden", part="plumb line"))
    return marks + dimension.balloons(highest - 6.0, [], _led(letters))


def _named(view: list[Mark], name: str) -> list[Mark]:
    """Put its name below a view, in the middle of the outlines."""
    x0, _, x1, _ = bounds([mark for mark in view if isinstance(mark, Stroke) and mark.part in ("body", "lip")])
    return [*view, Label(name, ((x0 + x1) / 2, bounds(view)[3] + 4.0), 2.5, "centre")]


def _centres(
    floating: FloatingView, projection: Projection, zero: Array, scale: float, top: float
) -> list[tuple[str, Point, bool]]:
    """B, G and the metacentre of this view, as far as it is near: letter, place, whether its sign is filled."""
    at = floating.attitude
    up, mass = np.array(at.up), np.asarray(floating.centre_of_mass)
    points = [("B", np.array(at.centre_of_buoyancy), False), ("G", mass, True)]
    if at.water_height is not None:
        gm = at.gml_mm if projection.name == "side" else at.gm_mm
        points.append(("M", mass + gm * up, False))
    placed = [(name, (projection.flat(p[None])[0] - zero) * (scale, -scale), solid) for name, p, solid in points]
    return [(n, (float(p[0]), float(p[1])), solid) for n, p, solid in placed if n != "M" or p[1] > top - NEAR]


def _led(letters: Sequence[tuple[str, Point, bool]]) -> list[tuple[str, Point]]:
    """Where each letter's line ends: the highest sign is led to from above if there are three, the others beside it."""
    rows = sorted(letters, key=lambda letter: letter[1][1])
    ways = ((0.0, -MARK), (-MARK, 0.0), (MARK, 0.0))[-len(rows) :]
    return [(name, (at[0] + dx, at[1] + dy)) for (name, at, _), (dx, dy) in zip(rows, ways, strict=True)]


def _sign(at: Point, *, solid: bool) -> list[Mark]:
    """Draw G as a circle with two black quarters, B and M as a circle round a point."""
    x, y = at
    turn = np.linspace(0.0, 2 * pi, 40, endpoint=False)
    ring = tuple((x + MARK * float(np.cos(t)), y + MARK * float(np.sin(t))) for t in turn)
    marks: list[Mark] = [Stroke(ring, "thin", closed=True, fill="white", part="sign")]
    if solid:
        quarters = [(at, *ring[start : start + 11]) for start in (0, 20)]
        marks += [Stroke(quarter, "hair", closed=True, fill="black") for quarter in quarters]
    else:
        dot = tuple((x + 0.3 * float(np.cos(t)), y + 0.3 * float(np.sin(t))) for t in turn[::2])
        marks.append(Stroke(dot, "hair", closed=True, fill="black"))
    return marks


def _pitch(floating: FloatingView, projection: Projection, side: Sequence[Mark], scale: float) -> list[Mark]:
    """The angle of the body's axis at the nose, left of all that is drawn."""
    if abs(floating.attitude.pitch_deg) < LEAST_DRAWN_DEG:
        return []
    nose, ahead = (projection.flat(np.array([[0.0, 0, 0], [-1.0, 0, 0]])) - (0.0, _zero(floating))) * (scale, -scale)
    radius = max(float(nose[0]) - bounds([m for m in side if isinstance(m, Stroke)])[0] + 2.0, 9.0)
    text = f"{abs(floating.attitude.pitch_deg):.1f}°"
    way = float(ahead[0] - nose[0]), float(ahead[1] - nose[1])
    if way[0] > -1e-9:  # straight up or down: the axis itself says it
        return []
    return dimension.slope((float(nose[0]), float(nose[1])), way, radius, text, drawn=False)


def _freeboard(floating: FloatingView, look: Look, scale: float) -> list[Mark]:
    """From the water up to the highest point of the body, right of the side view."""
    at = floating.attitude
    if at.water_height is None or at.freeboard_mm is None:
        return []
    outline = next(trace.points for trace in look.traces if trace.part == "body")
    seen = (outline - (0.0, at.water_height)) * (scale, -scale)
    highest = seen[int(np.argmin(seen[:, 1]))]
    text = length_text(at.freeboard_mm, floating.recipe.units)
    half = text_width(text, dimension.FIGURE) / 2
    column = float(seen[:, 0].max()) + half + 3.0
    top = float(highest[1])
    *lines, label = dimension.upright((float(highest[0]), top), (column - 2.0, 0.0), column, text, "freeboard")
    if isinstance(label, Label):  # lettering above the arrows, clear of the water
        label = replace(label, at=(column, min(top, bounds(lines)[1]) - 1.6), anchor="centre", upright=False)
    return [*lines, label]


def _surface(floating: FloatingView, x0: float, x1: float) -> list[Mark]:
    """The water level through both views with its sign; nothing where no surface is in reach."""
    if floating.attitude.water_height is None:
        return []
    marks: list[Mark] = [stroke([(x0, 0.0), (x1, 0.0)], "visible", part="water level")]
    x = x1 - 2.6
    marks.append(stroke([(x, -0.2), (x - 1.5, -2.8), (x + 1.5, -2.8)], "thin", closed=True, part="water sign"))
    marks += [
        stroke([(x - 1.6 + k * 0.5, 0.9 + 0.7 * k), (x + 1.6 - k * 0.5, 0.9 + 0.7 * k)], "hair") for k in range(3)
    ]
    return marks


def _above_view(floating: FloatingView, look: Look, scale: float) -> list[Mark]:
    """From above: the silhouette, and the line in which the water meets the skin."""
    marks = _outlines(look, np.zeros(2), scale)
    x0, _, x1, y1 = bounds(marks)
    surface = floating.attitude.water_height is not None
    name = f"from above{'; long dashes: where the water meets the skin' if surface else ''}"
    middle = max((x0 + x1) / 2, x0 + text_width(name, 2.5) / 2)
    return [*marks, Label(name, (middle, y1 + 4.5), 2.5, "centre")]


def _figures(floating: FloatingView) -> list[Mark]:
    """What the picture says in figures, one row each, from (0, 0) down."""
    at, units = floating.attitude, floating.recipe.units
    mass = np.asarray(floating.centre_of_mass)
    apart = float(np.dot(at.up, mass - np.array(at.centre_of_buoyancy)))
    rows = [("nose", _angle(at.pitch_deg, "up", "down"))]
    if at.roll_deg is not None:
        rows.append(("rolled", _angle(at.roll_deg, "right side up", "left side up")))
    if at.freeboard_mm is not None:
        rows.append(("above the water", _length(at.freeboard_mm, units)))
    under = f"{at.submerged_cm3:.2f} of {floating.flotation.displaced_cm3:.2f} cm3"
    rows += [
        ("under water", under),
        ("G and B", f"G {_length(abs(apart), units)} {'above' if apart > 0 else 'below'} B"),
    ]
    if at.water_height is not None:
        rows += [("water plane", f"{at.waterplane_cm2:.2f} cm2"), ("GM across", _length(at.gm_mm, units))]
        rows.append(("GM along", _length(at.gml_mm, units)))
    others = len(floating.flotation.others)
    if others:
        rows.append(("lies also", f"in {others} other way{'s' if others > 1 else ''}"))
    plumb = at.water_height is None
    rows.append(("", "G mass, B buoyancy, dashes: plumb" if plumb else "G mass, B buoyancy, M metacentre"))
    return [
        Label(text, (x, ROW * i), SIZE, bold=x > 0 and bool(key))
        for i, (key, value) in enumerate(rows)
        for x, text in ((0.0, key), (KEY_WIDTH if key else 0.0, value))
        if text
    ]


def _length(millimetres: float, units: Units) -> str:
    return length_text(millimetres, units)


def _angle(angle_deg: float, positive: str, negative: str) -> str:
    if abs(angle_deg) < FROM_LEVEL_DEG:
        return "level"
    return f"{abs(angle_deg):.1f}° {positive if angle_deg > 0 else negative}"
