"""3MF against the Core Specification of the 3MF Consortium (clauses beside the checks), and read back by trimesh."""

import re
import zipfile

import numpy as np
import pytest
import trimesh
from carved import cut_skin
from lxml import etree

from bodygen.export.threemf import write_threemf
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.split import half

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
NUMBER = re.compile(r"[-+]?(([0-9]+(\.[0-9]+)?)|(\.[0-9]+))([eE][-+]?[0-9]+)?")  # ST_Number in appendix B.1
TITLE = 'Roach <flat> & "broad"'


@pytest.fixture(scope="module")
def halves():
    return [(f"{side} half", repair_for_float32(half(cut_skin(), side, ()), 0.005)) for side in ("right", "left")]


@pytest.fixture
def path(halves, tmp_path):
    write_threemf(halves, tmp_path / "halves.3mf", TITLE)
    return tmp_path / "halves.3mf"


@pytest.fixture
def model(path):
    with zipfile.ZipFile(path) as package:
        return etree.fromstring(package.read("3D/3dmodel.model"))


def test_the_package_holds_content_types_relations_and_the_model_deflated(path):
    """Clause 1.1 allows stored and deflated alone; 2.2 recommends the model's name."""
    with zipfile.ZipFile(path) as package:
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert {entry.compress_type for entry in package.infolist()} == {zipfile.ZIP_DEFLATED}
        assert package.testzip() is None


def test_the_start_part_points_to_the_model_and_every_part_has_a_type(path):
    """Clause 2.1.1, appendix C.1 and C.2."""
    with zipfile.ZipFile(path) as package:
        (relation,) = etree.fromstring(package.read("_rels/.rels"))
        types = {
            row.get("Extension"): row.get("ContentType")
            for row in etree.fromstring(package.read("[Content_Types].xml"))
        }
    assert relation.get("Target") == "/3D/3dmodel.model"
    assert relation.get("Type") == "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    assert types == {
        "rels": "application/vnd.openxmlformats-package.relationships+xml",
        "model": "application/vnd.ms-package.3dmanufacturing-3dmodel+xml",
    }


def test_the_model_says_millimetres_title_and_application(model):
    """Clause 3.4 and table 3-1."""
    assert model.get("unit") == "millimeter"
    said = {entry.get("name"): entry.text for entry in model.iter(f"{CORE}metadata")}
    assert said["Title"] == TITLE
    assert said["Application"].startswith("bodygen ")


def test_the_elements_come_in_the_schemas_order(model):
    """Appendix B.1: metadata, resources, build; clause 3.4: each id unique, and defined before it is used."""
    assert [child.tag.removeprefix(CORE) for child in model] == ["metadata", "metadata", "resources", "build"]
    objects = model.findall(f"{CORE}resources/{CORE}object")
    assert [o.get("name") for o in objects] == ["right half", "left half"]
    assert [item.get("objectid") for item in model.iter(f"{CORE}item")] == [o.get("id") for o in objects] == ["1", "2"]


def test_coordinates_are_numbers_of_the_schema_and_read_back_as_themselves(model, halves):
    """ST_Number is a decimal with an optional exponent: no inf, no nan, no locale's comma."""
    for element, (_, mesh) in zip(model.iter(f"{CORE}object"), halves, strict=True):
        written = [[vertex.get(axis) for axis in "xyz"] for vertex in element.iter(f"{CORE}vertex")]
        assert all(NUMBER.fullmatch(number) for row in written for number in row)
        assert np.array_equal(np.array(written, dtype=np.float32), mesh.vertices.astype(np.float32))


def test_the_build_lies_in_the_positive_octant(model, halves):
    """Clause 3.3: after all transforms the model SHOULD lie there."""
    low = np.min([mesh.vertices.min(axis=0) for _, mesh in halves], axis=0)
    for item in model.iter(f"{CORE}item"):
        matrix = [float(number) for number in item.get("transform").split()]
        assert matrix[:9] == [1, 0, 0, 0, 1, 0, 0, 0, 1]
        assert (low + matrix[9:] >= 0).all()


def test_trimesh_reads_two_closed_bodies_under_their_names(path, halves):
    floating = trimesh.load(path)
    assert sorted(floating.geometry) == ["left half", "right half"]
    for name, mesh in halves:
        read = floating.geometry[name]
        assert read.is_watertight
        assert read.volume == pytest.approx(mesh_volume(mesh).volume, rel=1e-6)


def test_the_consortiums_own_reader_takes_it_in_strict_mode(path):
    """lib3mf, the 3MF Consortium's reference library: no warning, every mesh closed and oriented."""
    lib3mf = pytest.importorskip("lib3mf")
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    meshes, found = model.GetMeshObjects(), {}
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        found[mesh.GetName()] = mesh.IsManifoldAndOriented()
    assert found == {"right half": True, "left half": True}


def test_written_twice_the_bytes_are_the_same(path, halves, tmp_path):
    write_threemf(halves, tmp_path / "again.3mf", TITLE)
    assert (tmp_path / "again.3mf").read_bytes() == path.read_bytes()
