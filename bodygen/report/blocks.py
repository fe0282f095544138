"""The ``ballast`` and ``goal`` blocks of properties.json; the metal, and how sure it all is, in words."""

from dataclasses import asdict
from typing import Any

from bodygen.assessment import Assessment
from bodygen.ballast.answer import Answer
from bodygen.ballast.bore_report import bore_report_of
from bodygen.ballast.goal import held
from bodygen.ballast.sureness.spread import Spread
from bodygen.units import mass_text
from bodygen.weights.stages import Stage

NO_METAL = "no metal goes in"
SHOWN_SHARES = 4
LEAST_REMOVED = 0.1
"""Share of the reserve's variance that a weigh-in must take away to be worth a word [-]."""


def ballast_block(answer: Answer, spread: Spread) -> dict[str, Any] | None:
    """``ballast`` of the document: the metal that is in, by bores, and how sure the floating is; None without any."""
    recipe, length = answer.recipe, answer.sizes[0]
    bores = [
        bore_report_of(i, recipe, answer.items, length) for i, bore in enumerate(recipe.bores) if bore.fill is not None
    ]
    if not bores:
        return None
    return {
        "mass_g": sum(bore.mass_g for bore in bores),
        "bores": [asdict(bore) for bore in bores],
        "spread": {
            **asdict(spread.reserve_g),
            "total_g": asdict(spread.total_g),
            "pitch_deg": asdict(spread.pitch_deg),
            "draws": spread.draws,
            "shares": [asdict(share) for share in spread.shares],
            "weigh_ins": [asdict(one) for one in spread.weigh_ins],
            "taken_as_exact": list(spread.exact),
        },
    }


def goal_block(answer: Answer) -> dict[str, Any] | None:
    """Each wish of the recipe's own goal, what came out, what is near enough, and whether all are met; None without."""
    goal = answer.recipe.goal
    if goal is None:
        return None
    wishes = held(answer, goal)
    block: dict[str, Any] = {"met": all(wish.met for wish in wishes) and goal.state in {None, answer.flotation.state}}
    if goal.state is not None:
        block["float"] = {"wanted": goal.state, "got": answer.flotation.state}
    for wish in wishes:
        figures = {"wanted": wish.wanted, "got": wish.got, "within": wish.within}
        block[wish.name] = {**{f"{key}_{wish.unit}": value for key, value in figures.items()}, "met": wish.met}
    return block


def goal_text(answer: Answer) -> list[str]:
    """Whether the bait is what its goal asks for, in a line; none without a goal."""
    block, goal = goal_block(answer), answer.recipe.goal
    if block is None or goal is None:
        return []
    state = answer.flotation.state
    parts = []
    if goal.state is not None:
        parts.append(f"{state}, as asked" if state == goal.state else f"{state} (asked: {goal.state})")
    for wish in held(answer, goal):
        form = {"reserve": "+.2f", "pitch": "+.1f", "waterline": ".1f"}[wish.name]
        got = "none" if wish.got is None else f"{wish.got:{form}}"
        parts.append(f"{wish.name} {got} {wish.unit} (asked: {wish.wanted:{form}})")
    return [f"  its goal is {'met' if block['met'] else 'NOT met'}: {'; '.join(parts)}"]


def spread_text(spread: Spread) -> list[str]:
    """How sure it is, what that is owed to, and which weigh-in is worth it; lines."""
    r, t, p = spread.reserve_g, spread.total_g, spread.pitch_deg
    in_all = f"{t.p10:.2f} to {t.p90:.2f} g in all, a reserve of {r.p10:+.2f} to {r.p90:+.2f} g"
    lines = [f"  eight in ten: {in_all}, nose {p.p10:+.1f} to {p.p90:+.1f} deg"]
    large = [share for share in spread.shares[:SHOWN_SHARES] if share.reserve > 0.01]
    most = [f"{share.name.replace('_', ' ')} {100 * share.reserve:.0f} %" for share in large]
    lines += [f"  of the reserve's spread: {', '.join(most)}"] if most else []
    return [*lines, *_worth_a_weighing(spread)]


def _worth_a_weighing(spread: Spread) -> list[str]:
    """The first weigh-in that tells nearly all that any before the last tells; and the last, if it tells much more."""
    told = [one for one in spread.weigh_ins if one.removes > LEAST_REMOVED]
    if not told:
        return []
    *before, last = told
    best = min((one.sd_after_g for one in before), default=last.sd_after_g)
    first = next((one for one in before if one.sd_after_g <= 1.1 * best), last)
    more = f"; {last.stage}, {last.sd_after_g:.2f} g" if last.sd_after_g < 0.5 * first.sd_after_g else ""
    left = f"give or take {first.sd_after_g:.2f} g, not {spread.reserve_sd_g:.2f} g"
    return [f"  weighed {first.stage}, then trimmed: {left}{more}"]


def metal_stage(a: Assessment) -> Stage | None:
    """The weigh-in at which the metal is in; None where none is put into a bore."""
    filled = any(bore.fill is not None for bore in a.recipe.bores)
    return next((stage for stage in a.weighed.stages if stage.name == "ballast" and filled), None)


def beside(a: Assessment, stage: str) -> list[str]:
    """What weighs from a stage on besides metal and coats: fittings by name, then what closes a hole (glue, filler)."""
    fittings = [fitting.name for fitting in a.recipe.fittings if fitting.stage == stage]
    closed = (i.name.rpartition(": ")[2] for i in a.weighed.items if (i.stage, i.kind) == (stage, "closing") and i.mass)
    return list(dict.fromkeys([*fittings, *closed]))


def metal_words(a: Assessment) -> list[str]:
    """Each bore's metal as it goes in, and when to stop."""
    told = []
    for place, bore in enumerate(a.recipe.bores):
        if bore.fill is None:
            continue
        made = bore_report_of(place, a.recipe, a.weighed.items, a.shaped.sizes[0])
        how = f"{mass_text(made.mass_g, a.recipe.units)} of {made.metal.replace('_', ' ')}, {made.placed}"
        both = ", both flanks together" if bore.mirror else ""
        told.append(f"{bore.name}: {how}, {100 * made.level:.0f} % of the depth{both}")
    stage = metal_stage(a)
    if stage is not None:
        within = [f"{' and '.join(also)} in it"] if (also := beside(a, stage.name)) else []
        told.append(", ".join([f"stop when the scale reads {mass_text(stage.mass, a.recipe.units)}", *within]))
    return told or [NO_METAL]
