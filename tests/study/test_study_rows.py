"""One design, one row; the table; what a row says is what `weigh --json` says of the recipe that it stands for."""

import json

import pyarrow.csv
import pyarrow.parquet
import pytest
from leaves import BAIT, STUDY

import bodygen
from bodygen.cli import main
from bodygen.errors import InputError
from bodygen.study.engine.store import ROWS
from bodygen.study.plan.designs import designs_of
from bodygen.study.record import place_of
from bodygen.study.rows import row as rows_of
from bodygen.study.rows.table import read_table
from bodygen.study.said.read import read_study

EMPTY = pyarrow.csv.ConvertOptions(strings_can_be_null=True)
MASSES = {"B1": 400, "B2": 800}
BOARDS = "".join(f'[[board]]\nname = "{name}"\nsize = [900, 120, 22]\nmass = {g}\n' for name, g in MASSES.items())
SMALL = STUDY.replace('key = "wood.species"\nvalues = ["balsa", "basswood"]', 'key = "bore[1].x"\nvalues = [20, 49]')


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rows")
    (folder / "leaf.toml").write_text(BAIT, encoding="utf-8")
    (folder / "leaves.toml").write_text(SMALL + BOARDS, encoding="utf-8")
    return folder, bodygen.run_study(folder / "leaves.toml", folder / "out")


def test_csv_and_parquet_have_the_same_rows_with_units_in_their_names(made):
    _, studied = made
    table = pyarrow.parquet.read_table(studied.folder / "table.parquet")
    other = pyarrow.csv.read_csv(
        studied.folder / "table.csv", convert_options=pyarrow.csv.ConvertOptions(strings_can_be_null=True)
    )
    assert table.column_names == other.column_names == studied.document["columns"]
    plain = [{k: v for k, v in row.items() if v not in {None, ""}} for row in table.to_pylist()]
    assert plain == [{k: v for k, v in row.items() if v not in {None, ""}} for row in other.to_pylist()]
    assert [row["number"] for row in table.to_pylist()] == [1, 2, 3, 4, 5, 6]
    assert {row["seed"] for row in table.to_pylist()} == {5}
    assert {"shape_thickness_mm", "bore_1_lean_deg", "bore_1_x_mm", "float_reserve_g"} <= {*table.column_names}


def test_a_design_that_fails_is_a_row_with_its_finding_and_no_stop(made):
    """A bore at 49 of 50 mm has no wood under it."""
    _, studied = made
    table = list(read_table(studied.folder))
    failed = [row for row in table if row["failed"]]
    assert {row["bore_1_x_mm"] for row in failed} == {49.0}
    assert {row["bore_1_x_mm"] for row in table if not row["failed"]} == {20.0}
    assert all(row["where"] and row["why"] for row in failed)
    assert studied.document["failed"] == len(failed)
    assert studied.document["rows"] == len(table) == 6


def test_a_row_is_what_weigh_says_of_the_recipe_that_it_stands_for(made, tmp_path, monkeypatch, capsys):
    folder, studied = made
    row = next(row for row in read_table(studied.folder) if not row["failed"])
    monkeypatch.chdir(tmp_path)
    assert main(["study", str(folder / "leaves.toml"), "--take", str(row["number"])]) == 0
    taken = capsys.readouterr().out.strip()
    assert taken == f"leaves-{row['number']}.toml"
    assert main(["weigh", taken, "--json"]) in {0, 1}
    document = json.loads(capsys.readouterr().out)
    assert document["float"]["reserve_g"] == row["float_reserve_g"]
    assert document["float"]["state"] == row["state"]
    assert document["body"]["centroid_mm"][0] == row["body_centroid_mm_1"]
    assert next(s for s in document["stages"] if s["name"] == "drilled")["mass_g"] == row["stages_drilled_mass_g"]
    assert " ".join(dict.fromkeys(f["code"] for f in document["findings"])) == row["findings"]
    assert document["body"]["wood_density_g_cm3"] == pytest.approx(
        {"B1": 400, "B2": 800}[row["board"]] / 2376, rel=1e-8
    )


def test_what_is_there_is_never_written_over_unasked_and_a_second_run_works_nothing_out(made, monkeypatch):
    folder, studied = made
    before = (studied.folder / "table.csv").read_bytes()
    with pytest.raises(InputError, match=r"--resume goes on from them .* --replace begins anew"):
        bodygen.run_study(folder / "leaves.toml", folder / "out")
    monkeypatch.setattr(rows_of, "assess", lambda _: pytest.fail("worked out twice"))
    bodygen.run_study(folder / "leaves.toml", folder / "out", resume=True)
    assert (studied.folder / "table.csv").read_bytes() == before
    monkeypatch.undo()
    (folder / "leaves.toml").write_text((SMALL + BOARDS).replace("seed = 5", "seed = 6"), encoding="utf-8")
    with pytest.raises(InputError, match=r"the table of another study.*\n.*--replace"):
        bodygen.run_study(folder / "leaves.toml", folder / "out", resume=True)
    (folder / "leaves.toml").write_text(SMALL + BOARDS, encoding="utf-8")


def test_a_table_of_something_else_is_neither_written_over_nor_taken_from(made, tmp_path):
    """Also where no study.json says what it is, as of a table that somebody put there by hand."""
    study = read_study(made[0] / "leaves.toml")
    table = tmp_path / "leaves" / "table.csv"
    table.parent.mkdir()
    table.write_text("my,own\n", encoding="utf-8")
    with pytest.raises(InputError, match="table of another study"):
        place_of(study, tmp_path, resume=False, replace=False)
    with pytest.raises(InputError, match="table of another study"):
        bodygen.take_row(study.path, 1, tmp_path, out=tmp_path)
    assert table.read_text(encoding="utf-8") == "my,own\n"
    with pytest.raises(InputError, match="is not a folder"):
        place_of(study, table, resume=False, replace=False)


def test_a_fault_of_our_own_is_a_row_that_says_so(made, monkeypatch):
    folder, studied = made
    study = read_study(folder / "leaves.toml")
    design = next(iter(designs_of(study, study.plan)))
    monkeypatch.setattr(rows_of, "assess", lambda _: 1 / 0)
    row = rows_of.row_of(study, design)
    assert (row["failed"], row["why"]) == ("fault", "ZeroDivisionError: division by zero")
    assert [*row] == studied.document["columns"]


def rows_of_study(folder):
    from bodygen.study.said.read import read_study

    return read_study(folder / "leaves.toml")


def test_no_row_of_an_earlier_run_is_left_in_an_anew_begun_one(made):
    folder, studied = made
    stale = studied.folder / ROWS / "0.jsonl"
    stale.write_text("{}")
    bodygen.run_study(folder / "leaves.toml", folder / "out", replace=True)
    assert not stale.exists()
