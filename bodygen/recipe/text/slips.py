"""Slips of the pen that make a line no TOML at all, told by what was meant: a comma for a point, a quote left out.

Knows lines. What is sound TOML never comes here.
"""

import re

from bodygen import units
from bodygen.recipe.text.source_positions import short

_LINE = re.compile(r"""\s*(?P<key>[\w.\-"' ]+?)\s*=\s*(?P<value>[^#]*?)\s*(?:\#.*)?""")
_NUMBER = r"[+-]?\d[\d./ -]*"
_UNIT_NAMES = sorted({name for names in units.UNITS.values() for name in names}, key=len, reverse=True)
_UNIT = "(?:" + "|".join(re.escape(name) for name in _UNIT_NAMES) + ")"


def plainer_words(row: str) -> tuple[str, str, str, str] | None:
    """Say of a line that is no TOML: its key, what was written, what is wrong, what to write; None where it is unclear.

    >>> plainer_words("length = 28,5")
    ('length', '28,5', 'a comma in a number; write a decimal point.', 'length = 28.5')
    >>> plainer_words("depth = 6 mm  # at the shoulder")
    ('depth', '6 mm', 'a value with a unit stands in quotes.', 'depth = "6 mm"')
    """
    found = _LINE.fullmatch(row)
    if found is None:
        return None
    key, value = found["key"], found["value"]
    marks = value.count('"') - value.count('\\"')
    problem = meant = ""
    if re.fullmatch(rf"[+-]?\d+,\d+(?:\s*{_UNIT})?", value, re.IGNORECASE):
        problem, meant = "a comma in a number; write a decimal point.", value.replace(",", ".")
        if not re.fullmatch(r"[+-]?[\d.]+", meant):
            meant = f'"{meant}"'
    elif re.fullmatch(rf'{_NUMBER}(?:"|″|”)', value):
        problem, meant = "a value with a unit stands in quotes.", f'"{value[:-1].strip()} in"'
    elif marks % 2 and re.fullmatch(r'"[^"\[\]{}]*|[^"\[\]{}]*"', value):
        problem, meant = "a quote is missing.", f'"{value.strip(chr(34))}"'
    elif re.fullmatch(rf"{_NUMBER}{_UNIT}", value, re.IGNORECASE):
        problem, meant = "a value with a unit stands in quotes.", '"' + value.replace('"', '\\"') + '"'
    elif re.fullmatch(r"[+-]?\d+(?:[ -]\d+)?\s*/\s*\d+", value):
        problem, meant = "a fraction stands in quotes.", f'"{value}"'
    elif re.fullmatch(r"[^\W\d][\w -]*", value):
        problem, meant = "a text stands in quotes.", f'"{value}"'
    return (key, short(value), problem, f"{key} = {meant}") if problem else None
