"""What a change does, on the reference bait of the cases (invented): against the table worked out beside them."""

import tomllib
from dataclasses import dataclass, replace
from math import atan, degrees, radians
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodygen.dive.asked import DiveAsked
from bodygen.dive.attitude import Running, running
from bodygen.dive.estimate import Runs, estimated, modelled
from bodygen.dive.inputs import DiveInputs
from bodygen.dive.spread import Conditions, LipFamily
from bodygen.dive.what_if.effects import effects
from bodygen.recipe.model import Lip

TOW = Conditions("tow", 0.3, 20.0, 1.2, 0.0)
LIP = {
    "lip 1 mm longer": (-1.0, -0.3, 4, 1.9),
    "lip 1 mm wider": (-0.6, -0.2, 4, 2.0),
    "lip angle +5 deg (steeper)": (-0.5, -3.0, 1, -5),
}
"""The table's first rows: what is changed of the lip, with everything else of the bait held."""
TABLE = {
    "line tie 1 mm aft": (-1.5, -0.4, 2, 0.5),
    "line tie 1 mm up": (-1.0, -0.3, 2, 0.5),
    "weight 1 mm farther aft": (0.5, 0.1, -0.5, -0.2),
    "weight 1 mm lower": (0.3, 0.1, -0.5, -0.2),
    "1 g more where the weight lies": (1.2, 1.5, -1, 2),
    "the model's lip share +0.1": (-1.4, -0.4, 10, 5),
    "the model's turning factor +0.1": (-3.6, -1.0, 6, 1.3),
    "the model's cross-flow drag +0.1": (2.2, 1.8, 0, 3),
}
"""Pitch and line angle [deg], pull and depth [%], as the table prints them: to its last digit, or to a tenth."""


def reference_bait():
    """The bait of the attitude cases: a rectangle for a lip."""
    cases = tomllib.loads((Path(__file__).parent / "attitude_cases.toml").read_text(encoding="utf-8"))["case"]
    row = dict(next(case for case in cases if case["id"] == "attitude-tarn-perch-1.2")["given"])
    del row["model"], row["speed_m_s"]
    area = row["lip_length_mm"] * row["lip_width_mm"]
    return DiveInputs(**row, lip_area_mm2=area, lip_centroid_from_tip_mm=row["lip_length_mm"] / 2)


@pytest.fixture(scope="module")
def estimate():
    inputs = reference_bait()
    runs = Runs(inputs, running(inputs, 1.2, 0.0), LipFamily("shovel", "nose", 35.0))
    return estimated(runs, DiveAsked(TOW, 1.2))


def test_the_reference_bait_runs_as_deep_as_the_table_says(estimate):
    """2.70 m on 20 m of 0.30 mm line, told to two decimals."""
    assert estimate.modelled_m == pytest.approx(2.70, abs=0.005)


@pytest.mark.parametrize("what", TABLE)
def test_a_change_does_what_the_table_says(estimate, what):
    lipless = type("Recipe", (), {"lip": None})()  # the lip's own rows go through a recipe; these do not
    row = next(one for one in effects(estimate, lipless, lambda _: estimate) if one.what == what)
    _as_printed(row, TABLE[what])


@dataclass(frozen=True)
class OnlyALip:
    """As much of a recipe as the lip's rows ask for."""

    lip: Lip


@pytest.mark.parametrize("what", LIP)
def test_a_change_of_the_lip_does_what_the_table_says(estimate, what):
    """The reference bait has no recipe: its lip is laid back into the inputs as the rectangle that it is."""

    def again(bait):
        inputs = replace(
            estimate.runs.inputs,
            lip_length_mm=bait.lip.length,
            lip_width_mm=bait.lip.width,
            lip_area_mm2=bait.lip.length * bait.lip.width,
            lip_centroid_from_tip_mm=bait.lip.length / 2,
            lip_angle_deg=degrees(bait.lip.angle),
        )
        return estimated(Runs(inputs, running(inputs, 1.2, 0.0), estimate.runs.family), estimate.asked)

    bait = OnlyALip(Lip("polycarbonate", 1.5, radians(35), 8.0, 22.0, 18.0, x=6.0))
    row = next(one for one in effects(estimate, bait, again) if one.what == what)
    _as_printed(row, LIP[what])


def _as_printed(row, wanted):
    found = (row.pitch_deg, row.line_angle_deg, row.pull_percent, row.depth_percent)
    for value, printed, digit in zip(found, wanted, (0.1, 0.1, 1, 0.5), strict=True):
        assert value == pytest.approx(printed, abs=max(digit / 2, 0.1 * abs(printed)) + 1e-9)


@given(
    drag=st.floats(0.05, 2.0), steep=st.floats(0.05, 1.5), wide=st.floats(0.1, 0.6), out=st.floats(6.0, 60.0),
    more=st.floats(1.02, 1.5), tip=st.floats(0.0, 2.0), how=st.sampled_from(["tow", "retrieve"]),
)  # fmt: skip
def test_any_bait_runs_deeper_on_thinner_line_and_on_more_of_it(drag, steep, wide, out, more, tip, how):
    """Whatever pulls so: forces drawn at random, each on a line of its own."""
    pull = drag * (1 + steep**2) ** 0.5
    pulls = Running(radians(-20), radians(50), drag, drag * steep, pull, atan(steep), -1.0, drag, ())

    def depth(diameter, length):
        return modelled(pulls, Conditions(how, diameter, length, 1.2, tip), 998.0).depth

    here, thinner, longer = depth(wide, out), depth(wide / more, out), depth(wide, out * more)
    if here is not None:
        assert thinner is None or thinner > here
        assert longer is None or longer > here
