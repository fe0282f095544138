"""The water, the shop and what the maker wishes: tables that stand once."""

from dataclasses import dataclass
from typing import Literal

from bodygen.recipe.model.body import Point3

Fit = Literal["press", "slide", "loose"]


@dataclass(frozen=True, slots=True)
class Water:
    """``[water]``: temperature [degC] and absolute salinity [g/kg], or a density that wins [g/cm^3]."""

    temperature: float = 15.0
    salinity: float = 0.0
    density_g_cm3: float | None = None


@dataclass(frozen=True, slots=True)
class LineOut:
    """``[line]``: diameter [mm], length out [m], the pull it breaks at as a weight [g]."""

    diameter: float | None = None
    length_m: float | None = None
    strength: float | None = None


@dataclass(frozen=True, slots=True)
class Retrieve:
    """``[retrieve]``: speed [m/s], rod tip above the water [m]."""

    speed_m_s: float | None = None
    tip_height_m: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """``[limits]``: least wood left, mm. None means the table's value for this wood (``tables/limits.toml``).

    ``bore_to_skin`` and ``bore_to_slot`` are for every kind of bore that has no limit of its own.
    """

    bore_to_skin: float | None = None
    bore_to_bore: float | None = None
    ballast_to_back: float | None = None
    bore_to_slot: float | None = None
    chin: float | None = None
    hanger_to_skin: float | None = None
    hanger_to_slot: float | None = None
    eye_to_slot: float | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """``[shop]``: the printer, cutters and boards at hand; None: the usual of ``tables/``.

    ``printer_bed`` along x, y and up [mm]; ``fit`` of cradles on the body; ``follower_allowance``: how much larger all
    round a second master is [mm]; ``shrink_percent`` of what is cast in the mould. ``stock_thickness`` of the board to
    carve from, ``scallop``: ridges that finishing leaves [mm]; ``roughing``, ``finishing``, ``profile_cutter``: rows of
    ``tables/cutters.toml``. ``spindle_speeds`` that the router's dial has [1/min], ``fastest_feed`` and
    ``fastest_plunge`` [mm/min], ``clamp_height`` above the stock [mm]. ``bush``: outer diameter of the guide bush or
    bearing that runs along a router template, ``cutter``: of the cutter in it [mm].
    """

    printer_bed: Point3 | None = None
    fit: Fit | None = None
    follower_allowance: float | None = None
    shrink_percent: float | None = None
    stock_thickness: float | None = None
    roughing: str | None = None
    finishing: str | None = None
    profile_cutter: str | None = None
    scallop: float | None = None
    spindle_speeds: tuple[float, ...] = ()
    fastest_feed: float | None = None
    fastest_plunge: float | None = None
    clamp_height: float | None = None
    bush: float | None = None
    cutter: float | None = None


@dataclass(frozen=True, slots=True)
class Waterline:
    """Where the water should stand: ``height`` z on the body at the station ``x`` in the mid-plane [mm]."""

    x: float
    height: float


@dataclass(frozen=True, slots=True)
class Goal:
    """``[goal]``: how the maker wants it to lie, and with what it may be ballasted.

    ``state`` (key ``float``) is what it is meant to be. At most one of ``reserve`` (water displaced wholly under, less
    the weight [g]), ``suspends_at`` [degC], ``sinks_at`` and ``rises_at`` [m/s]. ``pitch``: nose up positive, at rest
    [rad].
    ``bores``: the recipe's own ballast bores, one in a place to be found, or one in front and one behind; None: as can
    be done with what is given. ``metal``: this row and no other. ``drills`` [mm]: these and no others.
    """

    state: Literal["floats", "suspends", "sinks"] | None = None
    reserve: float | None = None
    suspends_at: float | None = None
    sinks_at: float | None = None
    rises_at: float | None = None
    pitch: float | None = None
    waterline: Waterline | None = None
    bores: Literal["given", "one", "two"] | None = None
    metal: str | None = None
    drills: tuple[float, ...] = ()
