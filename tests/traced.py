"""A demo's own surface as a trace would find it, for the tests of what every trace ends in."""

from pathlib import Path

import numpy as np

from bodygen.form.fairing.offsets import Offsets
from bodygen.form.fairing.rows import between
from bodygen.form.fairing.shape import body_of
from bodygen.recipe.read import parse_recipe, read_recipe
from bodygen.scan.record import Traced

PARAMS = Path(__file__).parent.parent / "params"
PLAIN = 'format = 1\n[shape]\nlength = 70\ndepth = 22\nthickness = 15\nback_share = 0.6\nbelly = "leaf"\n'


def plain(more: str = "squareness = 2.4\n"):
    """A drawn body without flats or corners."""
    return body_of(parse_recipe(PLAIN + more))


def demo(name: str):
    """The body of a demo."""
    return body_of(read_recipe(PARAMS / f"{name}.toml"))


def offsets_of(body, squareness: float = 2.4, rows: int = 49) -> Offsets:
    """A body's own sizes, closer at closed ends, which must be round; of one squareness."""
    blunt = float(not body.nose_flat), float(not body.tail_flat)
    length = body.length
    x = between(np.zeros(rows), np.full(rows, length), np.linspace(0, 1, rows), length, blunt)
    x[0], x[-1] = 0.0, length
    polygon = body.polygons(body.parameter_at(x))
    square = np.full(rows, squareness)
    columns = polygon[:, -1, 2], polygon[:, 0, 2], polygon[:, body.widest_index, 1], polygon[:, body.widest_index, 2]
    return Offsets(x, *columns, square, square, nose_round=not body.nose_flat, tail_round=not body.tail_flat)


def places_on(body):
    """Some hundred places all over a body's skin, both flanks (k, 3) [mm]."""
    right = body.points(np.linspace(0.01, 0.99, 40), 6).reshape(-1, 3)
    return np.concatenate([right, right * (1, -1, 1)])


def traced(body, noise: float = 0.1, **more) -> Traced:
    """What a trace of this body would be, its places on it exactly."""
    return Traced("scan", "some.stl", "0" * 64, offsets_of(body), places_on(body), noise, **more)
