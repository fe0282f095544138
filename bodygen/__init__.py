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
<Made ...: 8 files, anew lip>

A bait that is there becomes a recipe; so do other sizes of it, and copies are held against it:

>>> from pathlib import Path
>>> rows = ["x_mm,top_mm,bottom_mm,half_width_mm", "0,0,0,0", "10,5,-5,4", "25,8,-8,6", "45,6,-6,4", "60,0,0,0"]
>>> with tempfile.TemporaryDirectory() as folder:
...     file = Path(folder) / "readings.csv"
...     _ = file.write_text(chr(10).join(rows))
...     traced = bodygen.trace_stations(file, "Copy", folder, bare=True)
...     larger = bodygen.scale(traced.path, "Larger", [80.0], folder)
...     both = bodygen.compare(traced.path, larger.copies[0].path)
>>> traced.path.name, round(larger.copies[0].factor, 3), both.pairs[0].fit.max > 1.0
('copy.toml', 1.333, True)

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
    from bodygen.scan.door.copying import compare, scale, trace_photo, trace_scan, trace_stations
    from bodygen.study.door import run_study, take_readings, take_row
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
    "compare",
    "estimate_dive",
    "parse_recipe",
    "properties",
    "read_recipe",
    "rewrite",
    "run_study",
    "scale",
    "solve_ballast",
    "take_readings",
    "take_row",
    "trace_photo",
    "trace_scan",
    "trace_stations",
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
    "compare": "bodygen.scan.door.copying",
    "estimate_dive": "bodygen.diving",
    "parse_recipe": "bodygen.recipe.read",
    "properties": "bodygen.report.properties",
    "read_recipe": "bodygen.recipe.read",
    "rewrite": "bodygen.recipe.rewrite",
    "run_study": "bodygen.study.door",
    "scale": "bodygen.scan.door.copying",
    "solve_ballast": "bodygen.pipeline",
    "take_readings": "bodygen.study.door",
    "take_row": "bodygen.study.door",
    "trim_bait": "bodygen.trimming.floated",
    "trace_photo": "bodygen.scan.door.copying",
    "trace_scan": "bodygen.scan.door.copying",
    "trace_stations": "bodygen.scan.door.copying",
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
