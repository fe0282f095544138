"""The picture of the bait as it runs: arrows as long as their forces, where they act, and a table that adds up."""

from math import atan2, degrees, hypot, radians
from pathlib import Path

import pytest

from bodygen.assessment import dive_inputs
from bodygen.dive.attitude import acting, running
from bodygen.pipeline import assess
from bodygen.plane.page import Label, Stroke, bounds
from bodygen.recipe.read import read_recipe
from bodygen.report.dive import is_not
from bodygen.report.pictures.drawn.running import running_sheet

PARAMS = Path(__file__).parents[2] / "params"
SPEED = 1.1


@pytest.fixture(scope="module", params=["tarn-perch-70", "fell-reed-110"])
def drawn(request):
    a = assess(read_recipe(PARAMS / f"{request.param}.toml"))
    inputs, _ = dive_inputs(a)
    found = running(inputs, SPEED, radians(a.flotation.attitude.pitch_deg))
    return inputs, found, running_sheet(a, inputs, SPEED, found)


def _arrows(page, name):
    """Start and end of each shaft that shows a force."""
    return [m.points for m in page.marks if isinstance(m, Stroke) and m.part == f"force {name}" and len(m.points) == 2]


def _way(shaft):
    (x0, y0), (x1, y1) = shaft
    return x1 - x0, y0 - y1  # up the page is up


def test_every_arrow_is_as_long_as_its_force_and_points_its_way(drawn):
    inputs, found, page = drawn
    (pull,) = _arrows(page, "pull")
    per_n = hypot(*_way(pull)) / found.pull
    assert degrees(atan2(_way(pull)[1], -_way(pull)[0])) == pytest.approx(degrees(found.line_angle), abs=1e-6)
    for act in acting(inputs, SPEED, found.pitch):
        if act.name != "hook":  # the shortest are in the table alone
            (shaft,) = _arrows(page, act.name)
            assert _way(shaft) == pytest.approx((float(act.along) * per_n, float(act.up) * per_n), abs=1e-6)


def test_arrows_begin_where_the_forces_act(drawn):
    inputs, found, page = drawn
    acts = {act.name: act for act in acting(inputs, SPEED, found.pitch)}
    (weight,), (buoyancy,) = _arrows(page, "weight"), _arrows(page, "buoyancy")
    apart = hypot(*(g - b for g, b in zip(acts["weight"].at, acts["buoyancy"].at, strict=True)))
    on_paper = hypot(weight[0][0] - buoyancy[0][0], weight[0][1] - buoyancy[0][1])
    (lip,), (pull,) = _arrows(page, "lip"), _arrows(page, "pull")
    tie_to_lip = hypot(*(float(a) - b for a, b in zip(acts["lip"].at, inputs.tie_mm, strict=True)))
    assert on_paper / apart == pytest.approx(hypot(lip[0][0] - pull[0][0], lip[0][1] - pull[0][1]) / tie_to_lip)


def test_the_nose_points_down_as_far_as_it_runs(drawn):
    _, found, page = drawn
    (axis,) = [m.points for m in page.marks if isinstance(m, Stroke) and m.part == "body axis"]
    (x0, y0), (x1, y1) = axis
    assert degrees(atan2(y1 - y0, x1 - x0)) == pytest.approx(degrees(found.pitch), abs=1e-6)


def test_the_table_adds_up_to_nothing(drawn):
    _, _, page = drawn
    labels = [m for m in page.marks if isinstance(m, Label)]
    (last,) = [m for m in labels if m.text == "all together"]
    assert [m.text for m in labels if m.at[1] == last.at[1] and m is not last] == ["0", "0", "0"]
    rows = {m.at[1] for m in labels if m.at[0] == last.at[0] and m.at[1] < last.at[1]}
    columns = {}
    for m in labels:
        if m.at[1] in rows and m.anchor == "right":
            columns.setdefault(m.at[0], []).append(float(m.text))
    # each figure is rounded to its last digit, of which there are seven
    for (_, figures), digit in zip(sorted(columns.items()), (1e-3, 1e-3, 1e-2), strict=True):
        assert sum(figures) == pytest.approx(0, abs=len(figures) / 2 * digit)


def test_all_of_it_lies_on_the_page(drawn):
    _, _, page = drawn
    x0, y0, x1, y1 = bounds(page.marks)
    assert min(x0, y0) >= 0
    assert (x1, y1) <= (page.width, page.height)


def test_the_page_says_what_the_estimate_is_not(drawn):
    _, _, page = drawn
    assert is_not() in " ".join(m.text for m in page.marks if isinstance(m, Label))
