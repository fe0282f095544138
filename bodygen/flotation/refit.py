"""What a little weight more or less at some place does to how a bait lies, its hull left as it is.

Knows a hull, a mass and where it acts. Knows no recipe.
"""

from collections.abc import Sequence

import numpy as np

from bodygen.flotation.equilibrium import Flotation, find_attitudes
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array


def lies_with(
    hull: Hull, mass_g: float, centre_of_mass: Array, before: Flotation, weights: Sequence[tuple[float, Array]]
) -> Flotation:
    """The one attitude of a bait with other weights on it, each (net of its own water [g], place (3,) [mm]).

    Archimedes' principle: under water a small thing weighs its mass less that of the water it pushes aside.

    Parameters
    ----------
    hull, mass_g, centre_of_mass
        As ``find_attitudes`` has them: [mm], [g], (3,) [mm].
    before : Flotation
        How it lies without them: it is let go from there.
    weights : sequence
        What is added; less than nothing is taken away.

    Returns
    -------
    Flotation
    """
    net = sum(grams for grams, _ in weights)
    moment = mass_g * np.asarray(centre_of_mass) + sum((grams * at for grams, at in weights), np.zeros(3))
    near = before.attitude if before.state == "floats" else None
    mass = mass_g + net
    return find_attitudes(hull, mass, moment / mass, before.water_g_cm3, others=False, near=near)
