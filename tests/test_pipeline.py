"""The whole flow: what it loads, what it passes on, what it refuses."""

import math
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import recipe_strategies

from bodygen.errors import DesignError
from bodygen.extras import EXTRAS
from bodygen.mesh.cut import cut_with
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe, recipe_from_bytes
from bodygen.recipe.starter import starter_text
from bodygen.report.properties import as_json, properties
from bodygen.report.summary import as_text

PARAMS = sorted((Path(__file__).parents[1] / "params").glob("*.toml"))
HEAVY = (*sorted({m for modules in EXTRAS.values() for m in modules}), "scipy", "trimesh")
PROBE = """
import sys
from pathlib import Path
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe, recipe_from_bytes
from bodygen.recipe.starter import starter_text
assess(read_recipe(Path(sys.argv[1])))
print([name for name in {heavy!r} if name in sys.modules])
"""


@pytest.mark.parametrize("path", PARAMS, ids=[p.stem for p in PARAMS])
def test_an_assessment_loads_neither_the_cad_kernel_nor_any_other_slow_library(path):
    """In a process of its own: weigh has half a second, and each of these takes more to load."""
    code = PROBE.format(heavy=HEAVY)
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.fixture(scope="module", params=PARAMS, ids=[p.stem for p in PARAMS])
def assessment(request):
    return assess(read_recipe(request.param))


def test_wood_is_the_body_less_what_every_tool_took(assessment):
    """The ledger's wood and the mesh's own difference, which shares its facets' error."""
    pieces = assessment.shaped.pieces
    lost = pieces.body.volume() - cut_with(pieces.body, pieces.cutting_solids).volume()
    assert assessment.shaped.volume.volume - assessment.measured.wood_left.volume == pytest.approx(lost, rel=1e-9)


def test_the_hull_pushes_aside_what_the_ledger_says(assessment):
    assert assessment.hull.volume == pytest.approx(assessment.total.displaced, rel=1e-6)


def test_the_document_holds_no_number_that_is_none(assessment):
    """NaN and infinity are no JSON; keys in the order of DEVELOPERS.md."""
    text = as_json(properties(assessment))
    assert "NaN" not in text
    assert "Infinity" not in text
    assert list(properties(assessment))[:5] == ["format", "name", "bodygen_version", "recipe_sha256", "body"]


def test_the_same_recipe_gives_the_same_document_twice(assessment):
    again = assess(assessment.recipe)
    assert as_json(properties(again)) == as_json(properties(assessment))


def test_the_summary_has_every_stage_and_every_doubt(assessment):
    text = as_text(assessment)
    for stage in assessment.weighed.stages:
        assert f"  {stage.name}" in text
    for finding in assessment.findings:
        assert finding.code in text
    assert "\x1b" not in text
    assert "\x1b" in as_text(assessment, colour=True)


def test_hooks_of_the_demos_hang_and_trail_clear_of_each_other_lip_and_tie(assessment):
    assert not [doubt for doubt in assessment.findings if doubt.code.startswith("hook") and doubt.severity != "note"]


@pytest.mark.parametrize("seed", range(100, 112))
def test_a_random_bait_is_assessed_with_sound_figures_or_refused(seed, tmp_path):
    path = tmp_path / "random.toml"
    path.write_text(recipe_strategies.random_recipe_text(random.Random(seed)))  # noqa: S311  baits, not secrets
    recipe = read_recipe(path)
    try:
        found = assess(recipe)
    except DesignError:
        return  # the reasons have tests of their own
    assert 0 < found.measured.wood_left.volume <= found.shaped.volume.volume
    assert math.isfinite(found.total.mass)
    assert np.isfinite(found.total.inertia).all()
    assert (np.linalg.eigvalsh(found.total.inertia) > 0).all()
    order = [{"error": 0, "warning": 1, "note": 2}[f.severity] for f in found.findings]
    assert order == sorted(order)


@pytest.mark.parametrize(("where", "fouls"), [("belly", False), ("back", True)])
def test_a_treble_from_the_back_lies_against_the_body_and_one_below_does_not(where, fouls):
    """Hung straight down from an eye on the back, it goes into the body, which is 20 mm deep there."""
    text = starter_text("Hung", length=70.0)
    hanger = 'name = "belly hanger"\nkind = "hanger"\nfrom = '
    assert hanger in text
    text = text.replace(f'{hanger}"belly"', f'{hanger}"{where}"')
    keel = '\n[[fitting]]\nname = "keel"\nmass = "4 g"\nat = [30, 0, -14]\n'  # keeps it upright
    found = assess(recipe_from_bytes((text + keel).encode(), Path("a.toml")))
    assert found.flotation.attitude.roll_deg == pytest.approx(0.0, abs=0.01)
    checks = [doubt.where for doubt in found.findings if doubt.code == "hook-fouls"]
    assert checks == (["fitting[4] belly treble"] if fouls else [])
