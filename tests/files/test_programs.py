"""Every program of a flat part, read back from its text: cut through beside its tabs, never down too fast."""

from pathlib import Path

import pytest
from programs import fastest_descent, lowest_along, stated, steps_of

from bodygen.export.gcode import gcode
from bodygen.files.router import flat_works
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.shop.mill.cutters import feeds_of, material_named
from bodygen.shop.mill.profile import default_profile

ROOT = Path(__file__).parents[2]
BAITS = sorted([*(ROOT / "params").glob("*.toml"), *(ROOT / "tests" / "baits").glob("*.toml")])
CELL = 0.2


@pytest.fixture(scope="module", params=BAITS, ids=lambda path: path.stem)
def flat_programs(request):
    a = assess(read_recipe(request.param))
    return [(job, gcode(job)) for _, work in flat_works(a) for job in work()]


def test_a_flat_part_is_cut_through_everywhere_beside_its_tabs(flat_programs):
    """What stays higher than the floor is no longer than the tabs, their slopes and a cell at each end of them."""
    for job, text in flat_programs:
        floor = -stated(text, r"stock thickness ([\d.]+) mm") - stated(text, r"goes ([\d.]+) mm into the waste board")
        tabs, wide, high = (stated(text, r) for r in (r"(\d+) tabs", r"tabs ([\d.]+) mm wide", r"wide, ([\d.]+) mm"))
        lowest = lowest_along(text, CELL)
        assert min(lowest.values()) == pytest.approx(floor, abs=1e-4)
        slope = high + stated(text, r"goes ([\d.]+) mm")  # at 45 degrees
        assert default_profile().tab_slope == pytest.approx(0.7853981633974483)
        above = sum(z > floor + 0.05 for z in lowest.values()) * CELL
        # a slanted path crosses up to 4/pi cells for each of its lengths, seen over all directions
        most = tabs * (wide + job.cutter.diameter + 2 * slope + 2 * CELL) * 1.42
        assert 0 < above <= most
        assert above < 0.5 * len(lowest) * CELL


def test_no_flat_part_is_entered_faster_than_the_tables_plunge_feed(flat_programs):
    for job, text in flat_programs:
        feeds, _ = feeds_of(job.cutter, material_named(job.stock.material), job.machining.machine)
        assert stated(text, r"plunge ([\d.]+) mm/min") == pytest.approx(feeds.plunge, abs=0.5)
        assert fastest_descent(text) <= feeds.plunge + 0.5  # a feed is written as a whole number


def test_the_reader_sees_a_fast_descent():
    """A move 3 along and 4 down at 500 mm/min sinks at 400; the same upwards, or above the stock, does not count."""
    text = "G0 X0 Y0 Z4\nG1 X3 Y0 Z0 F900\nG1 X6 Z-4 F500\nG1 X9 Z0 F900\n"
    assert fastest_descent(text) == pytest.approx(400.0)
    assert [step.length for step in steps_of(text)] == pytest.approx([5.0, 5.0, 5.0])
