"""Sheet, labels and planks read back from their PDFs; the lips from their DXF."""

import csv
import re
from html import escape
from io import StringIO

import ezdxf
import pytest
from amount import only_with_more
from fifty import STUDY, fifty
from linked import Links
from on_paper import faults, read_back

from bodygen.export.page_pdf import write_pages
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import Draft
from bodygen.plane.tiles import paper_named
from bodygen.report.overview.entries import what_for
from bodygen.report.sheet import caution_keys
from bodygen.study.batch.files import readings_rows, write_run
from bodygen.study.batch.overview import run_page
from bodygen.study.batch.paper.labels import label_pages
from bodygen.study.batch.paper.planks import plank_pages
from bodygen.study.batch.paper.sheet import sheet_pages
from bodygen.study.batch.run import run_of
from bodygen.study.said.read import read_study
from bodygen.tables import load
from bodygen.version import code_of

PAGES = {"sheet": sheet_pages, "labels": label_pages, "planks": plank_pages}


def printed(kind, paper, folder, run=None):
    file = folder / f"{kind}.pdf"
    write_pages(PAGES[kind](run or fifty(), paper_named(paper)), [], file, paper_named(paper), kind)
    return read_back(file)


@only_with_more
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("kind", PAGES)
def test_no_word_leaves_its_page_lies_over_another_or_is_too_small(kind, paper, tmp_path):
    pages = printed(kind, paper, tmp_path)
    assert pages
    assert [fault for page in pages for fault in faults(page, boxed=kind == "sheet")] == []


@only_with_more
def test_so_it_is_where_boards_and_runs_have_long_names(tmp_path):
    long = "A board that somebody wrote a whole sentence on, W" + "W" * 60
    text = STUDY.read_text(encoding="utf-8").replace('"B1"', f'"{long}"').replace('"Fifty Tarn perch"', f'"{long}"')
    (tmp_path / "studies").mkdir()
    path = tmp_path / "studies" / "long.toml"
    path.write_text(text, encoding="utf-8")
    (tmp_path / "tarn-perch-70.toml").write_bytes((STUDY.parents[1] / "tarn-perch-70.toml").read_bytes())
    run = run_of(read_study(path))
    for kind in PAGES:
        pages = printed(kind, "letter", tmp_path, run)
        assert [fault for page in pages for fault in faults(page, boxed=kind == "sheet")] == []


@only_with_more
def test_the_sheet_has_a_row_and_boxes_for_every_piece_and_every_caution(tmp_path):
    pages = printed("sheet", "a4", tmp_path)
    whole = " ".join(page.text for page in pages)
    run = fifty()
    for piece in run.pieces:
        row = f"{piece.label} {piece.board}"
        assert whole.count(f"{row} ") == 1
    frames = sum(len(page.rects) for page in pages if "a row a piece" in page.text)
    assert frames == 50 * (2 + len(run.stages) + 2)  # bore and metal, each weigh-in, reserve and nose
    cautions = load("cautions")
    assert cautions["defer"]["text"] in whole
    for key in ("spinning_tools", "small_workpiece", "wood_dust", "hot_metal", "hooks"):
        told = cautions["caution"][key]
        assert whole.count(" ".join(f"{told['title']}: {told['text']}".split())) == 1
    assert f"code {code_of(run.recipe.sha256)}" in pages[0].text
    assert all(f"run {run.code}" in page.text for page in pages if "piece" in page.text.split()[:30])
    assert "of the table on the bait's bench card" in whole
    assert "ballast as deep as the piece's own row says" in whole
    squared = whole[whole.index("Square the blank") : whole.index("Weigh every squared blank")]
    assert "(A,B,C)" in squared


@only_with_more
def test_labels_name_every_piece_once_with_board_and_code(tmp_path):
    whole = " ".join(page.text for page in printed("labels", "letter", tmp_path))
    numbers = re.findall(r"\bP\d\d\b", whole)
    assert sorted(numbers) == [piece.label for piece in fifty().pieces]
    assert whole.count(f"run {fifty().code}") == 50
    assert whole.count(f"code {code_of(fifty().recipe.sha256)}") == 50 + len(printed("labels", "letter", tmp_path))


@only_with_more
def test_the_planks_pages_number_every_cut_and_every_blank(tmp_path):
    pages = printed("planks", "a4", tmp_path)
    for used, page in zip(fifty().used, pages, strict=True):
        words = page.text.split()
        for piece in (piece for piece in fifty().pieces if piece.board == used.name):
            assert piece.label in words
        for number in range(1, len(used.share.sawn.cuts) + 1):
            assert words.count(str(number)) >= 2  # in the drawing and in the list
        short = [
            str(n)
            for n, cut in enumerate(used.share.sawn.cuts, 1)
            if cut.way == "rip" and cut.part.size[0] < 300 - 1e-5  # common practice, no published source
        ]
        assert (f"Cuts {', '.join(short)}: a rip shorter than" in " ".join(words)) == (len(short) > 1)


def write_all(folder):
    folder.mkdir()
    draft = Draft(folder)
    write_run(fifty(), draft)
    return draft


def closed_loops(pieces):
    """Loops that lines and arcs make, each end shared by two of them."""
    ends = {}
    for n, piece in enumerate(pieces):
        for end in (
            (piece.start_point, piece.end_point) if piece.dxftype() == "ARC" else (piece.dxf.start, piece.dxf.end)
        ):
            ends.setdefault((round(end.x, 3), round(end.y, 3)), []).append(n)
    assert all(len(ones) == 2 for ones in ends.values())
    loops, left = 0, set(range(len(pieces)))
    beside = {n: set() for n in left}
    for a, b in ends.values():
        beside[a].add(b)
        beside[b].add(a)
    while left:
        loops, waiting = loops + 1, [left.pop()]
        while waiting:
            near = beside[waiting.pop()] & left
            left -= near
            waiting += near
    return loops


@only_with_more
def test_two_writings_are_alike_to_the_byte_and_there_is_a_lip_for_every_piece(tmp_path):
    first, second = write_all(tmp_path / "one"), write_all(tmp_path / "two")
    assert first.purposes == second.purposes
    for name in first.purposes:
        assert (first.folder / name).read_bytes() == (second.folder / name).read_bytes(), name
    page = Links((first.folder / "index.html").read_text(encoding="utf-8"))
    assert page.files == {*first.purposes, MANIFEST} - {"index.html"}
    drawn = [src for src in page.all("img", "src") if src.startswith("data:image/svg+xml")]
    assert len(drawn) == 7, "both papers of sheet, labels and planks, and the lips"
    lips = 0
    for file in sorted(first.folder.glob("lip-sheet-*.dxf")):
        drawing = ezdxf.readfile(file)
        assert not drawing.audit().errors
        lips += closed_loops([one for one in drawing.modelspace() if one.dxf.layer == "CUT"])
    assert lips == 50


def test_the_page_of_a_runs_folder_links_every_file_with_what_it_is_for_and_every_caution_in_full():
    run, rows = fifty(), [row for row in load("files")["file"].values() if "run of pieces" in row.get("by", "")]
    names = [name.replace("*", "1") for row in rows for name in row["names"]]
    page = run_page(run, {name: what_for(name) for name in [*names, "lip-sheet-1.dxf", MANIFEST]}, lambda _: None)
    assert Links(page).files == {*names, "lip-sheet-1.dxf", MANIFEST}
    assert all(escape(what_for(name)) in page for name in names)
    assert all(page.count(f'<dt id="{key}">') == 1 for key in caution_keys(run.recipe))
    assert all(f"{used.name}  " in page for used in run.used)
    assert {tag for tag, _ in Links(page).tags}.isdisjoint({"script", "link", "iframe"})


def test_the_readings_table_has_a_row_a_piece_and_columns_that_end_in_their_unit():
    rows = readings_rows(fifty())
    assert [row["piece"] for row in rows] == [piece.label for piece in fifty().pieces]
    plain = {"piece", "lot", "board", "run", "code", "state", "remark"}
    assert all(name in plain or re.search(r"_(g|mm|deg)$", name) for name in rows[0])
    text = StringIO()
    csv.DictWriter(text, list(rows[0])).writeheader()
    assert "squared_expected_g,squared_g" in text.getvalue()
