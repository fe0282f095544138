"""The second page: the order of work, a box to tick at each step, the reading expected and a box for the real one.

A caution stands in full at the first step that it belongs to, and by its title at later ones.
"""

from collections.abc import Sequence

from bodygen.assessment import Assessment
from bodygen.plane.page import Mark
from bodygen.report.card.lettering import BETWEEN, Cell, Row, paged
from bodygen.report.card.steps import WATER, WOOD_WORK, WorkStep
from bodygen.tables import load
from bodygen.units import mass_texts

TICK, READ, BOX = 4.5, 27.0, 25.0
"""Width of the box to tick, of the reading and of the box for the real one [mm]."""
UNDATED = (WOOD_WORK, WATER)
HEAD = 4.0
"""Size of a day's or heading's words [mm]."""


def order_pages(a: Assessment, steps: Sequence[WorkStep], box: tuple[float, float, float, float]) -> list[list[Mark]]:
    """Lay the steps into a box (left, top, right, bottom) [mm], on as many pages as they need."""
    left, top, right, low = box
    wide = right - left - TICK - READ - BOX - 3 * BETWEEN
    heads = ("", "", "should read", "reads")
    widths = (TICK, wide, READ, BOX)
    rows = [Row(tuple(Cell((text,) if text else (), w, bold=True) for text, w in zip(heads, widths, strict=True)))]
    day, told, today = "", set[str](), set[str]()
    for step in steps:
        if step.day in UNDATED:
            today = set()
        if step.day != day:
            day, today = step.day, set()
            rows.append(Row((Cell((day,), right - left, HEAD, bold=True),), head=True))
        rows += _rows(a, step, wide, told, today)
    rows += [
        Row((Cell(("The board in hand, and what the next one should have otherwise:",), right - left),), rule=True),
        Row((Cell((), right - left, frame=True),), least=14.0),
    ]
    return paged(rows, left, top, low)


def _rows(a: Assessment, step: WorkStep, wide: float, told: set[str], today: set[str]) -> list[Row]:
    """One step: what to do with its boxes; then its cautions.

    ``told``: those that stand in full by now; ``today``: those that were named on this day already.
    """
    stage = next((one for one in a.weighed.stages if one.name == step.stage), None)
    reading: tuple[Cell, ...] = Cell((), READ), Cell((), BOX)
    if stage is not None:
        first, *others = mass_texts(stage.mass, a.recipe.units)
        near = " ".join([*others, f"± {stage.tolerance:.2f} g"])
        reading = Cell((f"{stage.name}", first, near), READ), Cell((), BOX, frame=True)
    keys = [key for key in step.keys if key not in told]
    again = [key for key in step.keys if key in told and key not in today]
    told.update(keys)
    today.update(step.keys)
    does = Cell((step.what, *step.says), wide, lead=True)
    rows = [Row((Cell((), TICK, frame=True), does, *reading), rule=True, least=TICK, head=bool(keys or again))]
    table = load("cautions")["caution"]
    for key in keys:
        text = f"Take care. {table[key]['title']}: {table[key]['text']}"
        rows.append(Row((Cell((), TICK), Cell((text,), wide + READ + BOX + 2 * BETWEEN))))
    if again:
        text = f"Take care, as above: {'; '.join(table[key]['title'] for key in again)}"
        rows.append(Row((Cell((), TICK), Cell((text,), wide + READ + BOX + 2 * BETWEEN))))
    return rows
