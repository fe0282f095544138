"""The page that a bait is photographed on: square markers round a free middle of one colour, and where each lies.

The markers are AprilTags of the family 36h11, which OpenCV reads. Each paper has numbers of its own, so that a picture
says itself which page it shows. The page lies on its side; x runs to the right and y upwards from its lower left corner
[mm]. Knows no picture and draws nothing (page_pdf.py).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array
from bodygen.plane.shapes import Box
from bodygen.plane.tiles import paper_named
from bodygen.tables import load


@dataclass(frozen=True, slots=True, eq=False)
class MarkerPage:
    """A page on its side: size, its markers by number, and the free ``middle`` (x0, y0, x1, y1) [mm].

    ``corners`` (n, 4, 2) [mm]: of each marker the upper left corner first, then clockwise as it is read.
    """

    paper: str
    width: float
    height: float
    numbers: NDArray[np.int64]
    corners: Array
    middle: Box


def papers() -> tuple[str, ...]:
    """Names of the papers that there are pages for."""
    return tuple(load("limits")["photo"]["first_number"])


def marker_page(paper: str) -> MarkerPage:
    """Lay out the page for a paper, ``"a4"`` or ``"letter"``.

    Derived here: as many markers as go along each edge with half a marker of white between two.

    Examples
    --------
    >>> page = marker_page("a4")
    >>> page.width, page.height, len(page.numbers)
    (297.0, 210.0, 40)
    """
    facts = load("limits")["photo"]
    sheet = paper_named(paper)
    width, height = max(sheet.width, sheet.height), min(sheet.width, sheet.height)
    edge, size = float(facts["page_edge_mm"]), float(facts["marker_mm"])
    across, up = _places(width, edge, size), _places(height, edge, size)
    low = [(x, float(up[0])) for x in across]
    high = [(x, float(up[-1])) for x in across]
    sides = [(x, y) for y in up[1:-1] for x in (float(across[0]), float(across[-1]))]
    at = np.array([*high, *sides, *low])
    square = np.array([(0, size), (size, size), (size, 0), (0, 0)])
    first = int(facts["first_number"][paper])
    rim = edge + size + float(facts["rim_mm"])
    middle = (rim, rim + float(facts["foot_mm"]), width - rim, height - rim)
    return MarkerPage(paper, width, height, first + np.arange(len(at)), at[:, None, :] + square[None, :, :], middle)


def page_of(numbers: NDArray[np.int64]) -> MarkerPage | None:
    """The page that most of these markers belong to; None where they are of none.

    Examples
    --------
    >>> page_of(np.array([101, 102, 7])).paper
    'letter'
    """
    pages = [marker_page(name) for name in papers()]
    counts = [int(np.isin(numbers, page.numbers).sum()) for page in pages]
    best = int(np.argmax(counts))
    return pages[best] if counts[best] else None


def _places(length: float, edge: float, size: float) -> Array:
    """Where the markers of one edge begin [mm], evenly apart."""
    count = int((length - 2 * edge + size / 2) // (1.5 * size))
    return np.linspace(edge, length - edge - size, count)
