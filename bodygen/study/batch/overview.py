"""A run of pieces at a glance: in a few lines for a terminal, and as the page that opens its folder."""

from collections.abc import Callable, Mapping
from html import escape

from bodygen.folder.own_files import MANIFEST
from bodygen.report.overview.entries import sections_of
from bodygen.report.overview.frame import care, framed
from bodygen.report.overview.page import Picture, doubts, files_listed
from bodygen.report.sheet import caution_keys
from bodygen.report.stamp import stamp
from bodygen.study.batch.planning.model import BatchRun, band_text, beside_words, boards_text, share_text

DATA = "batch.json"


def run_lines(run: BatchRun) -> list[str]:
    """Tell a run: how much of the wood it takes, what each board gives, which are spared, what is doubted of them."""
    lines = [f"blanks take up {100 * run.used_share:.0f} % of the faces that are sawn, the kerf counted as lost"]
    for used in run.used:
        share = used.share
        for made in used.made:
            mine = [piece.label for piece in run.pieces if piece.board == used.name and piece.made is made]
            lot = f" {made.lot.name}" if made.lot.name else ""
            likely = "" if made.likely is None else f", {share_text(made.likely)} come to {band_text(made.lot.reserve)}"
            lines.append(
                f"{used.name}  {len(mine)} of {share.layout.pieces}{lot}, {mine[0]} to {mine[-1]}:"
                f" {used.wood.density:.3f} g/cm3, bore {made.drilled.depth_text}, {made.drilled.bore.mass_g:.2f} g of"
                f" {made.drilled.bore.metal.replace('_', ' ')}{likely}"
            )
    return [*lines, *beside_words(run), *(f"{one.name}: {one.why}" for one in run.spared)]


def head_line(run: BatchRun) -> str:
    """How many pieces of how many boards, and the run's code."""
    return f"{len(run.pieces)} pieces from {boards_text(len(run.used))}, run {run.code}"


def run_page(run: BatchRun, purposes: Mapping[str, str], drawn: Callable[[str], Picture | None]) -> str:
    """Write ``index.html`` of a run's folder.

    Parameters
    ----------
    run : BatchRun
    purposes : mapping
        What each file of the folder is for, by its name.
    drawn : callable
        The picture of a file that no picture of the folder shows; None where there is nothing to draw.
    """
    boards = [name for name in purposes if name.startswith(("plank", "cut-"))]
    lips = [name for name in purposes if name.startswith("lip-")]
    kinds = [
        ("planks", "the boards, to saw", boards, ()),
        ("lip", "the lips, to cut", lips, ()),
        ("data", "for programs", [DATA, MANIFEST], ()),
    ]
    sections = sections_of(run.recipe, purposes, kinds)
    body = [
        "<header>",
        f"<h1>{escape(run.name)}</h1>",
        f"<p>A run of {escape(run.recipe.name)}: {escape(head_line(run))}.</p>",
        "</header>",
        "<main>",
        "<section>",
        '<h2 id="run">The run</h2>',
        "<ul>",
        *(f"<li>{escape(line)}</li>" for line in run_lines(run)),
        "</ul>",
        "</section>",
        *(line for section in sections for line in files_listed(section, drawn)),
        *doubts(run.findings, run.recipe.units),
        *care(list(dict.fromkeys([*caution_keys(run.recipe), *(key for one in sections for key in one.cautions)]))),
        "</main>",
        f"<footer><p>{escape(stamp(run.recipe))}</p></footer>",
    ]
    return framed(run.name, body)
