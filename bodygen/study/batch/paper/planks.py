"""A page a board: where its blanks lie, drawn to scale, and its cuts in the order one makes them, numbered.

Knows a run's boards and paper.
"""

from collections.abc import Iterator, Sequence

from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Label, Mark, PaperPage, Stroke, moved, printable, stroke
from bodygen.plane.tiles import Paper
from bodygen.report.card.lettering import DROP, PITCH, SMALLEST, broken, cut_short
from bodygen.report.card.pages import inner_box, titled_page
from bodygen.study.batch.planning.model import BatchRun, Piece, Used
from bodygen.study.batch.planning.sawing import TOUCH_MM, Cut, Rectangle
from bodygen.tables import load
from bodygen.units import INCH, length_text

COLUMNS, GAP = 3, 6.0
"""Columns of the list of cuts, and between them [mm]."""
SHARE = 0.55
"""The drawing may take so much of the page's height [-]."""
DISC = 0.4
"""Bare paper round a cut's number [mm]."""
MEASURES = (
    "Seen from above, lower edge nearest to you; measures to the near side of the blade, from the part's left end or"
    " lower edge. Measure again before each cut."
)
Box = tuple[float, float, float, float]


def plank_pages(run: BatchRun, paper: Paper) -> list[PaperPage]:
    """A page for each board that is sawn, more where its list of cuts is long."""
    size = (paper.height, paper.width)
    box = inner_box(paper, *size)
    pages: list[PaperPage] = []
    for used in run.used:
        mine = [piece for piece in run.pieces if piece.board == used.name]
        for marks in _board(run, used, mine, box):
            what = cut_short(f"board {used.name}: layout and cuts", 120.0, SMALLEST)
            pages.append(titled_page(run.recipe, what, "", marks, size, paper, len(pages) + 1, run.name))
    return pages


def _board(run: BatchRun, used: Used, mine: Sequence[Piece], box: Box) -> Iterator[list[Mark]]:
    """The pages of one board."""
    left, top, right, low = box
    marks: list[Mark] = []
    y = top
    for text in board_lines(run, used, mine):
        for line in broken(text, right - left, SMALLEST):
            marks.append(Label(line, (left, y + DROP * SMALLEST), SMALLEST))
            y += SMALLEST * PITCH
    y += 2.0
    drawn, tall = _drawn(used, mine, right - left, max((low - top) * SHARE - (y - top), 30.0))
    marks += moved(drawn, left, y)
    y += tall + 3.0
    lines = [line for text in cut_lines(run, used, mine) for line in _hung(text, _column(left, right))]
    while lines:
        rows = max(int((low - y) / (SMALLEST * PITCH)), 1)
        for n, (inset, line) in enumerate(lines[: rows * COLUMNS]):
            x = left + n // rows * (_column(left, right) + GAP) + inset
            marks.append(Label(line, (x, y + DROP * SMALLEST + n % rows * SMALLEST * PITCH), SMALLEST))
        lines = lines[rows * COLUMNS :]
        yield marks
        marks, y = [], top


def _column(left: float, right: float) -> float:
    return (right - left - (COLUMNS - 1) * GAP) / COLUMNS


def _hung(text: str, wide: float) -> list[tuple[float, str]]:
    """A line of the list, broken; what goes on is set in."""
    text = printable(text)
    first, *_ = broken(text, wide, SMALLEST)
    rest = text[len(first) :].strip()
    return [(0.0, first), *((5.0, line) for line in broken(rest, wide - 5.0, SMALLEST))]


def board_lines(run: BatchRun, used: Used, mine: Sequence[Piece]) -> list[str]:
    """What the board is, which way its blanks lie, what is left of it."""
    layout, units = used.share.layout, run.recipe.units
    size = " x ".join(length_text(side, units) for side in layout.plank.size)
    through, kerf = length_text(layout.through, units), length_text(run.batch.saw, units)
    thick = f"plane it to {through}"
    if layout.layers > 1:
        thick = f"resaw its strips into {layout.layers} layers of {through} before they are cut across"
    wide, tall = mine[0].place.size
    holds = [part.size for part in used.share.sawn.offcuts if part.size[0] >= wide and part.size[1] >= tall]
    left = [" x ".join(length_text(side, units) for side in size) for size in holds[:1]]
    grain = "grain along it" if layout.plank.grain_along else "grain across it: blanks lie across"
    return [
        f"{size}; {grain}; {len(mine)} blanks, {mine[0].label} to {mine[-1].label}; kerf {kerf}",
        f"{thick}; blanks take up {100 * used.share.used:.0f} % of its face"
        + (f"; an offcut that holds more: {left[0]}" if left else ""),
        MEASURES,
        *short_rips(used),
    ]


def short_rips(used: Used) -> list[str]:
    """Which cuts rip what is too short for a fence, and what to do then."""
    least = float(load("batch")["saw"]["shortest_rip_mm"])
    cuts = enumerate(used.share.sawn.cuts, 1)
    short = [n for n, cut in cuts if cut.way == "rip" and cut.part.size[0] < least - TOUCH_MM]
    if not short:
        return []
    saw = "saw it by hand, or on a band saw with a push block"
    which = f"{'Cut' if len(short) == 1 else 'Cuts'} {', '.join(map(str, short))}"
    danger = f"a rip shorter than {least:g} mm ({least / float(INCH):.0f} in) can tip and kick back at a saw's fence"
    return [f"{which}: {danger}; {saw}."]


def cut_lines(run: BatchRun, used: Used, mine: Sequence[Piece]) -> list[str]:
    """Every cut in its order: which way, through which part, how far from its edge."""
    said = []
    for number, cut in enumerate(used.share.sawn.cuts, 1):
        edge = "lower edge" if cut.way == "rip" else "left end"
        word = "rip" if cut.way == "rip" else "cut across"
        at = length_text(cut.set_to, run.recipe.units)
        said.append(f"{number}  {word} {part_name(cut.part, mine)}: {at} from its {edge}")
    return said


def part_name(part: Rectangle, mine: Sequence[Piece]) -> str:
    """A part by the pieces in it."""
    inside = [piece for piece in mine if part.overlaps(piece.place)]
    if len(inside) == len(mine):
        return "the board"
    runs: list[list[Piece]] = []
    for piece in inside:
        if runs and piece.number == runs[-1][-1].number + 1:
            runs[-1].append(piece)
        else:
            runs.append([piece])
    return ", ".join(one[0].label if len(one) == 1 else f"{one[0].label} to {one[-1].label}" for one in runs)


def _drawn(used: Used, mine: Sequence[Piece], wide: float, tall: float) -> tuple[list[Mark], float]:
    """The board to scale with its upper left corner at (0, 0); how high it is [mm]."""
    plank = used.share.layout.plank
    scale = min(wide / plank.size[0], (tall - SMALLEST * PITCH) / plank.size[1], 1.0)
    high = plank.size[1] * scale

    def on_paper(part: Rectangle) -> list[tuple[float, float]]:
        x0, y0, x1, y1 = part.x0 * scale, high - part.y0 * scale, part.x1 * scale, high - part.y1 * scale
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]

    marks: list[Mark] = [stroke(on_paper(plank.face), "outline", closed=True, part="board")]
    for flaw in plank.flaws:
        shape = on_paper(flaw)
        marks.append(Stroke(tuple(shape), "thin", closed=True, fill="#bbbbbb", part="flaw"))
    taken: list[Box] = []
    for place in used.share.places:
        marks.append(stroke(on_paper(place), "visible", closed=True, part="blank"))
        label = _fitting(place, [piece.label for piece in mine if piece.place == place], on_paper(place))
        if label is not None:
            marks.append(label)
            taken.append(label.box)
    for number, cut in enumerate(used.share.sawn.cuts, 1):
        marks += _number(number, cut, scale, high, taken)
    says = f"drawn 1 : {1 / scale:.2f}" if scale < 1 else "drawn at its true size"
    marks.append(Label(says, (0.0, high + SMALLEST * PITCH), SMALLEST))
    return marks, high + SMALLEST * PITCH * 1.3


def _fitting(place: Rectangle, labels: Sequence[str], corners: Sequence[tuple[float, float]]) -> Label | None:  # noqa: ARG001
    """The blank's number in its middle, where it fits."""
    (x0, y1), (x1, _), (_, y0), _ = corners
    text = labels[0] if len(labels) == 1 else f"{labels[0]}-{labels[-1]}"
    size = min(1.4 * SMALLEST, 0.8 * (y1 - y0))
    size = size if width_of(text, size, bold=True) < x1 - x0 - 2.0 else SMALLEST
    if size < SMALLEST or width_of(text, size, bold=True) > x1 - x0 - 2.0:
        return None
    return Label(text, ((x0 + x1) / 2, (y0 + y1) / 2 + 0.36 * size), size, "centre", bold=True)


def _number(number: int, cut: Cut, scale: float, high: float, taken: list[Box]) -> Iterator[Mark]:
    """A cut's number on its line, at a place where nothing else is written; none where there is no room."""
    text = str(number)
    half_wide, half_tall = width_of(text, SMALLEST) / 2 + DISC, 0.5 * SMALLEST + DISC
    middle = (cut.kerf.x0 + cut.kerf.x1) / 2 * scale, high - (cut.kerf.y0 + cut.kerf.y1) / 2 * scale
    x0, x1 = cut.part.x0 * scale + half_wide, cut.part.x1 * scale - half_wide
    y0, y1 = high - cut.part.y1 * scale + half_tall, high - cut.part.y0 * scale - half_tall
    for share in (0.5, 0.12, 0.88, 0.3, 0.7, 0.02, 0.98, 0.4, 0.6, 0.2, 0.8):
        x, y = middle
        if cut.way == "rip":
            x = x0 + share * (x1 - x0)
        else:
            y = y0 + share * (y1 - y0)
        box = (x - half_wide, y - half_tall, x + half_wide, y + half_tall)
        if all(box[2] <= b[0] or b[2] <= box[0] or box[3] <= b[1] or b[3] <= box[1] for b in taken):
            taken.append(box)
            corners = [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]
            yield Stroke(tuple(corners), "hair", closed=True, fill="white", part="cut", colour="white")
            yield Label(text, (x, y + 0.36 * SMALLEST), SMALLEST, "centre")
            return
