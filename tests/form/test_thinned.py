"""Thousands of measured rows: few fair ones, each measured row near the surface, and volumes of closed forms."""

from math import pi

import numpy as np
import pytest

from bodygen.form.fairing.offsets import skin_through
from bodygen.form.fairing.shape import shape_checks
from bodygen.form.fairing.stations import offsets_of, thinned_of
from bodygen.form.integrals import body_volume
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Recipe, Stations
from bodygen.tables import load

LIMITS = load("limits")["stations"]
NEAR = LIMITS["near_mm"]
LENGTH, UP, ASIDE = 60.0, 10.0, 7.0
DENSE = 20_000
"""Chords of the outlines that distances are measured to: 0.003 mm long, so within 1e-7 mm of the curve."""
SHAPES = {
    "ellipsoid": lambda s: np.sqrt(np.maximum(0.0, 1 - (2 * s - 1) ** 2)),
    "pointed": lambda s: 1 - (2 * s - 1) ** 2,
    "plane ends": lambda s: 0.5 + 0.5 * (1 - (2 * s - 1) ** 2),
}


def stations(count, size=SHAPES["ellipsoid"], noise=0.0, lift=0.0, squareness=0.0):
    """Rows evenly along a body whose sizes are read with an error of up to ``noise`` [mm]."""
    share = np.linspace(0, 1, count)
    sizes = size(share)
    closed = np.concatenate([[False], np.full(count - 2, True), [False]])
    error = np.random.default_rng(count).uniform(-noise, noise, (3, count)) * closed
    top, bottom = UP * sizes + lift * share, -UP * sizes + lift * share
    rows = LENGTH * share, top + error[0], bottom + error[1], ASIDE * sizes + error[2], 2 + squareness * share
    return Stations("rows.csv", tuple(map(tuple, np.stack(rows, axis=1).tolist())))


def furthest(body, rows):
    """How far the rows' three points are from back, belly and widest line, to the nearest chord's end [mm]."""
    x, top, bottom, half_width = np.array(rows)[:, :4].T
    polygon = body.polygons(np.linspace(0, 1, DENSE))
    worst = 0.0
    for column, axis, values in ((-1, 2, top), (0, 2, bottom), (body.widest_index, 1, half_width)):
        line = polygon[:, column][:, [0, axis]]
        near = np.searchsorted(line[:, 0], x)
        for i, (at, value) in enumerate(zip(x, values, strict=True)):
            some = line[max(0, near[i] - 200) : near[i] + 200]
            worst = max(worst, float(np.hypot(some[:, 0] - at, some[:, 1] - value).min()))
    return worst


@pytest.mark.parametrize(("count", "noise"), [(201, 0.0), (2000, 0.0), (2000, 0.01), (5000, 0.01)])
def test_thousands_of_rows_of_an_ellipsoid_give_few_rows_near_every_one(count, noise):
    """4/3 pi a b c within 0.02 %; as many rows and facets as for a body of 200 rows at the most."""
    measured = stations(count, noise=noise)
    table = offsets_of(measured)
    body = skin_through(table)
    assert len(table.x) <= LIMITS["exact_rows"]
    assert len(body_mesh(body, 0.02).faces) < 20_000
    assert body_volume(body).volume == pytest.approx(4 / 3 * pi * LENGTH / 2 * UP * ASIDE, rel=2e-4)
    assert furthest(body, measured.rows[:: max(1, count // 500)]) <= NEAR + 0.002  # the chords' ends lie 0.003 mm apart


@pytest.mark.parametrize("name", SHAPES)
def test_every_kind_of_end_stays_what_it_is(name):
    """A lifted body whose section grows squarer: back, belly, flank, and the section's own area at every tenth row."""
    measured = stations(1000, SHAPES[name], lift=3.0, squareness=2.0)
    body = skin_through(offsets_of(measured))
    assert (body.nose_flat, body.tail_flat) == ((name == "plane ends"),) * 2
    assert thinned_of(measured).off <= NEAR
    assert furthest(body, measured.rows[::5]) <= NEAR + 0.002
    assert body.polygons(np.array([0.0, 1.0]))[:, 0, 2] == pytest.approx([measured.rows[i][2] for i in (0, -1)])


def test_up_to_two_hundred_rows_the_surface_passes_through_each():
    measured = stations(200, noise=0.01)
    body = skin_through(offsets_of(measured))
    x, top, bottom, half_width, _ = np.array(measured.rows).T
    belly, back = body.heights_at(x)
    np.testing.assert_allclose(back, top, atol=1e-6)
    np.testing.assert_allclose(belly, bottom, atol=1e-6)
    np.testing.assert_allclose(body.half_width_at(x), half_width, atol=1e-6)
    assert checks(measured) == ()


def checks(measured):
    return shape_checks(Recipe("bait", "mm", measured), (LENGTH, 2 * UP, 2 * ASIDE))


def test_a_note_says_how_many_rows_were_kept_and_how_near_all_are():
    (note,) = checks(stations(2000, noise=0.01))
    assert (note.code, note.severity, note.where, note.limit) == ("stations-thinned", "note", "shape.stations", NEAR)
    assert note.value <= NEAR
    kept = len(offsets_of(stations(2000, noise=0.01)).x)
    assert f"2000 rows: the surface goes through {kept} fair ones" in note.told("mm")
    assert "within 0.02 mm" in note.told("mm")


@pytest.mark.parametrize("noise", [0.06, 0.3])
def test_readings_rougher_than_the_tolerance_are_doubted_with_how_far_they_lie_off(noise):
    """No smooth body is near all of them: the figure is what it is, and the rows stay few.

    Errors of 20 rows or so to a span average out: of the volume, a tenth of a reading's share of the height is left.
    """
    measured = stations(2000, noise=noise)
    (doubt,) = checks(measured)
    assert (doubt.severity, doubt.value > NEAR) == ("warning", True)
    body = skin_through(offsets_of(measured))
    assert len(offsets_of(measured).x) <= LIMITS["exact_rows"]
    assert furthest(body, measured.rows[::4]) <= doubt.value + 0.002
    assert body_volume(body).volume == pytest.approx(4 / 3 * pi * LENGTH / 2 * UP * ASIDE, rel=noise / UP / 10)


def test_a_narrow_ridge_among_very_many_rows_is_followed():
    """A ridge 1 mm high and 3 mm long on a body of 2000 rows is 100 rows of its own, and no noise."""
    measured = stations(2000)
    rows = [(x, top + np.exp(-(((x - 30) / 0.8) ** 2)), *rest) for x, top, *rest in measured.rows]
    ridged = Stations("rows.csv", tuple(rows))
    assert furthest(skin_through(offsets_of(ridged)), rows[::4]) <= NEAR + 0.002


def test_thousands_of_rows_keep_the_squareness_and_the_widest_line_of_their_halves():
    share = np.linspace(0, 1, 2000)
    lower = tuple(zip(2 + share, 0.4 + 0.2 * share, strict=True))
    offsets = offsets_of(Stations("rows.csv", stations(2000, SHAPES["plane ends"]).rows, lower=lower))
    at = offsets.x / LENGTH
    assert len(at) <= LIMITS["exact_rows"]
    np.testing.assert_allclose(offsets.squareness_belly, 2 + at, atol=1e-6)
    np.testing.assert_allclose(
        (offsets.widest - offsets.bottom) / (offsets.top - offsets.bottom), 0.4 + 0.2 * at, atol=1e-6
    )
