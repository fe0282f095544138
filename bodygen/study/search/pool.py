"""Every design that was tried, once: what was worked out for one aim serves all others."""

from collections.abc import Callable, Sequence

from bodygen.study.search.space import Point
from bodygen.study.search.wishes import Figures

Evaluate = Callable[[Sequence[Point]], Sequence[Figures | None]]
"""A batch of designs to their figures in the same order; None for one that failed."""


class AllTriedError(Exception):
    """As many designs were tried as may be."""


class Pool:
    """Designs with their figures in the order in which they were first asked for, at most ``most`` of them."""

    def __init__(self, evaluate: Evaluate, most: int) -> None:
        self._evaluate = evaluate
        self.most = most
        self.tried: dict[Point, Figures | None] = {}

    def __len__(self) -> int:
        return len(self.tried)

    @property
    def left(self) -> int:
        """How many more may be tried."""
        return self.most - len(self.tried)

    def figures(self, points: Sequence[Point]) -> list[Figures | None]:
        """Figures of a batch; what was tried before is not tried again.

        Raises
        ------
        AllTriedError
            Not all of them may be tried any more; those that may were.
        """
        new = list(dict.fromkeys(point for point in points if point not in self.tried))
        allowed = new[: max(self.left, 0)]
        if allowed:
            self.tried.update(zip(allowed, self._evaluate(allowed), strict=True))
        if len(allowed) < len(new):
            raise AllTriedError
        return [self.tried[point] for point in points]
