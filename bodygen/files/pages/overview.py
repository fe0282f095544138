"""The page of a whole folder, from what every kind wrote."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

from bodygen.assessment import Assessment
from bodygen.export.svg import page_svg
from bodygen.files.kinds import KINDS
from bodygen.files.outcome import Outcome
from bodygen.files.pages.card import CARD
from bodygen.files.paper import PAPERS
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import Draft
from bodygen.plane.tiles import paper_named
from bodygen.report.card.pages import card_pages
from bodygen.report.overview.entries import sections_of, what_for
from bodygen.report.overview.page import Picture, overview_page
from bodygen.report.overview.thumbnail import stl_picture


def overview(a: Assessment, draft: Draft, about: dict[str, Any], outcome: Outcome) -> str:
    """Everything in a draft with its picture; ``about`` is what the manifest says of the kinds."""
    entries = about["kinds"]
    first = sorted(KINDS, key=lambda kind: kind.name != "card")  # the card is for the wall
    kinds = [
        (kind.name, kind.about, list(entries[kind.name]["files"]), entries[kind.name]["cautions"])
        for kind in first
        if kind.name in entries
    ]

    def drawn(name: str) -> Picture | None:
        path = Path(draft.folder / name)
        if path.suffix == ".stl":
            return "png", stl_picture(path)
        paper = next((paper for paper in PAPERS if name == CARD.format(paper)), None)
        return ("svg+xml", page_svg(card_pages(a, paper_named(paper))[0]).encode()) if paper else None

    purposes = {**draft.purposes, MANIFEST: what_for(MANIFEST)}
    return overview_page(
        a, sections_of(a.recipe, purposes, kinds), drawn, [asdict(part) for part in outcome.listed], outcome.cautions
    )
