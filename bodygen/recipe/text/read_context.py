"""A parameter file while it is being read: its values, where each stands, and every mistake found so far.

Knows kinds of values and how a refusal is worded. Knows nothing of baits: which keys go together is for each table's
own reader. Nothing here raises on a mistake; it is noted, and the value counts as not given.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from bodygen import tables, units
from bodygen.errors import Mistake, did_you_mean, quoted
from bodygen.recipe.keys import RECIPE, Key, bounds
from bodygen.recipe.text.source_positions import Place, join
from bodygen.units import Quantity, UnitError

Values = dict[str, Any]
QUANTITIES: frozenset[str] = frozenset(units.UNITS)
LONGEST_TEXT = 120  # characters of a name
_BASE = {"mass": "g", "angle": "deg", "temperature": "degC", "speed": "m/s", "density": "g/cm3", "percent": "%"}
MM_MIN = 60000.0  # in 1 m/s
_KIND_NAMES = {
    "number": "a number",
    "whole": "a whole number",
    "flag": "true or false",
    "text": "a text in quotes",
    "names": 'a list of names such as ["a", "b"]',
}


@dataclass(slots=True)
class ReadContext:
    """One recipe file: ``file`` as the maker named it, the folder it is in, where things stand, mistakes so far.

    ``written`` are the paths of all keys that stand in the tables read so far, well written or not. ``named`` are the
    files it names, in the order of the text; ``units`` is what a bare length is in.
    """

    file: str
    folder: Path
    places: Mapping[str, Place]
    allow_outside: bool = False
    units: str = "mm"
    mistakes: list[Mistake] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    named: list[Path] = field(default_factory=list)
    length_told: bool = False

    def fault(self, key: str, problem: str, accepted: str = "") -> None:
        """Note a mistake at a key that was written."""
        place = self.places.get(key) or Place(self.line(key), "")
        self.mistakes.append(Mistake(self.file, place.line, key, place.written, problem, accepted))

    def missing(self, key: str, accepted: str) -> None:
        """Note a key that is not there; the line is that of the table it belongs in."""
        self.mistakes.append(Mistake(self.file, self.line(key), key, "", "missing.", accepted))

    def line(self, key: str) -> int:
        """Line of a key, or of the nearest table around it; 1 if the file does not know it at all."""
        while key:
            if key in self.places:
                return self.places[key].line
            key = key[: max(key.rfind("."), key.rfind("["), 0)]
        return 1

    def grown_with(self, length: float) -> str:
        """Say once how a changed length [mm] takes along what was placed for the old one."""
        told, self.length_told = self.length_told, True
        return "" if told else f"; {grow_instead(self.file, self.length_text(length))}"

    def length_text(self, millimetres: float) -> str:
        """Show a length [mm] as this recipe's ruler does."""
        return units.length_text(millimetres, self.units)


def grow_instead(file: str, length: str) -> str:
    """Tell a maker who changed the length alone what moves the rest."""
    size = length.partition(" (")[0]
    made = f"bodygen new NAME --from {file or 'RECIPE'} --size '{size}'"
    return f"or, if you changed the length alone: put the old length back and make the new size with {made}"


def read_table(ctx: ReadContext, path: str, raw: object, keys: Mapping[str, Key]) -> Values:
    """Read every well-written value of a table by its key; the others are noted and left out."""
    if not isinstance(raw, dict):
        ctx.fault(path, "not a table.", f"write [{path}] on a line of its own and its keys below it")
        return {}
    values: Values = {}
    for name, value in raw.items():
        place = join(path, name)
        ctx.written.add(place)
        if name in keys:
            got = read_value(ctx, place, value, keys[name])
            if got is not None:
                values[name] = got
        else:
            _unknown(ctx, path, name, keys)
    for name, key in keys.items():
        if key.required and name not in raw:
            ctx.missing(join(path, name), what_is_accepted(ctx, key))
    return values


def read_tables(ctx: ReadContext, path: str, raw: object, keys: Mapping[str, Key]) -> list[tuple[str, Values, bool]]:
    """Read an array of tables: for each its key path, its values, and whether it is free of mistakes."""
    if not isinstance(raw, list) or not all(isinstance(one, dict) for one in raw):
        ctx.fault(path, "not a list of tables.", f"write [[{path}]], once for each, and its keys below it")
        return []
    found = []
    for number, one in enumerate(raw, start=1):
        before = len(ctx.mistakes)
        values = read_table(ctx, f"{path}[{number}]", one, keys)
        found.append((f"{path}[{number}]", values, len(ctx.mistakes) == before))
    return found


def read_value(ctx: ReadContext, path: str, raw: object, key: Key) -> object | None:
    """Read one value in bodygen's own units (mm, g, rad, degC); None where it is wrong."""
    return _READERS.get(key.kind, read_quantity)(ctx, path, raw, key)


def read_quantity(ctx: ReadContext, path: str, raw: object, key: Key) -> float | None:
    """Read a quantity in its unit and within its bounds."""
    quantity = cast("Quantity", key.kind)
    unit = _bare_unit(ctx, key)
    try:
        value = float(units.fraction(raw, quantity, unit.lower() if quantity == "temperature" else unit))
    except UnitError as error:
        ctx.fault(path, error.problem, error.accepted)
        return None
    if key.unit == "m":
        value /= 1000.0
    elif key.unit == "mm/min":
        value *= MM_MIN
    if not within(ctx, path, value, key, _other_ruler(ctx, raw, key) if quantity == "length" else ""):
        return None
    return math.radians(value) if quantity == "angle" else value


def _other_ruler(ctx: ReadContext, raw: object, key: Key) -> str:
    """Ask whether a bare length was meant on the other ruler, where it would fit there."""
    bare = raw.strip()[-1:].isdigit() if isinstance(raw, str) else hasattr(raw, "__float__")
    if not bare or key.unit or not key.bounds:
        return ""
    other = "mm" if ctx.units == "in" else "in"
    least, most = bounds(key.bounds)
    fits = least <= units.length(raw, other) <= most
    return f' In {"mm" if other == "mm" else "inches"}? Write "{raw} {other}".' if fits else ""


def within(ctx: ReadContext, path: str, value: float, key: Key, hint: str = "") -> bool:
    """Whether a value is finite and inside its key's bounds; if not, a mistake that shows the bound, and a ``hint``."""
    if not math.isfinite(value):
        ctx.fault(path, "not a finite number.", what_is_accepted(ctx, key))
        return False
    if not key.bounds:
        return True
    least, most = bounds(key.bounds)
    if least <= value <= most:
        return True
    bound, side = (least, "less than the least accepted") if value < least else (most, "more than the most accepted")
    ctx.fault(path, f"{side}, {_bound_text(ctx, bound, key)}.{hint}", what_is_accepted(ctx, key))
    return False


def what_is_accepted(ctx: ReadContext, key: Key) -> str:
    """Say in one line what a key takes."""
    span = ""
    if key.bounds:
        least, most = bounds(key.bounds)
        span = f", from {_bound_text(ctx, least, key)} to {_bound_text(ctx, most, key)}"
    if key.kind in QUANTITIES:
        unit = _bare_unit(ctx, key)
        return units.accepted(cast("Quantity", key.kind), unit) + span
    fixed = {
        "lengths": f"{key.count} lengths in brackets",
        "numbers": f"{key.count} numbers in brackets",
        "choice": ", ".join(key.choices),
        "table": f"a table with {', '.join(key.table)}",
    }
    return fixed.get(key.kind, _KIND_NAMES.get(key.kind, "")) + span


def _bare_unit(ctx: ReadContext, key: Key) -> str:
    """What a number without a unit is in."""
    if key.unit == "mm/min" and ctx.units == "in":
        return "in/min"
    return key.unit or (ctx.units if key.kind == "length" else _BASE[key.kind])


def no_such_name(ctx: ReadContext, path: str, name: str, known: Sequence[str], otherwise: str = "") -> None:
    """Note a name that no table knows, with the nearest that one does; ``otherwise`` is what to do without one."""
    plain = {one.lower().replace(" ", "_"): one for one in known}
    hint = did_you_mean(name.lower().replace(" ", "_"), plain, lambda one: quoted(plain[one]), nearness=0.5)
    ctx.fault(path, f"no such name here.{hint}", "; or ".join(filter(None, (", ".join(known), otherwise))))


def _bound_text(ctx: ReadContext, bound: float, key: Key) -> str:
    if key.unit == "m":
        return f"{bound:g} m"
    if key.unit == "mm/min" and ctx.units == "in":
        return f"{bound / float(units.INCH):.4g} in/min"
    if key.kind in {"length", "lengths"}:
        # a film is thinner than any ruler's 1/64
        return f"{bound:g} mm" if ctx.units == "mm" or 0 < abs(bound) < 0.3 else ctx.length_text(bound)
    unit = key.unit or _BASE.get(key.kind, "")
    text = f"{bound:.0f}" if key.kind == "whole" else f"{bound:g}"
    return f"{text} {unit}" if unit else text


def _read_list(ctx: ReadContext, path: str, raw: object, key: Key) -> tuple[float, ...] | None:
    """Read a fixed number of lengths [mm] or plain numbers."""
    if not isinstance(raw, list) or len(raw) != key.count:
        ctx.fault(path, f"not a list of {key.count}.", what_is_accepted(ctx, key))
        return None
    one = Key("length" if key.kind == "lengths" else "number", key.bounds)
    values = [read_value(ctx, f"{path}[{number}]", value, one) for number, value in enumerate(raw, start=1)]
    return tuple(value for value in values if isinstance(value, float)) if None not in values else None


def _read_number(ctx: ReadContext, path: str, raw: object, key: Key) -> float | int | None:
    number = not isinstance(raw, bool | str) and hasattr(raw, "__float__")
    if not number or (key.kind == "whole" and not isinstance(raw, int)):
        ctx.fault(path, f"not {_KIND_NAMES[key.kind]}.", what_is_accepted(ctx, key))
        return None
    try:
        value = float(cast("float", raw))
    except OverflowError:
        value = math.inf
    if not within(ctx, path, value, key):
        return None
    return cast("int", raw) if key.kind == "whole" else value


def _read_flag(ctx: ReadContext, path: str, raw: object, key: Key) -> bool | None:
    if isinstance(raw, bool):
        return raw
    ctx.fault(path, "not true or false.", what_is_accepted(ctx, key))
    return None


def _read_names(ctx: ReadContext, path: str, raw: object, key: Key) -> list[str] | None:
    if isinstance(raw, list) and all(isinstance(one, str) for one in raw):
        return [one.strip() for one in raw]  # as the names themselves are read
    ctx.fault(path, "not a list of names.", what_is_accepted(ctx, key))
    return None


def _read_text(ctx: ReadContext, path: str, raw: object, _: Key) -> str | None:
    if not isinstance(raw, str):
        ctx.fault(path, "not a text.", "a text in quotes")
    elif not raw.strip():
        ctx.fault(path, "empty.", "a text in quotes")
    elif len(raw) > LONGEST_TEXT or not raw.isprintable():
        ctx.fault(path, f"longer than {LONGEST_TEXT} characters, or not on one line.", "a short text on one line")
    else:
        return raw.strip()
    return None


def _read_choice(ctx: ReadContext, path: str, raw: object, key: Key) -> str | None:
    if isinstance(raw, str) and raw in key.choices:
        return raw
    if isinstance(raw, str):
        no_such_name(ctx, path, raw, key.choices)
    else:
        ctx.fault(path, "not a text.", what_is_accepted(ctx, key))
    return None


_READERS: dict[str, Callable[[ReadContext, str, object, Key], object | None]] = {
    "table": lambda ctx, path, raw, key: read_table(ctx, path, raw, key.table),
    "tables": lambda ctx, path, raw, key: read_tables(ctx, path, raw, key.table),
    "lengths": _read_list,
    "numbers": _read_list,
    "number": _read_number,
    "whole": _read_number,
    "flag": _read_flag,
    "names": _read_names,
    "text": _read_text,
    "choice": _read_choice,
    "other": lambda _page, _path, raw, _key: raw,
}


def _unknown(ctx: ReadContext, path: str, name: str, keys: Mapping[str, Key]) -> None:
    """Note an unknown key: the nearest one of this table, or the table that it belongs in."""
    place = join(path, name)
    if name.lower().replace(" ", "_") in {"sg", "specific_gravity"}:
        ctx.fault(place, "no such key: it has too many meanings.", tables.load("woods")["trap"]["text"])
        return
    hint = did_you_mean(name, keys, lambda near: join(path, near))
    elsewhere = [
        f"[[{other}]]" if key.kind == "tables" else f"[{other}]"
        for other, key in RECIPE.items()
        if name in key.table and not hint
    ]
    if elsewhere:
        hint = f" It belongs in {elsewhere[0]}."
    where = f"accepted in {_header(path)}: " if path else "accepted: "
    ctx.fault(place, f"no such key.{hint}", where + ", ".join(keys))


def _header(path: str) -> str:
    """Write the header of the table at a key path as the file has it."""
    name = re.sub(r"\[\d+\]", "", path)
    return f"[[{name}]]" if path.endswith("]") else f"[{name}]"
