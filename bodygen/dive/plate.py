"""The lip as a flat plate in a stream: how hard the water presses on it, and where.

Knows the fit of ``tables/dive.toml`` and angles. Knows nothing of baits.
"""

from math import hypot, pi, radians

import numpy as np
from numpy.typing import NDArray

from bodygen.tables import load

Array = NDArray[np.float64]


def normal_coefficient(aspect: float, incidence: Array | float) -> Array:
    r"""Force square to a plate over its area and the dynamic pressure [-].

    With the small-angle slope :math:`K_p = 2\pi A/(2 + \sqrt{A^2 + 4})`, the attached part is
    :math:`K_p \sin\alpha\cos\alpha + K_v \sin^2\alpha`; past the fall-off it is
    :math:`1.17 \cdot 2\sin\alpha/(1 + \sin^2\alpha)`; a logistic step leads from one to the other.

    Parameters
    ----------
    aspect : float
        Width squared over area A [-]; 0.7 to 2 is what the fit was made for.
    incidence : array
        Between the plate and the water's way [rad], to 80 deg; the coefficient is odd in it.

    References
    ----------
    G. Eiffel, La resistance de l'air et l'aviation (1911), pp. 42-50, for the fit; S. F. Hoerner, Fluid-Dynamic Lift
    (1985), from memory, for Helmbold's slope; Duchemin's rule, from memory.

    Examples
    --------
    >>> float(normal_coefficient(1.0, pi / 2))   # square to the water: 1.17
    1.17
    """
    row = load("dive")["plate"]
    slope = 2 * pi * aspect / (2 + hypot(aspect, 2))
    broad = max(aspect, row["least_aspect"])
    vortex = row["vortex"] * broad ** row["vortex_power"]
    falls = radians(row["fall_off_deg"]) * broad ** row["fall_off_power"]
    angle = np.abs(incidence)
    sine = np.sin(angle)
    attached = slope * sine * np.cos(angle) + vortex * sine**2
    separated = row["square_to_flow"] * 2 * sine / (1 + sine**2)
    share = 1 / (1 + np.exp((falls - angle) / radians(row["rounded_deg"])))
    return np.asarray(np.sign(incidence) * ((1 - share) * attached + share * separated))


def pressure_centre(length: float, centroid: float, incidence: Array | float) -> Array:
    r"""How far behind the edge that meets the water the force acts, along the middle line [mm].

    .. math:: x = x_{centroid} + (0.3 \sin\alpha - 0.3)\,l

    which on a rectangle is Avanzini's :math:`(0.2 + 0.3\sin\alpha)\,l`.

    Parameters
    ----------
    length, centroid : float
        The plate's length l, and its area's centroid from that edge [mm].
    incidence : array
        As of ``normal_coefficient`` [rad]; either way alike.

    References
    ----------
    Avanzini's rule, from memory; Joessel's, quoted in a letter, has 0.195 + 0.305 sin.

    Examples
    --------
    >>> float(pressure_centre(20.0, 10.0, radians(30)))   # 0.2 + 0.15 of the length
    7.0
    """
    row = load("dive")["pressure_centre"]
    flat_on = row["edge_on"] + row["sine"]  # 0.5: at right angles it acts on a rectangle's middle
    return np.asarray(centroid + (row["edge_on"] + row["sine"] * np.abs(np.sin(incidence)) - flat_on) * length)
