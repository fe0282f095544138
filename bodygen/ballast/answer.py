"""What the search asks of the whole flow about one recipe; the pipeline makes it, whoever solves gets a callable.

Knows which figures a search needs. Computes nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass

from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Flotation
from bodygen.flotation.hull import Hull
from bodygen.form.cuts import Tool
from bodygen.form.cuts.skin import Skin
from bodygen.form.ray_caster import RayCaster
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Recipe
from bodygen.weights.item import Item, Total
from bodygen.weights.measured import Measured
from bodygen.weights.stages import Stage
from bodygen.weights.wood import WoodDensity


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """A recipe weighed and floated: its skin and cuts, its ledger, how it lies, every doubt.

    ``sizes`` are length, depth and thickness of the body [mm]; ``skin`` the facets of the uncut ``body``.
    """

    recipe: Recipe
    sizes: tuple[float, float, float]
    caster: RayCaster
    body: Mesh
    skin: Skin
    tools: tuple[Tool, ...]
    measured: Measured
    wood: WoodDensity
    items: tuple[Item, ...]
    stages: tuple[Stage, ...]
    total: Total
    hull: Hull
    flotation: Flotation
    findings: tuple[Finding, ...]


Ask = Callable[[Recipe], Answer]
"""The whole flow: a recipe to its answer, a tenth of a second or so."""
