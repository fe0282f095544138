"""The page: its markers lie where the layout says, once printed, and are read by who did not write them."""

import numpy as np
import pdfplumber
import pytest

from bodygen.cli import main
from bodygen.scan.photo.page import marker_page, page_of, papers
from bodygen.scan.photo.page_pdf import write_page

DOTS = 150 / 25.4
"""Of the rendered page [px/mm]."""


def rendered(page, folder):
    """The printed page as a picture, its size and its lines' widths [mm], by another program than wrote it."""
    path = folder / "page.pdf"
    write_page(page, path)
    with pdfplumber.open(path) as pdf:
        (sheet,) = pdf.pages
        size = float(sheet.width) * 25.4 / 72, float(sheet.height) * 25.4 / 72
        bars = [round((line["x1"] - line["x0"]) * 25.4 / 72, 2) for line in sheet.lines]
        return np.asarray(sheet.to_image(resolution=150).original.convert("RGB")), size, bars


@pytest.mark.parametrize("paper", papers())
def test_every_marker_is_read_where_the_layout_has_it(paper, tmp_path):
    """Within a pixel and a half, 0.25 mm: corners that are not refined are whole pixels of a smoothed edge."""
    import cv2

    page = marker_page(paper)
    picture, size, _ = rendered(page, tmp_path)
    assert size == pytest.approx((page.width, page.height))
    finder = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
    corners, numbers, _ = finder.detectMarkers(np.ascontiguousarray(picture))
    assert sorted(numbers.ravel()) == sorted(page.numbers)
    for found, number in zip(corners, numbers.ravel(), strict=True):
        at = (found[0] + 0.5) / DOTS * (1, -1) + (0, page.height)
        assert at == pytest.approx(page.corners[list(page.numbers).index(number)], abs=0.25)


def test_the_middle_has_one_colour_and_nothing_in_it(tmp_path):
    page = marker_page("a4")
    picture, _, _ = rendered(page, tmp_path)
    x0, y0, x1, y1 = page.middle
    rows = slice(round((page.height - y1) * DOTS) + 2, round((page.height - y0) * DOTS) - 2)
    inner = picture[rows, round(x0 * DOTS) + 2 : round(x1 * DOTS) - 2]
    assert np.ptp(inner.reshape(-1, 3).astype(int), axis=0).max() <= 1


def test_its_bars_are_as_long_as_they_say(tmp_path):
    _, _, bars = rendered(marker_page("letter"), tmp_path)
    assert sorted({*bars} - {0.0}) == [50.0, 50.8]


def test_a_marker_says_which_page_it_is_of():
    for paper in papers():
        assert page_of(marker_page(paper).numbers[:1]).paper == paper
    assert page_of(np.array([585])) is None


def test_the_command_writes_a_page_and_never_over_one(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["trace", "page"]) == 0
    assert capsys.readouterr().out == "trace-page-a4.pdf\n"
    first = (tmp_path / "trace-page-a4.pdf").read_bytes()
    assert main(["trace", "page"]) == 2
    assert "is there already" in capsys.readouterr().err
    assert main(["trace", "page", "--paper", "letter"]) == 0
    write_page(marker_page("a4"), tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == first
    assert {p.name for p in tmp_path.iterdir()} == {"again.pdf", "trace-page-a4.pdf", "trace-page-letter.pdf"}
