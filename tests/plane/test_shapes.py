"""Areas, centroids and boxes of plane shapes against elementary closed forms."""

from math import pi, sqrt

import pytest

from bodygen.errors import BodygenError
from bodygen.plane.polygon import filleted, polygon, rectangle, slot
from bodygen.plane.shapes import Arc, Circle, Drawing, Layer, Line, Loop, Placement, Text, corners, placed


def half_disc(radius):
    return Loop((Arc((radius, 0.0), (-radius, 0.0), (0.0, 0.0)), Line((-radius, 0.0), (radius, 0.0))))


def test_filleted_rectangle_has_the_area_and_perimeter_of_the_closed_form():
    """Each corner loses r^2 (1 - pi/4) of area and r (2 - pi/2) of length; exact, so only rounding may differ."""
    loop = filleted([(0, 0), (20, 0), (20, 10), (0, 10)], [1, 2, 3, 4])
    squares = 1 + 4 + 9 + 16
    assert loop.area == pytest.approx(200 - squares * (1 - pi / 4), rel=1e-14)
    assert loop.length == pytest.approx(60 - 10 * (2 - pi / 2), rel=1e-14)
    assert loop.ccw


def test_half_disc_has_its_centroid_at_four_thirds_of_r_over_pi():
    """4 r / (3 pi) from the diameter: any handbook's table of plane areas."""
    x, y = half_disc(3.0).centroid
    assert (x, y) == (pytest.approx(0, abs=1e-14), pytest.approx(4 * 3 / (3 * pi), rel=1e-14))
    assert half_disc(3.0).area == pytest.approx(9 * pi / 2, rel=1e-14)


def test_slot_with_full_round_ends_is_a_rectangle_and_a_disc():
    loop = slot(20, 6, (5, 7))
    assert loop.area == pytest.approx(14 * 6 + 9 * pi, rel=1e-14)
    assert loop.box == pytest.approx((-5, 4, 15, 10))


def test_box_of_an_arc_holds_the_quadrant_points_it_passes_and_no_others():
    r = sqrt(0.5)
    assert half_disc(2.0).box == pytest.approx((-2, 0, 2, 2))
    quarter = Loop((Arc((r, -r), (r, r), (0.0, 0.0)), Line((r, r), (r, -r))))
    assert quarter.box == pytest.approx((r, -r, 1, r))
    back = Loop((Arc((r, r), (r, -r), (0.0, 0.0), ccw=False), Line((r, -r), (r, r))))
    assert back.box == pytest.approx((r, -r, 1, r))
    assert back.signed_area < 0 < quarter.signed_area


def test_chords_leave_the_loop_by_no_more_than_the_sag():
    """A polygon of chords misses at most sag times perimeter of the area."""
    loop = slot(20, 6)
    points = loop.points(0.01)
    flat = polygon(points)
    assert 0 < loop.area - flat.area < 0.01 * loop.length
    assert all(abs(abs(y) - 3) < 1e-12 or abs(abs(x) - 7) < 3.01 for x, y in points)


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("angle", [0, 0.3, pi / 2, pi, -2])
def test_a_move_keeps_area_perimeter_and_sense_and_every_joint_exact(angle, mirror):
    loop = filleted([(0, 0), (20, 0), (20, 10), (5, 10), (5, 5), (0, 5)], [1, 1, 1, 1, 2, 1])
    moved = placed(loop, Placement((3, -8), angle, mirror))
    assert moved.signed_area == pytest.approx(loop.signed_area, rel=1e-12)
    assert moved.length == pytest.approx(loop.length, rel=1e-12)


def test_quarter_turns_keep_straight_edges_straight():
    assert placed(rectangle(3, 1), Placement(angle=pi / 2)).box == (-1, 0, 0, 3)


def test_an_open_chain_is_refused_with_the_gap():
    with pytest.raises(BodygenError, match=r"piece 0 ends at \(1, 0\), the next begins at \(1, 1e-12\)"):
        Loop((Line((0, 0), (1, 0)), Line((1, 1e-12), (0, 0))))


def test_corner_radii_that_do_not_fit_are_refused_with_the_side():
    with pytest.raises(BodygenError, match=r"corner radii of 6 and 6 mm do not fit on a side of 10 mm"):
        filleted([(0, 0), (20, 0), (20, 10), (0, 10)], [6] * 4)


def test_the_box_of_a_drawing_holds_its_lettering():
    text = Text("a label", (10, 10), 2, "right", pi / 2)
    x0, y0, x1, y1 = Drawing("d", (Layer("MARK", "mark", (text, Circle((0, 0), 1))),)).box
    assert x0 == -1
    assert y0 < 0
    assert x1 > 10
    assert y1 == pytest.approx(10)
    assert len(corners(text)) == 4
