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
from bodygen.report.blocks import metal_stage
from bodygen.report.calendar import calendar_lines
from bodygen.report.card.lettering import paragraphs
from bodygen.report.card.words import CutRow, blank_of_bait
from bodygen.report.sheet import called_for, caution_keys, coat_cautions
from bodygen.report.summary import on_the_scale
from bodygen.report.wire import cut_words, holds_words
from bodygen.tables import load
from bodygen.units import length_text, mass_text
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
    said of drilling lead is not for a drill in wood. ``keys`` of cautions that belong here besides.
    """

    day: str
    what: str
    says: tuple[str, ...] = ()
    stage: str = ""
    acts: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    of: str = "wood"


def work_steps(a: Assessment, rows: Sequence[CutRow]) -> list[WorkStep]:
    """Every step in its order; each weigh-in stands once, and each caution at its first step."""
    steps = [*_wood(a, rows), *_coats(a), *_water(a)]
    placed = {step.stage for step in steps}
    for stage in a.weighed.stages:
        if stage.name not in placed:
            later = set(STAGES[STAGES.index(stage.name) + 1 :])
            at = next(n for n, step in enumerate(steps) if step.stage in later or step.day == WATER)
            what = on_the_scale(a, stage.name).removeprefix("and ")
            steps.insert(at, WorkStep(steps[max(at - 1, 0)].day, f"Weigh it: {what}", stage=stage.name))
    return _cautioned(a, steps)


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
        names = ", ".join(fitting.name for fitting in hung)
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
        told = f"stop when the scale reads {mass_text(metal.mass, units)}"
        # what lead calls for where it is not poured is not called
        acts = ("ballast", "file", "cut", "pour", "heat", "mix")
        yield WorkStep(WOOD_WORK, "Metal", (told,), "ballast", acts, of="metal")


ROUNDING_G = 1e-6
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
        yield WorkStep(heading, plain(coat.name), told, stage, acts, tuple(coat_cautions(coat)))
        if eyes:
            yield WorkStep(heading, eyes, (), _stage(a, coat.stage))
    if a.recipe.lip is not None:
        yield WorkStep(heading, "glue the lip into its slot", (), "", ("glue", "mix"), ("epoxy_skin",))
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
        )


def _water(a: Assessment) -> Iterator[WorkStep]:
    """The tub, the pull, the first cast."""
    ends = paragraphs(calendar_lines(a.calendar))[-1:] if a.calendar is not None else []
    reserve = f"should carry {mass_text(a.flotation.reserve_g, a.recipe.units)}"
    lies = a.flotation.attitude.pitch_deg
    nose = f"nose {abs(lies):.1f} deg {'up' if lies >= 0 else 'down'}"
    if a.flotation.reserve_g < 0:
        reserve = f"should be {mass_text(-a.flotation.reserve_g, a.recipe.units)} too heavy to float"
    yield WorkStep(WATER, "Float it in the tub", (*ends, f"{reserve}, {nose}"), "", ("test", "weigh"), of="metal")
    if proof := holds_words(a)[-1:]:
        yield WorkStep(WATER, "Pull every hanger", tuple(proof))
    code = code_of(a.recipe.sha256) if a.recipe.sha256 else "RECIPE"
    told = f"bodygen log {code} and bodygen trim {code} take it"
    yield WorkStep(WATER, "Swim it, then write down what it did", (told,), "", ("test",))


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
