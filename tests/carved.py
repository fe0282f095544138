"""One body with every kind of cut, for the rooms that part it and write it: an ellipsoid 80 x 30 x 20 mm, made up."""

from functools import cache
from math import radians, sqrt

from bodygen.form.cuts import tools_of
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.fairing.stations import offsets_of
from bodygen.form.ray_caster import ray_caster_of
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.skin import body_mesh
from bodygen.recipe.model import Bore, Counterbore, Lip, Recipe, Stations, WireSlot

FACETS_MM = 0.02
SHARES = (0, 0.015, 0.06, 0.13, 0.22, 0.32, 0.43, 0.5, 0.57, 0.68, 0.78, 0.87, 0.94, 0.985, 1)


def stations(length=80.0, depth=30.0, thickness=20.0):
    """Rows through an ellipsoid."""
    rows = []
    for share in SHARES:
        size = sqrt(max(0.0, 1 - (2 * share - 1) ** 2))
        rows.append((length * share, depth / 2 * size, -depth / 2 * size, thickness / 2 * size, 2.0))
    return Stations("ellipsoid.csv", tuple(rows))


@cache
def body(length=80.0, depth=30.0, thickness=20.0):
    return skin_through(offsets_of(stations(length, depth, thickness)))


@cache
def body_skin():
    return body_mesh(body(), FACETS_MM)


@cache
def tools():
    bores = (
        Bore("ballast", "ballast", "belly", 7.9375, 12.7, x=30.0, lean=0.2),
        Bore("eye", "eye", "side", 6.0, 1.5, x=10.0, height=2.0, tip="flat", mirror=True),
        Bore("tie", "tie", "nose", 1.5, 15.0, height=1.0),
        Bore("rattle", "rattle", "back", 6.0, 8.0, x=55.0, tip="ball", counterbore=Counterbore(8.0, 2.0)),
        Bore("pivot", "through", "side", 3.0, None, x=65.0),
    )
    lip = Lip("glass_epoxy", 1.6, radians(35), 10.0, 20.0, 18.0, x=12.0)
    kerf = WireSlot("wire", "back", 20.0, 60.0, 1.5, depth=4.0)
    recipe = Recipe("ellipsoid", "mm", stations(), bores=bores, lip=lip, wire_slots=(kerf,))
    return tools_of(recipe, ray_caster_of(body()))


def cut_out_of(skin, tools):
    return to_mesh(cut_with(to_manifold(skin), [to_manifold(tool_mesh(tool)) for tool in tools]))


@cache
def cut_skin():
    return cut_out_of(body_skin(), tools())
