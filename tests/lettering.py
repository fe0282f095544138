"""What stands on a page, and where."""

from bodygen.plane.page import Label


def label_boxes(page):
    """Each lettering of a page with the room it takes [mm]."""
    return tuple((mark.text, mark.box) for mark in page.marks if isinstance(mark, Label))
