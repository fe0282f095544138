"""The coats' film comes off a traced skin once: every place of the new skin lies that far inside the old one."""

import numpy as np
import pytest
import traced

from bodygen.form.fairing.offsets import skin_through
from bodygen.form.integrals import body_skin, body_volume
from bodygen.recipe.read import parse_recipe
from bodygen.recipe.starter import COATS
from bodygen.scan.films import film_on, without_film
from bodygen.scan.nearest import signed_distances


@pytest.mark.parametrize("name", ["plain", "beck-dace-80"])
def test_the_skin_without_film_lies_the_film_inside_everywhere(name):
    body = traced.plain() if name == "plain" else traced.demo(name)
    film = 0.25
    bare = skin_through(without_film(traced.offsets_of(body), film))
    outer = skin_through(traced.offsets_of(body))
    off = signed_distances(outer, traced.places_on(bare) + np.array([film, 0, 0]))
    # where back, belly and flank turn sharply the section between them is the superellipse's, not the parallel curve
    assert np.percentile(np.abs(off + film), 95) <= 0.03
    assert body_volume(outer).volume - body_volume(bare).volume == pytest.approx(film * body_skin(outer).area, rel=0.03)


def test_the_film_is_what_the_ledger_has():
    """Two-part epoxy of 0.1 mm twice, and a sealer of which nothing is said but its row."""
    recipe = parse_recipe(f'{traced.PLAIN}[[coat]]\nfinish = "two_part_epoxy"\nfilm = 0.1\ncoats = 2\n')
    assert film_on(recipe) == pytest.approx(0.2)
    assert 0.1 < film_on(parse_recipe(traced.PLAIN + COATS)) < 0.5
