"""The page as a PDF at 1:1, with its scale bars and how to lay the bait. Nothing in it says when it was written."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bodygen.folder.single_file import write_whole
from bodygen.scan.photo.page import MarkerPage
from bodygen.tables import load

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PT = 72 / 25.4
FACE = "Helvetica"
LINES = (
    "Print at 100 %: both bars must measure true. Lay the page flat, on something flat.",
    "Side: the bait lies on its flank amid the colour, touching it, kept level by putty that does not show; nose left.",
    "Top: the bait stands on its belly, back up and level, at the same place. Take off hooks where you can.",
    "Stand as far away as fills the picture with the page, lean the camera by 10 to 20 degrees, keep all corners in.",
)


def write_page(page: MarkerPage, path: Path) -> None:
    """Write the page at 1:1 into a file.

    Parameters
    ----------
    page : MarkerPage
        What to print [mm].
    path : Path
        File to write; it is whole or not there.
    """
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(path), invariant=1, pageCompression=1, initialFontName=FACE)
    canvas.setTitle(f"page to photograph a bait on, {page.paper}")
    canvas.setAuthor("bodygen")
    canvas.setCreator("bodygen")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setPageSize((page.width * PT, page.height * PT))
    x0, y0, x1, y1 = page.middle
    canvas.setFillColorRGB(*(v / 255 for v in load("limits")["photo"]["middle_srgb"]))
    canvas.rect(x0 * PT, y0 * PT, (x1 - x0) * PT, (y1 - y0) * PT, stroke=0, fill=1)
    canvas.setFillColorRGB(0, 0, 0)
    for corners, cells in zip(page.corners, marker_cells(page.numbers), strict=True):
        _marker(canvas, corners, cells)
    _foot(canvas, page)
    canvas.showPage()
    write_whole(path, canvas.getpdfdata(), "the page")


def marker_cells(numbers: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which cells of each marker are black (n, 8, 8), the upper row first; a cell is an eighth of the marker wide.

    References
    ----------
    The family 36h11 of AprilTag, as OpenCV's ``objdetect`` has it.
    """
    import cv2

    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    return np.array([family.generateImageMarker(int(n), 8, borderBits=1) == 0 for n in numbers])


def _marker(canvas: "Canvas", corners: NDArray[np.float64], cells: NDArray[np.bool_]) -> None:
    """Fill the black cells, each row's runs as one rectangle."""
    (left, top), size = corners[0], float(corners[1, 0] - corners[0, 0])
    cell = size / len(cells)
    path = canvas.beginPath()
    for row, black in enumerate(cells):
        steps = np.diff(np.concatenate([[0], black.astype(int), [0]]))
        for start, end in zip(np.flatnonzero(steps == 1), np.flatnonzero(steps == -1), strict=True):
            path.rect(
                (left + start * cell) * PT, (top - (row + 1) * cell) * PT, (end - start) * cell * PT, 1.002 * cell * PT
            )
    canvas.drawPath(path, stroke=0, fill=1)


def _foot(canvas: "Canvas", page: MarkerPage) -> None:
    """Scale bars below the middle, and how to lay the bait."""
    x0, y0, x1, _ = page.middle
    canvas.setLineWidth(0.25 * PT)
    canvas.setStrokeColorRGB(0, 0, 0)
    low = y0 - float(load("limits")["photo"]["foot_mm"])
    for row, (label, length) in enumerate((("50 mm", 50.0), ("2 in", 50.8))):
        y = low + 11.0 - 7.0 * row
        canvas.line(x0 * PT, y * PT, (x0 + length) * PT, y * PT)
        for x in (x0, x0 + length):
            canvas.line(x * PT, (y - 1.5) * PT, x * PT, (y + 1.5) * PT)
        canvas.setFont(FACE, 7)
        canvas.drawString((x0 + length + 2) * PT, (y - 0.9) * PT, label)
    start = x0 + 66.0
    for row, line in enumerate(LINES):
        size = 8.0
        wide = canvas.stringWidth(line, FACE, size) / PT
        canvas.setFont(FACE, min(size, size * (x1 - start) / wide))
        canvas.drawString(start * PT, (low + 12.4 - 4.0 * row) * PT, line)
