"""What was worked out, on disk: one file for each task, named after all that its rows follow from.

A file appears whole or not at all, so whatever is there is right, and a run that begins again takes it. Knows nothing
of who works.
"""

import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.study.said.model import Design, Row, Study

if sys.platform != "win32":
    import fcntl

ROWS = "rows"
SCRATCH = ".working"
"""What processes that work here leave beside the rows while they do."""
_LOCK = ".lock"


def name_of(study: Study, designs: Sequence[Design]) -> str:
    """Name the file of some designs' rows: the same for the same study, recipe, program and designs, and no other."""
    said = [[design.number, design.board, *design.changes] for design in designs]
    return f"{sha256(json.dumps([study.sha256, said]).encode()).hexdigest()[:32]}.jsonl"


def keep(folder: Path, name: str, rows: Sequence[Row]) -> None:
    """Write rows under a name; another process that does the same at this moment writes the same.

    Raises
    ------
    BodygenError
        They cannot be written.
    """
    draft = folder / f".{name}.{os.getpid()}.part"
    try:
        draft.write_text("".join(f"{json.dumps(row)}\n" for row in rows), encoding="utf-8")
        draft.replace(folder / name)
    except OSError as error:
        msg = f"{folder}: the rows were not written: {error.strerror or error}"
        raise BodygenError(msg) from error
    finally:
        draft.unlink(missing_ok=True)


def kept(folder: Path, name: str, count: int) -> list[Row] | None:
    """Read so many rows back; None where they were not worked out, or a failing disk left something else."""
    try:
        lines = (folder / name).read_text(encoding="utf-8").splitlines()
        rows: list[Row] = [json.loads(line) for line in lines]
    except (FileNotFoundError, ValueError):
        return None
    return rows if len(rows) == count else None


def clear(folder: Path) -> None:
    """Forget all that was worked out."""
    for path in folder.iterdir():
        if path.suffix in {".jsonl", ".part"}:
            path.unlink(missing_ok=True)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Be the one run that works in a folder; a kill lets go of it.

    Raises
    ------
    InputError
        Another one does.
    """
    if sys.platform == "win32":
        yield
        return
    with (folder / _LOCK).open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            problem = "another run of this study is at work here."
            raise InputError([Mistake(str(folder), 0, "", "", problem, "wait for it, or another --out")]) from error
        yield
