"""How fast a bait goes down, or up, when its weight and its lift differ: an estimate, and its range.

Knows shadows and drag coefficients of ``ballast.toml``. Nobody has measured a bait going down: three coefficients
stand for what it can be, and whoever prints a speed prints the range.
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from bodygen import tables
from bodygen.flotation.hull import Hull
from bodygen.form.integrals import Array

G_PER_KG = 1000.0
MM2_PER_M2 = 1e6


@dataclass(frozen=True, slots=True)
class Drag:
    """Coefficients [-] on the shadow ``area`` [mm^2] of a bait moving along the vertical."""

    area: float
    low: float
    likely: float
    high: float


def drag_of(hull: Hull, up: Array, sizes: tuple[float, float, float]) -> Drag:
    """Drag of a hull that moves along ``up`` (3,), broadside as it lies wholly under.

    Parameters
    ----------
    hull : Hull
        Everything that pushes water aside [mm].
    up : (3,)
        The vertical in body axes [-].
    sizes : length, depth, thickness of the body [mm]

    Returns
    -------
    Drag

    References
    ----------
    S. F. Hoerner, Fluid-Dynamic Drag, 1965, chapter 3 (from memory): circular cylinders of finite length and elliptical
    sections across the flow, below the critical Reynolds number.
    """
    table = tables.load("ballast")["drag"]
    length, depth, thickness = sizes
    round_one = float(np.interp(length / thickness, table["length_over_thickness"], table["round"]))
    relief = float(np.interp(depth / thickness, table["depth_over_thickness"], table["elliptical"])) / table["endless"]
    return Drag(shadow(hull, up), round_one * min(relief, 1.0), round_one, float(table["endless"]))


def shadow(hull: Hull, up: Array) -> float:
    """Area of the hull's shadow along ``up`` (3,) [mm^2]; what lies in another part's shadow is counted too.

    Half the sum of the faces' projected areas is the shadow of any convex body (each ray goes in and out once).
    """
    corners = hull.vertices[hull.faces]
    vectors = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    return float(np.abs(vectors @ np.asarray(up)).sum() / 2 + np.pi * (hull.sphere_radii**2).sum())


def lift_at(speed: float, drag: Drag, water_g_cm3: float, coefficient: float | None = None) -> float:
    r"""Lift or weight under water [g] that drag balances at a speed [m/s].

    .. math:: D = \tfrac12 \rho v^2 C_D A, \quad m = D / g

    Examples
    --------
    >>> lift_at(0.1, Drag(1000.0, 0.5, 0.8, 1.2), 1.0)
    0.408
    """
    gravity = float(tables.load("flotation")["gravity"]["standard_m_s2"])
    used = drag.likely if coefficient is None else coefficient
    newton = 0.5 * water_g_cm3 * G_PER_KG * speed**2 * used * drag.area / MM2_PER_M2
    return newton / gravity * G_PER_KG


def speeds(lift_g: float, drag: Drag, water_g_cm3: float) -> tuple[float, float, float]:
    """Lowest, likely and highest speed [m/s] at which drag balances ``lift_g`` [g], whatever its sign."""
    unit = [lift_at(1.0, drag, water_g_cm3, used) for used in (drag.high, drag.likely, drag.low)]
    slow, likely, quick = (sqrt(abs(lift_g) / one) for one in unit)
    return slow, likely, quick


def straight_up(centre_of_buoyancy: Array, centre_of_mass: Array) -> Array:
    """The vertical in body axes (3,) wholly under, from the two centres (3,) [mm]: buoyancy straight above mass."""
    arm = centre_of_buoyancy - centre_of_mass
    size = float(np.linalg.norm(arm))
    return np.array([0.0, 0.0, 1.0]) if size < 1e-9 else np.asarray(arm / size)
