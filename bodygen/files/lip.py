"""The lip's files: to check, to cut singly, and nested on its sheet."""

from collections.abc import Callable
from functools import partial

from bodygen.assessment import Assessment
from bodygen.export.dxf import write_dxf
from bodygen.export.svg import write_svg
from bodygen.files.outcome import Listed, Outcome
from bodygen.findings import Finding
from bodygen.folder.publish import Draft
from bodygen.recipe.model import Lip
from bodygen.shop.lip.sheet import cutting_drawing, lip_layout, nominal_drawing, sheet_drawings
from bodygen.tables import load
from bodygen.units import length_text

FLAT_SAG_MM = 0.01


def write_lip(a: Assessment, draft: Draft, about: str, say: Callable[[str], None] = lambda _: None) -> Outcome:
    """The lip to look at, to cut singly, and nested on its sheet; nothing for a lipless bait.

    ``say`` is told how far the laying of many lips is.
    """
    recipe, plate, lip = a.recipe, a.shaped.plate, a.recipe.lip
    if lip is None or plate is None:
        return Outcome()
    words = partial(length_text, units=recipe.units)
    nominal = nominal_drawing(plate, lip, recipe.name, words, about)
    write_dxf(nominal, draft.add("lip.dxf", "the lip at its true size with dimensions: check it, or saw along it"))
    write_svg(nominal, draft.add("lip.svg", "the same as a picture, 1:1"))
    cut = cutting_drawing(plate, lip, recipe.name, about)
    write_dxf(cut, draft.add("lip-cut.dxf", "one lip, the path of the cut: kerf or cutter allowed for once"))
    flat = draft.add("lip-cut-flat.dxf", "the same in short straight lines, for programs that ignore arcs")
    write_dxf(cut, flat, FLAT_SAG_MM)
    lip_layout(plate, lip, say)  # kept, so that the drawings find it laid
    sheets, nest = sheet_drawings(plate, lip, recipe.name, about)
    for number, sheet in enumerate(sheets, start=1):
        write_dxf(sheet, draft.add(f"lip-sheet-{number}.dxf", f"lips nested on sheet {number}, ready to cut"))
    length = plate.outline.length + sum(hole.length for hole in plate.holes)
    count = sum(len(sheet.placements) for sheet in nest.sheets)
    share = f"{100 * nest.yield_share:.0f} % of the sheet they lie on, gaps of {lip.cutting.gap:g} mm counted"
    share += f" ({100 * nest.plain_share:.0f} % in rows of boxes)"
    stuff = f"{load('sheet')['sheet'][lip.sheet]['name']}, {lip.thickness:.2f} mm"
    return Outcome(
        _offcut_checks(lip, count),
        listed=(
            Listed(
                "lip",
                stuff,
                f"{length * count / 1000:.2f} m of cut for {count}; {share}",
                "",
            ),
        ),
    )


def _offcut_checks(lip: Lip, laid: int) -> tuple[Finding, ...]:
    wanted = lip.cutting.quantity
    if laid == wanted:
        return ()
    remedy = f"{laid} of {wanted} are laid: cut the others from another piece"
    return (Finding("lip-offcut-full", "warning", "lip.cutting.offcut", remedy, float(wanted), float(laid), ""),)
