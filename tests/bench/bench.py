"""How long things take: python tests/bench/bench.py.

Prints figures, passes or fails nothing. Machines differ and are busy, so each figure stands beside a yardstick that was
timed in the same run, and their ratio is what to compare from one day to the next.

A build makes more than it did when the baseline was taken, so it is told twice: every file of today, and what the
baseline made of the same baits: without the page that shows the folder, and without ``SINCE``, the kinds and pictures
that came later. All else that came later (the wires' forms, hooks by their size, a dive with its doubts) is in both.
"""

import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import replace
from itertools import count
from pathlib import Path
from unittest.mock import patch

import numpy as np
import trimesh
from scipy.interpolate import BSpline

from bodygen.building import build
from bodygen.files import pictures
from bodygen.files.kinds import KINDS
from bodygen.flotation.equilibrium import find_attitudes
from bodygen.flotation.hull import Shell, build_hull
from bodygen.form import spline
from bodygen.form.cuts.hung import hung
from bodygen.form.fairing.shape import body_of
from bodygen.mesh.skin import body_mesh
from bodygen.pipeline import assess, glance, shape, solve_ballast
from bodygen.recipe.model import Goal, Parameters, Recipe
from bodygen.recipe.read import read_recipe
from bodygen.serve.answer.ask import Ask, Warm, answer
from bodygen.weights.calibrate import calibrate
from bodygen.weights.measured import measure

DEMOS = sorted((Path(__file__).parent.parent.parent / "params").glob("*.toml"))
FLAT_SIDED = Path(__file__).parents[2] / "params" / "reedbed-roach-65.toml"
DEMO = next(path for path in DEMOS if path.stem == "tarn-perch-70")
TRIANGLES = 20_000
HALVINGS = 12  # of the depth: to a hundredth of a millimetre or better
RUNS = 5
BASELINE = {
    "assess, one bore changed": 2.89,
    "assess, a new body": 3.21,
    "glance, one bore changed": 2.89,
    "glance, wood of another density": 2.89,
    "ballast": 60.3,
    "weigh, whole process": 7.67,
    "build, every file": 164.0,
    "build, what the baseline made": 164.0,
}
"""Yardsticks of processor time that each took before the work on speed began: what a ratio of today is to.

There was no glance: whoever dragged a bore waited for the assessment of it.
"""
SINCE = {"kinds": ("calendar", "card", "wire"), "pictures": ("_running", "_depths", "_painted")}
"""Kinds of file, and pictures by what makes them, that a build did not have when the baseline was taken."""


def seconds(work: Callable[[], object], runs: int = 7) -> float:
    """Median over so many runs [s]."""
    times = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def processor(work: Callable[[], object]) -> float:
    """Processor time [s] of one run, its child processes' included."""

    def used() -> float:
        each = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        return sum(one.ru_utime + one.ru_stime for one in each)

    began = used()
    work()
    return used() - began


def yardstick() -> float:
    """Processor time [s] of fixed work, half of it numpy's and half the interpreter's: about a tenth of a second."""

    def work() -> None:
        values = np.random.default_rng(7).random((60_000, 3))
        for _ in range(10):
            crossed = np.cross(values, values[::-1])
            values = crossed[np.argsort(crossed[:, 0], kind="stable")] + values
        found: dict[int, float] = {}
        for i in range(120_000):
            found[i % 997] = found.get(i % 997, 0.0) * 0.5 + i**0.5

    return processor(work)


def in_yardsticks(work: Callable[[], object], runs: int) -> float:
    """Processor time over that of the yardstick just before and just after: the median of so many runs."""
    ratios, before = [], yardstick()
    for _ in range(runs):
        took, after = processor(work), yardstick()
        ratios.append(took / ((before + after) / 2))
        before = after
    return statistics.median(ratios)


def against_the_baseline() -> None:
    """What a maker waits for, in yardsticks of processor time, each the mean of the four demos."""
    recipes = [read_recipe(path) for path in DEMOS]
    fresh = count(1)

    goals = [r.goal or Goal(reserve=assess(r).flotation.reserve_g + 0.2) for r in recipes]
    told("assess, one bore changed", [lambda r=r: assess(_deeper(r, next(fresh))) for r in recipes])
    told("assess, a new body", [lambda r=r: assess(_thinner(r, next(fresh))) for r in recipes])
    seen = [assess(r) for r in recipes]
    pairs = list(zip(recipes, seen, strict=True))
    told("glance, one bore changed", [lambda r=r, a=a: glance(_deeper(r, next(fresh)), a) for r, a in pairs])
    told("glance, wood of another density", [lambda r=r, a=a: glance(_lighter(r, next(fresh)), a) for r, a in pairs])
    told("ballast", [lambda r=r, g=g: solve_ballast(r, g) for r, g in zip(recipes, goals, strict=True)], 1)
    told("weigh, whole process", [process("-m", "bodygen", "weigh", str(path), "--json") for path in DEMOS])
    for then in ((), ("then",)):  # each in a new process: either loads the CAD kernel once
        subprocess.run([sys.executable, __file__, "builds", *then], check=True)


def told(what: str, works: list[Callable[[], object]], runs: int = RUNS) -> None:
    """One figure beside that of the baseline."""
    each = [in_yardsticks(work, runs) for work in works]
    took = statistics.fmean(each)
    before = f"   before {BASELINE[what]:7.2f}   ratio {took / BASELINE[what]:.3f}" if BASELINE.get(what) else ""
    print(f"{what:<30}{took:9.2f} yardsticks{before}   ({', '.join(f'{one:.2f}' for one in each)})", flush=True)


def builds(*then: str) -> None:
    """Every file of each demo; with ``then``, what the baseline made of it."""
    kinds = ",".join(kind.name for kind in KINDS if not then or kind.name not in SINCE["kinds"])
    with tempfile.TemporaryDirectory() as folder, ExitStack() as without:
        for picture in SINCE["pictures"] if then else ():
            without.enter_context(patch.object(pictures, picture, lambda _: []))
        if then:  # the page that shows a folder is no kind: every build ends with it
            without.enter_context(patch("bodygen.building.overview", lambda *_: ""))
        places = (Path(folder) / str(i) for i in count())
        recipes = [read_recipe(path) for path in DEMOS]
        works = [lambda r=r: build(r, next(places), "bait", kinds) for r in recipes]
        told("build, what the baseline made" if then else "build, every file", works, 1)


def _deeper(recipe: Recipe, step: int) -> Recipe:
    """The recipe with its first ballast bore a little deeper than it ever was in this run."""
    place = next(i for i, bore in enumerate(recipe.bores) if bore.kind == "ballast")
    bores = list(recipe.bores)
    bores[place] = replace(bores[place], depth=(bores[place].depth or 8.0) + 0.003 * step)
    return replace(recipe, bores=tuple(bores))


def _lighter(recipe: Recipe, step: int) -> Recipe:
    """The recipe of a wood that is lighter than it ever was in this run."""
    return replace(recipe, wood=replace(recipe.wood, species=None, density_g_cm3=0.3 - 1e-5 * step))


def _thinner(recipe: Recipe, step: int) -> Recipe:
    """The recipe with a body that was not made in this run."""
    shape = recipe.shape
    if isinstance(shape, Parameters):
        plan = replace(shape.plan, points=tuple((x, y * (1 - 1e-5 * step)) for x, y in shape.plan.points))
        return replace(recipe, shape=replace(shape, plan=plan))
    rows = tuple((*row[:3], row[3] * (1 - 1e-5 * step), row[4]) for row in shape.rows)  # type: ignore[union-attr]
    return replace(recipe, shape=replace(shape, rows=rows))  # type: ignore[arg-type]


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
        "print('OCP' in sys.modules)"
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
    recipe = hung(recipe, shaped.tools, shaped.base_body.caster)  # what a bent wire weighs follows from its bore
    calibrate(recipe, measure(recipe, shaped.volume, shaped.skin, shaped.tools, shaped.pieces, shaped.set_plate))


def building() -> None:
    """Every file of each demo, once: with the CAD kernel still to load, then warm; what the two kernels say."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        words = ("-m", "bodygen", "build", str(DEMO), "--out", str(out))
        line(f"build {DEMO.stem}, whole process", seconds(process(*words), 1))
        for path in DEMOS:
            recipe = read_recipe(path)
            half = seconds(
                lambda recipe=recipe, stem=path.stem: build(recipe, out / "some", stem, "solids,lip,pictures"), 1
            )
            line(f"solids, lip and pictures of {path.stem}", half, "assess", seconds(lambda r=recipe: assess(r), 3))
            took = seconds(lambda recipe=recipe, stem=path.stem: build(recipe, out / "warm", stem), 1)
            line(f"every file of {path.stem}", took, "some", half)
            again = seconds(lambda recipe=recipe, stem=path.stem: build(recipe, out / "warm", stem), 1)
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


def answering() -> None:
    """A page's ask inside its working process, while a hand drags one key and when it stops: the perch."""
    text, file, fresh, tab = DEMO.read_text(encoding="utf-8"), DEMO.as_posix(), count(1), Warm()

    def ask(want: str, key: str, value: float, step: float) -> Callable[[], object]:
        return lambda: answer(Ask(0, text, {key: f"{value + step * next(fresh):.5f}"}, file, want, "side"), tab)

    answer(Ask(0, text, {}, file, "whole", "side"), tab)
    fixed = seconds(yardstick, 3)
    for what, want, key, value, step in (
        ("glance, a bore", "glance", "bore[1].depth", 0.375, 0.001),
        ("glance, the wood's density", "glance", "wood.moisture_percent", 9.0, 0.01),
        ("glance, the lip's angle", "glance", "lip.angle", 40.0, 0.05),
        ("glance, the body", "glance", "shape.depth", 0.875, 0.0001),
        ("whole, a bore", "whole", "bore[1].depth", 0.3755, 0.001),
    ):
        line(f"page, {what}", seconds(ask(want, key, value, step), 15), "the yardstick", fixed)


if __name__ == "__main__":
    if sys.argv[1:2] == ["builds"]:
        sys.exit(builds(*sys.argv[2:]))
    for part in (against_the_baseline, weighing, assessing, building, evaluating, floating, answering):
        part()
