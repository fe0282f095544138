"""A printed set as one PDF: pages to read, as they are laid out in mm, then drawings at 1:1 with their scale bars.

Lettering of the pages is in the face that every reader has, so that its width is known before it is printed.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bodygen.export.letters import Face, draw_words, printed_width
from bodygen.export.pdf import POINTS, canvas_at, draw_sheet, sheets_of
from bodygen.plane.page import PENS, Label, PaperPage, Stroke
from bodygen.plane.shapes import Drawing
from bodygen.plane.tiles import Paper

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

FACES: dict[bool, Face] = {False: "Helvetica", True: "Helvetica-Bold"}
FOOTER = 2.3
"""Height of capitals below a drawing [mm]: 9 pt."""


def write_pages(
    pages: Sequence[PaperPage], drawings: Sequence[Drawing], path: Path, paper: Paper, title: str, about: str = ""
) -> int:
    """Write pages as they are, then drawings at 1:1, each on a sheet of its own; return how many pages that is."""
    canvas = canvas_at(path, title, about)
    sheets = sheets_of(drawings, paper)
    for page in pages:
        canvas.setPageSize((page.width * POINTS, page.height * POINTS))
        for mark in page.marks:
            if isinstance(mark, Stroke):
                _stroke(canvas, mark, page.height)
            else:
                _letter(canvas, mark, page.height)
        canvas.showPage()
    count = len(pages) + len(sheets)
    for number, sheet in enumerate(sheets, start=len(pages) + 1):
        draw_sheet(canvas, sheet, paper, f"page {number} of {count}", about, FOOTER)
    canvas.save()
    return count


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Width of one line of lettering as it is printed [mm].

    Examples
    --------
    >>> width_of("00", 10.0)   # a figure is 0.556 of the size wide in Adobe's metrics of the face
    11.12
    """
    return printed_width(text, FACES[bold], size)


def _stroke(canvas: "Canvas", mark: Stroke, height: float) -> None:
    from reportlab.lib.colors import toColor

    width, dashes = PENS[mark.pen]
    canvas.setLineWidth(width * POINTS)
    canvas.setDash([dash * POINTS for dash in dashes])
    canvas.setLineCap(0 if dashes else 1)
    canvas.setLineJoin(1)
    canvas.setStrokeColor(toColor(mark.colour))
    if mark.fill != "none":
        canvas.setFillColor(toColor(mark.fill))
    path = canvas.beginPath()
    for number, (x, y) in enumerate(mark.points):
        (path.lineTo if number else path.moveTo)(x * POINTS, (height - y) * POINTS)
    if mark.closed:
        path.close()
    canvas.drawPath(path, stroke=1, fill=int(mark.fill != "none"))


def _letter(canvas: "Canvas", label: Label, height: float) -> None:
    canvas.saveState()
    canvas.setFillGray(0.0)
    canvas.translate(label.at[0] * POINTS, (height - label.at[1]) * POINTS)
    if label.upright:
        canvas.rotate(90)
    draw_words(canvas, label.text, FACES[label.bold], label.size * POINTS, label.anchor)
    canvas.restoreState()
