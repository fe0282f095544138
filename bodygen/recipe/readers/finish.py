"""``[finish]`` and ``[[paint]]``: days, hours and colours as they are written.

Knows weekdays, dates and names of colours. Knows no calendar (``finish/``) and no region's shape (``shop/masks/``).
"""

import re
from collections.abc import Iterable, Sequence
from datetime import date, time

from bodygen import tables
from bodygen.errors import did_you_mean, quoted
from bodygen.recipe.model import Finish, Mask, Paint
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
FIRST_YEAR, LAST_YEAR = 1900, 2999
HEX = re.compile(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
DATE, CLOCK = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}"), re.compile(r"([0-9]{1,2}):([0-9]{2})")
COLOURS_TAKEN = 'a name of CSS Color Module Level 4 such as "olivedrab", or "#6b8e23"'
DATE_TAKEN = f'a day as "2031-03-04", from {FIRST_YEAR} to {LAST_YEAR}'


def read_finish(ctx: ReadContext, values: Values) -> Finish:
    """Make the finish; a day or an hour that is none is noted."""
    made = dict(values)
    for key, read in (("start", _day), ("days", _weekdays), ("opens", _hour)):
        if key in made:
            found = read(ctx, f"finish.{key}", made.pop(key))
            made |= {} if found is None else {key: found}
    return Finish(**made)


def day_of(written: object) -> str | None:
    """A day as ISO 8601 has it; None where it is none, or in no year that a maker means.

    >>> day_of("2032-02-29"), day_of("2031-02-29")
    ('2032-02-29', None)
    """
    text = written.isoformat() if type(written) is date else str(written).strip()
    try:
        day = date.fromisoformat(text) if DATE.fullmatch(text) else date.min
    except ValueError:
        return None
    return day.isoformat() if FIRST_YEAR <= day.year <= LAST_YEAR else None


def _day(ctx: ReadContext, path: str, written: object) -> str | None:
    day = day_of(written)
    if day is None:
        ctx.fault(path, "not a day of the calendar.", DATE_TAKEN)
    return day


def _weekdays(ctx: ReadContext, path: str, written: Sequence[str]) -> tuple[str, ...] | None:
    found = []
    for number, word in enumerate(written, 1):
        day = next((d for d in DAYS if len(word) >= 3 and d.lower().startswith(word.lower().rstrip("."))), None)
        if day is None:
            hint = did_you_mean(word.title(), DAYS, quoted)
            ctx.fault(path, f'no weekday: number {number}, "{word}".{hint}', ", ".join(DAYS))
        else:
            found.append(day)
    if not written:
        ctx.fault(path, "a bench that is open on no day.", f"some of {', '.join(DAYS)}; or leave it out for all")
    return tuple(day for day in DAYS if day in found)


def _hour(ctx: ReadContext, path: str, written: object) -> float | None:
    """An hour of the day [h]."""
    told = CLOCK.fullmatch(f"{written:%H:%M}" if isinstance(written, time) else str(written).strip())
    if told is None or int(told[1]) > 23 or int(told[2]) > 59:
        ctx.fault(path, "not an hour of the day.", 'from "00:00" to "23:59"')
        return None
    return int(told[1]) + int(told[2]) / 60


def read_paints(
    ctx: ReadContext, found: Iterable[tuple[str, Values, bool]], masks: Sequence[Mask]
) -> tuple[Paint, ...]:
    """Make the layers of paint; a colour that nobody knows, or a mask that is not there, is noted."""
    paints: list[Paint] = []
    names = tuple(mask.name for mask in masks)
    for path, values, clean in found:
        before = len(ctx.mistakes)
        written = values.get("colour")
        colour = None if written is None else _colour(ctx, f"{path}.colour", written)
        if "mask" in values and "region" in values:
            ctx.fault(f"{path}.region", f"{path}.mask says where already.", "region or mask: leave one of the two out")
        elif "mask" in values and values["mask"] not in names:
            no_such_name(ctx, f"{path}.mask", values["mask"], names, "a region")
        if clean and colour is not None and len(ctx.mistakes) == before:
            paints.append(Paint(colour, **{"name": str(written)} | {k: v for k, v in values.items() if k != "colour"}))
    return tuple(paints)


def _colour(ctx: ReadContext, path: str, written: object) -> str | None:
    """A colour as ``#rrggbb``, of its hexadecimal or of a name of the open standard."""
    known: dict[str, str] = tables.load("colours")["colour"]["srgb"]
    text = str(written).strip()
    if HEX.fullmatch(text):
        digits = text[1:].lower()
        return f"#{digits if len(digits) == 6 else ''.join(2 * digit for digit in digits)}"
    plain = re.sub(r"[\s_-]", "", text.lower())
    if isinstance(written, str) and plain in known:
        return known[plain]
    hint = did_you_mean(plain, known, quoted, nearness=0.5) if isinstance(written, str) else ""
    ctx.fault(path, f"no such colour here.{hint}", COLOURS_TAKEN)
    return None
