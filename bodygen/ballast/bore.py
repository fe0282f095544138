"""How much metal fits a plain bore, and how deep a bore holds a given mass: a drill, a depth, a metal.

Knows cylinders and drill points. Knows nothing of bodies: a mouth on a curved skin holds less (``hole.py``).
"""

from math import pi, tan
from typing import Literal

from bodygen.errors import DesignError
from bodygen.recipe.model import Tip
from bodygen.weights import catalogue
from bodygen.weights.item import MM3_PER_CM3

DepthTo = Literal["shoulder", "point"]
TWIST = 2.0594885173533086
"""Included angle of the usual twist drill's point, 118 degrees [rad]."""


def tip_length(diameter: float, tip: Tip, tip_angle: float = TWIST) -> float:
    """How far a drill's end reaches beyond its shoulder [mm]; ``diameter`` [mm], ``tip_angle`` [rad].

    >>> tip_length(7.9375, "twist")
    2.3847
    """
    return {"twist": diameter / 2 / tan(tip_angle / 2), "ball": diameter / 2, "flat": 0.0}[tip]


def tip_volume(diameter: float, tip: Tip, tip_angle: float = TWIST) -> float:
    r"""Volume below the shoulder [mm^3]: a cone, half a ball, or nothing; ``diameter`` [mm], ``tip_angle`` [rad].

    .. math:: V_{cone} = \pi d^2 h / 12, \quad V_{ball} = \pi d^3 / 12

    >>> tip_volume(7.9375, "twist")
    39.33
    """
    reach = diameter if tip == "ball" else tip_length(diameter, tip, tip_angle)
    return pi * diameter**2 * reach / 12


def metal_density(metal: str) -> float:
    """Density of a row of ``metals.toml`` [g/cm^3]."""
    return catalogue.density(catalogue.row("metals", "metal", metal, "metal"))


def bore_volume(
    diameter: float, depth: float, tip: Tip = "flat", depth_to: DepthTo = "shoulder", tip_angle: float = TWIST
) -> float:
    """Room in a bore whose mouth is square and flat [mm^3].

    Parameters
    ----------
    diameter, depth : float
        Of the drill, and of the bore to its shoulder or its point [mm], both > 0.
    tip : "twist", "flat" or "ball"
        What the drill leaves at the bottom.
    depth_to : "shoulder" or "point"
        What ``depth`` is measured to; a depth to the point that is less than the point's own length is a smaller cone.
    tip_angle : float
        Of a twist drill's point [rad].

    Examples
    --------
    >>> bore_volume(7.9375, 12.7)   # 5/16 in, 1/2 in deep, flat
    628.44
    >>> bore_volume(7.9375, 12.7, "twist", "point")
    549.77
    """
    if not (diameter > 0 and depth > 0):
        msg = f"a bore {diameter:g} mm wide and {depth:g} mm deep is none."
        raise DesignError(msg)
    reach = tip_length(diameter, tip, tip_angle)
    straight = depth if depth_to == "shoulder" else depth - reach
    if straight >= 0:
        return pi / 4 * diameter**2 * straight + tip_volume(diameter, tip, tip_angle)
    if tip == "twist":
        return tip_volume(diameter, tip, tip_angle) * (depth / reach) ** 3
    return pi * depth**2 * (diameter / 2 - depth / 3)  # a cap of the ball


def bore_mass(
    diameter: float,
    depth: float,
    metal: str,
    tip: Tip = "flat",
    depth_to: DepthTo = "shoulder",
    tip_angle: float = TWIST,
) -> float:
    """Mass of a metal that fills a plain bore to the brim [g]; the bore as in ``bore_volume`` [mm, rad].

    >>> bore_mass(9.525, 12.7, "lead")   # 3/8 in, 1/2 in deep
    10.26
    """
    return bore_volume(diameter, depth, tip, depth_to, tip_angle) / MM3_PER_CM3 * metal_density(metal)


def depth_for_mass(
    mass: float,
    diameter: float,
    metal: str,
    tip: Tip = "flat",
    depth_to: DepthTo = "shoulder",
    tip_angle: float = TWIST,
) -> float:
    """Depth at which a plain bore holds ``mass`` [g] of a metal [mm]; the bore as in ``bore_volume`` [mm, rad].

    Raises
    ------
    DesignError
        Less mass than the drill's point alone holds, with the depth measured to the shoulder.

    Examples
    --------
    >>> depth_for_mass(14.0, 9.525, "lead") / 25.4
    0.682
    """
    volume = mass * MM3_PER_CM3 / metal_density(metal)
    point, reach = tip_volume(diameter, tip, tip_angle), tip_length(diameter, tip, tip_angle)
    straight = (volume - point) / (pi / 4 * diameter**2)
    if straight >= 0:
        return straight if depth_to == "shoulder" else straight + reach
    if depth_to == "point" and tip == "twist" and volume > 0:
        return float(reach * (volume / point) ** (1 / 3))
    held = bore_mass(diameter, reach, metal, tip, "point", tip_angle)
    msg = f"{mass:g} g of {metal} is less than the drill's end alone holds, {held:.2f} g: take a thinner drill."
    raise DesignError(msg)
