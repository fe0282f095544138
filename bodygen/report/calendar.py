"""The coats by the day, in words and for programs. Every hour on it is worked out elsewhere (``finish/``)."""

from dataclasses import asdict
from datetime import datetime
from textwrap import wrap
from typing import Any

from bodygen.finish.bench_days import day_words
from bodygen.finish.calendar import Calendar, Step
from bodygen.finish.checks import Dipped, dipped
from bodygen.recipe.model import Recipe
from bodygen.report.stamp import stamp
from bodygen.tables import load
from bodygen.units import mass_text, temperature_text

WIDTH, INDENT = 96, " " * 9
FILE = "calendar.txt"


def calendar_lines(made: Calendar) -> list[str]:
    """First coat, hooks and water in a sentence, for a page that tells of other things, too."""
    if made.refused:
        return [f"  no calendar: {made.refused}"]
    first, last = made.steps[0], made.steps[-1]
    what = "hooks" if "hooks" in last.cautions else last.what
    said = f"first coat on {_day(first.at)}, {what} on {_day(last.at)}, {', '.join(ends(made))}"
    return wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")


def calendar_text(made: Calendar, recipe: Recipe, length: float) -> str:
    """Every step at its hour: what to do, what then stands on the bait, what to take care of.

    ``length`` of the body [mm]: a dipped bait hangs so far down.
    """
    air = f"{temperature_text(made.air.temperature, recipe.units)} and {made.air.humidity:g} % humidity"
    lines = [
        f"COATS BY THE DAY  {recipe.name}   ({stamp(recipe)})",
        "=" * WIDTH,
        *wrap(
            f"At {air}. Likely hours of a kind of product, mostly common practice with no published source: the "
            "tin's own sheet wins, and a test on scrap wins over both.",
            WIDTH,
        ),
    ]
    if made.refused:
        return "\n".join([*lines, "", f"No calendar: {made.refused}.", ""])
    day = None
    for step in made.steps:
        if step.at.date() != day:
            day = step.at.date()
            lines += ["", day_words(day)]
        lines += _step(step, recipe.units)
    lines += ["", *(f"{line[:1].upper()}{line[1:]}" for line in ends(made)), *_dips(recipe, length), "", "Take care"]
    table = load("cautions")
    for key in dict.fromkeys(key for step in made.steps for key in step.cautions):
        row = table["caution"][key]
        lines += wrap(f"{row['title']}: {row['text']}", WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join([*lines, "", *wrap(table["defer"]["text"], WIDTH), ""])


def _day(moment: datetime) -> str:
    return day_words(moment.date())


def ends(made: Calendar) -> list[str]:
    """When it may go into the water and when it is at its hardest."""
    water, late = (None if at is None else _day(at) for at in (made.water, made.water_late))
    slow = f" (by the slowest hours of the table from {late})" if late != water else ""
    wet = f"in the water from {water}{slow}" if water else "not into the water: its uppermost coat does not stand it"
    return [wet] if made.full is None else [wet, f"as hard as it gets from {_day(made.full)}"]


def _step(step: Step, units: str) -> list[str]:
    """One step: its hour and name, then what goes with it."""
    told = []
    if step.first:
        told.append(f"first: {step.first}")
    if step.early:
        told.append(f"TOO SOON: only {step.after_h:g} h, as after_h says")
    elif step.after_h >= 1:
        told.append(f"at least {step.after_h:.3g} h after what lies below. {step.reason}".rstrip())
    elif step.reason:
        told.append(step.reason)
    if step.stands is not None:
        s = step.stands
        grams = mass_text(s.mass_g, units)
        told.append(f"then: {1000 * s.film_mm:.0f} um of coats, {grams} in all, {s.displaced_cm3:.2f} cm3")
    if step.cautions:
        titles = (load("cautions")["caution"][key]["title"] for key in step.cautions)
        told.append(f"take care, in full below: {'; '.join(titles)}")
    lines = wrap(step.what, WIDTH - len(INDENT))
    lines = [f"  {step.at:%H:%M}  {lines[0]}", *(INDENT + line for line in lines[1:])]
    return lines + [
        line for text in told for line in wrap(text, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT + "  ")
    ]


def _dips(recipe: Recipe, length: float) -> list[str]:
    """How each dip is drawn and how long it hangs; nothing where none is told."""
    found = [(coat, made) for coat in recipe.coats if (made := dipped(coat, length)) is not None]
    if not found:
        return []
    lines = ["", "Dips (a film drawn up, by Landau, Levich and Derjaguin; drained, by Jeffreys)"]
    for coat, made in found:
        like = load("finishes")["viscosity"][coat.viscosity]["like"]
        lines += wrap(f"{coat.name}, as {like}: {_dip(made)}", WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return [*lines, *wrap(f"{load('finishes')['dip']['advice']}; thin tails and lips carry less".capitalize(), WIDTH)]


def _dip(made: Dipped) -> str:
    return (
        f"drawn at {1000 * made.speed:g} mm/s, {1000 * made.wet:.0f} um wet, about {1000 * made.dry:.0f} um dry; "
        f"hang it for {max(made.drains / 60, 0.1):.2g} min until the lowest end has drained to that"
    )


def calendar_block(made: Calendar) -> dict[str, Any]:
    """``calendar`` of the document."""
    iso = {key: None if (at := getattr(made, key)) is None else at.isoformat() for key in ("water", "full")}
    return {
        "start": made.start.isoformat(),
        "temperature_c": made.air.temperature,
        "humidity_percent": made.air.humidity,
        "steps": [
            {
                "at": step.at.isoformat(),
                "name": step.what,
                "first": step.first,
                "reason": step.reason,
                "after_h": step.after_h,
                "early": step.early,
                "cautions": list(step.cautions),
                "stands": None if step.stands is None else asdict(step.stands),
            }
            for step in made.steps
        ],
        "water": iso["water"],
        "water_slowest": None if made.water_late is None else made.water_late.isoformat(),
        "full": iso["full"],
        "refused": made.refused or None,
    }
