"""The card read back from its PDF: nothing runs out of its box or over other words; its figures are the bait's."""

import os
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from string import ascii_uppercase

import numpy as np
import pytest
from amount import MORE, only_with_more
from on_paper import faults, read_back
from random_baits import random_bait

import bodygen
from bodygen.errors import BodygenError
from bodygen.export.page_pdf import write_pages
from bodygen.plane.tiles import paper_named
from bodygen.report.card.pages import card_pages
from bodygen.report.card.steps import work_steps
from bodygen.report.card.words import blank_of_bait, cut_rows
from bodygen.report.sheet import caution_keys
from bodygen.tables import load
from bodygen.units import mass_text
from bodygen.version import code_of

PARAMS = Path(__file__).parents[3] / "params"
DEMOS = ("tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "beck-dace-80")
RANDOM = int(os.environ.get("BODYGEN_RANDOM_CARDS", "2"))


@cache
def assessed(name):
    return bodygen.assess(bodygen.read_recipe(PARAMS / f"{name}.toml"))


def printed(a, paper, folder):
    """Print the pages that are read, and read them back."""
    file = folder / f"{paper}.pdf"
    write_pages(card_pages(a, paper_named(paper)), [], file, paper_named(paper), "card")
    return read_back(file)


@pytest.fixture(scope="module")
def card(tmp_path_factory):
    """The pages of a demo's card, each read once."""
    return cache(lambda name, paper="a4": printed(assessed(name), paper, tmp_path_factory.mktemp("card")))


def told(pages):
    return " ".join(page.text for page in pages)


DEMO_CARDS = [(name, paper) for name in DEMOS for paper in ("a4", "letter")]
HANDFUL = [("tarn-perch-70", "a4"), ("reedbed-roach-65", "a4")]


@pytest.mark.parametrize(("name", "paper"), DEMO_CARDS if MORE else HANDFUL)
def test_no_word_leaves_its_page_lies_over_another_or_is_too_small(name, paper, card):
    assert [fault for page in card(name, paper) for fault in faults(page)] == []


@pytest.mark.parametrize(("name", "paper"), DEMO_CARDS if MORE else HANDFUL)
def test_the_order_of_work_of_a_demo_is_one_page(name, paper, card):
    assert sum("order of work" in page.text for page in card(name, paper)) == 1


@only_with_more
def test_an_order_of_work_that_is_longer_says_which_page_of_how_many_it_is(tmp_path):
    r = bodygen.read_recipe(PARAMS / "tarn-perch-70.toml")
    many = tuple(replace(r.coats[-1], name=f"clear {n}", coats=4) for n in range(6))
    pages = printed(bodygen.assess(replace(r, coats=(*r.coats[:-1], *many))), "letter", tmp_path)
    order = [page.text for page in pages if "order of work" in page.text]
    assert len(order) > 1
    assert all(f"order of work, {n} of {len(order)};" in text for n, text in enumerate(order, 1))
    assert [fault for page in pages for fault in faults(page)] == []


@only_with_more
def test_so_it_is_of_long_names_and_of_a_dive_that_is_refused(tmp_path):
    long = "A name that nobody would ever read out loud " * 4 + "W" * 90
    r = bodygen.read_recipe(PARAMS / "tarn-perch-70.toml")
    bores = tuple(replace(bore, name=f"{bore.name} {long}"[:150]) for bore in r.bores)
    fittings = tuple(replace(one, name=f"{one.name} {'W' * 60}", on=None) for one in r.fittings)
    fast = replace(r.retrieve, speed_m_s=9.0)
    a = bodygen.assess(replace(r, name=long, bores=bores, fittings=fittings, retrieve=fast))
    pages = printed(a, "letter", tmp_path)
    assert [fault for page in pages for fault in faults(page)] == []
    assert a.dive.refused in told(pages)
    more = next(number for number, page in enumerate(pages, 1) if "more of page 1" in page.text)
    assert f"goes on, on page {more}" in pages[0].text


@pytest.mark.parametrize("seed", range(RANDOM))
def test_so_it_is_of_random_baits(seed, tmp_path):
    path = random_bait(seed).saved(tmp_path)
    try:
        a = bodygen.assess(bodygen.read_recipe(path))
    except BodygenError:
        pytest.skip("no sound bait")
    for paper in ("a4", "letter")[: 1 + (RANDOM > 2)]:
        pages = printed(a, paper, tmp_path)
        assert [fault for page in pages for fault in faults(page)] == []
        assert f"code {code_of(a.recipe.sha256)}" in pages[0].text
        assert all(f"{stage.mass:.2f} g" in told(pages) for stage in a.weighed.stages)


@pytest.mark.parametrize("name", DEMOS[:2])
def test_its_figures_are_those_of_properties_json(name, card):
    a = assessed(name)
    document, units = bodygen.properties(a), a.recipe.units
    wall, whole = card(name)[0].text, told(card(name))
    for stage in document["stages"]:
        first = f"{stage['mass_g']:.2f} g"
        assert first in wall
        assert f"± {stage['tolerance_g']:.2f} g" in whole
    metal = next(stage for stage in document["stages"] if stage["name"] == "ballast")
    assert f"stop when the scale reads {metal['mass_g']:.2f} g" in wall
    for bore in document["ballast"]["bores"]:
        assert bore["bit_text"] in wall
        assert mass_text(bore["mass_g"], units) in wall
        measure, _, end = bore["depth_text"].partition(" from the skin ")
        assert f"{measure} {end}" in wall
    assert f"a reserve of {document['float']['reserve_g']:+.2f} g" in wall
    assert f"{abs(document['float']['pitch_deg']):.1f} deg nose" in wall
    assert f"GM {document['float']['gm_mm']:.2f} mm across" in wall
    if "dive" in document:
        assert f"({document['dive']['depth_m']['low']:.1f} m) to" in wall
        assert f"at {document['dive']['conditions']['speed_m_s']:.2f} m/s" in wall
    assert f"code {document['recipe_sha256'][:8]}" in wall


NUMBER = re.compile(r"(?<![\w.#/-])\d+\.\d+")


def test_every_decimal_on_the_wall_is_a_figure_of_the_bait(card):
    """The other way round: all with a point is in properties.json, in the recipe, or a size of blank or lip."""
    a = assessed("reedbed-roach-65")
    lip, plate = a.recipe.lip, a.shaped.plate
    x0, y0, x1, y1 = plate.outline.box
    sizes = [*blank_of_bait(a).size, lip.thickness, plate.slot_thickness, x1 - x0, y1 - y0, plate.tongue_length]
    known = [*figures(bodygen.properties(a)), *sizes, np.degrees(lip.angle), 90 - np.degrees(lip.angle)]
    shown = {f"{abs(value):.{digits}f}" for value in known for digits in (1, 2, 3, 4)}
    shown |= set(NUMBER.findall(" ".join(cell for row in cut_rows(a) for cell in row.cells)))
    shown |= {number for fitting in a.recipe.fittings for number in NUMBER.findall(fitting.size or "")}
    wall = re.sub(r"drawn [\d.]+ times|bodygen [\d.]+", "", card("reedbed-roach-65")[0].text)
    assert set(NUMBER.findall(wall)) - shown == set()


def figures(value):
    if isinstance(value, dict):
        for entry in value.values():
            yield from figures(entry)
    elif isinstance(value, list | tuple | np.ndarray):
        for entry in value:
            yield from figures(entry)
    elif isinstance(value, float | int) and not isinstance(value, bool):
        yield float(value)


def test_the_largest_figure_is_what_the_scale_must_read_when_the_metal_is_in(card):
    a = assessed("tarn-perch-70")
    chars = card("tarn-perch-70")[0].chars
    largest, _ = max(chars)
    figure = "".join(text for size, text in chars if size == largest)
    metal = next(stage for stage in a.weighed.stages if stage.name == "ballast")
    assert figure == f"{metal.mass:.2f} g"
    assert sorted({round(size, 1) for size, _ in chars})[-2] < largest / 1.5


@pytest.mark.parametrize("name", DEMOS if MORE else DEMOS[:2])
def test_every_caution_stands_in_full_at_its_step_and_the_deferring_sentence_below(name, card):
    a = assessed(name)
    whole = told(card(name))
    table = load("cautions")
    for key in caution_keys(a.recipe):
        assert whole.count(" ".join(f"{table['caution'][key]['title']}: {table['caution'][key]['text']}".split())) == 1
    assert table["defer"]["text"] in whole


@pytest.mark.parametrize("name", DEMOS if MORE else DEMOS[:2])
def test_a_letter_at_a_step_is_that_of_a_caution_in_full(name, card):
    a, (page, *_) = assessed(name), [page for page in card(name) if "order of work" in page.text]
    alone = {word["text"] for word in page.words}
    named = {letter for found in re.findall(r"\(([A-Z](?:,[A-Z])*)\)", page.text) for letter in found.split(",")}
    assert named <= alone
    assert set(ascii_uppercase[: len(caution_keys(a.recipe))]) <= alone


@pytest.mark.parametrize(
    ("name", "key", "what"),
    [
        ("beck-dace-80", "lead_handling", "Metal"),
        ("reedbed-roach-65", "metal_dust", "Metal"),
        ("fell-reed-110", "glass_epoxy_dust", "Cut out the lip"),
        ("tarn-perch-70", "laser_polycarbonate", "Cut out the lip"),
        ("tarn-perch-70", "wood_dust", "Square the blank"),
    ],
)
def test_a_caution_stands_where_its_own_material_is_worked(name, key, what):
    """Drilling wood calls for no mask against lead, nor sanding a body for one against its lip's glass."""
    steps = work_steps(assessed(name), cut_rows(assessed(name)))
    assert next(step.what for step in steps if key in step.keys) == what


def test_a_coat_that_is_laid_on_as_the_one_before_says_so(card):
    order = next(page.text for page in card("tarn-perch-70") if "order of work" in page.text)
    assert order.count("scuff it dull") == 1
    assert re.findall(r"clear, (\d) of 4 as the one before", order) == ["3", "4"]


def test_the_days_of_the_calendar_are_those_of_the_order_of_work(card):
    a = assessed("tarn-perch-70")
    whole = told(card("tarn-perch-70"))
    for step in a.calendar.steps:
        assert f"{step.at:%H:%M} {step.what}" in whole
