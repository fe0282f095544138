"""The paper that a wire is bent on: each form true to size, below it the straight wire with the marks of its bends.

Knows forms and how they spring. Knows no paper (``plane/tiles.py``) and no printer.
"""

from collections.abc import Iterator, Sequence
from math import degrees
from textwrap import wrap

from bodygen.form.cuts.wired import BentWire
from bodygen.form.wire.bends import Twist
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import Arc, Box, Circle, Drawing, Item, Layer, Line, Piece, Placement, Text, box_of, placed
from bodygen.shop.wire.spring import bending_of
from bodygen.tables import load
from bodygen.units import length_text

GAP_MM = 9.0
LABEL_MM = 2.2
LINE_MM = 4.2
LETTERS = 118


def wire_template(name: str, units: str, wires: Sequence[BentWire], about: str = "", letters: int = LETTERS) -> Drawing:
    """Every bent wire 1:1, one below the other: middle line and edges, the straight wire with its marks, what to do.

    Parameters
    ----------
    name : str
        The bait's.
    units : str
        The ruler of what is written, "mm" or "in".
    wires : sequence of BentWire
        At least one.
    about : str
        What it was made from.
    letters : int
        In a line of what to do, at most.
    """
    middles, edges, marks, words = list[Item](), list[Item](), list[Item](), list[Item]()
    top = 0.0
    for wire in wires:
        path, outline = wire.form.path, [e for piece in wire.form.path for e in edges_of(piece, wire.form.wire)]
        x0, _, _, y1 = _box(outline)
        move = Placement((-x0, top - 2 * LINE_MM - y1))
        words.append(Text(_title(wire, units), (0.0, top - LINE_MM), LABEL_MM + 0.3))
        middles += [placed(piece, move) for piece in path]
        edges += [placed(edge, move) for edge in outline]
        x, y = placed(Circle(path[0].start, 0.1), move).centre
        words.append(Text("begin", (x - wire.form.wire, y - 1.8 * LABEL_MM), LABEL_MM, "right"))
        _, low, _, _ = _box(outline)
        top = _straight(wire, units, top - 2 * LINE_MM - (y1 - low) - GAP_MM, (marks, words), letters) - GAP_MM
    layers = (
        Layer("MARK_EDGES", "mark", tuple(edges), "blue", 0.13),
        Layer("MARK_MIDDLE", "mark", tuple(middles), "black", 0.25),
        Layer("MARK_STRAIGHT", "mark", tuple(marks), "black", 0.18),
        Layer("MARK_WORDS", "mark", tuple(words), "black"),
    )
    return Drawing(f"{name} wire", layers, about)


def edges_of(piece: Piece, wire: float) -> tuple[Piece, ...]:
    """Both edges of the wire beside a piece of its middle line; none inside a bend as tight as the wire is thick."""
    half = wire / 2
    if isinstance(piece, Line):
        ux, uy = piece.direction(at_end=False)
        moves = [Placement((-side * half * uy, side * half * ux)) for side in (1.0, -1.0)]
        return tuple(placed(piece, move) for move in moves)
    out = []
    for radius in (piece.radius - half, piece.radius + half):
        if radius > 1e-6:
            share, (cx, cy) = radius / piece.radius, piece.centre
            ends = [(cx + share * (x - cx), cy + share * (y - cy)) for x, y in (piece.start, piece.end)]
            out.append(Arc(ends[0], ends[1], piece.centre, piece.ccw))
    return tuple(out)


def _box(pieces: Sequence[Piece]) -> Box:
    return box_of([point for piece in pieces for point in piece.extremes()])


def _title(wire: BentWire, units: str) -> str:
    form = wire.form
    kind, cut = form.kind.replace("_", " "), length_text(form.cut_length, units)
    return f"{wire.name}: {kind} of {wire.size} wire, cut {cut}"


def _straight(wire: BentWire, units: str, top: float, onto: tuple[list[Item], list[Item]], letters: int) -> float:
    """The straight wire with a mark where each bend begins and ends, its list below; returns where that ends.

    ``onto``: marks and words, which this adds to.
    """
    form, (marks, words) = wire.form, onto
    low = top - form.wire
    marks.append(rectangle(form.cut_length, form.wire, (0.0, low)))
    last = -10.0
    for number, mark in enumerate(form.marks, 1):
        marks += [Line((x, low - 2.0), (x, top + 2.0)) for x in dict.fromkeys((mark.start, mark.end))]
        middle = (mark.start + mark.end) / 2
        if middle - last > 1.2 * LABEL_MM:
            words.append(Text(str(number), (middle, top + 2.6), LABEL_MM, "centre"))
            last = middle
    row = low - 4.0
    for line in _lines(wire, units):
        for part in wrap(line, letters, subsequent_indent="    "):
            row -= LINE_MM * 0.85
            words.append(Text(part, (0.0, row), LABEL_MM))
    return row


def _lines(wire: BentWire, units: str) -> Iterator[str]:
    form, give = wire.form, float(load("wire")["spring_back"]["give_or_take"])
    yield "Straight wire, its begin at the left. Bends: marks from the begin, pin, and how far, as it springs back:"
    for number, (mark, bend) in enumerate(zip(form.marks, form.bends, strict=True), 1):
        made = bending_of(bend, form.wire, wire.trial)
        way, opens = "left" if bend.angle > 0 else "right", degrees(made.opens)
        sure = "as your trial bend did" if wire.trial is not None else f"give or take {give * opens:.1f}"
        yield (
            f"{number}: {length_text(mark.start, units)} to {length_text(mark.end, units)}, "
            f"{degrees(abs(bend.angle)):.1f} deg to the {way}, pin {made.pin:g} mm, bend to "
            f"{degrees(made.angle):.1f} deg "
            f"(springs back {opens:.1f}, {sure})"
        )
    twist = next((segment for segment in form.segments if isinstance(segment, Twist)), None)
    if twist is not None:
        over = length_text(twist.axial, units)
        yield f"Then twist the legs {twist.turns:g} turns over {over}, pulled taut, and cut them even."
    yield "Bend one, lay it on the drawing, correct the angle. " + load("cautions")["caution"]["wire_ends"]["text"]
