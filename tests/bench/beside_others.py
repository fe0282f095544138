"""Ours beside two plain ways to the same figures: python tests/bench/beside_others.py.

A CAD script: a loft through sections of the body, less the recipe's cuts, the kernel asked for volume, centre and
inertia. Strip theory: sections under a trimmed water plane, summed along the body, until it floats at its mass and
centre. A line says how much processor time the other way takes for one of ours, and how far off it is.
"""

from collections.abc import Callable
from itertools import count

import numpy as np
from bench import DEMOS, _masses, _thinner, in_yardsticks
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
from OCP.Geom import Geom_BezierCurve
from OCP.gp import gp_Pnt
from OCP.TColgp import TColgp_Array1OfPnt

from bodygen.assessment import Assessment
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull
from bodygen.form.body import Body, bezier_points
from bodygen.form.integrals import VolumeIntegrals
from bodygen.mesh.skin import body_mesh
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.report.properties import properties
from bodygen.solid.cut import cut_solid
from bodygen.solid.measure import solid_volume

LOFT, STRIPS, POINTS, FINE_MM = 41, 81, 24, 0.002
HAIR = 1e-4  # share of the length that is left off at nose and tail, where a section is a point


def sections(body: Body, number: int) -> np.ndarray:
    """Control polygons (n, 3 s + 1, 3) of the right half, closer together at the ends [mm]."""
    low, high = body.poles[[0, -1], 0, 0]
    share = HAIR + (1 - 2 * HAIR) * (1 - np.cos(np.linspace(0.0, np.pi, number))) / 2
    return body.polygons(body.parameter_at(low + (high - low) * share))


def by_cad_script(a: Assessment) -> VolumeIntegrals:
    """The cut body, by the kernel alone."""
    loft = BRepOffsetAPI_ThruSections(True, False, 1e-6)
    for polygon in sections(a.shaped.body, LOFT):
        wire = BRepBuilderAPI_MakeWire()
        round_about = np.concatenate([polygon, polygon[-2::-1] * (1, -1, 1)])
        for i in range(0, len(round_about) - 1, 3):
            poles = TColgp_Array1OfPnt(1, 4)
            for k, point in enumerate(round_about[i : i + 4].tolist(), start=1):
                poles.SetValue(k, gp_Pnt(*point))
            wire.Add(BRepBuilderAPI_MakeEdge(Geom_BezierCurve(poles)).Edge())
        loft.AddWire(wire.Wire())
    loft.Build()
    return solid_volume(cut_solid(loft.Shape(), a.shaped.tools))


def by_strips(body: Body, volume: float, at_x: float, at_z: float) -> tuple[float, np.ndarray, float, float]:
    """Whole volume, centre of buoyancy, water's height over x = 0 and trim [rad]: upright, by Newton's method.

    At rest the line between the centres of buoyancy and mass is square to the water plane.
    """
    rings = bezier_points(sections(body, STRIPS), POINTS)
    x, y, z = rings[:, 0, 0], rings[..., 1], rings[..., 2]

    def under(height: float, slope: float) -> tuple[float, np.ndarray]:
        low = np.minimum(z, (height + slope * x)[:, None])  # what stands above the water is pressed flat upon it
        strip, middle, width = np.diff(low), (low[:, 1:] + low[:, :-1]) / 2, y[:, 1:] + y[:, :-1]
        area = (width * strip).sum(axis=1)
        total = float(np.trapezoid(area, x))
        return total, np.trapezoid([area * x, (width * strip * middle).sum(axis=1)], x) / max(total, 1e-9)

    def off(state: np.ndarray) -> np.ndarray:
        total, centre = under(*state)
        return np.array([total / volume - 1, (centre[0] - at_x + state[1] * (centre[1] - at_z)) / np.ptp(x)])

    state, step = np.array([float(z.mean()), 0.0]), (1e-4, 1e-6)
    for _ in range(20):
        here = off(state)
        slope = np.stack([(off(state + np.eye(2)[k] * step[k]) - here) / step[k] for k in (0, 1)], axis=1)
        change = np.linalg.solve(slope, -here)
        state += change / max(1.0, abs(change[0]) / 2.0, abs(change[1]) / 0.1)
    return under(1e3, 0.0)[0], under(*state)[1], state[0], np.arctan(state[1])


def told(what: str, ours: Callable[[], object], theirs: Callable[[], object], apart: str) -> None:
    """One line: the two in yardsticks of one run, how many times ours the other takes, how far its figures are."""
    own, other = (in_yardsticks(work, 3) for work in (ours, theirs))
    print(f"{what:<38}{other:8.2f} yardsticks, ours {own:6.2f}: {other / own:7.2f} times ours   {apart}", flush=True)


if __name__ == "__main__":
    fresh = count(1)
    for recipe in map(read_recipe, DEMOS):
        a = assess(recipe)
        wood = properties(a, None)["body"]
        cad = by_cad_script(a)
        tensor = np.array(wood["inertia_g_mm2"])
        worst = np.abs(cad.inertia * wood["wood_density_g_cm3"] / 1000 - tensor).max() / np.abs(tensor).max()
        told(
            f"{recipe.name}: shape, cuts, masses",
            lambda r=recipe: _masses(_thinner(r, next(fresh))),
            lambda a=a: by_cad_script(a),
            f"volume {cad.volume / wood['cut_volume_cm3'] / 1000 - 1:+.4%}, "
            f"centre {np.linalg.norm(cad.centroid - wood['centre_of_mass_mm']):.4f} mm, inertia {worst:.3%}",
        )
        mesh, total, water = body_mesh(a.shaped.body, FINE_MM), a.total, a.flotation.water_g_cm3
        skin = Shell(mesh.vertices, mesh.faces)
        mass = total.mass / total.displaced * (hull := build_hull([skin])).volume
        x, _, z = total.centre_of_mass
        rest = find_attitudes(hull, mass, (x, 0.0, z), water, others=False).attitude
        whole, buoyancy, height, trim = by_strips(a.shaped.body, 1000 * mass / water, x, z)
        told(
            f"{recipe.name}: its waterline",
            lambda s=skin, m=mass, x=x, z=z, w=water: find_attitudes(build_hull([s]), m, (x, 0.0, z), w, others=False),
            lambda b=a.shaped.body, m=mass, x=x, z=z, w=water: by_strips(b, 1000 * m / w, x, z),
            f"volume {whole / a.shaped.volume.volume - 1:+.4%}, centre of buoyancy "
            f"{np.hypot(*(buoyancy - np.array(rest.centre_of_buoyancy)[[0, 2]])):.4f} mm, water "
            f"{height - rest.water_height / rest.up[2]:+.4f} mm, {np.degrees(trim) - rest.pitch_deg:+.4f} deg",
        )
