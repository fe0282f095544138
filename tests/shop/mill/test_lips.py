"""Programs of lips: the same places, path and tabs as the drawing of the sheet, by another library's distances."""

from dataclasses import replace
from math import hypot
from pathlib import Path

import pytest
from programs import lowest_along, stated
from shapely import LinearRing, MultiLineString, MultiPoint, Point

from bodygen.errors import DesignError
from bodygen.export.gcode import gcode
from bodygen.pipeline import assess
from bodygen.plane.shapes import Line
from bodygen.recipe.model import Cutting
from bodygen.recipe.read import read_recipe
from bodygen.shop.lip.sheet import sheet_drawings
from bodygen.shop.mill.cutters import cutter_named, default_machine
from bodygen.shop.mill.lips import lip_cutter, lip_jobs

PARAMS = Path(__file__).parents[3] / "params"
THROUGH = 0.3
CELL = 0.2


@pytest.fixture(scope="module")
def reed():
    """A lip of 1.58 mm glass-epoxy, four on a sheet 150 x 100 mm, by a router's cut 1.5 mm wide, with two tabs each."""
    a = assess(read_recipe(PARAMS / "fell-reed-110.toml"))
    return a.shaped.plate, a.recipe.lip


def jobs_of(plate, lip, **cutting):
    lip = replace(lip, cutting=replace(lip.cutting, **cutting))
    return lip_jobs(plate, lip, lip_cutter(lip.cutting, None), default_machine(), THROUGH), lip


def cut_loops(drawing):
    return [item for layer in drawing.layers if layer.role == "cut" for item in layer.items]


def test_the_program_follows_the_path_that_the_sheets_drawing_shows(reed):
    """Every cut of the drawing is followed, and nothing else: to the chords of arcs and the cells of the reader."""
    jobs, lip = jobs_of(*reed)
    drawings, _ = sheet_drawings(reed[0], lip, "reed")
    assert len(jobs) == len(drawings) == 1
    drawn = MultiLineString([LinearRing(loop.points(0.001)) for loop in cut_loops(drawings[0])])
    cells = lowest_along(gcode(jobs[0]), CELL)
    path = MultiPoint([(x * CELL, y * CELL) for x, y in cells])
    assert path.hausdorff_distance(drawn) < CELL


def test_as_many_lips_are_cut_as_the_recipe_asks_for(reed):
    jobs, _ = jobs_of(*reed, quantity=7)
    assert "cuts 7 parts" in gcode(jobs[0])
    assert stated(gcode(jobs[0]), r"(\d+) tabs") == 14


def test_lips_that_need_more_sheets_have_a_program_for_each(reed):
    jobs, lip = jobs_of(*reed, quantity=3, sheet_size=(50.0, 45.0))
    assert [job.name for job in jobs] == ["lip", "lip-2"]
    assert len(sheet_drawings(reed[0], lip, "reed")[0]) == 2
    assert "lip-sheet-2.dxf" in gcode(jobs[1])


def test_the_tabs_stand_on_the_marks_of_the_drawing(reed):
    jobs, lip = jobs_of(*reed)
    drawing = sheet_drawings(reed[0], lip, "reed")[0][0]
    ticks = next(layer for layer in drawing.layers if layer.name == "MARK_TABS").items
    assert len(ticks) == 16  # two for each tab
    marks = MultiPoint([p for tick in ticks if isinstance(tick, Line) for p in (tick.start, tick.end)])
    cells = lowest_along(gcode(jobs[0]), CELL)
    level = max(z for z in cells.values() if z > -lip.thickness)
    tops = [Point(x * CELL, y * CELL) for (x, y), z in cells.items() if z > level - 1e-3]
    # a level top is the tab and the cutter's width long, the marks stand a tab apart: half a cutter at each end
    furthest = max(top.distance(marks) for top in tops)
    assert furthest < hypot(4.0, lip.cutting.kerf + 3.0) / 2 + CELL
    assert all(any(top.distance(Point(mark)) < 3.0 for top in tops) for mark in marks.geoms)


def test_an_offcuts_program_starts_at_the_corner_of_the_box_round_it(reed):
    piece = ((-10.0, 5.0), (90.0, 5.0), (70.0, 60.0), (-10.0, 60.0))
    jobs, lip = jobs_of(*reed, offcut=piece, quantity=2)
    stock = jobs[0].stock
    assert (stock.length, stock.width) == (100.0, 55.0)
    assert stock.corners[0] == (0.0, 0.0)
    assert "X0 Y0 at -10, 5 of lip.cutting.offcut" in " ".join(jobs[0].notes)
    drawn = cut_loops(sheet_drawings(reed[0], lip, "reed")[0][0])
    cells = lowest_along(gcode(jobs[0]), CELL)
    xs = [x * CELL - 10.0 for x, _ in cells]
    assert min(xs) == pytest.approx(min(loop.box[0] for loop in drawn), abs=CELL)


def test_the_cutter_is_as_wide_as_the_kerf_of_a_router():
    assert lip_cutter(Cutting("router", 1.5875), None).name == "flat end mill 1/16 in"
    worn = lip_cutter(Cutting("router", 1.93), "flat_2")
    assert (worn.diameter, worn.name) == (1.93, "flat end mill 2 mm, cuts 1.93 mm wide")
    assert lip_cutter(Cutting("router", 3.05), "flat_2").number == cutter_named("flat_3mm").number
    assert lip_cutter(Cutting("laser", 0.15), "flat_3mm") == cutter_named("flat_3mm")
    assert lip_cutter(Cutting("router", 0.0), None) == cutter_named("flat_2")
    with pytest.raises(DesignError, match=r"about 0\.3 mm wide: for a router, lip\.cutting\.kerf"):
        lip_cutter(Cutting("router", 0.3), None)


def test_a_hole_hardly_wider_than_the_cutter_is_bored_in_few_turns(reed):
    """1.6 mm by a cutter of 1.5 mm: a 4 degree ramp would go down 0.02 mm a turn; the plunge feed still bounds it."""
    plate, lip = reed
    assert 2 * plate.holes[0].radius == 1.6
    job = jobs_of(plate, lip, quantity=1)[0][0]
    turns = sum(move.kind == "ccw" for move in job.moves if hypot(move.end[0] - job.moves[1].end[0]) < 0.2) / 2
    depth = lip.thickness + THROUGH
    assert turns < depth / (0.2 * job.machining.feeds.bite) + 10  # once round at each level besides


def test_a_sheet_without_known_feeds_is_refused(reed):
    plate, lip = reed
    with pytest.raises(DesignError, match="cut it by saw"):
        lip_jobs(plate, replace(lip, sheet="brass"), cutter_named("flat_2"), default_machine(), THROUGH)


def test_every_sheets_program_is_pictured(reed):
    assert all(job.pictured for job in jobs_of(*reed)[0])
