"""Programs for the router: the lip, both halves of the body carved from boards, and the templates to rout along."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil

from bodygen.errors import BodygenError, DesignError
from bodygen.export.folder import Draft
from bodygen.export.gcode import write_gcode
from bodygen.files.outcome import Listed, Outcome
from bodygen.files.paper import router_cards
from bodygen.files.solids import cut_mesh, halved
from bodygen.findings import Finding
from bodygen.form.facing import Side
from bodygen.mesh.skin import Mesh
from bodygen.report.assessment import Assessment
from bodygen.report.router_view import router_png
from bodygen.shop.board import board_for, lying
from bodygen.shop.card import Card
from bodygen.shop.carve_path import carve_job
from bodygen.shop.cutters import cutter_named
from bodygen.shop.plane import Loop, Shape
from bodygen.shop.profile_path import profile_job
from bodygen.shop.router_job import Job, Stock
from bodygen.tables import load

Work = tuple[str, Callable[[], tuple[Job, ...]]]
"""A name, and what makes its programs."""
MARGIN_MM = 15.0
"""Sheet left round a flat part for its clamps."""
TEMPLATE_MM, TEMPLATE_SHEET = 6.0, "plywood"
THROUGH_MM = 0.3
"""How far a cutter goes into the waste board below a flat part."""


def write_gcodes(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Each program as a file; what cannot be routed, or breaks a rule, is left out and said."""
    findings: list[Finding] = []
    jobs: list[Job] = []
    cut = cut_mesh(a)
    works = [
        *flat_works(a),
        ("half right", lambda: _half(a, cut, "right")),
        ("half left", lambda: _half(a, cut, "left")),
    ]
    for name, work in works:
        try:
            jobs += work()
        except BodygenError as error:
            findings.append(Finding("no-file", "warning", f"{name} program", f"left out of the build: {error}"))
    listed = []
    for job in jobs:
        stem = "-".join(job.name.replace(",", " ").replace(":", " ").lower().split())
        size = f"{job.stock.length:g} x {job.stock.width:g} x {job.stock.thickness:g} mm"
        purpose = f"router program: {job.name}, stock {size}, {job.cutter.name}. {job.use[:1].upper()}{job.use[1:]}"
        write_gcode(job, draft.add(f"{stem}.ngc", purpose), about)
        if stem == "lip" or stem.endswith("-finish"):
            draft.add(f"{stem}.png", "the same as a picture: every move from above").write_bytes(router_png(job))
        findings += job.findings
        listed.append(Listed(f"program {job.name}", size, job.cutter.name, f"{job.minutes:.0f} min and more"))
    cautions = dict.fromkeys(key for job in jobs for key in job.cautions)
    return Outcome(tuple(findings), listed=tuple(listed), cautions=tuple(cautions))


def flat_works(a: Assessment) -> list[Work]:
    """What is cut out of a sheet: the lip and the router templates, each by its name."""
    cards = router_cards(a)[0]
    return [("lip", lambda: _lip(a)), *((card.name, lambda card=card: _template(a, card)) for card in cards)]


def _lip(a: Assessment) -> tuple[Job, ...]:
    lip, plate = a.recipe.lip, a.shaped.plate
    if lip is None or plate is None:
        return ()
    material = load("making")["router_material"].get(lip.sheet)
    if material is None:
        msg = f"no feeds are known for {lip.sheet}: cut it by saw"
        raise DesignError(msg)
    cutter = a.recipe.shop.profile_cutter or "flat_2"
    return (_flat("lip", plate.outline, plate.holes, plate.thickness, material, cutter),)


def _template(a: Assessment, card: Card) -> tuple[Job, ...]:
    cutter = a.recipe.shop.profile_cutter or "flat_3"
    job = _flat(card.name, card.outline, card.holes, TEMPLATE_MM, TEMPLATE_SHEET, cutter)
    # corners where straps begin guide nothing; the template's own doubts tell of the outline's hollows
    notes = [replace(f, severity="note") if f.code == "profile-corner" else f for f in job.findings]
    return (replace(job, findings=tuple(notes)),)


def _flat(name: str, outline: Loop, holes: Sequence[Shape], thickness: float, material: str, cutter: str) -> Job:
    x0, y0, x1, y1 = outline.box
    length, width = (float(ceil(side + 2 * MARGIN_MM)) for side in (x1 - x0, y1 - y0))
    stock = Stock(length, width, thickness, material, through=THROUGH_MM)
    return profile_job(name, (outline, *holes), stock, cutter_named(cutter))


def _half(a: Assessment, cut: Mesh, side: Side) -> tuple[Job, ...]:
    shop = a.recipe.shop
    mesh = lying(halved(cut, side), side)
    rough, fine = cutter_named(shop.roughing or "flat_3"), cutter_named(shop.finishing or "ball_3")
    board = board_for(mesh, rough, fine, half=True)
    board = replace(board, thickness=shop.stock_thickness or board.thickness)
    return carve_job(f"half {side}", mesh, board, rough, fine, shop.scallop, half=True)
