"""Everything that can be wrong with what a person wrote, as data first and words second.

``BodygenError`` is the one root; ``exit_code`` is what the command line returns for it.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Characters that a terminal obeys instead of showing: controls, line and direction marks; and halves of a pair."""


def visible(text: str, keep: str = "") -> str:
    r"""Show what a terminal would obey as its number, so that a file's name or text cannot draw on the screen.

    >>> visible("a\x1b[2Jb")
    'a\\x1b[2Jb'
    """
    return _UNSEEN.sub(lambda found: found[0] if found[0] in keep else ascii(found[0])[1:-1], text)


def did_you_mean(
    written: str, known: Iterable[str], shown: Callable[[str], str] = str, *, nearness: float = 0.6
) -> str:
    """The nearest of the known names as a sentence with a blank before it; nothing where none is near.

    ``shown`` is how a name is written there; ``nearness`` from 0, anything, to 1, the same [-].

    >>> did_you_mean("depht", ["length", "depth"])
    ' Did you mean depth?'
    """
    near = get_close_matches(written, list(known), n=1, cutoff=nearness)
    return f" Did you mean {shown(near[0])}?" if near else ""


def quoted(name: str) -> str:
    """As a text is written in a recipe."""
    return f'"{name}"'


class BodygenError(Exception):
    """Root of every error that bodygen raises on purpose."""

    exit_code = 3


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in an input file: where it stands, what was written, what would be accepted."""

    file: str
    line: int
    key: str
    written: str
    problem: str
    accepted: str = ""

    def __str__(self) -> str:
        """``file:line: key = written: problem`` and, indented below it, what is accepted."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        subject = f"{self.key} = {self.written}" if self.key and self.written else self.key or self.written
        head = ": ".join(part for part in (place, subject, self.problem) if part)
        return f"{visible(head)}\n    {visible(self.accepted)}" if self.accepted else visible(head)


def _nearest_line(key: str, lines: Mapping[str, int]) -> int:
    """Line of a key path, or of the table that it is in; 0 where there is neither."""
    while key and key not in lines:
        key = key[: max(key.rfind("."), key.rfind("["), 0)]
    return lines.get(key, 0)


class InputError(BodygenError):
    """The input or the command line is wrong: every mistake found, sorted by file and line."""

    exit_code = 2

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=lambda m: (m.file, m.line, m.key)))
        super().__init__("\n".join(str(m) for m in self.mistakes))

    def located(self, file: str, lines: Mapping[str, int]) -> "InputError":
        """The same, where mistakes of a recipe that is in no file have the place of the recipe it was made from."""
        return InputError([
            m if m.file else replace(m, file=file, line=_nearest_line(m.key, lines)) for m in self.mistakes
        ])


class DesignError(BodygenError):
    """The recipe reads well but no sound body can be made of it.

    ``where`` is the recipe's key path or the part, ``remedy`` what a maker can do; ``findings`` are the broken rules,
    as JSON has them, where there are several.
    """

    exit_code = 1

    def __init__(
        self, problem: str, where: str = "", remedy: str = "", findings: Sequence[Mapping[str, object]] = ()
    ) -> None:
        super().__init__(problem)
        self.where = where
        self.remedy = remedy
        self.findings = tuple(findings)

    def located(self, file: str, lines: Mapping[str, int]) -> "DesignError":
        """The same with the file and line that it is about, of the nearest key that the file has."""
        placed = Mistake(file, _nearest_line(self.where, lines), self.where, "", str(self), self.remedy)
        return DesignError(str(placed if self.where else self), self.where, self.remedy, self.findings)

    def document(self) -> dict[str, object]:
        """Give the JSON document: ``findings`` as those of ``properties.json``."""
        rule = {
            "code": "no-sound-body",
            "severity": "error",
            "where": self.where,
            "remedy": self.remedy or str(self),
            "value": None,
            "limit": None,
            "unit": "",
            "source": "common practice, no published source",
        }
        return {"format": 1, "error": str(self), "findings": [dict(f) for f in self.findings] or [rule]}
