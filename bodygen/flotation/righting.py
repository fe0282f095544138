"""Righting moments: how hard the water turns the bait back when it is held over.

Knows one attitude and turns it at constant displacement. Knows nothing of who holds it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bodygen.flotation.energy_minimiser import slope, turned
from bodygen.flotation.equilibrium import Attitude, moment_n_mm
from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import horizontal_axes, immerse_volume
from bodygen.form.integrals import Array


@dataclass(frozen=True, slots=True)
class RightingCurve:
    """Moment [N mm] over angle from rest [deg]: positive at a positive angle (negative at a negative) turns it back.

    ``about`` "roll" lets the right side rise with positive angles, "pitch" the nose; the other angle is held.
    """

    about: Literal["roll", "pitch"]
    angles_deg: tuple[float, ...]
    moments_n_mm: tuple[float, ...]


def righting_curve(
    hull: Hull,
    attitude: Attitude,
    centre_of_mass: tuple[float, float, float] | Array,
    water_g_cm3: float,
    about: Literal["roll", "pitch"],
    angles_deg: Sequence[float] = tuple(range(-180, 181, 5)),
) -> RightingCurve:
    r"""Hold the body over by each angle, its displacement kept, and take the moment that turns it back.

    .. math:: M(\theta) = W \, dE/d\theta, \quad M'(0) = W \, GM

    Parameters
    ----------
    hull : Hull
        What displaces water [mm].
    attitude : Attitude
        Where the angles count from.
    centre_of_mass : (3,)
        Of the total mass, body axes [mm].
    water_g_cm3 : float
        Density of the water [g/cm^3]: what it carries of the body pulls at the levers.
    about : "roll" or "pitch"
        The axis: the horizontal projection of x at rest, or the horizontal one across it.
    angles_deg : sequence of float
        Angles from rest [deg].

    Returns
    -------
    RightingCurve

    References
    ----------
    E. C. Tupper, Introduction to Naval Architecture, 2013, chapter on stability at large angles (from memory): GZ is
    the slope of the energy (dynamical stability).

    Examples
    --------
    >>> from bodygen.flotation.equilibrium import find_attitudes
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> at = find_attitudes(hull, 6.0, np.zeros(3), 1.0, others=False).attitude
    >>> righting_curve(hull, at, (0.0, 0.0, 0.0), 1.0, "roll", [0, 10]).moments_n_mm   # W sin(t) (GM + BM tan(t)^2 / 2)
    (0.0, 0.04363)
    """
    up = np.array([attitude.up])
    if attitude.roll_deg is None:
        up = np.array([[math.copysign(1.0, attitude.up[0]), 0.0, 0.0]])
    along, across = horizontal_axes(up)
    rising = across if about == "roll" else -along
    angles = np.radians(np.asarray(angles_deg, dtype=np.float64))[:, None]
    held = turned(np.repeat(up, len(angles), axis=0), angles * rising)
    onward = -np.sin(angles) * up + np.cos(angles) * rising  # unit tangents of the way over
    centre = np.asarray(centre_of_mass, dtype=np.float64)
    if attitude.water_height is None:
        levers = onward @ (centre - np.array(attitude.centre_of_buoyancy))
    else:
        cut = immerse_volume(hull, held, 1000 * attitude.submerged_cm3)
        turning = slope(hull, cut, centre, 1000 * attitude.submerged_cm3).turning
        levers = turning[:, 0] * (cut.along * onward).sum(axis=1) + turning[:, 1] * (cut.across * onward).sum(axis=1)
    carried_g = attitude.submerged_cm3 * water_g_cm3
    moments = tuple(moment_n_mm(carried_g, float(lever)) for lever in levers)
    return RightingCurve(about, tuple(float(a) for a in angles_deg), moments)
