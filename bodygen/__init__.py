"""Wooden diving baits from a parameter file: the solid, its weight, its jigs, its lip.

From a program or a notebook, these names are all that is needed; the command line uses the same:

>>> import bodygen
>>> recipe = bodygen.parse_recipe('''
... format = 1
... name = "Tarn dace 60"
... shape = { length = 60, depth = 16, thickness = 12, back = "leaf", belly = "leaf", plan = "leaf" }
... wood = { species = "basswood" }
... lip = { sheet = "polycarbonate", thickness = 1.0, angle = 40, x = 8, slot_depth = 5, length = 12, width = 10 }
... [[bore]]
... kind = "ballast"
... from = "belly"
... x = 24
... diameter = 6.5
... depth = 5
... fill.metal = "tungsten_putty"
... ''')
>>> bait = bodygen.assess(recipe)  # in a notebook, ``bait`` alone draws it at its waterline
>>> bait.flotation.state, [doubt.code for doubt in bait.findings if doubt.severity == "error"]
('floats', [])
>>> bodygen.properties(bait)["float"]["reserve_g"]  # [g], every figure under the names of properties.json
1.57
>>> best = bodygen.solve_ballast(recipe, bodygen.Goal(reserve=1.0, metal="tungsten_putty")).offers[0]
>>> best.changes["bore[1].depth"], best.reserve_g  # [mm], [g]
(6.0, 1.00)
>>> import tempfile
>>> with tempfile.TemporaryDirectory() as folder:
...     bodygen.build(bait, folder, only="lip")  # doctest: +ELLIPSIS
<Made ...: 7 files, anew lip>

Lengths are mm, masses g, angles rad, unless a name says otherwise. Whatever is wrong with a recipe that was read is a
``BodygenError``, and its text is what the command line would say. Nothing is loaded before it is used.

A recipe is changed by ``dataclasses.replace``, whose values nobody looks at; or by ``rewrite`` and ``parse_recipe``,
which read them as they read a file: ``parse_recipe(rewrite(path, best.changes), path)``.
"""

from typing import TYPE_CHECKING

from bodygen.version import VERSION as __version__  # noqa: N811  the name that Python gives it

if TYPE_CHECKING:
    from bodygen.assessment import Assessment
    from bodygen.building import build
    from bodygen.diving import estimate_dive
    from bodygen.errors import BodygenError
    from bodygen.findings import Finding
    from bodygen.pipeline import assess, solve_ballast
    from bodygen.recipe.model import Goal, Recipe
    from bodygen.recipe.read import parse_recipe, read_recipe
    from bodygen.recipe.rewrite import rewrite
    from bodygen.report.properties import properties
    from bodygen.report.summary import as_text
    from bodygen.trim.outcome import Trimmed
    from bodygen.trimming.floated import trim_bait

__all__ = [
    "Assessment",
    "BodygenError",
    "Finding",
    "Goal",
    "Recipe",
    "Trimmed",
    "__version__",
    "as_text",
    "assess",
    "build",
    "estimate_dive",
    "parse_recipe",
    "properties",
    "read_recipe",
    "rewrite",
    "solve_ballast",
    "trim_bait",
]
_LIES_IN = {
    "Assessment": "bodygen.assessment",
    "BodygenError": "bodygen.errors",
    "Finding": "bodygen.findings",
    "Goal": "bodygen.recipe.model",
    "Recipe": "bodygen.recipe.model",
    "Trimmed": "bodygen.trim.outcome",
    "as_text": "bodygen.report.summary",
    "assess": "bodygen.pipeline",
    "build": "bodygen.building",
    "estimate_dive": "bodygen.diving",
    "parse_recipe": "bodygen.recipe.read",
    "properties": "bodygen.report.properties",
    "read_recipe": "bodygen.recipe.read",
    "rewrite": "bodygen.recipe.rewrite",
    "solve_ballast": "bodygen.pipeline",
    "trim_bait": "bodygen.trimming.floated",
}


def __getattr__(name: str) -> object:
    """Load a name of the door the first time that it is used."""
    if name not in _LIES_IN:
        msg = f"module 'bodygen' has no attribute {name!r}"
        raise AttributeError(msg)
    from importlib import import_module  # noqa: PLC0415  the door opens without anything

    value = globals()[name] = getattr(import_module(_LIES_IN[name]), name)
    return value


def __dir__() -> list[str]:
    """Name what the door has, loaded or not."""
    return sorted(__all__)
