"""Ledger sums against mechanics in closed form, and against the worked bores and coats of the tables.

The parallel axis theorem and the moments of boxes and cylinders are textbook closed forms; the bore and coat figures
are the tables' own [check_bore] and [check], computed apart from this program.
"""

from math import pi, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodygen import tables
from bodygen.form.integrals import SkinIntegrals, VolumeIntegrals
from bodygen.recipe.model import Bore, Coat, Fill, Recipe, Stations, Wood
from bodygen.weights.item import Item, total
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import BoreCavity, Measured
from bodygen.weights.wood import wood_density

BORE = tables.load("metals")["check_bore"]
COAT = tables.load("coatings")["check"]
BODY = VolumeIntegrals(48000.0, np.array([40.0, 0.0, 0.0]), np.eye(3))
SKIN = SkinIntegrals(100 * COAT["area_cm2"], np.array([40.0, 0.0, 0.0]), np.eye(3))


def recipe(**parts):
    return Recipe(name="bar", units="in", shape=Stations("bar.csv", ()), **parts)


def ballast(volume, fill):
    """The ledger's mass of metal [g] for a bore of that volume [mm^3]."""
    cavity = VolumeIntegrals(volume, np.array([30.0, 0.0, -9.0]), np.eye(3))
    bore = Bore("belly ballast", "ballast", "belly", BORE["diameter_mm"], BORE["depth_mm"], x=30.0, fill=fill)
    measured = Measured(BODY, BODY, SKIN, (BoreCavity(0, False, np.zeros(3), cavity, cavity),))
    whole = recipe(wood=Wood(density_g_cm3=0.4), bores=(bore,))
    return next(i.mass for i in ledger(whole, measured, wood_density(whole.wood)) if i.stage == "ballast")


def drilled(depth_to):
    """Bore volume [mm^3] in closed form: pi d^2/4 H + pi d^2 h / 12, h = (d/2) / tan 59 deg."""
    d, depth = 7.9375, 12.7
    cone = d / 2 / tan(59 * pi / 180)
    cylinder = depth - cone if depth_to == "point" else depth
    return pi * d * d / 4 * cylinder + pi * d * d * cone / 12


@pytest.mark.parametrize("depth_to", ["point", "shoulder"])
@pytest.mark.parametrize(("placed", "row"), [("slug", "lead"), ("poured", "hand_poured")])
def test_five_sixteenths_bore_half_an_inch_deep_weighs_as_the_table_works_out(depth_to, placed, row):
    """metals.toml [check_bore]: solid lead 11340, poured by hand 10850 kg/m^3; given to 0.001 g."""
    assert drilled(depth_to) == pytest.approx(BORE[f"volume_depth_to_{depth_to}_mm3"], abs=0.0051)
    mass = ballast(drilled(depth_to), Fill("lead", placed))
    assert mass == pytest.approx(BORE[f"{row}_depth_to_{depth_to}_g"], abs=0.00051)


def test_plain_three_eighths_bore_half_an_inch_deep_holds_10_3_g_of_solid_lead():
    """pi/4 (9.525 mm)^2 x 12.7 mm = 0.905 cm^3; x 11.34 g/cm^3 = 10.26 g."""
    volume = pi / 4 * 9.525**2 * 12.7
    assert volume / 1000 == pytest.approx(0.905, abs=0.0005)
    assert ballast(volume, Fill("lead", "slug")) == pytest.approx(10.26, abs=0.005)


def test_four_coats_of_varnish_weigh_what_the_table_works_out():
    """coatings.toml [check]: 65 cm^2, four coats of 0.0381 mm at 1100 kg/m^3; given to 0.01 g and 0.0001 cm^3.

    The film is said, as the table works with the likeliest; a plan without one goes by the mean.
    """
    coat = Coat("clear", "oil_polyurethane_dip", "cleared", coats=COAT["coats"], film=0.0381)
    whole = recipe(wood=Wood(density_g_cm3=0.4), coats=(coat,))
    film = ledger(whole, Measured(BODY, BODY, SKIN), wood_density(whole.wood))[-1]
    assert film.mass == pytest.approx(COAT["mass_g"], abs=0.0051)
    assert film.displaces / 1000 == pytest.approx(COAT["displaced_cm3"], abs=0.000051)
    assert film.outside


def test_dumbbell_has_its_textbook_inertia():
    """Two points of 3 g and 1 g, 40 mm apart: mu l^2 = (3 x 1 / 4) x 40^2 = 1200 g mm^2 across, 0 along."""
    near, far = (
        Item(n, "rigged", m, np.array([x, 2.0, 5.0]), 0.0, np.zeros(3)) for n, m, x in (("a", 3, 0), ("b", 1, 40))
    )
    found = total([near, far])
    assert found.centre_of_mass == pytest.approx([10.0, 2.0, 5.0], rel=1e-14)
    assert found.inertia == pytest.approx(np.diag([0.0, 1200.0, 1200.0]), abs=1e-9)


def test_products_of_inertia_carry_the_minus_sign():
    """1 g at (1, 1, 0) and at (-1, -1, 0): the tensor's xy is minus the sum of m x y, -2."""
    pair = [Item("p", "rigged", 1.0, np.array([s, s, 0.0]), 0.0, np.zeros(3)) for s in (1.0, -1.0)]
    assert total(pair).inertia[0, 1] == pytest.approx(-2.0)


def test_eight_small_boxes_make_the_large_one():
    """A box 80 x 20 x 30 in octants: m/12 (b^2 + c^2) of the whole, from the parts' own and their offsets."""
    density, half = 0.4e-3, np.array([40.0, 10.0, 15.0])
    own = np.diag([half[1] ** 2 + half[2] ** 2, half[0] ** 2 + half[2] ** 2, half[0] ** 2 + half[1] ** 2]) / 12
    mass = density * half.prod()
    signs = [np.array([i, j, k]) for i in (-0.5, 0.5) for j in (-0.5, 0.5) for k in (-0.5, 0.5)]
    parts = [Item("o", "drilled", mass, s * half, half.prod(), s * half, mass * own) for s in signs]
    found = total(parts)
    assert found.mass == pytest.approx(19.2, rel=1e-12)
    assert np.diag(found.inertia) == pytest.approx(19.2 / 12 * np.array([1300.0, 7300.0, 6800.0]), rel=1e-12)


place = st.tuples(*[st.floats(-100, 100)] * 3).map(np.array)
items = st.lists(
    st.builds(
        lambda mass, at, volume, there, own: Item("part", "rigged", mass, at, volume, there, np.diag(own)),
        st.floats(0.001, 50),
        place,
        st.floats(0, 5e4),
        place,
        st.tuples(*[st.floats(0, 1e4)] * 3),
    ),
    min_size=2,
    max_size=12,
)


@settings(max_examples=60)
@given(items, st.randoms(use_true_random=False))
def test_sums_do_not_depend_on_the_order(parts, random):
    """Mass, first and second moments agree to 1e-9 under any order of the lines."""
    shuffled = list(parts)
    random.shuffle(shuffled)
    one, other = total(parts), total(shuffled)
    assert other.mass == pytest.approx(one.mass, rel=1e-9)
    assert other.displaced == pytest.approx(one.displaced, rel=1e-9)
    assert other.centre_of_mass == pytest.approx(one.centre_of_mass, rel=1e-9, abs=1e-9)
    assert other.inertia == pytest.approx(one.inertia, rel=1e-9, abs=1e-9)


@settings(max_examples=60)
@given(items, st.integers(1, 11))
def test_sums_of_two_halves_are_the_whole(parts, cut):
    """Mass, first and second moments about the origin add up, to 1e-9 of their size, however the ledger is cut."""
    cut = min(cut, len(parts) - 1)

    def moments(some):
        t = total(some)
        c = t.centre_of_mass
        second = t.inertia + t.mass * (c @ c * np.eye(3) - np.outer(c, c))
        return np.concatenate([[t.mass], t.mass * c, second.ravel()])

    whole, split = moments(parts), moments(parts[:cut]) + moments(parts[cut:])
    scale = sum(i.mass * (1 + i.at @ i.at) + np.trace(i.inertia) for i in parts)
    assert np.abs(whole - split).max() <= 1e-9 * scale
