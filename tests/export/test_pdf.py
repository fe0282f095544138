"""PDF pages read back by other programs: pdfplumber for sizes and places, PDFium for what would be printed."""

from itertools import pairwise
from math import hypot

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from pdfminer.pdftypes import resolve1
from shaped import NAMES, recipe, shaped

from bodygen.export.pdf import write_pdf
from bodygen.form.blank import blank_of, default_allowance
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Text
from bodygen.plane.tiles import paper_named, tiles_of
from bodygen.shop.cards.card import sheets
from bodygen.shop.cards.paper_template import default_template, paper_template
from bodygen.shop.cards.section_gauges import default_gauge, section_gauges, stations_of
from bodygen.shop.skin.silhouette import plan_view, side_view

MM = 25.4 / 72
PAPERS = ("a4", "letter")
DEMOS = [name for name in NAMES if not name.startswith("random")]


def template(name):
    said, s = recipe(name), shaped(name)
    box = blank_of(s.caster.low, s.caster.high, default_allowance(said.units))
    views = side_view(s.body, s.mesh), plan_view(s.body, s.mesh)
    return paper_template(said, views, box, s.tools, stations_of(s.sizes[0], said.units), default_template(), "about")


def long_drawing():
    about = Text("a label that lies across the joint of two sheets of paper", (120.0, 30.0), 3.0)
    shapes = (rectangle(420.0, 300.0), Circle((210.0, 150.0), 120.0), Line((5.0, 5.0), (415.0, 290.0)))
    return Drawing("long", (Layer("MARK_LONG", "mark", (*shapes, about), "red", 0.3, (3.0, 1.0)),))


def bare_margin(path, margin):
    """The darkest grey in the margin of each page, as PDFium prints it at 100 dpi."""
    document = pypdfium2.PdfDocument(str(path))
    found = []
    for page in document:
        grey = page.render(scale=100 / 72, grayscale=True).to_numpy()
        grey = grey.reshape(grey.shape[0], grey.shape[1], -1)[:, :, 0]
        edge = int((margin - 0.4) / 25.4 * 100)
        inner = np.zeros(grey.shape, dtype=bool)
        inner[edge:-edge, edge:-edge] = True
        found.append(int(grey[~inner].min()))
        page.close()
    document.close()
    return found


def paths(page):
    """Each drawn path of a page as points from its lower left corner [mm], Bezier curves followed."""
    high, found = float(page.height), []
    for thing in (*page.curves, *page.lines, *page.rects):
        points, here = [], None
        for op, *handles in thing["path"]:
            p = [np.array(h) for h in handles]
            if op == "c":
                t = np.linspace(0, 1, 40)[1:, None]
                points += list(
                    (1 - t) ** 3 * here + 3 * t * (1 - t) ** 2 * p[0] + 3 * t**2 * (1 - t) * p[1] + t**3 * p[2]
                )
            elif p:
                points += p
            here = p[-1] if p else here
        found.append(np.array([(x * MM, (high - y) * MM) for x, y in points]))
    return found


def wide(points):
    return float(np.ptp(points[:, 0]))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", DEMOS)
def test_a_template_reads_back_true_to_size_inside_its_margins(name, paper, tmp_path):
    path, sheet = tmp_path / "t.pdf", paper_named(paper)
    assert write_pdf([template(name)], path, sheet, name, "about") == 1
    length, _, thickness = shaped(name).sizes
    tall = float(shaped(name).caster.high[2] - shaped(name).caster.low[2])
    with pdfplumber.open(path) as pdf:
        page = pdf.pages[0]
        assert (float(page.width) * MM, float(page.height) * MM) == pytest.approx((sheet.width, sheet.height), abs=0.01)
        drawn = paths(page)
        finished = [p for p in drawn if abs(wide(p) - length) < 0.05 and np.ptp(p[:, 1]) > 5]
        assert len(finished) == 2
        assert sorted(float(np.ptp(p[:, 1])) for p in finished) == pytest.approx([thickness, tall], abs=0.05)
        for size in (50.0, 50.8):
            assert any(abs(wide(p) - size) < 0.001 and np.ptp(p[:, 1]) < 1e-6 for p in drawn)
        words = page.extract_text()
        assert all(word in words for word in ("50 mm", "2 in", "page 1 of 1", "print at 100 %", "grain", "fold"))
        preferences = resolve1(pdf.doc.catalog["ViewerPreferences"])
        assert preferences["PrintScaling"].name == "None"
    assert min(bare_margin(path, sheet.margin)) > 250


@pytest.mark.parametrize("paper", PAPERS)
def test_tiles_join_and_nothing_is_lost_between_them(paper, tmp_path):
    """Every line is found again by laying the pages' paths together in the drawing's own axes."""
    drawing, sheet, path = long_drawing(), paper_named(paper), tmp_path / "long.pdf"
    tiles = tiles_of(drawing, sheet)
    assert write_pdf([drawing], path, sheet, "long") == len(tiles) > 1
    covered, crosses = np.zeros(1000, dtype=bool), []
    with pdfplumber.open(path) as pdf:
        for number, (page, tile) in enumerate(zip(pdf.pages, tiles, strict=True), start=1):
            words = page.extract_text()
            assert f"page {number} of {len(tiles)}, sheet {tile.label}" in words
            marks = []
            for points in paths(page):
                there = points - np.array(tile.place) + np.array(tile.window[:2])
                marks.append(there)
                if len(there) == 2 and np.abs((there - [5, 5]) @ [-285, 410]).max() < 1.0:
                    share = np.sort((there - [5, 5]) @ [410, 285] / hypot(410, 285) ** 2)
                    covered[int(share[0] * 999.999) : int(share[1] * 999.999) + 1] = True
            crosses.append({
                tuple(np.round(m, 2).ravel())
                for m in marks
                if len(m) == 2 and abs(np.abs(m[1] - m[0]).sum() - 6) < 1e-3
            })
    assert covered.all()
    for (first, tile), (second, other) in pairwise(zip(crosses, tiles, strict=True)):
        if tile.row == other.row:
            assert len(first & second) >= 3  # the same crosses on both
    assert min(bare_margin(path, sheet.margin)) > 250


def test_an_arc_on_paper_is_an_arc_within_two_thousandths(tmp_path):
    """Bezier quarters leave a circle by 2.7e-4 of its radius at most (the usual 4/3 tan(t/4) handles)."""
    radius, path = 70.0, tmp_path / "arc.pdf"
    items = (Arc((10.0 + radius, 80.0), (10.0 - radius, 80.0), (10.0, 80.0)), Circle((10.0, 80.0), 30.0))
    drawing = Drawing("arc", (Layer("MARK", "mark", items),))
    tile = tiles_of(drawing, paper_named("a4"))[0]
    write_pdf([drawing], path, paper_named("a4"), "arc")
    with pdfplumber.open(path) as pdf:
        curve = max(pdf.pages[0].curves, key=lambda c: c["width"])
        assert [op for op, *_ in curve["path"]] == ["m", "c", "c"]
        points = max(paths(pdf.pages[0]), key=wide) - np.array(tile.place) + np.array(tile.window[:2])
        off = np.hypot(points[:, 0] - 10.0, points[:, 1] - 80.0) - radius
    assert np.abs(off).max() < 3e-4 * radius


def test_cards_are_never_parted_by_the_edge_of_a_sheet(tmp_path):
    s = shaped("fell-reed-110")
    cards, _ = section_gauges(s.body, s.mesh, stations_of(110.0, "mm"), default_gauge(), "mm")
    for paper in PAPERS:
        pages = sheets(cards * 4, "many")
        assert write_pdf(pages, tmp_path / f"{paper}.pdf", paper_named(paper), "many") == len(pages)


def test_two_files_of_one_drawing_are_the_same_bytes(tmp_path):
    for name in ("one", "two"):
        write_pdf([template("tarn-perch-70")], tmp_path / f"{name}.pdf", paper_named("a4"), "t", "about")
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    assert b"2000" in (tmp_path / "one.pdf").read_bytes()  # the library's fixed date, not today's


def test_letters_that_the_face_lacks_are_written_plainly(tmp_path):
    drawing = Drawing("ø ž 鱒", (Layer("MARK", "mark", (Text("Perch ø, žluť, 鱒", (0.0, 0.0), 3.0),)),))
    write_pdf([drawing], tmp_path / "l.pdf", paper_named("a4"), "l")
    with pdfplumber.open(tmp_path / "l.pdf") as pdf:
        assert "Perch ø, žluť, ?" in pdf.pages[0].extract_text()
