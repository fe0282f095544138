"""Words in columns: broken to a width that is known as it is printed, stacked in rows, rows laid on pages.

Knows paper in mm, y down the page. Knows nothing of baits.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Label, Mark, Stroke, printable, stroke

SMALLEST = 3.175
"""Size of the smallest word [mm]: 9 pt."""
PITCH = 1.2
"""From one line of lettering to the next, as a share of its size [-]."""
DROP = 0.83
"""From the top of a line's room to its base line, as a share of its size [-]."""
INDENT = 3.0
BETWEEN = 2.5
"""Between columns [mm]."""
PAD = 0.9
"""Above and below the words of a row [mm]."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of a row: its text in paragraphs, its width [mm]; ``frame``: an empty box to write in.

    ``bold`` letters, or a bold first paragraph alone as ``lead``.
    """

    text: tuple[str, ...]
    width: float
    size: float = SMALLEST
    bold: bool = False
    lead: bool = False
    frame: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """Cells side by side; ``rule``: a line above it; ``least``: its least height [mm]; ``head`` stays with the next.

    ``pad``: above and below its words [mm]; ``grows``: so high where the rest of its column lets it [mm].
    """

    cells: tuple[Cell, ...]
    rule: bool = False
    least: float = 0.0
    head: bool = False
    pad: float = PAD
    grows: float = 0.0


@lru_cache(maxsize=2048)  # both papers ask for the same columns, and a row for its height before it is drawn
def broken(text: str, width: float, size: float = SMALLEST, *, bold: bool = False) -> tuple[str, ...]:
    """Break a text between words into lines no wider than ``width`` [mm]; a word that is wider alone is parted.

    Examples
    --------
    >>> broken("oo oo oo", 7.5, 2.0), broken("oooooo", 5.0, 2.0)   # an o is 0.556 of the size wide
    (('oo oo', 'oo'), ('oooo', 'oo'))
    """
    lines: list[str] = []
    used, blank = 0.0, width_of(" ", size, bold=bold)
    for word in printable(text).split():
        rest, wide = word, width_of(word, size, bold=bold)
        if lines and used + blank + wide <= width:
            lines[-1] += f" {rest}"
            used += blank + wide
            continue
        while len(rest) > 1 and wide > width:
            shorter = range(len(rest) - 1, 0, -1)
            fits = next(n for n in shorter if n == 1 or width_of(rest[:n], size, bold=bold) <= width)
            lines.append(rest[:fits])
            rest = rest[fits:]
            wide = width_of(rest, size, bold=bold)
        lines.append(rest)
        used = wide
    return tuple(lines)


def cut_short(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return the text on one line, its end left out where it is wider than ``width`` [mm]."""
    text = printable(text)
    if width_of(text, size, bold=bold) <= width:
        return text
    while text and width_of(f"{text}...", size, bold=bold) > width:
        text = text[:-1]
    return f"{text.rstrip()}..."


def paragraphs(lines: Iterable[str]) -> list[str]:
    """Put lines together that were broken for a terminal: one that is set in by four blanks goes on."""
    whole: list[str] = []
    for line in lines:
        if whole and line.startswith("    "):
            whole[-1] += f" {line.strip()}"
        else:
            whole.append(line.strip())
    return whole


def lines_of(cell: Cell) -> list[tuple[float, str, bool]]:
    """Each line of a cell, how far it is set in [mm], whether it is bold; what goes on of several paragraphs is."""
    lines: list[tuple[float, str, bool]] = []
    hang = INDENT if len(cell.text) > 1 else 0.0
    for place, text in enumerate(cell.text):
        bold = cell.bold or (cell.lead and place == 0)
        first, *_ = broken(text, cell.width, cell.size, bold=bold) or ("",)
        lines.append((0.0, first, bold))
        rest = printable(text)[len(first) :].strip()
        lines += [(hang, line, bold) for line in broken(rest, cell.width - hang, cell.size, bold=bold)]
    return lines


def height_of(cell: Cell) -> float:
    """Room that a cell takes down the page [mm]."""
    return len(lines_of(cell)) * cell.size * PITCH


def cell_marks(cell: Cell, x: float, y: float) -> list[Mark]:
    """Lettering of a cell with its upper left corner at (x, y) [mm]."""
    pitch = cell.size * PITCH
    return [
        Label(text, (x + inset, y + i * pitch + DROP * cell.size), cell.size, bold=bold)
        for i, (inset, text, bold) in enumerate(lines_of(cell))
    ]


def row_height(row: Row) -> float:
    """Height of a row [mm]."""
    return max(row.least, *(height_of(cell) for cell in row.cells)) + 2 * row.pad


def row_marks(row: Row, x: float, y: float) -> list[Mark]:
    """A row with its upper left corner at (x, y) [mm]."""
    marks: list[Mark] = []
    left = x
    for cell in row.cells:
        if cell.frame:
            tall = max(row.least, cell.size * PITCH)
            marks.append(frame(left, y + row.pad, left + cell.width, y + row.pad + tall))
        else:
            marks += cell_marks(cell, left, y + row.pad)
        left += cell.width + BETWEEN
    if row.rule:
        marks.append(stroke([(x, y), (left - BETWEEN, y)], "hair", part="rule"))
    return marks


def frame(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    """Draw an empty box between two corners [mm]."""
    return stroke([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], "thin", closed=True, part="frame")


def paged(rows: Sequence[Row], columns: Sequence[float], top: float, low: float) -> list[list[Mark]]:
    """Lay rows below each other between two heights, in columns that begin at ``columns``, on as many pages as needed.

    A head goes with the next row. All lengths mm.
    """
    pages: list[list[Mark]] = [[]]
    column, y = 0, top
    for place, row in enumerate(rows):
        follows, tall = place, row_height(row)
        while rows[follows].head and follows + 1 < len(rows):
            follows += 1
            tall += row_height(rows[follows])
        if y + tall > low and y > top:
            column, y = column + 1, top
            if column == len(columns):
                pages.append([])
                column = 0
        laid = replace(row, least=max(row.least, min(row.grows, low - y - 2 * row.pad)))
        pages[-1] += row_marks(laid, columns[column], y)
        y += row_height(laid)
    return pages
