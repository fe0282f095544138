"""The body before any cut: surface, meshes, exact integrals, its answers to straight lines.

Moving a bore or trying another wood leaves the body as it is, so the last few bodies are remembered by their shape.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache, partial

from bodygen.form.body import Body
from bodygen.form.cuts.skin import Skin, skin_of
from bodygen.form.fairing.shape import body_of
from bodygen.form.integrals import SkinIntegrals, VolumeIntegrals, body_skin, body_volume
from bodygen.form.ray_caster import RayCaster, ray_caster_of
from bodygen.mesh.grown import Growing, growing
from bodygen.mesh.measure import mesh_skin, mesh_volume
from bodygen.mesh.skin import Mesh, body_mesh, body_rings
from bodygen.mesh.stock import BaseMesh
from bodygen.recipe.model import MeshFile, Parameters, Recipe, Stations

WEIGH_MM = 0.02
"""Facets of the mesh that is weighed: bores cut from it differ from exact ones by 0.01 to 0.02 % of the body."""
COUNTED_MM = 0.08
"""Facets of the mesh whose pieces are counted: wood that thin holds nothing together."""
COARSE_MM, AROUND_MM = 0.03, 0.0014
"""Facets of the hull that is floated, along it and around it: its volume is the ledger's, whatever they are.

Grown to that volume, chords stand proud of the section at their ends, and a waterplane counts that twice.
"""
NEAR_MM = 0.012
"""Facets of the skin that bores keep their distance to."""
REMEMBERED = 8


@dataclass(frozen=True, slots=True, eq=False)
class BaseBody:
    """The body and what is measured on it; ``body`` is None where a mesh is taken as it is.

    ``stock`` is cut and weighed, ``floated`` is what lies in the water; ``near`` makes their ``facets``.
    ``sizes`` are length, depth and thickness [mm].
    """

    body: Body | None
    stock: BaseMesh
    floated: Growing
    near: Callable[[], Skin]
    caster: RayCaster
    volume: VolumeIntegrals
    skin: SkinIntegrals
    sizes: tuple[float, float, float]

    @property
    def facets(self) -> Skin:
        """What bores keep their distance to; made when it is first asked for."""
        return self.stock.kept.of("facets", self.near)

    @property
    def mesh(self) -> Mesh:
        """The mesh [mm] that is weighed."""
        return self.stock.mesh


@dataclass(frozen=True, slots=True)
class _ByShape:
    """A recipe that is equal to another when their shapes are; the recipe itself only words mistakes."""

    shape: Parameters | Stations
    recipe: Recipe = field(compare=False)


def base_body_of(recipe: Recipe) -> BaseBody:
    """The recipe's body [mm].

    Raises
    ------
    InputError, DesignError
        As ``form.shape.body_of`` and ``mesh.file.read_mesh``.
    """
    if isinstance(recipe.shape, MeshFile):
        return _from_mesh(recipe, recipe.shape)
    return _drawn(_ByShape(recipe.shape, recipe))


def _from_mesh(recipe: Recipe, shape: MeshFile) -> BaseBody:
    from bodygen.mesh import file as mesh_file  # noqa: PLC0415  most bodies are drawn

    mesh = mesh_file.read_mesh(recipe, shape)
    caster = mesh_file.ray_caster_of(mesh)
    length, thickness, depth = (float(side) for side in caster.high - caster.low)
    near = partial(skin_of, mesh.vertices, mesh.faces)
    sizes = length, depth, thickness
    return BaseBody(None, BaseMesh(mesh), growing(mesh), near, caster, mesh_volume(mesh), mesh_skin(mesh), sizes)


@lru_cache(maxsize=REMEMBERED)
def _drawn(key: _ByShape) -> BaseBody:
    body = body_of(key.recipe)
    rings, coarse = body_rings(body, WEIGH_MM), body_rings(body, COARSE_MM, AROUND_MM)
    return BaseBody(
        body,
        BaseMesh(rings.mesh(), rings, rough=partial(body_rings, body, COUNTED_MM)),
        growing(coarse.mesh()),
        partial(_near, body),
        ray_caster_of(body),
        body_volume(body),
        body_skin(body),
        body.sizes(),
    )


def _near(body: Body) -> Skin:
    mesh = body_mesh(body, NEAR_MM)
    return skin_of(mesh.vertices, mesh.faces)
