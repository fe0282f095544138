"""Words about a limit, with the figures of the tables in their places.

A ``{table.path}`` in such words is one figure of ``tables/``, shown in the unit that its key ends in.
"""

import re
from typing import Any

from bodygen.tables import load
from bodygen.units import INCH, inch_fraction

UNITS = {"_mm_min": "mm/min", "_deg": "deg", "_percent": "%"}


def told(words: str) -> str:
    """Fill words with the figures of the tables that they name.

    >>> told("{limits.wood_left.chin_mm}, or limits.chin")
    '4.7625 mm (3/16 in), or limits.chin'
    """
    return re.sub(r"\{([\w.]+)\}", lambda found: _figure(found[1]), words)


def millimetres(value: float | list[float]) -> str:
    """Show a length [mm], with the fraction of an inch that it is; or several.

    >>> millimetres(1.5875)
    '1.5875 mm (1/16 in)'
    """
    if isinstance(value, list):
        return f"{' x '.join(f'{one:g}' for one in value)} mm"
    steps = value / float(INCH) * 64
    exact = abs(steps - round(steps)) < 1e-6 and steps >= 1
    return f"{value:g} mm{f' ({inch_fraction(steps / 64)} in)' if exact else ''}"


def _figure(path: str) -> str:
    table, *steps = path.split(".")
    value: Any = load(table)
    for step in steps:
        value = value[step]
    if isinstance(value, str):
        return value
    if path.endswith("_mm"):
        return millimetres(value)
    unit = next((unit for end, unit in UNITS.items() if path.endswith(end)), "")
    return f"{' to '.join(f'{one:g}' for one in value) if isinstance(value, list) else f'{value:g}'} {unit}".rstrip()
