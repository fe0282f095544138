"""The words of ``bodygen log``, read, booked and shown. All builds here are made up."""

import csv
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.log.entry import Words, book
from bodygen.log.learned import learned
from bodygen.log.listing import COLUMNS, as_document, export_csv, listing
from bodygen.log.store import builds, log_beside
from bodygen.recipe.model import LineOut, Recipe, Retrieve, Stations
from bodygen.weights.expected import Expectation

RECIPE = Recipe("Tarn perch 70", "in", Stations("b.csv", ()), line=LineOut(0.28, 24.4), retrieve=Retrieve(1.1, 0.9))
EXPECTED = (Expectation("drilled", "wood: basswood", 9.5, 0.9), Expectation("hangers", "", 0.6, 0.0))
DAY = "2031-03-09"
DEMO = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
STAGES = "squared, blank, drilled, hangers, ballast, sealed, painted, cleared, rigged"


@pytest.fixture
def log(tmp_path):
    return tmp_path / "bench-log.sqlite"


def say(log, **words):
    return book(log, RECIPE, Words(day=DAY, **words), lambda: EXPECTED)


def test_the_log_lies_beside_the_recipe(tmp_path):
    assert log_beside(tmp_path / "tarn.toml") == tmp_path / "bench-log.sqlite"


def test_a_build_is_started_and_told_in_one_call(log):
    said = say(log, start="plank 3", weighed=["drilled=9.8 g", "hangers = 0.37 oz"], remark=["close grain"])
    assert said == [
        "build 1 of Tarn perch 70 started on 2031-03-09, board: plank 3",
        "build 1: drilled weighed 9.80 g (0.346 oz)",
        "build 1: hangers weighed 10.49 g (0.370 oz)",
        "build 1: remark written down",
    ]
    assert builds(log)[0].expected == EXPECTED


def test_what_follows_goes_to_the_latest_build_or_to_the_one_asked_for(log):
    say(log, start="")
    say(log, start="")
    say(log, weighed=["drilled=9.1"])
    say(log, weighed=["drilled=9.2"], build=1)
    assert [b.weighed for b in builds(log)] == [{"drilled": 9.2}, {"drilled": 9.1}]


def test_today_is_the_day_unless_another_is_said(log):
    book(log, RECIPE, Words(start=""), lambda: ())
    assert abs((date.fromisoformat(builds(log)[0].day) - date.today()).days) <= 1  # noqa: DTZ011  midnight may pass


def test_a_water_test_is_read_in_the_maker_s_units(log):
    say(log, start="", state="floats", water="53.6 degF", nose="5", reserve="0.05 oz")
    (test,) = builds(log)[0].water_tests
    assert test.water_c == pytest.approx(12.0)
    assert test.nose_deg == pytest.approx(5.0)
    assert test.reserve_g == pytest.approx(1.41748, abs=1e-5)
    assert test.line_mm is None  # no depth, so no conditions of one


def test_a_depth_takes_the_recipe_s_conditions_where_none_are_said(log):
    say(log, start="", state="floats", depth="5 ft", speed="1.3 m/s")
    (test,) = builds(log)[0].water_tests
    assert (test.depth_m, test.line_mm, test.line_out_m, test.speed_m_s, test.tip_height_m) == (
        1.524,
        0.28,
        24.4,
        1.3,
        0.9,
    )


def test_every_mistake_is_told_at_once_and_nothing_is_written(log):
    with pytest.raises(InputError) as refused:
        say(log, start="", weighed=["driled=9", "drilled=9 mm", "9"], state="swims", nose="4 g")
    assert str(refused.value) == (
        'command line: --nose = "4 g": a mass where an angle belongs.\n'
        '    an angle such as "45 deg"; a bare number is in deg\n'
        'command line: --water-test = "swims": say what it did in the water\n'
        "    one of floats, suspends, sinks\n"
        'command line: --weighed = "driled=9": no stage of that name. Did you mean drilled?\n'
        '    STAGE=MASS, such as "drilled=9.8 g"; stages: '
        f"{STAGES}\n"
        'command line: --weighed = "drilled=9 mm": a length where a mass belongs.\n'
        '    a mass such as "14 g", "0.5 oz" or "150 gr"; a bare number is in g\n'
        'command line: --weighed = "9": no reading of a weigh-in\n'
        '    STAGE=MASS, such as "drilled=9.8 g"; stages: '
        f"{STAGES}"
    )
    assert not log.exists()


def test_a_depth_without_conditions_anywhere_is_refused(log):
    bare = Recipe("bare", "mm", Stations("b.csv", ()))
    with pytest.raises(InputError, match=r"(?s)--line: a depth is worth nothing.*--line-out.*--speed"):
        book(log, bare, Words(start="", state="floats", depth="1.2 m"), lambda: ())


def test_a_reading_without_a_build_says_what_to_do(log):
    with pytest.raises(InputError, match=r'no build of Tarn perch 70 yet\n    --start "words for the board"'):
        say(log, weighed=["drilled=9.8"])


def test_an_impossible_reading_starts_no_build(log):
    with pytest.raises(InputError, match="mass_g"):
        say(log, start="", weighed=["drilled=-1"])
    assert not log.exists()


def test_the_listing_holds_readings_against_the_tables_and_says_what_was_learned(log):
    for mass in ("10.4", "10.6"):
        say(log, start="plank 3", weighed=[f"drilled={mass} g"], remark=["ran\nwell"])
    say(log, state="floats", water="12 degC", nose="-3", depth="1.2 m")
    found = builds(log)
    text = listing("Tarn perch 70", found, learned(found, EXPECTED, "Tarn perch 70"), "in")
    assert "build 2   2031-03-09   board: plank 3" in text
    assert "+0.90 g from the tables' 9.50 g" in text
    assert "floats, water 53.6 degF (12.0 degC), nose 3 deg down, ran 3.9 ft (1.20 m) deep at 1.10 m/s" in text
    assert "80.1 ft (24.40 m) of 0.28 mm line out" in text
    assert "ran well" in text
    assert "wood: basswood: x 1." in text
    assert "learned from 2 builds: measured over expected 1.105" in text


def test_an_empty_log_says_so(log):
    assert listing("perch", builds(log), learned((), EXPECTED, "perch"), "mm") == "perch: no build in the log yet\n"


def test_the_document_s_keys_end_in_their_units(log):
    say(log, start="", weighed=["drilled=10.4 g"], state="floats", depth="1 m")
    found = builds(log)
    document = as_document("Tarn perch 70", found, learned(found, EXPECTED, "Tarn perch 70"))
    assert document["builds"][0]["expected"][0] == {
        "stage": "drilled",
        "lot": "wood: basswood",
        "mass_g": 9.5,
        "sd_g": 0.9,
    }
    assert document["builds"][0]["water_tests"][0]["depth_m"] == 1.0


def test_the_csv_holds_every_record_and_reads_back(log, tmp_path):
    say(log, start='plank "3", back', weighed=["drilled=9.8 g"], remark=["two\nlines, and a comma"], state="sinks")
    path = tmp_path / "log.csv"
    path.write_text("an older export", encoding="utf-8")
    assert export_csv(builds(log), path) == 4
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert tuple(rows[0]) == COLUMNS
    assert [row["record"] for row in rows] == ["build", "reading", "water_test", "remark"]
    assert rows[0]["board"] == 'plank "3", back'
    assert (rows[1]["mass_g"], rows[1]["expected_g"]) == ("9.8", "9.5")
    assert rows[3]["text"] == "two\nlines, and a comma"
    assert [p.name for p in sorted(tmp_path.iterdir())] == ["bench-log.sqlite", "log.csv"]


def test_the_csv_never_goes_over_a_recipe(log, tmp_path):
    recipe = tmp_path / "tarn.toml"
    recipe.write_text("format = 1", encoding="utf-8")
    with pytest.raises(InputError, match=r"a name that ends in \.csv"):
        export_csv((), recipe)
    assert recipe.read_text(encoding="utf-8") == "format = 1"


def test_a_text_that_a_spreadsheet_would_run_is_marked_and_a_number_stays_one(log, tmp_path):
    say(log, start="=1+1", remark=["+cmd", "-3", "@sum", "plain"], state="floats", nose="-3 deg")
    path = tmp_path / "log.csv"
    export_csv(builds(log), path)
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert rows[0]["board"] == "'=1+1"
    assert [row["text"] for row in rows if row["record"] == "remark"] == ["'+cmd", "'-3", "'@sum", "plain"]
    assert next(row["nose_deg"] for row in rows if row["record"] == "water_test") == "-3.0"


def test_a_table_that_cannot_be_written_is_refused_before_anything_is_recorded(tmp_path, capsys):
    log = tmp_path / "log.sqlite"
    words = ["log", str(DEMO), "--log", str(log), "--start", "--csv", str(tmp_path / "nowhere" / "a.csv")]
    assert main(words) == 2
    assert not log.exists()
    assert "no place for a file" in capsys.readouterr().err


def test_a_damaged_log_is_listed_as_far_as_it_reads_and_is_exit_code_2(tmp_path, capsys):
    log = tmp_path / "log.sqlite"
    words = ["log", str(DEMO), "--log", str(log)]
    main([*words, "--start", "pale plank", "--remark", "runs true"])
    with closing(sqlite3.connect(log)) as base:
        base.execute("UPDATE remark SET day = 'someday'")
        base.commit()
    capsys.readouterr()
    assert main(words) == 2
    told = capsys.readouterr()
    assert "board: pale plank" in told.out
    assert "runs true" not in told.out
    assert 'build 1, remark 1, day = "someday"' in told.err
