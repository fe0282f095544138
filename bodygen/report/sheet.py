"""The build sheet: what to read at the bench, one text. Everything on it is computed elsewhere."""

from collections.abc import Mapping, Sequence
from textwrap import wrap

from bodygen.assessment import Assessment
from bodygen.form.bore_words import bit_words, depth_words
from bodygen.recipe.model import Coat, Recipe
from bodygen.report.stamp import stamp
from bodygen.report.summary import as_text
from bodygen.tables import load
from bodygen.weights.cavities import metal_row

WIDTH = 96


def build_sheet(
    assessment: Assessment,
    files: Mapping[str, str],
    listed: Sequence[Mapping[str, str]] = (),
    also: Sequence[str] = (),
) -> str:
    """Summary, bores, parts list, files and cautions.

    ``files`` maps names to what each is for; ``listed`` are the parts: name, material, amount, time (rough, or empty).
    ``also`` are keys of the cautions that jigs and programs call for.
    """
    recipe = assessment.recipe
    lines = [
        f"BUILD SHEET  {recipe.name}   ({stamp(recipe)})",
        "=" * WIDTH,
        as_text(assessment).rstrip(),
        "",
    ]
    if recipe.bores:
        lines.append("To drill (depths along the bit's axis; the drill block's stops stand below, beside its file)")
        for bore in recipe.bores:
            text = f"{bore.name}: {bit_words(bore, recipe.units)}, {depth_words(bore, recipe.units)}"
            lines += wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")
        lines.append("")
    if listed:
        lines += wrap(f"Parts to make (times are rough; prints {printed_how()})", WIDTH)
        for part in listed:
            time = f"; {part['time']}" if part["time"] else ""
            text = f"{part['name']}: {part['material']}; {part['amount']}{time}"
            lines += wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")
        lines.append("")
    lines.append("Files")
    width = max((len(name) for name in files), default=0) + 2
    for name in sorted(files):
        first, *rest = wrap(files[name], WIDTH - width - 2)
        lines += [f"  {name:<{width}}{first}", *(" " * (width + 2) + line for line in rest)]
    lines += ["", "Take care"]
    for title, text in cautions(recipe, also):
        lines += wrap(f"{title}: {text}", WIDTH, initial_indent="  - ", subsequent_indent="    ")
    lines += ["", *wrap(load("cautions")["defer"]["text"], WIDTH)]
    return "\n".join(lines) + "\n"


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
    keys = ["spinning_tools", "small_workpiece"]
    if recipe.wood.species:
        keys += load("woods")["wood"][recipe.wood.species].get("cautions", [])
    else:
        keys.append("wood_dust")
    for bore in recipe.bores:
        if bore.fill:
            row = load("metals")["metal"][metal_row(bore.fill)]
            keys += [k for k in row.get("cautions", []) if bore.fill.placed == "poured" or k != "lead_pouring"]
    if recipe.lip:
        sheet = load("sheet")["sheet"][recipe.lip.sheet].get("cautions", [])
        laser = recipe.lip.cutting.process == "laser"
        keys += [*sheet, *(["laser_general", "laser_pvc"] if laser else [])]
    for coat in recipe.coats:
        keys += coat_cautions(coat)
    if any(fitting.kind == "hook" for fitting in recipe.fittings):
        keys.append("hooks")
    return list(dict.fromkeys(keys))


def coat_cautions(coat: Coat) -> list[str]:
    """Keys of the cautions that a coat calls for."""
    keys = list(load("coatings")["coat"][coat.finish].get("cautions", [])) if coat.finish else []
    return [*keys, *(load("finishes")["finish"][coat.dries_as]["cautions"] if coat.dries_as else [])]
