"""What a maker reads at arm's length: sizes, weights by the step, how it floats, and every doubt, in plain words."""

from textwrap import wrap

from bodygen.assessment import Assessment, answer_of
from bodygen.findings import Finding
from bodygen.report.blocks import goal_text, spread_text
from bodygen.report.calendar import calendar_lines
from bodygen.report.dive import dive_text
from bodygen.report.wire import wire_text
from bodygen.tables import load
from bodygen.units import length_text, mass_text, temperature_text

WORDS = {"error": "ERROR", "warning": "warning", "note": "note"}
ANSI = {"error": "\x1b[1;31m", "warning": "\x1b[33m", "note": "\x1b[36m", "head": "\x1b[1m"}
PLAIN = "\x1b[0m"
WIDTH, INDENT = 100, " " * 7


def as_text(assessment: Assessment, *, colour: bool = False) -> str:
    """What ``weigh`` prints: sizes, weights by the step, flotation and every doubt, on the recipe's own ruler.

    Lines of at most about 100 characters; ``colour`` for a terminal.
    """
    a, units = assessment, assessment.recipe.units
    lines = [_head(a.recipe.name, colour=colour), *body_text(a), "", _head("The scale should read", colour=colour)]
    lines += [*scale_text(a), "", _head("In the water", colour=colour), *floating_text(a)]
    lines += [*(spread_text(a.spread) if a.spread else []), *goal_text(answer_of(a)), ""]
    if dives := dive_text(a):
        lines += [_head("How deep it runs", colour=colour), *dives, ""]
    if wires := wire_text(a):
        lines += [_head("Wire and what holds it", colour=colour), *wires, ""]
    if a.calendar is not None:
        lines += [_head("Coats by the day", colour=colour), *calendar_lines(a.calendar), ""]
    lines += findings_text(a.findings, units, colour=colour) or ["nothing to doubt"]
    return "\n".join(lines) + "\n"


def body_text(a: Assessment) -> list[str]:
    """Sizes, volumes and wood, lines."""
    length, depth, thickness = (length_text(size, a.recipe.units) for size in a.shaped.sizes)
    wood = a.weighed.density
    left = f"{a.measured.wood_left.volume / 1000:.2f} cm3 of wood"
    return [
        f"  body      {length} long, {depth} deep, {thickness} thick",
        f"            {a.shaped.volume.volume / 1000:.2f} cm3, skin {a.shaped.skin.area / 100:.1f} cm2; {left} left",
        f"  wood      {wood.g_cm3:.3f} g/cm3 ({wood.basis})",
    ]


def scale_text(a: Assessment) -> list[str]:
    """What the scale should read, a line a step."""
    units = a.recipe.units
    return [
        f"  {s.name:<10}{mass_text(s.mass, units):>18}   give or take {s.tolerance:.2f} g   {on_the_scale(a, s.name)}"
        for s in a.weighed.stages
    ]


def _head(text: str, *, colour: bool) -> str:
    return f"{ANSI['head']}{text}{PLAIN}" if colour else text


ON_THE_SCALE = {
    "blank": "the body if it is shaped before any hole",
    "drilled": "the shaped body with its holes and slots",
    "hangers": "and hangers and wire",
    "ballast": "and the ballast",
    "sealed": "and the sealer",
    "painted": "and paint and eyes",
    "cleared": "and the clear coats",
    "rigged": "all of it, with lip, rings and hooks",
}


def on_the_scale(a: Assessment, stage: str) -> str:
    """Say what lies on the scale at a stage."""
    if stage == "squared" and a.measured.block is not None:
        sides = (length_text(side, a.recipe.units).partition(" (")[0] for side in a.measured.block.size)
        return f"the squared block, {' x '.join(sides)}"
    return ON_THE_SCALE[stage]


def floating_text(a: Assessment) -> list[str]:
    """How it lies in the water, lines."""
    f, units = a.flotation, a.recipe.units
    at = f.attitude
    lines = [f"  {f.state} with a reserve of {f.reserve_g:+.2f} g in water of {f.water_g_cm3:.4f} g/cm3"]
    nose = "nose up" if at.pitch_deg >= 0 else "nose down"
    roll = "" if at.roll_deg is None or abs(at.roll_deg) < 0.05 else f", rolled {at.roll_deg:.1f} deg"
    if f.state == "floats" and at.freeboard_mm is not None:
        lines.append(
            f"  {abs(at.pitch_deg):.1f} deg {nose}{roll}, {length_text(at.freeboard_mm, units)} of it above the water"
        )
        lines.append(
            f"  GM {at.gm_mm:.2f} mm across, {at.gml_mm:.1f} mm along"
            + (f"; {len(f.others)} other stable attitude{'s' * (len(f.others) > 1)}" if f.others else "")
        )
    else:
        lines.append(f"  hangs {abs(at.pitch_deg):.1f} deg {nose}{roll}")
    return lines


def findings_text(findings: tuple[Finding, ...], units: str, *, colour: bool = False) -> list[str]:
    """One doubt a line or two: how serious, where, the figure against its limit, what to do, whose rule it is.

    Lengths and masses are on the recipe's own ruler and scale, ``units`` "mm" or "in".
    """
    lines = []
    for f in findings:
        word = f"{ANSI[f.severity]}{WORDS[f.severity]}{PLAIN}" if colour else WORDS[f.severity]
        lines.append(f"{word}  {finding_head(f, units)}")
        lines += wrap(f.told(units), WIDTH, initial_indent=INDENT, subsequent_indent=INDENT)
        lines.append(f"{INDENT}[{f.source}]")
    return lines


def finding_head(f: Finding, units: str) -> str:
    """Where a doubt is, which it is, its figure against its limit."""
    return f"{f.where}: {finding_words(f, units)}"


def finding_words(f: Finding, units: str) -> str:
    """Which doubt it is, and its figure against its limit: what is wrong, for where its place is plain to see."""
    figure = ""
    if f.value is not None:
        figure = f" {_figure(f.value, f.unit, units)}"
        figure += f" (limit {_figure(f.limit, f.unit, units)})" if f.limit is not None else ""
    return f"{f.code}{figure}"


def _figure(value: float, unit: str, units: str) -> str:
    """A figure as the maker reads it: three digits and its unit; a length or mass as his ruler or scale has it."""
    match unit:
        case "mm":
            return length_text(value, units)
        case "g":
            return mass_text(value, units)
        case "degC":
            return temperature_text(value, units)
        case "-":  # a share
            return f"{value:.3g}"
        case _:
            return f"{value:.3g} {unit}".rstrip()


def wood_words(assessment: Assessment) -> str:
    """The wood as a title block names it: species, if said, and density."""
    species = assessment.recipe.wood.species
    name = f"{load('woods')['wood'][species]['name']}, " if species else ""
    return f"{name}{assessment.weighed.density.g_cm3:.3f} g/cm3"
