"""Designs to rows: what was worked out before is taken, the rest is worked out and kept, part by part."""

from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

from bodygen.study.engine.store import keep, kept, name_of
from bodygen.study.rows.row import row_of
from bodygen.study.said.model import Design, Row, Study

TOGETHER = 16
"""Designs of a task: some two seconds of work, beside which handing it over costs nothing."""


def run(study: Study, designs: Iterable[Design], folder: Path, *, together: int = TOGETHER) -> Iterator[Row]:
    """Give the row of each design, in their order.

    Parameters
    ----------
    study : Study
    designs : iterable of Design
        Taken as they are needed, never all at once.
    folder : Path
        Where rows are kept, and found again.
    together : int
        Designs of a task.
    """
    for part in parts(designs, together):
        name = name_of(study, part)
        rows = kept(folder, name, len(part))
        if rows is None:
            rows = [row_of(study, design) for design in part]
            keep(folder, name, rows)
        yield from rows


def parts(designs: Iterable[Design], together: int) -> Iterator[tuple[Design, ...]]:
    """Put designs together as tasks have them."""
    coming = iter(designs)
    while part := tuple(islice(coming, together)):
        yield part
