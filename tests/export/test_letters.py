"""Names as people write them, read back from the PDF by another program: letters, and the room that they take."""

import pdfplumber
import pytest

from bodygen.export.letters import printed_width, runs_of
from bodygen.export.page_pdf import width_of, write_pages
from bodygen.plane.page import Label, PaperPage
from bodygen.plane.tiles import paper_named

NAME = "Łódź Окунь Ἑλλάς 70"


def test_a_name_in_other_letters_is_printed_as_it_is_written_where_its_width_says(tmp_path):
    page = PaperPage(210.0, 297.0, "names", "", (Label(NAME, (200.0, 20.0), 5.0, "right", bold=True),))
    for file in ("n.pdf", "again.pdf"):
        write_pages([page], [], tmp_path / file, paper_named("a4"), NAME)
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "n.pdf").read_bytes()
    with pdfplumber.open(tmp_path / "n.pdf") as pdf:
        chars = pdf.pages[0].chars
    assert "".join(char["text"] for char in chars) == NAME
    left, right = (edge(char[key] for char in chars) * 25.4 / 72 for edge, key in ((min, "x0"), (max, "x1")))
    assert right == pytest.approx(200.0, abs=0.01)  # the file writes hundredths of a point
    assert right - left == pytest.approx(width_of(NAME, 5.0, bold=True), abs=0.02)


def test_words_that_need_no_other_face_are_set_as_ever():
    assert runs_of("Öhr Ø5 “q” 70", "Helvetica") == [("Helvetica", "Öhr Ø5 “q” 70")]
    assert runs_of("", "Helvetica") == []


def test_letters_that_are_joined_or_read_from_the_right_and_those_of_no_face_are_marked_as_missing():
    """Set one by one they would be wrong; a question mark says that something is not there."""
    assert runs_of("سمكة 鱸 7", "Helvetica") == [("Helvetica", "???? ? 7")]
    assert printed_width("鱸", "Helvetica", 1.0) == printed_width("?", "Helvetica", 1.0)
