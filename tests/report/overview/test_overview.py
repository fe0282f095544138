"""index.html: every file of a folder is on it once, with a picture and its cautions, whatever a recipe is called."""

import json
import re
from base64 import b64decode
from dataclasses import replace
from html import escape
from io import BytesIO
from pathlib import Path
from urllib.parse import unquote

import manifold3d
import numpy as np
import pytest
from linked import Links
from PIL import Image

import bodygen
from bodygen.files.outcome import Outcome
from bodygen.files.pages.overview import overview
from bodygen.folder.publish import Draft
from bodygen.mesh.cut import to_mesh
from bodygen.report.overview.entries import sections_of
from bodygen.report.overview.page import overview_page
from bodygen.report.overview.thumbnail import TALL, WIDE, grey_png, shaded
from bodygen.report.sheet import caution_keys
from bodygen.tables import load

PARAMS = Path(__file__).parents[3] / "params"
HOSTILE = "<script>alert(1)</script>\"&'><img src=x onerror=y>"


@pytest.fixture(scope="module")
def roach():
    return bodygen.assess(bodygen.read_recipe(PARAMS / "reedbed-roach-65.toml"))


@pytest.fixture(scope="module")
def folder(roach, tmp_path_factory):
    return bodygen.build(roach, tmp_path_factory.mktemp("out"), only="block,wire,calendar").manifest.folder


def test_each_file_is_linked_and_no_link_leads_elsewhere(folder):
    page = Links((folder / "index.html").read_text(encoding="utf-8"))
    there = {path.name for path in folder.iterdir()} - {"index.html"}
    links = page.all("a", "href")
    assert page.files == there
    assert {link[1:] for link in links if link.startswith("#")} <= set(page.all("dt", "id"))
    pictures = page.all("img", "src")
    assert all(src.startswith("data:image/png;base64,") or unquote(src) in there for src in pictures)
    assert any(src.startswith("data:") for src in pictures)  # the drill block, which no drawing shows


def test_it_needs_no_script_and_nothing_from_elsewhere(folder):
    text = (folder / "index.html").read_text(encoding="utf-8")
    assert {tag for tag, _ in Links(text).tags}.isdisjoint({"script", "link", "iframe", "object", "form"})
    assert not re.search(r"https?:|url\(|@import|\son\w+=", text)
    assert 'lang="en"' in text
    assert "width=device-width" in text


def test_every_caution_of_the_kinds_that_are_there_is_in_full_once_with_the_deferring_sentence(roach, folder):
    page = " ".join((folder / "index.html").read_text(encoding="utf-8").split())
    table = load("cautions")
    for key in ("wire_ends", "laser_polycarbonate", "wood_dust", "solvent_fire"):
        assert key in caution_keys(roach.recipe) or key == "wire_ends"
        assert page.count(f'<dt id="{key}">') == 1
    assert table["defer"]["text"].replace("'", "&#x27;") in page


def test_every_doubt_and_every_part_is_told_in_full(roach, folder):
    page = (folder / "index.html").read_text(encoding="utf-8")
    document = json.loads((folder / "properties.json").read_text(encoding="utf-8"))
    doubts = page.partition('<h2 id="doubts">')[2].partition('<h2 id="care">')[0]
    assert document["findings"]
    assert doubts.count("<dt>") == len(document["findings"])
    assert all(escape(finding["source"]) in doubts for finding in document["findings"])
    parts = page.partition('<h2 id="parts">')[2].partition('<h2 id="doubts">')[0]
    listed = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["kinds"]
    names = [part["name"] for kind in listed.values() for part in kind["listed"]]
    assert names
    assert all(f"<dt>{escape(name)}</dt>" in parts for name in names)


def test_what_jigs_call_for_stands_in_full_below(roach):
    page = overview_page(roach, [], lambda _: None, also=["epoxy_skin", "ventilate"])
    assert page.count('<dt id="epoxy_skin">') == page.count('<dt id="ventilate">') == 1
    assert all(f'<dt id="{key}">' in page for key in caution_keys(roach.recipe))


def test_a_hostile_name_stays_text(roach, tmp_path):
    named = replace(roach, recipe=replace(roach.recipe, name=HOSTILE))
    sections = sections_of(named.recipe, {"a.stl": f"for {HOSTILE}"}, [("lip", HOSTILE, ["a.stl"], [])])
    page = overview_page(named, sections, lambda _: None)
    tags = Links(page).tags
    assert {tag for tag, _ in tags}.isdisjoint({"script", "img"})
    assert page.count("&lt;script&gt;alert(1)") >= 3
    draft = Draft(tmp_path)
    assert overview(named, draft, {"kinds": {}}, Outcome()) == overview(named, draft, {"kinds": {}}, Outcome())


def test_files_of_one_stem_stand_together_and_a_cut_is_shown_by_its_whole(roach):
    purposes = {"lip.dxf": "the lip", "lip.svg": "the same as a picture, 1:1", "lip-cut.dxf": "its cut"}
    (section,) = sections_of(roach.recipe, purposes, [("lip", "the lip", list(purposes), ["hooks", "hooks"])])
    first, second = section.entries
    assert (first.stem, first.names, first.purpose, first.picture) == (
        "lip",
        ("lip.dxf", "lip.svg"),
        "the lip",
        "lip.svg",
    )
    assert (second.names, second.picture) == (("lip-cut.dxf",), "lip.svg")
    assert section.cautions.count("hooks") == 1


def test_a_card_is_shown_by_its_first_page(roach, tmp_path):
    draft = Draft(tmp_path)
    draft.add("bench-card-letter.pdf", "for the wall")
    about = {"kinds": {"card": {"files": ["bench-card-letter.pdf"], "cautions": []}}}
    kind, _, picture = Links(overview(roach, draft, about, Outcome())).all("img", "src")[0].partition(";base64,")
    assert kind == "data:image/svg+xml"
    assert roach.recipe.name in b64decode(picture).decode()


def test_a_print_is_shown_by_what_it_prints(roach):
    purposes = dict.fromkeys(("gauges-a4.pdf", "section-gauges.svg", "small-gauges.svg"), "for the bench")
    (section,) = sections_of(roach.recipe, purposes, [("gauges", "the gauges", list(purposes), [])])
    assert {entry.stem: entry.picture for entry in section.entries}["gauges-a4"] == "section-gauges.svg"


def test_a_part_is_drawn_as_it_stands_nearest_face_first():
    """A cube from above and ahead: three faces, the upper one the lightest, without holes inside its outline."""
    cube = to_mesh(manifold3d.Manifold.cube((10.0, 10.0, 10.0)))
    image = shaded(cube.vertices[cube.faces].astype(float))
    inked = image < 255
    rows = np.flatnonzero(inked.any(axis=1))
    assert len(set(image[inked].tolist())) == 3
    assert image[rows[len(rows) // 6]][inked[rows[len(rows) // 6]]].min() == image[inked].max()
    spans = [np.flatnonzero(line) for line in inked[rows]]
    holes = sum(span[-1] - span[0] + 1 - len(span) for span in spans)
    assert holes < 0.02 * inked.sum()  # points are strewn, not scanned
    with Image.open(BytesIO(grey_png(image))) as made:
        assert made.size == (WIDE, TALL)
        assert (np.asarray(made) == image).all()


def test_what_is_for_the_wall_comes_first_and_what_is_for_programs_last(folder):
    heads = re.findall("<h2>(.*?)</h2>", (folder / "index.html").read_text(encoding="utf-8"))
    assert heads[-1] == "To read at a terminal, and for programs"
    page = (folder / "index.html").read_text(encoding="utf-8")
    assert page.index('href="wire.svg"') < page.index('href="properties.json"')
