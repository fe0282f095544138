"""What is cut on paper, read back from the card's PDF: in grey alone, every word large enough and clear of all else."""

import os
import re
from functools import cache
from pathlib import Path

import numpy as np
import pdfplumber
import pytest
from amount import MORE, only_with_more
from random_baits import random_bait

import bodygen
from bodygen.errors import BodygenError
from bodygen.export.page_pdf import write_pages
from bodygen.files.pages.card import cut_at_full_size, write_card
from bodygen.folder.publish import Draft
from bodygen.plane.polygon import rectangle
from bodygen.plane.shapes import Drawing, Layer, Line, Text
from bodygen.plane.tiles import paper_named
from bodygen.report.card.inked import LETTER, inked
from bodygen.report.card.sheets import packed

PARAMS = Path(__file__).parents[3] / "params"
DEMOS = ("tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "beck-dace-80")
RANDOM = int(os.environ.get("BODYGEN_RANDOM_CARDS", "0"))
SMALLEST_PT = 9.0
TOUCH_PT = 0.3
"""Boxes of letters that touch by less overlap by rounding; a leader ends at its word."""
MARGIN_PT = 10.0 * 72 / 25.4
DESCENDING = set("gjpqy()/,;Q_@$")
SAYS_COLOUR = re.compile(rb"(?<![\w.])(?:sc|SC|scn|SCN|cs|CS|k|K|sh|Do)(?![\w.])")
RGB = re.compile(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)(?!\w)")


@cache
def assessed(name):
    return bodygen.assess(bodygen.read_recipe(PARAMS / f"{name}.toml"))


@pytest.fixture(scope="module")
def card(tmp_path_factory):
    """The folder with a demo's card on both papers, written once."""

    def written(name):
        folder = tmp_path_factory.mktemp(name)
        write_card(assessed(name), Draft(folder), "")
        return folder

    return cache(written)


def colours(page):
    """Every operator of a page that asks for a colour."""
    said = b"\n".join(stream.get_data() for stream in page.page_obj.contents)
    said = re.sub(rb"\((?:\\.|[^\\()])*\)", b"()", said)  # what is written is no operator
    found = [match.group() for match in RGB.finditer(said) if len({float(x) for x in match.groups()}) > 1]
    return found + SAYS_COLOUR.findall(said)


def letters(page):
    """Each letter of a page: what it is, its size, and the room that its ink takes [pt]."""
    found = []
    for char in page.chars:
        if not char["text"].strip():
            continue
        x0, y0, x1, y1 = (char[key] for key in ("x0", "top", "x1", "bottom"))
        size = y1 - y0 if char["upright"] else x1 - x0
        deep = 0.0 if char["text"] in DESCENDING else 0.2 * size  # Helvetica's descender, 0.207, Adobe's metrics
        upright = x0, y1 - 0.93 * size, x1, y1 - deep
        box = upright if char["upright"] else (x1 - 0.93 * size, y0, x1 - deep, y1)
        found.append((char["text"], size, box))
    return found


def inked_points(page):
    """Points on every line of a page, 0.3 pt apart at most."""
    found = [np.empty((0, 2))]
    for thing in (*page.curves, *page.lines, *page.rects):
        here = None
        for op, *handles in thing["path"]:
            p = [np.array(h, dtype=float) for h in handles]
            if op == "h" or not p:
                continue
            if op != "m":
                far = np.linalg.norm(p[-1] - here) + 1.0
                t = np.linspace(0, 1, int(far / 0.3) + 2)[:, None]
                if op == "c":
                    found.append(
                        (1 - t) ** 3 * here + 3 * t * (1 - t) ** 2 * p[0] + 3 * t**2 * (1 - t) * p[1] + t**3 * p[2]
                    )
                else:
                    found.append((1 - t) * here + t * p[-1])
            here = p[-1]
    return np.concatenate(found)


def faults(page):
    """Colour; letters that are too small, off the page, over each other or over a line."""
    drawn = letters(page)
    if ", sheet " in page.extract_text():  # what runs on to the next is clipped here
        drawn = [one for one in drawn if one[2][0] > MARGIN_PT and one[2][2] < page.width - MARGIN_PT]
    found = [f"colour: {said}" for said in colours(page)]
    found += [f"{text} of {size:.2f} pt" for text, size, _ in drawn if size < SMALLEST_PT - 0.01]
    boxes = np.array([box for _, _, box in drawn])
    inside = (boxes[:, :2] >= 0).all(axis=1) & (boxes[:, 2] <= page.width) & (boxes[:, 3] <= page.height)
    found += [f"off the page: {drawn[i][0]}" for i in np.flatnonzero(~inside)]
    wide = np.minimum(boxes[:, None, 2], boxes[None, :, 2]) - np.maximum(boxes[:, None, 0], boxes[None, :, 0])
    tall = np.minimum(boxes[:, None, 3], boxes[None, :, 3]) - np.maximum(boxes[:, None, 1], boxes[None, :, 1])
    over = np.argwhere(np.triu((wide > TOUCH_PT) & (tall > TOUCH_PT), 1))
    found += [f"{drawn[i][0]} over {drawn[j][0]} at {boxes[i].round(1)}" for i, j in over]
    points = inked_points(page)
    points = points[np.argsort(points[:, 0])]
    for (text, _, _), (x0, y0, x1, y1) in zip(drawn, boxes, strict=True):
        first, last = np.searchsorted(points[:, 0], (x0 + TOUCH_PT, x1 - TOUCH_PT))
        y = points[first:last, 1]
        if ((y > y0 + TOUCH_PT) & (y < y1 - TOUCH_PT)).any():
            found.append(f"{text} on a line at {x0:.0f}, {y0:.0f}")
    return found


def faults_of_sheets(file):
    """Of every page that is cut, and colour of the others."""
    found = []
    with pdfplumber.open(file) as pdf:
        for page in pdf.pages:
            cut = "print at 100 %" in page.extract_text()
            found += faults(page) if cut else [f"colour: {said}" for said in colours(page)]
    return found


@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=only_with_more)])
@pytest.mark.parametrize("name", DEMOS if MORE else ["reedbed-roach-65"])
def test_what_is_cut_is_grey_and_every_word_is_large_enough_and_clear(name, paper, card):
    assert faults_of_sheets(card(name) / f"bench-card-{paper}.pdf") == []


@pytest.mark.parametrize("seed", range(RANDOM))
def test_so_it_is_of_random_baits(seed, tmp_path):
    try:
        a = bodygen.assess(bodygen.read_recipe(random_bait(seed).saved(tmp_path)))
    except BodygenError:
        pytest.skip("no sound bait")
    write_card(a, Draft(tmp_path), "")
    assert [
        fault for paper in ("a4", "letter") for fault in faults_of_sheets(tmp_path / f"bench-card-{paper}.pdf")
    ] == []


def part(*words):
    cut = Layer("CUT", "cut", (rectangle(30.0, 12.0),))
    return Drawing("part", (cut, Layer("ENGRAVE", "mark", (*words, Line((2.0, 1.0), (2.0, 3.0))), "blue")))


def words_of(drawing):
    return {item.label: item for layer in drawing.layers for item in layer.items if isinstance(item, Text)}


def test_a_small_word_grows_where_it_stands_or_moves_or_gets_a_leader():
    near, far, long = Text("a", (15.0, 6.0), 1.2), Text("bb", (15.0, 10.4), 1.2), Text("c" * 40, (15.0, 3.0), 1.0)
    made = inked(part(near, far, long), "part")
    words = words_of(made)
    assert {text.height for text in words.values()} == {LETTER}
    assert words["a"].at == near.at
    assert 0.0 < words["bb"].at[1] < 12.0 - LETTER  # moved down, off the edge that it would cross
    assert not 0.0 < words["c" * 40].at[1] < 12.0  # beside the part, with a line to where it stood
    ends = [item.end for layer in made.layers for item in layer.items if isinstance(item, Line)]
    assert any(abs(y - 3.5) < 1.0 for _, y in ends)
    assert {layer.colour for layer in made.layers} == {"black"}


def test_a_word_whose_place_another_has_taken_still_gets_a_leader_to_its_part():
    made = inked(part(Text("lip", (15.0, 4.8), LETTER, "centre"), Text("c" * 40, (15.0, 6.0), 1.0, "middle")), "part")
    x, y = words_of(made)["c" * 40].at
    leaders = [line for layer in made.layers if layer.name == "MARK_LEADERS" for line in layer.items]
    line = next(item for item in leaders if isinstance(item, Line))
    assert not (0.0 < x < 30.0 and 0.0 < y < 12.0)
    assert (0.0 < line.end[0] < 30.0, 0.0 < line.end[1] < 12.0) == (True, True)


def test_cut_and_mark_are_told_apart_without_colour_and_the_key_says_how():
    sheet = packed([("part", inked(part(), "part"))], paper_named("a4"), "sheet")[0]
    lines = {layer.name: (layer.width, layer.dash) for layer in sheet.layers}
    assert lines["CUT"] != lines["ENGRAVE"]
    for name in ("CUT", "ENGRAVE"):
        assert lines[f"MARK_KEY_{name}"] == lines[name]
    assert {"cut", "mark, never cut"} <= words_of(sheet).keys()


def test_a_sheet_that_is_tiled_has_no_smaller_words_at_its_foot(tmp_path):
    wide = Drawing("x" * 40, (Layer("CUT", "cut", (rectangle(600.0, 400.0),), "black"),))
    write_pages([], [wide], tmp_path / "t.pdf", paper_named("letter"), "t", "bodygen 0.0.0, recipe 01234567")
    with pdfplumber.open(tmp_path / "t.pdf") as pdf:
        assert len(pdf.pages) > 1
        assert [fault for page in pdf.pages for fault in faults(page)] == []


@pytest.mark.parametrize(
    ("name", "there"),
    [
        ("reedbed-roach-65", {"lip", "wire", "gauge 1", "edge gauge", "eye gauge"}),
        pytest.param("tarn-perch-70", {"lip", "film of belly", "lip angle block"}, marks=only_with_more),
    ],
)
def test_what_is_cut_is_there_at_full_size_with_bars_on_each_sheet(name, there, card, tmp_path):
    a = assessed(name)
    assert there <= {name for name, _ in cut_at_full_size(a)}
    file = card(name) / "bench-card-a4.pdf"
    with pdfplumber.open(file) as pdf:
        sheets = [page for page in pdf.pages if "print at 100 %" in page.extract_text()]
        said = " ".join(page.extract_text() for page in sheets)
        lengths = [{round(abs(line["x1"] - line["x0"]) * 25.4 / 72, 3) for line in page.lines} for page in sheets]
    assert all(caption in said for caption in there)
    assert lengths
    assert all({50.0, 50.8} <= found for found in lengths)
    write_card(a, Draft(tmp_path), "")
    assert (tmp_path / "bench-card-a4.pdf").read_bytes() == file.read_bytes()
