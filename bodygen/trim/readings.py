"""What a maker says of a bait in the tub, read with the units of his ruler and scale.

Knows the words and how exactly each can be read. Knows nothing of baits that come out otherwise.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import nan

import numpy as np

from bodygen import units
from bodygen.ballast.answer import Answer
from bodygen.ballast.drag import drag_of, lift_at, straight_up
from bodygen.errors import InputError, Mistake
from bodygen.recipe.model import Recipe
from bodygen.tables import catalogue, load
from bodygen.trim.bait import Sight
from bodygen.weights.spread import uniform

OPTIONS = ("nose", "lean", "back_height", "at", "spare", "spare_metal", "rises", "sinks", "stage", "water")
STAGES = ("ballast", "sealed", "painted", "cleared", "rigged")
"""Stages at which a bait has its metal in, so that floating it tells something."""
SUSPENDS_G = 0.3
"""Reserves under it are those of a bait trimmed by half turns: its spare weight is read finer."""


@dataclass(frozen=True, slots=True)
class TubReading:
    """One thing seen: its words, what it is, its figure and one standard deviation, in the same unit."""

    words: str
    what: Sight
    value: float
    sd: float
    unit: str


@dataclass(frozen=True, slots=True)
class TubWords:
    """Words of one call of ``bodygen trim``, read: figures in mm, g, deg, degC; ``speed`` up is positive [m/s]."""

    nose: float | None = None
    lean: float | None = None
    back_height: float | None = None
    at: float | None = None
    spare: float | None = None
    metal: str | None = None
    speed: float | None = None
    stage: str = "rigged"
    water: float | None = None


def told(recipe: Recipe, words: Mapping[str, str | None]) -> TubWords:
    """Read the words of a command line.

    Parameters
    ----------
    recipe : Recipe
        Its units and its length are the ruler.
    words : Mapping[str, str or None]
        ``OPTIONS`` by name, as written; None where it was not given.

    Raises
    ------
    InputError
        Every word that cannot be read, lies out of reach, or is missing beside another.
    """
    mistakes: list[Mistake] = []

    def read(name: str, way: Callable[[str], float], low: float, high: float, unit: str) -> float | None:
        text = words.get(name)
        if text is None:
            return None
        try:
            value = way(text)
        except units.UnitError as error:
            mistakes.append(_mistake(name, text, error.problem, error.accepted))
            return None
        if not low <= value <= high:
            mistakes.append(_mistake(name, text, "no tub shows that.", f"from {low:g} to {high:g} {unit}"))
        return value

    ruler = recipe.units
    found = TubWords(
        nose=read("nose", _degrees, -90, 90, "deg, nose up positive"),
        lean=read("lean", _degrees, -180, 180, "deg, right side up positive"),
        back_height=read("back_height", lambda text: units.length(text, ruler), -200, 200, "mm, below the water < 0"),
        at=read("at", lambda text: units.length(text, ruler), 0, 1000, "mm from the nose"),
        spare=read("spare", units.mass, -100, 500, "g, less than 0 for one that sinks"),
        metal=words.get("spare_metal"),
        speed=_speed(words, mistakes, ruler),
        stage=words.get("stage") or "rigged",
        water=read("water", units.temperature, 0, 40, "degC"),
    )
    _check(found, words, mistakes)
    if mistakes:
        raise InputError(mistakes)
    return found


def _check(found: TubWords, words: Mapping[str, str | None], mistakes: list[Mistake]) -> None:
    """Hold the words against each other."""
    if found.stage not in STAGES:
        mistakes.append(_mistake("stage", found.stage, "no stage to float it at.", f"one of {', '.join(STAGES)}"))
    if (words.get("back_height") is None) != (words.get("at") is None):
        one, other = ("at", "--back-height") if words.get("at") else ("back_height", "--at, how far from the nose")
        mistakes.append(_mistake(one, words.get(one) or "", "says nothing alone.", other))
    if found.metal is not None:
        if words.get("spare") is None:
            mistakes.append(_mistake("spare_metal", found.metal, "says nothing alone.", "--spare, its dry mass"))
        metals = load("metals")["metal"]
        if found.metal not in metals:
            accepted = f"one of {', '.join(metals)}"
            mistakes.append(_mistake("spare_metal", found.metal, "no such metal.", accepted))
    seen = (found.nose, found.lean, found.back_height, found.spare, found.speed)
    if not mistakes and all(one is None for one in seen):
        accepted = '--nose "8 deg", --lean, --back-height "5 mm" --at "30 mm", --spare "1.2 g", --rises "300 mm in 4 s"'
        mistakes.append(Mistake("command line", 0, "", "", "nothing was seen.", accepted))


def _speed(words: Mapping[str, str | None], mistakes: list[Mistake], ruler: str) -> float | None:
    """Speed through the water [m/s] of "DISTANCE in TIME", upwards positive."""
    name = "rises" if words.get("rises") else "sinks"
    text = words.get(name)
    if text is None:
        return None
    accepted = '"DISTANCE in TIME", such as "300 mm in 4 s"'
    parts = re.fullmatch(r"(.+?)\s+in\s+([\d.,]+)\s*(?:s|sec|seconds?)", text.strip())
    if words.get("rises") and words.get("sinks"):
        mistakes.append(_mistake("sinks", words["sinks"] or "", "it rises already.", "--rises or --sinks, one of them"))
        return None
    try:
        seconds = float(parts[2]) if parts else nan
        metres = units.length(parts[1], ruler) / units.MM_PER_M if parts else nan
    except (units.UnitError, ValueError):
        seconds = metres = nan
    if not (0.1 <= seconds <= 600 and 0.01 <= metres <= 20):
        mistakes.append(_mistake(name, text, "no rise or fall of a tub.", accepted))
        return None
    return metres / seconds * (1 if name == "rises" else -1)


def readings(said: TubWords, answer: Answer, water_g_cm3: float) -> tuple[TubReading, ...]:
    """What was seen of a bait, each with its spread; the back's own height is the body's where it was read.

    Common practice, no published source (``trim.toml``); a speed by the drag of ``ballast/drag.py``.

    Raises
    ------
    InputError
        A back's height beside the body.
    """
    table = {name: uniform(-off, off) for name, off in load("trim")["reading"].items() if isinstance(off, float)}
    found = []
    if said.nose is not None:
        found.append(TubReading(f"nose {said.nose:+.1f} deg", Sight("nose"), said.nose, table["nose_deg"], "deg"))
    if said.lean is not None:
        found.append(TubReading(f"lean {said.lean:+.1f} deg", Sight("lean"), said.lean, table["lean_deg"], "deg"))
    if said.back_height is not None and said.at is not None:
        back = float(answer.caster.heights(np.array([said.at]))[1][0])
        if not np.isfinite(back):
            accepted = f"from 0 to the body's length, {units.length_text(answer.sizes[0], answer.recipe.units)}"
            raise InputError([_mistake("at", f"{said.at:g} mm", "no back is there.", accepted)])
        words = f"back {units.length_text(said.back_height, answer.recipe.units)} above the water"
        found.append(TubReading(words, Sight("back", said.at, back), said.back_height, table["back_height_mm"], "mm"))
    if said.spare is not None:
        net = said.spare if said.metal is None else said.spare * (1 - water_g_cm3 / metal_g_cm3(said.metal))
        near = abs(net) < SUSPENDS_G
        sd = table["spare_suspends_g" if near else "spare_g"]
        found.append(TubReading(f"spare weight {net:+.2f} g net", Sight("lift"), net, sd, "g"))
    if said.speed is not None:
        found.append(_by_speed(said.speed, answer, water_g_cm3))
    return tuple(found)


def _by_speed(speed: float, answer: Answer, water: float) -> TubReading:
    """The lift that a speed tells [g], as sure as the coefficient of drag and a stopwatch are."""
    up = straight_up(answer.hull.centroid, answer.total.centre_of_mass)
    drag = drag_of(answer.hull, up, answer.sizes, abs(speed))
    low, likely, high = (lift_at(abs(speed), drag, water, c) for c in (drag.low, drag.likely, drag.high))
    share = float(load("trim")["reading"]["time_share"])
    sd = float(np.hypot((high - low) / 12**0.5, 2 * share * likely))
    way = "rises" if speed > 0 else "sinks"
    return TubReading(f"it {way} at {abs(speed):.3f} m/s", Sight("lift"), likely * (1 if speed > 0 else -1), sd, "g")


def metal_g_cm3(name: str) -> float:
    """Density of a metal of the table [g/cm^3]."""
    return catalogue.density(catalogue.row("metals", "metal", name, "--spare-metal"))


def _degrees(text: str) -> float:
    return float(units.fraction(text, "angle", "deg"))


def _mistake(name: str, written: str, problem: str, accepted: str) -> Mistake:
    return Mistake("command line", 0, f"--{name.replace('_', '-')}", f'"{written}"', problem, accepted)
