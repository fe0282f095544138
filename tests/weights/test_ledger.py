"""Which parts the ledger lists, what they weigh, and what water they push aside."""

from math import pi

import numpy as np
import pytest

from bodygen.errors import DesignError
from bodygen.recipe.model import Bore, Fill, Fitting, Lip, WireSlot, Wood
from bodygen.weights.item import hanging, inside, total
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import BoreCavity, LipCavity, Measured, SlotCavity
from bodygen.weights.spread import Cause
from bodygen.weights.wood import wood_density

WOOD = Wood(density_g_cm3=0.4)


def entries(recipe, measured):
    return {i.name: i for i in ledger(recipe, measured, wood_density(recipe.wood))}


def bore(kind="ballast", **more):
    return Bore("hole", kind, "belly", 8.0, 12.0, x=30.0, **more)


@pytest.fixture
def drilled(body, skin, shapes):
    """The bar with one bore, 8 mm wide and 12 mm deep up from the belly, its ``level`` filled with metal."""

    def make(level=None):
        cavity = shapes.cylinder(8.0, 12.0, (30.0, 0.0, -9.0))
        height = 12.0 * (level or 0)
        metal = shapes.cylinder(8.0, height, (30.0, 0.0, -3.0 - height / 2)) if level else None
        measured = BoreCavity(0, False, np.array([30.0, 0.0, -15.0]), cavity, metal)
        return Measured(body, shapes.without(body, cavity), skin, (measured,))

    return make


def test_plain_body_is_wood_alone(recipe, body, skin):
    (wood,) = ledger(recipe(wood=WOOD), Measured(body, body, skin), wood_density(WOOD))
    assert (wood.name, wood.stage) == ("wood", "drilled")
    assert wood.mass == pytest.approx(19.2)
    assert wood.displaces == 48000
    assert np.diag(wood.inertia) == pytest.approx(19.2 / 12 * np.array([1300.0, 7300.0, 6800.0]))


def test_inner_weight_moves_the_centre_as_two_masses_do(recipe, body, skin):
    """19.2 g at x = 40 and 5 g at x = 25: (19.2 x 40 + 125) / 24.2."""
    found = recipe(wood=WOOD, fittings=(Fitting("trim", "weight", (25.0, 0.0, -4.0), "ballast", mass=5.0),))
    items = ledger(found, Measured(body, body, skin), wood_density(WOOD))
    summary = total(items)
    assert summary.mass == pytest.approx(24.2)
    assert summary.centre_of_mass == pytest.approx([(19.2 * 40 + 5 * 25) / 24.2, 0, -20 / 24.2])
    assert summary.displaced == 48000
    assert inside(items) == pytest.approx(body.volume, rel=1e-12)


def test_full_ballast_bore_displaces_the_whole_body(recipe, body, drilled):
    found = recipe(wood=WOOD, bores=(bore(fill=Fill("lead")),))
    items = ledger(found, drilled(1.0), wood_density(WOOD))
    assert [i.name for i in items] == ["wood", "hole: lead"]
    assert items[1].mass == pytest.approx(pi * 16 * 12 * 11.34e-3)
    assert total(items).displaced == pytest.approx(48000)


def test_half_full_bore_is_topped_with_filler(recipe, drilled):
    """The upper half of the depth, filler at 1.0 g/cm^3; centre in its middle, a cylinder's own inertia."""
    got = entries(recipe(wood=WOOD, bores=(bore(fill=Fill("lead", level=0.5)),)), drilled(0.5))
    filler = got["hole: filler"]
    assert filler.mass == pytest.approx(pi * 16 * 6 * 1.0e-3)
    assert filler.at == pytest.approx([30, 0, -12])
    assert filler.inertia[2, 2] == pytest.approx(filler.mass * 16 / 2)
    assert filler.inertia[0, 0] == pytest.approx(filler.mass * (3 * 16 + 36) / 12)


def test_sealed_room_pushes_water_aside_and_weighs_nothing(recipe, drilled):
    air = entries(recipe(wood=WOOD, bores=(bore("rattle"),)), drilled())["hole: air"]
    assert (air.mass, air.displaces) == (0.0, pytest.approx(pi * 16 * 12))


def test_open_room_floods(recipe, body, drilled):
    found, measured = recipe(wood=WOOD, bores=(bore("any"),)), drilled()
    items = ledger(found, measured, wood_density(WOOD))
    assert [i.name for i in items] == ["wood"]
    assert body.volume - inside(items) == pytest.approx(pi * 16 * 12)


@pytest.mark.parametrize(
    ("kind", "name"),
    [("hanger", "glue"), ("tie", "glue"), ("eye", "glue"), ("ballast", "filler"), ("rattle", "air"), ("through", None)],
)
def test_each_kind_of_bore_is_closed_as_is_usual(recipe, drilled, kind, name):
    names = entries(recipe(wood=WOOD, bores=(bore(kind),)), drilled())
    assert set(names) - {"wood"} == ({f"hole: {name}"} if name else set())


def test_what_the_recipe_says_of_closing_wins(recipe, drilled):
    assert "hole: air" in entries(recipe(wood=WOOD, bores=(bore("hanger", closed="sealed"),)), drilled())


def test_slug_with_clearance_is_thinner_and_glued_in(recipe, drilled):
    """0.4 mm on 8 mm: (7.6 / 8)^2 of the section is lead, the ring round it glue at 1.15 g/cm^3."""
    got = entries(recipe(wood=WOOD, bores=(bore(fill=Fill("lead_cast_slug", clearance=0.4)),)), drilled(1.0))
    assert got["hole: lead_cast_slug"].mass == pytest.approx(pi * 3.8**2 * 12 * 11.2e-3)
    assert got["hole: glue"].mass == pytest.approx(pi * (16 - 3.8**2) * 12 * 1.15e-3)


def test_metal_on_the_makers_scale_wins_and_keeps_its_room(recipe, drilled):
    got = entries(recipe(wood=WOOD, bores=(bore(fill=Fill("lead", mass=6.5)),)), drilled(1.0))["hole: lead"]
    assert got.mass == pytest.approx(6.5, rel=1e-12)
    assert got.displaces == pytest.approx(pi * 16 * 12)
    assert got.spread == 0.0


def test_mirror_pair_of_bores_is_two_items(recipe, body, skin, shapes):
    cavities = [shapes.cylinder(6.0, 3.0, (12.0, y, 4.0)) for y in (8.5, -8.5)]
    sides = (BoreCavity(0, False, np.zeros(3), cavities[0]), BoreCavity(0, True, np.zeros(3), cavities[1]))
    measured = Measured(body, shapes.without(body, *cavities), skin, sides)
    found = recipe(wood=WOOD, bores=(Bore("socket", "eye", "side", 6.0, 3.0, x=12.0, mirror=True),))
    items = ledger(found, measured, wood_density(WOOD))
    assert [i.name for i in items[1:]] == ["socket: glue", "socket, other side: glue"]
    assert total(items).centre_of_mass[1] == pytest.approx(0.0, abs=1e-12)
    assert total(items).displaced == pytest.approx(48000)


def test_wire_in_its_bore_takes_the_glues_room(recipe, drilled):
    """40 mm of 0.051 in wire: pi/4 d^2 L of metal, and so much less glue; the sum fills the bore."""
    wire = Fitting("hanger", "wire", (30.0, 0.0, -15.0), "hangers", size="0.051 in", length=40.0)
    got = entries(recipe(wood=WOOD, bores=(bore("hanger"),), fittings=(wire,)), drilled())
    metal = pi / 4 * 1.2954**2 * 40
    assert got["hanger"].mass == pytest.approx(metal * 7.9e-3, rel=1e-4)  # the table gives g/m to 0.001
    assert got["hole: glue"].displaces == pytest.approx(pi * 16 * 12 - metal, rel=1e-4)
    assert not got["hanger"].outside


def test_wire_far_from_any_bore_is_outside(recipe, drilled):
    wire = Fitting("tail wire", "wire", (80.0, 0.0, 0.0), "hangers", size="0.051 in", length=40.0)
    got = entries(recipe(wood=WOOD, bores=(bore("hanger"),), fittings=(wire,)), drilled())
    assert got["tail wire"].outside
    assert got["hole: glue"].displaces == pytest.approx(pi * 16 * 12)


def test_through_wire_lies_in_its_slot(recipe, body, skin, shapes):
    kerf = shapes.box((80.0, 1.5, 10.0), (40.0, 0.0, -10.0))
    slot = WireSlot("kerf", "belly", 0.0, 80.0, 1.5, depth=10.0)
    wire = Fitting("through wire", "wire", (40.0, 0.0, -6.0), "hangers", size="0.051 in", length=110.0)
    measured = Measured(body, shapes.without(body, kerf), skin, slots=(SlotCavity(0, kerf),))
    items = ledger(recipe(wood=WOOD, wire_slots=(slot,), fittings=(wire,)), measured, wood_density(WOOD))
    assert total(items).displaced == pytest.approx(48000)
    assert items[1].mass == pytest.approx((1200 - items[2].displaces) * 1.15e-3)


def test_hooks_hang_from_their_eye_and_push_water_aside_outside(recipe, body, skin):
    hook = Fitting("belly treble", "hook", (30.0, 0.0, -17.0), "rigged", size="#6")
    items = ledger(recipe(wood=WOOD, fittings=(hook,)), Measured(body, body, skin), wood_density(WOOD))
    (found,) = hanging(items)
    mean = (0.7 + 1 + 1.5) / 3  # of the patterns, over the one that was weighed
    assert (found.mass, found.displaces) == (pytest.approx(0.64 * mean), pytest.approx(81.5 * mean))
    assert found.outside == found.displaces
    assert found.spread == pytest.approx(0.64 * ((0.49 + 1 + 2.25 - 0.7 - 1.05 - 1.5) / 18) ** 0.5)


def test_weighed_hook_has_the_volume_of_its_mass(recipe, body, skin):
    """1.57 g of steel at 7.85 g/cm^3 is 0.2 cm^3, for a size that the table does not have."""
    hook = Fitting("tail treble", "hook", (78.0, 0.0, 0.0), "rigged", size="5/0", mass=1.57, quantity=2)
    found = entries(recipe(wood=WOOD, fittings=(hook,)), Measured(body, body, skin))["tail treble"]
    assert (found.mass, found.displaces, found.spread) == (3.14, pytest.approx(400.0), 0.0)


def test_size_nobody_weighed_is_refused(recipe, body, skin):
    ring = Fitting("tail ring", "ring", (78.0, 0.0, 0.0), "rigged", size="#2")
    with pytest.raises(DesignError, match=r"fitting\[1\].mass \(tail ring\): the table knows no mass for ring #2"):
        entries(recipe(wood=WOOD, fittings=(ring,)), Measured(body, body, skin))


def test_mirrored_eyes_stand_on_both_sides(recipe, body, skin):
    eye = Fitting("eye", "eye", (10.0, 9.0, 4.0), "painted", size="6 mm resin", mirror=True)
    got = entries(recipe(wood=WOOD, fittings=(eye,)), Measured(body, body, skin))
    assert got["eye"].at == pytest.approx([10, 9, 4])
    assert got["eye, other side"].at == pytest.approx([10, -9, 4])
    assert got["eye"].mass == 0.0328


@pytest.fixture
def lipped(body, skin, shapes):
    """A plate 1.5 mm thick: 10 mm of tongue in a slot 1.6 mm high, 25 mm of it outside; 20 mm wide throughout."""
    slot = shapes.box((10.0, 20.0, 1.6), (5.0, 0.0, -5.0))
    tongue = shapes.box((10.0, 20.0, 1.5), (5.0, 0.0, -5.0))
    exposed = shapes.box((25.0, 20.0, 1.5), (-12.5, 0.0, -5.0))
    return Measured(body, shapes.without(body, slot), skin, lip=LipCavity(slot, tongue, exposed))


def lip(sheet="polycarbonate", **more):
    return Lip(sheet, 1.5, 0.0, 10.0, 25.0, 20.0, **more)


def test_lip_weighs_its_real_plate(recipe, lipped):
    """35 x 20 x 1.5 mm at 1.2 g/cm^3 = 1.26 g; the tongue lies inside, the rest outside."""
    got = entries(recipe(wood=WOOD, lip=lip()), lipped)
    assert got["lip"].mass + got["lip, tongue"].mass == pytest.approx(1.26)
    assert (got["lip"].outside, got["lip, tongue"].outside) == (pytest.approx(750.0), 0.0)
    assert got["lip: glue"].displaces == pytest.approx(200 * 0.1)


def test_lip_on_the_makers_scale_wins(recipe, lipped):
    got = entries(recipe(wood=WOOD, lip=lip("glass_epoxy", mass=2.1)), lipped)
    assert got["lip"].mass + got["lip, tongue"].mass == pytest.approx(2.1)
    assert got["lip"].spread == 0.0


def test_lipped_body_displaces_skin_and_plate(recipe, body, lipped):
    items = ledger(recipe(wood=WOOD, lip=lip()), lipped, wood_density(WOOD))
    assert total(items).displaced == pytest.approx(48000 + 750)
    assert inside(items) == pytest.approx(body.volume, rel=1e-12)


def test_a_lip_is_as_sure_as_the_density_of_its_sheet(recipe, lipped):
    """Glass-epoxy is 1.80 to 1.95 g/cm^3 (sheet.toml): the range over sqrt(12) on 0.75 and 0.3 cm^3 of plate."""
    got = entries(recipe(wood=WOOD, lip=lip("glass_epoxy")), lipped)
    sure = 0.15 / 12**0.5
    assert (got["lip"].spread, got["lip, tongue"].spread) == (pytest.approx(0.75 * sure), pytest.approx(0.3 * sure))
    assert got["lip"].cause == got["lip, tongue"].cause == Cause("sheet", "glass_epoxy")
