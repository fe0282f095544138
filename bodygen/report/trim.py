"""What the tub told and what to do, as a document and in words. Computes nothing."""

from collections.abc import Mapping
from textwrap import wrap
from typing import Any

from bodygen.recipe.keys import STAGES
from bodygen.recipe.paste import pasted
from bodygen.tables import load
from bodygen.trim.advice import SURE, Advice, Aim, Now
from bodygen.trim.outcome import Trimmed
from bodygen.units import length_text

WIDTH = 100
WORDS = {"lift": "reserve", "nose": "nose", "lean": "lean", "waterline": "waterline", "back": "back"}
UNITS = {"lift": "g", "nose": "deg", "lean": "deg", "waterline": "mm", "back": "mm"}


def trim_document(found: Trimmed) -> dict[str, Any]:
    """Give the document that ``trim --json`` prints: figures in the units of their keys."""
    now = found.now
    return {
        "name": found.recipe.name,
        "stage": found.said.stage,
        "water_c": found.water_c,
        "read": [{"what": one.words, "value": one.value, "within": one.sd, "unit": one.unit} for one in found.read],
        "explains": [
            {"what": one.what, "change": one.change, "unit": one.unit, "share": one.share}
            for one in found.inferred.explains
            if not found.inferred.contradicts
        ],
        "contradicts": list(found.inferred.contradicts),
        "goal": [_wished(aim) for aim in found.aimed],
        "now": None if now is None else _shown(now) | {"met": now.distance <= 1},
        "advice": [_advice(one) for one in found.advice],
        "met": found.met,
    }


def _wished(aim: Aim) -> dict[str, Any]:
    kind = aim.what.kind
    return {"what": WORDS[kind], "wanted": aim.wanted, "unit": UNITS[kind], "within": aim.within}


def _shown(one: Advice | Now) -> dict[str, Any]:
    return {"nose_deg": one.nose_deg, "lean_deg": one.lean_deg, "spare_g": one.spare_g}


def _advice(one: Advice) -> dict[str, Any]:
    change = one.change
    return {
        "what": change.what,
        "how_easy": change.ease,
        "mass_g": change.mass_g,
        "at_mm": change.at.tolist(),
        "changes": change.changes,
        "toml": pasted(_new_tables(change.changes)),
        "predicted": _shown(one),
        "chance": one.chance,
        "met": one.met,
    }


def _new_tables(changes: Mapping[str, object]) -> dict[str, object]:
    """What is appended to a recipe as it is, no key in it being changed."""
    return {path: value for path, value in changes.items() if isinstance(value, Mapping)}


def trim_text(found: Trimmed) -> str:
    """Say it to a person, a line each."""
    lines = seen_text(found)
    if not found.advice:
        return "\n".join(lines)
    for number, advice in enumerate(found.advice, 1):
        head = f"{number}. {advice.change.what}"
        lines += wrap(head, WIDTH, initial_indent="  ", subsequent_indent="     ")
        lines += [f"     {line}" for line in advised(advice, found)]
    lines += [*_for_the_recipe(found.advice[0].change.changes), ""]
    *cautions, defer = cautions_of(found.advice)
    for caution in cautions:
        lines += wrap(caution, WIDTH, initial_indent="! ", subsequent_indent="  ")
    return "\n".join([*lines, *wrap(defer, WIDTH)])


def seen_text(found: Trimmed) -> list[str]:
    """What was seen, what it tells and how the bait lies now, up to what is advised, or why nothing is; lines."""
    units = found.recipe.units
    lines = [f"{found.recipe.name}, floated at the stage {found.said.stage}", "", "What was seen"]
    lines += [f"  {one.words}, give or take {one.sd:.2g} {one.unit}" for one in found.read]
    if found.inferred.contradicts:
        lines += ["", "It cannot be"]
        for one in found.inferred.contradicts:
            lines += wrap(one, WIDTH, initial_indent="  ", subsequent_indent="    ")
        return lines
    lines += ["", "What it tells (a share is the tables' own where readings cannot tell things apart)"]
    lines += [
        f"  {e.what.replace('_', ' ')}: {e.change:+.2f} {e.unit}, {100 * e.share:.0f} % of it"
        for e in found.inferred.explains
    ]
    now = found.now
    assert now is not None  # noqa: S101  nothing contradicts
    lines += ["", f"Finished it is now: {_lies(now, found)}"]
    lines += [f"  wanted: {'; '.join(_wish(aim, units) for aim in found.aimed)}"]
    if now.distance <= 1 and not found.advice:
        return [*lines, "", *_leave_it(now, found.said.stage)]
    if not found.advice:
        return [*lines, "", "No small change brings it nearer: ask bodygen ballast for the next one"]
    return [*lines, "", *wrap(_heading(now, found), WIDTH)]


def advised(advice: Advice, found: Trimmed) -> list[str]:
    """How the bait lies with a change, and how surely that meets the goal; lines."""
    meets = "meets" if advice.met else "does not meet"
    return [
        f"the tub then shows: {_lies(advice, found)}",
        f"that {meets} the goal; {100 * advice.chance:.0f} times of 100, as it was read",
    ]


def _heading(now: Now, found: Trimmed) -> str:
    if now.distance <= 1:
        likely = f"The goal is met most likely, {100 * now.chance:.0f} times of 100, as it was read"
        return f"{likely}; these make it surer, the first first"
    return "What to do, the first first" if found.met else "No one small change meets the goal; the nearest"


def _leave_it(now: Now, stage: str) -> list[str]:
    """What to say of a bait that most likely meets its goal and that no small change makes surer."""
    if now.chance >= SURE:
        return ["The goal is met: leave it as it is."]
    sure = (
        f"The goal is met most likely, {100 * now.chance:.0f} times of 100, as it was read, and no small change makes"
    )
    later = (
        "float it again when it is rigged." if stage != STAGES[-1] else "read it again, more finely, if you doubt it."
    )
    return wrap(f"{sure} that surer: leave it as it is, and {later}", WIDTH)


def _lies(one: Advice | Now, found: Trimmed) -> str:
    """How a bait lies, with its lean where one was seen."""
    lean = f"lean {one.lean_deg:+.1f} deg, " if found.said.lean is not None else ""
    return f"nose {one.nose_deg:+.1f} deg, {lean}spare weight {one.spare_g:+.2f} g"


def _for_the_recipe(changes: Mapping[str, object]) -> list[str]:
    """The first advice as a recipe has it, once it is done."""
    where = "to append" if _new_tables(changes) else "in the place of the keys that are there"
    return [
        "",
        f"For the recipe, once the first is done, {where}:",
        *(f"    {s}" for s in pasted(changes).splitlines()),
    ]


def _wish(aim: Aim, units: str) -> str:
    kind = aim.what.kind
    if UNITS[kind] == "mm":
        return f"{WORDS[kind]} {length_text(aim.wanted, units)} at {length_text(aim.what.x, units)}"
    return f"{WORDS[kind]} {aim.wanted:+.2f} {UNITS[kind]} within {aim.within:g}"


def cautions_of(advice: tuple[Advice, ...]) -> list[str]:
    """The usual ones of what is advised, and last the sentence that defers."""
    keys = {"hooks", *(key for one in advice for key in one.change.cautions)}
    known = load("cautions")
    told = (known["caution"][key] for key in sorted(keys))
    return [*(f"{caution['title']}. {caution['text']}" for caution in told), known["defer"]["text"]]
