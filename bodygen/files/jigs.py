"""What is printed to hold, guide, mould and mask: drill block, cradles, mould, mask shells; and the flat mask films."""

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from bodygen.assessment import Assessment
from bodygen.errors import DesignError
from bodygen.export.dxf import write_dxf
from bodygen.export.stl import write_stl
from bodygen.export.svg import write_svg
from bodygen.files.outcome import Listed, Outcome, as_printed
from bodygen.files.paper import blank_for
from bodygen.findings import Finding
from bodygen.folder.publish import Draft
from bodygen.mesh.float32 import moved_for_float32
from bodygen.plane.shapes import Drawing
from bodygen.shop.jigs.cradle import cradles
from bodygen.shop.jigs.drill_block import drill_block
from bodygen.shop.jigs.fastening import default_cradle
from bodygen.shop.jigs.mould import mould
from bodygen.shop.jigs.mould_channels import default_mould
from bodygen.shop.jigs.print_bed import Bed, default_bed, laid
from bodygen.shop.masks.film import TICKS_MM, mask_films
from bodygen.shop.masks.regions import Region, SideView, regions, side_view_of
from bodygen.shop.masks.shell import mask_shells
from bodygen.shop.part import Part

REPAIR_MM = 0.01

LONGEST = 80  # characters of a part's name in that of its file


def write_block(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001  an STL has no such line
    """The drill and slot block for the squared blank."""
    bed = default_bed(a.recipe.shop.printer_bed)
    made = drill_block(a.recipe, a.shaped.tools, a.shaped.caster, blank_for(a), bed=bed)
    return _written(draft, made.parts, made.findings, bed)


def write_cradles(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001
    """Cradles and vise jaws for the shaped body."""
    shop = a.recipe.shop
    size, bed = default_cradle(shop.fit or "slide"), default_bed(shop.printer_bed)
    made = cradles(a.recipe, a.shaped.body, a.shaped.mesh, a.shaped.tools, size, bed)
    return _written(draft, made.parts, made.findings, bed)


def write_mould(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001
    """The two-part mould."""
    shop, size = a.recipe.shop, default_mould()
    if shop.shrink_percent is not None:
        size = replace(size, shrink_percent=shop.shrink_percent)
    made = mould(a.shaped.body, a.shaped.mesh, a.shaped.tools, a.shaped.plate, size)
    return _written(draft, made.parts.parts, made.parts.findings, default_bed(shop.printer_bed))


def write_masks(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Paint masks: shells tied on by their ears, and flat films of the skin; nothing without a ``[[mask]]``."""
    if not a.recipe.masks:
        return Outcome()
    view, (drawn, checks) = _regions(a)
    shells = mask_shells(a.shaped.body, a.shaped.mesh, view, drawn, a.shaped.tools)
    outcome = _written(draft, shells.parts, shells.findings, default_bed(a.recipe.shop.printer_bed))
    films, of_films = films_of(a)
    for mask, plain in films.items():
        film = replace(plain, about=about)
        stem = _file(f"mask {mask}", "-film.dxf", draft).removesuffix(".dxf")
        write_dxf(
            film,
            draft.add(
                f"{stem}.dxf",
                f"{film.name}: each flank's film as it lies on the skin seen from outside, to cut and stick on; ticks "
                f"stand every {TICKS_MM:g} mm of the body",
            ),
        )
        write_svg(film, draft.add(f"{stem}.svg", "the same as a picture, 1:1"))
    return Outcome((*checks, *outcome.findings, *of_films), listed=outcome.listed, cautions=outcome.cautions)


def films_of(a: Assessment) -> tuple[dict[str, Drawing], tuple[Finding, ...]]:
    """Each mask's film, and what to doubt of it."""
    view, (drawn, _) = _regions(a)
    return a.shaped.kept.of("films", lambda: mask_films(a.shaped.body, a.shaped.mesh, view, drawn))


def _regions(a: Assessment) -> tuple[SideView, tuple[tuple[Region, ...], tuple[Finding, ...]]]:
    def made() -> tuple[SideView, tuple[tuple[Region, ...], tuple[Finding, ...]]]:
        view = side_view_of(a.shaped.caster)
        return view, regions(a.recipe.masks, view, a.shaped.tools)

    return a.shaped.kept.of("mask regions", made)


def _written(draft: Draft, parts: Sequence[Part], findings: Sequence[Finding], bed: Bed) -> Outcome:
    """Each part as an STL, as it lies on the bed; one that no file can hold is left out and said."""
    checks, listed, cautions = list(findings), list[Listed](), list[str]()
    for part in parts:
        try:
            placed, off_bed = laid(part.mesh, bed, part.name)
            fit = moved_for_float32(part.mesh, placed, REPAIR_MM)
        except DesignError as error:
            checks.append(Finding("no-file", "warning", part.name, f"left out of the build: {error}"))
            continue
        checks += off_bed
        purpose = f"{part.purpose}. {part.use[:1].upper()}{part.use[1:]}"
        write_stl(fit, draft.add(_file(part.name, ".stl", draft), purpose), part.name)
        listed.append(as_printed(part.name, fit, part.material))
        cautions += part.cautions
    return Outcome(tuple(checks), listed=tuple(listed), cautions=tuple(dict.fromkeys(cautions)))


def _file(name: str, ending: str, draft: Draft) -> str:
    """A part's name as a file's: what no file may be called is left out, and one that is taken already is numbered."""
    plain = "-".join(re.findall(r"[\w.+()&-]+", name))[:LONGEST].strip("-.+()&") or "part"
    taken = {known.casefold() for known in draft.purposes}
    numbered = (f"{plain}{ending}" if number == 1 else f"{plain}-{number}{ending}" for number in count(1))
    return next(file for file in numbered if file.casefold() not in taken)
