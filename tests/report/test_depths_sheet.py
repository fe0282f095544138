"""The picture of how deep it runs: bands are the estimate's under other conditions, bars as long as what changes do."""

from dataclasses import replace
from pathlib import Path

import pytest

import bodygen
from bodygen.assessment import estimate_of, runs_of
from bodygen.cli import main
from bodygen.dive.asked import conditions_asked
from bodygen.dive.spread import DiveReading
from bodygen.dive.what_if.curves import depth_curves
from bodygen.files.pictures import _depths, depths_page
from bodygen.files.single import write_picture
from bodygen.plane.page import Label, Stroke, bounds
from bodygen.report.dive import is_not, signed_text
from bodygen.units import FT_PER_M

PARAMS = Path(__file__).parents[2] / "params"


@pytest.fixture(scope="module", params=["tarn-perch-70", "fell-reed-110"])
def drawn(request):
    a = bodygen.assess(bodygen.read_recipe(PARAMS / f"{request.param}.toml"))
    dive = bodygen.estimate_dive(a)
    return a, dive, depths_page(a, dive.estimate, dive.effects)


def strokes(page, part):
    return [m for m in page.marks if isinstance(m, Stroke) and m.part.startswith(part)]


def test_a_curve_is_what_is_told_under_each_of_its_conditions(drawn):
    a, dive, _ = drawn
    by_line, by_speed = depth_curves(dive.estimate, lambda speed: runs_of(a, speed))
    for curve, option in ((by_line, "line_out"), (by_speed, "speed")):
        unit = "m" if option == "line_out" else "m/s"
        assert curve.now in curve.values
        for value, depth in list(zip(curve.values, curve.depths, strict=True))[::9]:
            asked = conditions_asked(a.recipe, {option: f"{value!r} {unit}"})
            told = estimate_of(a, asked).depth
            assert (depth is None) == (told is None)
            assert depth is None or depth.likely == pytest.approx(told.likely, rel=1e-9)
        assert dict(zip(curve.values, curve.depths, strict=True))[curve.now] == dive.estimate.depth


def test_far_from_measured_dives_the_band_is_wide_again(drawn):
    a, dive, _ = drawn
    e = dive.estimate
    read = DiveReading("1", "2031-03-09", e.runs.family, e.asked.conditions, 2.0, 2.0)
    taught = estimate_of(a, e.asked, [read])
    (by_line, _) = depth_curves(taught, lambda speed: runs_of(a, speed))
    wide = {value: depth.high / depth.low for value, depth in zip(by_line.values, by_line.depths, strict=True) if depth}
    assert wide[by_line.now] < wide[by_line.values[-1]]


def test_the_band_holds_the_likely_depth_and_the_dot_lies_on_it(drawn):
    _, _, page = drawn
    for band, likely, dot in zip(
        strokes(page, "range"), strokes(page, "likely"), strokes(page, "now")[1:], strict=True
    ):
        count = len(likely.points)
        high, low = band.points[:count], band.points[:count:-1] + band.points[count : count + 1]
        assert all(l[1] < m[1] < h[1] for h, m, l in zip(high, likely.points, low, strict=True))  # down the page
        assert tuple(sum(v) / 4 for v in zip(*dot.points, strict=True)) in [pytest.approx(at) for at in likely.points]


def test_depths_are_drawn_to_the_axis(drawn):
    """By the figures at the axis: the likely depth as asked, on both charts, in m or in ft."""
    a, dive, page = drawn
    metres = 1.0 if a.recipe.units == "mm" else FT_PER_M
    for dot, frame in zip(strokes(page, "now")[1:], strokes(page, "axes"), strict=True):
        left = frame.points[0][0]
        at = {float(m.text): m.at[1] for m in page.marks if isinstance(m, Label) and _beside(m, left, frame)}
        (one, two), y = sorted(at)[:2], sum(point[1] for point in dot.points) / 4
        per = (at[two] - at[one]) / (two - one)
        assert (y - frame.points[0][1]) / per == pytest.approx(metres * dive.estimate.depth.likely, rel=1e-6)


def _beside(m, left, frame):
    (_, top), (_, bottom) = frame.points[0], frame.points[2]
    return m.anchor == "right" and left - 12 < m.at[0] < left and top - 1 < m.at[1] < bottom + 2


def test_bars_are_as_long_as_what_changes_do_the_largest_first(drawn):
    _, dive, page = drawn
    told = {row.what: row.depth_percent for row in dive.effects}
    bars = {m.part.removeprefix("bar "): m.points[1][0] - m.points[0][0] for m in strokes(page, "bar ")}
    assert list(bars) == sorted(told, key=lambda what: -abs(told[what]))
    per = next(iter(bars.values())) / told[next(iter(bars))]
    assert bars == pytest.approx({what: per * much for what, much in told.items()}, abs=1e-9)
    texts = [m.text for m in page.marks if isinstance(m, Label)]
    assert all(f"{signed_text(much)} %" in texts for much in told.values())


def test_all_of_it_lies_on_the_page_and_it_says_what_the_estimate_is_not(drawn):
    _, _, page = drawn
    x0, y0, x1, y1 = bounds(page.marks)
    assert min(x0, y0) >= 0
    assert (x1, y1) <= (page.width, page.height)
    assert is_not() in " ".join(m.text for m in page.marks if isinstance(m, Label))


def test_a_picture_is_of_the_kind_that_its_name_says(drawn, tmp_path):
    for name, start in (("a.png", b"\x89PNG"), ("a.SVG", b"<?xml")):
        write_picture(drawn[2], tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(start)
    assert len(list(tmp_path.iterdir())) == 2


def test_a_build_draws_it_where_a_depth_is_told(tmp_path):
    recipe = bodygen.read_recipe(PARAMS / "tarn-perch-70.toml")
    bodygen.build(recipe, tmp_path, "told", only="pictures")
    assert {"depths.svg", "depths.png"} <= {path.name for path in (tmp_path / "told").iterdir()}
    assert not _depths(bodygen.assess(replace(recipe, line=None)))


def test_the_command_draws_what_was_asked_of_it(tmp_path, capsys):
    picture, roach = tmp_path / "deep.svg", str(PARAMS / "reedbed-roach-65.toml")
    asked = ["dive", roach, "--line", "0.2 mm", "--speed", "1 m/s", "--tip", "0.5", "--picture"]
    assert main([*asked, str(picture), "--line-out", "20 m"]) == 0
    assert "20.0 m of 0.20 mm line out" in picture.read_text(encoding="utf-8")
    assert main([*asked, str(tmp_path / "none.svg"), "--line-out", "3 m"]) == 1
    assert not (tmp_path / "none.svg").exists()
    assert "was not drawn" in capsys.readouterr().err
    assert main([*asked, str(tmp_path / "roach.toml"), "--line-out", "20 m"]) == 2
    assert main([*asked, str(tmp_path / "nowhere" / "a.svg"), "--line-out", "20 m"]) == 2
