"""What is written down of one build: frozen records, in g, mm, degC, deg, m; days as ISO 8601 dates.

Knows what a figure may be. Knows no file and no words of the command line.
"""

from dataclasses import dataclass, fields
from datetime import date
from math import isfinite
from typing import Literal, get_args

from bodygen.errors import InputError, Mistake, visible
from bodygen.recipe.keys import STAGES
from bodygen.weights.expected import Expectation

State = Literal["floats", "suspends", "sinks"]
STATES: tuple[State, ...] = get_args(State)
Way = Literal["tow", "retrieve"]
WAYS: tuple[Way, ...] = get_args(Way)
LONGEST_TEXT = 4000
"""Characters of a remark: a page."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A weigh-in: stage, grams, day."""

    stage: str
    mass_g: float
    day: str


@dataclass(frozen=True, slots=True)
class WaterTest:
    """One test in tub or lake; None where nothing was measured.

    ``reserve_g`` is what had to be added until it hung in the water, less what had to be taken off. ``depth_m`` was
    measured with ``line_mm`` of line, ``line_out_m`` of it out, at ``speed_m_s``, rod tip ``tip_height_m`` above the
    water. ``how`` it was fished, the depth that was told for it before anything was learned, the lip's family and all
    that the model was given, as JSON: from these alone it can be told again. None of it where it was written by a
    bodygen that told no depth; ``told_m`` alone is None where none could be told.

    ``wood_ratio`` is what the tub told of the wood, over what the tables expect of ``wood_lot`` [-], as one reading
    with the standard deviation ``wood_sd``; None where it told too little.
    """

    day: str
    state: State
    water_c: float | None = None
    nose_deg: float | None = None
    reserve_g: float | None = None
    depth_m: float | None = None
    line_mm: float | None = None
    line_out_m: float | None = None
    speed_m_s: float | None = None
    tip_height_m: float | None = None
    how: Way | None = None
    told_m: float | None = None
    lip_kind: str | None = None
    lip_tie: str | None = None
    lip_angle_deg: float | None = None
    dive_inputs: str | None = None
    wood_lot: str | None = None
    wood_ratio: float | None = None
    wood_sd: float | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """Free words and their day."""

    day: str
    text: str


@dataclass(frozen=True, slots=True)
class Build:
    """One bait made: from which recipe by which version, of which board, what the tables expected, what came of it.

    ``number`` counts through the log. ``readings`` are in the order they were written; of two for a stage the later
    counts.
    """

    number: int
    recipe: str
    recipe_sha256: str
    bodygen_version: str
    day: str
    board: str = ""
    expected: tuple[Expectation, ...] = ()
    readings: tuple[Reading, ...] = ()
    water_tests: tuple[WaterTest, ...] = ()
    remarks: tuple[Remark, ...] = ()

    @property
    def weighed(self) -> dict[str, float]:
        """The reading that counts for each stage [g], in shop order."""
        latest = {reading.stage: reading.mass_g for reading in self.readings}
        return {stage: latest[stage] for stage in STAGES if stage in latest}


# Least and most that a bench can see: a slip of the pen is worth refusing, a strange bait is not.
_BOUNDS = {
    "number": (0, 2**63),
    "mass_g": (0.0, 2000.0),
    "mass": (0.0, 2000.0),
    "sd": (0.0, 2000.0),
    "water_c": (-2.0, 45.0),
    "nose_deg": (-90.0, 90.0),
    "reserve_g": (-2000.0, 2000.0),
    "depth_m": (0.0, 100.0),
    "line_mm": (0.01, 3.0),
    "line_out_m": (0.1, 500.0),
    "speed_m_s": (0.01, 20.0),
    "tip_height_m": (-2.0, 20.0),
    "told_m": (0.001, 100.0),
    "lip_angle_deg": (0.0, 180.0),
    "wood_ratio": (0.05, 20.0),
    "wood_sd": (0.0, 20.0),
}
_ALWAYS = frozenset({"number", "mass_g", "mass", "sd"})
"""Figures without which a record is none; the others may be left out."""
_TEXTS = frozenset({"text", "board", "recipe", "recipe_sha256", "bodygen_version", "lot"})
_IF_TOLD = frozenset({"lip_kind", "lip_tie", "dive_inputs", "wood_lot"})
CONDITIONS = ("line_mm", "line_out_m", "speed_m_s")
"""What a measured depth is worth nothing without."""


def check(record: Reading | WaterTest | Remark | Build | Expectation) -> None:
    """Refuse what cannot be.

    Raises
    ------
    InputError
        Every figure out of bounds, an unknown stage or state, a day that is none, empty or endless words, a depth
        without the conditions it was measured under.
    """
    values = {f.name: getattr(record, f.name) for f in fields(record)}
    mistakes = [_mistake(name, value, *problem) for name, value in values.items() if (problem := _problem(name, value))]
    if isinstance(record, WaterTest) and record.depth_m is not None:
        mistakes += [
            _mistake("depth_m", record.depth_m, f"a depth without its {name}", "line, line out and speed with a depth")
            for name in CONDITIONS
            if values[name] is None
        ]
    if mistakes:
        raise InputError(mistakes)


def _mistake(name: str, value: object, problem: str, accepted: str) -> Mistake:
    return Mistake("bench log", 0, name, f'"{value}"' if isinstance(value, str) else f"{value}", problem, accepted)


def _problem(name: str, value: object) -> tuple[str, str] | None:
    """What is wrong with one field, and what would do."""
    if name in _BOUNDS:
        return None if value is None and name not in _ALWAYS else _no_figure(name, value)
    if name in _TEXTS:
        return _bad_words(value, needed=name in ("text", "recipe"))
    if name in _IF_TOLD:
        return None if value is None else _bad_words(value, needed=False)
    known: dict[str, tuple[bool, str, str]] = {
        "stage": (value in STAGES, "no such stage", f"one of {', '.join(STAGES)}"),
        "state": (value in STATES, "no such state", f"one of {', '.join(STATES)}"),
        "how": (value is None or value in WAYS, "no way to fish that is told", f"one of {', '.join(WAYS)}"),
        "day": (_is_day(value), "no day of the calendar", "a date such as 2031-03-09"),
    }
    good, problem, accepted = known.get(name, (True, "", ""))
    return None if good else (problem, accepted)


def _no_figure(name: str, value: object) -> tuple[str, str] | None:
    low, high = _BOUNDS[name]
    if isinstance(value, int | float) and isfinite(value) and low <= value <= high and (name != "mass_g" or value > 0):
        return None
    return "no bench sees that", f"from {low:g} to {high:g}"


def _is_day(text: object) -> bool:
    try:
        return isinstance(text, str) and date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _bad_words(text: object, *, needed: bool) -> tuple[str, str] | None:
    if not isinstance(text, str):
        return "not text", "plain text"
    if needed and not text.strip():
        return "no words", "some words"
    if len(text) > LONGEST_TEXT:
        return f"{len(text)} characters", f"{LONGEST_TEXT} at most"
    if visible(text, "\n\t") != text:
        return "not text: it holds a control character", "plain text"
    return None
