"""The card as pages: one for the wall, the order of work, and what the first had no room for; each with its code."""

from collections.abc import Sequence

from bodygen.assessment import Assessment
from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Label, Mark, PaperPage, stroke
from bodygen.plane.tiles import Paper
from bodygen.recipe.model import Recipe
from bodygen.report.card.front import front_page
from bodygen.report.card.lettering import PITCH, SMALLEST, Row, broken, cut_short, paged
from bodygen.report.card.order import HOW, order_pages
from bodygen.report.card.steps import WorkStep, work_steps
from bodygen.report.card.words import CutRow, cut_rows, front_blocks
from bodygen.report.stamp import stamp
from bodygen.report.summary import wood_words
from bodygen.tables import load
from bodygen.units import length_text
from bodygen.version import code_of

HEADING, FOOT = 15.5, 5.0
"""Room for the name above, and for the stamp below [mm]."""
NAME = 7.5
"""Size of the name [mm]; it gives way to a long one down to half of that."""


def card_pages(a: Assessment, paper: Paper) -> list[PaperPage]:
    """Every page of the card that is read; what is cut at 1:1 comes behind them."""
    rows = cut_rows(a)
    steps = work_steps(a, rows)
    upright = inner_box(paper, paper.width, paper.height)
    defer = load("cautions")["defer"]["text"]
    foot = len(broken(defer, upright[2] - upright[0])) * SMALLEST * PITCH
    order = order_pages(a, steps, (*upright[:3], upright[3] - foot))
    first, over = _wall(a, rows, steps, paper, len(order) + 2)
    said = [
        (f"order of work{_of(n, len(order))}; {HOW}", [*marks, *deferring(defer, upright, foot)])
        for n, marks in enumerate(order, 1)
    ]
    more = paged(over, [upright[0]], upright[1], upright[3]) if over else []
    said += [(f"more of page 1{_of(n, len(more))}", marks) for n, marks in enumerate(more, 1)]
    stand = (paper.width, paper.height)
    return [
        first,
        *(titled_page(a.recipe, what, "", marks, stand, paper, n) for n, (what, marks) in enumerate(said, 2)),
    ]


def _wall(
    a: Assessment, rows: Sequence[CutRow], steps: Sequence[WorkStep], paper: Paper, more: int
) -> tuple[PaperPage, list[Row]]:
    """The first page, which lies on its long side, and what it had no room for: that stands on page ``more``."""
    wide, tall = paper.height, paper.width
    front, over = front_page(a, rows, steps, front_blocks(a), inner_box(paper, wide, tall))
    if over:
        front.append(Label(f"goes on, on page {more}", (paper.margin, tall - paper.margin), SMALLEST, bold=True))
    return titled_page(a.recipe, "for the wall", _size(a), front, (wide, tall), paper, 1), over


def _of(number: int, count: int) -> str:
    """Which of several pages it is; nothing where it is the only one."""
    return f", {number} of {count}" if count > 1 else ""


def inner_box(paper: Paper, wide: float, tall: float) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of what a page of so many mm has room for below its name and above its stamp [mm]."""
    return paper.margin, paper.margin + HEADING, wide - paper.margin, tall - paper.margin - FOOT


def _size(a: Assessment) -> str:
    length, depth, thickness = (length_text(size, a.recipe.units) for size in a.shaped.sizes)
    return f"{length} long, {depth} deep, {thickness} thick; {wood_words(a)}"


def deferring(text: str, inner: tuple[float, float, float, float], foot: float) -> list[Mark]:
    """The sentence that defers to law, data sheet and manual, at the foot of every page with cautions."""
    x, _, right, low = inner
    pitch = SMALLEST * PITCH
    lines = broken(text, right - x)
    return [Label(line, (x, low - foot + (i + 1) * pitch), SMALLEST) for i, line in enumerate(lines)]


def titled_page(
    recipe: Recipe,
    what: str,
    says: str,
    marks: Sequence[Mark],
    size: tuple[float, float],
    paper: Paper,
    number: int,
    name: str = "",
) -> PaperPage:
    """A page with name and code above and the stamp below; ``name``: of something else than the bait."""
    name = name or recipe.name
    wide, tall = size
    left, right = paper.margin, wide - paper.margin
    code = f"code {code_of(recipe.sha256)}"
    coded = width_of(code, NAME * 0.7, bold=True)
    named, room = NAME, right - left - coded - 6.0
    beside = 40.0 if says else 0.0
    while named > NAME / 2 and width_of(name, named, bold=True) > room:
        named -= 0.25
    heading: list[Mark] = [
        Label(cut_short(name, room, named, bold=True), (left, paper.margin + 6.0), named, bold=True),
        Label(code, (right, paper.margin + 6.0), NAME * 0.7, "right", bold=True),
        Label(cut_short(says or what, right - left - beside, SMALLEST), (left, paper.margin + 11.5), SMALLEST),
        Label(what if says else "", (right, paper.margin + 11.5), SMALLEST, "right"),
        stroke([(left, paper.margin + 13.5), (right, paper.margin + 13.5)], "thin", part="rule"),
        Label(f"{stamp(recipe)}; page {number}", (right, tall - paper.margin), SMALLEST, "right"),
    ]
    shown = [mark for mark in heading if not (isinstance(mark, Label) and not mark.text)]
    return PaperPage(wide, tall, f"{name}: {what}", stamp(recipe, None), (*marks, *shown))
