"""What is done where the work is: a task's designs become rows, kept at once where the study's folder can be seen."""

from pathlib import Path

from bodygen.errors import BodygenError
from bodygen.study.engine.hands import other_program, this_program
from bodygen.study.engine.store import keep
from bodygen.study.rows.row import row_of
from bodygen.study.said.model import Design, Row, Study

SIGN = ".sign"
"""A file of the folder of rows with a word of this run in it: who can read it sees the folder."""


class OtherProgramError(BodygenError):
    """A worker has another program, whose rows would be others."""

    exit_code = 2


def work(
    study: Study, designs: tuple[Design, ...], folder: str, name: str, word: str, asked_by: tuple[str, str]
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
    asked_by : tuple of str
        Version and checksum of the program where the run was begun.

    Returns
    -------
    list of Row or None
        None where they were kept; else whoever asked keeps them.

    Raises
    ------
    OtherProgramError
        This worker, which may have come when the others were looked at already, has another program.
    """
    if asked_by != this_program():
        from distributed import get_worker

        raise OtherProgramError("\n    ".join(other_program(this_program(), asked_by, [get_worker().address])))
    try:
        rows = [row_of(study, design) for design in designs]
        if not _sees(folder, word):
            return rows
        keep(Path(folder), name, rows)
    except (BodygenError, OSError):
        raise
    except Exception as error:  # noqa: BLE001  whatever it is
        # what goes back must be sure to pass: an error that cannot be sent is never heard of
        msg = f"a task failed: {type(error).__name__}: {error}"
        raise BodygenError(msg) from None
    return None


def _sees(folder: str, word: str) -> bool:
    try:
        return (Path(folder) / SIGN).read_text(encoding="utf-8") == word
    except OSError:
        return False
