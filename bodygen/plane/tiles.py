"""A drawing spread over sheets of paper at 1:1: which part each sheet shows, and the marks by which they are joined.

Knows sizes of paper and what a printer leaves bare. Writes no file and draws nothing but the marks.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import ceil

from bodygen.errors import DesignError
from bodygen.plane.arcs import line_and_circle, passes
from bodygen.plane.shapes import Arc, Box, Circle, Drawing, Line, Loop, Piece, Point
from bodygen.tables import as_row, load

_CROSS_MM = 3.0  # half of a register cross
_TOUCH_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet upright: ``width``, ``height``, bare ``margin``, ``footer`` above it, ``overlap`` of neighbours [mm]."""

    name: str
    width: float
    height: float
    margin: float
    footer: float
    overlap: float


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet of a drawing.

    ``width`` and ``height`` are the sheet's as it is turned; ``window`` is the part of the drawing that it shows, whose
    lower left corner lies at ``place`` on the sheet, from its lower left corner [mm]. ``marks`` are in the drawing's
    axes, and the same on both sheets that show them. ``row`` 0 is the top one.
    """

    width: float
    height: float
    window: Box
    place: Point
    row: int
    column: int
    rows: int
    columns: int
    marks: tuple[Line, ...]

    @property
    def label(self) -> str:
        """Name of the sheet in the tile map: a letter for the row, a number in it."""
        return f"{chr(ord('A') + self.row)}{self.column + 1}"


@cache
def paper_named(name: str) -> Paper:
    """A paper of ``tables/paper.toml``: "a4" or "letter".

    Raises
    ------
    DesignError
        For any other name.
    """
    papers, page = load("paper")["paper"], load("paper")["page"]
    if name not in papers:
        msg = f'paper "{name}": there are {", ".join(papers)}'
        raise DesignError(msg)
    return as_row(Paper, papers[name], page)


def tiles_of(drawing: Drawing, paper: Paper) -> tuple[Tile, ...]:
    """Spread a drawing over as few sheets as show all of it, upright or turned, row by row from the top left.

    Raises
    ------
    DesignError
        If it needs more than 26 rows.
    """
    x0, y0, x1, y1 = drawing.box
    options = []
    for width, height in ((paper.width, paper.height), (paper.height, paper.width)):
        usable = width - 2 * paper.margin, height - 2 * paper.margin - paper.footer
        counts = _count(x1 - x0, usable[0], paper.overlap), _count(y1 - y0, usable[1], paper.overlap)
        options.append((counts[0] * counts[1], width > height, width, height, usable, counts))
    _, _, width, height, usable, (columns, rows) = min(options)
    if rows > 26:
        msg = f"{drawing.name}: {y1 - y0:.0f} mm are too high for {paper.name}"
        raise DesignError(msg)
    step = usable[0] - paper.overlap, usable[1] - paper.overlap
    left = (x0 + x1 - columns * step[0] - paper.overlap) / 2
    top = (y0 + y1 + rows * step[1] + paper.overlap) / 2
    found = []
    for row in range(rows):
        for column in range(columns):
            xa, yb = left + column * step[0], top - row * step[1]
            window = (xa, yb - usable[1], xa + usable[0], yb)
            marks = tuple(_register(window, paper.overlap, (row > 0, row < rows - 1, column > 0, column < columns - 1)))
            place = paper.margin, paper.margin + paper.footer
            found.append(Tile(width, height, window, place, row, column, rows, columns, marks))
    return tuple(found)


def _count(size: float, usable: float, overlap: float) -> int:
    return 1 if size <= usable else ceil((size - overlap) / (usable - overlap) - _TOUCH_MM)


def _register(window: Box, overlap: float, shared: tuple[bool, bool, bool, bool]) -> Iterator[Line]:
    """Crosses and joint lines in the middle of each overlap; ``shared``: above, below, left, right."""
    x0, y0, x1, y1 = window
    above, below, left, right = shared
    half = overlap / 2
    for there, x in ((left, x0 + half), (right, x1 - half)):
        if there:
            yield Line((x, y0), (x, y1))
            for share in (0.2, 0.5, 0.8):
                y = y0 + share * (y1 - y0)
                yield Line((x - _CROSS_MM, y), (x + _CROSS_MM, y))
    for there, y in ((above, y1 - half), (below, y0 + half)):
        if there:
            yield Line((x0, y), (x1, y))
            for share in (0.2, 0.5, 0.8):
                x = x0 + share * (x1 - x0)
                yield Line((x, y - _CROSS_MM), (x, y + _CROSS_MM))


def within(box: Box, window: Box) -> bool:
    """Whether the box lies wholly in the window."""
    return (
        box[0] >= window[0] - _TOUCH_MM
        and box[1] >= window[1] - _TOUCH_MM
        and box[2] <= window[2] + _TOUCH_MM
        and box[3] <= window[3] + _TOUCH_MM
    )


def beside(box: Box, window: Box) -> bool:
    """Whether the box lies wholly outside the window."""
    return box[2] < window[0] or box[0] > window[2] or box[3] < window[1] or box[1] > window[3]


def clipped(item: Piece | Circle | Loop, window: Box) -> Iterator[Piece]:
    """Yield the parts of an item that lie in the window, exactly: lines as lines, arcs as arcs of the same circle."""
    match item:
        case Loop():
            for piece in item.pieces:
                yield from clipped(piece, window)
        case Circle(centre=(x, y), radius=r):
            yield from clipped(Arc((x - r, y), (x + r, y), (x, y)), window)
            yield from clipped(Arc((x + r, y), (x - r, y), (x, y)), window)
        case Line():
            yield from _clipped_line(item, window)
        case Arc():
            yield from _clipped_arc(item, window)


def _clipped_line(line: Line, window: Box) -> Iterator[Line]:
    """Clip after Liang and Barsky, ACM Trans. Graphics 3 (1984) 1-22 (from memory)."""
    (x, y), (ex, ey) = line.start, line.end
    dx, dy = ex - x, ey - y
    low, high = 0.0, 1.0
    for way, usable in ((-dx, x - window[0]), (dx, window[2] - x), (-dy, y - window[1]), (dy, window[3] - y)):
        if way == 0:
            if usable < 0:
                return
        elif way < 0:
            low = max(low, usable / way)
        else:
            high = min(high, usable / way)
    if low < high:
        start = line.start if low == 0.0 else (x + low * dx, y + low * dy)
        end = line.end if high == 1.0 else (x + high * dx, y + high * dy)
        yield Line(start, end)


def _clipped_arc(arc: Arc, window: Box) -> Iterator[Arc]:
    x0, y0, x1, y1 = window
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    edges = (Line(corners[i - 1], corner) for i, corner in enumerate(corners))
    met = (point for edge in edges for point in line_and_circle(edge, arc) if passes(arc, point))
    inner = sorted(met, key=lambda p: abs(Arc(arc.start, p, arc.centre, arc.ccw).sweep))
    stops = [arc.start, *inner, arc.end]
    for start, end in pairwise(stops):
        if start != end:
            part = Arc(start, end, arc.centre, arc.ccw)
            x, y = part.at(0.5)
            if x0 <= x <= x1 and y0 <= y <= y1 and part.length > _TOUCH_MM:
                yield part
