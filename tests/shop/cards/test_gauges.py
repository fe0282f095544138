"""Section gauges against the sections they were made for, by shapely; corner gauges against trigonometry."""

from dataclasses import replace
from itertools import combinations
from math import degrees, pi, radians

import ezdxf
import numpy as np
import pdfplumber
import pytest
from carved import body, body_skin
from shaped import NAMES, recipe, shaped
from shapely import LineString, Point, Polygon
from shapely import box as box_of

from bodygen.export.dxf import write_dxf
from bodygen.export.pdf import write_pdf
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.measure import mesh_volume
from bodygen.plane.kerf import plain
from bodygen.plane.label_places import label_box, overlap
from bodygen.plane.shapes import Arc, Line, Text
from bodygen.plane.tiles import paper_named
from bodygen.recipe.model import FlatSide, Lip
from bodygen.shop.cards.angle_block import angle_block
from bodygen.shop.cards.card import printed, sheets
from bodygen.shop.cards.corner_gauges import edge_gauge, eye_gauge, eye_places
from bodygen.shop.cards.section_gauges import default_gauge, default_rack, rack, section_gauges, stations_of
from bodygen.shop.engrave import words_size
from bodygen.shop.skin.silhouette import plan_view, section, side_view

EVEN_MM = 0.02
"""Issue 5: the clearance is the same all round within this."""
LABEL_AIR = 0.0


def cards_of(name):
    said, s = recipe(name), shaped(name)
    return section_gauges(s.body, s.mesh, stations_of(s.sizes[0], said.units), default_gauge(), said.units)[0]


def true_section(name, x):
    """The section from the surface's own points, not through skin/silhouette.py."""
    return shaped(name).body.section_at(x, 200)


@pytest.mark.parametrize("name", NAMES)
def test_the_light_is_the_same_all_round_and_the_card_touches_nowhere(name):
    """Back and belly by turns: the card is moved on by its own feet until the section lies in its notch."""
    sizes, said = default_gauge(), recipe(name)
    stations = stations_of(shaped(name).sizes[0], said.units)
    cards = cards_of(name)
    assert len(cards) == len(stations)
    for card, station in zip(cards, stations, strict=True):
        wood = true_section(name, station.x)
        cut = section(shaped(name).body, shaped(name).mesh, station.x, sizes.clearance)
        top = max(z for piece in cut.over for _, z in piece.extremes())
        bottom = min(z for piece in cut.under for _, z in piece.extremes())
        back_foot = min(0.0, cut.over[0].start[1])
        tall = card.outline.box[3]
        belly_up = tall - max(0.0, cut.under[0].start[1])
        assert belly_up == pytest.approx(top - back_foot + sizes.web - bottom)
        outline = LineString([*card.outline.points(0.0005), card.outline.pieces[0].start])
        flank = wood[wood[:, 0] > wood[:, 0].max() - 1e-6, 1]
        for up, on_top in ((-back_foot, True), (belly_up, False)):
            half = wood[wood[:, 1] >= flank.max()] if on_top else wood[wood[:, 1] <= flank.min()]
            gaps = [outline.distance(Point(y, z + up)) for y, z in half]
            assert min(gaps) > sizes.clearance - EVEN_MM
            assert max(gaps) < sizes.clearance + EVEN_MM


@pytest.mark.parametrize("name", NAMES)
def test_every_card_is_wide_enough_and_its_words_lie_on_it(name):
    for card in cards_of(name):
        solid = Polygon(card.outline.points(0.01))
        boxes = [label_box(mark) for mark in card.marks if isinstance(mark, Text)]
        for i, box in enumerate(boxes):
            assert solid.contains(Polygon([(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]))
            assert not any(overlap(box, other, LABEL_AIR) for other in boxes[:i])


def test_stations_lie_on_whole_steps_and_are_five_to_nine():
    for length in (40.0, 70.0, 110.0, 200.0):
        for units, step in (("mm", 0.5), ("in", 25.4 / 32)):
            places = [station.x / step for station in stations_of(length, units)]
            assert 5 <= len(places) <= 9
            assert all(abs(place - round(place)) < 1e-9 for place in places)
            assert places == sorted(set(places))


def test_the_marked_face_looks_to_the_thicker_wood_so_that_the_cards_thickness_lies_beside_the_thinner():
    cards, _ = section_gauges(body(), body_skin(), stations_of(80.0, "mm"), default_gauge(), "mm")
    faces = [mark.label for card in cards for mark in card.marks if isinstance(mark, Text) and "face" in mark.label]
    assert faces == sorted(faces, reverse=True)  # to the tail first, to the nose behind the deepest section
    assert set(faces) == {"face to tail", "face to nose"}


def test_the_section_of_an_ellipsoid_is_its_ellipse():
    """y = b s cos t, z = c s sin t with s = sqrt(1 - (2x/L - 1)^2); the spline through the rows misses by 0.02 mm."""
    s = (1 - (2 * 30 / 80 - 1) ** 2) ** 0.5
    cut = section(body(), body_skin(), 30.0)
    around = np.array([p for piece in (*cut.over, *cut.under) for p in piece.points(0.001)])
    radius = np.hypot(around[:, 0] / (10 * s), around[:, 1] / (15 * s))
    assert np.abs(radius - 1).max() < 0.005


def test_a_mesh_gives_the_gauges_of_the_surface_it_was_made_of():
    drawn, cut = (section(b, body_skin(), 30.0, 0.15) for b in (body(), None))
    a, b = (LineString([p for piece in c.over for p in piece.points(0.001)]) for c in (drawn, cut))
    assert a.hausdorff_distance(b) < 0.03  # facets of 0.02 mm


def test_the_cards_stand_in_the_rack():
    """Slots as wide as sheet and fit, under the limbs; rails and bars are halved into each other."""
    cards, _ = section_gauges(body(), body_skin(), stations_of(80.0, "mm"), default_gauge(), "mm")
    sizes, gauge = default_rack(), default_gauge()
    left, right, nose, _ = rack(cards, sizes, gauge)
    assert left.outline == right.outline
    floors = [p.length for p in left.outline.pieces if 0 < p.start[1] == p.end[1] < sizes.height]
    assert floors == pytest.approx([gauge.thickness + sizes.fit] * (len(cards) + 2))
    rail, bar = Polygon(left.outline.points(0.01)), Polygon(nose.outline.points(0.01))
    assert rail.area == pytest.approx(
        (2 * sizes.end + (len(cards) - 1) * sizes.pitch) * sizes.height
        - (gauge.thickness + sizes.fit) * (len(cards) * sizes.slot_depth + sizes.height)
    )
    apart = [x for x in np.arange(0, 30, 0.05) if not bar.contains(Point(x, sizes.height - 1)) and x < 20]
    middle = (min(apart) + max(apart)) / 2
    for card in cards:
        limb = Polygon(card.outline.points(0.01))
        assert limb.contains(Point(middle, 1.0))  # there is card above the rail
    assert sizes.slot_depth < sizes.height / 2


def test_prints_are_one_solid_each_with_the_cards_area():
    cards, _ = section_gauges(body(), body_skin(), stations_of(80.0, "mm"), default_gauge(), "mm")
    for card in (*cards, *rack(cards, default_rack(), default_gauge())):
        part = printed(card, 3.0)
        solid = to_manifold(part.mesh)
        assert len(solid.decompose()) == 1
        area = card.outline.area - sum(hole.area for hole in card.holes)
        assert 0.96 * 3 * area < mesh_volume(part.mesh).volume < 3 * area  # the lettering is sunk
        assert part.mesh.vertices.min() == pytest.approx(0)


def test_the_edge_gauge_has_its_radii_and_the_bodys_own():
    said = recipe("reedbed-roach-65")
    card = edge_gauge(replace(said, shape=replace(said.shape, flat_side=FlatSide(9.0, 4.5))))
    radii = [piece.radius for piece in card.outline.pieces if isinstance(piece, Arc)]
    assert sorted(radii) == pytest.approx([2, 3, 4, 4.5, 5, 6, 8])
    assert card.outline.ccw
    inch = edge_gauge(recipe("tarn-perch-70"))
    assert "own" not in " ".join(mark.label for mark in inch.marks if isinstance(mark, Text))
    wanted = [25.4 / 16, 25.4 * 3 / 32, 25.4 / 8, 25.4 * 3 / 16, 25.4 / 4, 25.4 * 5 / 16]
    assert sorted(p.radius for p in inch.outline.pieces if isinstance(p, Arc)) == pytest.approx(wanted)


@pytest.mark.parametrize("angle", [12.0, 30.0, 45.0, 52.5, 78.0])
def test_the_angle_block_holds_the_lips_angle_and_its_complement(angle):
    card, checks = angle_block(Lip("polycarbonate", 1.5, radians(angle), 8.0, 20.0, 18.0, x=10.0))
    assert not checks
    ways = [piece.direction(at_end=False) for piece in card.outline.pieces]
    slopes = [degrees(np.arctan2(abs(y), abs(x))) for x, y in ways]
    slant = max(card.outline.pieces, key=lambda p: p.length * (0.01 < abs(p.direction(at_end=False)[1]) < 0.9999))
    x, y = slant.direction(at_end=False)
    assert degrees(np.arctan2(abs(y), abs(x))) == pytest.approx(angle)
    assert sum(min(s, 90 - s) < 1e-6 for s in slopes) == len(slopes) - 1  # every other edge is square
    assert {mark.label for mark in card.marks} >= {f"{angle:g}°", f"{90 - angle:g}°"}


@pytest.mark.parametrize("angle", [8.0, 8.25, 12.5, 15.0, 30.0, 45.0, 60.0, 75.0, 77.5, 81.75, 82.0])
def test_both_figures_of_an_angle_block_stand_within_its_edges_and_apart(angle):
    card, _ = angle_block(Lip("polycarbonate", 1.5, radians(angle), 8.0, 20.0, 18.0, x=10.0))
    inside = Polygon(card.outline.points(0.01)).buffer(-0.3)
    rooms = [box_of(*label_box(mark)) for mark in card.marks]
    assert len(rooms) >= 2
    assert all(inside.contains(room) for room in rooms)
    assert not any(a.intersects(b) for a, b in combinations(rooms, 2))


@pytest.mark.parametrize("angle", [15.0, 75.0])
def test_so_they_stand_in_its_files_as_other_programs_read_them(angle, tmp_path):
    card, _ = angle_block(Lip("polycarbonate", 1.5, radians(angle), 8.0, 20.0, 18.0, x=10.0))
    drawn = sheets([card], "block")
    write_pdf(drawn, tmp_path / "block.pdf", paper_named("a4"), "block")
    write_dxf(drawn[0], tmp_path / "block.dxf")
    with pdfplumber.open(tmp_path / "block.pdf") as pdf:
        page = pdf.pages[0]
        edges = max((Polygon(one["pts"]) for one in page.curves if len(one["pts"]) > 3), key=lambda one: one.area)
        middles = [(c, Point((c["x0"] + c["x1"]) / 2, (c["top"] + c["bottom"]) / 2)) for c in page.chars]
        written = [
            (c["text"], box_of(c["x0"], c["top"], c["x1"], c["bottom"])) for c, m in middles if edges.contains(m)
        ]
    assert "".join(text for text, _ in written).count("\N{DEGREE SIGN}") == 2
    assert all(edges.contains(room) for _, room in written)
    read = ezdxf.readfile(tmp_path / "block.dxf").modelspace()
    edges = Polygon([one.dxf.start.vec2 for one in read.query("LINE")])
    for text in read.query("TEXT"):
        _, at, _ = text.get_placement()
        wide, tall = words_size([text.dxf.text], text.dxf.height)
        assert edges.contains(box_of(at.x - wide / 2, at.y - tall / 2, at.x + wide / 2, at.y + tall / 2))


@pytest.mark.parametrize("angle", [0.0, 5.0, 88.0, 90.0])
def test_a_needle_is_no_angle_block(angle):
    card, checks = angle_block(Lip("polycarbonate", 1.5, radians(angle), 8.0, 20.0, 18.0, x=10.0))
    assert card is None
    assert [doubt.code for doubt in checks] == ["angle-block-needle"]


@pytest.mark.parametrize("name", NAMES)
def test_the_eye_gauge_is_the_head_with_its_eyes_where_the_sockets_are(name):
    said, s = recipe(name), shaped(name)
    side = side_view(s.body, s.mesh)
    eyes = eye_places(said, s.tools)
    card, _ = eye_gauge(side, eyes)
    if not eyes:
        assert card is None
        return
    sockets = {(t.origin[0], t.origin[2]) for t in s.tools if t.kind == "eye"}
    assert {hole.centre for hole in card.holes} <= {at for at, _ in eyes}
    assert not sockets or sockets & {hole.centre for hole in card.holes}
    head = Polygon(card.outline.points(0.001))
    assert head.difference(Polygon(side.points(0.001)).buffer(0.01)).is_empty
    assert card.outline.box[0] == pytest.approx(side.box[0], abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_side_and_plan_are_the_bodys_own_lines(name):
    """Belly, back and half width at many x, straight from the surface, lie on the fitted arcs."""
    s = shaped(name)
    x = np.linspace(0.01, 0.99, 60) * s.body.length
    belly, back = s.body.heights_at(x)
    for loop, rows in (
        (side_view(s.body, s.mesh), (belly, back)),
        (plan_view(s.body, s.mesh), (s.body.half_width_at(x),)),
    ):
        line = LineString([*loop.points(0.0005), loop.pieces[0].start])
        assert loop.ccw
        assert line.is_simple
        for row in rows:
            assert max(line.distance(Point(a, b)) for a, b in zip(x, row, strict=True)) < 0.006


def test_plain_loops_keep_their_place_and_lose_what_programs_refuse():
    cards, _ = section_gauges(body(), body_skin(), stations_of(80.0, "mm"), default_gauge(), "mm")
    for card in cards:
        loop = plain(card.outline)
        assert loop.area == pytest.approx(card.outline.area, abs=0.05)
        assert all(abs(p.sweep) >= 0.02 and p.length >= 0.05 for p in loop.pieces if isinstance(p, Arc))
        assert all(p.length >= 0.002 for p in loop.pieces if isinstance(p, Line))


def test_a_kerf_is_allowed_for_once_on_a_sheet_of_cards():
    """Outline grown by half the kerf all round: area + perimeter * k/2 + pi (k/2)^2 for a convex card; holes shrink."""
    card = angle_block(Lip("polycarbonate", 1.5, radians(30.0), 8.0, 20.0, 18.0, x=10.0))[0]
    (bare,), (moved,) = sheets([card], "block"), sheets([card], "block", kerf=0.2)
    before, after = (d.layers[0].items[0] for d in (bare, moved))
    assert after.area == pytest.approx(before.area + before.length * 0.1 + pi * 0.01)
    assert "0.2" in moved.name


def test_cards_do_not_overlap_on_their_sheets():
    cards = [card for name in ("tarn-perch-70", "fell-reed-110") for card in cards_of(name)] * 3
    pages = sheets(cards, "many")
    assert len(pages) > 1
    assert sum(len(page.layers[0].items) for page in pages) == len(cards)
    for page in pages:
        x0, y0, x1, y1 = page.box
        assert x1 - x0 <= 185.0 + 1e-9
        assert y1 - y0 <= 235.0 + 1e-9
        boxes = [loop.box for loop in page.layers[0].items]
        assert not any(overlap(a, b, 3.9) for i, a in enumerate(boxes) for b in boxes[:i])


def test_a_thin_tip_is_cut_off_where_it_is_as_wide_as_said():
    card, _ = angle_block(Lip("polycarbonate", 1.5, radians(9.0), 8.0, 20.0, 18.0, x=10.0))
    assert min(p.length for p in card.outline.pieces) == pytest.approx(2.5, abs=0.01)


@pytest.mark.parametrize("name", ["reedbed-roach-65", "fell-reed-110"])
def test_an_eye_gauge_says_what_it_is_which_flank_and_which_end(name):
    """Each word lies on the card, off the holes; read with its nose to the left, it lies on the left flank."""
    s = shaped(name)
    card, checks = eye_gauge(side_view(s.body, s.mesh), eye_places(recipe(name), s.tools))
    words = {mark.label: mark for mark in card.marks if isinstance(mark, Text)}
    said = {f.remedy for f in checks if f.code == "jig-no-label"}
    assert {word.split()[0].rstrip("s") for word in words} == {"eye", "left", "tail"}
    assert not said
    assert any(word.startswith("left") for word in words)
    outline = Polygon(card.outline.points(0.01))
    for mark in words.values():
        wide, tall = words_size([mark.label], mark.height)
        (x, y), half = mark.at, (wide / 2, tall / 2)
        letters = box_of(x - half[0], y - half[1], x + half[0], y + half[1])
        assert outline.buffer(-0.5).contains(letters)
        assert all(Point(hole.centre).distance(letters) > hole.radius + 0.5 for hole in card.holes)
    low, _, high, _ = card.outline.box
    assert words["tail"].at[0] > (low + high) / 2
