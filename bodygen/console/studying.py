"""The words of the command that works out a study. Computes nothing."""

from argparse import ArgumentTypeError
from pathlib import Path
from typing import Any

from bodygen.console.completion import completes

Commands = Any
"""What argparse's ``add_subparsers`` returns; it has no public name."""


def add_study(to: Commands) -> None:
    """Add ``study``: many designs of one recipe, each a row of a table."""
    about = "many designs of one recipe, each a row of a table"
    study = to.add_parser("study", help=about, description=f"{about[0].upper()}{about[1:]}.")
    completes(study.add_argument("study", type=Path, metavar="STUDY", help="a study's file (TOML)"), "files")
    out = study.add_argument(
        "--out", type=Path, default=Path("out"), metavar="DIR", help="folder to make the study's own in (default: out)"
    )
    completes(out, "folders")
    who = study.add_mutually_exclusive_group()
    workers = (
        "processes that work (default: one for each core); 1 is this very process, and so is a handful of designs: one "
        "that hangs is told there, and given up on only where several work"
    )
    who.add_argument("--workers", type=_count, metavar="N", help=workers)
    who.add_argument("--scheduler", metavar="ADDRESS", help='workers of this dask scheduler instead: "tcp://HOST:PORT"')
    study.add_argument("--resume", action="store_true", help="go on from the rows that are there")
    study.add_argument("--replace", action="store_true", help="begin anew, and let a table that is there go")
    study.add_argument("--take", type=int, metavar="ROW", help="write the recipe of this row here, and nothing else")
    readings = study.add_argument(
        "--readings",
        type=Path,
        metavar="FILE",
        help="take the filled-in readings of a run of pieces back, into the log",
    )
    completes(readings, "files")
    study.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")
    study.add_argument("--allow-outside", action="store_true", help="let study and recipe name files anywhere")


def _count(written: str) -> int:
    """Read how many; less than one is no number of processes."""
    if not written.isdigit() or int(written) < 1:
        msg = f"{written} is no number of processes"
        raise ArgumentTypeError(msg)
    return int(written)
