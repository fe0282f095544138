"""The order of work: every step of the bench with what the scale should read after it and what to take care of.

Knows the assessment and which caution belongs to which act (``cautions.toml``). Knows no paper.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bodygen.assessment import Assessment
from bodygen.finish.bench_days import day_words
from bodygen.finish.calendar import COATED, Calendar, in_order
from bodygen.form.cuts import Prism, Revolved
from bodygen.recipe.keys import STAGES
from bodygen.report.blocks import beside, metal_stage, metal_words
from bodygen.report.calendar import calendar_lines, ends
from bodygen.report.card.lettering import paragraphs
from bodygen.report.card.words import CutRow, blank_of_bait
from bodygen.report.dive import depth_text
from bodygen.report.sheet import called_for, caution_keys, coat_cautions
from bodygen.report.summary import on_the_scale
from bodygen.report.wire import cut_words, holds_words
from bodygen.tables import load
from bodygen.units import length_text
from bodygen.version import code_of

WOOD_WORK = "Before the first coat"
WATER = "In the water"
LIP = "Cut out the lip"
DRILL, SLOTS = "Drill", "Saw the slots"
OTHERWISE = "Or, where it is shaped before any hole"


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step: under which day or heading, what to do, the stage that is weighed after it ("": none).

    ``acts`` are words of ``cautions.toml``'s ``when``, ``of`` is what is worked there (``called_for``'s words): what is
    said of drilling lead is not for a drill in wood. ``keys`` of cautions that belong here besides. ``coat`` is the one
    that is laid on; ``reads`` what else is read then beside the scale: each what it should be, and within what.
    """

    day: str
    what: str
    says: tuple[str, ...] = ()
    stage: str = ""
    acts: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    of: str = "wood"
    coat: str = ""
    reads: tuple[tuple[str, str], ...] = ()


def work_steps(a: Assessment, rows: Sequence[CutRow]) -> list[WorkStep]:
    """Every step in its order; each weigh-in stands once, and each caution at its first step."""
    steps = [*_wood(a, rows), *_coats(a), *_water(a)]
    placed = {step.stage for step in steps}
    for stage in a.weighed.stages:
        if stage.name not in placed:
            at = _weighed_at(steps, stage.name)
            what = ", ".join(beside(a, stage.name)) or f"Weigh it: {on_the_scale(a, stage.name).removeprefix('and ')}"
            steps.insert(at, WorkStep(steps[max(at - 1, 0)].day, what, stage=stage.name))
    return _cautioned(a, steps)


def _weighed_at(steps: Sequence[WorkStep], stage: str) -> int:
    """Before which step a weigh-in stands that no step has yet: before all coats, or the lip, that come later."""
    later = set(STAGES[STAGES.index(stage) + 1 :])
    wood = STAGES.index(stage) < STAGES.index(COATED[0])
    at = next(
        n
        for n, step in enumerate(steps)
        if step.stage in later or step.day == WATER or (wood and step.day != WOOD_WORK)
    )
    while stage in COATED and not steps[at - 1].stage and steps[at - 1].day != WOOD_WORK:
        at -= 1
    return at


def plain(name: str) -> str:
    """A finish's name as people write it."""
    return name.replace("_", " ")


def _stage(a: Assessment, name: str) -> str:
    return name if any(stage.name == name for stage in a.weighed.stages) else ""


def _numbers(rows: Sequence[CutRow]) -> str:
    return ", ".join(row.number for row in rows)


def _wood(a: Assessment, rows: Sequence[CutRow]) -> Iterator[WorkStep]:
    """From the plank to the metal."""
    tools, units = a.shaped.tools, a.recipe.units
    long, thick, deep = (length_text(side, units) for side in blank_of_bait(a).size)
    bored = [row for row in rows if isinstance(tools[row.places[0]], Revolved)]
    sawn = [row for row in rows if isinstance(tools[row.places[0]], Prism)]
    square = f"{long} long, {deep} deep, {thick} thick; true and square, every measure starts from its faces"
    yield WorkStep(WOOD_WORK, "Square the blank", (square,), _stage(a, "squared"), ("saw",))
    if bored:
        told = f"{_numbers(bored)} of the table, in the squared blank while its faces are true"
        yield WorkStep(WOOD_WORK, DRILL, (told,), "", ("drill",))
    if sawn:
        yield WorkStep(WOOD_WORK, SLOTS, (f"{_numbers(sawn)} of the table",), "", ("saw",))
    shaped = _stage(a, "drilled")
    yield WorkStep(
        WOOD_WORK, "Saw out, shape and sand", ("by template and gauges",), shaped or _stage(a, "blank"), ("saw", "sand")
    )
    if shaped and _stage(a, "blank"):
        yield WorkStep(WOOD_WORK, OTHERWISE, (), "blank")
    if a.recipe.lip is not None:
        told = "true size at the end of this card"
        yield WorkStep(WOOD_WORK, LIP, (told,), "", ("cut", "saw", "drill", "laser", "bend"), of="sheet")
    hung = [fitting for fitting in a.recipe.fittings if fitting.stage == "hangers"]
    if hung or cut_words(a):
        names = ", ".join(fitting.name for fitting in hung if fitting.bent is None)  # what to cut names the others
        yield WorkStep(
            WOOD_WORK,
            "Hangers and wire",
            tuple(text for text in (names, *cut_words(a)) if text),
            _stage(a, "hangers"),
            ("bend", "glue", "mix"),
            ("wire_ends",) if any(fitting.kind == "wire" for fitting in hung) else (),
        )
    metal = metal_stage(a)
    if metal is not None:
        # what lead calls for where it is not poured is not called
        acts = ("ballast", "file", "cut", "pour", "heat", "mix")
        yield WorkStep(WOOD_WORK, "Metal", (metal_words(a)[-1],), "ballast", acts, of="metal")


ROUNDING_G = 1e-6
LEANS_DEG = 1.0
"""A bait that lies straighter in the water is not asked how far it leans."""
COATING = ("brush", "dip", "spray", "airbrush", "mix", "clean", "cure")


def _coats(a: Assessment) -> Iterator[WorkStep]:
    """Coats, eyes, lip and hooks: by the day where there is a calendar, else in their order."""
    made = a.calendar
    if made is not None and not made.refused:
        yield from _by_the_day(a, made)
        return
    heading = "Coats, as the tins' own sheets let them"
    refused = paragraphs(calendar_lines(made)) if made is not None else []
    for place, (_, coat) in enumerate(in_order(a.recipe.coats)):
        after = f", {coat.after_h:g} h after what lies below" if coat.after_h is not None else ""
        many = f"{coat.coats} coats" if coat.coats > 1 else "1 coat"
        told = (*(refused if place == 0 else ()), f"{plain(coat.finish or 'your own finish')}, {many}{after}")
        last = [one.stage for _, one in in_order(a.recipe.coats)[place + 1 :]]
        eyes = _names(a, coat.stage) if coat.stage not in last else ""
        stage = "" if coat.stage in last or eyes else _stage(a, coat.stage)
        acts = (*COATING, "sand") if place else COATING
        name = plain(coat.name)
        yield WorkStep(heading, name, told, stage, acts, tuple(coat_cautions(coat)), coat=name)
        if eyes:
            yield WorkStep(heading, eyes, (), _stage(a, coat.stage))
    if a.recipe.lip is not None:
        stage = "" if _names(a, "rigged") else _stage(a, "rigged")
        yield WorkStep(heading, "glue the lip into its slot", (), stage, ("glue", "mix"), ("epoxy_skin",))
    if _names(a, "rigged"):
        yield WorkStep(heading, _names(a, "rigged"), (), _stage(a, "rigged"), ("rig", "weigh"), of="metal")


def _names(a: Assessment, stage: str) -> str:
    return ", ".join(fitting.name for fitting in a.recipe.fittings if fitting.stage == stage)


def _by_the_day(a: Assessment, made: Calendar) -> Iterator[WorkStep]:
    """The calendar's steps; a weigh-in after the last that brings the bait nearer to what it then weighs."""
    stages = [stage for stage in a.weighed.stages if stage.name in (*COATED, "rigged")]
    last: dict[str, int] = {}
    for place, step in enumerate(made.steps):
        if step.stands is not None:
            grams = step.stands.mass_g
            last |= dict.fromkeys([next((s.name for s in stages if s.mass > grams - ROUNDING_G), "")], place)
    after = {place: name for name, place in last.items()}
    for place, step in enumerate(made.steps):
        told = [f"first: {step.first}"] if step.first else []
        if step.early:
            told.append(f"TOO SOON: only {step.after_h:g} h, as after_h says")
        elif step.after_h >= 1:
            told.append(f"at least {step.after_h:.3g} h after what lies below")
        yield WorkStep(
            day_words(step.at.date()),
            f"{step.at:%H:%M}  {plain(step.what)}",
            tuple(told),
            after.get(place, ""),
            (),
            step.cautions,
            coat=_coat_of(a, step.what),
        )


def _coat_of(a: Assessment, what: str) -> str:
    """Of which coat a step of the calendar is: alone, one of several, or a layer of it; nothing where it is none."""
    names = (
        coat.name
        for coat in a.recipe.coats
        if what == coat.name or what.startswith((f"{coat.name}, ", f"{coat.name}: "))
    )
    return plain(max(names, key=len, default=""))


def _water(a: Assessment) -> Iterator[WorkStep]:
    """The tub, the pull, the first cast."""
    made = a.calendar
    wet = (", ".join(ends(made)),) if made is not None and not made.refused else ()
    yield WorkStep(WATER, "Float it in the tub", wet, "", ("test", "weigh"), of="metal", reads=tuple(_floating(a)))
    if proof := holds_words(a)[-1:]:
        yield WorkStep(WATER, "Pull every hanger", tuple(proof))
    code = code_of(a.recipe.sha256) if a.recipe.sha256 else "RECIPE"
    told = f"bodygen log {code} and bodygen trim {code} take it"
    reads = []
    if a.dive is not None and (deep := a.dive.depth) is not None:
        low, likely, high = (depth_text(metres, a.recipe.units) for metres in (deep.low, deep.likely, deep.high))
        reads = [(f"depth {likely.partition(' (')[0]}", f"{low} to {high}")]
    yield WorkStep(WATER, "Swim it, then write down what it did", (told,), "", ("test",), reads=tuple(reads))


def _floating(a: Assessment) -> Iterator[tuple[str, str]]:
    """What is read in the tub, as ``trim`` takes it, and within what eight in ten will be."""
    at, spread = a.flotation.attitude, a.spread
    near = (
        ("", "")
        if spread is None
        else (
            f"{spread.reserve_g.p10:+.2f} to {spread.reserve_g.p90:+.2f} g",
            f"{spread.pitch_deg.p10:+.1f} to {spread.pitch_deg.p90:+.1f}, up is +",
        )
    )
    yield f"reserve {a.flotation.reserve_g:+.2f} g", near[0]
    yield f"nose {abs(at.pitch_deg):.1f} deg {'up' if at.pitch_deg >= 0 else 'down'}", near[1]
    if at.roll_deg is not None and abs(at.roll_deg) >= LEANS_DEG:
        yield f"rolled {at.roll_deg:.1f} deg", ""


def _cautioned(a: Assessment, steps: Sequence[WorkStep]) -> list[WorkStep]:
    """Give each step the keys of the cautions that belong to it; what belongs to no act stands at the last step."""
    table, called = load("cautions")["caution"], called_for(a.recipe)
    made = [
        replace(
            step,
            keys=tuple(
                dict.fromkeys([
                    *(key for what in ("bench", step.of, "hooks") for key in called[what] if _acts(table[key], step)),
                    *step.keys,
                ])
            ),
        )
        for step in steps
    ]
    left = [key for key in caution_keys(a.recipe) if not any(key in step.keys for step in made)]
    made[-1] = replace(made[-1], keys=(*made[-1].keys, *left))
    return made


def _acts(caution: Mapping[str, Any], step: WorkStep) -> bool:
    return not set(caution["when"]).isdisjoint(step.acts)
