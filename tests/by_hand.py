"""Attitude and depth by the method's own words, one force after another: shares no line with ``bodygen.dive``.

Turns are complex numbers in earth axes (aft + i up); the root is scipy's. For whoever has the inputs that JSON tells.
"""

import cmath
from math import asin, asinh, atan, atan2, cos, exp, hypot, log, pi, radians, sin, sqrt, tan

from scipy.optimize import brentq


def coefficient(aspect, angle):
    """Of a plate: attached and separated flow, and how much of each."""
    a, broad = abs(angle), max(aspect, 1.0)
    attached = 2 * pi * aspect / (2 + sqrt(aspect**2 + 4)) * sin(a) * cos(a) + 2.6 * broad**-0.75 * sin(a) ** 2
    separated = 1.17 * 2 * sin(a) / (1 + sin(a) ** 2)
    w = 1 / (1 + exp(-(a - radians(42) * broad**-0.87) / radians(3)))
    return (1 if angle >= 0 else -1) * ((1 - w) * attached + w * separated)


def acting(d, speed, theta):
    """Every force as (place in the body, force in earth axes), both complex [m, N], and the couple [N m]."""
    q = d["water_kg_m3"] * speed**2 / 2
    flow_side = cmath.exp(1j * -theta)  # body x in earth axes: nose up is the nose lifted, so x falls aft
    alpha = radians(d["lip_angle_deg"]) - theta
    size = d["lip_length_mm"]
    tip = d["lip_centroid_from_tip_mm"] + (0.3 * abs(sin(alpha)) - 0.3) * size
    way = -cmath.exp(1j * radians(d["lip_angle_deg"]))  # from the slot to the tip, in the body
    area = d["lip_area_mm2"] * 1e-6
    n = d["eta_lip"] * q * area * coefficient(d["lip_width_mm"] ** 2 / d["lip_area_mm2"], alpha)
    lip = (complex(*d["slot_mm"]) + (size - tip) * way, n * (sin(alpha) - 1j * cos(alpha)))
    across = q * d["plan_area_mm2"] * 1e-6 * d["c_cross"] * sin(theta) * abs(sin(theta))
    middle = complex(*d["cross_at_mm"])
    forces = [
        lip,
        (middle, q * d["frontal_area_mm2"] * 1e-6 * d["cd_body"]),
        (middle, across * 1j * flow_side),
        (complex(*d["centre_of_mass_mm"]), -1j * d["mass_g"] * 1e-3 * 9.80665),
        (complex(*d["centre_of_buoyancy_mm"]), 1j * d["water_kg_m3"] * 9.80665 * d["displaced_cm3"] * 1e-6),
        *((complex(x, z), q * size_mm2 * 1e-6) for x, z, size_mm2 in d["hooks_x_z_cda_mm_mm_mm2"]),
    ]
    return forces, q * d["body_volume_cm3"] * 1e-6 * d["munk_factor"] * sin(2 * theta)


def moment(d, speed, theta):
    """About the tie, nose up positive [N m]."""
    forces, couple = acting(d, speed, theta)
    tie, turned = complex(*d["tie_mm"]), cmath.exp(-1j * theta)
    arms = ((at - tie) * 1e-3 * turned for at, _ in forces)
    return couple + sum(
        r.imag * f.real - r.real * f.imag for r, (_, f) in zip(arms, map(_complex, forces), strict=True)
    )


def _complex(pair):
    return pair[0], complex(pair[1])


def settled(d, speed, start):
    """Pitch [rad] and pull [N] that it comes to from ``start``; None where it comes to none from -80 to 60 deg."""
    start = min(max(start, radians(-80)), radians(60))
    step = radians(0.5) if moment(d, speed, start) >= 0 else -radians(0.5)
    theta = start
    while radians(-80) <= theta + step <= radians(60):
        if moment(d, speed, theta) * moment(d, speed, theta + step) <= 0:
            root = brentq(lambda t: moment(d, speed, t), theta, theta + step, xtol=1e-12)
            total = sum(complex(force) for _, force in acting(d, speed, root)[0])
            return root, hypot(total.real, total.imag), atan2(-total.imag, total.real)
        theta += step
    return None


def towed(pull, line_angle, line):
    """Depth [m] of a bait on a towed line: the dry part straight, the wet part found by halving."""
    bend = line["water"] * line["diameter"] * 1.5 * line["speed"] ** 2 / (2 * pull)
    at_bait = 1 / tan(line_angle)

    def out(wet):
        return wet + line["tip"] * sqrt(1 + (at_bait + bend * wet) ** 2)

    low, high = 0.0, line["out"]
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if out(middle) < line["out"] else (low, middle)
    return (asinh(at_bait + bend * low) - asinh(at_bait)) / bend


def drawn_home(pull, line_angle, line):
    """Depth [m] of a cast that is drawn home: what it would be without line drag, of which the fit leaves a share."""
    k, b, tip = tan(line_angle), pull * cos(line_angle) / line["speed"] ** 2, line["tip"] / line["out"]
    drag = line["water"] * line["diameter"] * 1.5 * line["out"] / (2 * b)
    start, dip = asin(tip), atan(k)
    free = line["out"] * exp((start - dip) / k) * sin(dip) - line["tip"]
    taken = -2.305 + 0.946 * log(drag) + 0.340 * log(k) - 0.2365 * log(k) ** 2
    taken += (1.298 + 0.102 * log(drag)) * tip / k
    taken += 0.243 * max(0, log(0.2 / k)) + (6.48 - 38.85 * tip / k) * max(0, tip - 0.067)  # weak baits, steep lines
    return free / (1 + exp(taken))
