"""Drawings of a lip: one to look at, one to cut, one with many on a sheet.

Knows layers and where lettering goes. Knows no file format (export/) and works no shape out (plate.py, plane/).
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import count
from math import degrees, pi

from bodygen.plane.kerf import compensated
from bodygen.plane.layers import cut_layer, engraved
from bodygen.plane.nest import Nest, nested
from bodygen.plane.offcut import nested_in_offcut
from bodygen.plane.polygon import polygon, rectangle
from bodygen.plane.shapes import Circle, Drawing, Item, Layer, Line, Loop, Placement, Point, Text, corners, placed
from bodygen.recipe.model import Lip
from bodygen.shop.lip.angles import angle_sketches, has_block, saw_leans
from bodygen.shop.lip.marks import bend_mark, tab_marks
from bodygen.shop.lip.plate import LipPlate
from bodygen.tables import load
from bodygen.units import angle_text

_NOTE = 2.5  # mm: lettering of dimensions
_AWAY = 4.0  # mm: first dimension line from the plate
_ROW = 7.0  # mm: from one dimension line to the next
_BORDER = 0.5  # mm: bare plate round its lettering
_SAG = 0.01  # mm: of chords where lettering is fitted in


def nominal_drawing(
    plate: LipPlate, lip: Lip, name: str, length_text: Callable[[float], str], about: str = "", *, brief: bool = False
) -> Drawing:
    """Draw the plate at its true size with dimensions, mouth line and mark: to check, or to saw along.

    ``length_text`` words a length [mm] in the recipe's units; ``about`` says what the drawing was made from; ``brief``:
    the angles are sketched, and not told in sentences besides.
    """
    dimensions = (*_dimensions(plate, length_text), *_notes(plate, lip, name, length_text, brief=brief))
    layers = (
        cut_layer((plate.outline,), plate.holes),
        engraved(engraving(plate, lip, name)),
        *_marks(plate, lip),
        Layer("MARK_MOUTH", "mark", (_mouth_line(plate),), "green"),
        Layer("MARK_DIMENSIONS", "mark", dimensions, "black"),
    )
    return Drawing(f"{name} lip", layers, about)


def cutting_drawing(plate: LipPlate, lip: Lip, name: str, about: str = "") -> Drawing:
    """Draw the path of the cut's middle for one plate: moved by half of ``lip.cutting.kerf``, once.

    Raises
    ------
    DesignError
        If the cut does not fit the plate.
    """
    outline, holes = _paths(plate, lip)
    layers = (cut_layer((outline,), holes), engraved(engraving(plate, lip, name)), *_marks(plate, lip))
    return Drawing(f"{name} lip, {_kerf_text(lip)}", layers, about)


def sheet_drawings(plate: LipPlate, lip: Lip, name: str, about: str = "") -> tuple[tuple[Drawing, ...], Nest]:
    """``lip.cutting.quantity`` plates on as few sheets as they need, or as many as the offcut holds, and how they lie.

    The gap is kept between the cuts: a wide cutter needs its own width besides.
    """
    outline, holes = _paths(plate, lip)
    cutting, marks, laid = lip.cutting, engraving(plate, lip, name), lip_layout(plate, lip)
    drawings = []
    for number, sheet in zip(count(1), laid.sheets, strict=False):
        places = sheet.placements
        layers = (
            cut_layer(
                tuple(placed(outline, p) for p in places),
                tuple(placed(hole, p) for p in places for hole in holes),
            ),
            engraved(tuple(placed(mark, p) for p in places for mark in marks)),
            *(replace(m, items=tuple(placed(i, p) for p in places for i in m.items)) for m in _marks(plate, lip)),
            Layer(
                "MARK_SHEET",
                "mark",
                (polygon(cutting.offcut) if cutting.offcut else rectangle(*cutting.sheet_size),),
                "black",
            ),
        )
        title = f"{name} lips, sheet {number} of {len(laid.sheets)}, {_kerf_text(lip)}"
        drawings.append(Drawing(title, tuple(layer for layer in layers if layer.items), about))
    return tuple(drawings), laid


@dataclass(frozen=True, slots=True)
class _Asked:
    """A layout that is equal to another when plate and lip are, whoever is told how far it is."""

    plate: LipPlate
    lip: Lip
    say: Callable[[str], None] = field(compare=False)


def lip_layout(plate: LipPlate, lip: Lip, say: Callable[[str], None] = lambda _: None) -> Nest:
    """How ``lip.cutting.quantity`` plates lie on their sheets: the one layout of drawings and programs.

    ``say`` is told how far it is while many are laid.
    """
    return _laid(_Asked(plate, lip, say))


@lru_cache(maxsize=4)
def _laid(asked: _Asked) -> Nest:
    plate, lip = asked.plate, asked.lip
    cutting, (outline, _) = lip.cutting, _paths(plate, lip)
    if cutting.offcut:
        return nested_in_offcut(outline, cutting.quantity, cutting.offcut, cutting.gap, plate.area)
    return nested(outline, cutting.quantity, cutting.sheet_size, cutting.gap, plate.area, asked.say)


def engraving(plate: LipPlate, lip: Lip, name: str) -> tuple[Text, ...]:
    """Letter the plate with name, angle and thickness: on the tongue, where the wood hides it, or else on the plate.

    As large as fits up to ``lips.toml``'s greatest height; the name is left out, and in the end all of it, where it
    would be too small to read.
    """
    from shapely import MultiPoint, Polygon

    limits, bend = load("lips")["engraving"], bend_mark(plate.outline, lip)
    least, steps = limits["least_height_mm"], 8
    heights = [least + (limits["greatest_height_mm"] - least) * i / steps for i in range(steps, -1, -1)]
    whole = Polygon(plate.outline.points(_SAG), [hole.points(_SAG) for hole in plate.holes]).buffer(-_BORDER)
    exposed = Polygon(plate.exposed.points(_SAG), [hole.points(_SAG) for hole in plate.holes]).buffer(-_BORDER)
    mark = f"{round(degrees(lip.angle), 1):g}° {round(plate.thickness, 2):g} mm"
    behind = max((hole.centre[0] + hole.radius for hole in plate.holes), default=0.0)
    places = [(whole.difference(exposed.buffer(2 * _BORDER)), -plate.tongue_length / 2)]
    if bend:
        exposed = exposed.difference(MultiPoint([p for item in bend for p in corners(item)]).envelope.buffer(_BORDER))
    places += [(exposed, x) for x in (plate.exposed_centroid[0], (behind + plate.exposed_length) / 2)]
    for free, x in places:
        for lines in ((name, mark), (mark,)):
            for height in heights:
                for angle in (0.0, pi / 2):
                    texts = _stacked(lines, x, height, angle)
                    if all(free.contains(Polygon([c[k] for k in (0, 1, 3, 2)])) for c in map(corners, texts)):
                        return texts
    return ()


def _stacked(lines: tuple[str, ...], x: float, height: float, angle: float) -> tuple[Text, ...]:
    """Lines of lettering under each other about a place on the middle of the plate."""
    down = Placement((x, 0.0), angle)
    first = (len(lines) - 1) / 2 * 1.6 * height
    return tuple(
        Text(line, down.of((0.0, first - i * 1.6 * height)), height, "middle", angle) for i, line in enumerate(lines)
    )


def _paths(plate: LipPlate, lip: Lip) -> tuple[Loop, tuple[Circle, ...]]:
    kerf = lip.cutting.kerf if lip.cutting.process != "hand" else 0.0
    outline = compensated(plate.outline, kerf, "outside")
    return outline, tuple(compensated(hole, kerf, "inside") for hole in plate.holes if hole not in _drilled(plate, lip))


def _drilled(plate: LipPlate, lip: Lip) -> tuple[Circle, ...]:
    """Holes that the cut is too wide for: they are marked, to be drilled."""
    kerf = lip.cutting.kerf if lip.cutting.process != "hand" else 0.0
    return tuple(hole for hole in plate.holes if kerf and hole.radius <= kerf / 2)


def _kerf_text(lip: Lip) -> str:
    if lip.cutting.process == "hand" or lip.cutting.kerf == 0:
        return "no allowance for the cut"
    return f"moved {lip.cutting.kerf / 2:.3f} mm for a cut {lip.cutting.kerf:g} mm wide"


def _marks(plate: LipPlate, lip: Lip) -> tuple[Layer, ...]:
    """Where tabs may stay, what to drill and where to bend; no layer for what was not asked for."""
    ticks = tuple(tick for pair in tab_marks(plate.outline, lip.cutting) for tick in pair)
    tabs = (Layer("MARK_TABS", "mark", ticks, "green"),) if ticks else ()
    crosses = tuple(line for hole in _drilled(plate, lip) for line in _cross(hole))
    drilled = (Layer("MARK_DRILL", "mark", crosses, "green"),) if crosses else ()
    bend = bend_mark(plate.outline, lip)
    return (*tabs, *drilled, *((Layer("MARK_BEND", "mark", bend, "blue"),) if bend else ()))


def _cross(hole: Circle) -> tuple[Line, Line]:
    (x, y), r = hole.centre, hole.radius
    return Line((x - r, y), (x + r, y)), Line((x, y - r), (x, y + r))


def _mouth_line(plate: LipPlate) -> Line:
    half = plate.exposed.box[3] + 2
    return Line((0.0, -half), (0.0, half))


def _dimensions(plate: LipPlate, length_text: Callable[[float], str]) -> tuple[Item, ...]:
    """Lengths along the plate below it, a row each, widths on either side, the hole's place above."""
    x0, y0, x1, y1 = plate.outline.box
    below, half = y0 - _AWAY, plate.tongue_width / 2
    items = [
        *_dimension((0.0, below), (x1, below), length_text(plate.exposed_length)),
        *_dimension((x0, below - _ROW), (0.0, below - _ROW), length_text(plate.tongue_length)),
        *_dimension((x1 + _AWAY, -plate.width / 2), (x1 + _AWAY, plate.width / 2), length_text(plate.width)),
        *_dimension((x0 - _AWAY, -half), (x0 - _AWAY, half), length_text(plate.tongue_width)),
    ]
    for hole in plate.holes:
        items += _dimension((0.0, y1 + _AWAY), (hole.centre[0], y1 + _AWAY), length_text(hole.centre[0]))
    return tuple(items)


def _dimension(start: Point, end: Point, label: str) -> list[Item]:
    """Line with ticks and its label beside it on the side away from the plate, level to read."""
    (ax, ay), (bx, by) = start, end
    level = ay == by
    tick = (0.0, 1.0) if level else (1.0, 0.0)
    lines = [Line(start, end)]
    lines += [Line((x - tick[0], y - tick[1]), (x + tick[0], y + tick[1])) for x, y in (start, end)]
    outward = -1 if (ay if level else ax) < 0 else 1
    if level:
        base = ay + 1.6 if outward > 0 else ay - 1.6 - _NOTE
        return [*lines, Text(label, ((ax + bx) / 2, base), _NOTE, "centre")]
    at = (ax + outward * 2, (ay + by) / 2 - _NOTE / 2)
    return [*lines, Text(label, at, _NOTE, "left" if outward > 0 else "right")]


def _notes(
    plate: LipPlate, lip: Lip, name: str, length_text: Callable[[float], str], *, brief: bool
) -> tuple[Item, ...]:
    """Word what the bench needs beside the drawing; the angles are sketched below, each by itself."""
    slot = length_text(plate.slot_thickness)
    lines = [
        f"{name}: lip, {lip.sheet.replace('_', ' ')} {length_text(plate.thickness)} (measured)",
        f"slot {slot} thick, {length_text(lip.slot_depth)} deep along the plate",
        *(() if brief else angle_lines(lip)),
        *(f"tie hole {length_text(2 * hole.radius)}" for hole in plate.holes),
        "outline at its true size: no allowance for the cut",
    ]
    x0, y0, _, _ = plate.outline.box
    top = y0 - _AWAY - 2 * _ROW - _NOTE
    texts = (Text(line, (x0, top - i * 1.7 * _NOTE), _NOTE) for i, line in enumerate(lines))
    return (*texts, *angle_sketches(lip, (x0, top - (len(lines) + 0.5) * 1.7 * _NOTE)))


def angle_lines(lip: Lip) -> tuple[str, ...]:
    """The three angles that a bench needs of one lip [deg], each by what it is measured from, so that none is mixed up.

    Elementary: a saw that stands square to the face which the slot enters has to lean by what is left to the lip's
    angle; the printed block has the lip's own angle in the corner between its bottom and its slanted edge.

    Examples
    --------
    >>> lip = Lip("polycarbonate", 1.5, 40 * pi / 180, 6.0, 16.0, 16.0, x=9.0)
    >>> for line in angle_lines(lip):
    ...     print(line)
    plate to the body's axis: 40.0 deg down from straight ahead
    saw: leant 50.0 deg from square to the blank's belly face, so that the cut runs aft
    printed angle block: its corner of 40.0 deg, bottom edge along the axis
    """
    over = saw_leans(lip)
    face = "the blank's belly face" if lip.entry == "belly" else "the blank's nose end"
    goes = ("aft" if over > 0 else "ahead") if lip.entry == "belly" else "up"
    block = f"its corner of {angle_text(lip.angle)}, bottom edge along the axis"
    return (
        f"plate to the body's axis: {angle_text(lip.angle)} down from straight ahead",
        f"saw: leant {angle_text(abs(over))} from square to {face}, so that the cut runs {goes}",
        f"printed angle block: {block if has_block(lip) else 'none, it would be a needle'}",
    )
