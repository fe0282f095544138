"""The master for a lathe or a copy carver: the uncut body between two stubs on the x axis, a centre hole in each.

Knows how a piece is held between centres. Makes no solid: stubs and centre holes are tools, and mesh/ and solid/ each
add or cut with them.
"""

from dataclasses import dataclass
from math import cos, pi, radians, tan

import manifold3d

from bodygen.findings import Finding
from bodygen.form.cuts import Revolved
from bodygen.mesh.cut import known_manifold
from bodygen.mesh.skin import Mesh
from bodygen.tables import as_row, load

SIDES = 64
OVERLAP_MM = 1.0
"""How far a stub's end face lies inside the wood beyond the place where the stub disappears."""
MOUTH_MM = 1.0
"""How far a centre hole's cone is drawn on beyond the stub's end, so that it opens cleanly."""


@dataclass(frozen=True, slots=True)
class Stubs:
    """What to choose from for the two ends.

    ``length`` beyond the body [mm]; ``diameters``, largest first [mm]; ``cover`` of wood around the inner end [mm];
    ``usual_run_in``: the share of the length that a stub may hide, ``longest_run_in``: that the thinnest may hide
    where no other finds a hold [-]; ``widest_centre``: the centre hole's mouth over the stub's diameter [-].
    """

    length: float
    diameters: tuple[float, ...]
    cover: float
    usual_run_in: float
    longest_run_in: float
    widest_centre: float


@dataclass(frozen=True, slots=True)
class Master:
    """Stubs to add and centre holes to cut, nose then tail; both empty where an end is too thin to be held."""

    stubs: tuple[Revolved, ...]
    centre_holes: tuple[Revolved, ...]
    findings: tuple[Finding, ...]


def default_stubs() -> Stubs:
    """The stubs of ``tables/joinery.toml``: common practice, no published source."""
    return as_row(Stubs, load("joinery")["stub"])


def master_of(body: Mesh, wanted: Stubs) -> Master:
    """Choose for each end the thickest stub that the body covers soon enough, and the largest centre hole it can take.

    Parameters
    ----------
    body : Mesh
        The uncut body, x along its length [mm].
    wanted : Stubs
        Sizes to choose from.

    Returns
    -------
    Master
        Without stubs, and with a warning, where an end gives no hold on the x axis.
    """
    solid = known_manifold(body)
    low, high = float(body.vertices[:, 0].min()), float(body.vertices[:, 0].max())
    stubs, holes, findings = [], [], []
    for end, tip, way in (("nose", low, 1.0), ("tail", high, -1.0)):
        chosen = _thickest(solid, tip, way, high - low, wanted)
        if chosen is None:
            limit = wanted.longest_run_in * (high - low)
            remedy = (
                f"the {end} gives a stub no hold on the x axis: let the outline close on the axis there, "
                "or blunt the end"
            )
            findings.append(
                Finding("master-no-hold", "warning", f"master {end}", remedy, wanted.diameters[-1], limit, "mm")
            )
            continue
        diameter, run_in = chosen
        start = tip - way * wanted.length
        stubs.append(_stub(end, start, way, diameter, wanted.length + run_in + OVERLAP_MM))
        holes.append(_centre_hole(end, start, way, diameter * wanted.widest_centre))
        remedy = f"the {end} stub hides this much of the {end}: carve it freehand once the stubs are sawn off"
        findings.append(Finding("master-stub-hides", "note", f"master {end}", remedy, round(run_in, 2), None, "mm"))
    if len(stubs) < 2:
        return Master((), (), tuple(findings))
    return Master(tuple(stubs), tuple(holes), tuple(findings))


def _thickest(
    solid: manifold3d.Manifold, tip: float, way: float, length: float, wanted: Stubs
) -> tuple[float, float] | None:
    """Diameter of the thickest stub, and how far behind the tip it has wholly gone into the wood [mm]."""
    run_in = None
    for diameter in wanted.diameters:
        run_in = _run_in(solid, tip, way, length, diameter / 2 + wanted.cover)
        if run_in is not None and run_in <= wanted.usual_run_in * length:
            return diameter, run_in
    return (diameter, run_in) if run_in is not None and run_in <= wanted.longest_run_in * length else None


def _run_in(solid: manifold3d.Manifold, tip: float, way: float, length: float, radius: float) -> float | None:
    """How far behind the tip a rod of this radius on the x axis lies wholly in the wood; None if it nowhere does."""
    round_about = radius / cos(pi / SIDES)  # flats on the circle: nowhere thinner than the rod
    rod = manifold3d.Manifold.cylinder(length + 2.0, round_about, circular_segments=SIDES).rotate((0.0, 90.0, 0.0))
    start = tip - 1.0 if way > 0 else tip - length - 1.0
    for piece in (rod.translate((start, 0.0, 0.0)) - solid).decompose():
        box = piece.bounding_box()
        first, last = ((box[0] - tip), (box[3] - tip)) if way > 0 else ((tip - box[3]), (tip - box[0]))
        if first < -0.5:  # the piece that begins in front of the tip
            return last if last < length else None
    return None


def _stub(end: str, start: float, way: float, diameter: float, length: float) -> Revolved:
    r = diameter / 2
    profile = ((0.0, 0.0), (0.0, r), (length, r), (length, 0.0))
    return _on_axis(f"{end} stub", "stub", start, way, profile, diameter, length)


def _centre_hole(end: str, start: float, way: float, widest: float) -> Revolved:
    """A 60 degree centre with its pilot, flat-bottomed."""
    row = load("joinery")["centre_hole"]
    pilot, mouth, deep = next((size for size in reversed(row["sizes_mm"]) if size[1] <= widest), row["sizes_mm"][0])
    slope = tan(radians(row["angle_deg"]) / 2)
    cone = (mouth - pilot) / 2 / slope
    r, point = pilot / 2, cone + deep
    profile = ((-MOUTH_MM, 0.0), (-MOUTH_MM, mouth / 2 + MOUTH_MM * slope), (cone, r), (point, r), (point, 0.0))
    return _on_axis(f"{end} centre hole", "centre", start, way, profile, mouth, point)


def _on_axis(
    name: str,
    kind: str,
    start: float,
    way: float,
    profile: tuple[tuple[float, float], ...],
    diameter: float,
    point: float,
) -> Revolved:
    return Revolved(
        name,
        kind,
        -1,
        mirrored=False,
        origin=(start, 0.0, 0.0),
        axis=(way, 0.0, 0.0),
        profile=profile,
        ball=False,
        diameter=diameter,
        shoulder=point,
        point=point,
    )
