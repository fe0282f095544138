"""What the counter of docstrings takes for a function that computes, and for units, a source and an example."""

import ast
import runpy
from pathlib import Path

import pytest

COUNTER = runpy.run_path(str(Path(__file__).parents[1] / ".ci" / "handbook.py"))


@pytest.mark.parametrize(
    ("signature", "counted"),
    [
        ("width: float) -> float", True),
        ("count: int) -> str", True),
        ("recipe: Recipe) -> Body", True),
        ("recipe: Recipe) -> tuple[Finding, ...]", True),
        ("offer: 'Offer') -> tuple[Finding, ...]", True),
        ("bore: Bore) -> str", False),
        ("findings: Iterable[Finding]) -> tuple[Finding, ...]", False),
        ("tip: Tip, depth_to: Literal['shoulder', 'point']) -> str", False),
    ],
)
def test_what_takes_or_gives_a_figure_computes_and_a_text_about_a_part_does_not(signature, counted):
    (function,) = ast.parse(f"def asked({signature}: ...").body
    assert COUNTER["computes"](function) is counted


@pytest.mark.parametrize("text", ["Depth [mm].", "Spread [mm^2 to mm^5].", "A share [-].", "Speed [m/s]."])
def test_a_unit_stands_in_brackets(text):
    assert COUNTER["SAYS"]["units"].search(text)


@pytest.mark.parametrize("text", ["Depth in mm.", "The key [bore].", "Between [0, 1].", "It is [given]."])
def test_other_brackets_are_no_units(text):
    assert not COUNTER["SAYS"]["units"].search(text)
