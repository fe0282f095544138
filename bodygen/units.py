"""Rulers and scales: what people write ("2-3/4 in", "0.5 oz", "52 degF") to mm, g, rad, degC and back.

Knows units and exact fractions. Knows nothing of recipes: which lengths are sensible is for the reader to say.
Every value passes through ``fractions.Fraction``, so 3/8 in is exactly 9.525 mm and rounding happens once, at the end.
"""

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal, TypeGuard

from bodygen.errors import did_you_mean, quoted

Quantity = Literal["length", "mass", "angle", "temperature", "speed", "density", "percent"]

INCH = Fraction(254, 10)  # mm, exact since 1959 (NIST Handbook 44, appendix C)
POUND = Fraction(45359237, 100000)  # g, exact (same source)
MM_PER_M, MM2_PER_M2, CM3_PER_M3, G_PER_KG = 1e3, 1e6, 1e6, 1e3
FT_PER_M = MM_PER_M / float(12 * INCH)
LONGEST_NUMBER = 40  # characters; nobody's ruler says more, and an exponent of a million would fill the memory


class UnitError(ValueError):
    """A written quantity that cannot be read: ``problem`` says why, ``accepted`` what would do."""

    def __init__(self, problem: str, accepted: str) -> None:
        super().__init__(f"{problem} {accepted}")
        self.problem = problem
        self.accepted = accepted


@dataclass(frozen=True, slots=True)
class Unit:
    """``scale`` and ``zero`` take a number to the base unit: base = (number + zero) * scale [-]."""

    scale: Fraction
    zero: Fraction = Fraction(0)


def _named(scales: dict[str, Fraction]) -> dict[str, Unit]:
    """One entry for each of the space-separated names of a unit."""
    return {name: Unit(scale) for names, scale in scales.items() for name in names.split()}


_ONE = Fraction(1)
_FAHRENHEIT = Unit(Fraction(5, 9), Fraction(-32))
_FOOT = INCH * 12
_PER_CUBIC_FOOT = POUND / (_FOOT / 10) ** 3  # g/cm3

# Each to its base unit: mm, g, deg, degC, m/s, g/cm3, %.
UNITS: dict[Quantity, dict[str, Unit]] = {
    "length": _named({
        "mm": _ONE, "cm": Fraction(10), "m": Fraction(1000), "um micron": Fraction(1, 1000),
        'in inch inches "': INCH, "mil thou": INCH / 1000, "ft foot feet": _FOOT, "yd": _FOOT * 3,
    }),
    "mass": _named({
        "g": _ONE, "mg": Fraction(1, 1000), "kg": Fraction(1000),
        "oz": POUND / 16, "lb": POUND, "gr grain grains": POUND / 7000,
    }),
    "angle": _named({"deg degrees °": _ONE, "rad": Fraction(math.degrees(1))}),
    "temperature": _named({"degc °c c": _ONE}) | dict.fromkeys(("degf", "°f", "f"), _FAHRENHEIT),
    "speed": _named({
        "m/s": _ONE, "mm/s": _ONE / 1000, "cm/s": _ONE / 100, "in/s ips": INCH / 1000,
        "km/h": Fraction(1000, 3600), "mph": _FOOT * 5280 / 1000 / 3600, "ft/s": _FOOT / 1000,
        "mm/min": Fraction(1, 60000), "cm/min": Fraction(10, 60000), "m/min": Fraction(1, 60),
        'in/min inch/min inches/min "/min ipm': INCH / 60000, "ft/min fpm": _FOOT / 60000,
    }),
    "density": _named({
        "g/cm3 g/cm^3 g/cm³": _ONE, "kg/m3 kg/m^3 kg/m³": Fraction(1, 1000), "lb/ft3 lb/ft^3": _PER_CUBIC_FOOT,
    }),
    "percent": _named({"% percent": _ONE}),
}  # fmt: skip

_ACCEPTED: dict[Quantity, str] = {
    "length": 'a length such as "2-3/4 in", "3/8\\"", "9.5 mm" or "1.2 cm"; a bare number is in {unit}',
    "mass": 'a mass such as "14 g", "0.5 oz" or "150 gr"; a bare number is in {unit}',
    "angle": 'an angle such as "45 deg"; a bare number is in {unit}',
    "temperature": 'a temperature such as "11 degC" or "52 degF"; a bare number is in {unit}',
    "speed": 'a speed such as "1.2 m/s", "4 km/h" or "2.5 mph"; a bare number is in {unit}',
    "density": 'a density such as "0.41 g/cm3", "410 kg/m3" or "26 lb/ft3"; a bare number is in {unit}',
    "percent": 'a percentage such as "12 %"; a bare number is in {unit}',
}
_FEED_ACCEPTED = 'a feed such as "1200 mm/min", "1.2 m/min" or "48 in/min"; a bare number is in {unit}'
_NAMES: dict[Quantity, str] = {quantity: text.split(" such as ")[0] for quantity, text in _ACCEPTED.items()}

_DECIMAL = r"(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,2})?"
_NUMBER = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    rf"|(?P<decimal>{_DECIMAL}))\s*(?P<unit>[^\d\s.,].*)?",
    re.IGNORECASE,
)
_MARKS = str.maketrans({
    "−": "-",
    "–": "-",
    "″": '"',
    "”": '"',
    "µ": "u",
    "μ": "u",
    "º": "°",
    "\u00a0": " ",
    "\u202f": " ",
})


def accepted(quantity: Quantity, default_unit: str) -> str:
    """One line that shows how a quantity may be written; a speed by the minute is a machine's feed."""
    shown = _FEED_ACCEPTED if default_unit.endswith("/min") else _ACCEPTED[quantity]
    return shown.format(unit={"degc": "degC"}.get(default_unit, default_unit))


def fraction(written: object, quantity: Quantity, default_unit: str) -> Fraction:
    """Read a written quantity exactly.

    Parameters
    ----------
    written : object
        Text with or without a unit, or a number (int, float, Decimal, Fraction) in ``default_unit``.
    quantity : str
        What is measured; a unit of another quantity is refused.
    default_unit : str
        The unit of a number without one.

    Returns
    -------
    Fraction
        In the base unit: [mm], [g], [deg], [degC], [m/s], [g/cm^3] or [%].

    Raises
    ------
    UnitError
        Not a finite number, no unit of this quantity, or nothing at all.

    Examples
    --------
    >>> fraction("2-3/4 in", "length", "mm")
    Fraction(1397, 20)
    >>> fraction(".5 oz", "mass", "g") == Fraction(45359237, 3200000)
    True
    """
    if isinstance(written, str):
        return _read(written, quantity, default_unit)
    if isinstance(written, int | float | Decimal | Fraction) and not isinstance(written, bool):
        number = _exact(written, quantity, default_unit)
    else:
        raise _refusal(quantity, default_unit, f"not {_NAMES[quantity]}.")
    known = UNITS[quantity][default_unit]
    return (number + known.zero) * known.scale


@lru_cache(maxsize=2048)  # a table's labels are read for every fitting, and a recipe again at every change
def _read(written: str, quantity: Quantity, default_unit: str) -> Fraction:
    number, unit = _split(written, quantity, default_unit)
    known = UNITS[quantity][unit]
    return (number + known.zero) * known.scale


def length(written: object, default_unit: str = "mm") -> float:
    """Length [mm]; raises ``UnitError``.

    >>> length('3/8"')
    9.525
    """
    return float(fraction(written, "length", default_unit))


def mass(written: object, default_unit: str = "g") -> float:
    """Mass [g]; raises ``UnitError``."""
    return float(fraction(written, "mass", default_unit))


def angle(written: object, default_unit: str = "deg") -> float:
    """Angle [rad]; raises ``UnitError``."""
    return math.radians(float(fraction(written, "angle", default_unit)))


def temperature(written: object, default_unit: str = "degC") -> float:
    """Temperature [degC]; raises ``UnitError``.

    >>> temperature("50 degF")
    10.0
    """
    return float(fraction(written, "temperature", default_unit.lower()))


def speed(written: object, default_unit: str = "m/s") -> float:
    """Speed [m/s]; raises ``UnitError``."""
    return float(fraction(written, "speed", default_unit))


def density(written: object, default_unit: str = "g/cm3") -> float:
    """Density [g/cm^3]; raises ``UnitError``."""
    return float(fraction(written, "density", default_unit))


def percent(written: object) -> float:
    """Percentage [%]; raises ``UnitError``."""
    return float(fraction(written, "percent", "%"))


def in_inches(written: str) -> bool:
    """Whether a length, or a drill's name, is of an inch ruler: it says so, or is a fraction.

    >>> in_inches('3/8'), in_inches("1.5 in"), in_inches("9.5 mm"), in_inches("9.5")
    (True, True, False, False)
    """
    text = _plain(written).lower().rstrip(".")
    return "/" in text or text.startswith("#") or text.endswith(("in", "inch", "inches", '"', "mil", "thou"))


def length_text(millimetres: float, units: str) -> str:
    """Show a length [mm] as the maker's ruler shows it: inches to the nearest 1/64 with the decimal beside it.

    >>> length_text(69.85, "in")
    '2-3/4 in (2.750)'
    >>> length_text(69.85, "mm")
    '69.85 mm'
    >>> length_text(0.15, "in")
    '0.006 in'
    """
    if units == "mm":
        return f"{millimetres + 0.0:.2f} mm"
    inches = millimetres / float(INCH)
    if 0.0005 <= abs(inches) < 1 / 128:  # no mark of a ruler is so near to 0
        return f"{inches:.3f} in"
    return f"{inch_fraction(inches)} in ({inches + 0.0:.3f})"


def is_number(value: object) -> TypeGuard[int | float]:
    """Whether something is a number, and no truth value, which Python counts among them."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def inch_fraction(inches: float) -> str:
    """Nearest 1/64 of a length [in] as a mixed number.

    >>> inch_fraction(2.0157)
    '2-1/64'
    """
    whole, part = divmod(round(abs(inches) * 64), 64)
    sign = "-" if inches < 0 and (whole or part) else ""
    if not part:
        return f"{sign}{whole}"
    nearest = Fraction(part, 64)
    return f"{sign}{whole}-{nearest}" if whole else f"{sign}{nearest}"


def mass_text(grams: float, units: str) -> str:
    """Show a mass [g], with ounces beside it for who works in inches.

    >>> mass_text(14.0, "in")
    '14.00 g (0.494 oz)'
    """
    return " ".join(mass_texts(grams, units))


def mass_texts(grams: float, units: str) -> tuple[str, ...]:
    """Show a mass [g] in one line for each unit.

    >>> mass_texts(14.0, "in")
    ('14.00 g', '(0.494 oz)')
    """
    first = f"{grams:.2f} g"
    return (first,) if units == "mm" else (first, f"({grams / float(POUND / 16):.3f} oz)")


def angle_text(radians: float) -> str:
    """Show an angle [rad] in degrees.

    >>> angle_text(math.pi / 4)
    '45.0 deg'
    """
    return f"{math.degrees(radians) + 0.0:.1f} deg"


def temperature_text(celsius: float, units: str) -> str:
    """Show a temperature [degC], in degrees Fahrenheit first for who works in inches.

    >>> temperature_text(10.0, "in")
    '50.0 degF (10.0 degC)'
    """
    return f"{celsius:.1f} degC" if units == "mm" else f"{celsius * 1.8 + 32:.1f} degF ({celsius:.1f} degC)"


def _refusal(quantity: Quantity, default_unit: str, problem: str) -> UnitError:
    return UnitError(problem, accepted(quantity, default_unit))


def _split(written: str, quantity: Quantity, default_unit: str) -> tuple[Fraction, str]:
    """Split a text into its number and the known unit's name."""
    text = _plain(written)
    if not text:
        raise _refusal(quantity, default_unit, "empty.")
    if re.fullmatch(r"[+-]?(nan|inf(inity)?)\b.*", text, re.IGNORECASE):
        raise _refusal(quantity, default_unit, "not a finite number.")
    if re.search(r"\d,\d", text):
        raise _refusal(quantity, default_unit, "a comma in a number; write a decimal point.")
    match = _NUMBER.fullmatch(text)
    if match is None or len(text) > LONGEST_NUMBER:
        raise _refusal(quantity, default_unit, f"not {_NAMES[quantity]}.")
    if match["decimal"]:
        number = Fraction(match["decimal"])
    elif int(match["bottom"]) == 0:
        raise _refusal(quantity, default_unit, "a fraction with 0 below the line.")
    else:
        number = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    unit = (match["unit"] or "").strip()
    return (-number if match["sign"] == "-" else number), _known(unit or default_unit, quantity, default_unit)


def _plain(written: str) -> str:
    """Typographic marks as a keyboard writes them, and a half or eighth in one character as three."""
    text = written.strip().translate(_MARKS)
    if text.isascii():
        return text
    for mark in {c for c in text if unicodedata.name(c, "").startswith("VULGAR FRACTION")}:
        text = text.replace(mark, " " + unicodedata.normalize("NFKC", mark).replace("⁄", "/"))
    return text.strip()


def _known(unit: str, quantity: Quantity, default_unit: str) -> str:
    """Find the unit's name in the table, or refuse and name what was meant."""
    name = re.sub(r"\s*/\s*", "/", unit.rstrip(".").lower()) if unit not in UNITS[quantity] else unit
    if name in UNITS[quantity]:
        return name
    for other, units in UNITS.items():
        if name in units:
            raise _refusal(quantity, default_unit, f"{_NAMES[other]} where {_NAMES[quantity]} belongs.")
    hint = did_you_mean(name, UNITS[quantity], quoted, nearness=0.5)
    raise _refusal(quantity, default_unit, f'"{unit}" is no unit for {_NAMES[quantity]}.{hint}')


def _exact(number: float | Decimal | Fraction, quantity: Quantity, default_unit: str) -> Fraction:
    """Take a bare number without rounding; a float stands for the shortest decimal that reads back as it."""
    if isinstance(number, Fraction):
        return number
    decimal = Decimal(repr(number)) if isinstance(number, float) else Decimal(number)
    if not decimal.is_finite():
        raise _refusal(quantity, default_unit, "not a finite number.")
    if decimal and abs(decimal.adjusted()) > LONGEST_NUMBER:
        raise _refusal(quantity, default_unit, "too far from any bench.")
    return Fraction(decimal)
