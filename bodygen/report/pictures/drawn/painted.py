"""The bait painted: each layer of ``[[paint]]`` on its region, numbered, with its colour's name; on one A4 page.

Knows regions as shapes of the side view, in which a layer covers what is below. Between two colours lies a line, white
with black in it, so that a grey print tells them apart, too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import manifold3d
import numpy as np

from bodygen.assessment import Assessment
from bodygen.finish.colours import colour_name
from bodygen.form.cuts import Revolved
from bodygen.form.facing import FLANKS, SIDES, Side, side_of
from bodygen.plane.page import Array, Label, Mark, PaperPage, Stroke, bounds, moved, stroke
from bodygen.plane.polygon import ring_area
from bodygen.recipe.model import Mask, Paint
from bodygen.report.pictures import dimension
from bodygen.report.pictures.chart import HEADING, MARGIN, SMALL, box, panel
from bodygen.report.pictures.floating_view import silhouette
from bodygen.shop.masks.regions import SideView, regions, side_view_of

PAGE = (297.0, 210.0)
SCALES = ((4.0, "4:1"), (3.0, "3:1"), (2.0, "2:1"), (1.5, "1.5:1"), (1.0, "1:1"), (0.5, "1:2"))
ROW, SWATCH, GAP = 5.0, 7.0, 8.0
ABOVE = 9.0
"""Between a flank and its numbers [mm]."""
LEAST_MM2 = 0.05
"""Smaller spots of a layer are rounding."""
HALVINGS = 24
ROUGH_MM = 0.05
"""Near enough for where a number's dot stands [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class PaintedLayer:
    """A layer as it is seen on one side: its number, its colour ``#rrggbb``, its shape in side view (x, z) [mm]."""

    number: int
    colour: str
    shape: manifold3d.CrossSection


def painted_sheet(a: Assessment) -> PaperPage:
    """Draw the flanks in their colours at the largest simple scale that fits, with a list of the layers.

    Returns
    -------
    PaperPage
        PAGE mm. A body too long for the page at 1:2 is drawn over its edge: no bait.
    """
    view = side_view_of(a.shaped.caster)
    on = {side: layers_on(a, view, side) for side in SIDES}
    alike = all((one.shape ^ other.shape).area() > one.shape.area() - LEAST_MM2 for one, other in _pairs(on))
    alike = alike and len(on["left"]) == len(on["right"])
    sides: list[Side] = ["left"] if alike else ["left", "right"]
    legend = _legend(a.recipe.paints, PAGE[0] - 2 * MARGIN)
    x0, y0, _, y1 = bounds(legend)
    low = PAGE[1] - MARGIN - 4.0 - (y1 - y0)
    flanks, ratio, tall = _largest(a, view, [(side, on[side]) for side in sides], low - HEADING)
    marks, y = moved(legend, MARGIN - x0, low - y0), HEADING + max((low - HEADING - tall) / 2, 2.0)
    for flank in flanks:
        x0, y0, x1, y1 = bounds(flank)
        marks += moved(flank, (PAGE[0] - x0 - x1) / 2, y - y0)
        y += y1 - y0 + GAP
    says = "the right flank is its mirror image; " if alike else ""
    says += "colours as a screen has them: paint of that name is another matter"
    return panel(*PAGE, a.recipe, f"painted, {ratio}", marks, says)


def _largest(
    a: Assessment, view: SideView, sides: Sequence[tuple[Side, list[PaintedLayer]]], room: float
) -> tuple[list[list[Mark]], str, float]:
    """The flanks at the largest scale that fits into the page's width and this height, and how tall they are [mm]."""
    made: tuple[list[list[Mark]], str, float] = ([], "", 0.0)
    for scale, ratio in SCALES:
        flanks = [_flank(a, view, layers, side, scale) for side, layers in sides]
        boxes = [bounds(marks) for marks in flanks]
        made = flanks, ratio, sum(y1 - y0 + GAP for _, y0, _, y1 in boxes)
        if max(x1 - x0 for x0, _, x1, _ in boxes) <= PAGE[0] - 2 * MARGIN and made[2] <= room:
            break
    return made


def _pairs(on: dict[Side, list[PaintedLayer]]) -> list[tuple[PaintedLayer, PaintedLayer]]:
    return list(zip(on["left"], on["right"], strict=False))


def layers_on(a: Assessment, view: SideView, side: Side) -> list[PaintedLayer]:
    """Each layer that this side has, from the lowest up, as wide as the body's outline [mm]."""
    outline = view.outline()
    made = []
    for number, paint in enumerate(a.recipe.paints, 1):
        shape = _region(a, view, paint, side)
        if shape is not None and (shape ^ outline).area() > LEAST_MM2:
            made.append(PaintedLayer(number, paint.colour, shape ^ outline))
    return made


def _region(a: Assessment, view: SideView, paint: Paint, side: Side) -> manifold3d.CrossSection | None:
    if paint.mask is None and paint.region in {None, "whole"}:
        return view.outline()
    named = [mask for mask in a.recipe.masks if mask.name == paint.mask]
    masks = named or [Mask(paint.region, paint.region)]  # type: ignore[arg-type]  # the three that are kinds, too
    found, _ = regions(masks, view, a.shaped.tools)
    return found[0].on.get(side) if found else None


def _flank(a: Assessment, view: SideView, layers: Sequence[PaintedLayer], side: Side, scale: float) -> list[Mark]:
    """One flank as it is seen from outside: fills, seams, outline, lip, eyes, and the numbers of the layers."""
    way = np.array([1.0 if FLANKS[side].nose == "left" else -1.0, -1.0]) * scale
    marks: list[Mark] = []
    if a.shaped.set_plate is not None:
        lip = silhouette(a.shaped.set_plate.exposed, FLANKS[side]) - _seen(view.outline(), side)
        marks += [_filled(points * (scale, -scale), "white", "lip") for points in whole(lip)]
    for layer in layers:
        for points in whole(layer.shape):
            marks.append(replace(_filled(points * way, layer.colour, "paint"), colour=layer.colour))
        for points in layer.shape.to_polygons():
            seam = stroke(np.asarray(points) * way, "visible", closed=True, part="seam")
            marks += [replace(seam, colour="white"), replace(seam, pen="hair")]
    marks += [stroke(np.asarray(p) * way, "outline", closed=True, part="body") for p in view.outline().to_polygons()]
    eyes = [t for t in a.shaped.tools if isinstance(t, Revolved) and t.kind == "eye" and side_of(-t.axis[1]) == side]
    for eye in eyes:
        marks += _eye((eye.origin[0], eye.origin[2]), eye.diameter, way)
    top = bounds(marks)[1] - ABOVE
    numbers = [(str(layer.number), (_point(*place, way),)) for layer, place in _places(layers, eyes)]
    for mark in dimension.balloons(top, numbers, []):
        if isinstance(mark, Stroke) and mark.part == "leader":
            marks.append(replace(mark, pen="outline", colour="white"))
        marks.append(mark)
    x0, _, x1, y1 = bounds(marks)
    return [*marks, Label(f"{side} flank", ((x0 + x1) / 2, y1 + 4.5), SMALL, "centre")]


def _seen(shape: manifold3d.CrossSection, side: Side) -> manifold3d.CrossSection:
    """A shape of the side view as this flank shows it from outside."""
    return shape if FLANKS[side].nose == "left" else shape.mirror((1.0, 0.0))


def _point(x: float, z: float, way: Array) -> tuple[float, float]:
    return float(x * way[0]), float(z * way[1])


def _eye(at: tuple[float, float], diameter: float, way: Array) -> list[Mark]:
    """An eye in its bore: white with a black pupil, whatever is bought."""
    turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * diameter / 2
    return [
        _filled((np.array(at) + share * ring) * way, fill, "eye") for share, fill in ((1.0, "white"), (0.5, "black"))
    ]


def _filled(points: Array, fill: str, part: str) -> Stroke:
    return replace(stroke(points, "thin", closed=True, part=part), fill=fill)


def whole(shape: manifold3d.CrossSection) -> list[Array]:
    """Outlines that fill a shape without holes: one with a hole is parted through its middle.

    Derived here: the halves on either side of a line through a hole have it no longer.
    """
    polygons = [np.asarray(points) for points in shape.to_polygons()]
    holes = [points for points in polygons if ring_area(points) < 0]
    if not holes:
        return polygons
    x0, z0, x1, z1 = shape.bounds()
    middle = float(holes[0][:, 0].mean())
    halves = [((x0 - 1, middle), (z0 - 1, z1 + 1)), ((middle, x1 + 1), (z0 - 1, z1 + 1))]
    return [
        points
        for (left, right), (low, high) in halves
        for points in whole(shape ^ manifold3d.CrossSection.square((right - left, high - low)).translate((left, low)))
    ]


def _places(layers: Sequence[PaintedLayer], eyes: Sequence[Revolved]) -> list[tuple[PaintedLayer, tuple[float, float]]]:
    """Where each layer is seen best: inside the widest place that no later one covers; none where all is covered."""
    found = []
    for k, layer in enumerate(layers):
        seen = layer.shape
        for later in layers[k + 1 :]:
            seen -= later.shape
        for eye in eyes:
            seen -= manifold3d.CrossSection.circle(eye.diameter / 2).translate((eye.origin[0], eye.origin[2]))
        if seen.area() > LEAST_MM2:
            found.append((layer, _inmost(seen)))
    return found


def _inmost(shape: manifold3d.CrossSection) -> tuple[float, float]:
    """A point of a shape that is as far from its edge as any, to a thousandth of its size [mm]."""
    shape = shape.simplify(ROUGH_MM)
    x0, z0, x1, z1 = shape.bounds()
    low, high, best = 0.0, max(x1 - x0, z1 - z0), shape
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        inner = shape.offset(-middle, manifold3d.JoinType.Miter)
        if inner.is_empty():
            high = middle
        else:
            low, best = middle, inner
        if high - low < 1e-3 * (x1 - x0):
            break
    points = np.asarray(max(best.to_polygons(), key=lambda p: (abs(ring_area(np.asarray(p))), p.tolist())))
    middle = points.mean(axis=0)
    spot = manifold3d.CrossSection.circle(1e-3).translate((float(middle[0]), float(middle[1])))
    place = points[0] if (spot ^ shape).is_empty() else middle  # a ring has its middle outside
    return float(place[0]), float(place[1])


def _legend(paints: Sequence[Paint], width: float) -> list[Mark]:
    """A row for each layer: number, colour, name, and where it goes; two columns where they are many."""
    columns = 2 if len(paints) > 3 else 1
    rows = -(-len(paints) // columns)
    marks: list[Mark] = []
    for k, paint in enumerate(paints):
        x, y = k // rows * width / columns, k % rows * ROW
        name = colour_name(paint.colour)
        said = paint.colour if name == paint.colour else f"{name} {paint.colour}"
        where = f"through the mask {paint.mask}" if paint.mask else _where(paint)
        own = "" if paint.name in {name, paint.colour} else f"{paint.name}: "
        marks.append(Label(f"{k + 1}", (x + 3.0, y), SMALL + 0.3, "right", bold=True))
        marks.append(replace(box(x + 5.0, y - 3.0, x + 5.0 + SWATCH, y + 0.6, "swatch"), fill=paint.colour))
        marks.append(Label(f"{own}{said}, {where}", (x + 7.0 + SWATCH, y), SMALL))
    return marks


def _where(paint: Paint) -> str:
    return "all over" if paint.region in {None, "whole"} else f"on the {paint.region}"
