"""How a finish dries: hours to touch, to recoat, to sand, to wet, at the bench's temperature and humidity.

Knows ``finishes.toml``. Knows no calendar and no other coat.
"""

from dataclasses import dataclass
from math import exp
from typing import Any, Literal

from bodygen import tables

Figure = Literal["likely", "slowest"]


@dataclass(frozen=True, slots=True)
class Air:
    """What the coats dry in: temperature [degC] and relative humidity [%]."""

    temperature: float = 20.0
    humidity: float = 50.0


@dataclass(frozen=True, slots=True)
class Drying:
    """Hours after a coat went on [h].

    ``recoat_max``: from then on it must be scuffed before the next; None where each coat melts into the last.
    ``dry``: the next finish may go over it as it is. ``water``: it may go into the water; None: never uncoated.
    """

    touch: float
    recoat_min: float
    recoat_max: float | None
    dry: float
    sand: float
    water: float | None
    full: float


def drying(finish: str, air: Air, thicker: float = 1.0, figure: Figure = "likely") -> Drying:
    """How a product class dries [h].

    The likely hours of the table hold from 20 to 23 degC at 40 to 60 % humidity. Outside of that: what cures by
    reaction takes twice as long for every 10 degC colder; what takes its water from the air takes at least as much
    longer as the air is drier; what evaporates has no such rule, so its slowest hours are taken.

    Parameters
    ----------
    finish : str
        A row of ``finishes.toml``.
    air : Air
        At the bench.
    thicker : float
        A coat's film in usual ones [-]; above 1 it takes so many times as long, where it dries from its surface.
    figure : {"likely", "slowest"}
        Of the table's ranges.

    References
    ----------
    ``cure_ten_degree_page`` and what else ``finishes.toml`` names beside each figure; likely hours are mostly common
    practice, and the tin's own sheet wins.

    Examples
    --------
    >>> drying("two_part_epoxy_slow", Air(10.0, 50.0)).touch   # 12 h at 20 degC
    24.0
    """
    row = tables.load("finishes")["finish"][finish]
    damp = tables.load("finishes")["humidity"]
    factor = _slower(finish, air)
    if finish not in damp["not_from_the_surface"]:
        factor *= max(thicker, 1.0)
    late = figure == "slowest" or _evaporates_badly(finish, air)

    def hours(key: str) -> float:
        return float(row[key][2 if late else 1]) * factor

    return Drying(
        touch=hours("touch_h"),
        recoat_min=hours("recoat_min_h"),
        recoat_max=None if row["recoat_max_h"] == "none" else float(row["recoat_max_h"][1]) * factor,
        dry=hours("before_clear_h" if "before_clear_h" in row else "sand_h"),
        sand=hours("sand_h"),
        water=None if isinstance(row["water_h"], str) else hours("water_h"),
        full=hours("full_h"),
    )


def _slower(finish: str, air: Air) -> float:
    """How many times as long as in the table's own air [-]."""
    warm = tables.load("finishes")["temperature"]
    if finish not in warm["holds_for"]:
        return 1.0
    coldest, warmest = warm["usual_c"]
    off = max(coldest - air.temperature, 0.0) - max(air.temperature - warmest, 0.0)
    slower: float = 2.0 ** (float(off) / float(warm["doubles_every_c"]))
    if finish != "moisture_cure_urethane":
        return slower
    # vapour or reaction, whichever holds it up: the two are not multiplied
    usual = float(tables.load("finishes")["humidity"]["usual_percent"])
    at = min(max(air.temperature, float(coldest)), float(warmest))
    return max(slower, vapour_hpa(Air(at, usual)) / max(vapour_hpa(air), 1e-9))


def vapour_hpa(air: Air) -> float:
    """Pressure of the water vapour in the air [hPa].

    References
    ----------
    ``wmo_8``, annex 4.B, from memory.

    Examples
    --------
    >>> vapour_hpa(Air(20.0, 100.0))
    23.326
    """
    row = tables.load("finishes")["humidity"]["saturation"]
    saturated = row["a_hpa"] * exp(row["b"] * air.temperature / (row["c_degc"] + air.temperature))
    return float(saturated * air.humidity / 100)


def _evaporates_badly(finish: str, air: Air) -> bool:
    """Whether the air holds up what dries by evaporation: colder than usual, or not as damp as is best."""
    table = tables.load("finishes")
    low, high = table["humidity"]["best_rh"]
    bad = air.temperature < table["temperature"]["usual_c"][0] or air.humidity > high
    if finish == "cyanoacrylate":  # it sets by the air's moisture
        bad = not low <= air.humidity <= high
    return finish in table["temperature"]["evaporates"] and bad


def class_named(finish: str | None, dries_as: str | None) -> str | None:
    """Row of ``finishes.toml`` for a coat: as it says itself, else the first that has its finish; None: nobody knows.

    Elementary: a look-up.

    Examples
    --------
    >>> class_named("two_part_epoxy", None), class_named("two_part_epoxy", "two_part_epoxy_fast")
    ('two_part_epoxy_slow', 'two_part_epoxy_fast')
    """
    rows: dict[str, dict[str, Any]] = tables.load("finishes")["finish"]
    return dries_as or next((name for name, row in rows.items() if finish in row["coat"]), None)
