"""What a maker says on the command line, read with the units of his ruler and booked in the log.

Knows the words. What a figure may be is record.py's; what the file does is store.py's.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from bodygen import units
from bodygen.errors import InputError, Mistake, did_you_mean
from bodygen.log.record import STATES, Reading, Remark, WaterTest, Way, check
from bodygen.log.store import Record, add_records, read, start_build
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Recipe
from bodygen.weights.expected import Expectation


@dataclass(frozen=True, slots=True)
class Words:
    """One call of ``bodygen log`` as it was typed; None or empty: not said.

    ``start`` is the board's note; ``weighed`` are "STAGE=MASS"; ``state`` opens a water test, to which all from
    ``water`` on belong; ``build`` is a number, else the recipe's latest; ``day`` an ISO date, else today.
    """

    start: str | None = None
    weighed: Sequence[str] = ()
    remark: Sequence[str] = ()
    build: int | None = None
    day: str | None = None
    state: str | None = None
    water: str | None = None
    nose: str | None = None
    reserve: str | None = None
    depth: str | None = None
    line: str | None = None
    line_out: str | None = None
    speed: str | None = None
    tip: str | None = None
    how: Way | None = None

    @property
    def says_anything(self) -> bool:
        """Whether there is something to write down."""
        return self.start is not None or bool(self.weighed) or bool(self.remark) or self.tests_water

    @property
    def tests_water(self) -> bool:
        """Whether a water test is being told."""
        told = (self.state, self.water, self.nose, self.reserve, self.depth)
        return any(word is not None for word in (*told, self.line, self.line_out, self.speed, self.tip, self.how))


def today() -> str:
    """Today's date where the bench is, ISO 8601."""
    return datetime.now().astimezone().date().isoformat()


def book(
    log: Path,
    recipe: Recipe,
    words: Words,
    expected: Callable[[], Sequence[Expectation]],
    tell: Callable[[WaterTest], WaterTest] = lambda test: test,
) -> list[str]:
    """Write down all that was said, in one transaction, and say in a line each what was.

    Everything is read and checked before anything is written. ``expected`` is asked only when a build is started,
    ``tell`` only where a depth was measured: it fills in what the model says of that dive.

    Raises
    ------
    InputError
        Every word that cannot be read; or no build of this recipe to write to.
    BodygenError
        The file cannot be written now.
    """
    day = words.day or today()
    weighed, mistakes = scale_readings(words.weighed)
    readings = [Reading(stage, grams, day) for stage, grams in weighed]
    test = None
    if words.tests_water:
        test, wrong = _water_test(words, recipe, day)
        mistakes += wrong
        if test is not None and test.depth_m is not None and not mistakes:
            check(test)
            test = tell(test)
    remarks = [Remark(day, text) for text in words.remark]
    if mistakes:
        raise InputError(mistakes)
    records: list[Record] = [*readings, *([test] if test else []), *remarks]
    if words.start is not None:
        if words.build is not None:
            raise InputError([
                _mistake("--build", str(words.build), "a new build gets its own number", "--start alone")
            ])
        number = start_build(log, recipe.name, recipe.sha256 or "", day, words.start, expected(), records)
        said = [f"build {number} of {recipe.name} started on {day}{f', board: {words.start}' if words.start else ''}"]
    else:
        number, said = _which(log, recipe.name, words.build), []
        add_records(log, number, *records)
    said += [f"build {number}: {r.stage} weighed {units.mass_text(r.mass_g, recipe.units)}" for r in readings]
    said += [f"build {number}: water test, it {test.state}{_against(test)}"] if test is not None else []
    return [*said, *(f"build {number}: remark written down" for _ in remarks)]


def _against(test: WaterTest) -> str:
    """What was measured beside what was told, where a depth was."""
    if test.depth_m is None or test.how is None:
        return ""
    ran = f"; it ran {test.depth_m:.2f} m deep"
    return f"{ran}, told {test.told_m:.2f} m" if test.told_m else f"{ran}; no depth could be told, so it teaches none"


def _which(log: Path, recipe: str, asked: int | None) -> int:
    """Find the build that is meant: the one asked for, else the recipe's latest."""
    numbers = [build.number for build in read(log, recipe)[0]]
    if not numbers:
        raise InputError([Mistake(str(log), 0, "", "", f"no build of {recipe} yet", '--start "words for the board"')])
    if asked is not None and asked not in numbers:
        accepted = f"builds of {recipe}: {', '.join(map(str, numbers[-12:]))}"
        raise InputError([_mistake("--build", str(asked), "no such build of this recipe", accepted)])
    return numbers[-1] if asked is None else asked


def scale_readings(written: Sequence[str]) -> tuple[list[tuple[str, float]], list[Mistake]]:
    """Read "STAGE=MASS" of a command line: stages with what the scale said [g], and all that cannot be read."""
    readings, mistakes = [], []
    for text in written:
        stage, equals, mass = (part.strip() for part in text.partition("="))
        accepted = f'STAGE=MASS, such as "drilled=9.8 g"; stages: {", ".join(STAGES)}'
        if not equals or stage not in STAGES:
            hint = did_you_mean(stage, STAGES) if equals else ""
            problem = f"no stage of that name.{hint}" if hint else "no reading of a weigh-in"
            mistakes.append(_mistake("--weighed", f'"{text}"', problem, accepted))
            continue
        try:
            readings.append((stage, units.mass(mass)))
        except units.UnitError as error:
            mistakes.append(_mistake("--weighed", f'"{text}"', error.problem, error.accepted))
    return readings, mistakes


def _water_test(words: Words, recipe: Recipe, day: str) -> tuple[WaterTest | None, list[Mistake]]:
    """Read a water test; where a depth was measured, what is silent of its conditions is as the recipe says."""
    mistakes: list[Mistake] = []

    def read(option: str, text: str | None, way: Callable[[str], float]) -> float | None:
        try:
            return None if text is None else way(text)
        except units.UnitError as error:
            mistakes.append(_mistake(option, f'"{text}"', error.problem, error.accepted))
            return None

    ruler = recipe.units
    water = read("--water", words.water, units.temperature)
    nose = read("--nose", words.nose, lambda text: float(units.fraction(text, "angle", "deg")))
    reserve = read("--reserve", words.reserve, units.mass)
    depth = read("--depth", words.depth, _metres)
    line = read("--line", words.line, lambda text: units.length(text, ruler))
    line_out = read("--line-out", words.line_out, _metres)
    speed = read("--speed", words.speed, units.speed)
    tip = read("--tip", words.tip, _metres)
    if words.state not in STATES:
        written = "" if words.state is None else f'"{words.state}"'
        mistakes.append(
            _mistake("--water-test", written, "say what it did in the water", f"one of {', '.join(STATES)}")
        )
        return None, mistakes
    if depth is not None:
        default_line, retrieve = recipe.line, recipe.retrieve
        line = line if line is not None or default_line is None else default_line.diameter
        line_out = line_out if line_out is not None or default_line is None else default_line.length_m
        speed = speed if speed is not None or retrieve is None else retrieve.speed_m_s
        tip = tip if tip is not None or retrieve is None else retrieve.tip_height_m
        for option, value in (("--line", line), ("--line-out", line_out), ("--speed", speed)):
            if value is None and not any(m.key == option for m in mistakes):
                accepted = "line, line out and speed, here or under [line] and [retrieve] in the recipe"
                mistakes.append(_mistake(option, "", "a depth is worth nothing without it", accepted))
    state = next(s for s in STATES if s == words.state)
    return WaterTest(day, state, water, nose, reserve, depth, line, line_out, speed, tip, words.how), mistakes


def _metres(text: str) -> float:
    return units.length(text, "m") / units.MM_PER_M


def _mistake(option: str, written: str, problem: str, accepted: str) -> Mistake:
    return Mistake("command line", 0, option, written, problem, accepted)
