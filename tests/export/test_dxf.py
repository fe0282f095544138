"""DXF as other programs read it: ezdxf's audit, shapely's area, a second process with another clock and hash seed."""

import os
import subprocess
import sys
from math import pi

import pytest
import shapely
from ezdxf import readfile

from bodygen.export.dxf import write_dxf
from bodygen.plane.polygon import filleted
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Placement, Text, placed

PLATE = placed(
    filleted([(0, 0), (20, 0), (20, 10), (8, 10), (8, 6), (0, 6)], [1, 2, 1, 1, 1.5, 1]), Placement((3, 4), 0.3)
)
DRAWING = Drawing(
    "Tarn perch lip",
    (
        Layer("CUT", "cut", (Circle(PLATE.centroid, 1.25),), "magenta"),
        Layer("CUT", "cut", (PLATE,), "red"),
        Layer("MARK", "mark", (Line((0, 0), (5, 0)), Text("Öhr 45°", (1, 1), 2.0, "middle", 0.3)), "blue"),
    ),
    "invented recipe",
)


@pytest.fixture
def document(tmp_path):
    write_dxf(DRAWING, tmp_path / "lip.dxf")
    return readfile(tmp_path / "lip.dxf")


def test_the_audit_finds_nothing_and_mends_nothing(document):
    auditor = document.audit()
    assert (auditor.errors, auditor.fixes) == ([], [])


def test_the_header_says_millimetres_and_where_the_drawing_lies(document):
    header = document.header
    assert (header["$INSUNITS"], header["$MEASUREMENT"], document.dxfversion) == (4, 1, "AC1015")
    x0, y0, x1, y1 = DRAWING.box
    assert header["$EXTMIN"][:2] == pytest.approx((x0 - 1, y0 - 1))
    assert header["$EXTMAX"][:2] == pytest.approx((x1 + 1, y1 + 1))


def test_the_extents_are_set_even_where_the_drawing_begins_at_the_origin(tmp_path):
    write_dxf(Drawing("d", (Layer("CUT", "cut", (filleted([(0, 0), (9, 0), (9, 9)], [1] * 3),)),)), tmp_path / "a.dxf")
    assert abs(readfile(tmp_path / "a.dxf").header["$EXTMIN"][0]) < 1e19


def test_layers_are_named_and_everything_is_of_one_plain_colour(document):
    """Index 7 is the format's black on white or white on black; 256 is "as the layer"."""
    assert {layer.dxf.name: layer.color for layer in document.layers if layer.dxf.name in {"CUT", "MARK"}} == {
        "CUT": 7,
        "MARK": 7,
    }
    assert {e.dxf.color for e in document.modelspace()} == {256}


def test_cut_layers_hold_lines_arcs_and_circles_with_the_area_that_was_drawn(document):
    """Read back by shapely from chords of 1e-4 mm sag, that times the perimeter being 0.006 mm^2."""
    chains = []
    for e in document.modelspace().query('*[layer=="CUT"]'):
        points = [e.dxf.start, e.dxf.end] if e.dxftype() == "LINE" else list(e.flattening(1e-4))
        chains.append([(round(p.x, 9), round(p.y, 9)) for p in points])
    merged = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(chains)))
    assert all(line.is_closed for line in merged)
    areas = sorted(shapely.Polygon(line).area for line in merged)
    assert areas == pytest.approx([pi * 1.25**2, PLATE.area], abs=0.01)


def test_clockwise_arcs_keep_their_side(tmp_path):
    arc = Arc((0, 0), (4, 0), (2, -1), ccw=False)
    write_dxf(Drawing("d", (Layer("MARK", "mark", (arc,)),)), tmp_path / "a.dxf")
    (entity,) = readfile(tmp_path / "a.dxf").modelspace()
    assert {(round(p.x, 9), round(p.y, 9)) for p in (entity.start_point, entity.end_point)} == {(0, 0), (4, 0)}
    assert max(p.y for p in entity.flattening(0.001)) > 1


def test_the_flat_copy_is_closed_polylines_within_the_sag(tmp_path):
    write_dxf(DRAWING, tmp_path / "flat.dxf", flat_sag=0.01)
    lines = list(readfile(tmp_path / "flat.dxf").modelspace().query("LWPOLYLINE"))
    closed = [e for e in lines if e.closed]
    assert len(closed) == 2
    assert not any(e.has_arc for e in lines)
    area = max(shapely.Polygon([p[:2] for p in e.get_points()]).area for e in closed)
    assert 0 <= PLATE.area - area < 0.01 * PLATE.length + 0.01


def test_letters_outside_ascii_survive(document):
    (text,) = document.modelspace().query("TEXT")
    assert text.dxf.text == "Öhr 45°"
    assert text.dxf.height == 2.0


def test_what_it_was_made_from_stands_at_the_top(tmp_path):
    write_dxf(DRAWING, tmp_path / "lip.dxf")
    assert (tmp_path / "lip.dxf").read_text("cp1252").splitlines()[:4] == [
        "999",
        "Tarn perch lip",
        "999",
        "invented recipe",
    ]


def test_another_process_at_another_time_with_another_hash_seed_writes_the_same_bytes(tmp_path):
    code = """
import sys, time, pathlib
time.time = lambda: 2e9
sys.path.insert(0, sys.argv[1])
from test_dxf import DRAWING, write_dxf
write_dxf(DRAWING, pathlib.Path(sys.argv[2]))
"""
    write_dxf(DRAWING, tmp_path / "a.dxf")
    environment = os.environ | {"PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo"}
    arguments = [sys.executable, "-B", "-c", code, os.path.dirname(__file__), str(tmp_path / "b.dxf")]  # noqa: PTH120
    subprocess.run(arguments, check=True, env=environment, cwd=tmp_path)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
