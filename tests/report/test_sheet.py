"""The build sheet: at most 80 lines of any bait, with what a terminal reader needs and where the rest stands."""

import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from amount import MORE
from random_baits import random_bait

import bodygen
from bodygen.errors import BodygenError
from bodygen.report.sheet import MOST, WIDTH, build_sheet, cautions
from bodygen.tables import load

PARAMS = Path(__file__).parents[2] / "params"
DEMOS = ("tarn-perch-70", "reedbed-roach-65", "fell-reed-110", "beck-dace-80")
RANDOM = int(os.environ.get("BODYGEN_RANDOM_CARDS", "2"))
CARDS = {"bench-card-a4.pdf": "", "bench-card-letter.pdf": ""}


@cache
def fits(text):
    """The length that was agreed, and no line wider than the sheet."""
    lines = text.splitlines()
    return len(lines) <= MOST == 80 and max(len(line) for line in lines) <= WIDTH == 96


def assessed(name):
    return bodygen.assess(bodygen.read_recipe(PARAMS / f"{name}.toml"))


@pytest.mark.parametrize("name", DEMOS if MORE else DEMOS[:2])
def test_it_has_at_most_80_lines_of_96_and_every_figure_of_the_bench(name):
    a = assessed(name)
    text = build_sheet(a, CARDS)
    assert fits(text)
    assert all(f"{stage.mass:.2f} g" in text for stage in a.weighed.stages)
    assert f"reserve of {a.flotation.reserve_g:+.2f} g" in text
    flat = " ".join(text.split())
    assert load("cautions")["defer"]["text"] in flat
    assert all(title in flat for title, _ in cautions(a.recipe))
    assert "index.html" in text
    assert f"bench-card-{'letter' if a.recipe.units == 'in' else 'a4'}.pdf" in text


@pytest.mark.parametrize("seed", range(RANDOM))
def test_so_it_is_of_random_baits_with_many_doubts_and_cautions(seed, tmp_path):
    path = random_bait(seed).saved(tmp_path)
    try:
        a = bodygen.assess(bodygen.read_recipe(path))
    except BodygenError:
        pytest.skip("no sound bait")
    text = build_sheet(a, CARDS, tuple(load("cautions")["caution"]))
    assert fits(text)


def test_doubts_that_have_no_room_are_counted_and_the_page_named():
    a = assessed("tarn-perch-70")
    many = replace(a, findings=a.findings * 20)
    text = build_sheet(many, CARDS)
    assert fits(text)
    line = next(line for line in text.splitlines() if line.startswith("and "))
    shown = sum(line.startswith(("note  ", "warning  ")) for line in text.splitlines())
    assert line == f"and {20 * len(a.findings) - shown} more; all of them, with whose rule each is: index.html"


def test_without_the_card_it_says_how_to_make_one():
    text = build_sheet(assessed("beck-dace-80"), {})
    assert "bench-card" not in text
    assert "--only card" in text
