"""The lip as a plate: worked cases, and Eiffel's readings of 1911 within the misfit of the fit."""

from math import radians

import numpy as np
import pytest
from dive_cases import cases

from bodygen.dive.plate import normal_coefficient, pressure_centre

# G. Eiffel, La resistance de l'air et l'aviation (1911), pp. 42-50: his ratios to the plate square to the wind at 6,
# 12, 20 degrees and at the first maximum, times his own coefficient there (1.06 of a square, 1.095 at aspect 1.5,
# 1.12 at 2).
# Read in a machine transcription. K_v and the fall-off were fitted to these: they show how large the misfit is.
EIFFEL = [
    (1.0, 6, 0.212),
    (1.0, 12, 0.466),
    (1.0, 20, 0.848),
    (1.0, 30, 1.31),
    (1.0, 37.5, 1.54),
    (1.5, 6, 0.230),
    (1.5, 12, 0.515),
    (1.5, 20, 0.898),
    (1.5, 26, 1.20),
    (2.0, 6, 0.291),
    (2.0, 12, 0.594),
    (2.0, 20, 1.019),
    (2.0, 21, 1.04),
]


@pytest.mark.parametrize("case", cases("plate"), ids=lambda case: case["id"])
def test_the_plate_gives_the_worked_coefficient_and_pressure_centre(case):
    given, angle = case["given"], radians(case["given"]["incidence_deg"])
    cn = float(normal_coefficient(given["aspect_ratio"], angle))
    assert cn == pytest.approx(case["expect"]["cn"], rel=case["tolerance"]["rel"])
    centre = float(pressure_centre(1.0, 0.5, angle))
    assert centre == pytest.approx(case["expect"]["x_cp_over_c"], rel=case["tolerance"]["rel"])


@pytest.mark.parametrize(("aspect", "degrees", "read"), EIFFEL)
def test_the_plate_is_as_near_to_eiffels_readings_as_the_fit_says(aspect, degrees, read):
    within = 0.08 if degrees > 15 else 0.14  # the table's note: 8 % above 15 degrees, 14 % anywhere
    # the readings above have three digits at most
    assert float(normal_coefficient(aspect, radians(degrees))) == pytest.approx(read, rel=within + 0.005)


def test_a_square_peaks_where_eiffels_did():
    degrees = np.arange(20, 60, 0.5)
    values = normal_coefficient(1.0, np.radians(degrees))
    assert degrees[np.argmax(values)] == pytest.approx(37.5, abs=1.5)  # he read 37 to 38
    assert values.max() == pytest.approx(1.54, rel=0.08)


@pytest.mark.parametrize("aspect", [0.4, 0.7, 1.0, 2.0, 3.0])
def test_the_force_turns_with_the_side_that_the_water_comes_from(aspect):
    angles = np.radians([1.0, 20.0, 60.0, 89.0])
    ahead, behind = normal_coefficient(aspect, angles), normal_coefficient(aspect, -angles)
    assert (ahead > 0).all()
    np.testing.assert_allclose(behind, -ahead)


def test_the_coefficient_at_small_angles_is_the_wings_slope():
    # Helmbold, as in Hoerner, Fluid-Dynamic Lift (recalled): 2 pi A / (2 + sqrt(A^2 + 4)); A = 1.5: 2.094
    small = 1e-5
    assert float(normal_coefficient(1.5, small)) / small == pytest.approx(2.0944, rel=1e-3)


def test_the_pressure_centre_moves_from_a_fifth_to_the_middle_and_follows_the_outline():
    assert float(pressure_centre(10.0, 5.0, 0.0)) == pytest.approx(2.0)
    assert float(pressure_centre(10.0, 5.0, np.pi / 2)) == pytest.approx(5.0)
    assert float(pressure_centre(10.0, 4.0, np.pi / 2)) == pytest.approx(4.0)  # a lip that is wide at its tip
