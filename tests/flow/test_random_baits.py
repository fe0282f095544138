"""Whole random recipes over every key: no fault, figures that add up, and the same figures under any name or order.

``BODYGEN_RANDOM_BAITS=500 BODYGEN_RANDOM_SEED=0`` tries so many from that seed on; without it a handful.
"""

import json
import os
import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from random_baits import Bait, random_bait, renamed, reordered
from slicer import sliced

from bodygen.cli import main
from bodygen.pipeline import assess
from bodygen.recipe.keys import RECIPE, STAGES, Key
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import read_recipe

WANTED = int(os.environ.get("BODYGEN_RANDOM_BAITS", "6"))
FIRST = int(os.environ.get("BODYGEN_RANDOM_SEED", "0"))
BATCH = 10
NEARLY_MM = 0.1
"""Walls are looked at in places: bores said to be this near may share wood between two of them."""
SAME = 1e-6
"""Figures are written with nine digits; the rest is left to sums in another order and to equilibria found by steps."""
NOT_FOR_PEOPLE = re.compile(r"Traceback|\bNone\b|\bnan\b|\binf\b|array\(|Error\b|<class|0x[0-9a-f]{6}|\bnp\.")
PART, MM = 1e-6, 1e-3
WORDS = {"name", "where", "remedy", "basis", "recipe_sha256", "tolerance_basis", "ground", "source"}

NAMES = {"taken_as_exact"}  # lists of names


@pytest.mark.parametrize("first", range(FIRST, FIRST + WANTED, BATCH))
def test_random_baits_weigh_without_a_fault_and_alike_under_other_names(first, tmp_path, capsys):
    faults = []
    for seed in range(first, min(first + BATCH, FIRST + WANTED)):
        folder = tmp_path / str(seed)
        faults += [f"seed {seed}: {fault}" for fault in _faults(random_bait(seed), folder, capsys)]
    assert not faults, "\n".join(faults)


def test_random_baits_write_every_key():
    """A key that no random recipe writes is tried by nobody: teach it to ``random_tables.py``."""
    written = set()
    for seed in range(400):
        written |= set(_paths(random_bait(seed).doc, ""))
    assert set(_known(RECIPE, "")) <= written


def _paths(value: Any, path: str) -> Iterator[str]:
    for table in value if isinstance(value, list) else [value]:
        if isinstance(table, dict):
            for key, entry in table.items():
                yield f"{path}{key}"
                yield from _paths(entry, f"{path}{key}.")


def _known(keys: dict[str, Key], path: str) -> Iterator[str]:
    for name, key in keys.items():
        yield f"{path}{name}"
        yield from _known(key.table, f"{path}{name}.")


def _faults(bait: Bait, folder, capsys) -> Iterator[str]:
    """Everything that is wrong with bodygen's answer to one bait."""
    code, out, err = _weigh(bait, folder / "here", capsys)
    found, fault = _answer(code, out, err)
    if found is None:
        yield from [fault] if fault else []
        return
    yield from _sums(found)
    yield from _sliced_otherwise(read_recipe(folder / "here" / "bait.toml"))
    if (code == 1) != any(f["severity"] == "error" for f in found["findings"]):
        yield f"exit code {code} with {[f['code'] for f in found['findings']]}"
    for what, other in _again(bait, found):
        again, fault = _answer(*_weigh(other, folder / "elsewhere" / what, capsys))
        if again is None:
            yield f"{what}: refused {fault}"
        else:
            yield from (f"{what}: {part}" for part in _differences(found, again, "", loose=what == "reordered"))


def _sliced_otherwise(recipe: Recipe) -> Iterator[str]:
    """Where the slicer of the tests finds another buoyancy than ledger and attitude, on the same facets.

    A millionth of the volume and a thousandth of a millimetre are promised; rounding is far below.
    """
    a = assess(recipe)
    at, ledger = a.flotation.attitude, a.total
    whole = sliced(a.hull, at.up, 1e4)
    if abs(whole.volume / ledger.displaced - 1) > PART or np.abs(whole.centre - ledger.centre_of_buoyancy).max() > MM:
        yield f"sliced {whole.volume} at {whole.centre}, ledger {ledger.displaced} at {ledger.centre_of_buoyancy}"
    if at.water_height is None:
        return
    wet, wanted = sliced(a.hull, at.up, at.water_height), 1000 * ledger.mass / a.flotation.water_g_cm3
    if abs(wet.volume / wanted - 1) > PART or np.abs(wet.centre - at.centre_of_buoyancy).max() > MM:
        yield f"afloat sliced {wet.volume} at {wet.centre}, attitude {wanted} at {at.centre_of_buoyancy}"


def _answer(code: int, out: str, err: str) -> tuple[dict[str, Any] | None, str]:
    """The document with figures, None where the bait was refused; and what is wrong with how that was said."""
    try:
        found = json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} in JSON")) if out else {}
    except ValueError as error:
        return None, f"not one JSON document: {error}"
    if "items" in found:
        return found, ""
    said = (err + str(found.get("error", ""))).strip()
    if code not in {1, 2} or not said:
        return None, f"exit code {code}: {said[:300]}"
    if told := NOT_FOR_PEOPLE.search(said):
        return None, f"says {told[0]!r}: {said[:300]}"
    if code == 2 and "bait.toml" not in said and "rows.csv" not in said:
        return None, f"does not name the file: {said[:300]}"
    return None, ""


def _again(bait: Bait, found: dict[str, Any]) -> Iterator[tuple[str, Bait]]:
    """The same bait as others may write it; in another order only where no two cuts share wood."""
    yield "renamed", renamed(bait)
    meeting = {"bores-meet", "bore-meets-slot", "bore-breaks-out"} & {f["code"] for f in found["findings"]}
    meeting |= {f["code"] for f in found["findings"] if f["code"] == "bores-close" and f["value"] < NEARLY_MM}
    if not meeting and not any("may_meet" in bore for bore in bait.doc.get("bore", [])):
        yield "reordered", reordered(bait)


def _weigh(bait: Bait, folder, capsys) -> tuple[int, str, str]:
    folder.mkdir(parents=True)
    code = main(["weigh", str(bait.saved(folder)), "--json"])
    told = capsys.readouterr()
    return code, told.out, told.err


def _sums(found: dict[str, Any]) -> Iterator[str]:
    """What adds up within one document, to the digits that it writes."""
    items, total, afloat, body = found["items"], found["total"], found["float"], found["body"]
    mass, pushed = np.array([i["mass_g"] for i in items]), np.array([i["displaces_cm3"] for i in items])
    water = afloat["water_g_cm3"]
    pairs = {
        "masses": (mass.sum(), total["mass_g"]),
        "volumes": (pushed.sum(), total["displaced_cm3"]),
        "centre of mass": (mass @ [i["at_mm"] for i in items] / mass.sum(), total["centre_of_mass_mm"]),
        "centre of buoyancy": (
            pushed @ [i["displaces_at_mm"] for i in items] / pushed.sum(),
            total["centre_of_buoyancy_mm"],
        ),
        "reserve": (water * total["displaced_cm3"] - total["mass_g"], afloat["reserve_g"]),
        "wood": (body["cut_volume_cm3"] * body["wood_density_g_cm3"], body["mass_g"]),
        "last stage": (found["stages"][-1]["mass_g"], total["mass_g"]),
    }
    order = ["squared", *STAGES]
    for stage in found["stages"]:
        if stage["name"] not in {"squared", "blank"}:
            on = [order.index(i["stage"]) <= order.index(stage["name"]) for i in items]
            pairs[stage["name"]] = (mass[on].sum(), stage["mass_g"])
    if afloat["state"] == "floats":
        pairs["submerged"] = (afloat["submerged_cm3"] * water, total["mass_g"])
    for what, (sum_, said) in pairs.items():
        if not np.allclose(sum_, said, rtol=1e-6, atol=1e-5):
            yield f"{what}: {sum_} is said to be {said}"
    if not 0 < body["cut_volume_cm3"] <= body["volume_cm3"] * (1 + 1e-9):
        yield f"{body['cut_volume_cm3']} cm3 left of {body['volume_cm3']}"
    if [s["name"] for s in found["stages"]] != sorted((s["name"] for s in found["stages"]), key=order.index):
        yield "stages out of order"
    for before, after in pairwise(s for s in found["stages"] if s["name"] not in {"squared", "blank"}):
        if after["mass_g"] < before["mass_g"] - 1e-6:
            yield f"{after['name']} weighs less than {before['name']}"


def _differences(one: Any, other: Any, path: str, *, loose: bool) -> Iterator[str]:
    """Where two answers part, words aside; ``loose``: lists of items and findings in any order."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for key in one.keys() - WORDS:
            pair = (len(one[key]), len(other[key])) if key in NAMES else (one[key], other[key])
            yield from _differences(*pair, f"{path}.{key}", loose=loose)
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        if loose and path in {".items", ".findings", ".ballast.bores"}:
            one, other = sorted(one, key=_figures), sorted(other, key=_figures)
        for number, pair in enumerate(zip(one, other, strict=True)):
            yield from _differences(*pair, f"{path}[{number}]", loose=loose)
    elif not (np.isclose(one, other, rtol=SAME, atol=SAME) if isinstance(one, float) else one == other):
        yield f"{path}: {str(one)[:80]} and {str(other)[:80]}"


def _figures(entry: dict[str, Any]) -> list[Any]:
    """What an item or finding is sorted by: its plain words, then its figures, rounded, its limit last."""
    words = [str(entry.get(key)) for key in ("code", "severity", "stage")]
    figures = [np.ravel(v) for k, v in entry.items() if isinstance(v, float | list) and k != "limit"]
    limit = entry.get("limit") or 0.0
    return [*words, *(float(f"{figure:.5g}") for figure in np.concatenate([*figures, [limit]]))]
