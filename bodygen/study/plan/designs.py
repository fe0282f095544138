"""The designs of a plan, one after the other and never all at once.

Points lie in the unit cube, a side for each varied key and one for the boards; a range takes a point as it is, a list
by equal parts, a normal distribution by its inverse. The points are SciPy's: Latin hypercube, Sobol' sequence, plain
chance. The same seed gives the same designs.
"""

from collections.abc import Iterable, Iterator
from itertools import islice, product
from math import floor
from typing import Any, TypeVar

from bodygen.study.said.model import Design, Normal, Plan, Range, Study, Values, Varied
from bodygen.study.said.varied import DENSITY
from bodygen.study.said.written import level, levels, written

Thing = TypeVar("Thing")
TOGETHER = 1024
"""Points that are drawn at once; a power of two, as Sobol's sequence is even in such parts."""


def designs_of(study: Study, plan: Plan) -> Iterator[Design]:
    """Give a plan's designs in their order, numbered from 1."""
    if plan.how == "grid":
        return _grid(study)
    return (design_at(study, number, point) for number, point in enumerate(_points(study, plan), start=1))


def design_at(study: Study, number: int, point: Any) -> Design:  # noqa: ANN401  an array or a list
    """Make the design at a point of the unit cube, whose sides are the varied keys, then the boards."""
    texts = [text_at(one, float(point[side])) for side, one in enumerate(study.varied)]
    board = _part(float(point[-1]), len(study.boards)) if study.boards else None
    return design_of(study, number, texts, board)


def design_of(study: Study, number: int, texts: list[str], board: int | None) -> Design:
    """Make a design of a text for each varied key and the place of its board, counted from 0."""
    changes = tuple((one.key, text) for one, text in zip(study.varied, texts, strict=True))
    if board is None:
        return Design(number, changes)
    chosen = study.boards[board]
    return Design(number, (*changes, (DENSITY, f"{chosen.density:.9g}")), chosen.name)


def text_at(one: Varied, share: float) -> str:
    """Give what a varied key becomes at a share of its spread [0 to 1], as text of a recipe.

    >>> text_at(Varied("lip.angle", Range(35.0, 45.0), "deg", "lip_angle_deg"), 0.5)
    '40 deg'
    """
    match one.spread:
        case Values(texts=texts):
            return texts[_part(share, len(texts))]
        case Range(low=low, high=high):
            if one.whole:  # each whole number as often as another
                return str(min(floor(low + share * (high - low + 1)), round(high)))
            return written(one, low + share * (high - low))
        case Normal() as normal:
            return written(one, _normal_at(normal, share))


def _normal_at(normal: Normal, share: float) -> float:
    """Give the value below which a share of the cut distribution lies."""
    from scipy.special import ndtr, ndtri

    low, high = (float(ndtr((end - normal.mean) / normal.deviation)) for end in (normal.low, normal.high))
    value = normal.mean + normal.deviation * float(ndtri(low + share * (high - low)))
    return min(max(value, normal.low), normal.high)


def _part(share: float, parts: int) -> int:
    return min(int(share * parts), parts - 1)


def _samples(base: int, sides: int, seed: int) -> Iterator[Any]:
    """Two samples that do not depend on each other, then the first with one side at a time from the second."""
    from scipy.stats import qmc

    both = qmc.Sobol(2 * sides, scramble=True, rng=seed).random(base)
    first, second = both[:, :sides], both[:, sides:]
    yield from first
    yield from second
    for side in range(sides):
        mixed = first.copy()
        mixed[:, side] = second[:, side]
        yield from mixed


def _grid(study: Study) -> Iterator[Design]:
    """Every value with every other; the last key changes fastest."""
    sides = [range(levels(one) or 1) for one in study.varied]
    boards = range(len(study.boards)) if study.boards else (None,)
    for number, (*places, board) in enumerate(product(*sides, boards), start=1):
        texts = [level(one, int(place or 0)) for one, place in zip(study.varied, places, strict=True)]
        yield design_of(study, number, texts, board)


def _points(study: Study, plan: Plan) -> Iterator[Any]:
    """Draw the points, part by part; a Latin hypercube is a whole, eight bytes for each key of a design."""
    from scipy.stats import qmc

    sides = len(study.varied) + bool(study.boards)
    if plan.how == "latin_hypercube":
        yield from qmc.LatinHypercube(sides, rng=study.seed).random(plan.designs)
        return
    if plan.base:
        yield from _samples(plan.base, sides, study.seed)
        return
    if plan.how == "sobol":
        sequence = qmc.Sobol(sides, scramble=True, rng=study.seed)
        parts = min(TOGETHER, plan.designs)
        for _ in range(plan.designs // parts):
            yield from sequence.random(parts)
        return
    import numpy as np  # noqa: PLC0415  as above

    chance = np.random.default_rng(study.seed)
    for _ in range(plan.designs):
        yield chance.random(sides)


def in_parts(things: Iterable[Thing], count: int) -> Iterator[tuple[Thing, ...]]:
    """Put so many at a time together, as they come; the last part may be smaller."""
    coming = iter(things)
    while part := tuple(islice(coming, count)):
        yield part
