"""How much each hanger of a recipe holds, and which of them the line would pull out: the weak link.

Knows fittings, their bores and the wood. The rules are ``holding.py``'s.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import pi

from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool
from bodygen.recipe.model import Fitting, Recipe
from bodygen.recipe.readers.bores import drill_sizes
from bodygen.recipe.readers.items import metric_screw_eyes
from bodygen.recipe.readers.wire import wire_diameter
from bodygen.shop.wire.holding import Holds, glued_holds, ring_opens, screw_eye_holds, weakest, wire_break, wood_shear
from bodygen.tables import load
from bodygen.units import INCH

NEWTON = 9.80665
"""Weight of a kilogram [N]."""
END_GRAIN = 0.7
"""A bore whose axis has this much of the body's length in it is in end grain, which runs along the body [-]."""


@dataclass(frozen=True, slots=True)
class Hanger:
    """What a fitting holds: its ``place`` among them and name; None, and ``why``, where no table has a ground."""

    place: int
    name: str
    holds: Holds | None
    why: str = ""


def hangers_of(recipe: Recipe, tools: Sequence[Tool], density: float) -> tuple[Hanger, ...]:
    """Every screw eye on a bore and every bent wire, with what it holds.

    Parameters
    ----------
    recipe : Recipe
    tools : sequence of Tool
        Its cuts.
    density : float
        Of the wood as it is weighed [g/cm^3].
    """
    bores = {tool.name: tool for tool in tools if isinstance(tool, Revolved) and not tool.mirrored}
    return tuple(
        Hanger(place, fitting.name, *_holds(recipe, fitting, bores.get(fitting.on or ""), density))
        for place, fitting in enumerate(recipe.fittings)
        if fitting.bent is not None or (fitting.kind == "screw_eye" and fitting.on in bores)
    )


def _holds(recipe: Recipe, fitting: Fitting, bore: Revolved | None, density: float) -> tuple[Holds | None, str]:
    if fitting.kind == "screw_eye" and bore is not None:
        return _screw_eye(recipe, fitting, bore, density)
    if fitting.bent is not None and bore is not None:
        return _glued(recipe, fitting, bore, density)
    pull = wire_break(fitting.size)
    return pull, "" if pull else _no_strength(fitting)


def _no_strength(fitting: Fitting) -> str:
    return f"no table has the strength of wire of {fitting.size}"


def _screw_eye(recipe: Recipe, fitting: Fitting, bore: Revolved, density: float) -> tuple[Holds | None, str]:
    size = eye_size(fitting.size or "")
    if size is None:
        return None, "the table has no such screw eye"
    wire, shank, ring = size
    row = load("hardware")["screw_eye"]
    thread, wide = float(row["threaded_fraction"]) * shank, bore.diameter > float(row["pilot_most_d"]) * wire
    biting = (
        min(thread, max(0.0, shank - bore.point)) if wide else thread
    )  # below a hole that is too wide it still does
    gravity = density / (1 + recipe.wood.moisture_percent / 100)
    shear, end_grain = wood_shear(recipe.wood.species, density), abs(bore.axis[0]) > END_GRAIN
    ways = [screw_eye_holds(gravity, wire, biting, shear, end_grain=end_grain)] if biting > 0 else []
    if wide and shear is not None:  # a glued rod then: the larger of the two, as glue and thread do not add up
        ways.append(glued_holds(bore.diameter, min(shank, bore.shoulder), shear, pi * wire, shaped=True))
    if not ways:
        return None, "its hole is too wide for the thread, and the table has no shear strength of this wood"
    pull = max(ways, key=lambda way: way.likely)
    return weakest(pull, ring_opens(wire, ring, float(load("wire")["spring_back"]["y_soft_mpa"]))), ""


def pilots(wire: float) -> tuple[str, str]:
    """Drills to pilot a screw eye's thread in soft and in hard wood, by name; ``wire`` is its diameter [mm].

    References
    ----------
    Common practice, no published source: 0.7 and 0.85 to 0.9 of the wire (``hardware.toml`` [screw_eye]).

    Examples
    --------
    >>> pilots(1.0)
    ('0.7 mm', '#65')
    """
    row, sold = load("hardware")["screw_eye"], drill_sizes()
    soft, hard = (
        min(sold, key=lambda name: abs(sold[name] - row[key] * wire)) for key in ("pilot_soft_d", "pilot_hard_d")
    )
    return soft, hard


def _glued(recipe: Recipe, fitting: Fitting, bore: Revolved, density: float) -> tuple[Holds | None, str]:
    shear = wood_shear(recipe.wood.species, density)
    if shear is None or fitting.bent is None or fitting.size is None:
        species = (recipe.wood.species or "").replace("_", " ")
        why = f"the table has no shear strength of {species}" if species else "the recipe does not say which wood it is"
        return None, why
    wire, twisted = wire_diameter(fitting.size), fitting.bent.form == "twisted_hanger"
    leg = min(fitting.bent.leg or bore.shoulder, bore.shoulder)
    around = 2 * pi * wire if twisted else (pi + 2) * wire
    pull, breaks = glued_holds(bore.diameter, leg, shear, around, shaped=twisted), wire_break(fitting.size, legs=2)
    if breaks is None:
        return replace(pull, under=f"{pull.under}; {_no_strength(fitting)}"), ""
    return weakest(pull, breaks), ""


def eye_size(size: str) -> tuple[float, float, float] | None:
    """Wire, shank and inside of the ring of a screw eye by its label [mm]; None for one that the table does not have.

    Examples
    --------
    >>> eye_size("1 x 12 mm")
    (1.0, 12.0, 3.0)
    """
    metric = metric_screw_eyes().get(size)
    if metric is not None:
        return metric["wire_mm"], metric["shank_mm"], metric["ring_inside_mm"]
    for row in load("hardware")["screw_eye"]["sizes"]:
        if size == f"{row['wire_in']:g} x {row['shank_in']:g} in":
            inch = float(INCH)
            return row["wire_in"] * inch, row["shank_in"] * inch, row["ring_inside_in"] * inch
    return None


def line_pull(recipe: Recipe) -> float | None:
    """Pull that the line breaks at [N]; None where the recipe does not say."""
    if recipe.line is None or recipe.line.strength is None:
        return None
    return recipe.line.strength / 1000 * NEWTON


def hanger_checks(recipe: Recipe, tools: Sequence[Tool], density: float) -> tuple[Finding, ...]:
    """Doubt every hanger that the line would pull out, or that soaked holds less than 1.5 times the line [N]."""
    line = line_pull(recipe)
    weak = tuple(_weak(hangers_of(recipe, tools, density), line)) if line is not None else ()
    return (*weak, *_wide_pilots(recipe, tools))


def _wide_pilots(recipe: Recipe, tools: Sequence[Tool]) -> Iterator[Finding]:
    most, bores = load("hardware")["screw_eye"]["pilot_most_d"], [t for t in tools if isinstance(t, Revolved)]
    for place, fitting in enumerate(recipe.fittings):
        size = eye_size(fitting.size or "") if fitting.kind == "screw_eye" else None
        bore = next((tool for tool in bores if tool.name == fitting.on and not tool.mirrored), None)
        if size is None or bore is None or bore.diameter <= most * size[0]:
            continue
        soft, hard = pilots(size[0])
        remedy = f"glue alone holds it in {bore.name}, the thread does not bite: a pilot of {soft}, {hard} in hard wood"
        where = f"fitting[{place + 1}] {fitting.name}"
        yield Finding("pilot-wide", "note", where, remedy, round(bore.diameter, 2), round(most * size[0], 2), "mm")


def _weak(hangers: Sequence[Hanger], line: float) -> Iterator[Finding]:
    wanted = float(load("holding")["safety"]["line_factor"]) * line
    for hanger in hangers:
        if hanger.holds is None or hanger.holds.low >= wanted:
            continue
        pull, where = hanger.holds, f"fitting[{hanger.place + 1}] {hanger.name}"
        words = f"holds {pull.low:.0f} to {pull.high:.0f} N, likely {pull.likely:.0f} ({pull.by}; {pull.under})"
        if pull.likely < line:
            remedy = (
                f"{words}; the line breaks at {line:.0f} N, so the hanger is the weak link: stronger, or a weaker line"
            )
            yield Finding("hanger-weak", "warning", where, remedy, round(pull.likely, 1), round(line, 1), "N")
        else:
            remedy = (
                f"{words}; at the low end it is the weak link beside a line that breaks at {line:.0f} N: proof-pull it"
            )
            yield Finding("hanger-weak", "note", where, remedy, round(pull.low, 1), round(wanted, 1), "N")
