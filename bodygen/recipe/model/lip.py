"""The lip: its plate, its slot and how it is cut."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Mouth:
    """A mouth cut above the slot so that the slot lies in its floor: height and depth along the slot [mm]."""

    height: float
    depth: float


@dataclass(frozen=True, slots=True)
class TieHole:
    """A hole in the plate on its middle line: diameter, and distance from the slot's mouth [mm]."""

    diameter: float
    distance: float


@dataclass(frozen=True, slots=True)
class Cutting:
    """How lips are cut.

    ``kerf`` is the full width of the cut for laser and saw, the cutter's diameter for a router [mm]; ``quantity`` lips
    nested on a sheet of ``sheet_size`` (width, height) with ``gap`` between parts and to the edge [mm], or inside the
    corners ``offcut`` of a left-over piece [mm] where there are any. ``tabs`` places on each lip are marked where it
    may stay joined to the sheet over ``tab_width`` [mm]; None: what is usual for the process.
    """

    process: Literal["laser", "router", "hand"] = "hand"
    kerf: float = 0.0
    quantity: int = 1
    sheet_size: tuple[float, float] = (300.0, 200.0)
    gap: float = 3.0
    offcut: tuple[tuple[float, float], ...] = ()
    tabs: int = 0
    tab_width: float | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend right across the plate: distance from the slot's mouth [mm], and angle of the tip, down positive [rad]."""

    distance: float
    angle: float


@dataclass(frozen=True, slots=True)
class Lip:
    """``[lip]``: the plate and its slot.

    The slot's middle plane meets the profile at ``x`` on the belly (entry "belly") or at ``height`` on the nose (entry
    "nose"); ``angle`` is measured from straight ahead downwards [rad]: 0 lies along the axis, pi/2 hangs straight down.
    ``thickness`` is the sheet's measured thickness; the slot is ``thickness + fit`` wide [mm]. ``slot_depth`` runs
    along the plate from the skin; ``slot_width`` None cuts right across the body. ``length`` is the exposed length from
    the slot's mouth to the tip, ``width`` the greatest width [mm]. ``outline`` names a family or is "points", then
    ``points`` are (distance from the mouth, half width) [mm]. ``tongue_width`` None: the slot's width, or as wide as
    the body is there. ``mass`` is the cut plate on the maker's own scale and wins over sheet and size [g].
    """

    sheet: str
    thickness: float
    angle: float
    slot_depth: float
    length: float
    width: float
    x: float | None = None
    height: float = 0.0
    entry: Literal["belly", "nose"] = "belly"
    fit: float = 0.1
    slot_width: float | None = None
    mouth: Mouth | None = None
    outline: str = "shovel"
    points: tuple[tuple[float, float], ...] = ()
    corner_radius: float = 1.0
    tongue_width: float | None = None
    tie_hole: TieHole | None = None
    cutting: Cutting = Cutting()
    mass: float | None = None
    bend: Bend | None = None
