"""The card for the bench: pages to read, then everything that is cut on paper, true to size."""

from dataclasses import replace
from functools import partial

from bodygen.assessment import Assessment
from bodygen.export.page_pdf import write_pages
from bodygen.files.jigs import films_of
from bodygen.files.outcome import Outcome
from bodygen.files.paper import PAPERS, gauges_of
from bodygen.folder.publish import Draft
from bodygen.form.cuts.wired import bent_wires
from bodygen.plane.shapes import Drawing
from bodygen.plane.tiles import paper_named
from bodygen.report.card.inked import inked
from bodygen.report.card.lettering import SMALLEST, cut_short
from bodygen.report.card.pages import card_pages
from bodygen.report.card.sheets import packed
from bodygen.report.stamp import stamp
from bodygen.shop.cards.card import sheets
from bodygen.shop.lip.sheet import nominal_drawing
from bodygen.shop.wire.template import wire_template
from bodygen.units import length_text

PURPOSE = (
    "the card for the wall and the bench, on {}: the bait at its waterline with every bore, what the scale should read,"
    " the order of work with its cautions, and all that is cut on paper at 1:1"
)
CARD = "bench-card-{}.pdf"
NAME_MM = 60.0
"""Of the bait's name so much stands at the foot of a sheet."""
WIRE_LETTERS = 92
"""So many letters of 9 pt are no wider than a sheet of A4 between its margins."""


def write_card(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001  its code is the recipe's own
    """Write the card on both papers."""
    made = stamp(a.recipe)
    to_cut = cut_at_full_size(a)
    for name in PAPERS:
        paper = paper_named(name)
        file = draft.add(CARD.format(name), PURPOSE.format(paper.name))
        name_said = cut_short(a.recipe.name, NAME_MM, SMALLEST)
        drawings = packed(to_cut, paper, f"{name_said}, to cut at 1:1", made)
        write_pages(card_pages(a, paper), drawings, file, paper, f"{a.recipe.name}, bench card", made)
    return Outcome()


def cut_at_full_size(a: Assessment) -> list[tuple[str, Drawing]]:
    """Lip, mask films, gauges and wires, each with what it is: the drawings of their own kinds, inked for grey."""
    recipe, plate = a.recipe, a.shaped.plate
    found: list[tuple[str, Drawing]] = []
    if recipe.lip is not None and plate is not None:
        words = partial(length_text, units=recipe.units)
        found.append(("lip", nominal_drawing(plate, recipe.lip, recipe.name, words, brief=True)))
    if recipe.masks:
        found += [(f"film of {mask}", replace(film, about="")) for mask, film in films_of(a)[0].items()]
    sections, _, small, _ = gauges_of(a)
    found += [(card.name, sheets([card], card.name)[0]) for card in (*sections, *small)]
    for wire in bent_wires(recipe, a.shaped.tools, a.shaped.caster):
        found.append(("wire", wire_template(recipe.name, recipe.units, [wire], letters=WIRE_LETTERS)))
    return [(caption, inked(drawing, caption)) for caption, drawing in found]
