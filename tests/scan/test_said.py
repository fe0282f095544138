"""The words of a surface: read again they make the surface, within what was asked."""

import dataclasses

import numpy as np
import pytest
import traced

from bodygen.errors import DesignError
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.fairing.shape import body_of
from bodygen.form.integrals import body_volume
from bodygen.recipe.model import Curve
from bodygen.recipe.read import read_recipe
from bodygen.scan.nearest import signed_distances
from bodygen.scan.said import FINEST_MM, _rows, recipe_of, said


@pytest.mark.parametrize("ruler", ["mm", "in"])
@pytest.mark.parametrize("noise", [0.04, 0.3])
def test_lines_lie_within_half_of_the_noise_of_the_surface(ruler, noise):
    body = traced.plain()
    words = said(traced.offsets_of(body), ruler, noise, "x.csv")
    again = body_of(recipe_of(words.toml, ruler))
    assert words.stations is None
    # looked at in other places than where the words were chosen, hence the 3 um
    assert (
        np.percentile(np.abs(signed_distances(again, traced.places_on(body))), 95) <= max(FINEST_MM, noise / 2) + 3e-3
    )


def test_rough_measuring_takes_fewer_points():
    offsets = traced.offsets_of(traced.plain())
    fine, rough = (said(offsets, "mm", noise, "x.csv").toml for noise in (0.02, 0.4))
    assert rough.count("[") < fine.count("[")


def test_a_widest_line_and_two_squarenesses_are_said_where_there_are_some():
    body = traced.plain("widest = { points = [[0, 0], [30, 6], [70, 0]] }\nsquareness = { back = 2, belly = 3 }\n")
    offsets = traced.offsets_of(body)
    offsets = dataclasses.replace(offsets, squareness_back=np.full(49, 2.0), squareness_belly=np.full(49, 3.0))
    shape = recipe_of(said(offsets, "mm", 0.1, "x.csv").toml, "mm").shape
    assert isinstance(shape.widest, Curve)
    assert shape.squareness_back.points[0][1] == pytest.approx(2.0, abs=0.01)
    assert shape.squareness_belly.points[0][1] == pytest.approx(3.0, abs=0.01)


def test_a_body_beside_its_axis_is_said_by_its_own_rows():
    """Lines are heights above and below the x axis, so the axis must run within the body; sections need not."""
    body = traced.plain("widest = { points = [[0, 0], [30, 6], [70, 0]] }\nsquareness = { back = 2, belly = 3 }\n")
    offsets = dataclasses.replace(
        traced.offsets_of(body), squareness_back=np.full(49, 2.0), squareness_belly=np.full(49, 3.0)
    )
    raised = dataclasses.replace(offsets, top=offsets.top + 20, bottom=offsets.bottom + 20, widest=offsets.widest + 20)
    words = said(raised, "mm", 0.1, "x.csv")
    assert words.toml == '[shape]\nstations = "x.csv"\n'
    head, nose, *_ = words.stations.split("\n")
    assert head == "x_mm,top_mm,bottom_mm,half_width_mm,squareness_back,squareness_belly,widest_mm"
    assert nose == "0,20,20,0,2,3,20"
    assert body_volume(words.body).volume == pytest.approx(body_volume(skin_through(raised)).volume, rel=1e-4)
    assert words.off < 0.001  # the rows are the surface's own, written to a tenth of a thousandth


def test_a_widest_line_at_the_limit_is_written_so_that_it_reads_again(tmp_path):
    """To four digits of a millimetre a row of 0.95 of the depth was written as 0.95006, and refused."""
    offsets = traced.offsets_of(traced.plain())
    high = dataclasses.replace(offsets, widest=offsets.bottom + 0.97 * (offsets.top - offsets.bottom))
    high = dataclasses.replace(high, top=high.top + 20, bottom=high.bottom + 20, widest=high.widest + 20)
    words = said(high, "mm", 0.1, "rows.csv")
    (tmp_path / "rows.csv").write_text(words.stations, encoding="utf-8")
    (tmp_path / "a.toml").write_text(f"format = 1\n{words.toml}", encoding="utf-8")
    assert body_volume(body_of(read_recipe(tmp_path / "a.toml"))).volume == pytest.approx(
        body_volume(words.body).volume, rel=1e-3
    )


def test_points_at_a_very_blunt_end_keep_the_distance_that_a_recipe_asks_for():
    """Or the reader refuses the lines, and stations, which know no flats, would have to do."""
    body = traced.plain("nose = { bluntness = 2.5 }\n")
    for count, blunt in ((17, (2.5, 1.0)), (28, (2.5, 1.0)), (28, (1.0, 2.5)), (48, (2.5, 2.5))):
        x, _ = _rows(body, blunt, count)
        assert np.diff(x).min() >= 0.05
        assert x[[0, -1]] == pytest.approx([0, body.length])


def test_a_surface_that_folds_is_refused_in_words():
    """Its back lies below its belly over a fifth of the length."""
    offsets = traced.offsets_of(traced.plain())
    top = offsets.top.copy()
    top[20:30] = offsets.bottom[20:30] - 1
    with pytest.raises(DesignError, match=r"the surface through these stations .* near x"):
        said(dataclasses.replace(offsets, top=top), "mm", 0.1, "x.csv")


def rows_changed(change):
    """The table of a plain body, each of its columns changed."""
    offsets = traced.offsets_of(traced.plain())
    names = ("x", "top", "bottom", "half_width", "widest", "squareness_back", "squareness_belly")
    return dataclasses.replace(offsets, **{name: change(name, getattr(offsets, name).copy()) for name in names})


def doubled(name, column):
    column[5] = column[4]
    return column


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (doubled, "has two rows in one place near x = 0.57 mm"),
        (lambda name, column: column * (np.nan if name == "top" else 1), "has two rows in one place"),
        (lambda name, column: column * (name != "half_width"), "has no thickness left"),
        (lambda name, column: column if name.startswith("square") else column * 1e-4, "has two rows in one place"),
    ],
    ids=["a row twice", "no numbers", "no thickness", "smaller than the rows' digits"],
)
def test_rows_that_no_surface_goes_through_are_refused_in_words(change, what):
    """A LinAlgError of numpy's, a ZeroDivisionError and a ValueError came through here, which no command words."""
    with pytest.raises(DesignError, match=what):
        said(rows_changed(change), "mm", 0.1, "x.csv")
