"""The sheet of a run: from the blank to the metal, a row a piece with boxes for what is read, the order of work.

What is said of one bait's cuts, coats and days stands on its bench card; here stand the figures in which pieces differ.
"""

from collections.abc import Iterator
from dataclasses import replace

from bodygen.assessment import Assessment
from bodygen.plane.page import Mark, PaperPage
from bodygen.plane.tiles import Paper
from bodygen.report.card.lettering import BETWEEN, PITCH, SMALLEST, Cell, Row, broken, paged, row_height, row_marks
from bodygen.report.card.order import HOW, order_pages
from bodygen.report.card.pages import deferring, inner_box, titled_page
from bodygen.report.card.steps import DRILL, LIP, SLOTS, WATER, WOOD_WORK, WorkStep, work_steps
from bodygen.report.card.words import cut_rows
from bodygen.study.batch.planning.model import (
    BatchRun,
    LotMade,
    Piece,
    Used,
    band_text,
    beside_words,
    boards_text,
    share_text,
)
from bodygen.tables import load
from bodygen.units import inch_fraction, length_text
from bodygen.weights.spread import scale_division

LABEL, BOARD, DEPTH, METAL = 11.0, 15.0, 14.0, 12.5
"""Widths of a piece's first columns [mm]."""
TUB = ("reserve (g)", "nose up (deg)")
"""What the tub is asked, behind the weigh-ins."""
BOX = 6.0
"""Height of a box to write in [mm]."""
HEAD = 4.0
"""Size of a heading [mm]."""


def sheet_pages(run: BatchRun, paper: Paper) -> list[PaperPage]:
    """Every page of the sheet on one paper."""
    lying, upright = (paper.height, paper.width), (paper.width, paper.height)
    box = inner_box(paper, *lying)
    wide = box[2] - box[0]
    told = [
        ((f"run {run.code}", marks), lying)
        for marks in paged([*_about(run, wide), *_table(run, wide)], box[:1], box[1], box[3])
    ]
    told += [((f"run {run.code}, a row a piece", marks), lying) for marks in _piece_pages(run, box)]
    inner = inner_box(paper, *upright)
    defer = load("cautions")["defer"]["text"]
    foot = len(broken(defer, inner[2] - inner[0])) * SMALLEST * PITCH
    a = run.pieces[0].made.assessment
    order = order_pages(a, list(_steps(run, a)), (*inner[:3], inner[3] - foot))
    told += [((f"order of work; {HOW}", [*marks, *deferring(defer, inner, foot)]), upright) for marks in order]
    return [
        titled_page(run.recipe, what, _says(run) if number == 1 else "", marks, size, paper, number, run.name)
        for number, ((what, marks), size) in enumerate(told, 1)
    ]


def _says(run: BatchRun) -> str:
    return f"{len(run.pieces)} x {run.recipe.name}, from {boards_text(len(run.used))}"


def _about(run: BatchRun, wide: float) -> Iterator[Row]:
    """What is made of which board, in sentences."""
    kerf = length_text(run.batch.saw, run.recipe.units)
    size = " x ".join(length_text(side, run.recipe.units) for side in run.block)
    yield _line(
        f"Squared blanks: {size}, grain along the first; kerf {kerf}. They take up {100 * run.used_share:.0f} % of the"
        f" faces sawn, the kerf counted as lost ({100 * run.volume_share:.0f} % of the wood)",
        wide,
    )
    for basis in dict.fromkeys(used.wood.basis for used in run.used):
        names = ", ".join(used.name for used in run.used if used.wood.basis == basis)
        yield _line(f"Density of {names}: by {basis}", wide)
    for used in run.used:
        for made in used.made:
            yield _line(_board_words(run, used, made), wide)
    for words in beside_words(run):
        yield _line(f"{words[0].upper()}{words[1:]}", wide)
    for one in run.spared:
        yield _line(f"{one.name}: {one.why}", wide)
    for finding in run.findings:
        if finding.code.startswith("board-"):
            yield _line(f"{finding.severity}: {finding.told(run.recipe.units)}", wide)


def _board_words(run: BatchRun, used: Used, made: LotMade) -> str:
    """One board and one lot."""
    mine = [piece.label for piece in run.pieces if piece.board == used.name and piece.made is made]
    a, lot = made.assessment, f" ({made.lot.name})" if made.lot.name else ""
    nose = a.flotation.attitude.pitch_deg
    lies = f"nose {abs(nose):.1f} deg {'up' if nose >= 0 else 'down'}"
    likely = "" if made.likely is None else f", {share_text(made.likely)} in the band of {band_text(made.lot.reserve)}"
    return (
        f"{used.name}: {mine[0]} to {mine[-1]}{lot}; {used.wood.density:.3f} g/cm3; a blank of it"
        f" reads {made.masses['squared']:.1f} g: bore {made.drilled.depth_text}, reserve"
        f" {made.drilled.reserve_at(made.density):+.2f} g, {lies}{likely}"
    )


def _line(text: str, wide: float, *, head: bool = False) -> Row:
    return Row((Cell((text,), wide, HEAD if head else SMALLEST, bold=head),), head=head)


def _table(run: BatchRun, wide: float) -> Iterator[Row]:
    """What the blank reads, what then goes in, what every later weigh-in should read."""
    stages = [stage for stage in run.stages if stage != "squared"]
    first = (30.0, 25.0, METAL, 24.0)
    each = (wide - sum(first) - (len(first) + len(stages) - 1) * BETWEEN) / len(stages)
    widths = (*first, *[each] * len(stages))
    units, block = run.recipe.units, run.block[0] * run.block[1] * run.block[2]
    for lot, lines in run.lines:
        name = f", {lot.name}" if lot.name else ""
        yield _line(f"From the blank to the metal{name}: reserve {band_text(lot.reserve)}", wide, head=True)
        said = run.pieces[0].made.drilled
        measured = said.depth_text.partition(" to the ")[2]
        heads = ("blank reads (g)", f"bore ({units}), to the {measured}", "metal (g)", "reserve (g)", *stages)
        yield Row(tuple(Cell((text,), w, bold=True) for text, w in zip(heads, widths, strict=True)), head=True)
        for line in lines:
            middle = (line.least + line.most) / 2
            masses = line.drilled.masses_at(middle * 1000 / block)
            cells = (
                f"{line.least:.1f}" if line.least == line.most else f"{line.least:.1f} to {line.most:.1f}",
                _depth(line.drilled.depth, units),
                f"{line.drilled.bore.mass_g:.2f}",
                f"{line.worst[0]:+.2f} to {line.worst[1]:+.2f}",
                *(f"{masses[stage]:.2f}" for stage in stages),
            )
            yield Row(tuple(Cell((text,), w) for text, w in zip(cells, widths, strict=True)), rule=True)
    division = scale_division()
    yield _line(
        f"The scale shows {division:g} g. Readings after the blank are those of the middle of its row; a blank that"
        " reads less or more than the table has is left for another bait.",
        wide,
    )


def _depth(depth: float, units: str) -> str:
    """A depth in a narrow column."""
    return f"{depth:.1f}" if units == "mm" else f"{inch_fraction(depth / 25.4)}"


def _piece_pages(run: BatchRun, box: tuple[float, float, float, float]) -> list[list[Mark]]:
    """A row a piece, the heads and how far readings stray again on every page."""
    left, top, right, low = box
    first = (LABEL, BOARD, DEPTH, METAL)
    columns = len(run.stages) + len(TUB)
    each = (right - left - sum(first) - (len(first) + columns - 1) * BETWEEN) / columns
    widths = (*first, *[each] * columns)
    said = ("piece", "board", f"bore ({run.recipe.units})", "metal (g)", *(f"{s} (g)" for s in run.stages), *TUB)
    heads = Row(tuple(Cell((text,), w, bold=True) for text, w in zip(said, widths, strict=True)))
    pages: list[list[Mark]] = []
    y, before = low, None
    for piece in run.pieces:
        rows = _rows(run, piece, widths)
        near = [_give_or_take(run, piece, widths)]
        block = [*(near if piece.made is not before else []), *rows]
        if y + sum(map(row_height, block)) > low:
            pages.append([])
            y, block = top, [heads, *near, *rows]
        before = piece.made
        for row in block:
            pages[-1] += row_marks(row, left, y)
            y += row_height(row)
    return pages


def _rows(run: BatchRun, piece: Piece, widths: tuple[float, ...]) -> list[Row]:
    """Two rows a piece: what should be, and boxes for what is."""
    masses, drilled = piece.made.masses, piece.made.drilled
    should = (
        piece.label,
        _short(piece.board, widths[1]),
        _depth(drilled.depth, run.recipe.units),
        f"{drilled.bore.mass_g:.2f}",
        *(f"{masses[stage]:.2f}" for stage in run.stages),
        f"{drilled.reserve_at(piece.made.density):+.2f}",
        f"{piece.made.assessment.flotation.attitude.pitch_deg:+.1f}",
    )
    cells = tuple(Cell((text,), w, bold=n == 0) for n, (text, w) in enumerate(zip(should, widths, strict=True)))
    boxes = [Cell((), w) for w in widths[:2]] + [Cell((), w, frame=True) for w in widths[2:]]
    return [Row(cells, rule=True), Row(tuple(boxes), least=BOX)]


def _short(text: str, width: float) -> str:
    """A board's name on one line."""
    lines = broken(text, width)
    return text if len(lines) < 2 else f"{lines[0][:-1]}."


def _give_or_take(run: BatchRun, piece: Piece, widths: tuple[float, ...]) -> Row:
    """How far readings of a board's pieces usually stray."""
    wood = next(one.wood for one in run.used if one.name == piece.board)
    tolerances = {stage.name: stage.tolerance for stage in piece.made.assessment.weighed.stages}
    tolerances["squared"] = 2 * wood.cov * piece.made.masses["squared"]
    near = [f"± {tolerances[stage]:.2f}" if stage != "blank" else "" for stage in run.stages]
    low, high = piece.made.lot.reserve
    said = ("", "", "", "", *near, f"{low:+.2f} to {high:+.2f}", "")
    cells = [Cell((text,) if text else (), w) for text, w in zip(said, widths, strict=True)]
    name = f"{_short(piece.board, 30.0)}: give or take"
    return Row((Cell((name,), sum(widths[:4]) + 3 * BETWEEN), *cells[4:]), rule=True)


def _steps(run: BatchRun, a: Assessment) -> Iterator[WorkStep]:
    """The bait's order of work, without the figures in which pieces differ."""
    found = run.pieces[0].made.drilled.bore.name
    mine = f"{found} as deep as the piece's own row says"
    for step in work_steps(a, cut_rows(a)):
        if step.stage == "squared":
            saw = "by the planks' pages, in the order of the cuts; write its number on every blank as it comes off"
            yield WorkStep(WOOD_WORK, "Saw the boards", (saw,), "", (), step.keys)
            yield replace(step, stage="")
            weigh = "into its box; one that reads otherwise gets bore and metal by its own reading, from the table"
            yield WorkStep(WOOD_WORK, "Weigh every squared blank", (weigh,))
        elif step.stage == "blank" and not step.keys:
            continue
        elif step.what in {DRILL, SLOTS}:
            says = tuple(text.replace("of the table", "of the table on the bait's bench card") for text in step.says)
            yield replace(step, says=(*says, mine) if step.what == DRILL else says, stage="")
        elif step.what == LIP:
            yield replace(step, says=("from the lip sheets, one for each piece",), stage="")
        elif step.stage == "ballast":
            others = (f"{one.name}: {one.mass_g:.2f} g of {one.metal.replace('_', ' ')}" for one in run.beside)
            yield replace(step, says=(f"{found}: as much as its row says", *others), stage="")
        elif step.day == WATER:
            yield replace(
                step,
                says=("its readings come back by bodygen study --readings",) if step.keys else (),
                stage="",
                reads=(),
            )
        else:
            yield replace(step, stage="")
