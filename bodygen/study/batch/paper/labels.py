"""Labels of a run's pieces, to cut out: number, board, bait and code, what its blank should read and what goes in."""

from collections.abc import Iterator

from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Label, Mark, PaperPage, stroke
from bodygen.plane.tiles import Paper
from bodygen.report.card.lettering import DROP, PITCH, SMALLEST, cut_short
from bodygen.report.card.pages import inner_box, titled_page
from bodygen.study.batch.planning.model import BatchRun, Piece
from bodygen.version import code_of

COLUMNS = 3
TALL, PAD = 24.0, 2.5
"""Height of a label, and bare paper inside its edge [mm]."""
NUMBER = 8.0
"""Size of a piece's number [mm]."""


def label_pages(run: BatchRun, paper: Paper) -> list[PaperPage]:
    """As many pages as the pieces need, lines to cut along between the labels."""
    box = inner_box(paper, paper.width, paper.height)
    rows = int((box[3] - box[1]) / TALL)
    wide = (box[2] - box[0]) / COLUMNS
    each = rows * COLUMNS
    pages = []
    for number, start in enumerate(range(0, len(run.pieces), each), 1):
        mine = run.pieces[start : start + each]
        marks = list(_lines(box, wide, -(-len(mine) // COLUMNS)))
        for n, piece in enumerate(mine):
            marks += _label(run, piece, box[0] + n % COLUMNS * wide, box[1] + n // COLUMNS * TALL, wide)
        size = (paper.width, paper.height)
        pages.append(titled_page(run.recipe, "labels to cut out", "", marks, size, paper, number, run.name))
    return pages


def _lines(box: tuple[float, float, float, float], wide: float, rows: int) -> Iterator[Mark]:
    left, top, right, _ = box
    for row in range(rows + 1):
        yield stroke([(left, top + row * TALL), (right, top + row * TALL)], "hidden", part="cut")
    for column in range(COLUMNS + 1):
        x = left + column * wide
        yield stroke([(x, top), (x, top + rows * TALL)], "hidden", part="cut")


def _label(run: BatchRun, piece: Piece, x: float, y: float, wide: float) -> Iterator[Mark]:
    """One label with its upper left corner at a point [mm]."""
    inner = wide - 2 * PAD
    made, code = piece.made, f"code {code_of(run.recipe.sha256)}"
    yield Label(piece.label, (x + PAD, y + PAD + DROP * NUMBER), NUMBER, bold=True)
    beside = width_of(piece.label, NUMBER, bold=True) + 2.0
    lot = f", {made.lot.name}" if made.lot.name else ""
    right = [f"board {piece.board}{lot}", code]
    for n, text in enumerate(right):
        at = (x + PAD + beside, y + PAD + DROP * SMALLEST + n * SMALLEST * PITCH)
        yield Label(cut_short(text, inner - beside, SMALLEST), at, SMALLEST)
    below = [
        f"run {run.code}: {run.recipe.name}",
        f"blank {made.masses['squared']:.1f} g, metal {made.drilled.bore.mass_g:.2f} g",
        f"bore {made.drilled.depth_text}",
    ]
    for n, text in enumerate(below):
        at = (x + PAD, y + PAD + 1.1 * NUMBER + DROP * SMALLEST + n * SMALLEST * PITCH)
        yield Label(cut_short(text, inner, SMALLEST, bold=n == 0), at, SMALLEST, bold=n == 0)
