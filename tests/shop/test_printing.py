"""What a printer lays down: worked by hand for boxes, whose outlines, closed layers and infill are plain sums."""

import manifold3d
import pytest

from bodygen.mesh.cut import to_mesh
from bodygen.shop.printing import default_way, printed_by


def box(*size, at=(0, 0, 0)):
    return manifold3d.Manifold.cube(tuple(map(float, size))).translate(tuple(map(float, at)))


def test_a_box_is_walls_closed_layers_and_infill():
    """40 x 30 x 18 mm: the wall is three lines of 0.45 mm; 1.8 mm are closed, 16.2 mm are 20 % full."""
    way = default_way()
    made = printed_by(to_mesh(box(40, 30, 18)), way)
    inner = (40 - 2 * way.wall) * (30 - 2 * way.wall)
    plastic = (40 * 30 - inner) * 18 + inner * (2 * way.closed + (18 - 2 * way.closed) * way.infill)
    assert made.plastic == pytest.approx(plastic / 1000, rel=1e-6)
    assert made.support == 0


def test_the_time_is_length_over_speed():
    """The same box: outlines of 40 x 30 mm drawn in by half a line, a whole one more each; 90 layers of 0.2 mm."""
    way = default_way()
    lengths = [2 * (40 + 30) - 8 * (i + 0.5) * way.line for i in range(3)]
    inner = (40 - 2 * way.wall) * (30 - 2 * way.wall) / way.line  # as one long line
    outlines = 90 * (lengths[0] / way.outer_speed + sum(lengths[1:]) / way.inner_speed)
    closed, filled = 2 * 4.5, 90 - 2 * 4.5
    seconds = outlines + inner * (closed / way.closed_speed + filled * way.infill / way.infill_speed)
    seconds += 40 * 30 / way.line * (1 / way.first_layer_speed - 1 / way.inner_speed)
    made = printed_by(to_mesh(box(40, 30, 18)), way)
    assert made.hours == pytest.approx(
        seconds * (1 + way.more) / 3600, rel=0.01
    )  # corners of the lines are counted once


def test_a_table_stands_on_supports_and_a_narrow_ledge_does_not():
    """A top of 40 x 40 mm on a leg of 10 x 10 x 18 mm: supports under 1500 mm2, 18 % full, closed by three layers."""
    way = default_way()
    table = box(40, 40, 1.8, at=(0, 0, 18)) + box(10, 10, 18, at=(15, 15, 0))
    made = printed_by(to_mesh(table), way)
    wanted = 1500 * (18 * way.support + way.support_face)
    assert made.support * 1000 == pytest.approx(wanted, rel=0.03)  # a slice is 0.9 mm thick
    ledge = box(14, 14, 18) + box(14 + 1.9, 14, 1.8, at=(0, 0, 18))
    assert printed_by(to_mesh(ledge), way).support == 0


def test_a_cone_of_45_degrees_holds_itself_up():
    cone = manifold3d.Manifold.cylinder(15.0, 5.0, 20.0 - 0.1, 64)
    assert printed_by(to_mesh(cone), default_way()).support == 0
    flatter = manifold3d.Manifold.cylinder(10.0, 5.0, 25.0, 64)
    assert printed_by(to_mesh(flatter), default_way()).support > 0
