"""The blank: round the body by what is left over, on whole steps, or as it lies on the bench."""

import numpy as np
import pytest

from bodygen.form.blank import Allowance, blank_of, default_allowance

LOW, HIGH = np.array([0.0, -7.9, -11.2]), np.array([70.0, 7.9, 10.6])


def test_every_face_stands_off_by_the_allowance_and_less_than_a_step_more():
    allowance = default_allowance("mm")
    blank = blank_of(LOW, HIGH, allowance)
    left = [*(LOW - blank.low), *(np.array(blank.high) - HIGH)]
    asked = [allowance.nose, allowance.flank, allowance.face, allowance.tail, allowance.flank, allowance.face]
    for over, least in zip(left, asked, strict=True):
        assert least <= over + 1e-6 < least + allowance.step + 1e-6


@pytest.mark.parametrize("units", ["mm", "in"])
def test_faces_lie_on_whole_steps_of_the_ruler(units):
    step = default_allowance(units).step
    blank = blank_of(LOW, HIGH, default_allowance(units))
    for at in (*blank.low, *blank.high):
        assert at / step == pytest.approx(round(at / step), abs=1e-9)


def test_a_blank_in_hand_is_used_as_it_is_with_the_body_in_its_middle():
    blank = blank_of(LOW, HIGH, Allowance(3, 3, 2, 2, 0.5), (80.0, 25.0, 20.0))
    assert blank.size == pytest.approx((80, 20, 25))
    assert blank.low[0] == pytest.approx(-3)
    assert (blank.low[1] + blank.high[1], blank.low[2] + blank.high[2]) == pytest.approx((0, -0.6))


def test_a_blank_too_small_is_a_warning_and_another_is_taken():
    blank = blank_of(LOW, HIGH, Allowance(3, 3, 2, 2, 0.5), (80.0, 20.0, 15.0))
    assert [f.code for f in blank.findings] == ["blank-too-small"]
    assert (np.array(blank.size) >= HIGH - LOW).all()
