"""Everything that is known of a recipe before any wood is cut: what pipeline.assess fills in and every report reads."""

from dataclasses import dataclass

from bodygen.ballast.spread import Spread
from bodygen.findings import Finding
from bodygen.flotation.equilibrium import Flotation
from bodygen.flotation.hull import Hull
from bodygen.flotation.waterline import Hang
from bodygen.form.body import Body
from bodygen.form.cuts import Probe, Tool
from bodygen.form.integrals import Array, SkinIntegrals, VolumeIntegrals
from bodygen.mesh.pieces import Pieces
from bodygen.mesh.skin import Mesh
from bodygen.recipe.model import Recipe
from bodygen.shop.lip import LipPlate
from bodygen.weights.geometry import Plate
from bodygen.weights.item import Total
from bodygen.weights.measured import Measured
from bodygen.weights.reweigh import Weighed


@dataclass(frozen=True, slots=True, eq=False)
class Shaped:
    """The shape of one recipe, uncut and cut.

    ``body`` is None where a mesh is taken as it is. ``normals`` (n, 3) are unit vectors at the mesh's vertices;
    ``set_plate`` is the lip's plate as it sits in its slot; ``sizes`` are length, depth and thickness [mm]; ``volume``
    and ``skin`` are the uncut body's. ``pieces.rooms`` stand in the order of ``tools``.
    """

    body: Body | None
    mesh: Mesh
    normals: Array
    probe: Probe
    volume: VolumeIntegrals
    skin: SkinIntegrals
    sizes: tuple[float, float, float]
    tools: tuple[Tool, ...]
    pieces: Pieces
    plate: LipPlate | None
    set_plate: Plate | None


@dataclass(frozen=True, slots=True, eq=False)
class Assessment:
    """Everything that is known of a recipe before any wood is cut. ``flotation`` is None where nothing could float."""

    recipe: Recipe
    shaped: Shaped
    measured: Measured
    weighed: Weighed
    total: Total
    hull: Hull
    flotation: Flotation
    hangs: tuple[Hang, ...]
    findings: tuple[Finding, ...]
    spread: Spread | None = None

    @property
    def failed(self) -> bool:
        """Whether a rule of severity error is broken."""
        return any(f.severity == "error" for f in self.findings)
