"""Each doubt speaks when its limit is passed, and not before."""

import numpy as np
import pytest
import trimesh

from bodygen.flotation.checks import flotation_checks
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull


@pytest.fixture
def block():
    mesh = trimesh.creation.box((80, 20, 20))
    return build_hull([Shell(np.array(mesh.vertices), np.array(mesh.faces))])


def codes(hull, mass, centre, **said):
    checks = flotation_checks(find_attitudes(hull, mass, centre, 1.0), centre, tuple(hull.centroid), 20.0, **said)
    return {doubt.code: doubt for doubt in checks}


def test_a_low_weight_leaves_nothing_to_say(block):
    assert codes(block, 20.0, (0.0, 0.0, -6.0), meant="floats", has_lip=True) == {}


def test_one_that_is_not_what_it_was_meant_to_be_is_told_with_its_reserve(block):
    doubt = codes(block, 33.0, (0.0, 0.0, -6.0), meant="floats")["state-not-as-meant"]
    assert (doubt.value, doubt.unit) == (pytest.approx(-1.0), "g")
    assert doubt.remedy == (
        "meant to be one that floats, but it sinks with -1.00 g of reserve: "
        "take out ballast, or use lighter wood or a fuller body"
    )


def test_a_tender_one_and_a_top_heavy_one_are_told(block):
    """Draught 17.5 mm of 20: BM = w^2 / (12 T) = 1.905 mm, B at -1.25; GM = 0.255 mm with G at 0.4 mm."""
    found = codes(block, 28.0, (0.0, 0.0, 0.4))
    assert found["gm-small"].value == pytest.approx(20**2 / (12 * 17.5) - 1.25 - 0.4, abs=1e-6)
    assert found["gm-small"].limit == pytest.approx(0.6)
    assert "GM is 0.25 mm, 1.3 % of the depth" in found["gm-small"].told("mm")
    assert "GM is 1/64 in (0.010), 1.3 % of the depth" in found["gm-small"].told("in")
    assert found["ballast-high"].value == pytest.approx(0.4, abs=1e-6)


def test_one_that_turns_over_from_back_up_is_told(block):
    """A square log afloat with its weight above: it comes to rest back down; with the weight below it stays."""
    found = codes(block, 16.0, (0.0, 1.0, 6.0))["rests-rolled"]
    assert abs(found.value) > 150
    assert (found.limit, found.unit) == (45.0, "deg")
    assert "rests-rolled" not in codes(block, 16.0, (0.0, 1.0, -6.0))


def test_nose_up_matters_only_with_a_lip(block):
    tail = (36.0, 0.0, -5.0)
    assert "nose-up" not in codes(block, 20.0, tail)
    assert codes(block, 20.0, tail, has_lip=True)["nose-up"].value > 45


def test_a_second_rest_far_from_the_first_is_told(block):
    doubt = codes(block, 28.0, (0.0, 0.0, 0.4))["two-attitudes"]
    rests = find_attitudes(block, 28.0, (0.0, 0.0, 0.4), 1.0)
    between = np.dot(rests.attitude.up, rests.others[0].up)
    assert doubt.value == pytest.approx(np.degrees(np.arccos(between)), abs=1e-6)
    assert doubt.value > doubt.limit == 20.0
