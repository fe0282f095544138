"""Everything that can be wrong with what a person wrote, as data first and words second.

``BodygenError`` is the one root; ``exit_code`` is what the command line returns for it (contract section 3).
"""

from collections.abc import Sequence
from dataclasses import dataclass


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
        head = f"{place}: {subject}: {self.problem}" if subject else f"{place}: {self.problem}"
        return f"{head}\n    {self.accepted}" if self.accepted else head


class InputError(BodygenError):
    """The input or the command line is wrong: every mistake found, sorted by file and line."""

    exit_code = 2

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=lambda m: (m.file, m.line, m.key)))
        super().__init__("\n".join(str(m) for m in self.mistakes))


class DesignError(BodygenError):
    """The recipe reads well but no sound body can be made of it."""

    exit_code = 1
