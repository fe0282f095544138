"""The demos and random recipes with their shapes, made once, for the tests of what is cut to fit them.

``NAMES`` are stems of demos and "random-N": a round demo, a flat-sided one and a random; with BODYGEN_MORE=1 all demos
and two random ones, with BODYGEN_FULL=1 fifty.
"""

from functools import cache
from itertools import count, islice
from pathlib import Path

from amount import FULL, MORE
from recipe_strategies import random_recipe_text, seeded

from bodygen.errors import BodygenError
from bodygen.pipeline import shape
from bodygen.recipe.read import read_recipe, recipe_from_bytes

PARAMS = Path(__file__).parent.parent / "params"


@cache
def recipe(name):
    """The recipe of a demo or of "random-N"."""
    if not name.startswith("random-"):
        return read_recipe(PARAMS / f"{name}.toml")
    text = random_recipe_text(seeded(int(name.split("-")[1])))
    return recipe_from_bytes(text.encode(), PARAMS / f"{name}.toml")


@cache
def shaped(name):
    """Its body, mesh, caster and tools."""
    return shape(recipe(name))[0]


def sound(name):
    """Whether a random recipe makes a body at all, and breaks no rule."""
    try:
        return not any(doubt.severity == "error" for doubt in shape(recipe(name))[1])
    except BodygenError:
        return False


DEMOS = tuple(sorted(path.stem for path in PARAMS.glob("*.toml"))) if MORE else ("reedbed-roach-65", "tarn-perch-70")
RANDOM = tuple(islice(filter(sound, (f"random-{seed}" for seed in count())), 50 if FULL else 1 + MORE))
NAMES = (*DEMOS, *RANDOM)
