"""Cards: things cut out of one sheet, laser, fret saw or printer: an outline, holes and lettering, true to size.

Knows how cards are laid on sheets, drawn and made into prints. Knows nothing of what they measure (section_gauges.py).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import manifold3d

from bodygen.errors import DesignError
from bodygen.mesh.cut import to_mesh
from bodygen.plane.kerf import compensated
from bodygen.plane.layers import cut_layer, engraved
from bodygen.plane.shapes import (
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Loop,
    Placement,
    Text,
    placed,
)
from bodygen.shop.engrave import words
from bodygen.shop.part import Part

SHEET_MM = (185.0, 235.0)
"""Room for cards that prints on A4 and on Letter, and goes into any laser."""
GAP_MM = 4.0
SAG_MM = 0.005
ENGRAVED_SHARE = 0.3
"""How deep a print's lettering is, as a share of its thickness."""
LEAST_LETTER_MM = 2.2
"""Smaller lettering is left off a print."""


@dataclass(frozen=True, slots=True)
class Card:
    """One thing to cut: ``holes`` lie inside the counter-clockwise ``outline``; ``marks`` are engraved or drawn."""

    name: str
    outline: Loop
    holes: tuple[Loop | Circle, ...]
    marks: tuple[Item, ...]
    purpose: str
    use: str


def moved(card: Card, placement: Placement) -> Card:
    """Return the card elsewhere."""
    return replace(
        card,
        outline=placed(card.outline, placement),
        holes=tuple(placed(hole, placement) for hole in card.holes),
        marks=tuple(placed(mark, placement) for mark in card.marks),
    )


def sheets(
    cards: Sequence[Card], name: str, about: str = "", sheet: tuple[float, float] = SHEET_MM, kerf: float = 0.0
) -> tuple[Drawing, ...]:
    """Lay cards in rows, in their order, on as few sheets as that needs.

    Parameters
    ----------
    cards : sequence of Card
        Any sizes; one longer than that has a sheet of its own.
    name, about : str
        What the drawings are called, and what they were made from.
    sheet : (width, height)
        Of one sheet [mm].
    kerf : float
        Full width of the cut [mm]; its middle runs half of that outside the outline and inside the holes. 0: lines are
        the true size, and the machine is told its kerf.
    """
    pages: list[list[Card]] = [[]]
    x = y = tall = 0.0
    for card in cards:
        x0, y0, x1, y1 = card.outline.box
        wide, high = x1 - x0, y1 - y0
        if x and x + wide > sheet[0]:
            x, y, tall = 0.0, y - tall - GAP_MM, 0.0
        if pages[-1] and -y + high > sheet[1]:
            pages.append([])
            x = y = tall = 0.0
        pages[-1].append(moved(card, Placement((x - x0, y - y1))))
        x, tall = x + wide + GAP_MM, max(tall, high)
    many = len(pages) > 1
    size = f", path of the cut for a kerf of {kerf:g} mm" if kerf else ", true size"
    return tuple(
        Drawing(f"{name}{f', sheet {i} of {len(pages)}' if many else ''}{size}", _layers(page, kerf), about)
        for i, page in enumerate(pages, start=1)
    )


def _layers(cards: Sequence[Card], kerf: float) -> tuple[Layer, ...]:
    holes = tuple(compensated(hole, kerf, "inside") for card in cards for hole in card.holes)
    outlines = tuple(compensated(card.outline, kerf, "outside") for card in cards)
    marks = tuple(mark for card in cards for mark in card.marks)
    cut = cut_layer(outlines, holes, 0.25)
    return (cut, engraved(marks)) if marks else (cut,)


def printed(card: Card, thickness: float, cautions: tuple[str, ...] = ()) -> Part:
    """The card as a flat print with its larger lettering sunk into the upper face.

    Parameters
    ----------
    card : Card
        Its marks that are lines are sunk too, 0.5 mm wide.
    thickness : float
        [mm]

    Raises
    ------
    DesignError
        If the outline or a hole is not sound.
    """
    shape = manifold3d.CrossSection([card.outline.points(SAG_MM)], manifold3d.FillRule.Positive)
    for hole in card.holes:
        shape -= manifold3d.CrossSection([hole.points(SAG_MM)], manifold3d.FillRule.NonZero)
    solid = shape.extrude(thickness)
    sunk = _lettering(card, shape)
    if not sunk.is_empty():
        deep = ENGRAVED_SHARE * thickness
        solid -= sunk.extrude(deep + 1.0).translate((0.0, 0.0, thickness - deep))
    if solid.status() != manifold3d.Error.NoError or solid.is_empty():
        msg = f"{card.name} cannot be made into a print ({solid.status().name})"
        raise DesignError(msg)
    x0, y0, _, _ = card.outline.box
    return Part(card.name, to_mesh(solid.translate((-x0, -y0, 0.0))), card.purpose, card.use, cautions)


def _lettering(card: Card, free: manifold3d.CrossSection) -> manifold3d.CrossSection:
    """Letters and lines as a shape, kept 0.4 mm off every edge."""
    shapes = []
    for mark in card.marks:
        if isinstance(mark, Text) and mark.height >= LEAST_LETTER_MM:
            lift = 0.0 if mark.anchor == "middle" else mark.height / 2
            shape = words([mark.label], mark.height).translate((0.0, lift))
            low, _, high, _ = shape.bounds() if not shape.is_empty() else (0.0, 0.0, 0.0, 0.0)
            shift = {"left": -low, "right": -high, "centre": 0.0, "middle": 0.0}[mark.anchor]
            shapes.append(shape.translate((shift, 0.0)).rotate(mark.angle * 180 / pi).translate(mark.at))
        elif isinstance(mark, Line):
            dot = manifold3d.CrossSection.circle(0.25, 12)
            shapes.append(manifold3d.CrossSection.batch_hull([dot.translate(mark.start), dot.translate(mark.end)]))
    if not shapes:
        return manifold3d.CrossSection()
    whole = manifold3d.CrossSection.batch_boolean(shapes, manifold3d.OpType.Add)
    return whole ^ free.offset(-0.4, manifold3d.JoinType.Round)
