"""``properties.json`` from an assessment, as DEVELOPERS.md promises it. Only units and rounding are worked out here."""

import json
from typing import Any

import numpy as np

from bodygen.assessment import Assessment, answer_of
from bodygen.flotation.equilibrium import Attitude
from bodygen.form.integrals import VolumeIntegrals
from bodygen.report.blocks import ballast_block, goal_block
from bodygen.report.calendar import calendar_block
from bodygen.report.dive import dive_block
from bodygen.report.wire import hangers_block, wires_block
from bodygen.version import VERSION

FORMAT = 1
DIGITS = 9
"""Significant digits written: more than any figure here deserves, few enough to hide the last bit's noise."""


def properties(assessment: Assessment, cad_mm3: float | None = None) -> dict[str, Any]:
    """Every figure of an assessment under the names of ``properties.json``, which DEVELOPERS.md lists.

    Parameters
    ----------
    assessment : Assessment
    cad_mm3 : float, optional
        The CAD kernel's own volume of the wood left [mm^3]: adds ``cad``, with how far apart the two are.

    Returns
    -------
    dict
        A key that carries a unit ends in it. Values are floats, texts, arrays and None; ``as_json`` writes them down.
    """
    a = assessment
    ballast = ballast_block(answer_of(a), a.spread) if a.spread else None
    goal = goal_block(answer_of(a))
    left = a.measured.wood_left
    document: dict[str, Any] = {
        "format": FORMAT,
        "name": a.recipe.name,
        "bodygen_version": VERSION,
        "recipe_sha256": a.recipe.sha256,
        "body": _body(a),
        "items": [
            {
                "name": item.name,
                "stage": item.stage,
                "mass_g": item.mass,
                "at_mm": item.at,
                "displaces_cm3": item.displaces / 1000,
                "displaces_at_mm": item.displaces_at,
                "basis": item.basis,
            }
            for item in a.weighed.items
        ],
        "stages": [
            {
                "name": stage.name,
                "mass_g": stage.mass,
                "centre_of_mass_mm": stage.centre_of_mass,
                "tolerance_g": stage.tolerance,
                "tolerance_basis": stage.ground,
            }
            for stage in a.weighed.stages
        ],
        "total": {
            "mass_g": a.total.mass,
            "displaced_cm3": a.total.displaced / 1000,
            "centre_of_mass_mm": a.total.centre_of_mass,
            "centre_of_buoyancy_mm": a.total.centre_of_buoyancy,
            "inertia_g_mm2": a.total.inertia,
        },
        "float": {
            "water_g_cm3": a.flotation.water_g_cm3,
            "state": a.flotation.state,
            "reserve_g": a.flotation.reserve_g,
            **_attitude(a.flotation.attitude),
            "others": [_attitude(other) for other in a.flotation.others],
        },
        **({"ballast": ballast} if ballast else {}),
        **({"goal": goal} if goal else {}),
        **({"dive": dive_block(a.dive)} if a.dive else {}),
        **({"calendar": calendar_block(a.calendar)} if a.calendar else {}),
        **{name: rows for name, rows in (("wires", wires_block(a)), ("hangers", hangers_block(a))) if rows},
        "findings": [finding.document(a.recipe.units) for finding in a.findings],
    }
    if cad_mm3 is not None:
        document["cad"] = {"volume_cm3": cad_mm3 / 1000, "difference_percent": difference_percent(cad_mm3, left)}
    return document


def _body(a: Assessment) -> dict[str, Any]:
    """The body before and after its cuts, and the wood that is left."""
    length, depth, thickness = a.shaped.sizes
    left, wood = a.measured.wood_left, a.weighed.density.g_cm3
    return {
        "length_mm": length,
        "depth_mm": depth,
        "thickness_mm": thickness,
        "volume_cm3": a.shaped.volume.volume / 1000,
        "wetted_area_cm2": a.shaped.skin.area / 100,
        "centroid_mm": a.shaped.volume.centroid,
        "cut_volume_cm3": left.volume / 1000,
        "wood_density_g_cm3": wood,
        "wood_density_basis": a.weighed.density.basis,
        "mass_g": wood * left.volume / 1000,
        "centre_of_mass_mm": left.centroid,
        "inertia_g_mm2": left.inertia * wood / 1000,
    }


def difference_percent(cad_mm3: float, left: VolumeIntegrals) -> float:
    """How far the kernel's volume is from ours [%]."""
    return 100 * (cad_mm3 / left.volume - 1)


def _attitude(attitude: Attitude) -> dict[str, Any]:
    names = ("pitch_deg", "roll_deg", "freeboard_mm", "gm_mm", "gml_mm", "waterplane_cm2", "submerged_cm3", "stable")
    return {name: getattr(attitude, name) for name in names}


def as_json(document: dict[str, Any]) -> str:
    """One JSON text, the same for the same figures: keys in the promised order, nine significant digits."""
    return json.dumps(plain(document), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def plain(value: Any) -> Any:  # noqa: ANN401  JSON's own types are any
    """The same in JSON's own types, nine significant digits."""
    if isinstance(value, dict):
        return {key: plain(entry) for key, entry in value.items()}
    if isinstance(value, np.ndarray | list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, float | np.floating):
        return float(f"{float(value):.{DIGITS}g}") + 0.0
    return value
