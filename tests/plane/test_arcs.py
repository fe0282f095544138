"""Biarcs against circles and a sine curve."""

from itertools import pairwise
from math import atan2, cos, hypot, pi, sin

import pytest

from bodygen.errors import BodygenError
from bodygen.plane.arcs import arcs_through, biarc, directions_of, distance, fitted_arcs
from bodygen.plane.shapes import Arc, Line


def on_circle(angles, radius=10.0):
    return [(radius * cos(a), radius * sin(a)) for a in angles]


def test_points_of_a_circle_give_its_own_tangents_and_arcs():
    """Three points fix a circle, so the estimate is exact even where the points are uneven."""
    angles = [0, 0.2, 0.5, 0.6, 1.1, 1.5]
    ways = directions_of(on_circle(angles))
    for a, (x, y) in zip(angles, ways, strict=True):
        assert (x, y) == (pytest.approx(-sin(a), abs=1e-12), pytest.approx(cos(a), abs=1e-12))
    for piece in arcs_through(on_circle(angles), ways):
        assert isinstance(piece, Arc)
        assert piece.radius == pytest.approx(10, rel=1e-9)


def test_a_biarc_leaves_and_arrives_in_the_given_directions_and_is_smooth_in_between():
    start, end = biarc((0, 0), (0, 1), (10, 3), (cos(-0.4), sin(-0.4)))
    assert start.direction(at_end=False) == pytest.approx((0, 1))
    assert end.direction(at_end=True) == pytest.approx((cos(-0.4), sin(-0.4)))
    assert start.direction(at_end=True) == pytest.approx(end.direction(at_end=False))
    assert start.end == end.start


def test_a_biarc_between_points_in_line_is_a_line():
    assert biarc((0, 0), (1, 0), (5, 0), (1, 0)) == (Line((0, 0), (5, 0)),)


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.001])
def test_a_fitted_sine_stays_within_the_tolerance_smoothly_and_with_exact_joints(tolerance):
    points = [(x / 10, 5 * sin(x / 50)) for x in range(400)]
    pieces = fitted_arcs(points, tolerance)
    assert max(min(distance(p, q) for p in pieces) for q in points) <= tolerance
    assert (pieces[0].start, pieces[-1].end) == (points[0], points[-1])
    for a, b in pairwise(pieces):
        (ux, uy), (vx, vy) = a.direction(at_end=True), b.direction(at_end=False)
        assert a.end == b.start
        assert abs(atan2(ux * vy - uy * vx, ux * vx + uy * vy)) < 1e-4


def test_fewer_arcs_are_used_where_the_tolerance_is_wider():
    points = [(x / 10, 5 * sin(x / 50)) for x in range(400)]
    counts = [len(fitted_arcs(points, t)) for t in (0.1, 0.01, 0.001)]
    assert counts == sorted(counts)
    assert counts[-1] < 100


def test_distance_to_an_arc_counts_only_the_arc():
    """Seen from the missing half, the nearest point is an end; from the centre, all of it is one radius away."""
    arc = Arc((5, 0), (-5, 0), (0, 0))
    assert distance(arc, (0, -5)) == pytest.approx(hypot(5, 5))
    assert distance(arc, (0, 7)) == pytest.approx(2)
    assert distance(arc, (0.0, 1e-9)) == pytest.approx(5)
    assert pi * 5 == pytest.approx(arc.length)


def test_points_that_coincide_are_refused():
    with pytest.raises(BodygenError):
        biarc((1, 1), (1, 0), (1, 1), (1, 0))
