"""Left and right, nose and tail, of all that is cut to fit, on a body whose flanks differ: by geometry, not by names.

The body is a tube, half an ellipse of one width on the right and of another on the left: skin that unrolls without
error, so where a point of a film comes to lie on it is known in closed form.
"""

from dataclasses import replace
from math import radians, tan

import manifold3d
import numpy as np
import pytest
from amount import only_with_more
from carved import body, body_skin, cut_out_of
from carved import stations as carved_stations
from carved import tools as carved_tools
from tube import HALF_DEPTH, HALF_WIDTHS, LENGTH, VIEW, tube

from bodygen.form.blank import blank_of, default_allowance
from bodygen.form.facing import FLANKS, SIDE, SIDES
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import Mesh
from bodygen.mesh.split import half
from bodygen.plane.label_places import label_box
from bodygen.plane.shapes import Text
from bodygen.recipe.model import Mask, Recipe
from bodygen.report.pictures.views import view_of
from bodygen.shop.cards.corner_gauges import eye_flanks, eye_gauge, eye_places
from bodygen.shop.cards.dip_carrier import carrier
from bodygen.shop.cards.outline_cards import card_templates
from bodygen.shop.cards.section_gauges import Station, default_gauge, section_gauges
from bodygen.shop.cards.tool_marks import marks_in
from bodygen.shop.jigs.cradle import cradles
from bodygen.shop.jigs.mould import TO_PARTING_UP
from bodygen.shop.masks.film import default_film, film_of, labels_on, mask_films
from bodygen.shop.masks.regions import regions, side_view_of
from bodygen.shop.mill.carving_setup import lying
from bodygen.shop.skin.flank import flank_of
from bodygen.shop.skin.silhouette import plan_view, side_view

SLANT = radians(20.0)
BARS = Mask("bars", "bars", start=20.0, end=52.0, low=0.2, high=0.8, count=3, width=4.0, slant=SLANT)
SAME = 0.02
"""Share of a region's area by which two outlines of it may differ: the grid's 1 mm steps along the edges."""


def girth_up_to(z, side):
    """Way along the half ellipse from the middle of the belly up to height z (k,), by quadrature [mm]."""
    a = np.linspace(0.0, np.pi, 20001)
    speed = np.hypot(HALF_WIDTHS[side] * np.cos(a), HALF_DEPTH * np.sin(a))
    way = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(a))])
    return np.interp(np.arccos(-np.asarray(z) / HALF_DEPTH), a, way)


def bars_unrolled(side):
    """The bars as they lie on the skin of a flank, seen from outside and rolled out from the belly upwards."""
    low, high = (-HALF_DEPTH + share * 2 * HALF_DEPTH for share in (0.2, 0.8))
    z = np.linspace(low, high, 200)
    to_the_right = -1.0 if side == "right" else 1.0  # seen from the bait's right, its tail (x) lies to the left
    rings = []
    for middle in (22.0, 36.0, 50.0):
        x = np.concatenate([middle - 2.0 + z * tan(SLANT), (middle + 2.0 + z * tan(SLANT))[::-1]])
        rings.append(np.column_stack([to_the_right * x, girth_up_to(np.concatenate([z, z[::-1]]), side)]))
    return manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero)


def apart(film, skin):
    """Area of what is in one shape alone, the two boxes laid on each other, as a share of the skin's."""
    (a, b, c, d), (e, f, g, h) = film.bounds(), skin.bounds()
    film = film.translate(((e + g - a - c) / 2, (f + h - b - d) / 2))
    return ((film - skin).area() + (skin - film).area()) / skin.area()


@pytest.mark.parametrize("side", SIDES)
def test_a_film_wrapped_on_its_flank_seen_from_outside_covers_the_slanted_bars_there(side):
    (bars,), _ = regions([BARS], VIEW, ())
    flank = flank_of(None, tube(), 1.0, 65, 1.0, side)
    (film,) = film_of(bars, flank, VIEW, default_film())
    assert film.errors[0] < 1e-3  # a tube unrolls
    expected = bars_unrolled(side)
    assert apart(film.cut_out, expected) < SAME
    assert apart(film.cut_out.mirror((1.0, 0.0)), expected) > 0.3  # the other flank's would not do
    other = "left" if side == "right" else "right"
    assert apart(film.cut_out, bars_unrolled(other).mirror((1.0, 0.0))) > 3 * SAME  # nor this one's turned over


@pytest.mark.parametrize("side", SIDES)
def test_what_is_cut_in_the_files_drawing_is_that_film_and_its_arrow_points_to_the_nose(side):
    (bars,), _ = regions([BARS], VIEW, ())
    films, _ = mask_films(None, tube(), VIEW, [bars])
    (drawing,) = films.values()
    cut, words = drawing.layers
    rings = [np.array(loop.points(0.01)) for loop in cut.items]
    upper = [ring for ring in rings if (ring[:, 1].mean() > np.mean([r[:, 1].mean() for r in rings]))]
    mine = upper if side == "right" else [ring for ring in rings if not any(ring is one for one in upper)]
    mine = sorted(mine, key=np.ptp, reverse=True)[1:]  # without the film's own outline
    assert apart(manifold3d.CrossSection(mine, manifold3d.FillRule.EvenOdd), bars_unrolled(side)) < SAME
    assert sum(text.label == "nose >" for text in words.items if hasattr(text, "label")) == 1
    labels = [text.label for text in words.items if hasattr(text, "label")]
    assert labels == ["nose >", "right flank", "bars", "< nose", "left flank", "bars"]


def eye_on(side):
    """The ellipsoid's eye sockets of one flank."""
    eyes = (tool for tool in carved_tools() if tool.kind == "eye")
    return [replace(tool, mirrored=False) for tool in eyes if (tool.axis[1] < 0) == (side == "right")]


@pytest.mark.parametrize("side", SIDES)
def test_an_eye_on_one_flank_has_one_film_with_its_nose_side_where_the_body_is_less_deep(side):
    """On the ellipsoid's fore part a film is lower towards the nose: at the right for the right flank."""
    view = side_view_of(ray_caster_of(body()))
    (ring,), _ = regions([Mask("eye", "eye")], view, eye_on(side))
    assert tuple(ring.on) == (side,)
    (film,) = film_of(ring, flank_of(body(), body_skin(), 1.0, 33, 1.0, side), view, default_film())
    x0, _, x1, _ = film.sheet.bounds()
    strip = manifold3d.CrossSection.square((1.0, 200.0)).translate((0.0, -100.0))
    at_left, at_right = ((film.sheet ^ strip.translate((x, 0.0))).area() for x in (x0 + 1.0, x1 - 2.0))
    assert FLANKS[side].nose == ("right" if at_left > at_right else "left")
    assert next(text.label for text in labels_on(film, default_film())) == ("nose >" if side == "right" else "< nose")


def test_two_eyes_at_different_places_have_each_its_own_ring():
    right = eye_on("right")[0]
    left = eye_on("left")[0]
    moved = replace(left, origin=(left.origin[0] + 9.0, *left.origin[1:]))
    (ring,), _ = regions([Mask("eye", "eye")], side_view_of(ray_caster_of(body())), (right, moved))
    assert {side: round(np.mean(shape.bounds()[::2]), 3) for side, shape in ring.on.items()} == {
        "right": pytest.approx(right.origin[0], abs=1e-3),
        "left": pytest.approx(right.origin[0] + 9.0, abs=1e-3),
    }


def test_lettering_lies_within_the_films_outline_clear_of_its_cuts():
    view = side_view_of(ray_caster_of(body()))
    made, _ = regions([Mask(kind, kind) for kind in ("back", "flank", "bars", "gill")], view, ())
    for region in made:
        for side in SIDES:
            (film,) = film_of(region, flank_of(body(), body_skin(), 1.0, 33, 1.0, side), view, default_film())
            texts = labels_on(film, default_film())
            assert {f"{side} flank", region.name} <= {text.label for text in texts}
            for text in texts:
                x0, y0, x1, y1 = label_box(text)
                box = manifold3d.CrossSection.square((x1 - x0, y1 - y0)).translate((x0, y0))
                assert (box - film.sheet).area() < 1e-6


def test_the_carriers_word_nose_stands_towards_the_nose():
    (frame, _), _ = carrier(body_skin(), carved_tools(), (), None)
    (word,) = (mark for mark in frame.marks if mark.label == "nose")
    x0, _, x1, _ = frame.outline.box
    assert word.at[0] < (x0 + x1) / 2


def carved_with(side):
    """The ellipsoid with an eye socket on one flank alone, 6 mm across and 1.5 mm deep, at x = 10 and z = 2."""
    return cut_out_of(body_skin(), eye_on(side))


def dug_at(mesh, x, y, top):
    """How far the wood at (x, y) lies below a height, looked at from above [mm]."""
    hits = to_manifold(mesh).ray_cast((x, y, top), (x, y, top - 100.0))
    return 100.0 * hits[0].distance


@pytest.mark.parametrize("side", SIDES)
def test_a_half_holds_the_socket_of_its_own_flank(side):
    """The whole half is half the ellipsoid; its own socket is missing from it alone."""
    whole, cut = to_manifold(body_skin()).volume() / 2, carved_with(side)
    own, other = (
        to_manifold(half(cut, which, ())).volume() for which in (side, "left" if side == "right" else "right")
    )
    socket = to_manifold(body_skin()).volume() - to_manifold(cut).volume()
    assert socket > 30.0
    assert (own, other) == (pytest.approx(whole - socket, rel=1e-6), pytest.approx(whole, rel=1e-6))


@pytest.mark.parametrize("side", SIDES)
def test_a_half_on_the_mill_has_its_flank_up_its_nose_to_the_left_and_is_not_mirrored(side):
    """Looked down on with the nose at the left, the left flank has its back up the page, the right its belly."""
    placed = lying(half(carved_with(side), side, ()), side)
    assert to_manifold(placed).volume() > 0  # a mirrored one would be inside out
    page_up = 1.0 if side == "left" else -1.0  # of the body's z
    clear = dug_at(placed, 10.0, -2.0 * page_up, 50.0)
    assert dug_at(placed, 10.0, 2.0 * page_up, 50.0) > clear + 0.9  # the socket, 1.5 mm deep in a sloping skin
    assert placed.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-9)


@only_with_more
@pytest.mark.parametrize("holder", ["left-jaw", "right-jaw"])
def test_a_jaw_holds_the_flank_that_it_is_named_for(holder):
    """The body laid into it as ``placements`` say: its wood lies on that side of the mid-plane, in reach of its gap."""
    said = Recipe("tube", "mm", carved_stations())
    made = cradles(said, None, tube(), ())
    placed = zip(made.parts[: len(made.placements)], made.placements, strict=True)
    named = [(part, place) for part, place in placed if part.name.startswith(f"vise-{holder}")]
    assert named
    for part, place in named:
        assert np.linalg.det(place[:, :3]) == pytest.approx(1.0)
        jaw = to_manifold(part.mesh)
        laid = to_manifold(tube()).transform(place)
        assert (jaw ^ laid).volume() < 1e-6
        back = (part.mesh.vertices - place[:, 3]) @ place[:, :3]  # in body axes
        y = back[:, 1] * (1.0 if holder == "right-jaw" else -1.0)
        assert y.min() > 0.0
        assert jaw.min_gap(laid, 2.0) < 1.0


def test_mould_halves_lie_on_their_own_sides_and_are_printed_by_a_turn_alone():
    for side, turn in TO_PARTING_UP.items():
        assert np.linalg.det(turn) == pytest.approx(1.0)
        assert turn @ np.array([0.0, -1.0 if side == "right" else 1.0, 0.0]) == pytest.approx((0.0, 0.0, 1.0))


@pytest.mark.parametrize(("face", "wide_at"), [("tail", "right"), ("nose", "left")])
def test_a_section_gauge_is_wide_where_the_body_is_as_seen_looking_at_its_marked_face(face, wide_at):
    """Facing the tail it is read from behind, where the bait's right is at the right; facing the nose, the reverse.

    A gauge faces where the body grows: the tube is drawn out to twice its size at that end.
    """
    vertices = tube().vertices
    size = (1.0 if face == "tail" else 2.0) + (1.0 if face == "tail" else -1.0) * vertices[:, :1] / LENGTH
    drawn = Mesh(vertices * np.hstack([np.ones_like(size), size, size]), tube().faces)
    stations = tuple(Station(i, x) for i, x in enumerate((20.0, 40.0, 60.0), start=1))
    cards, _ = section_gauges(None, drawn, stations, default_gauge(), "mm")
    card = cards[1]
    assert f"face to {face}" in [text.label for text in card.marks if isinstance(text, Text)]
    shape = manifold3d.CrossSection([card.outline.points(0.01)], manifold3d.FillRule.Positive)
    x0, _, x1, _ = card.outline.box
    notch = manifold3d.CrossSection.square((x1 - x0 - 8.0, 0.02)).translate((x0 + 4.0, 0.5)) - shape
    reach = {"right": notch.bounds()[2], "left": -notch.bounds()[0]}
    other = "left" if wide_at == "right" else "right"
    assert reach[wide_at] - reach[other] == pytest.approx(1.5 * (HALF_WIDTHS["right"] - HALF_WIDTHS["left"]), abs=0.3)


def test_the_drawings_side_view_shows_the_left_sockets_rim_and_hides_the_right_ones():
    for side, pens in (("left", {"visible", "hidden"}), ("right", {"hidden"})):
        view = view_of(SIDE, body(), eye_on(side), None)
        assert {trace.pen for trace in view.traces if trace.pen in ("visible", "hidden")} == pens
        assert view.marks[0] == pytest.approx((10.0, 2.0), abs=0.5)


@pytest.mark.parametrize(("side", "word"), [("left", "A"), ("right", "A right")])
def test_the_template_has_a_cross_to_drill_at_only_on_the_face_that_is_drilled(side, word):
    """It is glued on the left side: a socket of the right one is drawn there without a cross, and says so."""
    box = blank_of(np.array([0.0, -10, -15]), np.array([80.0, 10, 15]), default_allowance("mm"))
    (mark,) = marks_in("side", eye_on(side), box)
    assert (mark.face, mark.far, bool(mark.axes)) == (side, side == "right", side == "left")
    outlines = side_view(body(), body_skin()), plan_view(body(), body_skin())
    profile, _ = card_templates(outlines, box, eye_on(side), (), 2.0)
    assert word in [text.label for text in profile.marks if isinstance(text, Text)]


def test_a_bore_into_the_belly_has_no_cross_on_the_back_and_one_right_through_or_on_both_sides_has():
    box = blank_of(np.array([0.0, -10, -15]), np.array([80.0, 10, 15]), default_allowance("mm"))
    above = {mark.tool.name: mark for mark in marks_in("plan", carved_tools(), box)}
    beside = {mark.tool.name: mark for mark in marks_in("side", carved_tools(), box)}
    assert (above["ballast"].face, above["ballast"].far, above["ballast"].axes) == ("belly", True, ())
    assert (above["rattle"].face, above["rattle"].far) == ("back", False)
    assert [beside[name].far for name in ("eye", "pivot")] == [False, False]


def test_the_eye_gauge_is_turned_over_only_where_the_other_flank_has_that_eye_too():
    said = Recipe("ellipsoid", "mm", carved_stations())
    right, left = eye_on("right")[0], eye_on("left")[0]
    aft = replace(left, origin=(left.origin[0] + 9.0, *left.origin[1:]))
    words = {"both": (right, left), "one": (right,), "apart": (right, aft)}
    outline, use = side_view(body(), body_skin()), {}
    for name, sockets in words.items():
        eyes = eye_places(said, sockets)
        card, _ = eye_gauge(outline, eyes, eye_flanks(said, sockets, eyes))
        use[name] = card.use
    assert "turn it over for the other flank" in use["both"]
    assert "on the right flank alone" in use["one"]
    assert "10.0 mm from the nose on the right flank, 19.0 mm from the nose on the left flank" in use["apart"]
