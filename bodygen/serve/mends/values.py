"""Values that a key may take in a way, the nearest to what is written first, as a rule or a set of drills has them."""

from collections.abc import Mapping, Sequence
from math import ceil, floor
from typing import Any

from bodygen.recipe.changes import key_of
from bodygen.recipe.readers.bores import drill_sizes
from bodygen.recipe.readers.items import sizes
from bodygen.recipe.text.read_context import QUANTITIES
from bodygen.serve.mends.places import MendWay
from bodygen.tables import load
from bodygen.units import INCH, inch_fraction

Changes = Mapping[str, str | None]
MOST = 1000
"""Values of one key in one direction."""
BY_HALVES_MM = 5.0
"""From there on a length goes by the half millimetre of a depth stop or a rule, below by the field's own step."""
SAME = 1e-6
FIRST_FRACTION_MM = 1.5875
"""The thinnest drill sold by fractions, 1/16 in; thinner ones go by number."""


def values(way: MendWay, fields: Mapping[str, Mapping[str, Any]], units: str) -> list[list[Changes]]:
    """Changes to try, a list for each direction; none where nothing is written that one could go from.

    Parameters
    ----------
    fields : mapping
        Every field of the bench by its key path, as ``answer/fields.py`` tells them.
    units : str
        Of the recipe.
    """
    field = fields.get(way.key)
    if field is None and not way.key.endswith(".drill"):
        return []
    if way.way == "without":
        return [[{way.key: None}]] if field and field["value"] else []
    if way.way == "=":
        return [[{way.key: way.word}]]
    if way.key.endswith(".drill"):
        names = _drills(way, fields, units)
    elif way.way == "other":
        names = [_others(field or {}, fields)]
    else:
        names = [_numbers(field or {}, sign) for sign in _signs(way)]
    beside: dict[str, str | None] = {}
    if way.key.endswith(".drill"):
        diameter = f"{way.key.removesuffix('drill')}diameter"
        beside = {diameter: None} if fields[diameter]["value"] else {}
    return [[{way.key: name, **beside} for name in direction] for direction in names if direction]


def _signs(way: MendWay) -> tuple[int, ...]:
    return {"less": (-1,), "more": (1,)}.get(way.way, (-1, 1))


def _numbers(field: Mapping[str, Any], sign: int) -> list[str]:
    """Numbers beyond what is written, step by step up to the key's bound, as a person writes them."""
    number, key = field["number"], key_of(field["key"])
    if number is None or key is None:
        return []
    unit, step = field["unit"], _step(field)
    low, high = field["low"], field["high"]
    first = floor(number / step + SAME) + 1 if sign > 0 else ceil(number / step - SAME) - 1
    steps = (round((first + sign * k) * step, 9) for k in range(MOST))
    kept = [one for one in steps if (low is None or one >= low - SAME) and (high is None or one <= high + SAME)]
    return [_written(one, unit, step) if key.kind in QUANTITIES else f"{one:g}" for one in kept]


def _step(field: Mapping[str, Any]) -> float:
    """How finely a value goes: as the field's ruler; a larger length as a depth stop is set, an angle by a degree."""
    if field["unit"] == "deg":
        return max(float(field["step"]), 1.0)
    coarse = field["unit"] == "mm" and abs(field["number"]) >= BY_HALVES_MM
    return max(float(field["step"]), float(load("ballast")["steps"]["metric_mm"]) if coarse else 0.0)


def _written(number: float, unit: str, step: float) -> str:
    if unit == "in" and abs(step - 1 / 64) < SAME:
        return f"{inch_fraction(number)} in"
    return f"{number:.6g} {unit}".rstrip()


def _drills(way: MendWay, fields: Mapping[str, Mapping[str, Any]], units: str) -> list[list[str]]:
    """Drills of the recipe's ruler that are thinner, thicker, or both."""
    bore = way.key.removesuffix("drill")
    if f"{bore}diameter" not in fields:
        return []
    named, diameter = fields[f"{bore}drill"]["value"], fields[f"{bore}diameter"]["number"]
    sold = drill_sizes()
    inches = units == "in"
    now = sold.get(named) if named else None if diameter is None else diameter * (float(INCH) if inches else 1.0)
    if now is None:
        return []
    mine = {name: size for name, size in sold.items() if _of_ruler(name, size, inches=inches)}
    thinner = [name for size, name in sorted(((s, n) for n, s in mine.items() if s < now - SAME), reverse=True)]
    thicker = [name for size, name in sorted((s, n) for n, s in mine.items() if s > now + SAME)]
    return {"less": [thinner], "more": [thicker]}.get(way.way, [thinner, thicker])


def _of_ruler(name: str, size: float, *, inches: bool) -> bool:
    """Whether a drill is of the set that a shop of these units has."""
    if not inches:
        usual = load("drills")["metric"]["set_mm"]
        return name.endswith(" mm") and (size in usual or size < min(usual))
    return "/" in name or (name.startswith("#") and size < FIRST_FRACTION_MM)


def _others(field: Mapping[str, Any], fields: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Other names that a key takes, or smaller sizes of hardware, the largest first."""
    thing, _, name = str(field["key"]).rpartition(".")
    if name != "size":
        return [word for word in field["choices"] or () if word != field["value"]]
    sold: Sequence[str] = list(sizes(str(fields[f"{thing}.kind"]["value"])))
    return list(reversed(sold[: sold.index(field["value"])])) if field["value"] in sold else []
