"""Answers that follow from one thing and some values, kept as long as that thing is.

A body gets one of these: a bore that is as it was need not be cut from it again. Nothing is kept by time or on disk.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import partial
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

    def each(self, keys: Sequence[Hashable], make: Callable[[list[Any]], Iterable[Answer]]) -> list[Answer]:
        """The answers for several keys; those that are not known are made together, in the order of their keys.

        Examples
        --------
        >>> kept, asked = Kept(), []
        >>> squares = lambda numbers: asked.append(numbers) or [n * n for n in numbers]
        >>> kept.each([2, 3, 2], squares), kept.each([3, 4], squares), asked
        ([4, 9, 4], [9, 16], [[2, 3], [4]])
        """
        answers = {key: self._answers[key] for key in keys if key in self._answers}
        new = [key for key in dict.fromkeys(keys) if key not in answers]
        if new:
            answers |= dict(zip(new, make(new), strict=True))
            for key in new:
                self.of(key, partial(answers.__getitem__, key))
        return [answers[key] for key in keys]
