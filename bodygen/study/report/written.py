"""``report.html`` beside a study's table."""

from pathlib import Path

from bodygen.folder.single_file import write_whole
from bodygen.study.report.page import page_of
from bodygen.study.report.told import StudyTold

REPORT = "report.html"


def write_report(told: StudyTold, folder: Path, files: tuple[str, ...]) -> Path:
    """Write the page, whole or not at all; ``files`` are the names of what lies beside it."""
    path = folder / REPORT
    write_whole(path, page_of(told, files).encode(), "what a study tells")
    return path
