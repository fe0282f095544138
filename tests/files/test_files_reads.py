"""Each kind of file declares the recipe fields that it reads, no fewer and no more.

A recipe that notes what is asked of it is shaped and handed to every writer. What a writer takes from the shape counts
as read by it; what it takes from weights or flotation counts as everything, because these hang on the whole recipe.
"""

import json
import re
import tomllib
from dataclasses import dataclass, field, fields, is_dataclass, replace
from pathlib import Path

import pytest
from amount import MORE, only_with_more
from hypothesis import given, settings
from hypothesis import strategies as st
from recipe_strategies import random_recipe_text, seeded

import bodygen.files.router
import bodygen.pipeline
from bodygen.assessment import Assessment
from bodygen.building import build
from bodygen.export.stl import write_stl
from bodygen.files import writing
from bodygen.files.kinds import KINDS, WHOLE, digest_of
from bodygen.files.made_with import LIBRARIES, made_with
from bodygen.folder.publish import Draft
from bodygen.pipeline import assess, shape
from bodygen.recipe.model import MeshFile, Recipe, Stations
from bodygen.recipe.read import read_recipe, recipe_from_bytes

PARAMS = Path(__file__).parents[2] / "params"
BY_NAME = {kind.name: kind for kind in KINDS}
OF_REFUSALS = {"units"}
"""What a mesh that is refused is told in; lengths are mm by then."""
SLOW = {"solids", "masks", "gcode"}
OF_PLATE = {"shape", "lip"}
"""What the lip's plate is made from; a test of its own holds it."""


@dataclass
class Noted:
    """Key paths that were read."""

    paths: set[str] = field(default_factory=set)

    def recipe(self, value, path=""):
        """A stand-in of the same class that notes each read of a field, all the way down."""
        if isinstance(value, tuple):
            return tuple(self.recipe(row, path) for row in value)
        if not is_dataclass(value):
            return value
        names = {part.name: f"{path}.{part.name}".strip(".") for part in fields(value)}
        noted = self.paths

        class Noting(type(value)):
            def __getattribute__(self, name):
                if name in names:
                    noted.add(names[name])
                return super().__getattribute__(name)

        standing = object.__new__(Noting)
        for name, below in names.items():
            object.__setattr__(standing, name, self.recipe(getattr(value, name), below))
        return standing


class Reads:
    """Stands for a value and notes which of its attributes are taken."""

    def __init__(self, value, taken):
        self._value, self._taken = value, taken

    def __getattr__(self, name):
        self._taken.add(name)
        return getattr(self._value, name)


def of_the_shape(recipe, patch):
    """Recipe key paths that the cut shape is made from."""
    noted = Noted()
    with patch.context() as without_checks:  # findings about the shape are no part of it
        without_checks.setattr(bodygen.pipeline, "wood_left", lambda *_: ())
        shape(noted.recipe(recipe))
    return noted.paths - OF_REFUSALS


def read_by(kind, recipe, whole, shape_paths, folder):
    """Recipe key paths that one kind's files are made from; "sha256" where it is the whole recipe."""
    noted, of_assessment, of_shaped, of_measured = Noted(), set(), set(), set()
    parts = {f.name: getattr(whole, f.name) for f in fields(Assessment)} | {
        "recipe": noted.recipe(recipe),
        "shaped": Reads(whole.shaped, of_shaped),
        "measured": Reads(whole.measured, of_measured),
    }
    writing.writer_of(kind, lambda _: None)(Reads(Assessment(**parts), of_assessment), Draft(folder), "about")
    found = set(noted.paths)
    if of_shaped - {"plate"} or "wood_left" in of_measured:  # the wood left is the cut shape's volume
        found |= shape_paths
    if "plate" in of_shaped:
        found |= OF_PLATE
    if of_assessment - {"recipe", "shaped", "measured"} or of_measured - {"wood_left"}:
        found.add("sha256")
    return found


@pytest.fixture(scope="module")
def reads(tmp_path_factory):
    """What each kind reads: of a demo every kind, of a body from stations and of one that is a mesh the quick ones."""
    found = {kind.name: set() for kind in KINDS}
    drawn, stations = read_recipe(PARAMS / "tarn-perch-70.toml"), read_recipe(PARAMS / "beck-dace-80.toml")
    recipes = [drawn, stations, _as_mesh(stations, tmp_path_factory.mktemp("mesh"))]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bodygen.files.router, "carve_job", lambda *_, **__: ())  # takes plain shapes, no recipe
        for recipe in recipes:
            whole, shape_paths = assess(recipe), of_the_shape(recipe, patch)
            for kind in KINDS:
                if "sha256" not in kind.fields and (kind.name not in SLOW or (MORE and recipe.masks)):
                    found[kind.name] |= read_by(kind, recipe, whole, shape_paths, tmp_path_factory.mktemp(kind.name))
        bent = read_recipe(PARAMS / "reedbed-roach-65.toml")  # the others have no wire of a form
        folder = tmp_path_factory.mktemp("bent")
        found["wire"] |= read_by(BY_NAME["wire"], bent, assess(bent), of_the_shape(bent, patch), folder)
    return found


def _as_mesh(recipe, folder):
    file = folder / "body.stl"
    write_stl(assess(recipe).shaped.mesh, file, "body")
    return replace(recipe, shape=MeshFile(file, 1.0, ""))


@only_with_more
@pytest.mark.parametrize("name", [k.name for k in KINDS if "sha256" not in k.fields and (MORE or k.name not in SLOW)])
def test_a_kind_declares_every_field_that_it_reads_and_no_other(name, reads):
    declared = BY_NAME[name].fields
    unsaid = {
        path
        for path in reads[name]
        if not any(
            path == known
            or path.startswith(f"{known}.")
            or known.startswith(f"{path}.")  # within it, or on the way to it
            for known in declared
        )
    }
    assert not unsaid, "read, but a change of it leaves old files in place"
    assert set(declared) <= reads[name], "declared, but never read"


def test_the_lips_plate_is_made_from_shape_and_lip_alone():
    recipe = read_recipe(PARAMS / "tarn-perch-70.toml")
    bare = Recipe("bare", "mm", recipe.shape, lip=recipe.lip)
    plate, other = shape(recipe)[0].plate, shape(bare)[0].plate
    assert plate == other
    assert plate is not None


def test_the_digest_knows_values_and_no_places_or_classes():
    """The same rows under another file name, the same mesh in another folder; another value under the same key."""
    kind = BY_NAME["block"]
    rows = ((0.0, 1.0, -1.0, 1.0, 2.0), (50.0, 1.0, -1.0, 1.0, 2.0))
    made = [Recipe("a", "mm", Stations(file, rows)) for file in ("a.csv", "b/c.csv")]
    assert digest_of(kind, made[0]) == digest_of(kind, made[1])
    meshes = [Recipe("a", "mm", MeshFile(Path(path), 1.0, "same")) for path in ("/a/x.stl", "/b/y.stl")]
    assert digest_of(kind, meshes[0]) == digest_of(kind, meshes[1])
    other = replace(meshes[0], shape=replace(meshes[0].shape, sha256="other"))
    assert digest_of(kind, other) != digest_of(kind, meshes[0])
    renamed = type("Renamed", (Stations,), {})(made[0].shape.file, rows)
    assert digest_of(kind, replace(made[0], shape=renamed)) == digest_of(kind, made[0])


@given(st.integers(0, 10**6))
@settings(max_examples=25)
def test_a_value_moved_from_one_key_to_another_is_another_digest(seed):
    """A checksum of bare values in a row would not see that a limit left one bore and came to the next."""
    recipe = replace(_random(seed))  # in no file, so that the whole of it is known by its values too
    if len(recipe.bores) < 2:
        return
    first, second, *rest = recipe.bores
    swapped = (replace(first, depth=second.depth), replace(second, depth=first.depth), *rest)
    changed = replace(recipe, bores=swapped)
    for kind in KINDS:
        same = digest_of(kind, changed) == digest_of(kind, recipe)
        assert same == (first.depth == second.depth or not {"bores", WHOLE} & {*kind.fields})


def _random(seed):
    return recipe_from_bytes(random_recipe_text(seeded(seed)).encode(), Path("random.toml"))


def test_every_library_that_a_build_needs_decides_what_may_be_kept():
    """As ``pyproject.toml`` names them; completion of the command line and editing of recipes shape no file."""
    project = tomllib.loads((PARAMS.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    builds = sorted({extra for kind in KINDS for extra in kind.needs})
    lines = [*project["dependencies"], *(line for extra in builds for line in project["optional-dependencies"][extra])]
    needed = {re.match(r"[\w-]+", line)[0] for line in lines} - {"shtab", "tomlkit"}
    assert needed - {"cadquery-ocp-novtk"} | {"cadquery-ocp-proxy"} == set(LIBRARIES)


@pytest.mark.parametrize("name", ["manifold3d", "numpy", "python", "bodygen"])
def test_what_was_made_with_something_else_is_made_anew(name, tmp_path, monkeypatch):
    """Another version, or a library that was missing then: nothing of the old build is taken over."""
    recipe = read_recipe(PARAMS / "beck-dace-80.toml")
    made = build(recipe, tmp_path, "dace", "carrier,block")
    assert set(made.anew) == {"carrier", "block"}
    assert not build(recipe, tmp_path, "dace", "carrier,block").anew
    now = made_with()
    monkeypatch.setattr(writing, "made_with", lambda: now | {name: ""})
    assert build(recipe, tmp_path, "dace", "block").anew == ("block",)
    manifest = json.loads((tmp_path / "dace" / "manifest.json").read_text(encoding="utf-8"))
    assert set(manifest["kinds"]) == {"block"}
    assert manifest["made_with"][name] == ""
