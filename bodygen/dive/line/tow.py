"""A bait towed at a steady speed: how the line hangs between it and the rod's tip. SI units throughout.

Closed form. Knows a pull and a line. Knows nothing of what pulls, and nothing of weight, friction along the line, or a
line that sings: ``fishing.toml`` has one figure for its drag.
"""

from dataclasses import dataclass
from math import atan2, hypot, log1p, sqrt, tan


@dataclass(frozen=True, slots=True)
class Hung:
    """A line in the water: ``depth`` of its end below the surface [m], how far ``behind`` the point of entry [m].

    ``wet`` is the length in the water [m], ``angle_at_surface`` that of the line to the horizontal there [rad].
    """

    depth: float
    behind: float
    wet: float
    angle_at_surface: float


def bend(tension: float, diameter: float, speed: float, c_n: float, water: float) -> float:
    """How fast the line's cotangent grows along it [1/m]: drag square to the line over the pull in it.

    Parameters
    ----------
    tension : float
        In the line, the same all along [N].
    diameter : float
        Of the line [m].
    speed : float
        Through the water [m/s].
    c_n : float
        Drag of a line square to itself [-].
    water : float
        Density [kg/m^3].

    Notes
    -----
    Derived here: drag square to the line alone leaves the tension as it is and turns it by
    (density/2) d c_n (U sin phi)^2 / T a metre, which is d(cot phi)/ds = K.

    Examples
    --------
    >>> bend(0.5, 0.001, 1.0, 1.0, 1000.0)   # 1000 * 0.001 / (2 * 0.5)
    1.0
    """
    return water * diameter * c_n * speed**2 / (2 * tension)


def hung(bend_per_m: float, line_angle: float, wet: float) -> Hung:
    """A line of which ``wet`` [m] is in the water, steepest at the bait.

    Parameters
    ----------
    bend_per_m : float
        As of ``bend`` [1/m].
    line_angle : float
        Of the line at the bait above the horizontal, more than 0 and at most a right angle [rad].
    wet : float
        Length in the water [m].

    Returns
    -------
    Hung
        Lengths [m], angle [rad].

    Notes
    -----
    Derived here: with c = cot(phi) = c0 + K s, the sine is 1/sqrt(1 + c^2), and both integrals are elementary:
    z = (asinh c1 - asinh c0)/K and x = (sqrt(1 + c1^2) - sqrt(1 + c0^2))/K.

    Examples
    --------
    >>> hung(0.0, 0.5235987755982988, 10.0).depth   # no drag on the line: straight at 30 degrees
    5.000
    """
    at_bait, bent = 1 / tan(line_angle), bend_per_m * wet
    at_surface = at_bait + bent
    low, high = hypot(1.0, at_bait), hypot(1.0, at_surface)
    lean = (at_surface + at_bait) / (high + low)  # of the chord; differences of asinh and of roots would cancel
    steep = (1 + lean) / (at_bait + low)
    depth = wet * log1p(bent * steep) / bent if bent > 0 else wet * steep
    return Hung(depth, wet * lean, wet, atan2(1.0, at_surface))


def hung_from_tip(bend_per_m: float, line_angle: float, line_out: float, tip: float) -> Hung | None:
    """A line of which ``line_out`` [m] is out from a rod's tip above the water; None where it is too short.

    The dry part is straight, at the angle that the line has at the surface. A tip held under water is where the line
    begins: all of it is wet, and the bait that much deeper.

    Parameters
    ----------
    bend_per_m, line_angle : float
        As of ``hung`` [1/m, rad].
    line_out : float
        From the tip to the bait [m].
    tip : float
        Of the rod above the water; below 0 it is held under [m].

    Returns
    -------
    Hung or None
        Lengths [m], angle [rad]; ``depth`` is below the surface.

    Notes
    -----
    Derived here: S + h sqrt(1 + (c0 + K S)^2) = L is a square in S, whose one root between 0 and L is wanted.

    Examples
    --------
    >>> hung_from_tip(0.0, 0.5235987755982988, 10.0, 1.0).wet   # 1 m up at 30 degrees is 2 m of dry line
    8.000
    >>> hung_from_tip(0.0, 0.5235987755982988, 1.9, 1.0) is None
    True
    """
    if tip <= 0:
        whole = hung(bend_per_m, line_angle, line_out)
        return Hung(whole.depth - tip, whole.behind, line_out, whole.angle_at_surface)
    at_bait = 1 / tan(line_angle)
    short = line_out**2 - tip**2 * (1 + at_bait**2)
    if short <= 0:
        return None
    square, middle = 1 - (tip * bend_per_m) ** 2, line_out + tip**2 * bend_per_m * at_bait
    wet = short / (middle + sqrt(middle**2 - square * short))
    return hung(bend_per_m, line_angle, wet)
