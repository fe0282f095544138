"""SVG in true millimetres, read back with a plain XML parser."""

from math import pi
from xml.etree import ElementTree as ET

import pytest

from bodygen.export.svg import write_svg
from bodygen.plane.polygon import filleted
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Text

SVG = "{http://www.w3.org/2000/svg}"
PLATE = filleted([(0, 0), (20, 0), (20, 10), (0, 10)], [2] * 4)
DRAWING = Drawing(
    'lip "A" & B',
    (
        Layer("CUT", "cut", (Circle((5, 5), 1.25),), "magenta"),
        Layer("CUT", "cut", (PLATE,), "red"),
        Layer("MARK", "mark", (Line((0, 0), (5, 0)), Text("45° <mark>", (10, 5), 1.0, "middle", pi / 2)), "blue"),
    ),
    "invented recipe",
)


@pytest.fixture
def root(tmp_path):
    write_svg(DRAWING, tmp_path / "lip.svg")
    return ET.parse(tmp_path / "lip.svg").getroot()  # noqa: S314  (our own file, written a moment ago)


def test_one_unit_of_the_view_box_is_one_millimetre_of_paper(root):
    _, _, wide, tall = map(float, root.get("viewBox").split())
    assert (root.get("width"), root.get("height")) == (f"{wide:g}mm", f"{tall:g}mm")
    assert (wide, tall) == (30, 20)


def test_y_runs_up_in_the_drawing_and_down_in_the_file(root):
    x, y, _, _ = map(float, root.get("viewBox").split())
    assert (x, y) == (-5, -15)
    assert root.find(f".//{SVG}circle").get("cy") == "-5"


def test_layers_are_groups_with_unique_names_and_roles(root):
    groups = root.findall(f"{SVG}g")
    assert [(g.get("id"), g.get("class"), g.get("stroke")) for g in groups] == [
        ("CUT", "cut", "magenta"),
        ("CUT-2", "cut", "red"),
        ("MARK", "mark", "blue"),
    ]


def test_a_loop_is_one_closed_path_of_true_arcs(root):
    path = root.findall(f"{SVG}g")[1].find(f"{SVG}path").get("d")
    assert path.startswith("M")
    assert path.endswith("Z")
    assert path.count("A2,2 0 0 0 ") == 4  # counter-clockwise with y up is the negative sense of the file


@pytest.mark.parametrize(("ccw", "flags"), [(True, "1 0"), (False, "0 1")])
def test_large_and_sense_flags_pick_the_right_arc(tmp_path, ccw, flags):
    arc = Arc((1, 0), (0, -1), (0, 0), ccw)
    write_svg(Drawing("d", (Layer("MARK", "mark", (arc,)),)), tmp_path / "a.svg")
    assert f"A1,1 0 {flags} 0,1" in (tmp_path / "a.svg").read_text("utf-8")


def test_lettering_is_escaped_and_as_tall_as_asked(root):
    text = root.find(f".//{SVG}text")
    assert text.text == "45° <mark>"
    assert float(text.get("font-size")) * 0.716 == pytest.approx(1.0, abs=1e-5)
    assert "rotate(-90)" in text.get("transform")


def test_two_files_are_alike_and_free_of_foreign_line_ends(tmp_path, root):
    write_svg(DRAWING, tmp_path / "again.svg")
    written = (tmp_path / "again.svg").read_bytes()
    assert written == (tmp_path / "lip.svg").read_bytes()
    assert b"\r" not in written
    assert root.find(f"{SVG}desc").text == "invented recipe"
