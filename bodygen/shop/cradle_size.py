"""What a cradle is made to, from ``tables/jigs.toml``."""

from dataclasses import dataclass

from bodygen.recipe.model import Fit
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class CradleSize:
    """What a cradle is made to; lengths mm, the meanings as in ``tables/jigs.toml``; ``gap`` is the fit's."""

    gap: float
    wall: float
    least_wall: float
    floor: float
    flange: float
    rim_drop: float
    jaw_drop: float
    window: float
    slot_window: float
    screw: float
    screw_head: float
    magnet: tuple[float, float]
    least_cover: float
    rail: tuple[float, float]
    rail_pitch: float
    letter: float
    least_letter: float
    engraved: float


def usual_cradle(fit: Fit = "slide") -> CradleSize:
    """The cradle of ``tables/jigs.toml`` with one of its fits: common practice, no published source."""
    row, fits, print_row, label = (load("jigs")[name] for name in ("cradle", "fit", "print", "label"))
    return CradleSize(
        gap=fits[f"{fit}_mm"],
        wall=row["wall_mm"],
        least_wall=print_row["least_wall_mm"],
        floor=row["floor_mm"],
        flange=row["flange_mm"],
        rim_drop=row["rim_drop_mm"],
        jaw_drop=row["jaw_drop_mm"],
        window=row["window_mm"],
        slot_window=row["slot_window_mm"],
        screw=row["screw_mm"],
        screw_head=row["screw_head_mm"],
        magnet=(row["magnet_mm"][0], row["magnet_mm"][1]),
        least_cover=row["least_cover_mm"],
        rail=(row["rail_mm"][0], row["rail_mm"][1]),
        rail_pitch=row["rail_pitch_mm"],
        letter=label["letter_mm"],
        least_letter=label["least_letter_mm"],
        engraved=label["engraved_mm"],
    )
