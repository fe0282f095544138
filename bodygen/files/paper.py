"""Templates and gauges: paper at 1:1, cards to cut, and the same as prints."""

from collections.abc import Sequence
from dataclasses import replace

from bodygen.assessment import Assessment
from bodygen.export.dxf import write_dxf
from bodygen.export.pdf import write_pdf
from bodygen.export.stl import write_stl
from bodygen.export.svg import write_svg
from bodygen.files.outcome import Listed, Outcome, as_printed
from bodygen.findings import Finding
from bodygen.folder.publish import Draft
from bodygen.form.blank import Blank, blank_of, default_allowance
from bodygen.form.cuts.wired import bent_wires
from bodygen.mesh.float32 import repair_for_float32
from bodygen.plane.shapes import Loop
from bodygen.plane.tiles import paper_named
from bodygen.shop.cards.angle_block import angle_block
from bodygen.shop.cards.card import Card, printed, sheets
from bodygen.shop.cards.corner_gauges import edge_gauge, eye_flanks, eye_gauge, eye_places
from bodygen.shop.cards.dip_carrier import carrier, default_carrier
from bodygen.shop.cards.outline_cards import card_templates
from bodygen.shop.cards.paper_template import default_template, paper_template
from bodygen.shop.cards.router_template import default_router, router_template
from bodygen.shop.cards.section_gauges import default_gauge, default_rack, rack, section_gauges, stations_of
from bodygen.shop.jigs.print_bed import Bed, default_bed, laid
from bodygen.shop.skin.silhouette import plan_view, side_view
from bodygen.shop.wire.block import bending_block
from bodygen.shop.wire.template import wire_template
from bodygen.tables import load

REPAIR_MM = 0.01
LABEL_MM = 2.0
PAPERS = ("a4", "letter")


def blank_for(a: Assessment) -> Blank:
    """The squared blank that templates and drill block share."""
    caster, recipe = a.shaped.caster, a.recipe
    return blank_of(caster.low, caster.high, default_allowance(recipe.units), recipe.wood.blank_size)


def write_templates(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Profile and plan on the squared blank: to glue on, to draw round, to rout along."""
    recipe, shaped = a.recipe, a.shaped
    views = _views(a)
    blank = blank_for(a)
    stations = stations_of(shaped.sizes[0], recipe.units)
    paper = paper_template(recipe, views, blank, shaped.tools, stations, default_template(), about)
    for name in PAPERS:
        file = draft.add(
            f"template-{name}.pdf", f"profile and plan at 1:1 on {paper_named(name).name}: glue it on the squared blank"
        )
        write_pdf([paper], file, paper_named(name), recipe.name, about)
    write_svg(paper, draft.add("template.svg", "the same as a picture, 1:1"))
    cards = card_templates(views, blank, shaped.tools, stations, LABEL_MM)
    listed = _write_sheets(
        draft, recipe.name, "template-cards", "outlines to draw round, with holes for the awl", cards, about
    )
    routed, of_routed = router_cards(a)
    listed += _write_sheets(draft, recipe.name, "router-templates", "guides for the router", routed, about)
    return Outcome((*blank.findings, *of_routed), listed=tuple(listed))


def router_cards(a: Assessment) -> tuple[list[Card], list[Finding]]:
    """Router templates of side and plan for the recipe's bush and cutter, and their findings."""
    shop = a.recipe.shop
    return a.shaped.kept.of(("router cards", shop.bush, shop.cutter), lambda: _router_cards(a))


def _router_cards(a: Assessment) -> tuple[list[Card], list[Finding]]:
    shop, sizes = a.recipe.shop, default_router()
    cutter = shop.cutter or min(sizes.cutter, shop.bush or sizes.cutter)
    sizes = replace(sizes, bush=shop.bush or cutter, cutter=cutter)
    side, plan = _views(a)
    found = [router_template(side, "side", sizes), router_template(plan, "plan", sizes)]
    return [card for card, _ in found if card], [doubt for _, checks in found for doubt in checks]


def write_gauges(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Section gauges with their rack, and the small gauges: to cut, to glue on card, to print."""
    recipe = a.recipe
    sections, block, small, findings = gauges_of(a)
    rail = rack(sections, default_rack(), default_gauge())
    listed = _write_sheets(
        draft, recipe.name, "section-gauges", "cards that say stop sanding, and their rack", [*sections, *rail], about
    )
    listed += _write_sheets(draft, recipe.name, "small-gauges", "edge, lip angle and eyes", small, about)
    for name in PAPERS:
        pages = sheets([*sections, *small], recipe.name, about)
        file = draft.add(
            f"gauges-{name}.pdf", f"the gauges at 1:1 on {paper_named(name).name}: glue them on card and cut"
        )
        write_pdf(pages, file, paper_named(name), recipe.name, about)
    usual, bed, off_bed = load("gauges"), default_bed(recipe.shop.printer_bed), list[Finding]()
    for card in (*sections, *rail, *small):
        thick = usual["angle_block"]["thickness_mm"] if card is block else usual["section"]["thickness_mm"]
        off_bed += _write_print(draft, card, thick, bed)
    return Outcome((*findings, *off_bed), listed=tuple(listed))


Gauges = tuple[list[Card], Card | None, list[Card], tuple[Finding, ...]]


def gauges_of(a: Assessment) -> Gauges:
    """Section gauges, the lip's angle block, all small gauges with it, and their findings."""
    return a.shaped.kept.of("gauges", lambda: _gauges(a))


def _gauges(a: Assessment) -> Gauges:
    recipe, shaped = a.recipe, a.shaped
    stations = stations_of(shaped.sizes[0], recipe.units)
    sections, findings = section_gauges(shaped.body, shaped.mesh, stations, default_gauge(), recipe.units)
    block, of_block = angle_block(recipe.lip) if recipe.lip else (None, ())
    eyes = eye_places(recipe, shaped.tools)
    eye, of_eye = eye_gauge(_views(a)[0], eyes, eye_flanks(recipe, shaped.tools, eyes))
    small = [card for card in (edge_gauge(recipe), block, eye) if card]
    return [*sections], block, small, (*findings, *of_block, *of_eye)


def write_carrier(a: Assessment, draft: Draft, about: str) -> Outcome:
    """The frame that holds the bait by its hanger eyes while it is dipped and dries."""
    cards, findings = carrier(a.shaped.mesh, a.shaped.tools, a.recipe.fittings, a.shaped.plate)
    listed = _write_sheets(
        draft, a.recipe.name, "carrier", "holds the bait by its hanger eyes while coats dry", cards, about
    )
    bed, off_bed = default_bed(a.recipe.shop.printer_bed), list[Finding]()
    for card in cards:
        off_bed += _write_print(draft, card, default_carrier().thickness, bed)
    return Outcome((*findings, *off_bed), listed=tuple(listed))


def write_wire(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Template and bending block of every wire that has a form; nothing without one."""
    recipe = a.recipe
    wires = bent_wires(recipe, a.shaped.tools, a.shaped.caster)
    if not wires:
        return Outcome()
    drawing = wire_template(recipe.name, recipe.units, wires, about)
    for name in PAPERS:
        file = draft.add(
            f"wire-{name}.pdf", f"bent wires at 1:1 on {name.upper()}, marks and bends: check the scale bars"
        )
        write_pdf([drawing], file, paper_named(name), f"{recipe.name} wire", about)
    write_svg(drawing, draft.add("wire.svg", "the same as a picture, 1:1"))
    part = bending_block(wires)
    placed, off_bed = laid(part.mesh, default_bed(recipe.shop.printer_bed), part.name)
    mesh = repair_for_float32(placed, REPAIR_MM)
    write_stl(mesh, draft.add("wire-block.stl", f"{part.purpose}. {part.use[:1].upper()}{part.use[1:]}"), part.name)
    return Outcome(off_bed, listed=(as_printed(part.name, mesh, part.material),), cautions=part.cautions)


def _views(a: Assessment) -> tuple[Loop, Loop]:
    shaped = a.shaped
    return shaped.kept.of("views", lambda: (side_view(shaped.body, shaped.mesh), plan_view(shaped.body, shaped.mesh)))


def _write_sheets(draft: Draft, bait: str, name: str, purpose: str, cards: Sequence[Card], about: str) -> list[Listed]:
    """Cards on as few sheets as they need, DXF and SVG; a line of the parts list for each set."""
    if not cards:
        return []
    drawings = sheets(list(cards), f"{bait} {name}", about)
    for number, drawing in enumerate(drawings, start=1):
        stem = name if len(drawings) == 1 else f"{name}-{number}"
        write_dxf(drawing, draft.add(f"{stem}.dxf", purpose))
        write_svg(drawing, draft.add(f"{stem}.svg", f"{purpose}; as a picture, 1:1"))
    length = sum(card.outline.length + sum(hole.length for hole in card.holes) for card in cards)
    return [Listed(name.replace("-", " "), "3 mm ply, hardboard, acrylic or card", f"{length / 1000:.2f} m of cut", "")]


def _write_print(draft: Draft, card: Card, thickness: float, bed: Bed) -> tuple[Finding, ...]:
    part = printed(card, thickness)
    placed, off_bed = laid(part.mesh, bed, part.name)
    write_stl(
        repair_for_float32(placed, REPAIR_MM), draft.add(f"{part.name.replace(' ', '-')}.stl", part.purpose), part.name
    )
    return off_bed
