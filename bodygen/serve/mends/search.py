"""The first of a row of values that takes a doubt away, in as few looks as doubling steps and halving need.

Knows no recipe: what a look at a value says is handed in.
"""

from collections.abc import Callable
from typing import Literal

DoubtSeen = Literal["gone", "below", "above", "broken"]
"""What a look at a value says of a doubt: gone, still there below or above its limit, or no sound bait at all."""


def nearest(count: int, now: DoubtSeen, look: Callable[[int], DoubtSeen]) -> int | None:
    """The least place among ``count`` at which the doubt is gone, as far as steps that double can tell; None for none.

    ``now`` is how it is before the first place. Where the doubt goes over to its limit's other side between two places,
    what lies between them is halved.

    >>> nearest(100, "above", lambda place: "gone" if place >= 37 else "above")
    37
    >>> nearest(100, "above", lambda place: "gone" if place == 41 else "above" if place < 41 else "below")
    41
    >>> nearest(30, "above", lambda place: "broken" if place > 2 else "above") is None
    True
    """
    bad, stride, last = -1, 1, count - 1
    while bad < last:
        at = min(bad + stride, last)
        seen = look(at)
        if seen == "broken":
            last, stride = at - 1, max(1, stride // 2)
        elif seen == "gone":
            return _halved(bad, at, look)
        elif seen != now:
            return _between(bad, at, now, look)
        else:
            bad, stride = at, stride * 2
    return None


def _halved(bad: int, good: int, look: Callable[[int], DoubtSeen]) -> int:
    while good - bad > 1:
        middle = (bad + good) // 2
        if look(middle) == "gone":
            good = middle
        else:
            bad = middle
    return good


def _between(low: int, high: int, now: DoubtSeen, look: Callable[[int], DoubtSeen]) -> int | None:
    """Between two places on the two sides of a limit."""
    while high - low > 1:
        middle = (low + high) // 2
        seen = look(middle)
        if seen == "gone":
            return _halved(low, middle, look)
        if seen == now:
            low = middle
        else:
            high = middle
    return None
