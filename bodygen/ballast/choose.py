"""Which of many trials are worth the whole flow: every drill and metal in a layout, and the few that the wood stands.

Knows trials by the local model and the wood's limits. Asks the whole flow nothing.
"""

from collections.abc import Sequence
from dataclasses import replace

from bodygen import tables
from bodygen.ballast.aim import Aim
from bodygen.ballast.drills import step
from bodygen.ballast.layout import Layout, fills, is_lead_free, mode_of
from bodygen.ballast.search import Search, base_for, filling
from bodygen.ballast.trial import Trial, try_layout, try_level
from bodygen.ballast.wood import errors_of, judge

VERIFIED = 5
"""Trials that are put to the whole flow at a time."""
JUDGED = 60
"""Trials that are held against the wood when its limits are relaxed."""


def trials_of(search: Search, layout: Layout, drills: Sequence[float], aim: Aim) -> list[Trial]:
    """Every drill and metal in one layout, by the local model alone."""
    base = base_for(search, layout)
    pattern = layout.bores[0]
    own = None if len(layout.bores) > 1 and layout.bores[0].diameter != layout.bores[1].diameter else pattern.diameter
    metals = fills(layout.bores, search.goal)
    few = int(tables.load("ballast")["places"]["drills_tried"])
    if len(layout.bores) > 1 or layout.free_x:
        drills = drills[:: max(1, -(-len(drills) // few))]
    sizes = [own, *(d for d in drills if own is None or abs(d - own) > 1e-6)]
    if search.goal.drills and own not in search.goal.drills:
        sizes = list(drills)
    out = [try_layout(search.ground, layout, size, fill, base, aim) for size in sizes for fill in metals]
    if mode_of(search.goal, layout.recipe) == "given":
        out += [t for t in (try_level(search.ground, layout, base, aim, fill) for fill in metals) if t is not None]
    return out


def _lowness(search: Search, trial: Trial) -> float:
    """Height of the ballast's moment [g mm]: the lower, the more upright the bait floats."""
    return sum(float(search.ground.adds(bore)[1][2]) for bore in trial.bores)


def choose(search: Search, trials: list[Trial], *, relaxed: bool) -> list[Trial]:
    """The few to verify, all with wood enough: for each metal its lowest bore, and the lowest with the given drill.

    ``relaxed``: limits that are doubts may be broken; then the one that breaks them least.
    """
    order = sorted(trials, key=lambda t: (not is_lead_free(filling(t)), t.layout.moved, _lowness(search, t)))
    given = {bore.diameter for bore in search.ground.given.recipe.bores}
    chosen: dict[tuple[str, str, bool], Trial] = {}
    short: dict[tuple[str, str, bool], float] = {}
    for trial in order[: JUDGED if relaxed else None]:
        key = (filling(trial).metal, trial.kind, trial.bores[0].diameter in given)
        if not relaxed and key not in chosen and _stands(search, trial, relaxed=False):
            chosen[key] = trial
        if relaxed and _stands(search, trial, relaxed=True):
            missing = _missing(search, trial)
            if key not in chosen or missing < short[key] - step(search.ground.given.recipe.units):
                chosen[key], short[key] = trial, missing
    firsts = {filling(trial).metal: trial for trial in reversed(chosen.values())}
    ranked = [t for t in chosen.values() if t in firsts.values()] + [
        t for t in chosen.values() if t not in firsts.values()
    ]
    return ranked[: 2 * VERIFIED]


def _missing(search: Search, trial: Trial) -> float:
    """Wood that lacks most to the limits [mm]."""
    found = judge(trial.layout.with_bores(trial.bores), trial.bores, search.ground.given)
    return max(((f.limit or 0.0) - (f.value or 0.0) for f in found), default=0.0)


def _stands(search: Search, trial: Trial, *, relaxed: bool) -> bool:
    """Whether wood enough is left; a bore that fails does so at every greater depth, whatever fills it."""
    shape = relaxed, tuple(replace(bore, depth=None, fill=None) for bore in trial.bores)
    depths = tuple(bore.depth or 0.0 for bore in trial.bores)
    for known in search.failed.get(shape, ()):
        if all(d >= k for d, k in zip(depths, known, strict=True)):
            return False
    found = judge(trial.layout.with_bores(trial.bores), trial.bores, search.ground.given)
    if not (errors_of(found) if relaxed else found):
        return True
    search.failed.setdefault(shape, []).append(depths)
    return False
