"""A row of a table becomes a dataclass by the names of its fields alone."""

from dataclasses import dataclass
from math import pi

import pytest

from bodygen.tables import as_row


@dataclass(frozen=True, slots=True)
class Sprue:
    """Two fields of which one's name begins like the other's, as in a mould."""

    gate: float
    gate_share: float
    draft: float
    shrink: float
    vents: tuple[float, ...]
    count: int = 2


ROW = {"gate_mm": 5.0, "gate_share": 0.4, "draft_deg": 90.0, "shrink_percent": 3.0, "vents_mm": [1.0, 2.0]}


def test_a_field_is_found_by_its_name_and_read_by_the_unit_behind_it():
    assert as_row(Sprue, ROW) == Sprue(5.0, 0.4, pi / 2, 0.03, (1.0, 2.0), 2)


def test_a_field_that_is_given_is_not_looked_for():
    assert as_row(Sprue, ROW, gate=6.0, count=3) == Sprue(6.0, 0.4, pi / 2, 0.03, (1.0, 2.0), 3)


@pytest.mark.parametrize(
    ("rows", "told"),
    [([{}], "nowhere"), ([ROW, {"gate_mm": 7.0}], "twice"), ([{**ROW, "draft_rad": 1.0, "draft_mm": 1.0}], "twice")],
)
def test_a_field_that_is_in_no_row_or_in_two_is_told(rows, told):
    with pytest.raises(KeyError, match=told):
        as_row(Sprue, *rows)
