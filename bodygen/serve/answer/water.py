"""The bait in the water, as the page rocks it to rest: how it lies, how heavy and how stiff it is."""

from typing import Any, Literal

from bodygen.assessment import Assessment
from bodygen.dive.ellipsoid import added_mass
from bodygen.flotation.righting import righting_curve
from bodygen.serve.answer.known import Known

ANGLES_DEG = (-60, -40, -25, -15, -8, -4, 0, 4, 8, 15, 25, 40, 60)
N_PER_G = 9.80665e-3
"""Standard gravity [N/g]."""


def water_of(known: Known) -> dict[str, Any]:
    """How it lies and swings; angles [deg], lengths [mm]; the curves of righting arms come with the whole alone.

    ``added_mass``: water carried along over water displaced by an ellipsoid of the body's sizes that moves up and down.
    """
    f, total = known.flotation, known.total
    at = f.attitude
    length, depth, thickness = known.shaped.sizes
    return {
        "state": f.state,
        "up": list(at.up),
        "level_mm": at.water_height,
        "centre_of_mass": total.centre_of_mass.tolist(),
        "centre_of_buoyancy": list(at.centre_of_buoyancy),
        "mass_g": total.mass,
        "inertia_g_mm2": total.inertia.tolist(),
        "added_mass": added_mass(length / 2, thickness / 2, depth / 2)[1],
        "gm_mm": at.gm_mm,
        "gml_mm": at.gml_mm,
        "righting": _arms(known) if isinstance(known, Assessment) else None,
        "heave_n_per_mm": at.waterplane_cm2 * 0.1 * f.water_g_cm3 * N_PER_G,
        "water_g_cm3": f.water_g_cm3,
    }


def _arms(known: Assessment) -> dict[str, list[list[float]]]:
    """Righting arms [mm] over angles from rest [deg]: the moment over the weight that the water carries."""
    f = known.flotation
    carried = f.attitude.submerged_cm3 * f.water_g_cm3 * N_PER_G
    curves: dict[str, list[list[float]]] = {}
    abouts: tuple[Literal["roll"], Literal["pitch"]] = ("roll", "pitch")
    for about in abouts:
        curve = righting_curve(
            known.hull,
            f.attitude,
            known.total.centre_of_mass,
            f.water_g_cm3,
            about,
            ANGLES_DEG,
        )
        curves[about] = [[float(d), m / carried] for d, m in zip(ANGLES_DEG, curve.moments_n_mm, strict=True)]
    return curves
