"""Random divers aimed at a depth: what is offered gives it when it is written down, or what cannot be had is said."""

import os

import numpy as np
import pytest
from divers import OPTIONS, random_diver

import bodygen
from bodygen.recipe.rewrite import rewrite
from bodygen.report.dive_answer import aimed_text

WANTED = int(os.environ.get("BODYGEN_RANDOM_AIMS", "0"))
FIRST = int(os.environ.get("BODYGEN_RANDOM_SEED", "0"))


def doubted(a, dive):
    """Rules that a bait breaks, the dive's own among them; not its goal, for `ballast` puts that right."""
    found = (f for f in (*a.findings, *dive.findings) if f.severity != "note")
    return {(f.code, f.where) for f in found if not f.code.startswith("goal-")}


def faults_of(path, seed, how):
    """What does not close of one bait; None where no depth is told of it to begin with."""
    a = bodygen.assess(bodygen.read_recipe(path))
    dive = bodygen.estimate_dive(a, OPTIONS, how)
    if dive.estimate.depth is None:
        return None
    middle = dive.estimate.depth.likely * np.random.default_rng(seed).uniform(0.7, 1.5)
    low, high = 0.95 * middle, 1.05 * middle
    aimed = bodygen.estimate_dive(a, OPTIONS, how, wanted=(f"{low:.9f}", f"{high:.9f}")).aimed
    found = []
    if [offer.changed for offer in aimed.offers] != sorted(offer.changed for offer in aimed.offers):
        found.append("not ranked by how little changes")
    for offer in aimed.offers:
        again = bodygen.assess(bodygen.parse_recipe(rewrite(path, offer.changes), path))
        deep = bodygen.estimate_dive(again, OPTIONS, how)
        if abs(deep.estimate.depth.likely / offer.estimate.depth.likely - 1) > 1e-9:
            found.append(f"{offer.changes} gives {deep.estimate.depth}")
        if offer.met and not low * (1 - 1e-8) <= deep.estimate.depth.likely <= high * (1 + 1e-8):
            found.append(f"{offer.changes} is not between {low} and {high}")
        new = doubted(again, deep) - doubted(a, dive)
        found += [f"{offer.changes} breaks {new}"] if new else []
    text = " ".join(aimed_text(aimed, "mm"))
    if not any(offer.met for offer in aimed.offers) and not ("NO lip" in text and "reach" in text):
        found.append("nothing says what cannot be had")
    return found


@pytest.mark.skipif(not WANTED, reason="BODYGEN_RANDOM_AIMS asks for it, as CI does")
@pytest.mark.parametrize("how", ["tow", "retrieve"])
def test_what_is_offered_to_a_random_diver_closes_or_what_cannot_be_had_is_said(how, tmp_path):
    faults, seed, tried = [], FIRST, 0
    while tried < WANTED:
        path = random_diver(seed, tmp_path)
        found = faults_of(path, seed, how) if path is not None else None
        tried += found is not None
        faults += [f"seed {seed} {how}: {fault}" for fault in found or ()]
        seed += 1
    assert not faults, "\n".join(faults)
