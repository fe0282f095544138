"""What is asked of a dive on the command line, laid over the recipe's ``[line]`` and ``[retrieve]``; dives measured.

Knows option names and how a maker writes lengths and speeds. Computes nothing.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from bodygen import units
from bodygen.dive.spread import Conditions, How
from bodygen.errors import InputError, Mistake
from bodygen.recipe.keys import RECIPE
from bodygen.recipe.model import Recipe, Units
from bodygen.recipe.text.read_context import ReadContext, read_quantity
from bodygen.tables import load

OPTIONS = {
    "line_out": ("line", "length_m"),
    "line": ("line", "diameter"),
    "speed": ("retrieve", "speed_m_s"),
    "tip": ("retrieve", "tip_height_m"),
}
"""Each option and the key of the recipe that it stands for."""
MEASURED = re.compile(r"\s*(?P<depth>.+?)\s+at\s+(?P<line_out>.+?)\s+of\s+(?P<line>.+?)\s*,\s*(?P<speed>.+?)\s*")
NEEDED = {"line_out": "how much line is out", "line": "which line", "speed": "how fast"}


@dataclass(frozen=True, slots=True)
class DiveAsked:
    """Under which conditions a depth is asked for: None where the recipe and the command line leave one open.

    ``missing`` says which; ``tip_assumed``: nobody said how high the rod's tip is. ``speed_m_s`` may be known alone: it
    is enough to tell how the bait runs. ``units`` are the maker's, for what is said of them.
    """

    conditions: Conditions | None
    speed_m_s: float | None = None
    missing: tuple[str, ...] = ()
    tip_assumed: bool = False
    units: Units = "mm"


@dataclass(frozen=True, slots=True)
class MeasuredDive:
    """A depth [m] that was measured under conditions."""

    depth_m: float
    conditions: Conditions


def conditions_asked(
    recipe: Recipe, options: Mapping[str, str | None] | None = None, how: How | None = None
) -> DiveAsked:
    """Read the conditions of a command line; what is silent is as the recipe says [mm, m, m/s].

    Parameters
    ----------
    recipe : Recipe
        Its units, its ``[line]`` and ``[retrieve]``.
    options : Mapping[str, str or None]
        ``OPTIONS`` by name, as written; None where it was not given.
    how : "tow" or "retrieve", optional
        Left out, a cast that is drawn home.

    Raises
    ------
    InputError
        Everything that cannot be read.
    """
    values, mistakes = _read(recipe, options or {}, "--{}")
    if mistakes:
        raise InputError(mistakes)
    missing = tuple(words for name, words in NEEDED.items() if values[name] is None)
    if missing:
        return DiveAsked(None, values["speed"], missing, units=recipe.units)
    assumed = values["tip"] is None
    return DiveAsked(_conditions(values, how), values["speed"], tip_assumed=assumed, units=recipe.units)


def measured_dives(
    recipe: Recipe, written: Sequence[str], how: How | None, tip: str | None = None
) -> list[MeasuredDive]:
    """Read "DEPTH at LENGTH of DIAMETER, SPEED", each a dive that was measured [m].

    Raises
    ------
    InputError
        Everything that cannot be read, or a depth that is none.
    """
    found, mistakes = [], []
    for text in written:
        parts = MEASURED.fullmatch(text)
        if parts is None:
            accepted = 'DEPTH at LENGTH of DIAMETER, SPEED, such as "2.1 m at 20 m of 0.3 mm, 1.2 m/s"'
            mistakes.append(_mistake("--measured", f'"{text}"', "no depth with its conditions.", accepted))
            continue
        words = {name: parts[name] for name in ("line_out", "line", "speed")}
        values, wrong = _read(recipe, {**words, "tip": tip}, "--measured")
        mistakes += wrong
        depth, wrong = depth_said("--measured", parts["depth"])
        mistakes += wrong
        if not mistakes:
            found.append(MeasuredDive(depth, _conditions(values, how)))
    if mistakes:
        raise InputError(mistakes)
    return found


def wanted_depths(written: Sequence[str]) -> tuple[float, float] | None:
    """Read the least and the most depth that is wanted [m]; None where none is.

    Raises
    ------
    InputError
        Everything that cannot be read, or a most that is less than the least.
    """
    if not written:
        return None
    (low, wrong), (high, more) = (depth_said("--aim", text) for text in written)
    mistakes = [*wrong, *more]
    if not mistakes and not low < high:
        shown = " ".join(f'"{text}"' for text in written)
        accepted = "the lesser depth first, such as 1.5 2"
        mistakes = [_mistake("--aim", shown, "the first is not the smaller one.", accepted)]
    if mistakes:
        raise InputError(mistakes)
    return low, high


def depth_said(option: str, text: str) -> tuple[float, list[Mistake]]:
    """Read a depth [m]; a bare number is in metres."""
    low, high = load("limits")["range"]["dive_depth_m"]
    accepted = f"{units.accepted('length', 'm')}, from {low:g} to {high:g} m"
    try:
        depth = units.length(text, "m") / units.MM_PER_M
    except units.UnitError as error:
        return 0.0, [_mistake(option, f'"{text}"', error.problem, accepted)]
    if low <= depth <= high:
        return depth, []
    return 0.0, [_mistake(option, f'"{text}"', "no depth that such a bait runs at.", accepted)]


def _read(
    recipe: Recipe, options: Mapping[str, str | None], shown: str
) -> tuple[dict[str, float | None], list[Mistake]]:
    """Every option, read within its key's own bounds, or what the recipe says; and what cannot be read."""
    values: dict[str, float | None] = {}
    mistakes: list[Mistake] = []
    for name, (table, key) in OPTIONS.items():
        given = getattr(recipe, table)
        text = options.get(name)
        if text is None:
            values[name] = getattr(given, key) if given is not None else None
        else:
            ctx = ReadContext("command line", Path(), {}, units=recipe.units)
            values[name] = read_quantity(ctx, shown.format(name.replace("_", "-")), text, RECIPE[table].table[key])
            mistakes += [replace(mistake, line=0, written=f'"{text}"') for mistake in ctx.mistakes]
    return values, mistakes


def _conditions(values: Mapping[str, float | None], how: How | None) -> Conditions:
    tip = values["tip"] if values["tip"] is not None else usual_tip()
    figures = {name: value for name, value in values.items() if value is not None}
    return Conditions(how or "retrieve", figures["line"], figures["line_out"], figures["speed"], tip)


def usual_tip() -> float:
    """How high a rod's tip is above the water where nobody says it [m].

    Notes
    -----
    Common practice, no published source.
    """
    return float(load("fishing")["tip"]["usual_m"])


def _mistake(option: str, written: str, problem: str, accepted: str) -> Mistake:
    return Mistake("command line", 0, option, written, problem, accepted)
