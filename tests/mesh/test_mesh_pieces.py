"""What cuts take: every bit of wood counted once, metal up to its level, the plate where it sits."""

from dataclasses import replace
from math import pi, sqrt

import carved
import manifold3d
import numpy as np
import planks
import pytest
from wood import separate_parts

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism
from bodygen.form.integrals import body_volume
from bodygen.mesh.cut import cut_with, to_mesh
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.pieces import cut_in_turn, exact_left, filled_below, integrals, plate_solid
from bodygen.mesh.skin import body_mesh
from bodygen.mesh.stock import BaseMesh
from bodygen.recipe.model import Bore, Lip, WireSlot

BAR = planks.bar()


def cut(body, **parts):
    tools = planks.tools(body, **parts)
    return tools, cut_in_turn(BaseMesh(body_mesh(body, 0.02)), tools)


def bore(**changes):
    return replace(Bore("b", "ballast", "belly", 6.0, 9.0, x=40.0, tip="flat"), **changes)


def test_the_rooms_add_up_to_what_was_cut():
    """Every kind of cut, some of them running into each other."""
    pieces = cut_in_turn(BaseMesh(carved.body_skin()), carved.tools())
    lost = pieces.body.volume() - cut_with(pieces.body, pieces.cutting_solids).volume()
    assert sum(cavity.volume() for cavity in pieces.cavities) == pytest.approx(lost, rel=1e-9)
    assert len(pieces.cavities) == len(carved.tools())


def test_wood_that_two_cuts_share_belongs_to_the_earlier_one():
    """Two equal bores a radius apart: the second has what the first left; both together the two circles' union."""
    _, pieces = cut(BAR, bores=(bore(), bore(name="c", x=43.0)))
    first, second = (cavity.volume() for cavity in pieces.cavities)
    _, alone = cut(BAR, bores=(bore(),))
    assert first == pytest.approx(alone.cavities[0].volume(), rel=1e-9)
    # lens of two circles of radius r at distance r: r^2 (2 pi/3 - sqrt(3)/2)
    lens = 9 * (2 * pi / 3 - sqrt(3) / 2) / (pi * 9)
    assert second / first == pytest.approx(1 - lens, abs=0.01)
    assert first + second == pytest.approx(
        pieces.body.volume() - cut_with(pieces.body, pieces.cutting_solids).volume(), rel=1e-9
    )


def test_a_bore_in_a_round_skin_loses_its_curved_mouth():
    """Flat bottom at z = -3, mouth on the circle: the disc's integral of -3 + sqrt(144 - y^2)."""
    _, pieces = cut(BAR, bores=(bore(),))
    y = np.linspace(-3, 3, 20001)
    expected = -3 * pi * 9 + np.trapezoid(2 * np.sqrt(np.maximum(9 - y**2, 0)) * np.sqrt(144 - y**2), y)
    assert pieces.cavities[0].volume() == pytest.approx(expected, rel=2e-3)


def test_wood_left_is_the_exact_body_less_every_room():
    _, pieces = cut(BAR, bores=(bore(), bore(name="c", x=20.0)))
    exact = body_volume(BAR)
    cavities = [integrals(cavity) for cavity in pieces.cavities]
    left = exact_left(exact, cavities)
    assert left.volume == pytest.approx(exact.volume - sum(r.volume for r in cavities), rel=1e-12)
    mesh = mesh_volume(to_mesh(cut_with(pieces.body, pieces.cutting_solids)))
    np.testing.assert_allclose(left.centroid, mesh.centroid, atol=0.01)
    np.testing.assert_allclose(np.diag(left.inertia), np.diag(mesh.inertia), rtol=5e-3)
    assert exact_left(exact, []).volume == exact.volume


def test_metal_rises_to_its_share_of_the_depth():
    """Two thirds of 9 mm: pi r^2 6, well below the curved mouth."""
    (tool,), pieces = cut(BAR, bores=(bore(),))
    metal = filled_below(pieces.cavities[0], tool, 2 / 3, 9.0, flat=False)
    assert metal.volume() == pytest.approx(pi * 9 * 6, rel=1e-6)


@pytest.mark.parametrize("tip", ["flat", "ball", "twist"])
@pytest.mark.parametrize("beside", [None, 43.0, 41.0])
def test_metal_is_what_lies_of_the_cavity_below_its_level_whatever_else_is_cut_there(tip, beside):
    """Against the cavity cut by the level's plane."""
    before = () if beside is None else (bore(name="c", x=beside, depth=7.0),)
    tools, pieces = cut(BAR, bores=(*before, bore(tip=tip)))
    tool, cavity = tools[-1], pieces.cavities[-1]
    for level in (0.1, 0.5, 0.8, 0.97):
        metal = filled_below(cavity, tool, level, 9.0, flat=False)
        at = float(np.dot(tool.axis, tool.origin)) + (1 - level) * 9.0
        below = integrals(cavity.trim_by_plane(tool.axis, at))
        assert metal.volume() == pytest.approx(below.volume, rel=1e-9)
        np.testing.assert_allclose(integrals(metal).centroid, below.centroid, atol=1e-9)


def test_a_full_bore_is_flush_with_the_skin_or_flat_at_its_rims_lowest_point():
    """The rim of a 6 mm hole in a 24 mm bar drops 12 - sqrt(144 - 9) at its sides: 0.381 mm."""
    (tool,), pieces = cut(BAR, bores=(bore(),))
    (cavity,) = pieces.cavities
    assert filled_below(cavity, tool, 1.0, 9.0, flat=False).volume() == cavity.volume()
    flat = filled_below(cavity, tool, 1.0, 9.0, flat=True).volume()
    assert flat == pytest.approx(pi * 9 * (9 - (12 - sqrt(135))), rel=2e-3)


def test_a_cut_right_across_parts_the_wood():
    _, pieces = cut(BAR, lip=Lip("sheet", 1.5, pi / 2, 30.0, 20, 16, x=15))
    assert separate_parts(cut_with(pieces.body, pieces.cutting_solids)) == 2
    _, whole = cut(BAR, wire_slots=(WireSlot("w", "back", 20, 60, 1.5, depth=4),))
    assert separate_parts(cut_with(whole.body, whole.cutting_solids)) == 1


def test_a_cut_that_takes_nothing_has_no_place():
    _, pieces = cut(BAR, bores=(bore(), bore(name="inside", diameter=3.0, depth=5.0)))
    with pytest.raises(DesignError, match="takes no wood away"):
        integrals(pieces.cavities[1])


def test_a_plate_sits_in_the_middle_of_its_slot_and_points_out_of_the_wood():
    """20 out, 8 in, 16 wide, 1.5 thick with a 2 mm hole, along a slot at 40 degrees."""
    (slot,), _ = cut(BAR, lip=Lip("sheet", 1.5, 0.7, 8, 20, 16, x=15))
    outline = np.array([[-8.0, -8], [20, -8], [20, 8], [-8, 8]])
    angle = np.linspace(0, 2 * pi, 400, endpoint=False)
    hole = np.stack([4 + np.cos(angle), np.sin(angle)], axis=1)
    for way in (outline, outline[::-1]):
        plate = mesh_volume(to_mesh(plate_solid(slot, way, [hole], 1.5)))
        assert plate.volume == pytest.approx((28 * 16 - pi) * 1.5, rel=1e-4)
        middle = np.array(slot.origin) - 6 * np.array(slot.along)
        np.testing.assert_allclose(plate.centroid, middle, atol=0.03)
    np.testing.assert_allclose(plate.centroid[1], 0, atol=1e-9)


TURN = np.linspace(0, 2 * pi, 97)[:-1]
OUTLINES = {
    "round": np.stack([2 + 8 * np.cos(TURN), 7 * np.sin(TURN)], axis=1),
    "round, the other way on": np.stack([2 + 8 * np.cos(TURN), -7 * np.sin(TURN)], axis=1),
    "forked, so that a line crosses it four times": np.array([
        [-6.0, -5.0],
        [12.0, -5.0],
        [12.0, -2.0],
        [1.5, 0.1],
        [12.0, 2.0],
        [12.0, 5.0],
        [-6.0, 5.0],
    ]),
    "corners on the lines": np.array([
        [-6.0, -5.0],
        [0.5, -5.0],
        [2.0, -6.0],
        [4.0, 0.0],
        [2.0, 6.0],
        [0.5, 5.0],
        [-6, 5],
    ]),
    "across itself": np.array([[-6.0, -5.0], [10.0, 5.0], [10.0, -5.0], [-6.0, 5.0]]),
}


@pytest.mark.parametrize("name", OUTLINES)
def test_a_plate_is_its_outline_times_its_thickness_however_its_faces_are_divided(name):
    slot = Prism("s", "slot", (0.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (), 9.0, 8.0)
    section = manifold3d.CrossSection([OUTLINES[name]], manifold3d.FillRule.EvenOdd)
    plate = plate_solid(slot, OUTLINES[name], (), 1.5)
    assert plate.status() == manifold3d.Error.NoError
    assert plate.volume() == pytest.approx(1.5 * section.area(), rel=1e-7)
    assert plate.slice(0.3).area() == pytest.approx(section.area(), rel=1e-7)
    assert (plate ^ manifold3d.Manifold.cube((3.0, 40.0, 9.0), True)).volume() == pytest.approx(
        1.5 * (section ^ manifold3d.CrossSection.square((3.0, 40.0), True)).area(), rel=1e-6
    )
