"""`bodygen trim` as a maker types it: words, JSON, exit codes, the log."""

import json
import re
import shutil
from pathlib import Path

import pytest
from amount import only_with_more

from bodygen.cli import main
from bodygen.log import store
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe

PARAMS = Path(__file__).parents[2] / "params"


@pytest.fixture
def perch(tmp_path):
    shutil.copy(PARAMS / "tarn-perch-70.toml", tmp_path)
    return tmp_path / "tarn-perch-70.toml"


def test_a_nose_low_perch_is_told_what_to_do_and_what_the_tub_then_shows(perch, capsys):
    assert main(["trim", str(perch), "--nose", "4 deg", "--spare", "3.0 g", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    first = document["advice"][0]
    assert first["met"]
    assert set(first) >= {"what", "how_easy", "mass_g", "at_mm", "changes", "toml", "predicted", "met"}
    assert abs(first["predicted"]["nose_deg"] - 6.0) <= 1.5
    assert abs(first["predicted"]["spare_g"] - 2.6) <= 0.2
    assert set(document["explains"][0]) == {"what", "change", "unit", "share"}
    assert document["contradicts"] == []
    assert first["toml"]
    assert len(first["changes"]) == first["toml"].count("[[fitting]]") == 2
    before = assess(read_recipe(perch)).total.mass
    perch.write_text(perch.read_text() + "\n" + first["toml"])  # as the recipe really is then
    assert assess(read_recipe(perch)).total.mass - before == pytest.approx(first["mass_g"], abs=0.002)


def test_the_screen_ends_with_the_first_advice_to_paste_before_its_cautions(perch, capsys):
    main(["trim", str(perch), "--nose", "4 deg", "--spare", "3.0 g"])
    out = capsys.readouterr().out
    _, _, rest = out.partition("For the recipe, once the first is done, to append:\n")
    text = rest.partition("\n! ")[0]
    assert text.startswith('    [[fitting]]\n    name = "trim wire on belly treble"\n    mass = "0.3')
    perch.write_text(perch.read_text() + "\n" + text)
    assert "trim wire on tail treble" in [fitting.name for fitting in read_recipe(perch).fittings]


@only_with_more
def test_keys_that_change_in_their_place_are_told_so_and_a_lean_seen_is_told_as_it_will_be(perch, capsys):
    main(["trim", str(perch), "--nose", "10 deg", "--lean", "6 deg"])
    out = capsys.readouterr().out
    assert re.search(r"Finished it is now: nose \+\d.* deg, lean \+\d.* deg, spare", out)
    assert re.search(r"the tub then shows: nose \+\d.* deg, lean \+\d.* deg, spare", out)
    assert "in the place of the keys that are there:\n    [bore.fill]  # of bore[1], the rest of it as it is" in out


def test_a_bait_that_is_read_near_an_edge_of_its_goal_is_told_what_makes_it_surer(perch, capsys):
    main(["trim", str(perch), "--nose", "5 deg", "--spare", "2.7 g", "--json"])
    document = json.loads(capsys.readouterr().out)
    assert document["now"]["met"]
    assert document["advice"][0]["chance"] > 0.9
    assert all(one["how_easy"] <= 2 for one in document["advice"])  # nothing that cannot be undone
    main(["trim", str(perch), "--nose", "5 deg", "--spare", "2.7 g"])
    told = " ".join(capsys.readouterr().out.split())
    assert re.search(r"The goal is met most likely, \d+ times of 100, as it was read; these make it surer", told)


def test_dry_lead_of_1_2_g_reads_as_its_net_weight(perch, capsys):
    """1.2 g of lead nets 1.2 (1 - 0.9992 / 11.34) = 1.094 g."""
    main(["trim", str(perch), "--spare", "1.2 g", "--spare-metal", "lead", "--json"])
    (read,) = json.loads(capsys.readouterr().out)["read"]
    assert read["value"] == pytest.approx(1.094, abs=5e-4)


def test_what_cannot_be_is_refused_with_its_reason_and_exit_code_2(perch, capsys):
    assert main(["trim", str(perch), "--nose", "40 deg", "--spare", "2.6 g"]) == 2
    out = capsys.readouterr().out
    assert "It cannot be" in out
    assert "nose +40.0 deg" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--nose=-95 deg"], '--nose = "-95 deg": no tub shows that.\n    from -90 to 90 deg'),
        (["--at", "3 mm", "--nose", "2"], '--at = "3 mm": says nothing alone.'),
        (["--rises", "fast"], "no rise or fall of a tub."),
        (["--spare-metal", "lead", "--nose", "2"], "says nothing alone.\n    --spare, its dry mass"),
        (["--spare", "40 g"], '--spare = "40 g": wholly under it pushes 12.'),
        (["--nose", "2", "--stage", "blank"], "no stage to float it at."),
        ([], "nothing was seen."),
    ],
)
def test_bad_words_get_one_clear_line(perch, capsys, words, said):
    assert main(["trim", str(perch), *words]) == 2
    assert said in capsys.readouterr().err


def test_what_was_seen_goes_into_the_log_where_it_has_a_build(perch, capsys):
    log = store.log_beside(perch)
    main(["log", str(perch), "--start", "board A"])
    main(["trim", str(perch), "--nose", "6 deg", "--spare", "2.6 g"])
    capsys.readouterr()
    (build,) = store.builds(log)
    assert [(test.nose_deg, test.reserve_g, test.state) for test in build.water_tests] == [(6.0, 2.6, "floats")]
    (test,) = build.water_tests
    assert test.wood_lot == "wood: basswood"
    assert 0.9 < test.wood_ratio < 1.1  # as planned: nose and spare weight are those of the recipe
    main(["log", str(perch)])
    assert f"wood: basswood x {test.wood_ratio:.2f}" in capsys.readouterr().out


def test_a_bait_without_its_lip_and_hooks_is_told_by_its_stage(perch, capsys):
    """At cleared it floats without lip, rings and hooks, and is told as it will be with them."""
    assert main(["trim", str(perch), "--spare", "5 g", "--stage", "cleared", "--json"]) in {0, 1, 2}
    document = json.loads(capsys.readouterr().out)
    assert document["stage"] == "cleared"
