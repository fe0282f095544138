"""Answers that follow from one thing and some values, kept as long as that thing is.

A body gets one of these: a bore that is as it was need not be cut from it again. Nothing is kept by time or on disk.
"""

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

Answer = TypeVar("Answer")
MOST = 400
"""More than the cuts of any bait that is tried over and over; the oldest go."""


class Kept:
    """Answers by what they follow from, ``most`` of them; what raises is not kept."""

    __slots__ = ("_answers", "_most")

    def __init__(self, most: int = MOST) -> None:
        self._answers: dict[Hashable, Any] = {}
        self._most = most

    def of(self, key: Hashable, make: Callable[[], Answer]) -> Answer:
        """The answer for a key, made the first time; the key's first word says what it is of.

        Examples
        --------
        >>> kept = Kept()
        >>> kept.of(("square", 3), lambda: 9), kept.of(("square", 3), lambda: 1 / 0)
        (9, 9)
        """
        if key in self._answers:
            known: Answer = self._answers[key]
            return known
        answer = make()
        while len(self._answers) >= self._most:
            del self._answers[next(iter(self._answers))]
        self._answers[key] = answer
        return answer
