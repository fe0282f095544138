"""Parallel curves against Steiner's formula and against the buffers of shapely (GEOS)."""

from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Point, Polygon

from bodygen.errors import DesignError
from bodygen.plane.parallel import parallel, rounded
from bodygen.plane.polygon import filleted, polygon, rectangle, slot
from bodygen.plane.shapes import Arc

L_SHAPE = [(0, 0), (40, 0), (40, 10), (25, 10), (25, 8), (15, 8), (15, 30), (0, 30)]


@pytest.mark.parametrize("distance", [0.1, 1, 7.5])
@pytest.mark.parametrize(
    "loop", [rectangle(20, 10), slot(30, 8), polygon([(0, 0), (9, 1), (4, 8)])], ids=["rectangle", "slot", "triangle"]
)
def test_growing_a_convex_shape_follows_steiners_formula(loop, distance):
    """A + P d + pi d^2 (Steiner 1840; Santaló, Integral geometry and geometric probability, eq. 1.16; from memory)."""
    (grown,) = parallel(loop, distance)
    assert grown.area == pytest.approx(loop.area + loop.length * distance + pi * distance**2, rel=1e-13)
    assert grown.length == pytest.approx(loop.length + 2 * pi * distance, rel=1e-13)


@pytest.mark.parametrize("distance", [5.2, 3, 0.1, -1, -3, -4.9])
def test_every_point_of_a_parallel_loop_lies_at_the_distance(distance):
    """Sampled every few hundredths; 1e-6 mm is far under the 0.005 mm that a cut could show."""
    original = LinearRing(L_SHAPE)
    for loop in parallel(polygon(L_SHAPE), distance):
        for point in loop.points(0.001):
            assert original.distance(Point(point)) == pytest.approx(abs(distance), abs=2e-5)


def test_a_shape_that_falls_in_two_gives_two_loops_greatest_first():
    first, second = parallel(polygon(L_SHAPE), -4.9)
    assert first.area > second.area > 0


def test_a_shape_that_vanishes_gives_none():
    assert parallel(rectangle(10, 4), -2.5) == ()


def test_lines_and_arcs_stay_lines_and_arcs():
    (grown,) = parallel(filleted([(0, 0), (20, 0), (20, 10), (0, 10)], [2] * 4), 1.5)
    assert sorted(p.radius for p in grown.pieces if isinstance(p, Arc)) == pytest.approx([3.5] * 4)
    assert len(grown.pieces) == 8


@settings(max_examples=60, derandomize=True)
@given(
    st.lists(st.floats(8, 20), min_size=3, max_size=14),
    st.floats(-4, 6).filter(lambda d: abs(d) > 0.01),
    st.floats(0.1, 0.9),
)
def test_parallels_of_parallels_have_the_area_that_shapely_finds(radii, distance, share):
    """Of star-shaped polygons; shapely's arcs are chords of a quarter degree, whence 0.02 mm^2."""
    points = [(r * cos(2 * pi * i / len(radii)), r * sin(2 * pi * i / len(radii))) for i, r in enumerate(radii)]
    first = parallel(polygon(points), distance)
    second = [loop for one in first for loop in parallel(one, -share * distance)]
    buffer = Polygon(points).buffer(distance, quad_segs=400)
    assert sum(loop.signed_area for loop in first) == pytest.approx(buffer.area, abs=0.01)
    back = buffer.buffer(-share * distance, quad_segs=400)
    assert sum(loop.signed_area for loop in second) == pytest.approx(back.area, abs=0.02)


def test_rounding_a_rectangle_is_the_filleted_rectangle():
    loop = rounded(rectangle(20, 10), 2, 2)
    assert loop.area == pytest.approx(200 - 4 * (4 - pi), rel=1e-12)
    assert loop.box == pytest.approx((0, 0, 20, 10), abs=1e-12)


@settings(max_examples=40, derandomize=True)
@given(st.lists(st.floats(8, 20), min_size=3, max_size=9), st.floats(0.2, 3), st.floats(0.2, 3))
def test_arcs_in_the_corners_are_what_moving_in_and_out_and_out_and_in_gives(radii, outside, inside):
    """To the last digits, of star-shaped polygons; where that parts the shape or shuts a gap, both refuse."""
    count = len(radii)
    star = polygon([(r * cos(2 * pi * i / count), r * sin(2 * pi * i / count)) for i, r in enumerate(radii)])
    steps = (star,)
    for distance in (-outside, outside, inside, -inside):
        steps = parallel(steps[0], distance) if len(steps) == 1 else ()
    if len(steps) == 1:
        assert rounded(star, outside, inside).area == pytest.approx(steps[0].area, rel=1e-9)
    else:
        with pytest.raises(DesignError):
            rounded(star, outside, inside)


def test_a_neck_at_a_sharp_inside_corner_is_too_narrow_though_it_would_do_once_rounded():
    """The corner stands 3 mm off the side across from it, and would 4.9 mm when rounded: the disc is 4 mm wide."""
    notched = polygon([(0, 0), (40, 0), (40, 20), (30, 20), (20, 3), (10, 20), (0, 20)])
    with pytest.raises(DesignError, match="a corner radius of 2 mm does not fit"):
        rounded(notched, 2, 2)


def test_rounding_leaves_no_corner_sharper_than_told():
    loop = rounded(polygon(L_SHAPE), 1.0, 0.8)
    for piece in loop.pieces:
        if isinstance(piece, Arc):
            assert piece.radius >= (1.0 if piece.ccw else 0.8) - 1e-9


def test_a_corner_radius_too_large_is_refused_with_both_sizes():
    with pytest.raises(DesignError, match=r"a corner radius of 6 mm does not fit a shape of 20.00 x 10.00 mm"):
        rounded(rectangle(20, 10), 6, 0)
