"""STL: the layout by hand from the interface specification of 1989 (from memory), and read back by trimesh."""

import struct

import numpy as np
import pytest
import trimesh
from carved import cut_skin

from bodygen.export.stl import write_stl
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.measure import mesh_volume

TITLE = "Tarn perch 70"


@pytest.fixture(scope="module")
def mesh():
    return repair_for_float32(cut_skin(), 0.005)


@pytest.fixture
def path(mesh, tmp_path):
    write_stl(mesh, tmp_path / "body.stl", TITLE)
    return tmp_path / "body.stl"


def test_the_file_is_header_count_and_fifty_bytes_a_facet(path, mesh):
    content = path.read_bytes()
    assert len(content) == 80 + 4 + 50 * len(mesh.faces)
    assert struct.unpack("<I", content[80:84]) == (len(mesh.faces),)


def test_the_header_names_us_the_unit_and_the_title_and_no_reader_takes_it_for_text(path):
    header = path.read_bytes()[:80]
    assert header.startswith(b"bodygen ")
    assert b"unit mm" in header
    assert TITLE.encode() in header


def test_the_first_facet_is_normal_corners_and_an_empty_attribute(path, mesh):
    *numbers, attribute = struct.unpack("<12fH", path.read_bytes()[84:134])
    corners = np.array(numbers[3:]).reshape(3, 3)
    assert np.array_equal(corners, mesh.vertices[mesh.faces[0]])
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    assert numbers[:3] == pytest.approx(normal / np.linalg.norm(normal), abs=1e-6)
    assert attribute == 0


def test_trimesh_reads_the_same_closed_body(path, mesh):
    read = trimesh.load(path)
    assert read.is_watertight
    assert read.volume == pytest.approx(mesh_volume(mesh).volume, rel=1e-6)
    assert len(read.faces) == len(mesh.faces)


def test_a_long_title_with_letters_outside_ascii_fits_the_header(mesh, tmp_path):
    write_stl(mesh, tmp_path / "long.stl", "Plötze " * 20)
    content = (tmp_path / "long.stl").read_bytes()
    assert len(content) == 80 + 4 + 50 * len(mesh.faces)
    assert b"Pl?tze" in content[:80]


def test_written_twice_the_bytes_are_the_same(path, mesh, tmp_path):
    write_stl(mesh, tmp_path / "again.stl", TITLE)
    assert (tmp_path / "again.stl").read_bytes() == path.read_bytes()
