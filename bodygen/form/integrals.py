"""Volume and skin integrals of the body, straight from its poles.

The two records are what every room downstream passes on: mass comes in where a density is known (weights/).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class VolumeIntegrals:
    """A closed region: volume [mm^3], centroid (3,) [mm], inertia (3, 3) per unit density about the centroid [mm^5].

    ``inertia`` is a tensor, products of inertia with the minus sign: multiply by a density in g/mm^3 for g mm^2.
    """

    volume: float
    centroid: Array
    inertia: Array


@dataclass(frozen=True, slots=True)
class SkinIntegrals:
    """A skin: area [mm^2], centroid (3,) [mm], inertia (3, 3) per unit areal density about the centroid [mm^4]."""

    area: float
    centroid: Array
    inertia: Array
