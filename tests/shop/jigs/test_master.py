"""The master: stubs on the axis that begin in wood, 60 degree centres, one solid in both kernels."""

from dataclasses import replace
from math import atan, degrees, pi

import numpy as np
import pytest
from carved import body, body_skin

from bodygen.mesh import split as mesh_split
from bodygen.mesh.measure import mesh_volume
from bodygen.mesh.skin import Mesh, body_mesh
from bodygen.shop.jigs.master import OVERLAP_MM, default_stubs, master_of
from bodygen.solid import split as solid_split
from bodygen.solid.measure import solid_volume
from bodygen.solid.skin import body_solid

LENGTH, THICKNESS = 80.0, 20.0


@pytest.fixture(scope="module")
def master():
    return master_of(body_skin(), default_stubs())


def test_both_stubs_lie_on_the_x_axis_and_point_inwards(master):
    nose, tail = master.stubs
    out = default_stubs().length
    assert nose.origin == pytest.approx((-out, 0.0, 0.0))
    assert tail.origin == pytest.approx((LENGTH + out, 0.0, 0.0))
    assert (nose.axis, tail.axis) == ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0))


def test_a_stub_ends_where_an_ellipsoid_has_covered_it(master):
    """The side is the nearest skin: half width b sqrt(1 - (1 - 2x/L)^2) = r solved for x, r the stub and its cover."""
    wanted = default_stubs()
    for stub in master.stubs:
        r, b = stub.diameter / 2 + wanted.cover, THICKNESS / 2
        x = LENGTH / 2 * (1 - (1 - (r / b) ** 2) ** 0.5)
        assert stub.point - wanted.length - OVERLAP_MM == pytest.approx(x, abs=0.15)  # facets, and flats on the rod


def test_the_stub_is_the_thickest_that_hides_no_more_than_said(master):
    wanted = default_stubs()
    hidden = [f.value for f in master.findings if f.code == "master-stub-hides"]
    assert max(hidden) <= wanted.usual_run_in * LENGTH
    with_thicker = replace(wanted, diameters=(12.0, *wanted.diameters))  # 12 mm would hide 9.6 mm of 80
    assert [stub.diameter for stub in master_of(body_skin(), with_thicker).stubs] == [10.0, 10.0]


def test_the_centre_holes_are_sixty_degree_cones_with_a_pilot(master):
    """ISO 6411 form A (recalled): 60 degrees included; the cone's mouth on the stub's end face."""
    for stub, hole in zip(master.stubs, master.centre_holes, strict=True):
        assert hole.origin == stub.origin
        (s0, r0), (s1, r1) = hole.profile[1:3]
        assert degrees(2 * atan((r0 - r1) / (s1 - s0))) == pytest.approx(60)
        at_face = r0 + (r1 - r0) * (0 - s0) / (s1 - s0)
        assert 2 * at_face == pytest.approx(hole.diameter)
        assert hole.diameter <= default_stubs().widest_centre * stub.diameter
        assert hole.point < default_stubs().length


def test_both_kernels_make_one_solid_of_it_and_agree(master):
    """The facets' share, measured on the body alone, is taken out: stubs and holes are left to compare."""
    drawn = mesh_volume(mesh_split.with_stubs(body_skin(), master.stubs, master.centre_holes)).volume
    bare = body_solid(body())
    solid = solid_volume(solid_split.with_stubs(bare, master.stubs, master.centre_holes)).volume
    added = solid - solid_volume(bare).volume
    assert drawn - mesh_volume(body_skin()).volume == pytest.approx(added, abs=5e-4 * solid)
    stub = sum(pi * s.diameter**2 / 4 * default_stubs().length for s in master.stubs)
    assert 0.9 * stub < added < 1.3 * stub


def test_the_master_is_as_long_as_body_and_stubs(master):
    x = mesh_split.with_stubs(body_skin(), master.stubs, master.centre_holes).vertices[:, 0]
    assert (x.min(), x.max()) == pytest.approx((-default_stubs().length, LENGTH + default_stubs().length))


def test_a_body_beside_the_axis_gives_no_hold():
    skin = body_skin()
    lifted = Mesh(skin.vertices + np.array([0.0, 0.0, 14.0]), skin.faces)
    master = master_of(lifted, default_stubs())
    assert (master.stubs, master.centre_holes) == ((), ())
    assert [(f.code, f.severity) for f in master.findings] == [("master-no-hold", "warning")] * 2


def test_the_thinnest_stub_may_hide_more_than_the_others():
    """A body 7 mm thick covers 4 + 2 x 0.5 mm only 12 mm behind the tip: more than a tenth, less than a fifth."""
    thin = body_mesh(body(LENGTH, 30.0, 7.0), 0.02)
    wanted = default_stubs()
    assert {stub.diameter for stub in master_of(thin, wanted).stubs} == {wanted.diameters[-1]}
    assert master_of(thin, replace(wanted, longest_run_in=wanted.usual_run_in)).stubs == ()
