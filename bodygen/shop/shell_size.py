"""What a mask's shell and its ears are made to."""

from dataclasses import dataclass

from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class ShellSize:
    """Lengths mm, the meanings as in ``tables/masks.toml``."""

    clearance: float
    thickness: float
    seam: float
    bridge: float
    hold: float
    cap: float
    relief: float
    least_wall: float
    ear_reach: float
    ear_hole: float
    ear_wall: float
    ear_thickness: float


def usual_shell() -> ShellSize:
    """The shell of ``tables/masks.toml``: common practice, no published source."""
    row = load("masks")["shell"]
    return ShellSize(**{name: row[f"{name}_mm"] for name in ShellSize.__slots__})
