"""Bodies from mesh files: taken as they are, or refused with the reason; whatever the file holds, never a traceback."""

import struct
import zipfile
from pathlib import Path

import numpy as np
import planks
import pytest
import trimesh

from bodygen.errors import InputError
from bodygen.form.cuts import tools_of
from bodygen.form.cuts.checks import wood_left
from bodygen.form.cuts.skin import skin_of
from bodygen.mesh.file import lies_across, ray_caster_of, read_mesh
from bodygen.mesh.measure import mesh_volume
from bodygen.recipe.model import Bore, MeshFile, Source, read_from

INCH = 25.4


def box(size=(60.0, 16.0, 20.0)):
    made = trimesh.creation.box(size)
    made.apply_translation((size[0] / 2, 0, 0))
    return made


def read(path, scale=1.0):
    recipe = read_from(planks.recipe(), Source("made-up.toml", "", {"shape.mesh": 5}))
    return read_mesh(recipe, MeshFile(Path(path), scale, ""))


def refusal(path, scale=1.0):
    with pytest.raises(InputError) as caught:
        read(path, scale)
    return str(caught.value)


@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "3mf"])
def test_every_kind_of_file_gives_the_same_body(ending, tmp_path):
    path = tmp_path / f"body.{ending}"
    box().export(path)
    mesh = read(path)
    assert mesh_volume(mesh).volume == pytest.approx(60 * 16 * 20)
    assert len(mesh.vertices) == 8, "equal vertices are one"


def test_inches_are_scaled(tmp_path):
    path = tmp_path / "body.STL"
    box((3.0, 0.5, 0.75)).export(path, file_type="stl")
    assert mesh_volume(read(path, INCH)).volume == pytest.approx(3 * 0.5 * 0.75 * INCH**3)


def test_a_missing_face_is_told_with_its_edges(tmp_path):
    path = tmp_path / "open.stl"
    made = box()
    made.update_faces(np.arange(len(made.faces)) > 0)
    made.export(path)
    assert refusal(path) == (
        'made-up.toml:5: shape.mesh = "open.stl": is not watertight: 3 edges have a face on one side only\n'
        "    a closed mesh, its faces all looking outwards"
    )


def test_a_mesh_turned_inside_out_is_told(tmp_path):
    path = tmp_path / "inside.stl"
    made = box()
    made.invert()
    made.export(path)
    assert "is inside out or flat: its volume is not above zero" in refusal(path)


def test_one_face_turned_over_is_told(tmp_path):
    path = tmp_path / "turned.obj"
    made = box()
    faces = made.faces.copy()
    faces[0] = faces[0][::-1]
    trimesh.Trimesh(made.vertices, faces, process=False).export(path)
    assert "is not watertight" in refusal(path)


def test_a_slip_of_unit_is_told_with_the_unit_it_was_read_in(tmp_path):
    path = tmp_path / "small.stl"
    box((2.75, 0.6, 0.8)).export(path)
    assert refusal(path).endswith('is 2.75 mm long\n    3 to 1000 mm; the file\'s numbers are taken in units = "mm"')


def test_loose_pieces_and_hollows_are_told(tmp_path):
    path = tmp_path / "two.stl"
    other = box()
    other.apply_translation((100, 0, 0))
    trimesh.util.concatenate([box(), other]).export(path)
    assert "holds 2 separate skins" in refusal(path)
    hollow = box((40.0, 8.0, 8.0))
    hollow.invert()
    hollow.apply_translation((10, 0, 0))
    trimesh.util.concatenate([box(), hollow]).export(path)
    assert "holds 2 separate skins" in refusal(path)


def binary_stl(count, triangles):
    return b"\0" * 80 + struct.pack("<I", count) + b"".join(struct.pack("<12fH", *t, 0) for t in triangles)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.stl", b""),
        ("cut.stl", binary_stl(12, [])[:-2]),
        ("promises.stl", binary_stl(2**32 - 1, [[0.0] * 12])),
        ("nothing.stl", binary_stl(0, [])),
        ("nan.stl", binary_stl(1, [[0, 0, 1, 0, 0, 0, float("nan"), 0, 0, 0, 1, 0]])),
        ("infinite.stl", binary_stl(1, [[0, 0, 1, 0, 0, 0, float("inf"), 0, 0, 0, 1, 0]])),
        ("words.obj", b"v 0 0\nf 1 2 3\n"),
        ("beyond.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n"),
        (
            "points.ply",
            b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n0\n",
        ),
        (
            "huge.ply",
            b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n",
        ),
        ("noise.3mf", b"PK\x03\x04 and then nothing that unpacks"),
        ("noise.ply", bytes(range(256)) * 4),
        ("needle.stl", binary_stl(1, [[0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0]])),
    ],
)
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_whatever_a_file_holds_the_answer_is_a_refusal(name, content, tmp_path):
    path = tmp_path / name
    path.write_bytes(content)
    assert refusal(path).startswith(f'made-up.toml:5: shape.mesh = "{name}": ')


def test_a_packed_file_that_grows_without_end_is_not_unpacked(tmp_path, monkeypatch):
    monkeypatch.setattr("bodygen.mesh.file.MOST_UNPACKED_BYTES", 10_000)
    path = tmp_path / "bomb.3mf"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b" " * 1_000_000)
    assert "cannot be read as a mesh" in refusal(path)


def test_a_file_cannot_name_another_one(tmp_path):
    """An OBJ's material library is not opened, wherever it lies."""
    path = tmp_path / "body.obj"
    box().export(path)
    path.write_text("mtllib ../../nowhere.mtl\nusemtl x\n" + path.read_text())
    assert mesh_volume(read(path)).volume > 0


def test_the_ray_caster_meets_a_box_where_it_is_even_along_its_edges(tmp_path):
    """y = 0 runs along diagonals and, in a mesh with edges there, along those."""
    path = tmp_path / "box.stl"
    box().export(path)
    caster = ray_caster_of(read(path))
    np.testing.assert_allclose(caster.crossings(np.array([30.0, 0, -50]), np.array([0.0, 0, 1])), [40, 60], atol=1e-9)
    np.testing.assert_allclose(caster.crossings(np.array([-9.0, 0, 0]), np.array([1.0, 0, 0])), [9, 69], atol=1e-9)
    assert len(caster.crossings(np.array([30.0, 9, -50]), np.array([0.0, 0, 1]))) == 0
    belly, back = caster.heights(np.array([-1.0, 0.5, 30.0, 59.5, 61.0]))
    np.testing.assert_allclose(belly, [np.nan, -10, -10, -10, np.nan])
    np.testing.assert_allclose(back, [np.nan, 10, 10, 10, np.nan])


def test_a_bore_out_of_a_box_of_twelve_triangles_is_found(tmp_path):
    """Vertices alone would see nothing: the nearest stands 30 mm off."""
    path = tmp_path / "box.stl"
    box().export(path)
    mesh = read(path)
    for depth, expected in ((20.5, ["bore-breaks-out"]), (18.0, ["bore-near-skin"]), (15.0, [])):
        made = planks.recipe(bores=(Bore("b", "any", "belly", 4.0, depth, x=30.0, tip="flat"),))
        caster = ray_caster_of(mesh)
        found = wood_left(made, tools_of(made, caster), skin_of(mesh.vertices, mesh.faces), caster)
        assert [f.code for f in found] == expected


@pytest.mark.parametrize(
    ("unit", "mm"),
    [("micron", 0.001), ("millimeter", 1), ("centimeter", 10), ("inch", 25.4), ("foot", 304.8), ("meter", 1000)],
)
def test_a_3mf_is_read_in_its_own_unit_whatever_the_recipe_says(unit, mm, tmp_path):
    """The units of the 3MF Core Specification (ST_Unit), put by hand into a file in millimeters."""
    box((60 / mm, 16 / mm, 20 / mm)).export(tmp_path / "mm.3mf")
    said = tmp_path / "said.3mf"
    with zipfile.ZipFile(tmp_path / "mm.3mf") as old, zipfile.ZipFile(said, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name.endswith(".model"):
                assert b'unit="millimeter"' in text
                text = text.replace(b'unit="millimeter"', f'unit="{unit}"'.encode())
            new.writestr(name, text)
    assert mesh_volume(read(said, INCH)).volume == pytest.approx(60 * 16 * 20, rel=1e-4)


def test_a_mesh_too_thin_to_carve_is_refused(tmp_path):
    box((60.0, 1e-3, 20.0)).export(tmp_path / "thin.obj")
    assert "mm thick at the most" in refusal(tmp_path / "thin.obj")


def test_a_mesh_that_lies_across_is_doubted():
    assert [finding.code for finding in lies_across((16.0, 20.0, 60.0))] == ["mesh-across"]
    assert lies_across((60.0, 20.0, 16.0)) == ()
