"""Film, soak and gain: what is on the skin, what is in it."""

import pytest

from bodygen.errors import DesignError
from bodygen.recipe.model import Coat
from bodygen.weights.coats import coat_findings, coat_items, default_density


def test_film_lies_on_the_real_skin(recipe, skin):
    """92 cm^2 x the mean of 0.0254, 0.0381 and 0.0635 mm x 3 coats at 1.1 g/cm^3, over the skin's own inertia."""
    mean = (0.0254 + 0.0381 + 0.0635) / 3
    (film,) = coat_items(recipe(coats=(Coat("clear", "oil_polyurethane_dip", "cleared", coats=3),)), skin)
    assert film.mass == pytest.approx(92 * 0.1 * mean * 3 * 1.1)
    assert film.displaces == pytest.approx(9200 * mean * 3)
    assert film.inertia == pytest.approx(film.mass / 9200 * skin.inertia)


def test_sealer_soaks_in_once_and_displaces_nothing(recipe, skin):
    """0.1 to 0.8 g on 100 cm^2, mostly 0.3, for the first coat on bare wood; a second tin finds it sealed."""
    coats = (Coat("first", "lacquer_sealer_thinned", "sealed"), Coat("second", "lacquer_sealer_thinned", "sealed"))
    items = coat_items(recipe(coats=coats), skin)
    assert [i.name for i in items] == ["first", "first, soaked in", "second"]
    assert items[1].mass == pytest.approx((0.1 + 0.3 + 0.8) / 3 * 0.92)
    assert (items[1].displaces, items[1].outside) == (0.0, False)


def test_coats_are_taken_in_shop_order(recipe, skin):
    coats = (Coat("clear", "uv_resin", "cleared"), Coat("seal", "penetrating_epoxy_sealer", "sealed"))
    assert [i.name for i in coat_items(recipe(coats=coats), skin)] == ["seal", "seal, soaked in", "clear"]


def test_film_of_the_recipe_wins_and_is_taken_as_sure(recipe, skin):
    (film,) = coat_items(recipe(coats=(Coat("clear", "uv_resin", "cleared", coats=2, film=0.05),)), skin)
    assert (film.displaces, film.spread) == (pytest.approx(9200 * 0.1), 0.0)


def test_measured_gain_wins_in_all(recipe, skin):
    """A gain of 1.5 g with a finish that soaks: the soak's usual share lies inside, the rest is film."""
    coat = Coat("seal", "penetrating_epoxy_sealer", "sealed", coats=3, gain=1.5)
    film, soak = coat_items(recipe(coats=(coat,)), skin)
    assert film.mass + soak.mass == pytest.approx(1.5)
    assert soak.mass == pytest.approx((0.3 + 0.8 + 2.0) / 3 * 0.92)
    assert film.displaces == pytest.approx(film.mass / 1.15e-3)


def test_gain_beside_a_film_leaves_what_the_film_does_not_hold_in_the_wood(recipe, skin):
    """Two coats of 0.02 mm on 92 cm^2 are 0.368 cm^3, at 1.25 g/cm^3 0.46 g; of 1.5 g gained 1.04 g are inside."""
    coat = Coat("seal", None, "sealed", coats=2, film=0.02, gain=1.5, density_g_cm3=1.25)
    film, soak = coat_items(recipe(coats=(coat,)), skin)
    assert (film.mass, film.displaces) == (pytest.approx(0.46), pytest.approx(368.0))
    assert soak.mass == pytest.approx(1.04)


def test_gain_smaller_than_the_usual_soak_is_all_inside(recipe, skin):
    (soak,) = coat_items(recipe(coats=(Coat("seal", "penetrating_epoxy_sealer", "sealed", gain=0.4),)), skin)
    assert (soak.mass, soak.displaces) == (pytest.approx(0.4), 0.0)


def test_gain_of_an_unnamed_finish_is_noted(recipe, skin):
    """Mean dry density of the seven finishes that clear coats are made of: (1100 x 2 + 1150 x 4) / 6 kg/m^3."""
    found = recipe(coats=(Coat("clear", None, "cleared", gain=1.0),))
    (film,) = coat_items(found, skin)
    assert default_density("cleared") == pytest.approx((2 * 1.1 + 4 * 1.15) / 6)
    assert film.displaces == pytest.approx(1000 / default_density("cleared"))
    assert [f.code for f in coat_findings(found)] == ["coat-unnamed"]


def test_spread_of_the_film_is_the_triangles_between_low_and_high(recipe, skin):
    (film,) = coat_items(recipe(coats=(Coat("clear", "oil_polyurethane_dip", "cleared"),)), skin)
    a, c, b = 0.0254, 0.0381, 0.0635
    sd = ((a * a + b * b + c * c - a * b - a * c - b * c) / 18) ** 0.5
    assert film.spread == pytest.approx(sd * 9200 * 1.1e-3)


def test_coat_without_any_thickness_is_refused(recipe, skin):
    with pytest.raises(DesignError, match=r"coat\[1\] \(clear\): say finish, film or gain"):
        coat_items(recipe(coats=(Coat("clear", None, "cleared"),)), skin)
