"""Every reference case through the command line: recipe or mesh in, ``weigh --json`` out, against the case's figures.

The cases' sources (closed forms, NACA Report 460, Gilbert 1991, Archimedes, Wigley's form ...) stand beside each case
in ``cases/geometry_cases.toml``. Simple solids are built here as meshes whose sections have the true area.
"""

import json
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bodygen.cli import main

trimesh = pytest.importorskip("trimesh")

CASES = Path(__file__).parent / "cases"
ALL = tomllib.loads((CASES / "geometry_cases.toml").read_text())["case"]


def ring_mesh(sections):
    """A closed mesh through sections (k, 3), each a ring of the same count, or a single repeated point at an end."""
    count = len(sections[0])
    rings = np.array(sections)
    vertices = rings.reshape(-1, 3)
    index = np.arange(len(vertices)).reshape(len(rings), count)
    a, b, c, d = index[:-1], np.roll(index[:-1], -1, axis=1), index[1:], np.roll(index[1:], -1, axis=1)
    faces = np.concatenate([np.stack([a, c, b], -1).reshape(-1, 3), np.stack([b, c, d], -1).reshape(-1, 3)])
    caps = np.array([rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    nose, tail = len(vertices), len(vertices) + 1
    faces = np.concatenate([
        faces,
        np.stack([np.full(count, nose), index[0], np.roll(index[0], -1)], axis=1),
        np.stack([np.full(count, tail), np.roll(index[-1], -1), index[-1]], axis=1),
    ])
    mesh = trimesh.Trimesh(np.concatenate([vertices, caps]), faces, process=True)
    mesh.update_faces(mesh.nondegenerate_faces(height=1e-9))
    mesh.remove_unreferenced_vertices()
    if mesh.volume < 0:
        mesh.invert()
    return mesh


def turned(x, r, count=192):
    """A body of revolution; the polygon's radius is grown so that every section has the circle's area."""
    angle = 2 * np.pi * np.arange(count) / count
    grow = math.sqrt(2 * math.pi / count / math.sin(2 * math.pi / count))
    return ring_mesh([
        np.stack([np.full(count, xi), grow * ri * np.sin(angle), grow * ri * np.cos(angle)], axis=1)
        for xi, ri in zip(x, r, strict=True)
    ])


def solid(shape: dict[str, Any]) -> trimesh.Trimesh:
    """The case's simple solid as a closed mesh, x from the nose."""
    if "box_mm" in shape:
        length, width, depth = shape["box_mm"]
        box = trimesh.creation.box((length, width, depth))
        box.apply_translation((length / 2, 0, 0))
        return box
    if "sphere_radius_mm" in shape:
        radius = shape["sphere_radius_mm"]
        t = np.linspace(0, np.pi, 161)
        return turned(radius - radius * np.cos(t), radius * np.sin(t))
    if "cylinder_diameter_mm" in shape:
        return turned([0, shape["cylinder_length_mm"]], [shape["cylinder_diameter_mm"] / 2] * 2, 512)
    if "cone_length_mm" in shape:
        x = np.linspace(0, shape["cone_length_mm"], 3)
        return turned(x, shape["cone_base_radius_mm"] * x / x[-1], 512)
    if "paraboloid_length_mm" in shape:
        r = shape["paraboloid_base_radius_mm"] * np.linspace(0, 1, 161)
        return turned(shape["paraboloid_length_mm"] * np.linspace(0, 1, 161) ** 2, r)
    length, beam, draught = shape["wigley_mm"]
    t = np.linspace(-1, 1, 97)
    z = np.concatenate([t, t[-2:0:-1]]) * draught
    side = np.concatenate([np.ones(97), -np.ones(95)])
    sections = []
    for s in np.linspace(-1, 1, 129):
        y = side * beam / 2 * (1 - s * s) * (1 - (z / draught) ** 2)
        sections.append(np.stack([np.full(len(z), (s + 1) / 2 * length), y, z], axis=1))
    return _wigley(sections)


def _wigley(sections):
    """The form's ends are upright edges: both flanks of the first and last section are one line there."""
    mesh = ring_mesh(sections)
    mesh.merge_vertices(digits_vertex=9)
    mesh.update_faces(mesh.nondegenerate_faces(height=1e-9))
    mesh.update_faces(mesh.unique_faces())
    return mesh


def weigh(case, folder, capsys):
    """``bodygen weigh --json`` of the case."""
    keys = case.get("recipe_keys", {})
    lines = ["format = 1", f'name = "{case["id"]}"', 'units = "mm"', "[shape]"]
    if "stations" in case["shape"]:
        name = Path(case["shape"]["stations"]).name
        (folder / name).write_text((CASES / "stations" / name).read_text())
        lines.append(f'stations = "{name}"')
    else:
        solid(case["shape"]).export(folder / "body.stl")
        lines.append('mesh = "body.stl"')
    lines += ["[wood]", f"density_g_cm3 = {keys.get('wood_density_g_cm3', 0.4)}"]
    lines += ["[water]", f"density_g_cm3 = {keys.get('water_density_g_cm3', 1.0)}"]
    if "fitting" in keys:
        fitting = keys["fitting"]
        lines += ["[[fitting]]", 'name = "inner weight"', f"mass = {fitting['mass_g']}", f"at = {fitting['at_mm']}"]
        lines += [f"displaces_cm3 = {fitting['displaces_cm3']}"]
    recipe = folder / "case.toml"
    recipe.write_text("\n".join(lines) + "\n")
    code = main(["weigh", str(recipe), "--json"])
    out = capsys.readouterr()
    assert code == 0, out.err + out.out
    return json.loads(out.out)


def value(document, key):
    """The figure under a dotted key."""
    for part in key.split("."):
        document = document[int(part)] if isinstance(document, list) else document[part]
    return document


def close(got, row):
    """Within the case's own tolerance."""
    return got == pytest.approx(row["want"], rel=row.get("rel", 0.0), abs=row.get("abs", 0.0))


def up(attitude):
    """The vertical in body axes from pitch and roll."""
    pitch, roll = math.radians(attitude["pitch_deg"]), math.radians(attitude.get("roll_deg") or 0.0)
    return np.array([-math.sin(pitch), math.cos(pitch) * math.sin(roll), math.cos(pitch) * math.cos(roll)])


def images(vector, symmetry):
    """The vectors that the case's symmetry counts as the same attitude."""
    x, y, z = vector
    if symmetry == "mirror_y":
        return [(x, y, z), (x, -y, z)]
    if symmetry in ("box", "square_log"):
        signs = [(a * x, b * y, c * z) for a in (1, -1) for b in (1, -1) for c in (1, -1)]
        quarter = [(a, c, b) for a, b, c in signs] if symmetry == "square_log" else []
        return signs + quarter
    return [vector]


def apart_deg(first, second, symmetry):
    """The angle between two attitudes, up to the case's symmetry."""
    if symmetry == "any":
        return 0.0
    if symmetry.startswith("revolution"):
        ways = (1, -1) if symmetry.endswith("both") else (1,)
        return min(abs(rise_deg(first) - way * rise_deg(second)) for way in ways)
    return min(math.degrees(math.acos(np.clip(np.dot(first, image), -1, 1))) for image in images(second, symmetry))


def rise_deg(vector):
    """How far a vector rises along x."""
    return math.degrees(math.asin(np.clip(vector[0], -1, 1)))


@pytest.mark.parametrize("case", ALL, ids=[c["id"] for c in ALL])
def test_the_case_holds_through_the_command_line(case, tmp_path, capsys):
    """Sizes and masses; the case's attitudes are all there are, the first is found, with ``list_all`` every one."""
    document = weigh(case, tmp_path, capsys)
    for row in case["values"]:
        assert close(value(document, row["key"]), row), (row, value(document, row["key"]))
    wanted, symmetry = case.get("attitude", []), case.get("symmetry", "mirror_y")
    found = [document["float"], *document["float"]["others"]] if wanted else []

    def alike(one, other):
        return apart_deg(up(one), up(other), symmetry) <= case["tol_deg"]

    for attitude in found:
        assert any(alike(attitude, given) for given in wanted), (attitude["pitch_deg"], attitude["roll_deg"])
    for number, given in enumerate(wanted):
        near = [attitude for attitude in found if alike(attitude, given)]
        assert near or (number and not case.get("list_all")), (given, [(f["pitch_deg"], f["roll_deg"]) for f in found])
        for row in given.get("values", []):
            assert all(close(attitude[row["key"]], row) for attitude in near), (row, [a[row["key"]] for a in near])
