"""What a little weight more or less at some place does to how a bait lies, its hull left as it is.

Knows a hull, a mass and where it acts. Knows no recipe.
"""

import numpy as np

from bodygen.flotation.equilibrium import Flotation, find_attitudes
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array


def load(grams: float, at: Array) -> Array:
    """A weight as (4,): itself [g] and its first moments [g mm], which add up.

    Elementary.

    Examples
    --------
    >>> (load(2.0, np.array([30.0, 0.0, -5.0])) - load(1.0, np.array([10.0, 0.0, 0.0]))).tolist()
    [1.0, 50.0, 0.0, -10.0]
    """
    return grams * np.array([1.0, *at])


def lies_with(hull: Hull, mass_g: float, centre_of_mass: Array, before: Flotation, more: Array) -> Flotation:
    """The one attitude of a bait with another load on it, net of the water that it pushes aside.

    Archimedes' principle: under water a small thing weighs its mass less that of the water it pushes aside.

    Parameters
    ----------
    hull, mass_g, centre_of_mass
        As ``find_attitudes`` has them: [mm], [g], (3,) [mm].
    before : Flotation
        How it lies without them: it is let go from there.
    more : (4,)
        What is added [g, g mm]; less than nothing is taken away.

    Returns
    -------
    Flotation
    """
    whole = load(mass_g, centre_of_mass) + more
    near = before.attitude if before.state == "floats" else None
    return find_attitudes(hull, float(whole[0]), whole[1:] / whole[0], before.water_g_cm3, others=False, near=near)
