"""What writing a kind of file brings besides the files: findings, the kernel's opinion, lines of the parts list."""

from dataclasses import dataclass

import numpy as np

from bodygen.findings import Finding
from bodygen.mesh.skin import Mesh
from bodygen.shop.printing import default_way, printed_by

LEAST_SUPPORT = 0.02
"""Less of a print than that is a bridge that a slicer may hold up or not."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the parts list: what, of what, how much of it, and roughly how long it takes (empty: not known)."""

    name: str
    material: str
    amount: str
    time: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """``cad_volume`` is the CAD kernel's volume of the wood left [mm^3], where it was asked.

    ``cautions`` are keys of ``tables/cautions.toml`` that what was written calls for.
    """

    findings: tuple[Finding, ...] = ()
    cad_volume: float | None = None
    listed: tuple[Listed, ...] = ()
    cautions: tuple[str, ...] = ()


def as_printed(name: str, mesh: Mesh, material: str = "printed PLA or PETG") -> Listed:
    """A print's line: its box, the plastic that is laid down, and the time that takes in the usual way, as it lies."""
    size = " x ".join(f"{side:.0f}" for side in np.ptp(mesh.vertices, axis=0))
    made = printed_by(mesh, default_way())
    amount = f"{size} mm, {made.plastic:.1f} cm3"
    if made.support >= LEAST_SUPPORT * made.plastic:
        amount += f", {made.support:.1f} of it supports"
    return Listed(name, material, amount, _hours(made.hours))


def _hours(hours: float) -> str:
    return f"{hours:.1f} h" if hours >= 1 else f"{max(1, round(60 * hours))} min"
