"""Attitude and ledger are one list of volumes: in every random bait, and where rooms flood with something in them.

``tests/slicer.py`` is the other slicer: on the same facets it agrees to rounding. The tolerances are the promise, a
millionth of the volume and a thousandth of a millimetre; both are far above rounding (1e-9).
"""

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from recipe_strategies import random_recipe_text, seeded
from slicer import sliced

from bodygen.pipeline import assess
from bodygen.recipe.model import Bore, Fill, Fitting, WireSlot
from bodygen.recipe.read import read_recipe
from bodygen.report.properties import properties

DEMOS = sorted(Path("params").glob("*.toml"))
SEEDS = range(int(os.environ.get("BODYGEN_RANDOM_RECIPES", "0")) or 12)
HANGER = Bore("hanger", "hanger", "belly", 1.2, 8.0, x=30.0)


def agrees(a):
    """Ledger, hull, document and slicer say the same of volume, centre, moment and waterplane."""
    total, hull, at = a.total, a.hull, a.flotation.attitude
    assert hull.volume == pytest.approx(total.displaced, rel=1e-6)
    assert hull.centroid == pytest.approx(total.centre_of_buoyancy, abs=1e-3)
    under = sliced(hull, at.up, 1e4)
    assert under.volume == pytest.approx(total.displaced, rel=1e-6)
    assert under.centre == pytest.approx(total.centre_of_buoyancy, abs=1e-3)
    document = properties(a)
    shares = [(i["displaces_cm3"], np.array(i["displaces_at_mm"])) for i in document["items"]]
    whole = sum(volume for volume, _ in shares)
    assert whole == pytest.approx(document["total"]["displaced_cm3"], rel=1e-9)
    assert sum(v * p for v, p in shares) / whole == pytest.approx(total.centre_of_buoyancy, abs=1e-6)
    if at.water_height is None:
        arm = total.centre_of_buoyancy - total.centre_of_mass
        size = np.linalg.norm(arm)
        if size > 1e-2:  # nearer together the two centres give no direction to a thousandth of a millimetre
            assert at.pitch_deg == pytest.approx(np.degrees(np.arcsin(-arm[0] / size)), abs=np.degrees(1e-3 / size))
        return
    for rest in (at, *a.flotation.others):
        wet = sliced(hull, rest.up, rest.water_height)
        assert wet.volume == pytest.approx(1000 * total.mass / a.flotation.water_g_cm3, rel=1e-6)
        assert wet.centre == pytest.approx(rest.centre_of_buoyancy, abs=1e-3)
        assert np.cross(wet.centre - total.centre_of_mass, rest.up) == pytest.approx(np.zeros(3), abs=1e-3)
        assert wet.area == pytest.approx(100 * rest.waterplane_cm2, rel=1e-6)
        if rest.roll_deg is not None:
            height = (total.centre_of_mass - wet.centre) @ np.array(rest.up)
            assert wet.seconds[1, 1] / wet.volume - height == pytest.approx(rest.gm_mm, abs=1e-3)
            assert wet.seconds[0, 0] / wet.volume - height == pytest.approx(rest.gml_mm, abs=1e-3)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_bait_floats_by_its_ledger(seed, tmp_path):
    path = tmp_path / "bait.toml"
    path.write_text(random_recipe_text(seeded(seed)), encoding="utf-8")
    agrees(assess(read_recipe(path)))


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_a_demo_floats_by_its_ledger(demo):
    agrees(assess(read_recipe(demo)))


def fitted(kind, size, at, **more):
    return Fitting(kind, kind, at, "hangers", size=size, **more)


FLOODED = {
    "lead in an open bore": {
        "bores": (Bore("b", "ballast", "belly", 8.0, 9.0, x=26.0, fill=Fill("lead", level=0.6), closed="open"),)
    },
    "a thin slug in an open bore": {
        "bores": (
            Bore("b", "ballast", "belly", 8.0, 9.0, x=26.0, fill=Fill("lead", "slug", clearance=0.6), closed="open"),
        )
    },
    "a wire in an open bore": {
        "bores": (replace(HANGER, diameter=3.0, closed="open"),),
        "fittings": (fitted("wire", "0.051 in", (30.0, 0.0, -8.0), length=12.0),),
    },
    "a screw eye in a narrow hole": {
        "bores": (HANGER,),
        "fittings": (fitted("screw_eye", "0.062 x 0.75 in", (30.0, 0.0, -12.0)),),
    },
    "a wire longer than its hole": {
        "bores": (replace(HANGER, diameter=1.4),),
        "fittings": (fitted("wire", "0.051 in", (30.0, 0.0, -12.0), length=60.0),),
    },
    "an eye larger than its socket": {
        "bores": (Bore("e", "eye", "side", 4.0, 0.8, x=14.0, mirror=True, tip="flat"),),
        "fittings": (Fitting("eye", "eye", (14.0, 6.0, 0.0), "painted", size="8 mm glass", mirror=True),),
    },
    "an open kerf with a wire": {
        "wire_slots": (WireSlot("kerf", "belly", 10.0, 50.0, 1.5, depth=4.0, closed="open"),),
        "fittings": (fitted("wire", "0.051 in", (30.0, 0.0, -5.0), length=60.0),),
    },
    "a lip in a slot that a bore has opened": {"bores": (Bore("b", "any", "belly", 6.0, 6.0, x=9.0),)},
}


@pytest.mark.parametrize("what", FLOODED)
@pytest.mark.parametrize("density", [0.25, 1.4], ids=["afloat", "under"])
def test_rooms_that_flood_or_overflow_do_so_in_the_attitude_too(what, density):
    """Pitch and total once contradicted each other by 12 deg: what was missing lay spread over the skin."""
    recipe = read_recipe(Path("params/tarn-perch-70.toml"))
    bare = {"bores": (), "wire_slots": (), "fittings": (), "goal": None}
    changed = replace(recipe, wood=replace(recipe.wood, density_g_cm3=density), **(bare | FLOODED[what]))
    agrees(assess(changed))


def test_ballast_pushes_its_water_aside_in_an_open_bore_as_in_a_closed_one():
    recipe = read_recipe(Path("params/tarn-perch-70.toml"))
    bore = replace(recipe.bores[0], fill=Fill("lead"))
    full, wet = (
        assess(replace(recipe, bores=(replace(bore, closed=closed),), fittings=())) for closed in ("filled", "open")
    )
    assert wet.total.displaced == pytest.approx(full.total.displaced, rel=1e-9)
    assert wet.hull.centroid == pytest.approx(full.hull.centroid, abs=1e-9)
