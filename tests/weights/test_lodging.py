"""Hardware in its hole: what the hole holds, what stands out, and what is doubted."""

from math import pi

import numpy as np
import pytest

from bodygen.recipe.model import Bore, Fitting, WireSlot, Wood
from bodygen.weights.fittings import lodging_findings
from bodygen.weights.item import total
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import BoreCavity, Measured, SlotCavity
from bodygen.weights.wood import wood_density

WOOD = Wood(density_g_cm3=0.4)
MOUTH = np.array([30.0, 0.0, -15.0])


@pytest.fixture
def bored(body, skin, shapes):
    """A belly bore of 12 mm depth and a diameter [mm]."""

    def make(diameter):
        cavity = shapes.cylinder(diameter, 12.0, (30.0, 0.0, -9.0))
        return Measured(body, shapes.without(body, cavity), skin, (BoreCavity(0, False, MOUTH, cavity),))

    return make


def hanger(diameter, **more):
    return Bore("hole", "hanger", "belly", diameter, 12.0, x=30.0, **more)


def wire(length, at=(30.0, 0.0, -10.0)):
    return Fitting("hanger wire", "wire", at, "hangers", size="0.051 in", length=length)


def items_of(recipe, measured):
    return {i.name: i for i in ledger(recipe, measured, wood_density(WOOD))}


def test_what_a_hole_cannot_hold_stands_in_the_water_at_its_mouth(recipe, body, bored):
    """60 mm of 1.2954 mm wire in 12 mm of a 1.4 mm hole: pi/4 12 1.4^2 of it inside, and no glue."""
    items = items_of(recipe(wood=WOOD, bores=(hanger(1.4),), fittings=(wire(60.0),)), bored(1.4))
    metal, cavity = pi / 4 * 1.2954**2 * 60, pi / 4 * 1.4**2 * 12
    got = items["hanger wire"]
    assert "hole: glue" not in items
    assert (got.displaces, got.outside) == pytest.approx((metal, metal - cavity), rel=1e-3)  # the table's g/m, 3 digits
    assert got.outside_at == pytest.approx(MOUTH)
    assert got.displaces_at == pytest.approx(
        (cavity * np.array([30, 0, -9]) + got.outside * MOUTH) / got.displaces, rel=1e-3
    )
    assert total(tuple(items.values())).displaced == pytest.approx(body.volume + got.outside)


def test_a_place_further_out_than_the_mouth_is_where_it_stands(recipe, bored):
    items = items_of(recipe(wood=WOOD, bores=(hanger(1.4),), fittings=(wire(60.0, (30.0, 0.0, -18.0)),)), bored(1.4))
    assert items["hanger wire"].outside_at == pytest.approx([30, 0, -18])


def test_a_screw_eyes_ring_stands_outside_and_its_shank_presses_into_the_wood(recipe, body, bored):
    """hardware.toml: 0.062 x 3/4 in is 76.0 mm^3 of wire 1.535 in long; the shank needs more than a 1 mm hole has."""
    eye = Fitting("eye", "screw_eye", (30.0, 0.0, -17.0), "hangers", size="0.062 x 0.75 in")
    ring = 76.0 * (1 - 0.75 / 1.535)
    for diameter in (1.0, 3.0):
        items = items_of(recipe(wood=WOOD, bores=(hanger(diameter),), fittings=(eye,)), bored(diameter))
        assert items["eye"].outside == pytest.approx(ring, rel=1e-9)
        assert total(tuple(items.values())).displaced == pytest.approx(body.volume + ring)
    assert items["hole: glue"].displaces == pytest.approx(pi / 4 * 9 * 12 - (76.0 - ring))


def test_two_wires_in_one_hole_share_it(recipe, bored):
    items = items_of(recipe(wood=WOOD, bores=(hanger(1.4),), fittings=(wire(60.0), wire(30.0))), bored(1.4))
    got = items["hanger wire"]  # the shorter one, which comes last
    assert got.displaces - got.outside == pytest.approx(pi / 4 * 1.4**2 * 12 / 3, rel=1e-9)


def test_hardware_wider_than_its_hole_is_doubted_with_both_widths(recipe, bored):
    found = recipe(wood=WOOD, bores=(hanger(1.2),), fittings=(wire(10.0),))
    (doubt,) = lodging_findings(found, bored(1.2))
    assert (doubt.code, doubt.severity, doubt.where) == ("fitting-too-wide", "warning", "fitting[1]")
    assert (doubt.value, doubt.limit) == (pytest.approx(1.2954, abs=1e-4), 1.2)  # by the table's g/m, given to 0.001
    assert doubt.about == (("fitting", 0), ("bore", 0))
    assert not lodging_findings(recipe(wood=WOOD, bores=(hanger(1.3),), fittings=(wire(10.0),)), bored(1.3))


def test_a_wire_that_is_mostly_outside_is_noted(recipe, bored):
    """Space for 12 of 23 mm, and for 12 of 26, in a hole just as wide as the wire."""
    for length, codes in ((23.0, []), (26.0, ["fitting-stands-out"])):
        found = recipe(wood=WOOD, bores=(hanger(1.2954),), fittings=(wire(length),))
        assert [f.code for f in lodging_findings(found, bored(1.2954))] == codes


@pytest.mark.parametrize(
    ("z", "length", "lodges"),
    [(-18.0, 3.1, True), (-18.0, 2.9, False), (-4.0, 5.1, True), (-4.0, 4.9, False), (-12.0, 3.1, True)],
)
def test_a_wire_lodges_as_far_as_it_reaches_from_the_mouth_or_the_middle_of_a_bore(z, length, lodges, recipe, bored):
    """Mouth at z = -15, middle at -9: 3 mm under the mouth, 5 mm over the middle, 3 mm from both."""
    found = recipe(wood=WOOD, bores=(hanger(4.0),), fittings=(wire(length, (30.0, 0.0, z)),))
    assert (items_of(found, bored(4.0))["hanger wire"].cavity is not None) == lodges


@pytest.mark.parametrize(
    ("at", "length", "lodges"),
    [
        ((65.0, 0.0, -6.0), 5.1, True),  # 5 mm behind the kerf's end
        ((65.0, 0.0, -6.0), 4.9, False),
        ((17.0, 0.0, -6.0), 3.1, True),  # 3 mm before its start
        ((17.0, 0.0, -6.0), 2.9, False),
        ((40.0, -4.0, -6.0), 4.0005, True),  # within, 4 mm to the side
        ((40.0, -4.0, -6.0), 3.9995, False),
        ((63.0, 4.0, -6.0), 5.1, True),  # 3 mm behind and 4 mm to the side: 5 mm
        ((63.0, 4.0, -6.0), 4.9, False),
        ((40.0, 0.0, -6.0), 0.5, True),
    ],
)
def test_a_wire_lodges_as_far_as_it_reaches_from_a_kerf(at, length, lodges, recipe, body, skin, shapes):
    kerf = shapes.box((40.0, 1.5, 10.0), (40.0, 0.0, -10.0))
    slot = WireSlot("kerf", "belly", 20.0, 60.0, 1.5, depth=10.0)
    measured = Measured(body, shapes.without(body, kerf), skin, slots=(SlotCavity(0, kerf),))
    found = items_of(recipe(wood=WOOD, wire_slots=(slot,), fittings=(wire(length, at),)), measured)["hanger wire"]
    assert (found.cavity is not None) == lodges
    assert (found.outside == 0.0) == lodges


def test_of_two_rooms_a_wire_takes_the_nearer(recipe, body, skin, shapes):
    """A bore's mouth 6 mm before the wire, another's 4 mm behind it."""
    cavities = [shapes.cylinder(3.0, 12.0, (x, 0.0, -9.0)) for x in (24.0, 34.0)]
    mouths = [np.array([x, 0.0, -15.0]) for x in (24.0, 34.0)]
    measured = Measured(
        body, shapes.without(body, *cavities), skin, tuple(BoreCavity(i, False, mouths[i], cavities[i]) for i in (0, 1))
    )
    bores = tuple(Bore(f"hole {x}", "hanger", "belly", 3.0, 12.0, x=x) for x in (24.0, 34.0))
    found = items_of(recipe(wood=WOOD, bores=bores, fittings=(wire(30.0, (30.0, 0.0, -15.0)),)), measured)
    assert found["hanger wire"].cavity == ("bore", 1)


@pytest.mark.parametrize(("below", "lodges"), [(38.5, True), (39.5, False)])
def test_a_screw_eye_lodges_no_farther_off_than_its_wire_is_long(below, lodges, recipe, bored):
    """hardware.toml: 0.062 x 3/4 in takes 1.535 in of wire, 38.99 mm."""
    eye = Fitting("eye", "screw_eye", (30.0, 0.0, -15.0 - below), "hangers", size="0.062 x 0.75 in")
    found = items_of(recipe(wood=WOOD, bores=(hanger(1.2),), fittings=(eye,)), bored(1.2))["eye"]
    assert (found.cavity is not None) == lodges
    if not lodges:
        assert found.outside == pytest.approx(found.displaces)


@pytest.mark.parametrize("rounding", [0.0, 1e-12, -1e-12])
def test_midway_between_the_two_of_a_pair_it_takes_the_entered_flank(rounding, recipe, body, skin, shapes):
    """An eye written at y = 0, whatever the last digit of either cavity says."""
    cavities = [
        BoreCavity(0, mirrored, np.array([30.0, y, 0.0]), shapes.cylinder(4.0, 2.0, (30.0, 0.9 * y + rounding, 0.0)))
        for mirrored, y in ((False, 8.0), (True, -8.0))
    ]
    measured = Measured(body, shapes.without(body, *(cavity.cavity for cavity in cavities)), skin, tuple(cavities))
    pair = Bore("socket", "eye", "side", 4.0, 2.0, x=30.0, mirror=True, closed="open")
    eye = Fitting("eye", "eye", (30.0, 0.0, 0.0), "painted", size="8 mm glass")
    (item,) = (
        i
        for i in ledger(recipe(wood=WOOD, bores=(pair,), fittings=(eye,)), measured, wood_density(WOOD))
        if i.name == "eye"
    )
    assert item.cavity == ("bore", 0)
