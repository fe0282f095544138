"""PDF at 1:1 for a printer at home: drawings on A4 or Letter sheets, each with scale bars, its number and a tile map.

Arcs are true arcs (cubic Béziers, off by less than 0.0003 of the radius), everything is drawn in points without any
scaling matrix, and the file asks for no scaling when it is printed. Nothing in it says when it was written.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, degrees, pi, sin, tan
from pathlib import Path
from typing import TYPE_CHECKING

from bodygen.export.letters import Face, draw_words, printed_width
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Loop, Piece, Point, Text, corners
from bodygen.plane.shapes import box_of as box_around
from bodygen.plane.tiles import Paper, Tile, beside, clipped, tiles_of, within

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.pathobject import PDFPathObject

POINTS = 72 / 25.4
"""Points to the millimetre."""
FACE: Face = "Helvetica"
_CAPITAL = 0.718  # one of the fourteen faces every reader has; height of its capitals
_COLOURS = {
    "red": (0.8, 0, 0),
    "magenta": (0.7, 0, 0.7),
    "blue": (0, 0, 0.75),
    "green": (0, 0.45, 0),
    "black": (0, 0, 0),
}
_BARS = (("50 mm", 50.0), ("2 in", 50.8))
_SMALL = 2.0  # mm: lettering of the footer


def write_pdf(drawings: Sequence[Drawing], path: Path, paper: Paper, title: str, about: str = "") -> int:
    """Write drawings at 1:1, each beginning on a sheet of its own.

    Parameters
    ----------
    drawings : sequence of Drawing
        One at least.
    path : Path
        File to write.
    paper : Paper
        Sheets to print on.
    title, about : str
        What the file is, and what it was made from.

    Returns
    -------
    int
        How many pages it has.
    """
    canvas = canvas_at(path, title, about)
    sheets = sheets_of(drawings, paper)
    for number, sheet in enumerate(sheets, start=1):
        draw_sheet(canvas, sheet, paper, f"page {number} of {len(sheets)}", about)
    canvas.save()
    return len(sheets)


def canvas_at(path: Path, title: str, about: str) -> "Canvas":
    """A file to draw on that asks for no scaling and says nothing of when it was written."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(path), invariant=1, pageCompression=1, initialFontName=FACE)
    canvas.setTitle(title)
    canvas.setSubject(about)
    canvas.setAuthor("bodygen")
    canvas.setCreator("bodygen")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


@dataclass(frozen=True, slots=True)
class PrintSheet:
    """One sheet of a drawing, and all of that drawing's."""

    drawing: Drawing
    tile: Tile
    tiles: tuple[Tile, ...]


def sheets_of(drawings: Sequence[Drawing], paper: Paper) -> list[PrintSheet]:
    """Spread drawings over sheets, each beginning on one of its own."""
    return [
        PrintSheet(drawing, tile, tiles)
        for drawing in drawings
        for tiles in (tiles_of(drawing, paper),)
        for tile in tiles
    ]


def draw_sheet(
    canvas: "Canvas", sheet: PrintSheet, paper: Paper, number: str, about: str, least: float | None = None
) -> None:
    """Draw a sheet at 1:1 as a page of its own.

    ``least``: height of capitals in its footer, whose lines are then broken where they are too long [mm]; None: as
    usual, and such a line is set smaller.
    """
    drawing, tile = sheet.drawing, sheet.tile
    canvas.setPageSize((tile.width * POINTS, tile.height * POINTS))
    canvas.saveState()
    _clip(canvas, tile)
    for layer in drawing.layers:
        _pen(canvas, layer)
        for item in layer.items:
            if not (isinstance(item, Text) and _elsewhere(item, tile, sheet.tiles)):
                _draw(canvas, item, tile)
    _register(canvas, tile)
    canvas.restoreState()
    _footer(canvas, tile, paper, drawing, number, about, least)
    canvas.showPage()


def _elsewhere(text: Text, tile: Tile, tiles: Sequence[Tile]) -> bool:
    """Whether a label is cut off on this sheet and whole on another."""
    box = box_around(corners(text))
    return not within(box, tile.window) and any(within(box, other.window) for other in tiles)


def _clip(canvas: "Canvas", tile: Tile) -> None:
    """Keep lettering that runs on to the next sheet off the margin; lines are cut to the window already."""
    x0, y0, x1, y1 = tile.window
    path = canvas.beginPath()
    path.rect(tile.place[0] * POINTS, tile.place[1] * POINTS, (x1 - x0) * POINTS, (y1 - y0) * POINTS)
    canvas.clipPath(path, stroke=0, fill=0)


def _pen(canvas: "Canvas", layer: Layer) -> None:
    canvas.setStrokeColorRGB(*_COLOURS[layer.colour])
    canvas.setFillColorRGB(*_COLOURS[layer.colour])
    canvas.setLineWidth(layer.width * POINTS)
    canvas.setLineCap(0 if layer.dash else 1)
    canvas.setLineJoin(1)
    canvas.setDash([d * POINTS for d in layer.dash])


def _at(point: Point, tile: Tile) -> Point:
    x, y = point[0] - tile.window[0] + tile.place[0], point[1] - tile.window[1] + tile.place[1]
    return x * POINTS, y * POINTS


def _draw(canvas: "Canvas", item: Piece | Circle | Loop | Text, tile: Tile) -> None:
    box = box_around(corners(item))
    if beside(box, tile.window):
        return
    if isinstance(item, Text):
        _letter(canvas, item, _at(item.at, tile))
        return
    if within(box, tile.window):
        path = canvas.beginPath()
        _whole(path, item, tile)
        canvas.drawPath(path)
        return
    _pieces(canvas, list(clipped(item, tile.window)), tile)


def _whole(path: "PDFPathObject", item: Piece | Circle | Loop, tile: Tile) -> None:
    match item:
        case Circle(centre=(x, y), radius=r):
            _whole(path, Loop((Arc((x - r, y), (x + r, y), (x, y)), Arc((x + r, y), (x - r, y), (x, y)))), tile)
        case Loop(pieces=pieces):
            path.moveTo(*_at(pieces[0].start, tile))
            for piece in pieces:
                _step(path, piece, tile)
            path.close()
        case Line() | Arc():
            path.moveTo(*_at(item.start, tile))
            _step(path, item, tile)


def _pieces(canvas: "Canvas", pieces: list[Piece], tile: Tile) -> None:
    """Draw what is left of an item after clipping, as unbroken a line as it was, so that dashes run on."""
    if not pieces:
        return
    path, here = canvas.beginPath(), None
    for piece in pieces:
        if piece.start != here:
            path.moveTo(*_at(piece.start, tile))
        _step(path, piece, tile)
        here = piece.end
    canvas.drawPath(path)


def _step(path: "PDFPathObject", piece: Piece, tile: Tile) -> None:
    if isinstance(piece, Line):
        path.lineTo(*_at(piece.end, tile))
        return
    count = ceil(abs(piece.sweep) / (pi / 2) - 1e-9)
    turn = piece.sweep / count
    reach = 4 / 3 * tan(turn / 4) * piece.radius
    for i in range(count):
        a, b = piece.start_angle + i * turn, piece.start_angle + (i + 1) * turn
        (px, py), (qx, qy) = piece.at(i / count), piece.end if i == count - 1 else piece.at((i + 1) / count)
        first = (px - reach * sin(a), py + reach * cos(a))
        second = (qx + reach * sin(b), qy - reach * cos(b))
        path.curveTo(*_at(first, tile), *_at(second, tile), *_at((qx, qy), tile))


def _letter(canvas: "Canvas", text: Text, at: Point) -> None:
    size = text.height / _CAPITAL * POINTS
    canvas.saveState()
    canvas.translate(*at)
    canvas.rotate(degrees(text.angle))
    drop = -text.height / 2 * POINTS if text.anchor == "middle" else 0.0
    draw_words(canvas, text.label, FACE, size, text.anchor, drop)
    canvas.restoreState()


def _register(canvas: "Canvas", tile: Tile) -> None:
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.setLineWidth(0.13 * POINTS)
    for mark in tile.marks:
        short = mark.length < 10
        canvas.setDash([] if short else [0.5 * POINTS, 2.5 * POINTS])
        _pieces(canvas, [mark], tile)
    canvas.setDash([])


def _footer(
    canvas: "Canvas", tile: Tile, paper: Paper, drawing: Drawing, number: str, about: str, least: float | None
) -> None:
    """Scale bars at the left, words in the middle, tile map at the right; all of it inside the margins."""
    small = least or _SMALL
    canvas.setStrokeColorRGB(0, 0, 0)
    canvas.setFillColorRGB(0, 0, 0)
    canvas.setDash([])
    canvas.setLineWidth(0.25 * POINTS)
    left, low = paper.margin, paper.margin
    for row, (label, length) in enumerate(_BARS):
        y = low + 9.5 - 6.5 * row
        canvas.line(left * POINTS, y * POINTS, (left + length) * POINTS, y * POINTS)
        for x in (left, left + length):
            canvas.line(x * POINTS, (y - 1) * POINTS, x * POINTS, (y + 1) * POINTS)
        _letter(
            canvas, Text(label, (left + length + 2, y - 1), small), ((left + length + 2) * POINTS, (y - 1) * POINTS)
        )
    cell = min(14 / tile.rows, 24 / tile.columns, 7.0)
    right = tile.width - paper.margin
    if tile.rows * tile.columns > 1:
        for r in range(tile.rows):
            for c in range(tile.columns):
                x, y = right - (tile.columns - c) * cell, low + (tile.rows - 1 - r) * cell
                here = (r, c) == (tile.row, tile.column)
                canvas.setFillGray(0.75 if here else 1.0)
                canvas.rect(x * POINTS, y * POINTS, cell * POINTS, cell * POINTS, stroke=1, fill=1)
        canvas.setFillGray(0.0)
        right -= tile.columns * cell + 3
    lines = [
        f"{drawing.name}: {number}" + (f", sheet {tile.label}" if tile.rows * tile.columns > 1 else ""),
        f"{paper.name}, print at 100 %: both bars must measure true before anything is cut",
        about or drawing.about,
    ]
    if tile.rows * tile.columns > 1:
        lines[1] = f"{paper.name}, print at 100 %, measure the bars; lay the crosses of two sheets on each other"
    start = left + 50.8 + 14
    if least is not None:
        _broken_words(canvas, lines, least, (start, low + 1.0, right))
        return
    for row, line in enumerate(lines):
        size = small
        wide = printed_width(line, FACE, size / _CAPITAL)
        size = min(size, size * (right - start) / wide) if wide else size
        y = low + 10.0 - 4.5 * row
        _letter(canvas, Text(line, (start, y), size), (start * POINTS, y * POINTS))


def _broken_words(canvas: "Canvas", lines: Sequence[str], height: float, room: tuple[float, float, float]) -> None:
    """Lines broken between words where they are longer than the room (left, low, right) [mm], the last at its foot."""
    left, low, right = room
    rows: list[str] = []
    for line in lines:
        for place, word in enumerate(line.split()):
            longer = f"{rows[-1]} {word}" if place else word
            wide = printed_width(longer, FACE, height / _CAPITAL)
            if place and wide <= right - left:
                rows[-1] = longer
            else:
                rows.append(word)
    pitch = 4.5 if len(rows) <= len(lines) else 3.6
    for row, words in enumerate(reversed(rows)):
        y = low + pitch * row
        _letter(canvas, Text(words, (left, y), height), (left * POINTS, y * POINTS))
