"""Made-up geometry in closed form: boxes and cylinders stand for bodies, holes and plates."""

from math import pi

import numpy as np
import pytest

from bodygen.form.integrals import SkinIntegrals, VolumeIntegrals
from bodygen.recipe.model import Recipe, Stations


def box(size, centre):
    """Volume, centroid and m/12 (b^2 + c^2) of a box."""
    a, b, c = size
    volume = a * b * c
    inertia = volume / 12 * np.diag([b * b + c * c, a * a + c * c, a * a + b * b])
    return VolumeIntegrals(volume, np.array(centre, dtype=float), inertia)


def upright_cylinder(diameter, height, centre):
    """A cylinder along z: m r^2 / 2 about its axis, m (3 r^2 + h^2) / 12 across."""
    r = diameter / 2
    volume = pi * r * r * height
    across = volume * (3 * r * r + height * height) / 12
    return VolumeIntegrals(volume, np.array(centre, dtype=float), np.diag([across, across, volume * r * r / 2]))


def without(whole, *parts):
    """The whole less its parts, by second moments about the origin: an independent way to the ledger's own."""
    volume = whole.volume - sum(p.volume for p in parts)
    first = whole.volume * whole.centroid - sum(p.volume * p.centroid for p in parts)
    second = second_moments(whole) - sum(second_moments(p) for p in parts)
    centroid = first / volume
    central = second - volume * np.outer(centroid, centroid)
    return VolumeIntegrals(volume, centroid, np.trace(central) * np.eye(3) - central)


def second_moments(shape):
    """Integral of r r^T about the origin (3, 3)."""
    central = np.trace(shape.inertia) / 2 * np.eye(3) - shape.inertia
    return central + shape.volume * np.outer(shape.centroid, shape.centroid)


@pytest.fixture
def shapes():
    class Shapes:
        """The closed forms, for tests that build their own geometry."""

    Shapes.box, Shapes.cylinder, Shapes.without = (
        staticmethod(box),
        staticmethod(upright_cylinder),
        staticmethod(without),
    )
    Shapes.second_moments = staticmethod(second_moments)
    return Shapes


@pytest.fixture
def body():
    """A bar 80 x 20 x 30 mm, nose at x = 0."""
    return box((80.0, 20.0, 30.0), (40.0, 0.0, 0.0))


@pytest.fixture
def skin():
    """The bar's skin, 92 cm^2; its inertia is made up, which the ledger can't know."""
    return SkinIntegrals(9200.0, np.array([40.0, 0.0, 0.0]), np.diag([1.4e6, 6.0e6, 5.5e6]))


@pytest.fixture
def recipe():
    """Build a recipe round the parts that a test is about."""

    def make(**parts):
        return Recipe(name="bar", units="mm", shape=Stations("bar.csv", ()), **parts)

    return make
