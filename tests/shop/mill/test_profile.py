"""Profile paths: what the swept cutter leaves, by another library's buffers, against the outline that was wanted."""

from dataclasses import replace
from itertools import pairwise
from math import hypot, pi, radians, tan

import pytest
from amount import MORE
from shapely import MultiLineString, Polygon, line_merge, unary_union

from bodygen.errors import DesignError
from bodygen.plane.polygon import filleted, polygon, rectangle
from bodygen.plane.shapes import Circle, Drawing, Layer, Line, Placement, placed
from bodygen.shop.mill.cutters import Cutter, cutter_named, default_machine, feeds_of, material_named
from bodygen.shop.mill.helix import bored
from bodygen.shop.mill.job import Job, Machining, Move, Stock, checked, spans
from bodygen.shop.mill.profile import default_profile, profile_job

FLAT = cutter_named("flat_3")
SHEET = Stock(120.0, 80.0, 3.0, "plastic")
PLATE = filleted([(0, -9), (30, -14), (38, -8), (38, 8), (30, 14), (0, 9)], [1, 6, 4, 4, 6, 1])
HOLE = Circle((22.0, 0.0), 3.0)


def job_of(shapes=(PLATE, HOLE), stock=SHEET, cutter=FLAT, **options):
    return profile_job("plate", list(shapes), stock, cutter, **options)


def low_lines(job, level):
    """Plan of all cutting at or below a level, as fine polylines."""
    lines, line = [], []
    for span in spans(job.moves):
        for a, b in pairwise(span.points(0.001)):
            if max(a[2], b[2]) <= level + 1e-6 and a[:2] != b[:2]:
                line = line or [a[:2]]
                line.append(b[:2])
            elif line:
                lines.append(line)
                line = []
    return MultiLineString([*lines, line] if line else lines)


def wanted(shapes, stock):
    """The part as drawn, in the middle of the stock."""
    outline = shapes[0]
    x0, y0, x1, y1 = outline.box
    shift = Placement(((stock.length - x0 - x1) / 2, (stock.width - y0 - y1) / 2))
    holes = [placed(hole, shift).points(0.001) for hole in shapes[1:]]
    return Polygon(placed(outline, shift).points(0.001), holes)


@pytest.mark.parametrize("way", ["climb", "conventional"] if MORE else ["climb"])
def test_what_the_cutter_sweeps_leaves_the_outline_and_its_hole_within_a_hundredth(way):
    """Above the tabs: the swept band's edge on the part's side is the part's edge."""
    job = job_of(plan=default_profile(way))
    above_tabs = -SHEET.thickness + 1.0
    swept = unary_union(low_lines(job, above_tabs)).simplify(1e-4).buffer(FLAT.radius, quad_segs=48)
    part = wanted((PLATE, HOLE), SHEET)
    assert swept.intersection(part.buffer(-0.01)).area == 0
    assert part.buffer(0.01).boundary.difference(swept.buffer(1e-6)).length == pytest.approx(0, abs=1e-6)


def test_climb_goes_clockwise_round_a_part_and_counter_clockwise_in_a_hole():
    """Spindle clockwise, part to the right of travel: that is climb milling (common practice, no published source)."""
    for way, kinds in (("climb", ("ccw", "cw")), ("conventional", ("cw", "ccw"))):
        job = job_of((Circle((0.0, 0.0), 20.0), Circle((0.0, 0.0), 5.0)), plan=default_profile(way))
        turns = [move.kind for move in job.moves if move.kind in {"cw", "ccw"}]
        assert (turns[0], turns[-1]) == kinds  # the hole first


def test_holes_come_before_the_outline_round_them():
    job = job_of()
    outside = [hypot(m.end[0] - 63.0, m.end[1] - 40.0) > 3.0 for m in job.moves if m.kind != "rapid"]
    assert outside == sorted(outside)
    assert set(outside) == {False, True}


def test_every_entry_is_a_ramp_no_steeper_than_the_plan_says():
    plan = default_profile()
    job = job_of()
    for span in spans(job.moves):
        (_, _, z0), (_, _, z1) = span.start, span.move.end
        if span.move.kind != "rapid" and z1 < z0 - 1e-9 and z1 < -1e-9:
            flat = (span.length**2 - (z1 - z0) ** 2) ** 0.5
            slope = (z0 - z1) / flat
            on_tab = z0 > -SHEET.thickness - 1e-9 and slope == pytest.approx(tan(plan.tab_slope), rel=1e-3)
            assert on_tab or slope <= tan(plan.ramp) * (1 + 1e-6)


def test_no_pass_is_deeper_than_the_bite_and_the_last_ends_at_the_underside():
    job = job_of()
    assert job.lowest == pytest.approx(-SHEET.thickness)
    levels = sorted({round(m.end[2], 6) for m in job.moves if m.end[2] < 0 and m.kind != "rapid"})
    full_turns = [z for z in levels if low_lines(job, z).length > 0]
    assert full_turns
    assert job.machining.feeds.bite == pytest.approx(0.5 * FLAT.diameter)


def test_tabs_stand_as_wide_and_as_high_as_the_plan_says():
    """At the underside the swept band is broken once a tab: along a straight edge the part is joined over the width."""
    plan, square = default_profile(), rectangle(60.0, 40.0)
    job = job_of((square,), plan=plan)
    under_tabs = low_lines(job, -SHEET.thickness)
    base_body = (
        wanted((square,), SHEET)
        .buffer(FLAT.radius, quad_segs=256)
        .exterior.difference(under_tabs.buffer(1e-3, cap_style="flat"))
    )
    pieces = [piece for piece in line_merge(base_body).geoms if piece.length > 1.0]
    count = max(plan.fewest_tabs, round((200 + 2 * pi * FLAT.radius) / plan.tab_pitch))
    assert len(pieces) == count
    ramps = 2 * plan.tab_height / tan(plan.tab_slope)
    for piece in pieces:
        assert piece.length == pytest.approx(plan.tab_width + FLAT.diameter + ramps, abs=0.01)
    above = low_lines(job, -SHEET.thickness + plan.tab_height)
    whole = wanted((square,), SHEET).buffer(FLAT.radius, quad_segs=256).exterior
    assert whole.difference(above.buffer(3e-3)).length == pytest.approx(0, abs=1e-3)


def test_a_hole_narrower_than_the_cutter_is_left_out_and_said():
    job = job_of((PLATE, Circle((22.0, 0.0), 1.0)))
    assert [f.code for f in job.findings] == ["profile-hole"]
    assert job.findings[0].where == "plate at X63.0 Y40.0"
    assert job.findings[0].value == pytest.approx(2.0)


def test_an_inside_corner_tighter_than_the_cutter_is_found_where_it_is():
    ell = polygon([(0, 0), (40, 0), (40, 15), (15, 15), (15, 40), (0, 40)])
    corners = [f for f in job_of((ell,)).findings if f.code == "profile-corner"]
    assert [f.where for f in corners] == ["plate at X55.0 Y35.0"]
    assert f"{(2**0.5 - 1) * FLAT.radius:.2f} mm stay uncut" in corners[0].remedy


def test_what_is_wrong_at_many_places_is_said_once_and_counted():
    ell = polygon([(0, 0), (40, 0), (40, 15), (15, 15), (15, 40), (0, 40)])
    two = [ell, placed(ell, Placement((50.0, 0.0)))]
    found = job_of(two).findings
    assert len(found) == 1
    assert found[0].remedy.endswith("(and at 1 more places)")


def test_parts_laid_too_close_are_refused():
    near = placed(rectangle(20.0, 20.0), Placement((22.0, 0.0)))
    with pytest.raises(DesignError, match=r"1\.17 mm into the neighbour"):
        job_of((rectangle(20.0, 20.0), near))


def test_a_drawing_gives_its_cut_layers_alone():
    drawing = Drawing("d", (Layer("CUT", "cut", (PLATE,)), Layer("MARK", "mark", (Line((0, 0), (99, 0)),))))
    assert job_of(drawing.layers[0].items).moves == profile_job("plate", drawing, SHEET, FLAT).moves


def test_shapes_may_stay_where_they_are_drawn():
    inside = placed(PLATE, Placement((30.0, 30.0)))
    job = job_of((inside,), centred=False)
    xs = [m.end[0] for m in job.moves if m.kind != "rapid"]  # rapids end over X0 Y0
    assert min(xs) == pytest.approx(30.0 - FLAT.radius, abs=1e-6)


def test_a_ball_is_refused():
    with pytest.raises(DesignError, match="flat end mill"):
        job_of(cutter=cutter_named("ball_3"))


def test_the_bed_is_refused_and_the_allowance_into_the_waste_board_is_kept():
    job = job_of(stock=replace(SHEET, through=0.2))
    assert job.lowest == pytest.approx(-3.2)
    deeper = replace(job, machining=replace(job.machining, stock=SHEET))
    with pytest.raises(DesignError, match=r"cuts to Z-3\.200 and the stock ends at Z-3: 0 mm into the waste board"):
        checked(deeper)


def test_a_clamp_is_refused_by_as_much_as_the_cutter_comes_into_it():
    clamps = ((0.0, 0.0, 39.112, 80.0),)
    with pytest.raises(DesignError, match=r"comes 1\.29 mm into the clamp zone X0\.\.39\.112 Y0\.\.80"):
        job_of(stock=replace(SHEET, clamps=clamps), cutter=FLAT)


def test_rapids_pass_over_clamps():
    stock = replace(SHEET, clamps=((0.0, 0.0, 10.0, 80.0),), clamp_height=12.0)
    job = job_of(stock=stock)
    assert job.machining.safe_height == 17.0
    sideways = [s for s in spans(job.moves) if s.move.kind == "rapid" and s.start[:2] != s.move.end[:2]]
    assert sideways
    assert min(s.start[2] for s in sideways) >= 17.0


def test_a_cutter_too_short_is_refused():
    with pytest.raises(DesignError, match=r"cuts 3\.00 mm deep .* reaches 2 mm"):
        job_of(cutter=replace(FLAT, reach=2.0))


def test_a_part_larger_than_its_sheet_is_refused():
    with pytest.raises(DesignError, match="beyond the stock of 30 x 30 mm"):
        job_of(stock=replace(SHEET, length=30.0, width=30.0))


def test_rapids_in_the_wood_are_refused():
    job = job_of()
    bad = (Move("rapid", (50.0, 40.0, 5.0)), Move("rapid", (50.0, 40.0, -1.0)), Move("line", (60.0, 40.0, -1.0), 500.0))
    with pytest.raises(DesignError, match="rapid down into the stock"):
        checked(replace(job, moves=bad))
    low = (Move("rapid", (50.0, 40.0, 1.0)), Move("rapid", (60.0, 40.0, 1.0)), Move("line", (61.0, 40.0, 1.0), 500.0))
    with pytest.raises(DesignError, match="rapid sideways at Z1"):
        checked(replace(job, moves=low))


def test_a_bored_hole_has_its_diameter_and_depth():
    feeds, _ = feeds_of(FLAT, material_named("wood"), default_machine())
    moves = list(bored((10.0, 20.0), 6.0, 12.0, Machining(SHEET, FLAT, feeds), radians(5)))
    assert {round(hypot(m.end[0] - 10, m.end[1] - 20) + FLAT.radius, 9) for m in moves} == {3.0}
    assert [m.end[2] for m in moves[-3:]] == pytest.approx([-12.0] * 3)  # once round at the bottom


def test_time_and_length_are_those_of_the_moves():
    """A quarter circle of 10 mm that goes down 2 mm, a rapid of 20 mm: lengths by Pythagoras, times by division."""
    moves = (
        Move("rapid", (10.0, 0.0, 0.0)),
        Move("ccw", (0.0, 10.0, -2.0), 600.0, (0.0, 0.0)),
        Move("rapid", (0.0, 10.0, 18.0)),
    )
    feeds, _ = feeds_of(FLAT, material_named("wood"), default_machine())
    job = Job("j", Machining(SHEET, FLAT, feeds), moves, "", "")
    helix = hypot(5 * pi, 2.0)
    assert sum(span.length for span in spans(moves) if span.move.kind != "rapid") == pytest.approx(helix)
    assert job.minutes == pytest.approx(helix / 600 + 20 / default_machine().rapid)


def test_chips_too_thin_or_too_thick_are_doubted():
    material, machine = material_named("wood"), default_machine()
    for feed, words in ((200.0, "rubs and burns"), (2400.0, None), (1200.0, None)):
        found, checks = feeds_of(FLAT, material, machine, feed=feed)
        assert found.chip_load == pytest.approx(feed / (found.speed * FLAT.flutes))
        assert [words in f.remedy for f in checks] == ([True] if words else [])
    thick = feeds_of(Cutter("c", "flat", 1.0, 5.0, 1, 1), material, machine, feed=2000.0, speed=10000.0)[1]
    assert "snap" in thick[0].remedy


def test_a_fast_feed_slows_the_spindle_before_it_thins_the_chip():
    found, checks = feeds_of(cutter_named("flat_6"), material_named("wood"), default_machine())
    assert found.feed <= default_machine().fastest_feed
    assert not checks


@pytest.mark.parametrize("make", [cutter_named, material_named])
def test_an_unknown_name_is_answered_with_the_known_ones(make):
    with pytest.raises(DesignError, match=r"there are \w+, "):
        make("spoon")


def test_a_program_is_pictured_because_of_what_it_is_not_of_what_it_is_called():
    assert not profile_job("lip rack-finish", [PLATE], SHEET, FLAT).pictured
