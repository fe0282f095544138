"""The three angles of a lip on its drawing: each by what it is measured from, and right for the solid that is cut."""

from dataclasses import replace
from math import acos, degrees, radians

import numpy as np
import pytest
from shaped import recipe, shaped

from bodygen.form.cuts import slot_of
from bodygen.plane.shapes import Text
from bodygen.shop.lip.plate import lip_plate
from bodygen.shop.lip.sheet import angle_lines, nominal_drawing
from bodygen.units import length_text

LIP = recipe("tarn-perch-70").lip


def _figures(lip):
    return [float(line.partition(":")[2].split(" deg")[0].split()[-1]) for line in angle_lines(lip)]


@pytest.mark.parametrize(("name", "face"), [("tarn-perch-70", (0, 0, 1)), ("fell-reed-110", (1, 0, 0))])
def test_the_saw_leans_as_the_slot_does_from_the_face_that_it_enters(name, face):
    along = np.array(slot_of(shaped(name).tools).along)
    plate, saw, block = _figures(recipe(name).lip)
    assert saw == pytest.approx(degrees(acos(float(along @ face))), abs=0.05)  # told to a tenth
    assert plate == block == pytest.approx(degrees(acos(float(along[0]))), abs=0.05)


def test_a_slot_beyond_straight_down_runs_ahead():
    _, saw, block = angle_lines(replace(LIP, angle=radians(100)))
    assert "10.0 deg" in saw
    assert saw.endswith("runs ahead")
    assert block.endswith("none, it would be a needle")


@pytest.mark.parametrize(("degrees_", "none"), [(3.0, True), (45.0, False), (88.0, True)])
def test_no_block_is_told_where_none_is_made(degrees_, none):
    assert ("needle" in angle_lines(replace(LIP, angle=radians(degrees_)))[2]) == none


def test_the_drawing_has_all_three_in_lines_of_their_own():
    plate, _ = lip_plate(LIP, 10.0)
    drawn = nominal_drawing(plate, LIP, "perch", lambda mm: length_text(mm, "mm"), "")
    said = [item.label for layer in drawn.layers for item in layer.items if isinstance(item, Text)]
    assert [line for line in said if line in angle_lines(LIP)] == list(angle_lines(LIP))
