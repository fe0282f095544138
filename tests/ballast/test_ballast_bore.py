"""Plain bores: mass and depth are each other's inverse, and each tip is what a solid of revolution says."""

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodygen.ballast.bore import bore_mass, bore_volume, depth_for_mass, tip_length
from bodygen.errors import DesignError

TIPS = st.sampled_from(["twist", "flat", "ball"])
ENDS = st.sampled_from(["shoulder", "point"])


@given(st.floats(2, 15), st.floats(1, 40), TIPS, ENDS)
def test_the_depth_for_a_bores_mass_is_the_bores_depth(diameter, depth, tip, depth_to):
    """Down to a ball's own cap, whose volume has no closed inverse and is refused."""
    if tip == "ball" and depth_to == "point" and depth < diameter / 2:
        return
    mass = bore_mass(diameter, depth, "lead", tip, depth_to)
    assert depth_for_mass(mass, diameter, "lead", tip, depth_to) == pytest.approx(depth, rel=1e-9)


@given(st.floats(2, 15), st.floats(1, 40), TIPS, ENDS)
def test_a_bores_room_is_its_profile_turned_about_its_axis(diameter, depth, tip, depth_to):
    """Sum of discs, 20,000 of them; a ball's vertical tangent costs them the last digits."""
    r, reach = diameter / 2, tip_length(diameter, tip)
    bottom = depth + (reach if depth_to == "shoulder" else 0)
    s = (np.arange(20000) + 0.5) / 20000 * bottom
    above = bottom - s  # distance from the bottom
    if tip == "flat":
        radius = np.full_like(s, r)
    elif tip == "twist":
        radius = np.minimum(r, r * above / reach)
    else:
        radius = np.where(above < r, np.sqrt(np.maximum(r**2 - (r - above) ** 2, 0)), r)
    discs = pi * (radius**2).sum() * bottom / 20000
    assert bore_volume(diameter, depth, tip, depth_to) == pytest.approx(discs, rel=1e-4)


def test_less_than_the_point_holds_is_refused_with_what_it_holds():
    with pytest.raises(
        DesignError, match=r"0\.1 g of lead is less than the drill's end alone holds, 0\.45 g: take a thin"
    ):
        depth_for_mass(0.1, 7.9375, "lead", "twist", "shoulder")


def test_a_bore_of_no_size_is_refused():
    with pytest.raises(DesignError, match="is none"):
        bore_volume(0, 5)
