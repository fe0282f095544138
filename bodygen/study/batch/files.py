"""The files of a run: the sheet, labels and planks on both papers, tables for programs, the lips nested on sheets."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import replace
from io import StringIO
from typing import Any

from bodygen.export.dxf import write_dxf
from bodygen.export.page_pdf import write_pages
from bodygen.export.svg import drawing_svg, page_svg
from bodygen.files.paper import PAPERS
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import Draft
from bodygen.log.listing import harmless
from bodygen.plane.page import Stroke
from bodygen.plane.shapes import Drawing
from bodygen.plane.tiles import paper_named
from bodygen.report.overview.entries import what_for
from bodygen.report.overview.page import FILE as INDEX
from bodygen.report.overview.page import Picture
from bodygen.report.properties import as_json
from bodygen.report.stamp import stamp
from bodygen.shop.lip.sheet import sheet_drawings
from bodygen.study.batch.overview import DATA, run_page
from bodygen.study.batch.paper.labels import label_pages
from bodygen.study.batch.paper.planks import part_name, plank_pages
from bodygen.study.batch.paper.sheet import sheet_pages
from bodygen.study.batch.planning.model import BatchRun, LotMade, Piece, Used
from bodygen.version import VERSION, code_of

FORMAT = 1
READINGS = "readings.csv"
"""What is filled in, and comes back."""
THUMBNAIL_LINE = 0.005
"""How thick a sheet's lines are in its small picture, by the sheet's width [-]: as it is cut none would be seen."""


def write_run(run: BatchRun, draft: Draft) -> None:
    """Write everything of a run."""
    about, pictures = stamp(run.recipe), dict[str, str]()
    for paper in map(paper_named, PAPERS):
        size = "letter" if paper.name.lower() == "letter" else "a4"
        for stem, pages in (("batch-sheet", sheet_pages), ("labels", label_pages), ("planks", plank_pages)):
            name, drawn = f"{stem}-{size}.pdf", pages(run, paper)
            file = draft.add(name, f"{what_for(name)}, on {paper.name}")
            write_pages(drawn, [], file, paper, f"{run.name}, {stem.replace('-', ' ')}", about)
            pictures[name] = page_svg(drawn[0])
    for number, (used, page) in enumerate(zip(run.used, _first_pages(run), strict=True), 1):
        _text(draft, f"plank-{number}.svg", page, f"the layout of board {used.name} as a picture")
    for name, rows in ((READINGS, readings_rows(run)), ("cut-list.csv", cut_rows(run))):
        draft.add(name, what_for(name)).write_bytes(_csv(rows))
    _text(draft, DATA, as_json(run_document(run)), what_for(DATA))
    for number, sheet in enumerate(_lips(run, about), 1):
        name = f"lip-sheet-{number}.dxf"
        write_dxf(sheet, draft.add(name, f"lips of all pieces, nested on sheet {number}"))
        pictures[name] = drawing_svg(sheet, line=THUMBNAIL_LINE * (sheet.box[2] - sheet.box[0]))

    def drawn_of(name: str) -> Picture | None:
        return ("svg+xml", pictures[name].encode()) if name in pictures else None

    purposes = {**draft.purposes, MANIFEST: what_for(MANIFEST)}
    _text(draft, INDEX, run_page(run, purposes, drawn_of), what_for(INDEX))


def _text(draft: Draft, name: str, text: str, purpose: str) -> None:
    draft.add(name, purpose).write_text(text, encoding="utf-8", newline="\n")


def _first_pages(run: BatchRun) -> Iterator[str]:
    """The page of each board that has its drawing."""
    for page in plank_pages(run, paper_named("a4")):
        if any(isinstance(mark, Stroke) and mark.part == "board" for mark in page.marks):
            yield page_svg(page)


def _lips(run: BatchRun, about: str) -> Sequence[Drawing]:
    """Sheets with a lip for each piece; none for a bait without."""
    recipe, plate = run.recipe, run.pieces[0].made.assessment.shaped.plate
    if recipe.lip is None or plate is None:
        return ()
    cutting = replace(recipe.lip.cutting, quantity=len(run.pieces))
    return sheet_drawings(plate, replace(recipe.lip, cutting=cutting), recipe.name, about)[0]


def _csv(rows: Sequence[dict[str, object]]) -> bytes:
    """RFC 4180, UTF-8; no text that a spreadsheet would run."""
    text = StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({key: harmless(value) for key, value in row.items()} for row in rows)
    return text.getvalue().encode()


def readings_rows(run: BatchRun) -> list[dict[str, object]]:
    """A row a piece: what is expected, and empty columns for what is read."""
    rows = []
    for piece in run.pieces:
        made = piece.made
        row: dict[str, object] = {
            "piece": piece.label,
            "lot": made.lot.name,
            "board": piece.board,
            "run": run.code,
            "code": code_of(run.recipe.sha256),
            "bore_expected_mm": round(made.drilled.depth, 4),
            "bore_mm": None,
            "metal_expected_g": round(made.drilled.bore.mass_g, 3),
            "metal_g": None,
        }
        for stage, grams in made.masses.items():
            row |= {f"{stage}_expected_g": round(grams, 3), f"{stage}_g": None}
        at = made.assessment.flotation.attitude
        row |= {"reserve_expected_g": round(made.drilled.reserve_at(made.density), 3), "reserve_g": None}
        row |= {"nose_expected_deg": round(at.pitch_deg, 2), "nose_deg": None, "state": None, "remark": None}
        rows.append(row)
    return rows


def cut_rows(run: BatchRun) -> list[dict[str, object]]:
    """A row a cut."""
    rows = []
    for used in run.used:
        mine = [piece for piece in run.pieces if piece.board == used.name]
        for number, cut in enumerate(used.share.sawn.cuts, 1):
            part = cut.part
            rows.append({
                "board": used.name,
                "cut": number,
                "way": cut.way,
                "part": part_name(part, mine),
                "set_to_mm": cut.set_to,
                "kerf_mm": run.batch.saw,
                **{f"part_{name}_mm": round(getattr(part, name), 4) for name in ("x0", "y0", "x1", "y1")},
            })
    return rows


def run_document(run: BatchRun) -> dict[str, Any]:
    """Everything of a run for programs; each key that carries a unit ends in it."""
    return {
        "format": FORMAT,
        "name": run.name,
        "run": run.code,
        "bodygen_version": VERSION,
        "recipe": run.recipe.name,
        "recipe_sha256": run.recipe.sha256,
        "blank_mm": run.block,
        "kerf_mm": run.batch.saw,
        "spares": run.batch.spare,
        "used_share": run.used_share,
        "used_volume_share": run.volume_share,
        "boards": [_board(used) for used in run.used],
        "spared": [{"name": one.name, "why": one.why} for one in run.spared],
        "pieces": [_piece(piece) for piece in run.pieces],
        "depths": [
            {
                "lot": lot.name,
                "reserve_g": lot.reserve,
                "lines": [
                    {
                        "blank_g": (line.least, line.most),
                        "bore_mm": line.drilled.depth,
                        "metal_g": line.drilled.bore.mass_g,
                        "reserve_g": line.worst,
                    }
                    for line in lines
                ],
            }
            for lot, lines in run.lines
        ],
        "findings": [f.document(run.recipe.units) for f in run.findings],
    }


def _board(used: Used) -> dict[str, Any]:
    layout = used.share.layout
    return {
        "name": used.name,
        "size_mm": layout.plank.size,
        "density_g_cm3": used.wood.density,
        "blank_cov": used.wood.cov,
        "basis": used.wood.basis,
        "gives": layout.pieces,
        "pieces": used.share.pieces,
        "layers": layout.layers,
        "through_mm": layout.through,
        "planed_off_mm": layout.over,
        "used_share": used.share.used,
        "offcuts_mm": [part.size for part in used.share.sawn.offcuts],
        "lots": [_lot(made) for made in used.made],
    }


def _lot(made: LotMade) -> dict[str, Any]:
    flotation = made.assessment.flotation
    return {
        "lot": made.lot.name,
        "bore_mm": made.drilled.depth,
        "metal_g": made.drilled.bore.mass_g,
        "reserve_g": flotation.reserve_g,
        "pitch_deg": flotation.attitude.pitch_deg,
        "state": flotation.state,
        "share_in_band": made.likely,
    }


def _piece(piece: Piece) -> dict[str, Any]:
    place = piece.place
    return {
        "label": piece.label,
        "lot": piece.made.lot.name,
        "board": piece.board,
        "layer": piece.layer + 1,
        "place_mm": (place.x0, place.y0, place.x1, place.y1),
        "density_g_cm3": piece.made.density,
        "bore_mm": piece.made.drilled.depth,
        "metal_g": piece.made.drilled.bore.mass_g,
        "reserve_g": piece.made.drilled.reserve_at(piece.made.density),
        "stages": [{"name": stage, "mass_g": grams} for stage, grams in piece.made.masses.items()],
    }
