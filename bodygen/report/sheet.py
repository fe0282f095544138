"""The build sheet: what a reader at a terminal needs, on one screen or two. Everything on it is computed elsewhere.

Bores, order of work and cautions in full stand on the card, files, parts and every doubt in full on the folder's page.
"""

from collections.abc import Mapping, Sequence
from textwrap import wrap

from bodygen.assessment import Assessment, answer_of
from bodygen.findings import Finding
from bodygen.recipe.model import Coat, Recipe
from bodygen.report.blocks import goal_text, metal_words, spread_text
from bodygen.report.calendar import calendar_lines
from bodygen.report.dive import dive_text, is_not, range_text
from bodygen.report.stamp import stamp
from bodygen.report.summary import WORDS, body_text, finding_head, floating_text, scale_text
from bodygen.tables import load
from bodygen.weights.cavities import metal_row

WIDTH = 96
MOST = 80
"""Lines of a sheet."""
SHORTENED = 5
"""Lines of one part of it that may be as long as its recipe, before it points to the card."""
PAGE = "index.html"


def build_sheet(assessment: Assessment, files: Mapping[str, str], also: Sequence[str] = ()) -> str:
    """Sizes, weights, metal, floating, dive, doubts, cautions by name, and where the rest stands; at most MOST lines.

    ``files`` maps names to what each is for. ``also`` are keys of the cautions that jigs and programs call for.
    """
    a, recipe = assessment, assessment.recipe
    card = next((name for name in files if name == f"bench-card-{_paper(recipe)}.pdf"), None)
    metal = [line for text in metal_words(a) for line in _wrapped(text)]
    lines = [
        *wrap(f"BUILD SHEET  {recipe.name}   ({stamp(recipe)})", WIDTH)[:3],
        "=" * WIDTH,
        *(line for text in body_text(a) for line in _fitted(text)[:3]),
        *("", "The scale should read", *scale_text(a)),
        *("", "Metal", *_short(metal, card)),
        *("", "In the water", *floating_text(a)),
        *(line for text in (spread_text(a.spread) if a.spread else []) for line in _wrapped(text, "  ", 2)),
        *(line for text in goal_text(answer_of(a)) for line in _wrapped(text, "  ", 2)),
    ]
    if dives := _dive(a):
        lines += ["", "How deep it runs", *dives]
    if a.calendar is not None:
        lines += ["", "Coats by the day", *calendar_lines(a.calendar)[:4]]
    lines = [line for text in lines for line in _fitted(text)]
    last = ["", *_care(recipe, also, card), "", *_next(card, files)]
    doubts = _doubts(a.findings, recipe.units, MOST - len(lines) - len(last) - 1)
    return "\n".join([*lines, "", *doubts, *last]) + "\n"


def _paper(recipe: Recipe) -> str:
    return "letter" if recipe.units == "in" else "a4"


def _wrapped(text: str, indent: str = "  ", most: int = 0) -> list[str]:
    lines = wrap(text.strip(), WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ")
    return lines[:most] if most else lines


def _fitted(text: str) -> list[str]:
    """A line that other reports have, too, in as many as this sheet's width takes."""
    if len(text) <= WIDTH:
        return [text]
    return wrap(text, WIDTH, subsequent_indent=" " * (len(text) - len(text.lstrip()) + 2))


def _short(lines: Sequence[str], card: str | None) -> list[str]:
    """As many lines as there is room for; the rest is on the card."""
    if len(lines) <= SHORTENED:
        return list(lines)
    rest = f"  and {len(lines) - SHORTENED + 1} lines more: {card or 'in the recipe'}"
    return [*lines[: SHORTENED - 2], rest, lines[-1]]


def _dive(a: Assessment) -> list[str]:
    if a.dive is None:
        return dive_text(a)
    told = range_text(a.dive, a.recipe.units, a.flotation.water_g_cm3)
    return [*told[:7], *wrap(is_not(), WIDTH, initial_indent="  ", subsequent_indent="  ")]


def _doubts(findings: Sequence[Finding], units: str, room: int) -> list[str]:
    """Doubts in short, the most serious first, as many as there is room for; all of them in full are on the page."""
    if not findings:
        return ["nothing to doubt"]
    told: list[str] = []
    for place, f in enumerate(findings):
        lines = wrap(
            f"{WORDS[f.severity]}  {finding_head(f, units)}: {f.told(units)}", WIDTH, subsequent_indent="       "
        )
        left = len(findings) - place - 1
        if len(told) + len(lines) + (left > 0) > room - (len(findings) > 1):
            break
        told += lines
    shown = sum(not line.startswith("       ") for line in told)
    more = len(findings) - shown
    return [*told, f"{f'and {more} more; ' if more else ''}all of them, with whose rule each is: {PAGE}"]


def _care(recipe: Recipe, also: Sequence[str], card: str | None) -> list[str]:
    """What to take care of, by name, where it stands in full, and the sentence that defers."""
    titles = "; ".join(title for title, _ in cautions(recipe, also))
    where = f"in full in {PAGE}{f', the bench work at its step on {card}' if card else ''}"
    return [*wrap(f"Take care ({where}): {titles}.", WIDTH), *wrap(load("cautions")["defer"]["text"], WIDTH)]


def _next(card: str | None, files: Mapping[str, str]) -> list[str]:
    print_it = f"print {card} at 100 % and hang it up" if card else "build --only card makes the card for the wall"
    return wrap(f"Next: {print_it}; {PAGE} shows all {len(files) + 3} files and the parts to make.", WIDTH)


def printed_how() -> str:
    """The way of printing that plastic and times of prints are worked out for."""
    row = load("making")["print"]
    return (
        f"in {row['layer_mm']:g} mm layers by a {row['line_mm']:g} mm line, {row['outlines']} outlines, "
        f"{row['infill_percent']} % infill, at {row['outer_speed_mm_s']} to {row['infill_speed_mm_s']} mm/s"
    )


def cautions(recipe: Recipe, also: Sequence[str] = ()) -> list[tuple[str, str]]:
    """(title, text) of every caution that this recipe's wood, metals, sheet and finishes call for, each once.

    ``also`` are the keys of further ones, behind them.
    """
    table = load("cautions")["caution"]
    return [(table[key]["title"], table[key]["text"]) for key in dict.fromkeys([*caution_keys(recipe), *also])]


def caution_keys(recipe: Recipe) -> list[str]:
    """Keys of ``cautions.toml`` that this recipe's wood, metals, sheet and finishes call for, each once."""
    return list(dict.fromkeys(key for keys in called_for(recipe).values() for key in keys))


def called_for(recipe: Recipe) -> dict[str, list[str]]:
    """The same keys by what calls for them: the bench itself, ``wood``, ``metal``, ``sheet``, ``coat``, hooks."""
    species, lip = recipe.wood.species, recipe.lip
    metal: list[str] = []
    for bore in recipe.bores:
        if bore.fill:
            row = load("metals")["metal"][metal_row(bore.fill)]
            metal += [k for k in row.get("cautions", []) if bore.fill.placed == "poured" or k != "lead_pouring"]
    laser = ["laser_general", "laser_pvc"] if lip and lip.cutting.process == "laser" else []
    return {
        "bench": ["spinning_tools", "small_workpiece"],
        "wood": load("woods")["wood"][species].get("cautions", []) if species else ["wood_dust"],
        "metal": metal,
        "sheet": [*load("sheet")["sheet"][lip.sheet].get("cautions", []), *laser] if lip else [],
        "coat": [key for coat in recipe.coats for key in coat_cautions(coat)],
        "hooks": ["hooks"] if any(fitting.kind == "hook" for fitting in recipe.fittings) else [],
    }


def coat_cautions(coat: Coat) -> list[str]:
    """Keys of the cautions that a coat calls for."""
    keys = list(load("coatings")["coat"][coat.finish].get("cautions", [])) if coat.finish else []
    return [*keys, *(load("finishes")["finish"][coat.dries_as]["cautions"] if coat.dries_as else [])]
