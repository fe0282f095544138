"""What a study's page and text say: of a small table, and of searches that find, round, or find nothing."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from amount import only_with_more
from browsing import chromium, violations
from leaves import BAIT, PLAN, RANGES, SEARCH, STUDY
from linked import Links

import bodygen
from bodygen.errors import InputError
from bodygen.study.plan.designs import designs_of
from bodygen.study.report.page import page_of
from bodygen.study.report.results import results_of
from bodygen.study.report.text import document_of, text_of
from bodygen.study.report.told import OfferTold, SearchTold, StudyTold, WishTold, tell
from bodygen.study.rows.row import failed_row, head_of
from bodygen.study.said.model import Design, Plan, Row, Study
from bodygen.study.said.read import read_study
from bodygen.study.searching import design_at_point, design_of_row, search, searched

BOARDS = "".join(f'[[board]]\nname = "{n}"\nsize = [900, 120, 22]\nmass = {g}\n' for n, g in (("B1", 400), ("B2", 800)))
LIMIT = '[[limit]]\nfigure = "float.reserve_g"\nleast = 1.0\nmost = 3.0\n'
DRILLED = '[[limit]]\nfigure = "stages[drilled].mass_g"\nleast = 0.5\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    (folder / "leaf.toml").write_text(BAIT, encoding="utf-8")
    return folder


def read(folder: Path, text: str) -> Study:
    (folder / "leaves.toml").write_text(text, encoding="utf-8")
    return read_study(folder / "leaves.toml")


def made_up(study: Study, design: Design) -> Row:
    """A row whose reserve is a plain sum of what varies: 2 of the thickness, 1 of the board; no bait is worked out."""
    row = head_of(study, design)
    reserve = (row["shape_thickness_mm"] - 9) / 3 * 2 + (row["board"] == "B2") + 0.5
    figures = {column.name: reserve if column.name == "float_reserve_g" else 1.0 for column in study.columns}
    return row | figures | {"state": "floats", "findings": "", "failed": None, "where": None, "why": None}


@pytest.fixture(scope="module")
def told(folder) -> StudyTold:
    study = replace(read(folder, STUDY + BOARDS + LIMIT), plan=Plan("latin_hypercube", 400), name="<b>Leaves</b>")
    designs = list(designs_of(study, study.plan))
    rows = [made_up(study, design) for design in designs]
    rows[49::50] = [failed_row(study, design, "bore-near-skin", "bore[1]", "shallower") for design in designs[49::50]]
    return tell(study, results_of(study, rows))


def test_counts_rates_and_failures_are_those_of_the_rows(told):
    reserve, kept = told.results.figures["float_reserve_g"], told.results.made
    inside = kept & (reserve >= 1) & (reserve <= 3)
    assert told.passed == np.sum(inside)
    assert [(one.code, one.count, one.first) for one in told.failures] == [("bore-near-skin", 8, 50)]
    every, *boards = told.rates
    assert (every.passed, every.of) == (told.passed, 400)
    of_b1 = told.results.varied["board"] == "B1"
    assert (boards[0].passed, boards[0].of) == (np.sum(inside & of_b1), np.sum(of_b1))
    assert sum(one.passed for one in boards) == told.passed


def test_what_decides_a_sum_is_told_by_its_variances(told):
    """Variances 4/12 of the thickness and 1/4 of the board: 57 and 43 %; within their intervals."""
    shares = {one.varied: one.alone for one in told.decides if one.figure == "float_reserve_g"}
    assert shares["shape_thickness_mm"].value == pytest.approx(4 / 7, abs=0.06)
    assert shares["board"].value == pytest.approx(3 / 7, abs=0.06)
    assert re.search(r"shape\.thickness decides \d+ % \(\d+ to \d+ %\) of the float reserve; the board", text_of(told))
    assert document_of(told)["decides"][0]["figure"] == "float_reserve_g"


def test_the_page_needs_nothing_else_and_escapes_what_people_wrote(told):
    page = page_of(told, ("table.csv",))
    assert "<b>Leaves" not in page
    assert "&lt;b&gt;Leaves" in page
    assert "<script" not in page
    assert not re.search(r"(?:src|href)=[\"'](?:https?:)?//|url\(|@import", page)
    assert f"bodygen study {told.study.path.as_posix()} --take" in page  # from where the study was worked out
    assert "a bore" in page  # the finding's own sentence
    _Balanced().check(page)


def test_the_page_says_what_is_asked_on_the_makers_ruler_and_what_is_taken_for_granted(folder):
    """9/16 in are 14.2875 mm; a board of 900 x 120 x 22 mm and 800 g is 0.337 g/cm3."""
    bait = BAIT.replace('name = "Tarn leaf"', 'name = "Tarn leaf"\nunits = "in"')
    for number in ("50", "14", "10", "20"):
        bait = bait.replace(f" = {number}\n", f' = "{number} mm"\n')
    bait = bait.replace("= 3\n", '= "3 mm"\n').replace("= 60", '= "60 mm"').replace("= 12", '= "12 mm"')
    (folder / "inches.toml").write_text(bait.replace("= 16", '= "16 mm"'), encoding="utf-8")
    text = STUDY.replace('"leaf.toml"', '"inches.toml"').replace('"9 mm"', '"5/16 in"').replace('"1.2 cm"', '"7/16 in"')
    boards = BOARDS.replace("[900, 120, 22]", '["900 mm", "120 mm", "22 mm"]')
    study = read(folder, text + boards)
    designs = list(designs_of(study, study.plan))
    page = page_of(tell(study, results_of(study, [made_up(study, design) for design in designs])), ())
    assert "<li>shape.thickness from 5/16 in (0.312) to 7/16 in (0.438)</li>" in page
    assert "0.337 g/cm3 all through" in page
    assert "blanks of one board differ, by about 3 %" in page


def test_a_small_share_does_not_stand_first_where_the_large_one_is_not_told(told):
    shares = [
        replace(one, alone=replace(one.alone, low=0.2, high=0.9) if one.alone.value > 0.5 else one.alone)
        for one in told.decides
    ]
    said = text_of(replace(told, decides=tuple(shares)))
    assert re.search(r"What decides float reserve most is not told by so few designs; the board \d+ % \(", said)


def test_of_a_grid_every_design_is_there_and_no_rate_is_estimated(folder):
    grid = '[plan]\nhow = "grid"\n[[vary]]\nkey = "shape.thickness"\nfrom = "9 mm"\nto = "12 mm"\nsteps = 4\n'
    study = read(folder, STUDY[: STUDY.index("[plan]")] + grid + BOARDS + LIMIT)
    told = tell(study, results_of(study, [made_up(study, design) for design in designs_of(study, study.plan)]))
    # reserve 0.5, 1.17, 1.83, 2.5 g of B1, 1 g more of B2; from 1 to 3 g pass
    assert [(one.what, one.passed, one.of, one.low, one.high) for one in told.rates] == [
        ("", 6, 8, 0.75, 0.75), ("B1", 3, 4, 0.75, 0.75), ("B2", 3, 4, 0.75, 0.75),
    ]  # fmt: skip
    said = text_of(told)
    assert "  75 % pass (6 of 8)" in said
    # variances 5/4 (2/3)^2 = 5/9 and 1/4
    assert "shape.thickness decides 69 % of the float reserve; the board 31 %." in said
    assert "interval" not in page_of(told, ())


def test_few_designs_tell_no_rate_and_no_share(folder):
    study = replace(read(folder, STUDY + BOARDS + LIMIT), plan=Plan("monte_carlo", 12))
    told = tell(study, results_of(study, [made_up(study, design) for design in designs_of(study, study.plan)]))
    said = text_of(told)
    assert "not told by so few designs" in said
    assert not re.search(r"\d % pass", said)
    assert told.decides == ()
    assert document_of(told)["pass_rate"]["share"] is None


def test_a_plan_for_sensitivities_has_two_samples_and_one_more_for_each_thing(folder):
    text = STUDY.replace(PLAN, '[plan]\nhow = "sobol"\ndesigns = 8\nsensitivities = true\n') + BOARDS
    study = read(folder, text)
    designs = list(designs_of(study, study.plan))
    things = len(study.varied) + 1
    assert len(designs) == study.plan.designs == 8 * (2 + things)
    said = np.array([[text for _, text in design.changes] for design in designs]).reshape(2 + things, 8, -1)
    a, b, *mixed = said
    for k, block in enumerate(mixed):
        for column in range(said.shape[-1]):
            other = b if column == k else a
            assert list(block[:, column]) == list(other[:, column])


def test_a_search_gives_rows_and_says_when_a_target_is_met(folder):
    study = read(folder, RANGES.replace(PLAN, SEARCH) + BOARDS)
    found, rows = search(study, lambda designs: [made_up(study, design) for design in designs])
    told = searched(study, found)
    row = rows[found.offers[0].design]
    assert row["float_reserve_g"] == pytest.approx(2.0, abs=0.1)
    assert told.says == (
        f"{len(rows)} designs were tried, 0 of them cannot be made. Row {row['number']} meets every target.",
    )
    assert [one["number"] for one in rows] == list(range(1, len(rows) + 1))
    point = found.tried[found.offers[0].design][0]
    assert design_of_row(study, row) == design_at_point(study, int(row["number"]), point)
    assert 'shape.thickness = "' in told.offers[0].toml


def test_the_limit_that_stands_in_the_way_is_named_with_the_nearest(folder):
    limits = LIMIT.replace("least = 1.0\nmost = 3.0", "most = 0.25") + DRILLED
    study = read(folder, RANGES.replace(PLAN, SEARCH) + limits)
    found, _ = search(study, lambda designs: [made_up(study, replace(design, board="B1")) for design in designs])
    says = searched(study, found).says
    assert "None is within all limits" in says[0]
    assert says[1].startswith("float reserve at most 0.25 g stands in the way")
    # the least reserve there is, 0.5 g at 9 mm, is 0.25 above the limit; sixty designs come within 0.02 of it
    assert float(says[1].removesuffix(" g.").rpartition(" ")[2]) == pytest.approx(0.25, abs=0.02)
    assert not found.offers[0].within_limits


def test_a_search_where_all_designs_fail_ends_and_says_so(folder):
    study = read(folder, RANGES.replace(PLAN, SEARCH))
    found, rows = search(
        study, lambda designs: [failed_row(study, d, "mistake", "bore[1].depth", "too deep") for d in designs]
    )
    assert found.failed == len(rows) > 0
    assert "There is nothing to offer" in searched(study, found).says[0]
    told = tell(study, results_of(study, rows), searched(study, found))
    assert "mistake" in page_of(told, ())
    assert f"{len(rows)} that cannot be made" in text_of(told)


def test_the_same_seed_tries_the_same_designs_however_they_come_back(folder):
    study = read(folder, RANGES.replace(PLAN, SEARCH) + BOARDS)
    one, _ = search(study, lambda designs: [made_up(study, design) for design in designs])
    other, _ = search(study, lambda designs: [made_up(study, design) for design in reversed(designs)][::-1])
    assert one.tried == other.tried
    assert one.offers == other.offers


def test_a_front_is_drawn_with_its_offers(folder, told):
    n = len(told.results)
    values = tuple(float(v) for v in range(n))
    wishes = (WishTold("float reserve", "g", values), WishTold("total mass", "g", values[::-1]))
    offers = tuple(OfferTold(k, k, "x = 1", (("float reserve", "least", "1 g"),)) for k in (3, 200))
    page = page_of(replace(told, search=SearchTold(("two",), offers, wishes, (1, 3, 200))), ())
    assert page.count('class="offer"') == 2
    assert 'class="front"' in page
    assert page.count('<td role="cell" data-name="float reserve: least">1 g</td>') == 2
    _Balanced().check(page)


@only_with_more
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_on_a_phone_nothing_of_a_report_is_pushed_aside_and_a_table_is_still_one(theme, told, tmp_path):
    """What is to be written for each design stands below its figures; on a wide screen it is the row's last column."""
    lines = "\n".join(f'shape.back.fractions[{i}][2] = "{i}/64 in"' for i in range(3))
    rows = tuple((f"{name} of the whole bait", "as much as can be", "1.234 m (0.9 to 1.6)") for name in "abcd")
    offers = tuple(OfferTold(k, k, lines, rows) for k in (3, 200))
    path = tmp_path / "report.html"
    path.write_text(page_of(replace(told, search=SearchTold(("two",), offers, (), (3, 200))), ()), encoding="utf-8")
    with chromium() as browser:
        page = browser.new_page(viewport={"width": 390, "height": 800}, color_scheme=theme)
        page.goto(path.as_uri())
        aside = "[...document.querySelectorAll('*')].filter(e => e.scrollWidth > Math.max(e.clientWidth, 1)).length"
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        assert page.evaluate(aside.replace("'*'", "'.wide, .wide *'")) == 0
        assert page.get_by_role("row").filter(has_text="1.234 m").count() == 2
        assert not violations(page)
        page.set_viewport_size({"width": 1280, "height": 800})
        tops = page.evaluate("[...document.querySelectorAll('.coded tbody tr')[0].children].map(e => e.offsetTop)")
        assert len({*tops}) == 1
        page.close()


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ('[[limit]]\nfigure = "float.reserv_g"\nleast = 1\n', "Did you mean float.reserve_g?"),
        ('[[limit]]\nfigure = "float.reserve_g"\n', "says neither least nor most"),
        ('[[limit]]\nfigure = "float.reserve_g"\nleast = 3\nmost = 1\n', "less than least, 3"),
        ('[[limit]]\nfigure = "float.state"\nleast = 3\n', "no number"),
        ('[[aim]]\nfigure = "float.pitch_deg"\ntarget = 0\n', "a target of 0 has no share of itself"),
        ('[[aim]]\nfigure = "float.pitch_deg"\n', "says neither target and as_can_be"),
        ('[[aim]]\nfigure = "float.reserve_g"\ntarget = 1\n', "aims are for a search"),
        ("[search]\ndesigns = 5\n", "[search] with designs in place of [plan]: it begins with a sample of its own"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_wishes_is_told_with_its_place(folder, table, told):
    with pytest.raises(InputError) as refused:
        read(folder, STUDY + table)
    assert told in str(refused.value)
    assert re.search(r"leaves\.toml:\d+: (?:limit|aim|search)", str(refused.value))


def test_chance_cannot_be_chosen_by_a_search(folder):
    with pytest.raises(InputError, match="chance cannot be chosen"):
        read(folder, STUDY.replace(PLAN, SEARCH))


def test_a_searchs_row_is_taken_from_its_table(folder, tmp_path):
    text = RANGES.replace(PLAN, SEARCH.replace("60", "6"))
    (folder / "leaves.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="there is no table here"):
        bodygen.take_row(folder / "leaves.toml", 2, tmp_path, out=tmp_path / "out")
    studied = bodygen.run_study(folder / "leaves.toml", tmp_path / "out")
    made = bodygen.take_row(folder / "leaves.toml", 2, tmp_path, out=tmp_path / "out")
    rows = (studied.folder / "table.csv").read_text().splitlines()
    row = dict(zip(rows[0].split(","), rows[2].split(","), strict=False))
    floats = bodygen.properties(bodygen.assess(bodygen.read_recipe(made)))["float"]
    # the table has nine digits
    assert floats["reserve_g"] == pytest.approx(float(row["float_reserve_g"]), rel=1e-8)
    page = (studied.folder / "report.html").read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    beside = {one.name for one in studied.folder.iterdir()} - {"report.html"}
    assert {name.rstrip("/") for name in Links(page).files} == beside


class _Balanced(HTMLParser):
    """Every element that is opened is closed, in its order."""

    ALONE = frozenset({"meta", "path", "rect", "circle"})

    def check(self, page: str) -> None:
        self.open: list[str] = []
        self.feed(page)
        assert self.open == []

    def handle_starttag(self, tag: str, _: object) -> None:
        if tag not in self.ALONE:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.ALONE:
            assert self.open.pop() == tag
