"""A jig as plain data: a closed mesh with a name and the words a maker needs, before any file format."""

from dataclasses import dataclass

from bodygen.findings import Finding
from bodygen.mesh.skin import Mesh


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One thing to print or mill.

    ``mesh`` [mm] lies as it is to be made (flat side on z = 0 for a print). ``purpose`` is what it is for, ``use`` how
    to use it, one or two sentences each; ``cautions`` are keys of ``tables/cautions.toml``; ``material`` is what it is
    usually made of.
    """

    name: str
    mesh: Mesh
    purpose: str
    use: str
    cautions: tuple[str, ...] = ()
    material: str = "printed PLA or PETG"


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The parts of one jig, and the findings about them."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...] = ()
