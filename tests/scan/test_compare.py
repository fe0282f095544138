"""Two baits over each other and several copies of one: figures against closed forms and against what was put in."""

import json
import xml.etree.ElementTree as ET

import manifold3d
import measured
import numpy as np
import pytest
import scans
import traced

from bodygen.cli import main
from bodygen.export.stl import write_stl
from bodygen.mesh.cut import to_mesh
from bodygen.report.properties import as_json
from bodygen.scan.copies.compared import as_text, compare
from bodygen.scan.copies.pose import places_on, upright
from bodygen.scan.copies.specimen import specimen_of, squareness_of

PERCH = traced.PARAMS / "tarn-perch-70.toml"
DACE = traced.PARAMS / "beck-dace-80.toml"


def ball(path, radius, long=3.0):
    """An ellipsoid three times as long as thick, its nose at 0, as STL."""
    solid = manifold3d.Manifold.sphere(radius, 96).scale((long, 1, 1)).translate((long * radius, 0, 0))
    write_stl(to_mesh(solid), path, "ball")
    return path


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def asked(capsys, *words):
    code = main(["compare", *map(str, words), "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_a_bait_is_nowhere_off_itself(bench, capsys):
    code, found = asked(capsys, PERCH, PERCH, "--within", "0.05 mm")
    assert code == 0
    assert found["surface"]["max_mm"] <= 0.03  # places lie on facets: 0.02 mm off along, and around
    assert found["volume_cm3"][0] == found["volume_cm3"][1]
    assert found["where"] == []
    assert found["alike"]


def test_a_larger_copy_stands_proud_by_half_the_difference(bench, capsys):
    """The flank by half of what the thickness grew; nothing is missing, and the exit code says that it is too far."""
    text = PERCH.read_text(encoding="utf-8").replace('thickness = "5/8 in"', 'thickness = "11/16 in"', 1)
    (bench / "fat.toml").write_text(text, encoding="utf-8")
    code, found = asked(capsys, PERCH, "fat.toml", "--within", "0.5 mm")
    assert code == 1
    assert found["surface"]["max_mm"] == pytest.approx(25.4 / 32, abs=0.03)
    assert min(row["off_mm"] for row in found["where"]) > 0.5
    assert found["mass_g"][1] > found["mass_g"][0]


def test_two_meshes_are_compared_by_their_facets(bench, capsys):
    """A ball of 10.4 over one of 10 mm, both drawn long: at the flank they are 0.4 mm apart; volumes by the cube."""
    code, found = asked(capsys, ball(bench / "a.stl", 10.0), ball(bench / "b.stl", 10.4), "--within", "2.5 mm")
    assert code == 0
    assert found["volume_cm3"][1] / found["volume_cm3"][0] == pytest.approx(1.04**3, rel=1e-3)
    amid = [row["off_mm"] for row in asked(capsys, "a.stl", "b.stl")[1]["where"] if 28 < row["x_mm"] < 34]
    assert amid == [pytest.approx(0.4, abs=0.06)] * len(amid)  # with noses together the middles are 1.2 mm apart
    assert found["mass_g"] == [None, None]


def test_readings_are_compared_with_a_recipe(bench, capsys):
    body, square = measured.drawn(3)
    (bench / "r.csv").write_text(measured.table(*measured.body_rows(body), square), encoding="utf-8")
    main(["trace", "stations", "r.csv", "--name", "again", "--bare", "--json"])
    capsys.readouterr()
    code, found = asked(capsys, "r.csv", "again.toml", "--within", "0.3 mm")
    assert code == 0
    assert found["surface"]["p95_mm"] <= 0.1


def test_of_several_copies_it_is_told_which_way_the_hand_errs(bench, capsys):
    """Three copies whose tails are 0.6 mm fat at the flank, each a little otherwise besides."""
    recipes = []
    rng = np.random.default_rng(2)
    rows = (traced.PARAMS / "beck-dace-80.csv").read_text(encoding="utf-8").strip().splitlines()
    rows = [row for row in rows if not row.startswith("#")]
    text = DACE.read_text(encoding="utf-8")
    for i in range(3):
        table = [rows[0]]
        for row in rows[1:]:
            cells = row.split(",")
            x, half = float(cells[0]), float(cells[3])
            fat = 0.6 * np.clip((x - 40) / 15, 0, 1) + rng.normal(0, 0.03)
            cells[3] = f"{half + fat:.3f}" if half > 0 else cells[3]
            table.append(",".join(cells))
        (bench / f"copy{i}.csv").write_text("\n".join(table) + "\n", encoding="utf-8")
        named = text.replace("beck-dace-80.csv", f"copy{i}.csv")
        (bench / f"copy{i}.toml").write_text(named, encoding="utf-8")
        recipes.append(bench / f"copy{i}.toml")
    all_of_them = compare([specimen_of(path, "mm") for path in (DACE, *recipes)], None)
    found = json.loads(as_json(all_of_them.document()))
    assert any(said.startswith("the flank of the tail is left fat, 0.") for said in found["hand"])
    assert not any("nose" in said or "back" in said or "belly" in said for said in found["hand"])
    tail = found["spread"][-2]
    assert tail["flank_mm"] == pytest.approx(0.6, abs=0.08)
    assert tail["flank_sd_mm"] < 0.1
    # a fatter tail floats more, and its nose lies lower
    assert all(each["reserve_g"] > found["reserve_g"][0] for each in found["floats"])
    assert all(each["pitch_deg"] < found["pitch_deg"][0] for each in found["floats"])
    assert "The 3 copies together" in as_text(all_of_them)


def test_the_overlay_is_drawn_where_it_is_asked_for_and_never_over_a_file(bench, capsys):
    assert main(["compare", str(PERCH), str(DACE), "--picture", "both"]) == 0
    ET.parse(bench / "both.svg")  # noqa: S314  our own file
    assert (bench / "both.png").exists()
    capsys.readouterr()
    assert main(["compare", str(PERCH), str(DACE), "--picture", "both"]) == 2
    assert "is there already" in capsys.readouterr().err


def test_what_cannot_be_compared_is_told(bench, capsys):
    (bench / "note.txt").write_text("no bait")
    assert main(["compare", str(PERCH), "note.txt"]) == 2
    assert "a recipe (.toml), a mesh (.stl, .obj, .3mf, .ply) or a table of readings (.csv)" in capsys.readouterr().err
    assert main(["compare", str(PERCH), "none.stl"]) == 2
    assert capsys.readouterr().err.startswith("none.stl: no such file.")
    (bench / "junk.stl").write_bytes(bytes(range(256)) * 12)
    assert main(["compare", str(PERCH), "junk.stl"]) == 2
    assert capsys.readouterr().err.startswith("junk.stl: ")
    assert main(["compare", str(PERCH), str(DACE), "--within", "wide"]) == 2
    assert "--within" in capsys.readouterr().err


def test_places_lie_evenly_on_the_skin(tmp_path):
    """Of a ball's skin the share beyond any plane is that of its height (Archimedes)."""
    subject = specimen_of(ball(tmp_path / "a.stl", 10.0, 1.0), "mm")
    x = places_on(subject.mesh, 4000)[0][:, 0]
    assert [np.mean(x < at) for at in (5, 10, 15)] == pytest.approx([0.25, 0.5, 0.75], abs=0.02)


def test_sections_of_a_mesh_are_the_circles_of_a_ball(tmp_path):
    """Radius by Pythagoras, area by it; 96 facets round: chords 0.05 % short, areas 0.1 %."""
    subject = specimen_of(ball(tmp_path / "a.stl", 10.0, 1.0), "mm")
    x = np.array([4.0, 10.01, 15.0])
    radius = np.sqrt(100 - (x - 10) ** 2)
    top, bottom, half, area = subject.sections(x).T
    assert top == pytest.approx(radius, rel=3e-3)
    assert -bottom == pytest.approx(radius, rel=3e-3)
    assert half == pytest.approx(radius, rel=3e-3)
    assert area == pytest.approx(np.pi * radius**2, rel=4e-3)
    assert squareness_of(20.0, 20.0, float(np.pi * 100)) == pytest.approx(2.0, abs=1e-6)


def posed(name, path, seed, noise=0.0):
    """A demo's own mesh in some pose, as STL; and where it was."""
    mesh = scans.fine(traced.demo(name), 0.02)
    scan = scans.scan_of(mesh, np.random.default_rng(seed), noise, scale=1.0)
    write_stl(scan.mesh, path, name)
    return path


@pytest.mark.parametrize("seed", range(3))
def test_a_scan_in_any_pose_is_laid_over_its_recipe_first(seed, bench, capsys):
    """The same body, so nothing is off but the scanner's 0.05 mm of noise and the facets of both."""
    posed("tarn-perch-70", bench / "scan.stl", seed, 0.05)
    code, found = asked(capsys, PERCH, "scan.stl", "--within", "0.3 mm")
    assert code == 0
    assert found["surface"]["mean_mm"] < 0.07
    assert found["turned_deg"] > 2
    assert found["length_mm"][1] == pytest.approx(found["length_mm"][0], abs=0.4)


def test_two_scans_in_two_poses_are_laid_over_each_other(bench, capsys):
    """Also where neither has axes of its own: those of the first are taken along its length, its fuller end first."""
    for i in (4, 5):
        posed("beck-dace-80", bench / f"scan{i}.stl", i)
    code, found = asked(capsys, "scan4.stl", "scan5.stl", "--within", "0.1 mm")
    assert code == 0
    assert found["surface"]["max_mm"] < 0.05
    true = traced.demo("beck-dace-80").sizes()
    assert found["length_mm"] == pytest.approx([true[0]] * 2, abs=0.5)
    code, found = asked(capsys, "scan4.stl", DACE, "--within", "0.1 mm")
    assert code == 0
    assert main(["compare", str(DACE), "scan4.stl"]) == 0
    assert "turned by" in capsys.readouterr().out


def test_a_mesh_that_lies_along_x_stays_there(tmp_path):
    assert upright(specimen_of(ball(tmp_path / "a.stl", 10.0), "mm").mesh) is None


def test_what_does_not_belong_to_the_body_does_not_pull_it_aside(bench, capsys):
    """A lip and two hooks are a tenth of the skin: all but they lie where they did."""
    mesh = scans.with_hardware(scans.fine(traced.demo("tarn-perch-70"), 0.02), 70, 20)
    scan = scans.scan_of(mesh, np.random.default_rng(8), 0.0, scale=1.0)
    write_stl(scan.mesh, bench / "armed.stl", "armed")
    _, found = asked(capsys, PERCH, "armed.stl")
    amid = [abs(row["off_mm"]) for row in found["where"] if 48 < row["x_mm"] < 64]
    assert amid
    assert max(amid) < 0.3
