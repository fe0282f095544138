"""The order of work: a box to tick at each step, the reading expected and a box for the real one, in two columns.

A caution stands in full at the first step that it belongs to, beside a letter; later steps name that letter.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from string import ascii_uppercase

from bodygen.assessment import Assessment
from bodygen.export.page_pdf import width_of
from bodygen.plane.page import Mark, printable
from bodygen.report.card.lettering import BETWEEN, SMALLEST, Cell, Row, broken, paged
from bodygen.report.card.steps import WATER, WOOD_WORK, WorkStep
from bodygen.tables import load
from bodygen.units import mass_texts

COLUMNS, GAP = 2, 6.0
"""How many columns, and how far apart [mm]."""
TICK, BOX = 3.8, 17.0
"""Width of the box to tick and of the box for the real reading [mm]."""
TALL = 4.6
"""Height of the box for the real reading [mm]."""
PAD = 0.45
"""Above and below the words of a row [mm]."""
NOTES, MOST_NOTES = 9.0, 60.0
"""Height of the box for what the next one should have otherwise: at least, and where there is room [mm]."""
LEAST_REST = 20.0
"""Of a line so much must be left for words to run on behind the bold ones [mm]."""
HEAD = 3.5
"""Size of a day's words [mm]."""
UNDATED = (WOOD_WORK, WATER)
ONE_OF = re.compile(r", \d+ of \d+$")
"""Ends what is one of several coats."""
HOW = "take care as the letters in brackets say: each caution stands once in full, beside its letter"


def order_pages(a: Assessment, steps: Sequence[WorkStep], box: tuple[float, float, float, float]) -> list[list[Mark]]:
    """Lay the steps into a box (left, top, right, bottom) [mm], on as many pages as they need."""
    left, top, right, low = box
    whole = (right - left - (COLUMNS - 1) * GAP) / COLUMNS
    rows, day, letters, today = list[Row](), "", dict[str, str](), set[str]()
    before, weighs = WorkStep("", ""), any(step.stage for step in steps)  # of several baits readings stand elsewhere
    for step in steps:
        told = step
        if step.day != day or step.day in UNDATED:
            today = set()
        if step.day != day:
            day = step.day
            if day not in UNDATED and sum(one.day == day for one in steps) == 1:
                told = replace(step, what=f"{day}  {step.what}")
            else:
                rows.append(_day(day, whole, first=weighs and not rows))
        if step.says and step.says == before.says and step.coat == before.coat and ONE_OF.search(step.what):
            told = replace(told, says=("as the one before",))
        before = step
        rows += _rows(a, told, whole - TICK - BETWEEN, letters, today)
    asked = Cell(("The board in hand, and what the next one should have otherwise:",), whole)
    rows += [
        Row((asked,), rule=True, head=True, pad=PAD),
        Row((Cell((), whole, frame=True),), least=NOTES, grows=MOST_NOTES, pad=PAD),
    ]
    return paged(rows, [left + i * (whole + GAP) for i in range(COLUMNS)], top, low)


def _day(day: str, whole: float, *, first: bool) -> Row:
    """A day, or what goes before the first; the first names what stands beside the boxes, too."""
    if not first:
        return Row((Cell((day,), whole, HEAD, bold=True),), head=True, pad=PAD)
    wide = width_of(day, HEAD, bold=True) + 0.1
    should = Cell(("should read",), whole - wide - BOX - 2 * BETWEEN)
    return Row((Cell((day,), wide, HEAD, bold=True), should, Cell(("reads",), BOX)), head=True, pad=PAD)


def _rows(a: Assessment, step: WorkStep, wide: float, letters: dict[str, str], today: set[str]) -> Iterator[Row]:
    """One step: what to do, what the scale should read then, its cautions.

    ``letters``: of the cautions that stand in full by now, by their keys; ``today``: those that were named on this day
    already.
    """
    new = [key for key in step.keys if key not in letters]
    again = [letters[key] for key in step.keys if key in letters and key not in today]
    letters.update({key: _letter(len(letters) + i) for i, key in enumerate(new)})
    today.update(step.keys)
    care = f" ({','.join(sorted(again, key=_rank))})" if again else ""
    lead = _lead(step.what, f"{'; '.join(step.says)}{care}", wide)
    rows = [*lead, *_readings(a, step, wide)]
    together = max(len(lead), len(rows) - 1)  # what to do is never parted from its readings
    table = load("cautions")["caution"]
    for key in new:
        words = Cell((f"{table[key]['title']}: {table[key]['text']}",), wide)
        rows.append(Row((Cell((letters[key],), TICK, bold=True), words), pad=PAD))
    for place, row in enumerate(rows):
        runs_on = place in range(1, len(lead))
        yield replace(
            row, rule=place == 0, head=place < together and place + 1 < len(rows), pad=0.0 if runs_on else PAD
        )


def _letter(number: int) -> str:
    """A, B, ... Z, AA, BB, ..."""
    return ascii_uppercase[number % 26] * (number // 26 + 1)


def _rank(letter: str) -> tuple[int, str]:
    return len(letter), letter


def _lead(what: str, says: str, wide: float) -> list[Row]:
    """What to do with its box to tick; what is to say of it runs on behind that where there is room, else below."""
    tick = Cell((), TICK, frame=True)
    name, colon, more = " ".join(what.split()).partition(": ")  # as it is printed, so that its width is its own
    name, says = name + colon.strip(), f"{more}{'; ' if more and says[:1] not in {'', ' '} else ''}{says}".strip()
    bold = width_of(name, SMALLEST, bold=True) + 0.1
    rest = wide - bold - BETWEEN
    if not says or rest < LEAST_REST:
        cells = [Cell((text,), wide, bold=text is name) for text in (name, says) if text]
        rows = [Row((tick, cells[0]), least=TICK)]
        return [*rows, *(Row((Cell((), TICK), cell)) for cell in cells[1:])]
    first, *_ = broken(says, rest)
    rows = [Row((tick, Cell((name,), bold, bold=True), Cell((first,), rest)), least=TICK)]
    if below := printable(says)[len(first) :].strip():
        rows.append(Row((Cell((), TICK), Cell((below,), wide))))
    return rows


def _readings(a: Assessment, step: WorkStep, wide: float) -> list[Row]:
    """What should be read after a step, on the scale first, each with a box for what is; none where nothing is."""
    reads = list(step.reads)
    for stage in a.weighed.stages:
        if stage.name == step.stage:
            first, *others = mass_texts(stage.mass, a.recipe.units)
            reads.insert(0, (f"{stage.name} {first}", " ".join([*others, f"± {stage.tolerance:.2f} g"])))
    return [_reading(*read, wide) for read in reads]


def _reading(should: str, near: str, wide: float) -> Row:
    bold = width_of(should, SMALLEST, bold=True) + 0.1
    about = Cell((near,) if near else (), wide - bold - BOX - 2 * BETWEEN)
    return Row((Cell((), TICK), Cell((should,), bold, bold=True), about, Cell((), BOX, frame=True)), least=TALL)
