"""Several drawings on one sheet of paper, true to size: in rows, each with its name above it, the key of lines on top.

Knows plane shapes and paper. Knows nothing of what is drawn.
"""

from collections.abc import Sequence
from dataclasses import replace

from bodygen.plane.shapes import Drawing, Layer, Placement, Text, placed
from bodygen.plane.tiles import Paper
from bodygen.report.card.inked import LETTER, ROW, key_of

GAP = 6.0
LINE = 5.0
"""Room for a caption [mm]."""
KEY = 2 * ROW + 2.0
"""Room for the key above the drawings of a sheet [mm]."""
Named = tuple[str, Drawing]


def packed(drawings: Sequence[Named], paper: Paper, name: str, about: str = "") -> list[Drawing]:
    """Put named drawings on as few sheets as rows of them need; upright ones first, then those that need it lying.

    Parameters
    ----------
    drawings : sequence of (str, Drawing)
        What each is, in a few words, and the drawing [mm].
    paper : Paper
        What is printed on.
    name, about : str
        What the sheets are called, and what they were made from.
    """
    usable = paper.width - 2 * paper.margin, paper.height - 2 * paper.margin - paper.footer - KEY
    lying = paper.height - 2 * paper.margin, paper.width - 2 * paper.margin - paper.footer - KEY
    rest = [(*_size(drawing, caption), caption, drawing) for caption, drawing in drawings]
    sheets: list[list[Layer]] = []
    for wide, tall in (usable, lying):
        fits = [one for one in rest if one[0] <= wide and one[1] <= tall]
        rest = [one for one in rest if one not in fits]
        sheets += _shelved(sorted(fits, key=lambda one: -one[1]), wide, tall)
    sheets += [_at(drawing, caption, 0.0, 0.0) for _, _, caption, drawing in rest]
    return [Drawing(name, (*layers, *_key(layers, usable[0])), about) for layers in sheets]


def _key(layers: Sequence[Layer], width: float) -> list[Layer]:
    """Which line means what, above all that is drawn."""
    box = Drawing("", tuple(layers)).box
    move = Placement((box[0], box[3] + 2.0))
    return [replace(layer, items=tuple(placed(item, move) for item in layer.items)) for layer in key_of(layers, width)]


def _shelved(sized: Sequence[tuple[float, float, str, Drawing]], wide: float, tall: float) -> list[list[Layer]]:
    """Rows of drawings, each with its width and height, on sheets of a size [mm]; each sheet's layers."""
    sheets: list[list[Layer]] = []
    x = y = row = 0.0
    for w, h, caption, drawing in sized:
        if x and x + w > wide:
            x, y, row = 0.0, y + row + GAP, 0.0
        if not sheets or y + h > tall:
            sheets.append([])
            x = y = row = 0.0
        sheets[-1] += _at(drawing, caption, x, -y)
        x, row = x + w + GAP, max(row, h)
    return sheets


def _size(drawing: Drawing, caption: str) -> tuple[float, float]:
    x0, y0, x1, y1 = drawing.box
    label = Drawing("", (Layer("", "mark", (Text(caption, (0.0, 0.0), LETTER),), "black"),)).box
    return max(x1 - x0, label[2] - label[0]), y1 - y0 + LINE


def _at(drawing: Drawing, caption: str, x: float, y: float) -> list[Layer]:
    """A drawing's layers with its upper left corner, the caption's, at a point [mm]."""
    x0, _, _, y1 = drawing.box
    move = Placement((x - x0, y - LINE - y1))
    layers = [replace(layer, items=tuple(placed(item, move) for item in layer.items)) for layer in drawing.layers]
    return [*layers, Layer("MARK_CAPTION", "mark", (Text(caption, (x, y - LINE + 1.8), LETTER),), "black")]
