"""Developed lengths and forms of wire against closed forms of arcs and straights, and the printed examples."""

from itertools import pairwise
from math import acos, cos, degrees, hypot, pi, sin, sqrt

import pytest

from bodygen.form.wire.bends import Straight, WireBend, bend_allowance, developed, marks_of, path_of, twisted_leg
from bodygen.form.wire.forms import Run, eye_height, hanger, neck_angle, through_wire, twisted_hanger

CLOSE = 1e-9  # mm: sums of a dozen numbers
RUN = Run(z=2.0, front=0.0, rear=100.0, down=1.0, eye_at=45.0, mouth=-6.0)


FORMS = [
    hanger("belly_hanger", 1.0414, 3.5, 1.6, 12.0),
    twisted_hanger(0.8, 4.0, 1.2, 15.0, 4.0),
    through_wire(1.0, 4.0, 2.0, (10.0, 10.0), RUN),
    through_wire(1.0, 4.0, 2.0, (10.0, 10.0), Run(-1.0, 5.0, 90.0, -1.0, nose_eye=False, eye_at=50.0, mouth=6.0)),
]


def test_the_published_bend_allowance_comes_out():
    """``bend_k_factor`` of sources.toml: 90 degrees, r = 3, t = 2, k = 0.33 gives 5.75, to its two decimals."""
    assert bend_allowance(pi / 2, 3.0, 2.0, 0.33) == pytest.approx(5.75, abs=0.005)


@pytest.mark.parametrize(("pitch", "ratio"), [(pi, 1.4142), (4, 1.2716), (5, 1.181), (6, 1.1288), (8, 1.0743)])
def test_a_twisted_leg_is_a_helix(pitch, ratio):
    """Against the arc length of a helix of radius d/2, summed over 20 000 chords; printed ratios to four digits."""
    steps = [(i * pitch / 20_000, 2 * pi * i / 20_000) for i in range(20_001)]
    points = [(0.5 * cos(a), 0.5 * sin(a), z) for z, a in steps]
    summed = sum(sqrt(sum((p - q) ** 2 for p, q in zip(*pair, strict=True))) for pair in pairwise(points))
    assert twisted_leg(pitch, 1.0, 1.0) == pytest.approx(summed, rel=1e-7)
    assert twisted_leg(pitch, 1.0, 1.0) / pitch == pytest.approx(ratio, abs=6e-5)


def test_four_turns_over_20_8_mm_take_what_was_worked_out_by_hand():
    """0.041 in wire, pitch 5.207 mm: each leg 24.60 mm, 3.77 more than its axis (a worked example, two decimals)."""
    assert twisted_leg(20.83, 4.0, 1.0414) == pytest.approx(24.60, abs=0.006)


def test_a_hanger_is_as_long_as_its_arcs_and_straights():
    """Closed form by hand, all radii over 2 d so that the middle of the wire keeps its length."""
    wire, loop, radius, leg = 1.0, 5.0, 2.5, 9.0
    phi = acos((0.5 + 3.0) / (3.0 + 3.0))
    by_hand = 2 * leg + 2 * phi * 3.0 + (pi + 2 * phi) * 3.0
    assert neck_angle(loop, wire, radius) == pytest.approx(phi)
    assert hanger("line_tie", wire, loop, radius, leg).cut_length == pytest.approx(by_hand, abs=CLOSE)


def test_a_through_wire_is_as_long_as_its_arcs_and_straights():
    wire, loop, radius, tail = 1.0, 5.0, 2.5, 10.0
    phi, corner = acos(3.5 / 6.0), 3.0
    eye = 2 * phi * 3.0 + (pi + 2 * phi) * 3.0
    deep = 8.0 - corner
    straights = (45.0 - 0.5 - corner) + (100.0 - 45.0 - 0.5 - corner) + 2 * deep + 2 * tail
    form = through_wire(wire, loop, radius, (tail, tail), RUN)
    assert form.cut_length == pytest.approx(straights + 3 * eye + 2 * (pi / 2) * corner, abs=CLOSE)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.kind)
def test_a_path_is_smooth_and_its_legs_touch(form):
    """Every piece leaves as the one before arrives, and both legs of an eye are one wire apart, middle to middle."""
    for before, after in pairwise(form.path):
        arrives, leaves = before.direction(at_end=True), after.direction(at_end=False)
        assert hypot(arrives[0] - leaves[0], arrives[1] - leaves[1]) < 1e-9
        assert hypot(before.end[0] - after.start[0], before.end[1] - after.start[1]) < 1e-9
    places = [i for i, piece in enumerate(form.path) if getattr(piece, "radius", 0) and abs(piece.sweep) > pi]
    assert places
    for place in places:
        into, back = form.path[place - 1].start, form.path[place + 1].end
        assert hypot(into[0] - back[0], into[1] - back[1]) == pytest.approx(form.wire, abs=CLOSE)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.kind)
def test_an_eye_is_closed(form):
    """Nowhere do the two necks run into each other: outside the touching legs they are farther apart than the wire."""
    for place, piece in enumerate(form.path):
        if getattr(piece, "radius", 0) and abs(piece.sweep) > pi:
            one, other = form.path[place - 1], form.path[place + 1]
            assert all(
                hypot(one.at(s)[0] - other.at(1 - s)[0], one.at(s)[1] - other.at(1 - s)[1]) >= form.wire - CLOSE
                for s in (0.0, 0.25, 0.5, 0.75, 1.0)
            )


def test_a_ring_pulls_at_the_far_side_of_the_loop():
    form = hanger("belly_hanger", 1.0, 4.0, 1.5, 10.0)
    top = max(y for piece in form.path for _, y in piece.extremes())
    assert eye_height(4.0, 1.0, 1.5) == pytest.approx(top - 0.5, abs=CLOSE)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.kind)
def test_marks_are_where_the_developed_bends_begin_and_end(form):
    marks = form.marks
    assert len(marks) == len(form.bends)
    assert all(a.end <= b.start + CLOSE for a, b in pairwise(marks))
    between = sum(mark.end - mark.start for mark in marks)
    others = sum(developed(s, form.wire) for s in form.segments if not isinstance(s, WireBend))
    assert between + others == pytest.approx(form.cut_length, abs=CLOSE)


def test_the_weight_of_a_bent_wire_acts_where_chords_of_it_do():
    """Middle-of-the-wire allowance alone (no tight bend), against 4000 short chords: 1e-5 of their sagitta."""
    form = through_wire(1.0, 5.0, 2.5, (10.0, 10.0), RUN)
    x = y = total = 0.0
    for piece in form.path:
        count = 4000
        at = getattr(piece, "at", None) or (
            lambda s, p=piece: tuple(a + s * (b - a) for a, b in zip(p.start, p.end, strict=True))
        )
        for i in range(count):
            (px, py), (qx, qy) = at(i / count), at((i + 1) / count)
            long = hypot(px - qx, py - qy)
            x, y, total = x + long * (px + qx) / 2, y + long * (py + qy) / 2, total + long
    assert form.centre == pytest.approx((x / total, y / total), abs=1e-5)


def test_too_little_room_between_two_bends_is_refused():
    with pytest.raises(ValueError, match="too little room"):
        through_wire(1.0, 4.0, 2.0, (10.0, 10.0), Run(2.0, 0.0, 100.0, 1.0, eye_at=2.0, mouth=-6.0))


def test_a_right_angle_marks_where_it_begins():
    (mark,) = marks_of((Straight(10.0), WireBend(pi / 2, 3.0), Straight(10.0)), 1.0)
    assert (mark.start, mark.end) == pytest.approx((10.0, 10.0 + 3.5 * pi / 2))
    assert degrees(path_of((WireBend(pi / 2, 3.0),), 1.0, (0.0, 0.0), 0.0)[0].sweep) == pytest.approx(90.0)
