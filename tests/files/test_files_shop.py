"""What ``[shop]`` says reaches the files: bed, fit, allowance, shrinkage, cutters; and only those it concerns."""

from dataclasses import replace
from math import pi
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh
from amount import MORE, only_with_more
from programs import fastest_descent, stated

from bodygen.errors import DesignError
from bodygen.files import solids
from bodygen.files.jigs import write_block, write_cradles, write_masks, write_mould
from bodygen.files.kinds import KINDS, digest_of
from bodygen.files.paper import router_cards, write_carrier, write_gauges
from bodygen.files.router import write_gcodes
from bodygen.files.solids import grown, write_solids
from bodygen.folder.publish import Draft
from bodygen.mesh.cut import to_mesh
from bodygen.mesh.measure import enclosed
from bodygen.pipeline import assess
from bodygen.recipe.model import Shop
from bodygen.recipe.read import read_recipe
from bodygen.report.sheet import build_sheet
from bodygen.shop.jigs.halves import default_dowel
from bodygen.shop.jigs.print_bed import default_bed, laid
from bodygen.tables import load

PARAMS = Path(__file__).parents[2] / "params"


@pytest.fixture(scope="module")
def perch():
    return assess(read_recipe(PARAMS / "tarn-perch-70.toml"))


def having(assessment, **shop):
    return replace(assessment, recipe=replace(assessment.recipe, shop=Shop(**shop)))


@only_with_more
def test_a_small_bed_splits_the_drill_block_and_the_cradles(perch, tmp_path):
    small = having(perch, printer_bed=(75.0, 75.0, 120.0))  # on one longer along y they would only be turned
    for write in (write_block, write_cradles):
        assert "jig-split" not in {f.code for f in write(perch, Draft(tmp_path), "").findings}
        assert "jig-split" in {f.code for f in write(small, Draft(tmp_path), "").findings}


@pytest.mark.parametrize(
    "write", [write_mould, write_carrier, write_gauges, *([write_solids, write_masks] if MORE else [])]
)
def test_every_print_too_large_for_the_bed_is_said(perch, tmp_path, write):
    """A box of 40 mm holds no part of a bait 70 mm long, however it is turned: each print of it is named."""
    found = write(having(perch, printer_bed=(40.0, 40.0, 40.0)), Draft(tmp_path), "").findings
    named = {f.where.replace(" ", "-") for f in found if f.code == "jig-off-bed"}
    over = set()
    for path in tmp_path.glob("*.stl"):
        if np.ptp(trimesh.load_mesh(path).vertices, axis=0).max() > 40.0 * 2**0.5:  # longer than the diagonal
            over.add(path.stem)
    assert over - {"body"}  # the cut body is as large, and named
    assert over - {"body"} <= named


@pytest.mark.parametrize(
    "write", [write_mould, write_carrier, write_gauges, *([write_solids, write_cradles, write_masks] if MORE else [])]
)
def test_every_print_stands_on_the_bed_and_is_turned_where_only_that_fits(perch, tmp_path, write):
    """Room of 120 x 85 mm with the long side along y: whatever fits with its sides changed over lies so."""
    found = write(having(perch, printer_bed=(95.0, 130.0, 120.0)), Draft(tmp_path), "").findings
    said = {f.where.replace(" ", "-") for f in found if f.code == "jig-off-bed"}
    for path in tmp_path.glob("*.stl"):
        if path.stem not in ("body", "cut-body"):  # these keep the body's axes
            low, high = trimesh.load_mesh(path).bounds
            assert low == pytest.approx([0, 0, 0], abs=1e-4)
            assert path.stem in said or (high <= [85.01, 120.01, 120.01]).all()
    assert said <= {"carrier-frame"}  # 107 x 101 mm, in no turn of that room


def test_a_long_thin_print_lies_across_the_bed():
    """A bar of 140 x 5 mm in a square room of 110 mm: at 45 degrees its box is 145 / sqrt 2 = 102.5 mm."""
    bar = to_mesh(manifold3d.Manifold.cube((140.0, 5.0, 3.0)))
    bed = default_bed((120.0, 120.0, 120.0))
    across, checks = laid(bar, bed, "bar")
    assert checks == ()
    assert (np.ptp(across.vertices, axis=0) <= np.array(bed.usable) + 0.001).all()
    assert enclosed(across) == pytest.approx(enclosed(bar))
    assert [f.code for f in laid(bar, default_bed((90.0, 90.0, 90.0)), "bar")[1]] == ["jig-off-bed"]


@only_with_more
def test_halves_lie_flat_side_down_and_the_master_on_its_flank(perch, tmp_path):
    """What touches the bed is the parting face; nothing is mirrored: the keel's bore stays at the same x."""
    outcome = write_solids(perch, Draft(tmp_path), "")
    cut = trimesh.load_mesh(tmp_path / "cut-body.stl")
    for side in ("right", "left"):
        for name in (f"half-{side}.stl", f"half-{side}.3mf"):
            half = trimesh.load(tmp_path / name, force="mesh")
            flat = half.area_faces[(np.abs(half.triangles[:, :, 2]) < 1e-4).all(axis=1)].sum()
            section = cut.section(plane_origin=[0, 0, 0], plane_normal=[0, 1, 0]).to_2D()[0].area
            dowel = default_dowel()
            pins = dowel.count * pi * dowel.hole_radius**2
            assert flat == pytest.approx(section - pins, rel=1e-3)  # files of single precision, facets at the rim
            assert half.bounds[1][2] == pytest.approx(perch.shaped.sizes[2] / 2, abs=0.02)
            assert half.volume > 0
    master = trimesh.load_mesh(tmp_path / "master.stl")
    assert np.ptp(master.vertices[:, 2]) == pytest.approx(perch.shaped.sizes[2], abs=0.02)
    assert np.ptp(master.vertices[:, 0]) == pytest.approx(perch.shaped.sizes[0] + 30, abs=0.02)
    assert {line.name for line in outcome.listed} >= {"half right", "half left", "master", "cut body"}


@only_with_more
def test_the_fit_asked_for_is_the_gap_around_the_body(perch, tmp_path):
    """The floor stays as thick: the cradle is higher by what ``tables/jigs.toml`` has the gap larger."""
    heights = {}
    for fit in ("press", "slide", "loose", None):
        folder = tmp_path / str(fit)
        folder.mkdir()
        write_cradles(having(perch, fit=fit), Draft(folder), "")
        cradle = trimesh.load_mesh(folder / "cradle-belly-up.stl")
        heights[fit] = np.ptp(cradle.vertices[:, 2])  # floor and gap, up to a rim that stays where it is
    fits = load("jigs")["fit"]
    assert heights[None] == heights["slide"]
    for fit in ("press", "loose"):
        grown_by = fits[f"{fit}_mm"] - fits["slide_mm"]
        assert heights[fit] - heights["slide"] == pytest.approx(grown_by, abs=0.03)


def test_what_shrinks_gets_a_larger_mould(perch, tmp_path):
    """The printed block's box grows with the cavity; 1 % and 3 % of 70 mm are 1.4 mm apart."""
    lengths = []
    for percent in (1.0, 3.0):
        folder = tmp_path / str(percent)
        folder.mkdir()
        write_mould(having(perch, shrink_percent=percent), Draft(folder), "")
        lengths.append(np.ptp(trimesh.load_mesh(folder / "mould-right.stl").vertices[:, 0]))
    assert lengths[1] - lengths[0] == pytest.approx(0.02 * perch.shaped.sizes[0], abs=0.01)


def test_a_master_is_larger_by_the_allowance_on_every_side(perch):
    skin, larger = perch.shaped.mesh.vertices, grown(perch, 0.5).vertices
    assert np.ptp(larger, axis=0) - np.ptp(skin, axis=0) == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize(("notch", "allowance", "grows"), [("3", 2.0, False), ("9.2", 2.0, True)])
def test_a_hollow_too_tight_for_the_allowance_is_refused(notch, allowance, grows, tmp_path):
    text = (PARAMS / "fell-reed-110.toml").read_text().replace("[55, 9.3]", f"[50, 9.3], [55, {notch}], [60, 9.3]", 1)
    path = tmp_path / "hollow.toml"
    path.write_text(text)
    hollow = assess(read_recipe(path))
    if grows:
        assert len(grown(hollow, allowance).faces)
    else:
        with pytest.raises(DesignError, match="too tight"):
            grown(hollow, allowance)


def test_the_template_is_made_for_the_bush_and_cutter_that_were_measured(perch):
    cards, _ = router_cards(having(perch, bush=8.0, cutter=6.0))
    plain, _ = router_cards(perch)
    assert "6 mm cutter with a 8 mm bush" in cards[0].purpose
    assert "12.7 mm cutter with a 12.7 mm bush" in plain[0].purpose


def test_a_bush_alone_is_a_bearing_no_wider_than_its_cutter(perch):
    """A bush narrower than the usual cutter cannot be on it: the cutter is taken to be of its size."""
    cards, _ = router_cards(having(perch, bush=8.0))
    assert "8 mm cutter with a 8 mm bush" in cards[0].purpose


@pytest.mark.parametrize(
    ("shop", "kinds"),
    [
        (
            {"printer_bed": (100.0, 100.0, 100.0)},
            {"solids", "gauges", "block", "cradles", "mould", "masks", "carrier", "wire"},
        ),
        ({"fit": "press"}, {"cradles"}),
        ({"shrink_percent": 1.0}, {"mould"}),
        ({"follower_allowance": 0.5}, {"solids"}),
        ({"bush": 20.0}, {"templates", "gcode"}),
        ({"stock_thickness": 20.0}, {"gcode"}),
    ],
)
def test_a_change_of_the_shop_touches_the_kinds_that_use_it(perch, shop, kinds):
    """And card, pictures and calendar, which hang on all that a recipe says."""
    after = having(perch, **shop).recipe
    touched = {kind.name for kind in KINDS if digest_of(kind, after) != digest_of(kind, perch.recipe)}
    assert touched == {*kinds, "card", "pictures", "calendar"}


@pytest.fixture(scope="module")
def programs(perch, tmp_path_factory):
    folder = tmp_path_factory.mktemp("gcode")
    shop = {"stock_thickness": 14.0, "roughing": "flat_6", "finishing": "ball_6", "scallop": 0.1}
    return write_gcodes(having(perch, **shop, profile_cutter="flat_2"), Draft(folder), "about"), folder


def test_both_halves_the_lip_and_the_templates_are_programs(programs):
    _, folder = programs
    names = {path.name for path in folder.iterdir()}
    assert {"lip.ngc", "lip.png", "router-template-side.ngc", "router-template-plan.ngc"} <= names
    for side in ("right", "left"):
        assert {f"half-{side}-1-register.ngc", f"half-{side}-2-pegs.ngc", f"half-{side}-5-back-face.ngc"} <= names
        assert (folder / f"half-{side}-4-top-finish.png").read_bytes().startswith(b"\x89PNG")


def test_no_program_goes_down_in_the_stock_faster_than_the_tables_plunge_feed(programs):
    """Plunge: the share of the tables times speed, flutes and chip; a feed is written as a whole number."""
    _, folder = programs
    paths = sorted(folder.glob("*.ngc"))
    assert len(paths) == 13
    for path in paths:
        text = path.read_text()
        turns, flutes, chip = stated(text, r"S(\d+) 1/min"), 2, stated(text, r"chip ([\d.]+) mm")
        plunge = load("cutters")["machine"]["plunge_share"] * turns * flutes * chip
        assert stated(text, r"plunge ([\d.]+) mm/min") == pytest.approx(plunge, rel=0.02)  # the chip has three digits
        assert fastest_descent(text) <= stated(text, r"plunge ([\d.]+) mm/min") + 0.5, path.name


def test_programs_use_the_shops_board_and_cutters(programs):
    _, folder = programs
    finish = (folder / "half-left-4-top-finish.ngc").read_text()
    assert "(stock thickness 14 mm)" in finish
    assert "ball-nose end mill 6 mm" in finish
    assert "flat end mill 2 mm" in (folder / "router-template-side.ngc").read_text()


def test_the_halves_are_cut_each_by_its_own_program(programs):
    _, folder = programs
    right, left = ((folder / f"half-{side}-4-top-finish.ngc").read_text() for side in ("right", "left"))
    assert right != left


def test_the_sheet_shows_what_the_programs_call_for_once(programs, perch):
    outcome, _ = programs
    assert {"wood_dust", "spinning_tools", "small_workpiece"} <= set(outcome.cautions)
    text = build_sheet(perch, {}, [*outcome.cautions, "ventilate"])
    assert text.count("Wood dust;") == 1
    assert text.count("Paint mist") == 1


def test_a_mould_calls_for_the_cautions_of_what_is_cast(perch, tmp_path):
    assert "epoxy_skin" in write_mould(perch, Draft(tmp_path), "").cautions


def test_the_halves_are_made_once_for_every_kind_that_uses_them(perch, monkeypatch):
    """Solids and programs ask for the same two, and where their pins go; another bait has its own."""
    asked = []
    monkeypatch.setattr(solids, "half", lambda cut, side, pins: asked.append(side) or (cut, side, pins))
    fresh = assess(perch.recipe)
    one, two, again = (solids.halved(fresh, side) for side in ("right", "left", "right"))
    assert asked == ["right", "left"]
    assert one is again
    assert one[0] is two[0]
    assert one[2] is two[2]
    solids.halved(assess(perch.recipe), "right")
    assert asked == ["right", "left", "right"]
