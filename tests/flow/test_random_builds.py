"""Whole random recipes built: one sound body in every file, both kernels agree, what could not be made is worded.

``BODYGEN_RANDOM_BUILDS=60 BODYGEN_RANDOM_SEED=0`` builds so many from that seed on, without it none, as the CAD kernel
takes its time; ``BODYGEN_RANDOM_KINDS`` says which kinds of files.
"""

import os
import re

import manifold3d
import numpy as np
import pytest
import trimesh
from random_baits import random_bait

from bodygen.building import build
from bodygen.errors import DesignError, InputError
from bodygen.explain.answers import answers
from bodygen.recipe.read import read_recipe
from bodygen.solid.measure import solid_volume

WANTED = int(os.environ.get("BODYGEN_RANDOM_BUILDS", "0"))
FIRST = int(os.environ.get("BODYGEN_RANDOM_SEED", "0"))
KINDS = os.environ.get("BODYGEN_RANDOM_KINDS", "solids,lip,templates,block,gauges")
SPAN = 20
"""Seeds of one build: the first of them that breaks no rule is built."""
NOT_FOR_PEOPLE = re.compile(r"Traceback|\bNone\b|\bnan\b|\binf\b|array\(|<class|0x[0-9a-f]{6}|\bnp\.|Standard_|StdFail")
SAME_VOLUME = 5e-4
"""What the two kernels may differ by (DEVELOPERS.md); the facets of the STL lose up to ten times that."""


@pytest.mark.parametrize("number", range(WANTED))
def test_a_random_bait_is_built_with_one_sound_body(number, tmp_path):
    seed, made = _first_built(number, tmp_path)
    told = f"seed {seed}"
    found = made.properties
    for finding in found["findings"]:
        assert finding["remedy"], told
        assert not NOT_FOR_PEOPLE.search(finding["remedy"]), f"{told}: {finding}"
        if finding["code"] == "no-file":
            assert finding["remedy"].partition(": ")[2], f"{told}: {finding}"
    names = {file.name for file in made.manifest.files}
    assert {file.name for file in (tmp_path / "out" / "bait").iterdir()} == names | {"manifest.json"}, told
    assert all(answers(name) for name in names)
    if "bait.stl" in names:
        _one_closed_body(tmp_path / "out" / "bait" / "bait.stl", found["body"]["cut_volume_cm3"], told)
    if "bait.step" in names:
        _one_valid_solid(tmp_path / "out" / "bait" / "bait.step", found["body"]["cut_volume_cm3"], told)
        assert abs(found["cad"]["difference_percent"]) <= 100 * SAME_VOLUME, told


def _first_built(number, folder):
    """The first of the seeds whose bait breaks no rule; those that do say which, and leave nothing behind."""
    for seed in range(FIRST + number * SPAN, FIRST + (number + 1) * SPAN):
        bait = random_bait(seed)
        here = folder / str(seed)
        here.mkdir()
        path = bait.saved(here)
        try:
            return seed, build(read_recipe(path), folder / "out", "bait", KINDS)
        except (DesignError, InputError) as error:
            refusal = str(error)
        assert refusal, f"seed {seed}"
        assert not NOT_FOR_PEOPLE.search(refusal), f"seed {seed}: {refusal}"
        assert not list((folder / "out").glob("**/*")), f"seed {seed}"
    return pytest.fail(f"{SPAN} designs in a row break a rule")


def _one_closed_body(path, cut_cm3, told):
    again = trimesh.load_mesh(path)
    assert again.is_watertight, told
    assert again.volume / 1000 == pytest.approx(cut_cm3, rel=10 * SAME_VOLUME), told
    mesh = manifold3d.Mesh64(np.array(again.vertices, dtype=np.float64), np.array(again.faces, dtype=np.uint64))
    solid = manifold3d.Manifold(mesh)
    assert solid.status() == manifold3d.Error.NoError, told
    assert len(solid.decompose()) == 1, told


def _one_valid_solid(path, cut_cm3, told):
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_SOLID

    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone, told
    reader.TransferRoots()
    solid = reader.OneShape()
    assert solid.ShapeType() == TopAbs_SOLID, told
    assert BRepCheck_Analyzer(solid).IsValid(), told
    assert solid_volume(solid).volume / 1000 == pytest.approx(cut_cm3, rel=SAME_VOLUME), told
