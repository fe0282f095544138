"""All that the dive estimate is given about a bait, and nothing else: whoever has it can repeat the answer by hand."""

from dataclasses import dataclass

Place = tuple[float, float]
"""x aft from the nose and z up from the parting line, in the mid-plane [mm]."""


@dataclass(frozen=True, slots=True)
class DiveInputs:
    """One bait, wholly under and rigged, under the names that JSON has for each: the unit ends the name.

    ``lip_angle_deg`` is below the body's axis, forward; ``lip_length_mm`` runs from ``slot_mm`` to the tip,
    ``lip_centroid_from_tip_mm`` from the tip back to the centroid of the exposed area. ``eta_lip`` is what the body
    behind leaves of a free plate's force [-]. ``displaced_cm3`` is of everything, ``body_volume_cm3`` of the body
    without its lip. ``plan_area_mm2`` is the body's seen from above, its centroid ``cross_at_mm``. ``munk_factor``
    scales the couple that turns a hull broadside [-]. Each hook: x, z [mm] of the eye it hangs from, and its drag over
    dynamic pressure [mm^2].
    """

    water_kg_m3: float
    tie_mm: Place
    slot_mm: Place
    lip_angle_deg: float
    lip_length_mm: float
    lip_width_mm: float
    lip_area_mm2: float
    lip_centroid_from_tip_mm: float
    eta_lip: float
    mass_g: float
    displaced_cm3: float
    centre_of_mass_mm: Place
    centre_of_buoyancy_mm: Place
    frontal_area_mm2: float
    cd_body: float
    plan_area_mm2: float
    c_cross: float
    cross_at_mm: Place
    body_volume_cm3: float
    munk_factor: float
    hooks_x_z_cda_mm_mm_mm2: tuple[tuple[float, float, float], ...] = ()

    @property
    def lip_aspect(self) -> float:
        """Greatest width of the lip squared over its exposed area [-].

        Elementary.

        Examples
        --------
        >>> DiveInputs(1000.0, (0, 0), (6, -8), 60.0, 22.0, 18.0, 324.0, 11.0, 0.75, 10.0, 12.0, (30, -4), (30, 1),
        ...            300.0, 0.3, 900.0, 0.7, (33, 0), 11.0, 0.35).lip_aspect
        1.0
        """
        return self.lip_width_mm**2 / self.lip_area_mm2
