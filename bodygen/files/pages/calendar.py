"""The coats by the day, as a page of text."""

from bodygen.assessment import Assessment
from bodygen.files.outcome import Outcome
from bodygen.folder.publish import Draft
from bodygen.report.calendar import FILE, calendar_text


def write_calendar(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001  the page names the recipe
    """Write the calendar; nothing where nobody says when the coats begin."""
    if a.calendar is None:
        return Outcome()
    text = calendar_text(a.calendar, a.recipe, a.shaped.sizes[0])
    draft.add(FILE, "each coat, mask, eye, lip and hook at its hour").write_text(text, encoding="utf-8", newline="\n")
    return Outcome()
