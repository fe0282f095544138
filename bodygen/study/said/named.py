"""What a figure is called and what it is measured in, by its path in ``properties.json``; numbers to read."""

import re
from math import floor, log10

UNITS = {
    "_g_cm3": "g/cm3", "_g_mm2": "g mm2", "_m_s": "m/s", "_mm": "mm", "_cm2": "cm2", "_cm3": "cm3", "_deg": "deg",
    "_percent": "%", "_mm2": "mm2", "_mm3": "mm3", "_holds_n": "N", "_n": "N", "_g": "g", "_c": "degC", "_m": "m",
    "_h": "h",
}  # fmt: skip
"""Units by the end of a name, the longer ends first."""


def label_and_unit(path: str) -> tuple[str, str]:
    """Name a figure in words, and its unit ("": it has none).

    >>> label_and_unit("float.reserve_g"), label_and_unit("dive.depth_m.likely"), label_and_unit("float.stable")
    (('float reserve', 'g'), ('dive depth likely', 'm'), ('float stable', ''))
    >>> label_and_unit("body.centroid_mm[1]")
    ('body centroid[1]', 'mm')
    """
    words, unit = [], ""
    for part in path.split("."):
        name = re.sub(r"(\[\d+\])+$", "", part)
        end = next((end for end in UNITS if name.endswith(end)), "")
        unit = UNITS[end] if end else unit
        words.append(name.removesuffix(end).replace("_", " ") + part.removeprefix(name))
    return " ".join(words), unit


def number_text(value: float, spread: float = 0.0) -> str:
    """A number to three figures; of numbers that differ by ``spread`` so many that they do.

    >>> number_text(13.4567), number_text(0.004321), number_text(1013.2, spread=2.0), number_text(-0.0)
    ('13.5', '0.00432', '1013.2', '0')
    """
    size = max(abs(value), 1e-12)
    digits = 2 - floor(log10(size))
    if spread > 0:
        digits = max(digits, 1 - floor(log10(spread)))
    text = f"{round(value, digits):.{max(digits, 0)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def with_unit(value: float, unit: str, spread: float = 0.0) -> str:
    """A number and its unit.

    >>> with_unit(2.6, "g")
    '2.6 g'
    """
    return f"{number_text(value, spread)} {unit}".rstrip()
