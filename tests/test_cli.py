"""The command line: exit codes, what goes to which stream, and that nothing is left behind."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import bodygen
from bodygen.cli import main
from bodygen.recipe.keys import STAGES

DEMOS = sorted((Path(__file__).parent.parent / "params").glob("*.toml"))
PLAIN = """format = 1
name = "Test bait"
units = "mm"

[shape]
length = 60
depth = 18
thickness = 14

[wood]
species = "basswood"
"""
TOO_DEEP = """
[[bore]]
name = "pit"
kind = "ballast"
from = "belly"
x = 25
diameter = 5
depth = 40
"""


@pytest.fixture
def recipe(tmp_path):
    """Write a recipe and give its path; further tables are appended."""

    def write(more: str = "", name: str = "bait.toml") -> Path:
        path = tmp_path / name
        path.write_text(PLAIN + more, encoding="utf-8")
        return path

    return write


def test_a_sound_design_is_weighed_with_exit_code_0(recipe, capsys):
    assert main(["weigh", str(recipe())]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "The scale should read" in told.out


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_every_demo_is_sound(demo, capsys):
    assert main(["check", str(demo)]) == 0
    assert "reads well" in capsys.readouterr().out


@pytest.mark.parametrize("command", ["weigh", "check"])
def test_json_is_one_document_alone_on_stdout(command, capsys):
    assert main([command, str(DEMOS[0]), "--json"]) == 0
    told = capsys.readouterr()
    assert isinstance(json.loads(told.out), dict)
    assert told.err == ""


def test_weigh_prints_the_keys_that_every_bait_has(capsys):
    main(["weigh", str(DEMOS[-1]), "--json"])
    document = json.loads(capsys.readouterr().out)
    assert {
        "format", "name", "bodygen_version", "recipe_sha256", "body", "items", "stages", "total", "float", "findings",
    } <= document.keys()  # fmt: skip
    assert {
        "length_mm", "depth_mm", "thickness_mm", "volume_cm3", "wetted_area_cm2", "centroid_mm", "cut_volume_cm3",
        "wood_density_g_cm3", "mass_g", "centre_of_mass_mm", "inertia_g_mm2",
    } <= document["body"].keys()  # fmt: skip
    assert {"name", "stage", "mass_g", "at_mm", "displaces_cm3", "displaces_at_mm"} <= document["items"][0].keys()
    assert {"name", "mass_g", "centre_of_mass_mm"} <= document["stages"][0].keys()
    assert [stage["name"] for stage in document["stages"]] == list(STAGES)
    assert {
        "mass_g", "displaced_cm3", "centre_of_mass_mm", "centre_of_buoyancy_mm", "inertia_g_mm2",
    } <= document["total"].keys()  # fmt: skip
    attitude = {
        "pitch_deg", "roll_deg", "freeboard_mm", "gm_mm", "gml_mm", "waterplane_cm2", "submerged_cm3", "stable",
    }  # fmt: skip
    assert {"water_g_cm3", "state", "reserve_g", "others"} | attitude <= document["float"].keys()
    for finding in document["findings"]:
        assert set(finding) == {"code", "severity", "where", "value", "limit", "unit", "remedy", "source"}


def test_a_design_that_breaks_a_rule_is_exit_code_1_and_makes_no_file(recipe, tmp_path, capsys):
    path = recipe(TOO_DEEP)
    assert main(["weigh", str(path)]) == 1
    assert "ERROR" in capsys.readouterr().out
    assert main(["build", str(path), "--out", str(tmp_path / "out")]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "pit" in told.err
    assert not list((tmp_path / "out").glob("**/*"))


def test_every_mistake_of_a_file_is_told_at_once_and_makes_no_file(recipe, tmp_path, capsys):
    text = '[lip]\nsheet = "oak"\nangel = "40 deg"\n[water]\ntemperature = "15 mm"\nsalinity = nan\n'
    assert main(["build", str(recipe(text)), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    for key in ("lip.sheet", "lip.angel", "Did you mean lip.angle?", "water.temperature", "water.salinity"):
        assert key in told.err
    assert "Traceback" not in told.err
    assert not (tmp_path / "out").exists()


def test_a_failed_build_leaves_the_set_before_it(recipe, tmp_path, capsys):
    out = tmp_path / "out"
    assert main(["build", str(recipe()), "--out", str(out), "--only", "lip"]) == 0
    before = {path: path.read_bytes() for path in out.glob("bait/*")}
    assert main(["build", str(recipe(TOO_DEEP)), "--out", str(out)]) == 1
    assert main(["build", str(recipe("[shelf]\n")), "--out", str(out)]) == 2
    assert {path: path.read_bytes() for path in out.glob("bait/*")} == before
    assert [path.name for path in out.iterdir()] == ["bait"]
    capsys.readouterr()


@pytest.mark.parametrize(
    "words",
    [["carve"], ["weigh"], ["weigh", "a.toml", "--fast"], ["new", "x", "--units", "cubit"]],
    ids=["no such command", "no recipe", "no such option", "no such unit"],
)
def test_a_wrong_command_line_is_exit_code_2_with_the_usage(words, capsys):
    assert main(words) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "usage: bodygen" in told.err


def test_the_program_alone_says_what_to_do_first(capsys):
    assert main([]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert "usage" not in told.out
    steps = [line.split()[1] for line in told.out.splitlines() if line.startswith("  bodygen ")]
    assert steps == ["new", "check", "weigh", "ballast", "build"]


def test_two_recipes_of_one_stem_do_not_replace_each_other(recipe, tmp_path, capsys):
    out = ["--out", str(tmp_path / "out"), "--only", "lip"]
    assert main(["build", str(recipe()), *out]) == 0
    other = recipe()
    other.write_text(other.read_text(encoding="utf-8").replace("Test bait", "Other bait"), encoding="utf-8")
    assert main(["build", str(other), *out]) == 2
    told = capsys.readouterr().err
    assert 'holds the files of "Test bait"; this recipe is "Other bait"' in told
    assert main(["build", str(other), *out, "--replace"]) == 0
    assert main(["build", str(other), *out]) == 0


def test_kinds_asked_for_twice_over_are_all_made(recipe, tmp_path):
    out = tmp_path / "out"
    assert main(["build", str(recipe()), "--out", str(out), "--only", "gauges", "--only", "pictures"]) == 0
    assert {"drawing.svg", "gauges-a4.pdf"} <= {path.name for path in (out / "bait").iterdir()}


def test_an_out_that_is_a_file_is_exit_code_2(recipe, tmp_path, capsys):
    (tmp_path / "notes").write_text("x")
    assert main(["build", str(recipe()), "--only", "lip", "--out", str(tmp_path / "notes")]) == 2
    assert "--out" in capsys.readouterr().err


def test_a_recipe_that_is_not_there_is_exit_code_2(tmp_path, capsys):
    assert main(["weigh", str(tmp_path / "none.toml")]) == 2
    assert "none.toml" in capsys.readouterr().err


STAGES_TOLD, MASS_TOLD = "stages: squared, blank, drilled", 'a mass such as "14 g"'


@pytest.mark.parametrize(
    ("reading", "accepted"),
    [("9 g", STAGES_TOLD), ("carved=9 g", STAGES_TOLD), ("drilled=9 mm", MASS_TOLD), ("drilled=", MASS_TOLD)],
)
def test_a_reading_that_is_none_is_exit_code_2_and_shown_with_what_is_accepted(reading, accepted, recipe, capsys):
    assert main(["weigh", str(recipe()), "--weighed", reading]) == 2
    told = capsys.readouterr().err
    assert f'"{reading}"' in told
    assert accepted in told


def test_a_reading_moves_the_weight_to_what_the_scale_said(recipe, capsys):
    path = str(recipe())
    main(["weigh", path, "--json"])
    expected = json.loads(capsys.readouterr().out)["stages"][-1]["mass_g"]
    main(["weigh", path, "--json", "--weighed", f"blank={expected * 1.1:.4f} g"])
    assert json.loads(capsys.readouterr().out)["stages"][-1]["mass_g"] == pytest.approx(expected * 1.1, rel=1e-3)


def test_a_file_outside_the_recipe_s_folder_needs_leave(recipe, tmp_path, capsys):
    stations = (DEMOS[0].parent / "beck-dace-80.csv").read_text(encoding="utf-8")
    (tmp_path / "body.csv").write_text(stations, encoding="utf-8")
    folder = tmp_path / "deeper"
    folder.mkdir()
    path = folder / "bait.toml"
    path.write_text('format = 1\n[wood]\nspecies = "balsa"\n[shape]\nstations = "../body.csv"\n', encoding="utf-8")
    assert main(["weigh", str(path)]) == 2
    assert "--allow-outside" in capsys.readouterr().err
    assert main(["weigh", str(path), "--allow-outside"]) == 0
    capsys.readouterr()


def test_a_fault_of_our_own_is_exit_code_3_without_a_traceback(recipe, capsys, monkeypatch):
    def broken(*_, **__):
        msg = "the saw has no teeth"
        raise RuntimeError(msg)

    monkeypatch.setattr(bodygen, "assess", broken)
    assert main(["weigh", str(recipe())]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert "the saw has no teeth" in told.err
    assert "Traceback" not in told.err
    with pytest.raises(RuntimeError, match="no teeth"):
        main(["--debug", "weigh", str(recipe())])


@pytest.mark.parametrize(
    ("terminal", "no_color", "coloured"), [(True, "", True), (True, "1", False), (False, "", False)]
)
def test_colour_is_for_a_terminal_that_wants_it(terminal, no_color, coloured, recipe, capsys, monkeypatch):
    monkeypatch.setattr(sys.stdout, "isatty", lambda: terminal)
    monkeypatch.setenv("NO_COLOR", no_color)
    monkeypatch.setenv("TERM", "xterm")
    main(["weigh", str(recipe())])
    assert ("\x1b[" in capsys.readouterr().out) is coloured


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_completion_knows_the_commands(shell, capsys):
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    assert all(command in script for command in ("weigh", "build", "allow-outside"))


def test_a_new_recipe_reads_and_weighs(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "Evening bleak", "--size", "3 in", "--units", "in"]) == 0
    written = Path(capsys.readouterr().out.strip())
    assert main(["weigh", str(written)]) == 0
    assert "3 in" in capsys.readouterr().out


def test_the_module_runs_as_the_program_does(recipe):
    done = subprocess.run(
        [sys.executable, "-m", "bodygen", "check", str(recipe())], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "reads well" in done.stdout


def test_a_closed_pipe_ends_quietly(recipe):
    """As in ``bodygen weigh bait.toml | head -1``."""
    command = f'"{sys.executable}" -m bodygen weigh "{recipe()}" | head -n 1'
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "Test bait"
    assert "Traceback" not in done.stderr


NO_WOOD = """
[[bore]]
name = "ballast"
kind = "ballast"
from = "belly"
x = 25
diameter = 6
depth = 9

[[bore]]
name = "belly hanger"
kind = "hanger"
from = "belly"
x = 25
diameter = 2
depth = 5
may_meet = ["ballast"]
"""


def test_a_bore_that_takes_no_wood_is_told_with_file_line_and_remedy(recipe, capsys):
    path = recipe(NO_WOOD)
    line = path.read_text(encoding="utf-8").splitlines().index('name = "belly hanger"')
    assert main(["weigh", str(path)]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == (
        f'{path}:{line}: bore[2]: "belly hanger" takes no wood away:'
        ' it lies wholly in "ballast", which is cut before it\n'
        '    move it, drill it deeper, or write its table before that of "ballast"\n'
    )
    assert main(["weigh", str(path), "--json"]) == 1
    (finding,) = json.loads(capsys.readouterr().out)["findings"]
    assert (finding["severity"], finding["where"]) == ("error", "bore[2]")
    assert "drill it deeper" in finding["remedy"]


def test_cuts_that_leave_no_wood_are_told_and_nothing_is_weighed(recipe, capsys):
    from_nose = NO_WOOD.replace(
        'from = "belly"\nx = 25\ndiameter = 2\ndepth = 5', 'from = "nose"\ndiameter = 60\ndepth = 90'
    )
    path = recipe(from_nose)
    assert main(["weigh", str(path)]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "bore: the cuts take all of the wood away\n    a thinner drill, or less depth\n" in told.err


def test_a_drill_that_points_out_of_the_wood_is_told(recipe, capsys):
    """Its line meets the body all the same, and would have been drilled from the other side."""
    place = 'kind = "hanger"\nfrom = "point"\nat = [25, 0, -14]\ndirection = [0, 0, -1]'
    out = f"[[bore]]\n{place}\ndiameter = 2\ndepth = 5\n"
    path = recipe(out)
    assert main(["weigh", str(path)]) == 2
    line = path.read_text(encoding="utf-8").splitlines().index("direction = [0, 0, -1]") + 1
    told = capsys.readouterr().err
    assert told.startswith(f"{path}:{line}: bore[1].direction: it leads out of the wood (")
    assert "into the wood: [0, 0, 1]" in told
    assert main(["weigh", str(recipe(out.replace("[0, 0, -1]", "[0, 0, 1]")))]) == 0


def test_a_broken_rule_is_json_where_json_is_asked_for(recipe, tmp_path, capsys):
    assert main(["build", str(recipe(TOO_DEEP)), "--json", "--out", str(tmp_path / "out")]) == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    assert {f["severity"] for f in findings} == {"error"}
    assert "bore-breaks-out" in {f["code"] for f in findings}


def test_weigh_and_log_tell_a_misspelt_stage_alike(recipe, tmp_path, capsys):
    told = []
    for words in (["weigh", str(recipe())], ["log", str(recipe()), "--start", "a board"]):
        assert main([*words, "--weighed", "driled=9"]) == 2
        told.append(capsys.readouterr().err)
    assert "Did you mean drilled?" in told[0]
    assert told[0] == told[1]


def test_a_command_loads_its_numbers_on_one_thread_unless_told_otherwise(tmp_path):
    """OpenBLAS reads this as it is loaded: so nothing of the command line may load numpy before it is set."""
    code = "import os, sys; from bodygen.cli import main; print('numpy' in sys.modules); main([]); "
    code += "print(os.environ['OPENBLAS_NUM_THREADS'])"
    free = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    for environment, threads in ((free, "1"), ({**free, "OPENBLAS_NUM_THREADS": "3"}, "3")):
        told = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
        assert (told.stdout.split()[0], told.stdout.split()[-1]) == ("False", threads)


def test_coats_are_told_from_a_day_of_the_command_line_on(recipe, capsys):
    path = str(recipe('\n[[coat]]\nfinish = "two_part_epoxy"\nstage = "cleared"\n'))
    assert main(["weigh", path, "--coats-from", "2031-12-31"]) == 0
    told = capsys.readouterr().out
    assert "Wed 31 Dec 2031" in told
    assert "In the water from Mon 5 Jan 2032" in told  # 120 h after 9 in the morning, two_part_epoxy_slow
    assert "local law" in told
    main(["weigh", path, "--coats-from", "2031-12-31", "--json"])
    assert json.loads(capsys.readouterr().out)["calendar"]["water"] == "2032-01-05T09:00:00"
    assert main(["weigh", path, "--coats-from", "2031-02-30"]) == 2
    assert '--coats-from = "2031-02-30": not a day of the calendar.' in capsys.readouterr().err


def test_a_day_for_coats_that_are_not_there_is_refused(recipe, capsys):
    assert main(["weigh", str(recipe()), "--coats-from", "2031-12-31"]) == 2
    assert "the recipe has no coat" in capsys.readouterr().err


def test_a_build_begins_its_calendar_on_the_day_asked_for_and_anew_on_another(recipe, tmp_path, capsys):
    path = str(recipe('\n[[coat]]\nfinish = "two_part_epoxy"\nstage = "cleared"\n'))
    told = []
    for day in ("2031-12-31", "2032-02-29", "2032-02-29"):
        words = ["build", path, "--out", str(tmp_path / "out"), "--only", "calendar", "--coats-from", day]
        assert main(words) == 0
        told.append((tmp_path / "out" / "bait" / "calendar.txt").read_text(encoding="utf-8"))
        assert "first coat on" in capsys.readouterr().out
    assert "Wed 31 Dec 2031" in told[0]
    assert "Sun 29 Feb 2032" in told[1]
    assert told[1] == told[2]
