"""Random recipes through the whole line: none crashes, every solid is sound, every mistake is named.

``BODYGEN_RANDOM_RECIPES=300`` runs so many of each; without it a handful of solids, as the CAD kernel takes its time.
"""

import os
import subprocess
import sys

import manifold3d
import numpy as np
import pytest
import trimesh
from recipe_strategies import broken_recipe_text, random_recipe_text, seeded

from bodygen.building import build
from bodygen.cli import main
from bodygen.errors import DesignError
from bodygen.export.stl import write_stl
from bodygen.files.solids import FILE_MM, REPAIR_MM
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.skin import body_mesh
from bodygen.pipeline import assess
from bodygen.recipe.read import read_recipe
from bodygen.solid.cut import cut_solid
from bodygen.solid.measure import solid_volume
from bodygen.solid.skin import body_solid, sound

WANTED = int(os.environ.get("BODYGEN_RANDOM_RECIPES", "0"))
SOLIDS = WANTED or 6
BROKEN = WANTED or 300
BATCH = 25  # a test for each broken recipe would take longer to collect than to run


@pytest.mark.parametrize("seed", range(SOLIDS))
def test_a_random_bait_is_one_sound_solid_of_one_volume(seed, tmp_path):
    """Reads, weighs, one valid closed solid, both kernels within 0.05 %, STL closed in two libraries."""
    assessment = _sound_design(seeded(seed), tmp_path)
    shaped = assessment.shaped
    body = body_solid(shaped.body)
    assert solid_volume(body).volume == pytest.approx(shaped.volume.volume, rel=5e-4)
    cut = sound(cut_solid(body, shaped.tools))
    assert solid_volume(cut).volume == pytest.approx(assessment.measured.wood_left.volume, rel=5e-4)

    tools = [to_manifold(tool_mesh(tool)) for tool in shaped.tools]
    mesh = to_mesh(cut_with(to_manifold(body_mesh(shaped.body, FILE_MM)), tools))
    write_stl(repair_for_float32(mesh, REPAIR_MM), tmp_path / "bait.stl", "bait")
    again = trimesh.load_mesh(tmp_path / "bait.stl")
    assert again.is_watertight
    assert again.volume == pytest.approx(assessment.measured.wood_left.volume, rel=5e-3)
    closed = manifold3d.Mesh64(np.array(again.vertices, dtype=np.float64), np.array(again.faces, dtype=np.uint64))
    assert manifold3d.Manifold(closed).status() == manifold3d.Error.NoError


def _sound_design(rng, folder):
    """Draw recipes until one breaks no rule; those that break one are refused without a trace, never cut."""
    for attempt in range(10):
        path = folder / f"bait-{attempt}.toml"
        path.write_text(random_recipe_text(rng), encoding="utf-8")
        recipe = read_recipe(path)
        assessment = assess(recipe)
        if not assessment.failed:
            return assessment
        with pytest.raises(DesignError):
            build(recipe, folder / "out", "bait")
        assert not list((folder / "out").glob("**/*"))
    return pytest.fail("ten designs in a row break a rule")


@pytest.mark.parametrize("first", range(0, BROKEN, BATCH))
def test_a_broken_recipe_is_exit_code_2_with_its_key_and_no_file(first, tmp_path, capsys):
    out = tmp_path / "out"
    for seed in range(first, min(first + BATCH, BROKEN)):
        text, key = broken_recipe_text(seeded(seed))
        path = tmp_path / f"bait-{seed}.toml"
        path.write_text(text, encoding="utf-8")
        code = main(["build", str(path), "--out", str(out)])
        told = capsys.readouterr()
        assert (code, told.out) == (2, ""), f"seed {seed}\n{told.err}\n{text}"
        assert key in told.err, f"seed {seed}\n{told.err}\n{text}"
        assert path.name in told.err
        assert "Traceback" not in told.err
    assert not out.exists()


def test_a_broken_recipe_does_the_same_in_a_process_of_its_own(tmp_path):
    text, key = broken_recipe_text(seeded(1))
    path = tmp_path / "bait.toml"
    path.write_text(text, encoding="utf-8")
    words = [sys.executable, "-m", "bodygen", "build", str(path), "--out", str(tmp_path / "out"), "--json"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert key in done.stderr
    assert "Traceback" not in done.stderr
