"""Designs of which none is better than another in everything wished.

A front is found by epsilon constraints (Haimes, Lasdon and Wismer 1971): the first measure is made small while each
other may not be worse than a value, and that value goes in steps from its best to what the first alone would cost.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from bodygen.study.search.pool import Pool
from bodygen.study.search.space import Floats, Point
from bodygen.study.search.task import Cap, Task
from bodygen.study.search.wishes import Wished, value_of

STEPS = 9
"""Places along a front that are looked for by themselves."""


def undominated(values: Floats) -> list[int]:
    """Rows (n, measures) that no other row equals or betters in everything; of equal rows the first.

    >>> undominated(np.array([[1.0, 4.0], [2.0, 2.0], [3.0, 3.0], [2.0, 2.0], [4.0, 1.0]]))
    [0, 1, 4]
    """
    kept: list[int] = []
    # in the order of their sums no row is bettered by a later one
    for i in sorted(range(len(values)), key=lambda i: (float(np.sum(values[i])), i)):
        if not any(np.all(values[k] <= values[i]) for k in kept):
            kept.append(i)
    return sorted(kept)


def measured(pool: Pool, points: Sequence[Point], measures: Sequence[tuple[Wished, ...]]) -> Floats:
    """Every measure (points, measures) of designs that were tried; infinite where one failed."""
    rows = [[value_of(pool.tried[p], measure) for measure in measures] for p in points]
    return np.array(rows).reshape(len(points), len(measures))


def front_of(task: Task, pool: Pool, points: Sequence[Point], measures: Sequence[tuple[Wished, ...]]) -> list[Point]:
    """Those within all limits that no other betters, in the order of the last measure."""
    inside = [p for p in points if task.rank(pool.tried[p])[0] == 0.0]
    values = measured(pool, inside, measures)
    kept = [i for i in undominated(values) if np.all(np.isfinite(values[i]))]
    return [inside[i] for i in sorted(kept, key=lambda i: (*values[i][::-1],))]


def along(task: Task, pool: Pool, measures: Sequence[tuple[Wished, ...]]) -> list[Task]:
    """The tasks whose answers lie along the front: the first measure, each other one at most a step of its range.

    Nothing where one design is best in everything, or none is within the limits.
    """
    front = front_of(task, pool, list(pool.tried), measures)
    if len(front) < 2:
        return []
    values = measured(pool, front, measures)
    low, high = values.min(axis=0), values.max(axis=0)
    count = max(2, round(STEPS ** (1 / (len(measures) - 1)))) if len(measures) > 2 else STEPS
    steps = [np.linspace(low[k], high[k], count + 1)[1:] for k in range(1, len(measures))]
    scales = np.where(high > low, high - low, 1.0)
    return [
        replace(
            task,
            measure=measures[0],
            caps=tuple(Cap(measures[k + 1], float(most[k]), float(scales[k + 1])) for k in range(len(most))),
        )
        for most in product(*steps)
    ]
