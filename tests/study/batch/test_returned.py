"""Filled-in readings: what they tell, and that each piece is in the log once, however often they come back."""

import csv
import json
from functools import cache
from math import prod

import numpy as np
import pytest
from amount import only_with_more
from fifty import STUDY, fifty

from bodygen.errors import InputError
from bodygen.log import store
from bodygen.log.learned import learned
from bodygen.log.record import Reading, WaterTest
from bodygen.log.several import Entry, book_all
from bodygen.pipeline import assess_quickly
from bodygen.recipe.read import read_recipe
from bodygen.study.batch.files import readings_rows
from bodygen.study.batch.planning.ballasting import Ballasting
from bodygen.study.batch.planning.boards import wood_of_board
from bodygen.study.batch.returned import returned
from bodygen.study.batch.run import returned_text, run_of, take_readings
from bodygen.study.batch.told import tell, told_text
from bodygen.study.door import run_study
from bodygen.study.said.read import read_study
from bodygen.version import code_of
from bodygen.weights.expected import expectations


def bench(tmp_path):
    """Study and recipe in a folder of their own, where the log goes, too."""
    (tmp_path / "studies").mkdir()
    (tmp_path / "tarn-perch-70.toml").write_bytes((STUDY.parents[1] / "tarn-perch-70.toml").read_bytes())
    path = tmp_path / "studies" / "fifty.toml"
    path.write_bytes(STUDY.read_bytes())
    return path


@cache
def printed():
    return readings_rows(fifty())


def filled(path, change, between=",", comma=False):
    """Write the readings with what ``change`` puts into each row."""
    rows = [{key: "" if value is None else str(value) for key, value in row.items()} for row in printed()]
    for number, row in enumerate(rows):
        row |= {key: str(value) for key, value in change(number, row).items()}
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=between)
        writer.writeheader()
        for row in rows:
            figures = {k: v.replace(".", ",") if comma and v[-1:].isdigit() else v for k, v in row.items()}
            writer.writerow(figures)
    return path


def weighed_out(number, row):
    """Blanks 1 % heavy and 2 % apart; drilled and filled by the table; clear coats 0.1 g thick; tubs 0.1 g apart."""
    chance = np.random.default_rng(number)
    blank = round(float(row["squared_expected_g"]) * (1.01 + 0.02 * chance.normal()), 1)
    got = {"squared_g": blank, "reserve_g": round(2.6 + 0.1 * chance.normal(), 2), "nose_deg": 6}
    return got | made_of(blank, float(row["squared_expected_g"]))


@cache
def ballasting():
    recipe = read_recipe(STUDY.parents[1] / "tarn-perch-70.toml")
    return Ballasting(recipe, 0, assess_quickly, 0.41)


def made_of(blank, _):
    block = prod((76.2, 22.225, 26.9875))
    density = blank * 1000 / block
    masses = ballasting().chosen(density, (2.2, 3.0)).masses_at(density)
    more = {"cleared": 0.1, "rigged": 0.1}
    return {
        f"{stage}_g": round(masses[stage] + more.get(stage, 0.0), 3)
        for stage in ("drilled", "ballast", "cleared", "rigged")
    }


def test_readings_are_held_against_each_pieces_own_blank_and_logged_once(tmp_path):
    path = bench(tmp_path)
    file = filled(tmp_path / "back.csv", weighed_out, between=";", comma=True)
    first = take_readings(read_study(path), file)
    told = {off.name: off for off in first.told.stages}
    assert (first.told.told, first.told.floated, first.told.passed) == (50, 50, 50)
    for stage, off in (("drilled", 0.0), ("ballast", 0.0), ("cleared", 0.1), ("rigged", 0.1)):
        assert told[stage].mean == pytest.approx(off, abs=0.01)  # what was put on, and not what blanks differ by
        assert told[stage].deviation < 0.02
    assert sum(started for _, _, started, _ in first.booked) == 50
    again = take_readings(read_study(path), file)
    assert all((started, written) == (False, 0) for _, _, started, written in again.booked)
    builds = store.builds(first.log)
    assert len(builds) == 50
    assert len({build.remarks[0].text for build in builds}) == 50
    assert {build.board for build in builds} == {f"B{n}" for n in range(1, 7)}
    assert all(len(build.readings) == 5 and len(build.water_tests) == 1 for build in builds)


@only_with_more
def test_the_next_run_learns_from_the_last_one(tmp_path):
    path = bench(tmp_path)
    before = run_of(read_study(path))
    back = take_readings(read_study(path), filled(tmp_path / "back.csv", weighed_out))
    after = run_of(read_study(path))
    for old, new in zip(before.used, after.used, strict=True):
        assert new.wood.density > old.wood.density  # blanks came out 1 % heavy
        assert new.wood.cov < old.wood.cov  # and nearer together than common practice has it
    builds = store.builds(back.log)
    a = assess_quickly(ballasting().recipe)
    taught = learned(builds, expectations(a.recipe, a.measured), a.recipe.name, "B1")
    assert {factor.lot for factor in taught.factors} >= {"wood: basswood", "metal: bismuth_tin_58_42"}
    assert after.pieces[0].made.masses["cleared"] != before.pieces[0].made.masses["cleared"]


@only_with_more
def test_later_readings_go_into_the_same_builds(tmp_path):
    path = bench(tmp_path)
    blanks = filled(tmp_path / "blanks.csv", lambda n, _: {"squared_g": 18.9} if n < 3 else {})
    first = take_readings(read_study(path), blanks)
    more = filled(tmp_path / "more.csv", lambda n, _: {"squared_g": 18.9, "reserve_g": 2.5} if n < 4 else {})
    second = take_readings(read_study(path), more)
    assert [(started, written) for *_, started, written in first.booked] == [(True, 1)] * 3
    assert [(started, written) for *_, started, written in second.booked] == [(False, 1)] * 3 + [(True, 2)]
    mended = filled(tmp_path / "mended.csv", lambda n, _: {"squared_g": 19.1} if n == 0 else {})
    take_readings(read_study(path), mended)
    assert store.builds(first.log)[0].weighed["squared"] == 19.1


def test_a_piece_is_known_by_its_mark_in_one_transaction(tmp_path):
    log = tmp_path / "log.sqlite"
    entry = Entry(
        "run 1, piece P01", "B1", (), (Reading("squared", 18.9, "2031-03-04"), WaterTest("2031-03-04", "floats"))
    )
    assert book_all(log, "Perch", "ab", "2031-03-04", [entry]) == [(1, True, 2)]
    assert book_all(log, "Perch", "ab", "2031-03-09", [entry]) == [(1, False, 0)]  # the day makes nothing another
    assert book_all(log, "Roach", "ab", "2031-03-09", [entry]) == [(2, True, 2)]
    bad = Entry("run 1, piece P02", "B1", (), (Reading("squared", -1.0, "2031-03-04"),))
    with pytest.raises(InputError):
        book_all(log, "Perch", "ab", "2031-03-04", [Entry("run 1, piece P03", "B1", (), ()), bad])
    assert len(store.builds(log)) == 2


def refused(tmp_path, change):
    recipe = ballasting().recipe
    with pytest.raises(InputError) as error:
        returned(filled(tmp_path / "back.csv", change), code_of(recipe.sha256), run_lots())
    return str(error.value).replace(f"{tmp_path.as_posix()}/", "")


def run_lots():
    return read_study(STUDY).batch.lots


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ({"squared_g": "18.9 kg/m3"}, 'back.csv:3: squared_g = "18.9 kg/m3": a density where a mass belongs.'),
        ({"squared_g": "-3"}, 'back.csv:3: squared_g = "-3": nothing weighs or measures that.'),
        ({"state": "floated"}, 'back.csv:3: state = "floated": no such state. Did you mean floats?'),
        (
            {"code": "12345678"},
            'back.csv:3: code = "12345678": of another recipe, or of this one before it was changed.',
        ),
        ({"piece": "P01"}, 'back.csv:3: piece = "P01": stands in line 2 already.'),
        ({"piece": "P99"}, 'back.csv:3: piece = "P99": no such piece in the study.\n    P01 to P50'),
        ({"board": ""}, 'back.csv:3: board = "": empty.'),
        ({"run": "12345678"}, 'back.csv:3: run = "12345678": another run than in line 2.'),
        ({"rigged_g": "99.7"}, 'back.csv:3: rigged_g = "99.7": far off 9.966, which was expected; a slip?'),
        ({"squared_g": "1.89"}, 'back.csv:3: squared_g = "1.89": far off 18.853, which was expected; a slip?'),
        ({"reserve_g": "26"}, 'back.csv:3: reserve_g = "26": far off 2.573, which was expected; a slip?'),
        ({"nose_deg": "610"}, 'back.csv:3: nose_deg = "610": far off 6.1, which was expected; a slip?'),
    ],
)
def test_a_cell_that_cannot_be_read_has_its_line_and_column(cell, said, tmp_path):
    assert said in refused(tmp_path, lambda n, _: cell if n == 1 else {})


def test_two_pieces_that_were_swapped_are_named(tmp_path):
    """P01 of B1 should read 18.9 g and P20 of B3 20.2 g; each as the other's, and P02 just heavy."""
    cells = {0: {"squared_g": 20.2}, 1: {"squared_g": 20.2}, 19: {"squared_g": 18.8}}
    file = filled(tmp_path / "back.csv", lambda n, _: cells.get(n, {}))
    reads = returned(file, code_of(ballasting().recipe.sha256), run_lots())
    told = tell("Fifty", reads, run_lots(), (76.2, 22.225, 26.9875), ballasting())
    assert told.swapped == (("P01", "P20"), ("P02", "P20"))
    assert "  P01 and P20: each blank weighs what the other's should; were they swapped?" in told_text(told)


def test_decimal_commas_are_read_between_commas_too(tmp_path):
    """A spreadsheet that is told to part cells by commas quotes such figures."""
    file = filled(
        tmp_path / "back.csv", lambda n, _: {"reserve_g": 2.5, "squared_g": 18.5} if n < 2 else {}, comma=True
    )
    reads = returned(file, code_of(ballasting().recipe.sha256), run_lots())
    assert [(one.reserve, one.read["squared"]) for one in reads[:2]] == [(2.5, 18.5)] * 2
    assert reads[0].expected["squared"] == 18.853


def test_a_table_without_its_columns_says_which(tmp_path):
    file = tmp_path / "back.csv"
    file.write_text("pice,board\nP01,B1\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"back\.csv:1: piece: no such column\. Did you mean pice\?"):
        returned(file, "", ())


def test_who_does_not_pass_is_named(tmp_path):
    file = filled(tmp_path / "back.csv", lambda n, _: {"reserve_g": 1.9 if n == 6 else 2.5} if n < 12 else {})
    reads = returned(file, code_of(ballasting().recipe.sha256), run_lots())
    told = tell("Fifty", reads, run_lots(), (76.2, 22.225, 26.9875), ballasting())
    assert (told.told, told.floated, told.passed) == (12, 12, 11)
    assert told_text(told).splitlines()[1] == "  P07  reserve +1.90 g, wanted +2.20 to +3.00 g"


@only_with_more
def test_readings_of_a_run_that_the_file_no_longer_asks_for_are_told_as_such(tmp_path):
    path = bench(tmp_path)
    file = filled(tmp_path / "back.csv", lambda n, _: {"reserve_g": 2.5} if n < 3 else {})
    first = take_readings(read_study(path), file)
    assert first.run == first.planned == fifty().code
    assert "asks for run" not in returned_text(first)
    path.write_text(path.read_text().replace('["2.2 g", "3.0 g"]', '["2.2 g", "2.4 g"]'), encoding="utf-8")
    then = take_readings(read_study(path), file)
    assert (then.told.passed, then.run, then.planned == then.run) == (0, fifty().code, False)
    said = f"the table is of run {then.run}, and the study's file asks for run {then.planned} now"
    assert said in returned_text(then)


@only_with_more
def test_a_filled_in_table_is_not_written_over(tmp_path):
    path = bench(tmp_path)
    made = run_study(path, tmp_path / "out")
    assert json.loads((made.folder / "batch.json").read_text("utf-8"))["pieces"][0]["label"] == "P01"
    run_study(path, tmp_path / "out")
    table = made.folder / "readings.csv"
    table.write_text(table.read_text("utf-8").replace("P01,,B1", "P01,,B1 "), encoding="utf-8")
    with pytest.raises(InputError, match=r"readings\.csv: something was written into it"):
        run_study(path, tmp_path / "out")
    run_study(path, tmp_path / "out", replace=True)


def test_a_board_is_known_by_what_was_weighed_of_it():
    """Two readings alike sure: half way; a thousand blanks: their own mean. By hand."""
    wood = ballasting().recipe.wood
    assert wood_of_board("B", 0.40, [], wood, (), None).density == 0.40
    one = wood_of_board("B", 0.40, [0.40], wood, (), 0.015)
    assert one.density == pytest.approx(0.40)
    even = wood_of_board("B", 0.40, [0.42], wood, (), 0.015 * 0.40 / 0.42)  # 0.006 g/cm3 both
    assert even.density == pytest.approx(0.41)
    many = wood_of_board("B", 0.40, [0.42] * 1000, wood, (), 0.015)
    assert many.density == pytest.approx(0.42, abs=1e-4)
