"""How long things take: python tests/bench/bench.py.

Prints figures, passes or fails nothing. Machines differ and are busy, so each figure stands beside a yardstick that was
timed in the same run, and their ratio is what to compare from one day to the next.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh
from scipy.interpolate import BSpline

from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull
from bodygen.form import spline
from bodygen.form.shape import body_of
from bodygen.mesh.skin import body_mesh
from bodygen.pipeline import assess, make, shape
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import read_recipe
from bodygen.weights.geometry import measure
from bodygen.weights.reweigh import reweigh

DEMOS = sorted((Path(__file__).parent.parent.parent / "params").glob("*.toml"))
FLAT_SIDED = Path(__file__).parents[2] / "params" / "reedbed-roach-65.toml"
DEMO = next(path for path in DEMOS if path.stem == "tarn-perch-70")
TRIANGLES = 20_000
HALVINGS = 12  # of the depth: to a hundredth of a millimetre or better


def seconds(work: Callable[[], object], runs: int = 7) -> float:
    """Median over so many runs [s]."""
    times = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def line(what: str, took: float, yardstick: str = "", other: float = 0.0) -> None:
    """One figure, and what the same machine took for the yardstick just now."""
    beside = f"   {yardstick} {1000 * other:8.1f} ms   ratio {took / other:6.3f}" if other else ""
    print(f"{what:<58}{1000 * took:9.1f} ms{beside}", flush=True)


def process(*words: str) -> Callable[[], object]:
    """A whole new Python process."""
    return lambda: subprocess.run([sys.executable, *words], capture_output=True, check=True)


def weighing() -> None:
    """``weigh --json`` as a whole process, beside a process that only loads numpy; what it has loaded."""
    numpy_alone = seconds(process("-c", "import numpy"))
    line(
        "weigh --json, whole process",
        seconds(process("-m", "bodygen", "weigh", str(DEMO), "--json")),
        "numpy",
        numpy_alone,
    )
    look = (
        "import sys, io, contextlib; from bodygen.cli import main\n"
        "with contextlib.redirect_stdout(io.StringIO()): main(['weigh', sys.argv[1]])\n"
        "print('cadquery' in sys.modules or 'OCP' in sys.modules)"
    )
    loaded = subprocess.run([sys.executable, "-c", look, str(DEMO)], capture_output=True, text=True, check=True)
    print(f"weigh loads the CAD kernel: {loaded.stdout.strip()}")


def assessing() -> None:
    """A warm assessment of each demo: shape, cuts and masses alone, then with water, every rest and the spread."""
    for path in DEMOS:
        recipe = read_recipe(path)
        masses = seconds(lambda recipe=recipe: _masses(recipe))
        line(f"shape, cuts and masses of {path.stem}, warm", masses, "surface", seconds(lambda r=recipe: body_of(r)))
        line(f"assess {path.stem}, warm", seconds(lambda recipe=recipe: assess(recipe)), "masses", masses)


def _masses(recipe: Recipe) -> None:
    shaped, _ = shape(recipe)
    reweigh(recipe, measure(recipe, shaped.volume, shaped.skin, shaped.tools, shaped.pieces, shaped.set_plate))


def building() -> None:
    """Every file of each demo, once: with the CAD kernel still to load, then warm; what the two kernels say."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        words = ("-m", "bodygen", "build", str(DEMO), "--out", str(out))
        line(f"build {DEMO.stem}, whole process", seconds(process(*words), 1))
        for path in DEMOS:
            recipe = read_recipe(path)
            half = seconds(
                lambda recipe=recipe, stem=path.stem: make(recipe, out / "some", stem, "solids,lip,pictures"), 1
            )
            line(f"solids, lip and pictures of {path.stem}", half, "assess", seconds(lambda r=recipe: assess(r), 3))
            took = seconds(lambda recipe=recipe, stem=path.stem: make(recipe, out / "warm", stem), 1)
            line(f"every file of {path.stem}", took, "some", half)
            again = seconds(lambda recipe=recipe, stem=path.stem: make(recipe, out / "warm", stem), 1)
            line(f"every file of {path.stem}, nothing changed", again, "first", took)
            properties = json.loads((out / "warm" / path.stem / "properties.json").read_text(encoding="utf-8"))
            exact, cad = properties["body"]["cut_volume_cm3"], properties["cad"]
            print(
                f"    wood left: {exact:.6f} cm3, CAD {cad['volume_cm3']:.6f} cm3, {cad['difference_percent']:+.4f} %"
            )


def evaluating() -> None:
    """Our B-spline beside the library's, values and first derivatives at 2000 places."""
    body = body_of(read_recipe(DEMO))
    poles, u = body.poles.reshape(len(body.poles), -1), np.linspace(0, 1, 2000)
    theirs = BSpline(body.knots, poles, spline.DEGREE)
    for order, word in enumerate(("values", "derivatives")):
        apart = np.abs(spline.evaluate(body.knots, poles, u, order) - theirs(u, nu=order)).max()
        line(
            f"B-spline {word} (apart by {apart:.1e})",
            seconds(lambda order=order: spline.evaluate(body.knots, poles, u, order)),
            "scipy",
            seconds(lambda order=order: theirs(u, nu=order)),
        )


def floating() -> None:
    """Every stable attitude on 20 thousand triangles, beside a single upright waterline by a library's slices."""
    assessment = assess(read_recipe(DEMO))
    tolerance, mesh = 0.006, assessment.shaped.mesh
    while len(mesh.faces) < TRIANGLES:
        tolerance *= 0.9
        mesh = body_mesh(assessment.shaped.body, tolerance)
    hull = build_hull([Shell(mesh.vertices, mesh.faces)])
    water = assessment.flotation.water_g_cm3
    mass = assessment.total.mass / assessment.total.displaced * hull.volume
    solid = trimesh.Trimesh(mesh.vertices, mesh.faces)
    wanted = 1000 * mass / water

    def sliced() -> float:
        low, high = solid.bounds[:, 2]
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            under = trimesh.intersections.slice_mesh_plane(solid, (0, 0, -1), (0, 0, middle), cap=True).volume
            low, high = (middle, high) if under < wanted else (low, middle)
        return float(high)

    took = seconds(lambda: find_attitudes(hull, mass, assessment.total.centre_of_mass, water))
    line(f"every attitude, {len(mesh.faces)} triangles", took, "one waterline, slices", seconds(sliced, 3))


if __name__ == "__main__":
    for part in (weighing, assessing, building, evaluating, floating):
        part()
