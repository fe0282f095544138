"""Made-up bodies with sizes known in closed form, for every room's tests: round bars, elliptic bars, double cones."""

import numpy as np

from bodygen.form.cuts import tools_of
from bodygen.form.cuts.checks import wood_left
from bodygen.form.cuts.skin import skin_of
from bodygen.form.fairing.offsets import Offsets, skin_through
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Recipe, Stations

NO_SHAPE = Stations("made up", ())


def recipe(**parts):
    """A recipe of cuts alone: the body is given beside it."""
    return Recipe("made up", "mm", NO_SHAPE, **parts)


def bar(length=80.0, depth=24.0, thickness=24.0, squareness=2.0, rows=9, flat=None):
    """The same section all along, closed by plane ends."""
    x = np.linspace(0, length, rows)
    one = np.ones(rows)
    flats = tuple(f * one for f in flat) if flat else None
    return skin_through(
        Offsets(
            x,
            depth / 2 * one,
            -depth / 2 * one,
            thickness / 2 * one,
            0 * one,
            squareness * one,
            squareness * one,
            flats,
        )
    )


def double_cone(length=60.0, depth=20.0, thickness=12.0, at=0.4, squareness=2.0, sized=0.0):
    """Straight from the nose to a corner at a share of the length and to the tail; ``sized``: what is left there."""
    x = np.concatenate([np.linspace(0, at, 7), np.linspace(at, 1, 9)[1:]]) * length
    size = np.interp(x, [0, at * length, length], [sized, 1, sized])
    one = np.ones(len(x))
    return skin_through(
        Offsets(
            x,
            size * depth / 2,
            -size * depth / 2,
            size * thickness / 2,
            0 * x,
            squareness * one,
            squareness * one,
            corners=(6,),
        )
    )


def tools(body, **parts):
    """The tools of a recipe's cuts on a body."""
    return tools_of(recipe(**parts), ray_caster_of(body))


def checks(body, **parts):
    """Code and value of every doubt about the wood left."""
    mesh = body_mesh(body, 0.02)
    made = recipe(**parts)
    caster = ray_caster_of(body)
    return wood_left(made, tools_of(made, caster), skin_of(mesh.vertices, mesh.faces), caster)
