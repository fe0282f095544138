"""What is done where the work is: a task's designs become rows, kept at once where the study's folder can be seen."""

from pathlib import Path

from bodygen.errors import BodygenError
from bodygen.study.engine.store import keep
from bodygen.study.rows.row import row_of
from bodygen.study.said.model import Design, Row, Study
from bodygen.version import VERSION

SIGN = ".sign"
"""A file of the folder of rows with a word of this run in it: who can read it sees the folder."""


class OtherVersionError(BodygenError):
    """A worker has another bodygen, whose rows would be others."""

    exit_code = 2


def work(
    study: Study, designs: tuple[Design, ...], folder: str, name: str, word: str, version: str
) -> list[Row] | None:
    """Work out a task.

    Parameters
    ----------
    study : Study
    designs : tuple of Design
    folder : str
        Of rows, as its path is where the run was begun.
    name : str
        What the rows' file is called.
    word : str
        What stands in ``SIGN`` there.
    version : str
        Of bodygen where the run was begun.

    Returns
    -------
    list of Row or None
        None where they were kept; else whoever asked keeps them.
    """
    if version != VERSION:
        msg = f"a worker has bodygen {VERSION}, and here it is {version}: install the same on both"
        raise OtherVersionError(msg)
    rows = [row_of(study, design) for design in designs]
    if not _sees(folder, word):
        return rows
    keep(Path(folder), name, rows)
    return None


def _sees(folder: str, word: str) -> bool:
    try:
        return (Path(folder) / SIGN).read_text(encoding="utf-8") == word
    except OSError:
        return False
