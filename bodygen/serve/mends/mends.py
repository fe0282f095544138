"""A doubt's remedy as one change of the recipe: the nearest value that takes it away and brings no other as grave.

Every mend that is offered was put in and assessed as a whole. Finding it takes many assessments, so there is a limit.
"""

import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bodygen.assessment import Assessment, answer_of, dive_of, hooks_of
from bodygen.ballast.goal import goal_checks, held
from bodygen.errors import DesignError, InputError
from bodygen.findings import Finding
from bodygen.pipeline import assess, assess_quickly, shape
from bodygen.recipe.changes import changed_text
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import parse_recipe
from bodygen.serve.answer.fields import groups_of
from bodygen.serve.mends.places import MendWay, ways
from bodygen.serve.mends.search import DoubtSeen, nearest
from bodygen.serve.mends.values import Changes, values

Findings = tuple[Finding, ...]
Pause = Callable[[], None]
Look = Callable[[Recipe, Pause], Findings]
BUSY = 3.0
"""How many others may want the same processor [-]."""
GRAVE = ("note", "warning", "error")


def _but_for_sureness(recipe: Recipe, pause: Pause) -> Findings:
    """Every doubt but those of the spread and of other ways to lie, which take longest."""
    a = assess_quickly(recipe)
    pause()
    dive = dive_of(a)
    doubts = (*dive.runs.refusals, *dive.runs.doubts) if dive else ()
    wished = goal_checks(held(answer_of(a), recipe.goal)) if recipe.goal else ()
    return (*a.findings, *wished, *hooks_of(a, dive), *doubts)


LOOKS: tuple[Look, ...] = (
    lambda recipe, _: shape(recipe)[1],
    lambda recipe, _: assess_quickly(recipe).findings,
    _but_for_sureness,
    lambda recipe, pause: assess(recipe, pause=pause).findings,
)
"""Ways to see a doubt, the cheapest first; the last sees all of them."""


@dataclass(frozen=True, slots=True)
class Mend:
    """What takes a doubt away: ``finding`` is its place among those of the assessment."""

    finding: int
    words: str
    changes: Changes


class LateError(Exception):
    """There is no time left to look for more."""


@dataclass(frozen=True, slots=True)
class MendTrial:
    """A recipe in which values are tried; ``pause`` is called before and within each, and may raise what ends it."""

    text: str
    file: str
    fields: Mapping[str, Mapping[str, Any]]
    pause: Pause

    def findings(self, changes: Changes, look: Look) -> Findings | None:
        """What is doubted of the changed recipe; None where no sound bait can be made of it."""
        self.pause()
        try:
            return look(parse_recipe(changed_text(self.text, changes), self.file), self.pause)
        except (InputError, DesignError):
            return None


def mends_of(before: Assessment, text: str, file: str, seconds: float, pause: Pause) -> Iterator[Mend]:
    """Mends for the doubts of an assessment, the gravest first, until the time is over.

    Parameters
    ----------
    before : Assessment
        Of the recipe ``text``, which lies, or would lie, at ``file``.
    seconds : float
        How long to work at it [s], and by the clock ``BUSY`` times as long: what was not found by then is not offered.
    pause : callable
        Called before and within every trial; what it raises ends the search.
    """
    at_work, by_the_clock = time.process_time() + seconds, time.monotonic() + BUSY * seconds

    def in_time() -> None:
        pause()
        if time.process_time() > at_work or time.monotonic() > by_the_clock:
            raise LateError

    recipe = before.recipe
    groups = groups_of(text, recipe.units, (), before.shaped.sizes[0])
    fields = {field["key"]: field for group in groups for field in group["fields"]}
    trial = MendTrial(text, file, fields, in_time)
    try:
        seen = [trial.findings({}, look) or () for look in LOOKS[:-1]] if before.findings else []
        for number, finding in enumerate(before.findings):
            cheap = (look for look, found in zip(LOOKS, seen, strict=False) if _holds(found, finding))
            look = next(cheap, LOOKS[-1])
            for way in ways(finding, recipe):
                changes = _found(trial, before, finding, way, look)
                if changes is not None:
                    yield Mend(number, words_of(way, changes, fields), changes)
                    break
    except LateError:
        return


def _found(trial: MendTrial, before: Assessment, finding: Finding, way: MendWay, look: Look) -> Changes | None:
    """The first value of a key that mends a doubt, in any of its directions; None for none."""
    found = []
    for row in values(way, trial.fields, before.recipe.units):

        def seen(place: int, row: Sequence[Changes] = row) -> DoubtSeen:
            doubts = trial.findings(row[place], look)
            return "broken" if doubts is None else _seen(finding, doubts, before.findings)

        at = nearest(len(row), _side(finding), seen)
        if at is not None and _mends(trial, before, finding, row[at]):
            found.append((at, row[at]))
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _holds(findings: Findings, finding: Finding) -> bool:
    return any(_same(one, finding) for one in findings)


def _same(one: Finding, other: Finding) -> bool:
    return (one.code, one.where) == (other.code, other.where)


def _seen(finding: Finding, found: Findings, before: Findings) -> DoubtSeen:
    still = [one for one in found if _same(one, finding)]
    if len(still) < sum(_same(one, finding) for one in before):
        return "gone"
    return _side(still[0])


def _side(finding: Finding) -> DoubtSeen:
    above = finding.value is not None and finding.limit is not None and finding.value > finding.limit
    return "above" if above else "below"


def _mends(trial: MendTrial, before: Assessment, finding: Finding, changes: Changes) -> bool:
    """Whether a doubt is gone once changes are put in, and no other has come that is as grave or graver."""
    found = trial.findings(changes, LOOKS[-1])
    if found is None or _seen(finding, found, before.findings) != "gone":
        return False
    grave = GRAVE[GRAVE.index(finding.severity) :]

    def counted(findings: Findings) -> Counter[tuple[str, str, str]]:
        return Counter((one.code, one.where, one.severity) for one in findings if one.severity in grave)

    return not counted(found) - counted(before.findings)


def words_of(way: MendWay, changes: Changes, fields: Mapping[str, Mapping[str, Any]]) -> str:
    """What a mend does, as its button says: ``Set depth of tail hanger to 9.5 mm``."""
    field, value = fields[way.key], changes[way.key]
    label = f"{field['label']} of {field['part']}" if field["part"] else str(field["label"])
    return f"Take out {label}" if value is None else f"Set {label} to {value}"
