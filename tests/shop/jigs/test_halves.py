"""Halves: pins keep the stated distance, and the two halves are the body less the holes, in both kernels."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from amount import only_with_more
from carved import body, body_skin, cut_out_of, cut_skin, tools

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism
from bodygen.mesh import split as mesh_split
from bodygen.mesh.cut import to_manifold, tool_mesh
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import body_mesh
from bodygen.shop.jigs.halves import default_dowel, halves_of
from bodygen.solid import split as solid_split
from bodygen.solid.cut import cut_solid
from bodygen.solid.measure import solid_volume
from bodygen.solid.skin import body_solid, sound

WITHIN = 5e-4
"""0.05 %, as DEVELOPERS.md promises of the two kernels."""


@pytest.fixture(scope="module")
def halves():
    return halves_of(cut_skin(), default_dowel())


def holes_volume(pins):
    return sum(pi * pin.diameter**2 / 4 * pin.point for pin in pins)


def test_the_body_takes_the_pins_wanted_from_nose_to_tail(halves):
    assert len(halves.pins) == default_dowel().count
    assert halves.findings == ()
    assert [pin.origin[0] for pin in halves.pins] == sorted(pin.origin[0] for pin in halves.pins)


def test_a_hole_is_the_dowel_with_its_clearance_in_each_half(halves):
    dowel = default_dowel()
    for pin in halves.pins:
        assert pin.diameter == pytest.approx(dowel.diameter + dowel.clearance)
        assert pin.origin[1] == pytest.approx(-(dowel.depth + dowel.clearance))
        assert pin.origin[1] + pin.point == pytest.approx(dowel.depth + dowel.clearance)


def test_the_wood_stated_is_left_around_each_pin(halves):
    """The manifold kernel's own distance, pin against skin and every tool; 0.03 mm for facets, rounding to 0.01 mm."""
    dowel = default_dowel()
    for pin in halves.pins:
        hole = to_manifold(tool_mesh(pin))
        for cutting_solid in tools():
            assert hole.min_gap(to_manifold(tool_mesh(cutting_solid)), 50.0) >= dowel.wood_left - 0.03
        around = to_manifold(body_skin())
        low, high = np.array(around.bounding_box()[:3]) - 5, np.array(around.bounding_box()[3:]) + 5
        outside = type(around).cube(tuple(high - low)).translate(tuple(low)) - around
        assert hole.min_gap(outside, 50.0) >= dowel.wood_left - 0.03


def test_pins_stand_as_far_apart_as_said(halves):
    places = np.array([(pin.origin[0], pin.origin[2]) for pin in halves.pins])
    assert (np.linalg.norm(np.diff(places, axis=0), axis=1) >= default_dowel().least_spacing).all()


def test_mesh_halves_add_up_to_the_cut_body_less_the_holes(halves):
    """Exact for the mesh, whose circles have the circle's own area."""
    sides = [mesh_volume(mesh_split.half(cut_skin(), side, halves.pins)).volume for side in ("right", "left")]
    assert sum(sides) == pytest.approx(mesh_volume(cut_skin()).volume - holes_volume(halves.pins), rel=1e-6)


@only_with_more
def test_the_cad_halves_add_up_too_and_both_kernels_agree(halves):
    whole = cut_solid(body_solid(body()), tools())
    less = mesh_volume(body_skin()).volume / solid_volume(body_solid(body())).volume  # what the facets cut off
    parted, sides = solid_split.halves(whole, halves.pins), []
    for side in ("right", "left"):
        sides.append(solid_volume(sound(parted[side])).volume)
        drawn = mesh_volume(mesh_split.half(cut_skin(), side, halves.pins)).volume
        assert drawn / less == pytest.approx(sides[-1], rel=WITHIN)
    assert sum(sides) == pytest.approx(solid_volume(whole).volume - holes_volume(halves.pins), rel=1e-6)


def test_a_half_lies_on_its_own_side_flat_on_the_mid_plane(halves):
    for side, way in (("right", 1), ("left", -1)):
        y = way * mesh_split.half(cut_skin(), side, halves.pins).vertices[:, 1]
        assert y.min() == 0.0
        assert (y == 0).sum() > 100


def test_a_thin_body_gets_shallower_holes():
    thin = body_mesh(body(80.0, 30.0, 12.0), 0.02)
    dowel = default_dowel()
    halves = halves_of(thin, dowel)
    assert len(halves.pins) == dowel.count
    assert dowel.least_depth <= halves.pins[0].point / 2 - dowel.clearance < dowel.depth


@pytest.mark.parametrize(
    ("thickness", "spacing", "pins", "severity"), [(6, 12, 0, "warning"), (20, 50, 1, "warning"), (20, 25, 2, "note")]
)
def test_fewer_pins_than_wanted_is_a_finding(thickness, spacing, pins, severity):
    """The room in a 20 mm body is 48 mm long: three pins 25 mm apart do not fit into it, nor two 50 mm apart."""
    skin = body_mesh(body(80.0, 30.0, float(thickness)), 0.02)
    halves = halves_of(skin, replace(default_dowel(), least_spacing=float(spacing), least_depth=5.0))
    assert len(halves.pins) == pins
    (finding,) = halves.findings
    assert (finding.code, finding.severity, finding.value, finding.limit) == ("halves-pins", severity, pins, 3)


def test_a_half_in_two_pieces_is_refused():
    kerf = Prism(
        "kerf",
        "slot",
        (40.0, 0.0, 0.0),
        (1.0, 0.0, 0.0),
        (0.0, 0.0, 1.0),
        ((-1, -20), (1, -20), (1, 20), (-1, 20)),
        20.0,
        20.0,
    )
    with pytest.raises(DesignError, match="right half falls into 2 pieces"):
        mesh_split.half(cut_out_of(body_skin(), [kerf]), "right", ())
    with pytest.raises(DesignError, match="2 separate pieces"):
        sound(solid_split.halves(cut_solid(body_solid(body()), [kerf]), ())["right"])
