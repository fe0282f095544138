"""Random baits that are meant to dive: a demo in another size, its lip, its ballast and its wood changed; invented."""

from pathlib import Path

import numpy as np

from bodygen.errors import BodygenError
from bodygen.pipeline import assess_quickly
from bodygen.recipe.read import read_recipe
from bodygen.recipe.rewrite import copy_recipe, rewrite

PARAMS = Path(__file__).parents[1] / "params"
DEMOS = ("tarn-perch-70", "fell-reed-110", "reedbed-roach-65")
OPTIONS = {"line_out": "25 m", "line": "0.28 mm", "speed": "1.1 m/s", "tip": "1 m"}
"""What they are fished on."""


def random_diver(seed, folder):
    """The file of a random diver; None where it cannot be made, or has a fault that no diver may have."""
    rng = np.random.default_rng(seed)
    demo = PARAMS / f"{DEMOS[seed % len(DEMOS)]}.toml"
    path = folder / f"diver-{seed}.toml"
    try:
        path.write_text(copy_recipe(demo, f"diver {seed}", factor=float(rng.uniform(0.75, 1.7))).recipe, "utf-8")
        recipe = read_recipe(path)
        lip, ballast = recipe.lip, next(i for i, bore in enumerate(recipe.bores, 1) if bore.kind == "ballast")
        changes = {
            "lip.length": f"{lip.length * rng.uniform(0.7, 1.5):.2f} mm",
            "lip.width": f"{lip.width * rng.uniform(0.7, 1.5):.2f} mm",
            "lip.angle": f"{np.degrees(lip.angle) + rng.uniform(-12, 15):.1f} deg",
            "lip.mass": None,
            f"bore[{ballast}].depth": f"{recipe.bores[ballast - 1].depth * rng.uniform(0.7, 1.15):.2f} mm",
        }
        path.write_text(rewrite(path, changes), "utf-8")
        a = assess_quickly(read_recipe(path))
    except BodygenError:
        return None
    return None if a.failed else path
