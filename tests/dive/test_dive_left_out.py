"""What the estimate leaves out of a bait on purpose, and how little that is beside its range."""

from dataclasses import replace
from math import log, pi, radians
from pathlib import Path

import pytest

import bodygen
from bodygen.assessment import dive_inputs
from bodygen.dive.attitude import running
from bodygen.dive.estimate import modelled
from bodygen.dive.spread import Conditions
from bodygen.tables import load

PARAMS = Path(__file__).parents[2] / "params"
TOW = Conditions("tow", 0.3, 20.0, 1.1, 1.0)
RANGE = log(1.57)
"""Either end of the uncalibrated range: exp(1.2816 * 0.35) = 1.57."""


@pytest.mark.parametrize("name", ["tarn-perch-70", "fell-reed-110", "reedbed-roach-65"])
def test_coats_and_rings_move_a_depth_by_little_of_its_range(name):
    """Coats of 0.3 mm on every side of the silhouettes; at each hook a ring #3, its two turns as if each stood alone.

    Less than a fifteenth of the range for the coats, an eighth for the rings; most of it is the same
    from bait to bait of one bench, and what its dives teach takes that in.
    """
    a = bodygen.assess(bodygen.read_recipe(PARAMS / f"{name}.toml"))
    inputs, _ = dive_inputs(a)
    long, deep, thick = a.shaped.base_body.sizes
    coated = replace(
        inputs,
        frontal_area_mm2=inputs.frontal_area_mm2 * (1 + 0.6 / deep) * (1 + 0.6 / thick),
        plan_area_mm2=inputs.plan_area_mm2 * (1 + 0.6 / long) * (1 + 0.6 / thick),
    )
    ring = next(row for row in load("hardware")["split_ring"]["sizes"] if row["size"] == "#3")
    wire = (ring["outside_mm"] - ring["inside_mm"]) / 2
    drag = 1.1 * 0.589 * wire * 2 * pi * (ring["outside_mm"] - wire)
    hooks = inputs.hooks_x_z_cda_mm_mm_mm2
    ringed = replace(inputs, hooks_x_z_cda_mm_mm_mm2=(*hooks, *((x, z, drag) for x, z, _ in hooks)))
    now, coats, rings = (_depth(one, radians(a.flotation.attitude.pitch_deg)) for one in (inputs, coated, ringed))
    assert abs(log(coats / now)) < RANGE / 15
    assert abs(log(rings / now)) < RANGE / 8


def _depth(inputs, rest):
    return modelled(running(inputs, TOW.speed_m_s, rest), TOW, inputs.water_kg_m3).depth
