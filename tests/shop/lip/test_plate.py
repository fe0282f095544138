"""The plate: told sizes to the last digit, tongue and slot made for each other, findings worded as data."""

from dataclasses import replace
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from bodygen.errors import DesignError
from bodygen.plane.shapes import Arc
from bodygen.recipe.model import Cutting, Lip, TieHole
from bodygen.shop.lip.plate import lip_plate
from bodygen.tables import load

LIP = Lip("glass_epoxy", 1.575, pi / 4, 9.0, 24.0, 20.0, tie_hole=TieHole(1.6, 6.0))
OUTLINES = (*load("outlines")["lip"], "points")
POINTS = ((0.0, 6.0), (8.0, 10.0), (16.0, 9.0), (24.0, 0.0))


def codes(findings):
    return {f.code: f.severity for f in findings}


@pytest.mark.parametrize("slot_width", [None, 9.0, 18.0])
@pytest.mark.parametrize("outline", OUTLINES)
def test_exposed_length_and_greatest_width_are_exactly_as_told(outline, slot_width):
    plate, _ = lip_plate(replace(LIP, outline=outline, points=POINTS, slot_width=slot_width))
    x0, y0, x1, y1 = plate.exposed.box
    assert (x0, y0, x1, y1) == (pytest.approx(0, abs=1e-9), *map(pytest.approx, (-10, 24, 10)))
    assert plate.outline.ccw


@pytest.mark.parametrize("outline", OUTLINES)
def test_the_plate_is_symmetric_about_its_middle_line(outline):
    plate, _ = lip_plate(replace(LIP, outline=outline, points=POINTS))
    assert plate.centroid[1] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("outline", OUTLINES)
def test_area_and_centroid_are_those_that_shapely_measures_on_a_fine_polygon(outline):
    """Chords of 0.001 mm sag lose at most that times the perimeter, 0.1 mm^2."""
    plate, _ = lip_plate(replace(LIP, outline=outline, points=POINTS))
    polygon = Polygon(plate.outline.points(0.001), [h.points(0.0001) for h in plate.holes])
    assert polygon.is_valid
    assert plate.area == pytest.approx(polygon.area, abs=0.1)
    assert plate.centroid[0] == pytest.approx(polygon.centroid.x, abs=0.005)
    assert plate.volume == pytest.approx(plate.area * 1.575)


@pytest.mark.parametrize("outline", OUTLINES)
def test_tongue_and_exposed_part_make_the_whole(outline):
    """The tongue is a rectangle with two rounded corners: the fillets of a shoulder stand clear of the slot."""
    plate, _ = lip_plate(replace(LIP, outline=outline, points=POINTS, slot_width=9.0))
    tongue = plate.tongue_width * plate.tongue_length - 2 * plate.corner_radius**2 * (1 - pi / 4)
    assert plate.area - plate.exposed_area == pytest.approx(tongue, abs=0.02)


def test_the_tongue_is_the_slot_less_the_fit_and_the_end_gap():
    plate, _ = lip_plate(replace(LIP, slot_width=9.0, fit=0.15))
    assert plate.tongue_width == pytest.approx(9.0 - 0.15)
    assert plate.tongue_length == pytest.approx(9.0 - 0.5)
    assert plate.slot_thickness == pytest.approx(1.575 + 0.15)
    assert plate.outline.box[0] == pytest.approx(-8.5)


def test_in_a_slot_right_across_the_tongue_is_as_wide_as_the_plate_but_no_wider_than_the_body():
    assert lip_plate(LIP)[0].tongue_width == pytest.approx(20.0)
    assert lip_plate(LIP, 13.0)[0].tongue_width == pytest.approx(13.0)
    assert lip_plate(LIP, 40.0)[0].tongue_width == pytest.approx(20.0)
    assert lip_plate(replace(LIP, tongue_width=15.5), 13.0)[0].tongue_width == pytest.approx(15.5)


@settings(max_examples=40, derandomize=True)
@given(
    st.sampled_from(OUTLINES),
    st.floats(5, 60),
    st.floats(5, 60),
    st.one_of(st.none(), st.floats(3, 40)),
    st.sampled_from([0, 0.5, 1, 4]),
)
def test_any_lip_becomes_one_sound_plate_of_the_told_length(outline, length, width, slot_width, corner_radius):
    lip = replace(
        LIP,
        outline=outline,
        points=POINTS,
        length=length,
        width=width,
        slot_width=slot_width,
        corner_radius=corner_radius,
        tie_hole=None,
    )
    plate, _ = lip_plate(lip)
    assert plate.outline.box[0] == pytest.approx(-8.5, abs=1e-8)
    assert plate.outline.box[2] == pytest.approx(length, abs=1e-8)
    if plate.tongue_width <= width:
        assert plate.exposed.box[3] == pytest.approx(width / 2, abs=1e-8)
    polygon = Polygon(plate.outline.points(0.002))
    assert polygon.is_valid
    assert polygon.area == pytest.approx(plate.area, abs=0.002 * plate.outline.length)


def test_no_corner_is_sharper_than_the_corner_radius():
    plate, _ = lip_plate(replace(LIP, outline="wedge", slot_width=9.0))
    assert min(p.radius for p in plate.outline.pieces if isinstance(p, Arc)) == pytest.approx(1.0)


def test_a_corner_radius_too_large_is_cut_down_and_told():
    """A tongue 5.9 mm wide ends, at its roundest, in half a disc of 2.95 mm; a hair is left of its straight end."""
    plate, findings = lip_plate(replace(LIP, slot_width=6.0, corner_radius=8.0))
    assert plate.corner_radius == pytest.approx(2.95, abs=0.0011)
    (finding,) = [f for f in findings if f.code == "lip-corner-radius"]
    assert (finding.value, finding.limit, finding.severity) == (8.0, plate.corner_radius, "warning")


@pytest.mark.parametrize(
    ("sheet", "process", "severity"),
    [
        ("polycarbonate", "laser", "warning"),
        ("glass_epoxy", "laser", "error"),
        ("pvc", "laser", "error"),
        ("acrylic", "laser", None),
        ("pvc", "router", None),
    ],
)
def test_a_sheet_that_must_not_be_lasered_is_told_before_it_is_cut(sheet, process, severity):
    _, findings = lip_plate(replace(LIP, sheet=sheet, cutting=Cutting(process, 0.2)))
    assert codes(findings).get("lip-sheet-laser") == severity


def test_the_laser_finding_names_the_cautions():
    _, findings = lip_plate(replace(LIP, sheet="pvc", cutting=Cutting("laser", 0.2)))
    (finding,) = [f for f in findings if f.code == "lip-sheet-laser"]
    assert finding.remedy == (
        "PVC, rigid or foamed (and anything sold as vinyl) gives poison gas under a laser and ruins the machine: "
        "never laser it (see the cautions laser_pvc)"
    )


def test_a_sheet_too_brittle_for_a_lip_is_told():
    assert codes(lip_plate(replace(LIP, sheet="acrylic"))[1]) == {"lip-sheet-unsuitable": "warning"}


@pytest.mark.parametrize(
    ("hole", "code", "severity"),
    [
        (TieHole(1.6, 6.0), None, None),
        (TieHole(1.6, 22.0), "lip-hole-near-edge", "warning"),
        (TieHole(1.6, 24.2), "lip-hole-near-edge", "error"),
        (TieHole(1.6, 40.0), "lip-hole-near-edge", "error"),
        (TieHole(1.6, 0.5), "lip-hole-in-slot", "error"),
    ],
)
def test_a_tie_hole_too_near_an_edge_is_told(hole, code, severity):
    assert codes(lip_plate(replace(LIP, tie_hole=hole))[1]).get(code) == severity


def test_a_router_that_cannot_reach_into_the_shoulders_or_the_hole_is_told():
    _, findings = lip_plate(replace(LIP, slot_width=9.0, cutting=Cutting("router", 3.175)))
    assert codes(findings) == {"lip-hole-too-small-to-cut": "warning", "lip-corner-too-tight": "warning"}
    assert sum(f.code == "lip-corner-too-tight" for f in findings) == 2


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"tongue_width": 12.0, "slot_width": 9.0}, "lip-tongue-too-wide"),
        ({"outline": "points", "points": ((0.0, 6.0), (20.0, 9.0))}, "lip-points-stretched"),
        ({"length": 60.0, "width": 12.0}, "lip-aspect-ratio"),
        ({"cutting": Cutting("laser", 0.0), "sheet": "polycarbonate"}, "lip-kerf-unknown"),
    ],
)
def test_what_does_not_agree_is_told(change, code):
    assert code in codes(lip_plate(replace(LIP, tie_hole=None, **change))[1])


def test_a_sound_lip_raises_no_doubt():
    assert lip_plate(LIP)[1] == ()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"outline": "shovl"},
            r'lip.outline = "shovl": no such outline; there are shovel, spade, .* and points$',
        ),
        ({"sheet": "tin"}, r'lip.sheet = "tin": no such sheet; there are polycarbonate, .*'),
        ({"slot_depth": 0.4}, r"lip.slot_depth = 0.4 mm leaves no tongue: .*"),
        ({"outline": "points", "points": ((0.0, 5.0),)}, r"lip.points = .*: at least 2 points.*"),
        ({"outline": "points", "points": ()}, r"lip.points = \[\]: at least 2 points.*"),
    ],
)
def test_numbers_that_make_no_plate_are_refused(change, message):
    with pytest.raises(DesignError, match=message):
        lip_plate(replace(LIP, **change))
