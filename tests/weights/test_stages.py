"""What the scale should read at each step of the bench, and how near."""

import numpy as np
import pytest

from bodygen.errors import DesignError
from bodygen.form.blank import Blank
from bodygen.recipe.model import Bore, Coat, Fill, Fitting, Wood
from bodygen.weights.item import Item, total
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import BoreCavity, Measured
from bodygen.weights.spread import Cause
from bodygen.weights.stages import stages, tolerance
from bodygen.weights.wood import wood_density

SCALE = 0.1 / 12**0.5


def weigh_ins(recipe, measured):
    density = wood_density(recipe.wood)
    return {s.name: s for s in stages(recipe, measured, density, ledger(recipe, measured, density))}


@pytest.fixture
def whole(recipe, body, skin, shapes):
    """A bait with something at every step: recipe parts and geometry."""
    cavity = shapes.cylinder(8.0, 12.0, (30.0, 0.0, -9.0))
    measured = Measured(body, shapes.without(body, cavity), skin, (BoreCavity(0, False, np.zeros(3), cavity, cavity),))
    found = recipe(
        wood=Wood("basswood"),
        bores=(Bore("ballast", "ballast", "belly", 8.0, 12.0, x=30.0, fill=Fill()),),
        fittings=(
            Fitting("tie", "screw_eye", (0.0, 0.0, 0.0), "hangers", size="0.051 x 0.5 in"),
            Fitting("treble", "hook", (40.0, 0.0, -17.0), "rigged", size="#6"),
        ),
        coats=(
            Coat("seal", "lacquer_sealer_thinned", "sealed"),
            Coat("pattern", "acrylic_pattern_whole", "painted"),
            Coat("clear", "oil_polyurethane_dip", "cleared", coats=3),
        ),
    )
    return found, measured


def test_weigh_ins_come_in_shop_order(whole):
    names = ["blank", "drilled", "hangers", "ballast", "sealed", "painted", "cleared", "rigged"]
    assert list(weigh_ins(*whole)) == names


def test_each_weigh_in_adds_what_goes_on(whole):
    """The wood drilled, then a screw eye of 0.304 g, then the slug of 11.2 g/cm^3."""
    found = weigh_ins(*whole)
    cavity = np.pi * 16 * 12
    assert found["drilled"].mass == pytest.approx((48000 - cavity) * 0.4144e-3)
    assert found["hangers"].mass - found["drilled"].mass == pytest.approx(0.304)
    assert found["ballast"].mass - found["hangers"].mass == pytest.approx(cavity * 11.2e-3)


def test_last_weigh_in_is_the_total(whole):
    recipe, measured = whole
    last = weigh_ins(recipe, measured)["rigged"]
    summary = total(ledger(recipe, measured, wood_density(recipe.wood)))
    assert last.mass == summary.mass
    assert last.centre_of_mass == pytest.approx(summary.centre_of_mass)


def test_body_without_holes_is_weighed_once_as_wood(recipe, body, skin):
    found = weigh_ins(recipe(wood=Wood("basswood")), Measured(body, body, skin))
    assert list(found) == ["blank"]
    assert found["blank"].mass == pytest.approx(48 * 0.4144)
    assert found["blank"].centre_of_mass == pytest.approx([40, 0, 0])


def test_the_squared_block_comes_first_and_weighs_its_own_box(recipe, body, skin):
    """90 x 25 x 35 mm are 78.75 cm^3, of which the body keeps 48."""
    wood = Wood(blank_mass=30.0, blank_size=(90.0, 25.0, 35.0))
    block = Blank((-3.0, -12.5, -17.5), (87.0, 12.5, 17.5))
    found = weigh_ins(recipe(wood=wood), Measured(body, body, skin, block=block))
    assert list(found) == ["squared", "blank"]
    assert found["squared"].mass == pytest.approx(30.0)
    assert found["squared"].centre_of_mass == pytest.approx([42, 0, 0])
    assert found["blank"].mass == pytest.approx(30.0 / 78.75 * 48)


def test_a_block_that_nobody_measured_is_the_one_that_the_template_is_drawn_for(recipe, body, skin):
    """80 x 20 x 30 mm of basswood at 0.4144 g/cm^3."""
    found = weigh_ins(
        recipe(wood=Wood("basswood")), Measured(body, body, skin, block=Blank((-3.0, -10.0, -15.0), (77.0, 10.0, 15.0)))
    )
    assert found["squared"].mass == pytest.approx(48 * 0.4144)


def test_wood_of_a_species_reads_within_two_standard_deviations(recipe, body, skin):
    """Two standard deviations of 10 % of 19.9 g, and of a tenth of a gram / sqrt(12), in quadrature."""
    blank = weigh_ins(recipe(wood=Wood("basswood")), Measured(body, body, skin))["blank"]
    assert blank.tolerance == pytest.approx(2 * np.hypot(0.1 * blank.mass, SCALE))
    assert blank.ground == "density of the wood 3.98 g, the scale 0.06 g"


def test_given_density_is_said_to_be_taken_as_exact(recipe, body, skin):
    blank = weigh_ins(recipe(wood=Wood(density_g_cm3=0.4)), Measured(body, body, skin))["blank"]
    assert blank.tolerance == pytest.approx(2 * SCALE)
    assert blank.ground == "the scale 0.06 g; the wood's density taken as exact (as given in the recipe)"


def test_what_varies_together_adds_up_and_the_rest_in_squares():
    def part(spread, of):
        return Item("part", "rigged", 1.0, np.zeros(3), 0.0, np.zeros(3), spread=spread, cause=of)

    pour, film = Cause("metal", "lead_hand_poured"), Cause("film", "two_part_epoxy")
    near, _ = tolerance([part(1.0, pour), part(2.0, pour), part(4.0, film)])
    assert near == pytest.approx(2 * np.sqrt(9 + 16 + SCALE**2))


def test_unknown_stage_is_refused_with_the_stages(recipe, body, skin):
    found = recipe(wood=Wood("basswood"), fittings=(Fitting("trim", "weight", (0, 0, 0), "varnished", mass=1.0),))
    with pytest.raises(DesignError, match='stage = "varnished": no such stage; one of squared, blank, drilled'):
        weigh_ins(found, Measured(body, body, skin))
