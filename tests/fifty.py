"""The demo's run of fifty pieces, planned once for all tests that look at it."""

from functools import cache
from pathlib import Path

from bodygen.study.batch.run import run_of
from bodygen.study.said.read import read_study

STUDY = Path(__file__).parents[1] / "params" / "studies" / "tarn-perch-fifty.toml"


@cache
def fifty():
    """The run as it is planned without a bench log."""
    return run_of(read_study(STUDY))
