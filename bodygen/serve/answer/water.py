"""The bait in the water, as the page rocks it to rest: how it lies, how heavy and stiff it is, how its swings die."""

from itertools import chain
from typing import Any, Literal

from bodygen.assessment import Assessment
from bodygen.dive.ellipsoid import added_inertia, added_mass
from bodygen.flotation.righting import righting_curve
from bodygen.serve.answer.known import Known
from bodygen.tables import load

HALF_DEG = (4, 10, 22, 45, 90, 180)
ANGLES_DEG = tuple(chain((-one for one in reversed(HALF_DEG)), (0,), HALF_DEG))
MOTIONS = ("heave", "roll", "pitch")


def water_of(known: Known) -> dict[str, Any]:
    """How it lies and swings; angles [deg], lengths [mm], moments [N mm]; the curves come with the whole alone.

    ``damping``: of each motion a share of the critical one. ``added_mass``: see ``_carried``.
    """
    f, total = known.flotation, known.total
    at = f.attitude
    facts = load("flotation")
    n_per_g = facts["gravity"]["standard_m_s2"] / 1000
    return {
        "state": f.state,
        "up": list(at.up),
        "level_mm": at.water_height,
        "centre_of_mass": total.centre_of_mass.tolist(),
        "centre_of_buoyancy": list(at.centre_of_buoyancy),
        "mass_g": total.mass,
        "inertia_g_mm2": total.inertia.tolist(),
        "added_mass": _carried(known),
        "damping": {name: facts["rocking"][f"{name}_damping_share"] for name in MOTIONS},
        "gm_mm": at.gm_mm,
        "gml_mm": at.gml_mm,
        "righting": _moments(known) if isinstance(known, Assessment) else None,
        "heave_n_per_mm": at.waterplane_cm2 * 0.1 * f.water_g_cm3 * n_per_g,
        "water_g_cm3": f.water_g_cm3,
    }


def _carried(known: Known) -> dict[str, float]:
    """Water that moves along, over the mass or over the inertia about the body's own axes [-].

    That of an ellipsoid of the body's sizes, of as much water as the bait pushes aside: half of one at the surface
    carries half as much as a whole one below.
    """
    f, total = known.flotation, known.total
    length, depth, thickness = known.shaped.sizes
    halves = length / 2, thickness / 2, depth / 2
    aside_g = f.attitude.submerged_cm3 * f.water_g_cm3
    rolling, pitching = added_inertia(*halves)
    return {
        "heave": aside_g * added_mass(*halves)[1] / total.mass,
        "roll": aside_g * rolling / float(total.inertia[0, 0]),
        "pitch": aside_g * pitching / float(total.inertia[1, 1]),
    }


def _moments(known: Assessment) -> dict[str, list[list[float]]]:
    """What turns it back [N mm] at angles from rest [deg]."""
    f = known.flotation
    curves: dict[str, list[list[float]]] = {}
    abouts: tuple[Literal["roll"], Literal["pitch"]] = ("roll", "pitch")
    for about in abouts:
        curve = righting_curve(known.hull, f.attitude, known.total.centre_of_mass, f.water_g_cm3, about, ANGLES_DEG)
        curves[about] = [[float(d), m] for d, m in zip(ANGLES_DEG, curve.moments_n_mm, strict=True)]
    return curves
