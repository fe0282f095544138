"""Paths of flat parts: ramps, tabs, nests of parts and holes, thin sheet and small discs, by hand from the moves."""

from dataclasses import replace
from math import ceil, dist, hypot, pi, radians, tan

import pytest

from bodygen.errors import DesignError
from bodygen.plane.polygon import polygon, rectangle
from bodygen.plane.shapes import Circle, Placement, placed
from bodygen.shop.mill.cutters import cutter_named
from bodygen.shop.mill.job import Stock, spans
from bodygen.shop.mill.profile import default_profile, profile_job

FLAT = cutter_named("flat_3")
WIDE = FLAT.diameter
SHEET = Stock(140.0, 100.0, 3.0, "plastic")
TAB, HIGH, RAMP = 5.0, 1.0, radians(4.0)  # cutters.toml [profile]: width and height of a tab [mm], entry [rad]


def job_of(*shapes, stock=SHEET, **options):
    return profile_job("plate", list(shapes), stock, FLAT, **options)


def loops(job):
    """Spans of each cut, from its plunge to the next rise to the safe height."""
    cuts, at_feed = [], False
    for span in spans(job.moves):
        if span.move.kind == "rapid":
            at_feed = False
            continue
        if not at_feed:
            cuts.append([])
            at_feed = True
            continue  # the plunge to the stock's top
        cuts[-1].append(span)
    return cuts


def box(cut):
    xs, ys = zip(*(point[:2] for span in cut for point in span.points(0.01)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def levels(cut, z):
    """Runs (each a list of spans) of a cut that lie level at a height."""
    runs, inside = [], False
    for span in cut:
        if abs(span.start[2] - z) < 1e-9 and abs(span.move.end[2] - z) < 1e-9:
            runs = runs if inside else [*runs, []]
            runs[-1].append(span)
            inside = True
        else:
            inside = False
    return runs


def tabs(cut, stock=SHEET, high=HIGH):
    """The level tops of the tabs, each once: a path may go over one twice, and begin or end on it."""
    runs = [run for run in levels(cut, high - stock.thickness) if sum(s.length for s in run) < 2 * TAB + WIDE]
    whole = []
    for run in sorted(runs, key=lambda run: -sum(s.length for s in run)):
        if all(dist(middle(run), middle(other)) > TAB for other in whole):
            whole.append(run)
    return whole


def middle(run):
    """Where the middle of a run lies, along straight lines."""
    (x0, y0, _), (x1, y1, _) = run[0].start, run[-1].move.end
    return (x0 + x1) / 2, (y0 + y1) / 2


def test_a_cut_is_entered_as_steeply_as_the_plan_says_and_no_flatter():
    """4 degrees; the first pass of 1.5 mm is entered over 1.5 / tan(4 deg) of path."""
    assert default_profile().ramp == pytest.approx(RAMP)
    (cut,) = loops(job_of(rectangle(60.0, 40.0)))
    assert cut[0].start[2] == 0.0
    passes = ceil(3.0 / job_of(rectangle(60.0, 40.0)).machining.feeds.bite)
    run = 0.0
    for span in cut:
        if span.start[2] <= span.move.end[2]:
            break
        run += dist(span.start[:2], span.move.end[:2])
    assert run == pytest.approx(3.0 / passes / tan(RAMP), rel=1e-6)


@pytest.mark.parametrize("share", [2.0, 2.001, 1.999])
def test_passes_are_as_few_as_the_bite_allows_and_alike(share):
    bite = job_of(rectangle(60.0, 40.0)).machining.feeds.bite
    stock = replace(SHEET, thickness=share * bite)
    (cut,) = loops(job_of(rectangle(60.0, 40.0), stock=stock))
    count = 3 if share > 2 else 2
    round_ = 200 + pi * WIDE
    for number in range(1, count):  # the last one is broken by tabs
        runs = levels(cut, -stock.thickness * number / count)
        assert [sum(span.length for span in run) for run in runs] == pytest.approx([round_], rel=1e-6)
    assert min(span.move.end[2] for span in cut) == pytest.approx(-stock.thickness)


def test_a_part_in_a_hole_in_a_part_is_a_part_and_the_innermost_is_cut_first():
    """60 x 50 with a hole 42 x 32 with a part 20 x 14 in it, in the middle of a sheet 140 x 100."""
    shapes = [rectangle(w, h, (-w / 2, -h / 2)) for w, h in ((60.0, 50.0), (42.0, 32.0), (20.0, 14.0))]
    job = job_of(*shapes)
    r = FLAT.radius
    wanted = [(20 + 2 * r, 14 + 2 * r), (42 - 2 * r, 32 - 2 * r), (60 + 2 * r, 50 + 2 * r)]
    for cut, (w, h) in zip(loops(job), wanted, strict=True):
        assert box(cut) == pytest.approx((70 - w / 2, 50 - h / 2, 70 + w / 2, 50 + h / 2), abs=1e-3)
    assert job.purpose.startswith("cuts 2 parts ")
    assert [f.code for f in job.findings] == ["profile-corner"]  # of the hole alone


@pytest.mark.parametrize("across", [False, True])
def test_among_equals_the_nearest_to_the_last_is_cut_next(across):
    """From the corner to the part at (30, 10), 45 mm on to the one at (75, 10); the one at (5, 65) is 60 mm off."""
    corners = [(5.0, 65.0), (75.0, 10.0), (30.0, 10.0)]
    corners = [(y, x) for x, y in corners] if across else corners
    parts = [placed(rectangle(9.0, 9.0), Placement(corner)) for corner in corners]
    found = [box(cut)[:2] for cut in loops(job_of(*parts, centred=False))]
    r = FLAT.radius
    assert found == [pytest.approx((corners[i][0] - r, corners[i][1] - r), abs=1e-3) for i in (2, 1, 0)]


def test_a_path_begins_on_its_longest_side():
    (cut,) = loops(job_of(rectangle(30.0, 64.0)))
    (x, y, z), first = cut[0].start, cut[0].move.end
    assert z == 0.0
    assert x == first[0]  # along y
    assert abs(y - 50.0) == pytest.approx(32.0)


@pytest.mark.parametrize(("size", "made"), [(WIDE + 0.04, False), (WIDE + 0.06, True)])
def test_a_slot_is_as_narrow_as_its_least_side(size, made):
    """A cutter needs 0.05 mm to turn, whichever way the slot lies."""
    plate = rectangle(60.0, 40.0, (-30.0, -20.0))
    for slot in (rectangle(12.0, size, (-6.0, 0.0)), rectangle(size, 12.0, (0.0, -6.0))):
        job = job_of(plate, slot)
        assert len(loops(job)) == 1 + made
        found = [f for f in job.findings if f.code == "profile-hole"]
        assert [f.value for f in found] == ([] if made else [pytest.approx(size)])
        assert all(f.limit == WIDE for f in found)


def test_what_falls_out_of_a_hole_is_held_from_12_mm_on():
    """A drop-out of 11.9 mm is let fall, one of 12.1 is held by tabs; cutters.toml [profile] slug_tab_mm."""
    plate = rectangle(80.0, 60.0, (-40.0, -30.0))
    for size, held in ((11.9, 0), (12.1, 1)):
        hole = rectangle(30.0, size, (-15.0, -size / 2))
        first = loops(job_of(plate, hole))[0]
        assert bool(len(tabs(first))) == bool(held)


@pytest.mark.parametrize("through", [0.0, 0.3])
@pytest.mark.parametrize(("radius", "count"), [(2.0, 0), (5.0, 1), (9.0, 2), (14.0, 3)])
def test_a_disc_has_as_many_tabs_as_leave_three_fifths_of_its_edge_cut_through(radius, count, through):
    """Top 5 mm and the cutter's width, slopes of 45 degrees from 1 mm over the sheet's underside to the floor."""
    stock = replace(SHEET, through=through)
    job = job_of(Circle((0.0, 0.0), radius), stock=stock)
    (cut,) = loops(job)
    room, length = TAB + WIDE + 2 * (HIGH + through), 2 * pi * (radius + FLAT.radius)
    assert count == min(3, int(0.4 * length / room))
    runs = tabs(cut)
    assert len(runs) == count
    for run in runs:
        assert sum(span.length for span in run) == pytest.approx(TAB + WIDE, rel=1e-6)
    few = [f for f in job.findings if f.code == "profile-tabs"]
    assert bool(few) == (count < 2)
    for finding in few:
        assert (finding.value, finding.limit) == (pytest.approx(length, rel=1e-6), pytest.approx(2 * room / 0.4))
        assert finding.where == "plate at X70.0 Y50.0"


def test_the_tabs_of_a_disc_are_evenly_spread():
    """Three on a disc of 14 mm: their middles, seen from its own, are the corners of an even triangle."""
    (cut,) = loops(job_of(Circle((0.0, 0.0), 14.0)))
    ends = [middle(run) for run in tabs(cut)]
    assert len(ends) == 3
    sides = [dist(ends[i], ends[i - 1]) for i in range(3)]
    assert sides == pytest.approx([sides[0]] * 3, rel=1e-6)


def test_a_long_outline_has_a_tab_for_each_seventy_millimetres():
    for width, height, count in ((60.0, 30.0, 3), (100.0, 60.0, 5), (120.0, 80.0, 6)):
        length = 2 * (width + height) + pi * WIDE
        assert max(3, round(length / 70.0)) == count
        (cut,) = loops(job_of(rectangle(width, height)))
        assert len(tabs(cut)) == count


def test_tabs_of_a_notched_plate_stand_on_straight_edges_where_they_can():
    """100 x 40 with a notch in the middle of both long edges, where tabs begun in the middle of a side would be."""
    half = [(0, 0), (47, 0), (47, 6), (53, 6), (53, 0), (100, 0)]
    corners = [*half, *((100 - x, 40 - y) for x, y in half)]
    job = job_of(polygon(corners))
    runs = tabs(loops(job)[0])
    assert len(runs) == 4  # of 304 mm and the corners' arcs
    assert all(len(run) == 1 and run[0].move.kind == "line" for run in runs)


def test_tabs_stand_where_they_are_told():
    """Half a cutter outside the places that are on the edge; places that are on no edge are passed over."""
    plate = placed(rectangle(60.0, 40.0), Placement((20.0, 20.0)))
    job = job_of(plate, centred=False, tab_places=((50.0, 20.0), (80.0, 45.0), (50.0, 40.0)))
    r = FLAT.radius
    found = sorted(middle(run) for run in tabs(loops(job)[0]))
    assert found == [pytest.approx((50.0, 20.0 - r), abs=0.01), pytest.approx((80.0 + r, 45.0), abs=0.01)]


@pytest.mark.parametrize(("thickness", "high"), [(0.5, 0.25), (1.6, 0.8), (2.4, 1.0)])
def test_a_thin_sheet_has_tabs_half_as_high_as_it_is_thick(thickness, high):
    stock = replace(SHEET, thickness=thickness)
    (cut,) = loops(job_of(rectangle(60.0, 40.0), stock=stock))
    found = tabs(cut, stock, high)
    assert len(found) == 3
    assert {round(sum(span.length for span in run), 6) for run in found} == {round(TAB + WIDE, 6)}


@pytest.mark.parametrize("through", [0.0, 0.4])
def test_beside_its_tabs_a_cut_reaches_the_floor_and_slopes_at_the_plans_angle(through):
    stock = replace(SHEET, through=through)
    (cut,) = loops(job_of(rectangle(60.0, 40.0), stock=stock))
    floor, top = -3.0 - through, -3.0 + HIGH
    slopes = [s for s in cut if min(s.start[2], s.move.end[2]) == pytest.approx(floor) and s.start[2] != s.move.end[2]]
    up = [s for s in slopes if s.move.end[2] > s.start[2]]
    assert len(up) == 3
    for span in up:
        flat = dist(span.start[:2], span.move.end[:2])
        assert flat == pytest.approx(span.move.end[2] - span.start[2], rel=1e-6)  # 45 degrees
        assert span.move.end[2] == pytest.approx(top)
    low = sum(s.length for run in levels(cut, floor) for s in run)
    # the last round; the tab on which it begins and ends may be gone over twice
    assert low >= 200 + pi * WIDE - 3 * (TAB + WIDE + 2 * (HIGH + through)) - 1e-6


def test_in_a_hole_hardly_wider_than_the_cutter_a_turn_goes_down_a_quarter_of_the_bite():
    """0.4 mm of room: a ramp of 4 degrees takes 34 turns for 3 mm. By hand: 3 / (bite / 4), and one level a pass."""
    plate, hole = rectangle(60.0, 40.0, (-30.0, -20.0)), Circle((0.0, 0.0), FLAT.radius + 0.2)
    job = job_of(plate, hole)
    cut = loops(job)[0]
    bite = job.machining.feeds.bite
    turns = sum(hypot(0, span.length) for span in cut if span.start[2] == span.move.end[2]) / (2 * pi * 0.2)
    assert turns == pytest.approx(ceil(3 / bite), rel=1e-6)
    down = sum((s.length**2 - (s.start[2] - s.move.end[2]) ** 2) ** 0.5 for s in cut if s.start[2] > s.move.end[2])
    assert down / (2 * pi * 0.2) == pytest.approx(3 / (bite / 4), rel=1e-6)


@pytest.mark.parametrize(("gap", "fits"), [(WIDE + 0.004, True), (WIDE - 0.03, False)])
def test_parts_lie_at_least_a_cutter_apart(gap, fits):
    pair = rectangle(20.0, 20.0), rectangle(20.0, 20.0, (20.0 + gap, 0.0))
    if fits:
        assert len(loops(job_of(*pair))) == 2
    else:
        with pytest.raises(DesignError, match=r"goes 0\.03 mm into the neighbour"):
            job_of(*pair)
