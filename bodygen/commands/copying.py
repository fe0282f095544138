"""What the commands that copy a bait do: trace it, scale it, compare it. Nothing is computed here."""

# ruff: noqa: PLC0415  what a command needs it loads itself

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import bodygen
from bodygen.console.terminal import show, show_json, tell
from bodygen.errors import InputError, Mistake

if TYPE_CHECKING:
    from bodygen.scan.written import Written

DONE, DESIGN = 0, 1


def trace(options: Namespace) -> int:
    """Make a recipe of a bait that is there."""
    from bodygen.report.properties import as_json
    from bodygen.scan import written

    if options.way == "page":
        return _trace_page(options)
    found = {"stations": _traced_stations, "photo": _traced_photo, "scan": _traced_scan}[options.way](options)
    if options.json:
        show_json(as_json(found.document()))
    else:
        show(written.as_text(found))
    if found.lacks:
        tell(f"without the extra {', '.join(found.lacks)} there is no PNG of the fit; the SVG is there")
    return DONE


def scale(options: Namespace) -> int:
    """Write a recipe in other sizes."""
    from bodygen.report.properties import as_json
    from bodygen.scan.copies import family

    lengths, depth, thickness = _sizes_wanted(options)
    made = bodygen.scale(options.recipe, options.name, lengths, depth=depth, thickness=thickness, keep=options.keep)
    if options.json:
        show_json(as_json(made.document()))
    else:
        show(family.as_text(made))
    if made.lacks:
        tell(f"without the extra {', '.join(made.lacks)} there is no PNG of the family; the SVG is there")
    return DONE if made.met else DESIGN


def compare(options: Namespace) -> int:
    """Lay copies over what was meant."""
    from bodygen import units
    from bodygen.recipe.new import refuse_taken
    from bodygen.report.properties import as_json
    from bodygen.scan.copies import compared
    from bodygen.scan.told import option

    mistakes: list[Mistake] = []
    within = option(
        "--within",
        options.within,
        lambda v: units.length(v, options.units),
        mistakes,
        "0.01 to 20 mm",
        lambda v: 0.01 <= v <= 20,
    )
    if mistakes:
        raise InputError(mistakes)
    count = len(options.copies)
    names = [] if options.picture is None else [f"{options.picture}{f'-{i + 1}' * (count > 1)}" for i in range(count)]
    refuse_taken(Path(f"{name}.{ending}") for name in names for ending in ("svg", "png"))
    found = bodygen.compare(options.meant, *options.copies, within=within, units=options.units)
    lacks: tuple[str, ...] = ()
    for pair, name in zip(found.pairs, names, strict=False):
        lacks = compared.picture_of(pair, found.meant, Path(f"{name}.svg"))
    if options.json:
        show_json(as_json(found.document()))
    else:
        show("\n".join([compared.as_text(found), *(f"  look at {name}.svg" for name in names)]))
    if lacks:
        tell(f"without the extra {', '.join(lacks)} there is no PNG of the overlay; the SVG is there")
    return DONE if found.alike else DESIGN


def _sizes_wanted(options: Namespace) -> tuple[list[float], float | None, float | None]:
    from bodygen import units
    from bodygen.recipe.keys import bounds
    from bodygen.scan.told import option

    ruler = bodygen.read_recipe(options.recipe).units
    mistakes: list[Mistake] = []

    def read(name: str, written: str | None, kind: str) -> float | None:
        low, high = bounds(kind)
        accepted = f"{low:g} to {high:g} mm"
        return option(name, written, lambda v: units.length(v, ruler), mistakes, accepted, lambda v: low <= v <= high)

    lengths = [read("--length", written, "body_length_mm") or 0.0 for written in options.length]
    depth = read("--depth", options.depth, "body_depth_mm")
    thickness = read("--thickness", options.thickness, "body_thickness_mm")
    if len({round(length, 6) for length in lengths}) < len(lengths) and not mistakes:
        mistakes.append(Mistake("command line", 0, "--length", "", "the same length twice.", "different lengths"))
    if mistakes:
        raise InputError(mistakes)
    return lengths, depth, thickness


def _traced_scan(options: Namespace) -> "Written":
    from bodygen.scan.told import told_from

    told = told_from(options, "mm")  # mistakes are told before the work
    return bodygen.trace_scan(
        options.file, told.name, units=options.units, nose=options.nose, back=options.back,
        bare=told.bare, mass=told.mass, pitch=told.pitch,
    )  # fmt: skip


def _traced_photo(options: Namespace) -> "Written":
    from bodygen.extras import refuse_missing

    refuse_missing({"trace photo": ("photo",)})
    from bodygen.scan.photo.asked import pictures_of
    from bodygen.scan.told import told_from

    ruler: Literal["mm", "in"] = options.units or "mm"
    told = told_from(options, ruler)
    asked = pictures_of(options, ruler)
    span = None if asked.span is None else (asked.span.start, asked.span.end, asked.span.length)
    return bodygen.trace_photo(
        asked.side, told.name, top=asked.top, page=options.page, span=span, mask=asked.mask, thickness=asked.thickness,
        nose=asked.nose, units=ruler, bare=told.bare, mass=told.mass, pitch=told.pitch,
    )  # fmt: skip


def _traced_stations(options: Namespace) -> "Written":
    from bodygen import units
    from bodygen.scan.readings.table import read_readings
    from bodygen.scan.told import option, told_from

    ruler: Literal["mm", "in"] = options.units or ("in" if read_readings(options.file).inches else "mm")
    told = told_from(options, ruler)
    mistakes: list[Mistake] = []
    smooth = option(
        "--smooth", options.smooth, lambda v: units.length(v, ruler), mistakes, "1 to 400 mm", lambda v: 1 <= v <= 400
    )
    if mistakes:
        raise InputError(mistakes)
    return bodygen.trace_stations(
        options.file, told.name, units=ruler, smooth=smooth, bare=told.bare, mass=told.mass, pitch=told.pitch
    )


def _trace_page(options: Namespace) -> int:
    from bodygen.extras import refuse_missing
    from bodygen.recipe.new import refuse_taken
    from bodygen.scan.photo.page import marker_page

    refuse_missing({"trace page": ("photo",)})
    from bodygen.scan.photo.page_pdf import write_page

    path = Path(f"trace-page-{options.paper}.pdf")
    refuse_taken([path])
    write_page(marker_page(options.paper), path)
    tell(f"wrote {path}; print it at 100 %, lay the bait on it, then: bodygen trace photo")
    show(str(path))
    return DONE
