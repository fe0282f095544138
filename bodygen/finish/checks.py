"""Doubts about the coats: one that the other spoils, one too soon, air that they do not stand, a dip's film.

Knows the recipe, the tables of finishes and coatings. Makes no calendar.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from bodygen import tables
from bodygen.findings import Finding
from bodygen.finish.calendar import pairs
from bodygen.finish.dip import drains_in, liquid, speed_for, wet_film
from bodygen.finish.drying import Air, class_named, drying
from bodygen.finish.over import over
from bodygen.recipe.model import Coat, Recipe


@dataclass(frozen=True, slots=True)
class Dipped:
    """What a dip leaves: the wet film and the dry one [mm], drawn at [m/s]; hung so long it drains to the tail [s]."""

    wet: float
    dry: float
    speed: float
    drains: float


def finish_findings(recipe: Recipe) -> tuple[Finding, ...]:
    """Every doubt about what the coats are and what they dry in; the limits are those of ``finishes.toml``."""
    air = Air(recipe.finish.temperature, recipe.finish.humidity) if recipe.finish else Air()
    return (*_over(recipe, air), *_air(recipe, air), *_wet(recipe), *_unknown(recipe), *_dips(recipe))


def _name(recipe: Recipe, place: int | None) -> str:
    return "bare wood" if place is None else f"{recipe.coats[place].name} (coat[{place + 1}])"


def _over(recipe: Recipe, air: Air) -> Iterator[Finding]:
    """Pairs that must not be, that are for small places only, or that the maker wants too soon."""
    for place, finish, under, below in pairs(recipe):
        rule = over(finish, below, drying(below, air) if under is not None else None)
        where, lower = f"coat[{place + 1}]", _name(recipe, under)
        if rule.wait is None:
            remedy = f"not over {lower}: {_small(rule.why)} Take another finish, or a tie coat between the two"
            yield Finding("coat-over", "warning", where, remedy, source=rule.source)
        elif rule.code == "spot":
            yield Finding("coat-over", "warning", where, f"over {lower} for small repairs only", source=rule.source)
        after = recipe.coats[place].after_h
        if rule.wait is not None and after is not None and after < rule.wait - 1e-9:
            because = f" {rule.why}" if rule.why else ""
            remedy = f"{lower} has not dried far enough for it.{because} Wait, or leave after_h out"
            source = rule.source if rule.why else ""
            yield Finding("coat-too-soon", "warning", f"{where}.after_h", remedy, after, rule.wait, "h", source)


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _air(recipe: Recipe, air: Air) -> Iterator[Finding]:
    """Coats that the bench is too cold, too damp or too dry for; nothing where nobody says what air it has."""
    table = tables.load("finishes")
    damp, floors = table["humidity"], table["temperature"]["floor_c"]
    if recipe.finish is None:
        return
    driest, dampest = damp["moisture_cure_limits_rh"]
    for place, coat in enumerate(recipe.coats, 1):
        finish = class_named(coat.finish, coat.dries_as) or ""
        if air.temperature < floors.get(finish, air.temperature):
            remedy = f"too cold for {coat.name} to cure: warm the bench and the bait first"
            yield Finding(
                "coat-cold", "warning", f"coat[{place}]", remedy, air.temperature, float(floors[finish]), "degC"
            )
        remedy, limit, source = "", 0.0, ""
        if finish in damp["blushes"] and air.humidity > damp["blush_above_rh"]:
            remedy, limit, source = damp["blush_note"], damp["blush_above_rh"], damp["blush_above_rh_source"]
        elif finish == "moisture_cure_urethane" and air.humidity < driest:
            remedy, limit = "it takes its water from the air, and may stay soft for days", driest
        elif finish == "moisture_cure_urethane" and air.humidity > dampest:
            remedy, limit = "it takes its water from the air, and so much makes it foam", dampest
        if remedy:
            told = f"{remedy}: wait for another day"
            yield Finding(
                "coat-damp", "warning", f"coat[{place}]", told, air.humidity, float(limit), "% humidity", source
            )


def _wet(recipe: Recipe) -> Iterator[Finding]:
    """An uppermost coat that water takes off."""
    found = list(pairs(recipe))
    if found and len(found) == len(recipe.coats):
        place, finish, *_ = found[-1]
        if drying(finish, Air()).water is None:
            remedy = f"{recipe.coats[place].name} does not stand water uncovered: a clear coat over it"
            yield Finding("coat-uncovered", "warning", f"coat[{place + 1}]", remedy)


def _unknown(recipe: Recipe) -> Iterator[Finding]:
    """Coats of which nobody says how they dry, where a calendar was asked for."""
    if recipe.finish is None:
        return
    for place, coat in enumerate(recipe.coats, 1):
        if class_named(coat.finish, coat.dries_as) is None:
            remedy = "nobody says how it dries, so there is no calendar: say dries_as"
            yield Finding("coat-class", "note", f"coat[{place}]", remedy)


def dipped(coat: Coat, length: float = 0.0) -> Dipped | None:
    """What a coat's dip leaves; None where it is not told as a dip, or nothing says how much of it stays.

    ``length`` [mm] is how far down the bait hangs.
    """
    if coat.viscosity is None or coat.finish is None:
        return None
    low, high = tables.load("coatings")["coat"][coat.finish]["solids_volume"]
    of = liquid(coat.viscosity)
    speed = coat.draw_speed or tables.load("finishes")["dip"]["usual_draw_mm_s"] / 1000
    wet = wet_film(of, speed)
    return Dipped(wet, wet * (low + high) / 2, speed, drains_in(of, length, wet))


def _dips(recipe: Recipe) -> Iterator[Finding]:
    """A dip whose film is not what the weights are worked out with."""
    for place, coat in enumerate(recipe.coats, 1):
        found = dipped(coat)
        if found is None or coat.finish is None or coat.viscosity is None:
            continue
        row = tables.load("coatings")["coat"][coat.finish]
        low, usual, high = row["dry_mm"]
        planned = coat.film or usual
        low, high = (planned * end / usual for end in (low, high))
        if low <= found.dry <= high:
            continue
        near = low if found.dry < low else high
        speed = 1000 * speed_for(liquid(coat.viscosity), planned / (sum(row["solids_volume"]) / 2))
        drawn = f"draw it out at {speed:.2g} mm/s for {1000 * planned:.0f} um" if speed < 100 else "no draw leaves that"
        remedy = (
            f"a dip drawn at {1000 * found.speed:g} mm/s dries to another film than is weighed: {drawn}, or say film"
        )
        yield Finding("dip-film", "note", f"coat[{place}].viscosity", remedy, 1000 * found.dry, 1000 * near, "um")
