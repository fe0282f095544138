"""Ballast metals by how they are placed, and the findings about a weighed fill."""

import numpy as np
import pytest

from bodygen.recipe.model import Bore, Fill
from bodygen.weights.cavities import fill_findings, metal_density, metal_row
from bodygen.weights.measured import BoreCavity, Measured


@pytest.fixture
def checks(recipe, body, skin, shapes):
    cavity = shapes.cylinder(8.0, 12.0, (30.0, 0.0, -9.0))

    def find(fill):
        found = recipe(bores=(Bore("hole", "ballast", "belly", 8.0, 12.0, x=30.0, fill=fill),))
        return fill_findings(found, Measured(body, body, skin, (BoreCavity(0, False, np.zeros(3), cavity, cavity),)))

    return find


def test_lead_poured_by_hand_weighs_less_than_solid_lead():
    assert metal_density(Fill("lead", "slug")) == 11.34
    assert metal_density(Fill("lead", "poured")) == 10.85
    assert metal_density(Fill("lead_cast_slug", "slug")) == 11.2


def test_putty_without_a_metal_is_tungsten_putty():
    assert metal_row(Fill(placed="putty")) == "tungsten_putty"


def test_slug_that_its_metal_can_be_raises_no_doubt(checks):
    """603 mm^3 of 11.0 to 11.34 g/cm^3 is 6.64 to 6.84 g; a tenth more or less is the scale."""
    assert not checks(Fill(mass=6.75))
    assert not checks(Fill(mass=6.90))


@pytest.mark.parametrize(("mass", "advice"), [(8.0, "deepen the bore"), (5.0, "lower the level")])
def test_mass_that_does_not_fit_its_room_is_doubted(checks, mass, advice):
    (doubt,) = checks(Fill(mass=mass))
    assert (doubt.code, doubt.where) == ("fill-mass", "bore[1].fill.mass")
    assert doubt.value == pytest.approx(mass / (np.pi * 16 * 12) * 1000)
    assert advice in doubt.remedy


def test_pour_of_unmeasured_voids_is_noted(checks):
    (doubt,) = checks(Fill("bismuth_tin_58_42", "poured"))
    assert (doubt.code, doubt.severity) == ("pour-solid", "note")
    assert "keeps 96 % of its density" in doubt.remedy
    assert not checks(Fill("lead", "poured"))
