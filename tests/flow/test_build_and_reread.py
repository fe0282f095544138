"""Recipe -> files -> read again by other libraries: what was written is what was computed.

The volume of the cut body is measured three ways that share no code past the definition of the surface: exact integrals
less meshed cuts, the CAD kernel, and the triangles of the file. 0.05 %, 0.05 % and 0.5 % are the project's own bounds.
"""

import hashlib
import json
import zipfile
from math import pi
from pathlib import Path

import ezdxf
import manifold3d
import numpy as np
import pytest
import trimesh
from amount import MORE
from lxml import etree
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer

from bodygen.building import build
from bodygen.explain.answers import answers
from bodygen.recipe.read import read_recipe
from bodygen.shop.jigs.halves import default_dowel

DEMOS = sorted((Path(__file__).parent.parent.parent / "params").glob("*.toml"))
CORE = {"m": "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"}
MESHES = ("body", "cut-body", "half-right", "half-left", "master")
ALL = None if MORE else "solids,lip,pictures,templates,gauges"
MEETS_MM = 1e-6  # an arc's ends are worked out from its angles
LAYERS = {"CUT", "ENGRAVE", "MARK_MOUTH", "MARK_DIMENSIONS", "MARK_TABS", "MARK_BEND", "MARK_SHEET"}


@pytest.fixture(scope="module", params=[pytest.param(path, id=path.stem) for path in (DEMOS if MORE else DEMOS[::3])])
def built(request, first, tmp_path_factory):
    """One demo's recipe, folder and properties; of all but the first, the kinds of files that are read below."""
    if request.param == DEMOS[0]:
        recipe, folder = first
    else:
        recipe = read_recipe(request.param)
        out = tmp_path_factory.mktemp("some")
        folder = out / request.param.stem
        build(recipe, out, folder.name, "solids,lip,templates")
    return recipe, folder, json.loads((folder / "properties.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """Every file of the first demo; in a plain run, the kinds that are read below and some more."""
    recipe, out = read_recipe(DEMOS[0]), tmp_path_factory.mktemp("all")
    build(recipe, out, DEMOS[0].stem, ALL)
    return recipe, out / DEMOS[0].stem


def test_the_manifest_names_every_file_with_its_checksum(built):
    _, folder, _ = built
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    there = {path.name for path in folder.iterdir()} - {"manifest.json"}
    assert {row["name"] for row in manifest["files"]} == there
    for row in manifest["files"]:
        content = (folder / row["name"]).read_bytes()
        assert (row["bytes"], row["sha256"]) == (len(content), hashlib.sha256(content).hexdigest())
        assert row["purpose"]


def test_every_file_of_a_build_is_explained_under_the_kind_that_made_it(built):
    _, folder, _ = built
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    kinds = {name: kind for kind, entry in manifest["kinds"].items() for name in entry["files"]}
    for path in folder.iterdir():
        found = [answer.document for answer in answers(path.name) if answer.document["what"] == "file"]
        assert [one["kind"] for one in found] == [kinds.get(path.name, "")], path.name


def test_every_solid_comes_in_every_format(built):
    _, folder, _ = built
    names = {path.name for path in folder.iterdir()}
    for stem in MESHES:
        assert {f"{stem}.stl", f"{stem}.3mf", f"{stem}.step"} <= names
    assert {"properties.json", "build-sheet.txt"} <= names


def test_the_cut_body_measures_the_same_three_ways(built):
    _, folder, properties = built
    exact, cad = properties["body"]["cut_volume_cm3"], properties["cad"]["volume_cm3"]
    assert cad == pytest.approx(exact, rel=5e-4)
    assert properties["cad"]["difference_percent"] == pytest.approx(100 * (cad / exact - 1), abs=1e-4)
    assert trimesh.load_mesh(folder / "cut-body.stl").volume / 1000 == pytest.approx(exact, rel=5e-3)


def test_the_uncut_body_measures_the_same_three_ways(built):
    _, folder, properties = built
    exact = properties["body"]["volume_cm3"]
    assert _step_solid(folder / "body.step")[1] / 1000 == pytest.approx(exact, rel=5e-4)
    assert trimesh.load_mesh(folder / "body.stl").volume / 1000 == pytest.approx(exact, rel=5e-3)


def test_the_centre_of_the_wood_is_where_the_triangles_have_it(built):
    _, folder, properties = built
    centre = trimesh.load_mesh(folder / "cut-body.stl").center_mass
    assert centre == pytest.approx(np.array(properties["body"]["centre_of_mass_mm"]), abs=0.05)


@pytest.mark.parametrize("stem", MESHES)
def test_stl_is_watertight_in_two_other_libraries(stem, built):
    _, folder, _ = built
    mesh = trimesh.load_mesh(folder / f"{stem}.stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(mesh.vertices, dtype=np.float64), np.array(mesh.faces, dtype=np.uint64))
    )
    assert solid.status() == manifold3d.Error.NoError
    assert solid.volume() == pytest.approx(mesh.volume, rel=1e-6)
    assert mesh.volume > 0


@pytest.mark.parametrize("stem", MESHES)
def test_3mf_holds_the_triangles_of_the_stl_in_millimetres(stem, built):
    """3MF Core Specification 1.3: the model part, its unit, and each edge used once in each direction."""
    _, folder, _ = built
    with zipfile.ZipFile(folder / f"{stem}.3mf") as archive:
        assert archive.testzip() is None
        model = etree.fromstring(archive.read("3D/3dmodel.model"))
    assert model.get("unit", "millimeter") == "millimeter"
    vertices = np.array([[float(v.get(a)) for a in "xyz"] for v in model.iterfind(".//m:vertex", CORE)])
    faces = np.array([[int(t.get(f"v{i}")) for i in (1, 2, 3)] for t in model.iterfind(".//m:triangle", CORE)])
    edges = [tuple(edge) for face in faces for edge in (face[[0, 1]], face[[1, 2]], face[[2, 0]])]
    assert len(set(edges)) == len(edges)
    assert {(b, a) for a, b in edges} == set(edges)
    volume = (
        np.einsum("ij,ij->i", vertices[faces[:, 0]], np.cross(vertices[faces[:, 1]], vertices[faces[:, 2]])).sum() / 6
    )
    assert volume == pytest.approx(trimesh.load_mesh(folder / f"{stem}.stl").volume, rel=1e-4)


@pytest.mark.parametrize("stem", MESHES)
def test_step_holds_one_valid_solid_in_mm_under_its_own_name(stem, built):
    recipe, folder, _ = built
    solids, volume, valid = _step_solid(folder / f"{stem}.step")
    assert (solids, valid) == (1, True)
    assert volume > 0
    text = (folder / f"{stem}.step").read_text(encoding="ascii")
    assert f"PRODUCT('{recipe.name} {stem}'" in text
    assert "SI_UNIT(.MILLI.,.METRE.)" in text


def test_halves_and_body_agree(built):
    _, folder, properties = built
    left, right = (trimesh.load_mesh(folder / f"half-{side}.stl") for side in ("left", "right"))
    whole = properties["body"]["cut_volume_cm3"] * 1000
    cut = trimesh.load_mesh(folder / "cut-body.stl")
    assert cut.volume == pytest.approx(whole, rel=4e-3)  # facets of 0.02 mm on a bait 10 mm thick
    # what both lack are the holes of no, one, two or three key pins, shallower in a thin body
    dowel, less = default_dowel(), cut.volume - left.volume - right.volume
    shallow, deep = (2 * pi * dowel.hole_radius**2 * (d + dowel.clearance) for d in (dowel.least_depth, dowel.depth))
    off = 1e-4 * whole  # files in single precision
    assert any(n * shallow - off <= less <= n * deep + off for n in range(dowel.count + 1))
    for half in (left, right):  # as it is printed: the parting face on the bed
        assert half.bounds[0][2] == pytest.approx(0, abs=1e-4)
        assert half.bounds[1][2] == pytest.approx(properties["body"]["thickness_mm"] / 2, abs=0.02)


def test_a_copy_carvers_master_is_larger_all_round_if_it_was_asked_for(built):
    """Its allowance more on each flank; closed, and of one piece."""
    recipe, folder, _ = built
    allowance = recipe.shop.follower_allowance
    assert (folder / "carver-master.stl").exists() == (folder / "carver-master.3mf").exists() == bool(allowance)
    if allowance:
        larger, master = (trimesh.load_mesh(folder / f"{stem}.stl") for stem in ("carver-master", "master"))
        assert (larger.is_watertight, larger.body_count) == (True, 1)
        assert np.ptp(larger.vertices[:, 2]) == pytest.approx(np.ptp(master.vertices[:, 2]) + 2 * allowance, abs=0.03)


def test_dxf_audits_clean_in_mm_with_closed_cuts(built):
    recipe, folder, _ = built
    drawings = sorted(folder.glob("*.dxf"))
    assert ({"lip.dxf", "lip-cut.dxf"} <= {path.name for path in drawings}) is (recipe.lip is not None)
    for path in drawings:
        document = ezdxf.readfile(path)
        auditor = document.audit()
        assert not auditor.errors
        assert not auditor.fixes
        assert document.header["$INSUNITS"] == ezdxf.units.MM
        assert {e.dxf.layer for e in document.modelspace()} <= LAYERS
        assert {layer.color for layer in document.layers} == {7}
        assert {e.dxf.color for e in document.modelspace()} == {256}
        cuts = [e for e in document.modelspace() if e.dxf.layer == "CUT"]
        assert cuts
        for arc in (e for e in cuts if e.dxftype() == "ARC"):
            turn = np.radians((arc.dxf.end_angle - arc.dxf.start_angle) % 360)
            assert turn * arc.dxf.radius >= 0.05, path.name
            assert turn >= np.radians(1) or arc.dxf.radius * (1 - np.cos(turn / 2)) > 0.002, path.name
        ends = np.array([end for entity in cuts for end in _ends(entity)]).reshape(-1, 2)
        gaps = np.linalg.norm(ends[:, None] - ends[None], axis=2)
        assert ((gaps < MEETS_MM).sum(axis=1) == 2).all(), f"{path.name}: an end that meets no other"


def test_two_builds_are_byte_identical(first, tmp_path):
    recipe, before = first
    build(recipe, tmp_path, before.name, ALL)
    sets = [{path.name: path.read_bytes() for path in folder.iterdir()} for folder in (before, tmp_path / before.name)]
    assert sets[0].keys() == sets[1].keys()
    assert not [name for name in sets[0] if sets[0][name] != sets[1][name]]
    assert [path.name for path in tmp_path.iterdir()] == [before.name]


def _step_solid(path):
    """Count of solids, volume [mm^3] and validity, by the kernel's own reader."""
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.TransferRoots()
    shape = reader.OneShape()
    solids, explorer = 0, TopExp_Explorer(shape, TopAbs_SOLID)
    while explorer.More():
        solids += 1
        explorer.Next()
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, 1e-6, False, False)
    return solids, properties.Mass(), BRepCheck_Analyzer(shape).IsValid()


def _ends(entity):
    """Both ends of a line or an arc; what is closed in itself has none."""
    match entity.dxftype():
        case "LINE":
            points = (entity.dxf.start, entity.dxf.end)
        case "ARC":
            points = (entity.start_point, entity.end_point)
        case "CIRCLE":
            points = ()
        case "LWPOLYLINE":
            assert entity.closed
            points = ()
        case other:
            pytest.fail(f"a {other} on a cut layer")
    return [(p.x, p.y) for p in points]
