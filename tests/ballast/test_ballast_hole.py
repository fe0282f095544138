"""A bore in the skin at any depth: volumes and moments by discs summed here, a round body's mouth by quadrature."""

from dataclasses import replace
from math import cos, pi, radians, sin, sqrt

import numpy as np
import planks
import pytest
from metal import metal_mass

from bodygen.ballast.bore import (
    BoreInSkin,
    bores_in_skin,
    closing_density,
    cutters,
    depth_for,
    least_depth,
    level_for,
    net,
    wood_along,
)
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Bore, Fill

TIPS = ("flat", "twist", "ball")
WOOD = 0.4
LEAD, FILLER, GLUE = 11.34, 1.0, 1.15  # metals.toml and coatings.toml [g/cm^3]


def discs(bore, top, depth, count=200_000):
    """Volume [mm^3] from ``top`` down, and its moment along the axis about the mouth [mm^4], by the midpoint rule."""
    r = bore.diameter / 2
    reach = {"flat": 0.0, "twist": r / np.tan(bore.tip_angle / 2), "ball": r}[bore.tip]
    s = top + (np.arange(count) + 0.5) / count * (depth + reach - top)
    below = np.maximum(s - depth, 0.0)
    shrunk = {"flat": r + 0 * s, "twist": r - below * r / max(reach, 1e-9), "ball": np.sqrt(r**2 - below**2)}
    area = pi * shrunk[bore.tip] ** 2 * (depth + reach - top) / count
    return area.sum(), area @ s


def ballast(tip="flat", **more):
    return Bore("ballast", "ballast", "belly", 6.0, 10.0, x=30.0, tip=tip, **more)


def square_hole(bore):
    """In a flat skin: nothing lost at the mouth, which lies at (30, 0, -12); straight up."""
    at = np.array([30.0, 0.0, -12.0])
    return BoreInSkin(bore, at, np.array([0.0, 0.0, 1.0]), 10.0, 10.0, 0.0, np.zeros(3), 0.0)


@pytest.mark.parametrize("tip", TIPS)
@pytest.mark.parametrize("depth", [5.0, 10.0, 17.0])
def test_a_square_mouthed_hole_is_its_discs_at_every_depth(tip, depth):
    hole = square_hole(ballast(tip))
    volume, moment = hole.cavity(depth)
    wanted, along = discs(hole.bore, 0.0, depth)
    assert volume == pytest.approx(wanted, rel=1e-8)
    assert moment == pytest.approx([30 * wanted, 0.0, -12 * wanted + along], rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("tip", TIPS)
def test_metal_to_a_level_is_the_lower_discs_whatever_its_top(tip):
    """Level 0.4 of 10 mm: from 6 mm down; to the brim all of the cavity."""
    hole = square_hole(ballast(tip))
    for fill in (Fill("lead", level=0.4), Fill("lead", level=0.4, finish="flat")):
        volume, moment = hole.metal(10.0, fill)
        wanted, along = discs(hole.bore, 6.0, 10.0)
        assert volume == pytest.approx(wanted, rel=1e-8)
        assert moment[2] == pytest.approx(-12 * wanted + along, rel=1e-8)
    assert hole.metal(10.0, Fill("lead"))[0] == hole.cavity(10.0)[0]
    below_the_rim = replace(hole, rim=1.5).metal(10.0, Fill("lead", finish="flat"))
    assert below_the_rim[0] == pytest.approx(discs(hole.bore, 1.5, 10.0)[0], rel=1e-8)


@pytest.mark.parametrize("tip", TIPS)
def test_a_round_body_takes_its_sagitta_off_the_mouth(tip):
    """Across a round bar of radius R the skin falls R - sqrt(R^2 - y^2) at y to the side: lost wood, and the rim."""
    body, big, r = planks.bar(80, 24, 24), 12.0, 3.0
    bore = ballast(tip)
    recipe = planks.recipe(bores=(bore,))
    (hole,) = bores_in_skin(recipe, bore, ray_caster_of(body), to_manifold(body_mesh(body, 0.002)))
    y = np.linspace(-r, r, 20_001)
    chord, sagitta = 2 * np.sqrt(r**2 - y**2), big - np.sqrt(big**2 - y**2)
    lost = np.trapezoid(chord * sagitta, y)
    first = np.trapezoid(chord * sagitta**2 / 2, y)
    # facets of bore and skin, and a Bezier circle up to 2.7e-4 of R out of round
    assert hole.mouth == pytest.approx(-lost, abs=0.01 * lost + 2e-3 * pi * r**2)
    assert hole.mouth_moment == pytest.approx([0.0, 0.0, -first], abs=0.02 * first + 0.5)
    assert hole.rim == pytest.approx(big - sqrt(big**2 - r**2), abs=0.02)
    assert hole.origin == pytest.approx([30.0, 0.0, -12.0], abs=0.01)
    volume, moment = hole.cavity(15.0)
    wanted, along = discs(bore, 0.0, 15.0)
    assert volume == pytest.approx(wanted - lost, rel=1e-3)
    assert moment[2] == pytest.approx(-12 * (wanted - lost) + along - first, rel=1e-3, abs=2.0)


def test_a_pair_is_two_holes_each_others_mirror_image():
    body = planks.bar(80, 24, 24)
    bore = Bore("pair", "ballast", "side", 4.0, 6.0, x=30.0, height=2.0, mirror=True)
    right, left = bores_in_skin(
        planks.recipe(bores=(bore,)), bore, ray_caster_of(body), to_manifold(body_mesh(body, 0.02))
    )
    assert right.origin == pytest.approx(left.origin * [1, -1, 1])
    assert right.cavity(8.0)[1] == pytest.approx(left.cavity(8.0)[1] * [1, -1, 1], rel=1e-6)
    assert metal_mass((right, left), Fill("lead", mass=1.5), 8.0) == 3.0
    both = [hole.cavity(8.0)[0] * (1 - 0.4 / 4) ** 2 * LEAD / 1000 for hole in (right, left)]
    assert metal_mass((right, left), Fill("lead", clearance=0.4), 8.0) == pytest.approx(sum(both))


@pytest.mark.parametrize(
    ("fill", "of_whole", "of_low"),
    [
        (None, FILLER - WOOD, 0.0),
        (Fill("lead"), LEAD - WOOD, 0.0),
        (Fill("lead", level=0.4), FILLER - WOOD, LEAD - FILLER),
        (Fill("lead", clearance=0.6), 0.9**2 * LEAD + (1 - 0.9**2) * GLUE - WOOD, 0.0),
    ],
    ids=["filler alone", "full of metal", "two fifths", "a slug in glue"],
)
def test_what_a_bore_adds_is_metal_and_closing_less_wood(fill, of_whole, of_low):
    """``of_low``: more for what lies below 6 mm."""
    hole = square_hole(ballast("twist"))
    whole, low = (discs(hole.bore, top, 10.0)[0] for top in (0.0, 6.0))
    added = net((hole,), fill, 10.0, WOOD)[0]
    assert added == pytest.approx((of_whole * whole + of_low * low) / 1000, rel=1e-7)


def test_metal_off_the_scale_adds_its_own_mass_less_the_wood():
    hole = square_hole(ballast("twist"))
    added = net((hole,), Fill("lead", mass=2.5), 10.0, WOOD)[0]
    assert added == pytest.approx(2.5 - discs(hole.bore, 0.0, 10.0)[0] * WOOD / 1000, rel=1e-7)


@pytest.mark.parametrize("tip", TIPS)
def test_the_moment_that_a_bore_adds_is_of_the_same_parts(tip):
    hole = square_hole(ballast(tip))
    (whole, along), (low, low_along) = (discs(hole.bore, top, 10.0) for top in (0.0, 6.0))
    moment = net((hole,), Fill("lead", level=0.4), 10.0, WOOD)[1]
    filler, metal = FILLER - WOOD, LEAD - FILLER
    wanted = [filler * whole + metal * low, filler * (along - 12 * whole) + metal * (low_along - 12 * low)]
    assert moment == pytest.approx([30 * wanted[0] / 1000, 0.0, wanted[1] / 1000], rel=1e-7, abs=1e-12)


@pytest.mark.parametrize("tip", TIPS)
def test_depth_and_level_are_found_back_from_the_mass_they_add(tip):
    """Straight lines in either, so found back to rounding."""
    holes = (square_hole(ballast(tip)),)
    for depth in (7.0, 23.0):
        added = net(holes, Fill("lead"), depth, WOOD)[0]
        assert depth_for(holes, Fill("lead"), added, WOOD) == pytest.approx(depth, rel=1e-9)
    for level in (0.1, 0.7):
        added = net(holes, Fill("lead", level=level), 10.0, WOOD)[0]
        assert level_for(holes, Fill("lead"), 10.0, added, WOOD) == pytest.approx(level, rel=1e-9)


def test_what_closes_a_bore_is_glue_round_hardware_and_slugs_filler_over_ballast_else_nothing():
    assert closing_density(ballast(), None) == FILLER
    assert closing_density(ballast(), Fill("lead", clearance=0.1)) == GLUE
    assert closing_density(ballast(), Fill("lead", "poured")) == FILLER
    assert closing_density(replace(ballast(), kind="hanger"), None) == GLUE
    assert closing_density(replace(ballast(), kind="rattle"), None) == 0.0
    assert closing_density(ballast(closed="open"), Fill("lead")) == 0.0


def test_the_least_depth_is_a_third_of_the_width_beyond_the_drills_end():
    """A twist drill's point of 90 degrees on 6 mm is 3 mm long, a ball's 3 mm."""
    assert least_depth(ballast("flat")) == pytest.approx(2.0)
    assert least_depth(ballast("twist", tip_angle=radians(90))) == pytest.approx(2.0)
    assert least_depth(ballast("twist", tip_angle=radians(90), depth_to="point")) == pytest.approx(5.0)
    assert least_depth(ballast("ball", depth_to="point")) == pytest.approx(5.0)


def test_the_wood_on_a_bores_axis_is_from_skin_to_skin():
    """Through a round bar of 24 mm: the diameter, a chord beside the axis, a leaning line over the cosine."""
    caster = ray_caster_of(planks.bar(80, 24, 24))
    assert wood_along(ballast(), caster) == pytest.approx(24.0, abs=0.01)
    assert wood_along(replace(ballast(), offset=5.0), caster) == pytest.approx(2 * sqrt(144 - 25), abs=0.01)
    assert wood_along(replace(ballast(), lean=radians(30)), caster) == pytest.approx(24 / cos(radians(30)), abs=0.01)
    nose = Bore("nose", "ballast", "nose", 6.0, 10.0, height=2.0)
    assert wood_along(nose, caster) == pytest.approx(80.0, abs=0.01)
    way = (0.0, sin(0.3), cos(0.3))
    aimed = Bore("aimed", "ballast", "point", 6.0, 10.0, at=(30.0, 0.0, 0.0), direction=way)
    assert wood_along(aimed, caster) == pytest.approx(24.0, abs=0.01)


@pytest.mark.parametrize("off", [{"x": 95.0}, {"x": -4.0}, {"offset": 13.0}])
def test_a_bore_beside_the_body_has_no_wood(off):
    assert wood_along(replace(ballast(), **off), ray_caster_of(planks.bar(80, 24, 24))) == 0.0


def test_the_tools_of_a_bore_are_its_own_alone():
    body = planks.bar(80, 24, 24)
    others = (ballast(), Bore("pair", "ballast", "side", 4.0, 6.0, x=50.0, mirror=True))
    found = cutters(planks.recipe(bores=others), others[1], ray_caster_of(body))
    assert [(tool.diameter, tool.mirrored) for tool in found] == [(4.0, False), (4.0, True)]
