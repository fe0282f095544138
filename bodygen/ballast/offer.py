"""An offer: one way to ballast a bait as the whole flow weighs and floats it, what it costs, and what to write down.

Knows trials and answers. Knows nothing of how the trial was found.
"""

from dataclasses import dataclass, replace
from math import degrees

import numpy as np

from bodygen.ballast.aim import reserve_of
from bodygen.ballast.answer import Answer
from bodygen.ballast.bored import Bored, bored_of
from bodygen.ballast.drag import speeds
from bodygen.ballast.drills import step
from bodygen.ballast.held import water_at
from bodygen.ballast.layout import is_lead_free, own_fill
from bodygen.ballast.search import Search, drag_for, filling
from bodygen.ballast.trial import Trial
from bodygen.ballast.wood import broken, errors_of, to_back
from bodygen.ballast.written import bore_table, fill_table
from bodygen.findings import Finding
from bodygen.recipe.model import Bore, Fill, Recipe


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """One way to ballast it, as the whole flow weighs and floats it.

    ``met``: every figure asked for is reached within half a step of the drill (and of the place); ``within_g`` and
    ``within_deg`` are what that step is worth; ``scale_g`` what the scale reads with the ballast in, where the lift is
    just what was asked for. ``wood_to_back_mm``: least wood between ballast and back, None where no
    bore points at it. ``waterline_mm``: height of the water at the goal's station. ``speed_m_s``: low, likely, high,
    where a speed was asked. ``left_out``: the recipe's ballast bores that the offer does without. ``changes``: recipe
    key paths to new values (None: take the key out); ``findings`` are the limits that it breaks and the given bait does
    not.
    """

    bores: tuple[Bored, ...]
    mass_g: float
    metal: str
    lead_free: bool
    reserve_g: float
    state: str
    pitch_deg: float
    roll_deg: float | None
    gm_mm: float
    gml_mm: float
    waterline_mm: float | None
    speed_m_s: tuple[float, float, float] | None
    wood_to_back_mm: float | None
    within_g: float
    within_deg: float
    scale_g: float
    met: bool
    findings: tuple[Finding, ...]
    recipe: Recipe
    changes: dict[str, object]
    left_out: tuple[str, ...] = ()


def offer_of(search: Search, trial: Trial, result: Answer) -> Offer:
    """Make the offer of a trial that the whole flow has answered."""
    goal, float_, ground = search.goal, result.flotation, search.ground
    at = float_.attitude
    drag = drag_for(goal, result)
    reserve = reserve_of(goal, drag, float_.water_g_cm3)
    within_g, within_deg, within_mm = _steps_worth(search, trial, result)
    line = water_at(goal, at.up, at.water_height)
    breaks = broken(result.findings, result.recipe, ground.given, trial.bores)
    met = not errors_of(breaks)
    met = met and (reserve is None or abs(float_.reserve_g - reserve) <= within_g)
    met = met and (goal.pitch is None or abs(at.pitch_deg - degrees(goal.pitch)) <= within_deg)
    if goal.waterline is not None:
        met = met and line is not None and abs(line - goal.waterline.height) <= within_mm
    bored = tuple(bored_of(place, result.recipe, result.items, result.sizes[0]) for place in trial.layout.places)
    asked_speed = goal.sinks_at is not None or goal.rises_at is not None
    recipe = trial.layout.with_bores(trial.bores)
    return Offer(
        bores=bored,
        mass_g=sum(b.mass_g for b in bored),
        metal=filling(trial).metal,
        lead_free=all(is_lead_free(own_fill(bore)) for bore in trial.bores),
        reserve_g=float_.reserve_g,
        state=float_.state,
        pitch_deg=at.pitch_deg,
        roll_deg=at.roll_deg,
        gm_mm=at.gm_mm,
        gml_mm=at.gml_mm,
        waterline_mm=line,
        speed_m_s=speeds(float_.reserve_g, drag, float_.water_g_cm3) if asked_speed else None,
        wood_to_back_mm=to_back(recipe, trial.bores, ground.given),
        within_g=within_g,
        within_deg=within_deg,
        scale_g=_scale_reads(result) + (float_.reserve_g - reserve if met and reserve is not None else 0.0),
        met=met,
        findings=breaks,
        recipe=recipe,
        changes=changes_of(ground.given.recipe, recipe, trial.bores) | search.taught,
        left_out=tuple(bore.name for _, bore in _left_out(ground.given.recipe, recipe)),
    )


def _scale_reads(result: Answer) -> float:
    """What is on the scale once the ballast is in [g]: the stage of that name, with all that went on before it."""
    return next(stage.mass for stage in reversed(result.stages) if stage.name == "ballast")


def _steps_worth(search: Search, trial: Trial, result: Answer) -> tuple[float, float, float]:
    """What half a step of depth and place is worth: lift [g], pitch [deg], height of the water at the station [mm].

    A moved load turns the bait by its moment over weight times longitudinal GM.
    """
    units, at = result.recipe.units, result.flotation.attitude
    half = step(units) / 2
    lift, moment = 0.0, 0.0
    way = np.array([1.0, 0.0, 0.0]) + at.up[0] * -np.array(at.up)
    way /= max(float(np.linalg.norm(way)), 1e-9)
    for bore in trial.bores:
        fill = bore.fill or Fill()
        if trial.kind == "level":
            more = replace(bore, fill=replace(fill, level=fill.level - 0.005))
        else:
            more = replace(bore, depth=(bore.depth or 0.0) + half)
        here, there = search.ground.adds(bore), search.ground.adds(more)
        change = there[1] - here[1] - (there[0] - here[0]) * result.total.centre_of_mass
        lift += abs(there[0] - here[0])
        moment += abs(float(change @ way)) + (abs(here[0]) * half if trial.layout.free_x else 0.0)
    turn = moment / (result.total.mass * max(abs(at.gml_mm), 1e-6))
    sinks = lift * 10 / max(at.waterplane_cm2, 1e-6) / result.flotation.water_g_cm3
    reach = abs(search.goal.waterline.x - result.sizes[0] / 2) if search.goal.waterline is not None else 0.0
    return 1.05 * lift + 0.005, 1.2 * degrees(turn) + 0.1, 1.2 * (turn * reach + sinks) + 0.05


def _left_out(given: Recipe, offered: Recipe) -> list[tuple[int, Bore]]:
    """The recipe's own ballast bores, counted from 1, that an offer does without."""
    kept = {bore.name for bore in offered.bores}
    return [(n, bore) for n, bore in enumerate(given.bores, 1) if bore.kind == "ballast" and bore.name not in kept]


def changes_of(given: Recipe, offered: Recipe, bores: tuple[Bore, ...]) -> dict[str, object]:
    """Key paths of the recipe to new values (None: take the key out) that turn it into the one offered.

    A bore that the recipe has by name changes in its place, so that the order of the cuts stays; a new one goes behind
    all others. Bores that the offer does without are taken out last and from behind, so that every number before is
    still right.
    """
    changes: dict[str, object] = {}
    numbers = {bore.name: number for number, bore in enumerate(given.bores, 1)}
    new = 0
    for bore in bores:
        if bore.name not in numbers:
            new += 1
            changes |= {f"bore[{len(given.bores) + new}]": bore_table(bore, given.units)}
            continue
        key, old = f"bore[{numbers[bore.name]}]", given.bores[numbers[bore.name] - 1]
        before, after = (bore_table(one, given.units) for one in (old, bore))
        filled = fill_table(bore.fill or Fill())
        for name in ("fill", "counterbore"):
            before.pop(name, None)
            wide = after.pop(name, None)
            if name == "counterbore" and old.counterbore is not None and wide is None:
                changes[f"{key}.counterbore"] = None
        changes |= {
            f"{key}.{name}": after.get(name) for name in (*before, *after) if before.get(name) != after.get(name)
        }
        changes[f"{key}.depth"] = after["depth"]
        changes |= {f"{key}.fill.{name}": filled[name] for name in ("metal", "placed", "level")}
        changes[f"{key}.fill.mass"] = filled.get("mass")
        if old.fill is not None and old.fill.clearance != (bore.fill or Fill()).clearance:
            changes[f"{key}.fill.clearance"] = filled.get("clearance")
    changed = {bore.name for bore in bores}
    for bore in offered.bores:  # what named a bore that is left out
        if bore.name in numbers and bore.name not in changed:
            old, key = given.bores[numbers[bore.name] - 1], f"bore[{numbers[bore.name]}].may_meet"
            changes |= {key: list(bore.may_meet) or None} if bore.may_meet != old.may_meet else {}
    return changes | {f"bore[{number}]": None for number, _ in reversed(_left_out(given, offered))}
