"""Measured rows: the surface passes every one, round, pointed and plane ends are told apart."""

from math import sqrt

import numpy as np
import pytest

from bodygen.errors import InputError
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.fairing.shape import body_of, shape_checks
from bodygen.form.fairing.stations import offsets_of
from bodygen.form.section import superellipse_area
from bodygen.recipe.model import Recipe, Stations
from bodygen.recipe.read import read_recipe


def through(rows):
    """The body through rows of (x, top, bottom, half width, squareness)."""
    return skin_through(offsets_of(Stations("rows.csv", tuple(rows))))


def rows_of(size, count, low=0.0, lift=0.0):
    """Rows of an outline size(share), 60 x 20 x 14 mm, the middle line rising by ``lift``."""
    shares = np.linspace(low, 1 - low, count)
    return [
        (60 * t, 10 * size(s) + lift * s, -10 * size(s) + lift * s, 7 * size(s), 2 + s)
        for s, t in zip(shares, (shares - low) / (1 - 2 * low), strict=True)
    ]


ENDS = {
    "round": lambda s: sqrt(max(0.0, 1 - (2 * s - 1) ** 2)),
    "pointed": lambda s: 1 - (2 * s - 1) ** 2,
    "plane": lambda s: 0.5 + 0.5 * (1 - (2 * s - 1) ** 2),
}


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("count", [5, 7, 20, 60])
def test_the_surface_passes_every_row(end, count):
    """Back, belly and flank at each row's own x within 1e-6 mm; five rows are the fewest."""
    rows = rows_of(ENDS[end], count, lift=3.0)
    body = through(rows)
    x, top, bottom, half_width, _ = np.array(rows).T
    belly, back = body.heights_at(x)
    np.testing.assert_allclose(back, top, atol=1e-6)
    np.testing.assert_allclose(belly, bottom, atol=1e-6)
    np.testing.assert_allclose(body.half_width_at(x), half_width, atol=1e-6)


@pytest.mark.parametrize(("end", "flat"), [("round", False), ("pointed", False), ("plane", True)])
def test_a_sized_end_is_plane_and_a_closed_one_a_point(end, flat):
    body = through(rows_of(ENDS[end], 9))
    assert (body.nose_flat, body.tail_flat) == (flat, flat)


def test_a_round_end_opens_like_an_ellipse_and_a_pointed_one_straight():
    """The height grows like x^(1/2) or like x: four times the x, nearly twice or four times the height.

    Nearly, by the outline itself: x (60 - x) at 0.4 over that at 0.1 mm, or its root. Between its 40 rows, 1.5 mm
    apart, the surface is its own, so 0.5 %.
    """
    parabola = 0.4 * 59.6 / (0.1 * 59.9)
    for end, growth in (("round", sqrt(parabola)), ("pointed", parabola)):
        belly, back = through(rows_of(ENDS[end], 40)).heights_at(np.array([0.1, 0.4]))
        assert (back[1] - belly[1]) / (back[0] - belly[0]) == pytest.approx(growth, rel=0.005)


def test_many_rows_written_to_a_hundredth_are_round_or_pointed_by_more_than_their_last_digit():
    """801 rows of 60 mm, a cone and an ellipse 12 mm deep: the cone's first two rows read 0.02 and 0.03."""
    x = np.linspace(0, 60, 801)
    for outline, round_nose in ((10 * np.minimum(x, 60 - x) / 30, False), (10 * np.sqrt(1 - (x / 30 - 1) ** 2), True)):
        height = np.round(outline * 0.6, 2)
        rows = tuple(zip(x, height, -height, height, np.full(801, 2.0), strict=True))
        table = offsets_of(Stations("rows.csv", rows))
        assert (table.nose_round, table.tail_round) == (round_nose, round_nose)


def test_sparse_rows_of_an_ellipsoid_still_come_near_it():
    """Seven rows 10 mm apart: the fair line between them is a drawing, not the ellipse: 3 % of the depth."""
    body = through(rows_of(ENDS["round"], 7))
    x = np.linspace(1, 59, 59)
    _, back = body.heights_at(x)
    np.testing.assert_allclose(back, 10 * np.sqrt(1 - (x / 30 - 1) ** 2), atol=0.6)


HALVES = ((3.0, 0.4), (2.6, 0.42), (2.2, 0.45), (2.0, 0.5), (2.5, 0.6), (3.0, 0.55), (3.0, 0.5))
"""Of seven rows: squareness of the lower half, the widest line's share of the depth."""


def test_each_half_has_its_own_squareness_and_the_widest_line_its_height():
    """A quarter of squareness n has the area of its superellipse: DLMF 5.14.1."""
    rows = tuple(rows_of(ENDS["plane"], 7))
    body = skin_through(offsets_of(Stations("rows.csv", rows, lower=HALVES)))
    for (x, top, bottom, half, above), (below, share) in list(zip(rows, HALVES, strict=True))[1:-1]:
        y, z = body.section_at(x, 200).T
        widest = bottom + share * (top - bottom)
        assert z[np.argmax(y)] == pytest.approx(widest, abs=0.02)
        area = abs(np.dot(y, np.roll(z, -1)) - np.dot(z, np.roll(y, -1))) / 2
        wanted = superellipse_area(half, top - widest, above) / 2 + superellipse_area(half, widest - bottom, below) / 2
        assert area == pytest.approx(wanted, rel=2e-4)


def test_lower_halves_that_say_what_is_so_without_them_change_nothing():
    rows = tuple(rows_of(ENDS["round"], 7))
    plain = skin_through(offsets_of(Stations("rows.csv", rows)))
    same = skin_through(offsets_of(Stations("rows.csv", rows, lower=tuple((row[4], 0.5) for row in rows))))
    np.testing.assert_allclose(same.poles, plain.poles, atol=1e-9)


def test_full_widths_written_for_half_ones_are_doubted_and_a_body_of_usual_proportions_is_not():
    rows = ((0.0, 0.0, 0.0, 0.0, 2.0), (20.0, 8.0, -8.0, 6.0, 2.0), (60.0, 0.0, 0.0, 0.0, 2.0))
    recipe = Recipe("bait", "mm", Stations("s.csv", rows))
    assert shape_checks(recipe, (60.0, 16.0, 12.0)) == ()
    (doubt,) = shape_checks(recipe, (60.0, 16.0, 24.0))
    assert (doubt.code, doubt.severity, doubt.where) == ("half-width", "note", "shape.stations")
    assert doubt.value == 1.5


def write(folder, lines):
    (folder / "sub").mkdir()
    (folder / "sub" / "rows.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    recipe = folder / "bait.toml"
    recipe.write_text('format = 1\n[shape]\nstations = "sub/rows.csv"\n', encoding="utf-8")
    return read_recipe(recipe)


def test_a_fold_is_a_mistake_that_names_the_nearest_row_in_its_own_file(tmp_path):
    """Comments and empty lines count: the row of 12.2 mm, after which the outline springs 9 mm up, is line 7."""
    lines = ["# read off a mould", "x_mm,top_mm,bottom_mm,half_width_mm", "0,0,0,0", "10,5,-5,4", "", "12,0.2,-0.1,0.1"]
    recipe = write(tmp_path, [*lines, "12.2,9,-9,8", "# behind the head", "30,10,-10,7", "60,0,0,0"])
    with pytest.raises(InputError) as caught:
        body_of(recipe)
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.line) == ((tmp_path / "sub/rows.csv").as_posix(), 7)
    assert (mistake.key, mistake.written) == ("x_mm", "12.2")
    assert "runs backwards near x = 12.1" in mistake.problem
    assert "leave one out" in mistake.accepted


def test_one_wrong_reading_among_thousands_is_named_by_its_line(tmp_path):
    """The reading at x = 30 mm says 2 mm too much: a spline told by four rows a span goes less than half the way."""
    rows = rows_of(ENDS["round"], 1001)
    rows[500] = (30.0, 12.0, *rows[500][2:])
    lines = [",".join(f"{value:.9g}" for value in row) for row in rows]
    recipe = write(tmp_path, ["x_mm,top_mm,bottom_mm,half_width_mm,squareness", *lines])
    (doubt,) = shape_checks(recipe, (60.0, 20.0, 14.0))
    assert (doubt.code, doubt.severity) == ("stations-thinned", "warning")
    assert 1.0 < doubt.value < 2.0
    assert "the farthest on line 502 at x = 30.00 mm" in doubt.told("mm")
    assert body_of(recipe).sizes()[1] == pytest.approx(20.0 + 2.0 - doubt.value, abs=0.05)  # the rest it goes
