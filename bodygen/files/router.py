"""Programs for the router: the lip, both halves of the body carved from boards, and the templates to rout along."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil

from bodygen.assessment import Assessment
from bodygen.errors import BodygenError
from bodygen.export.gcode import write_gcode
from bodygen.export.png import page_png
from bodygen.files.outcome import Listed, Outcome
from bodygen.files.paper import router_cards
from bodygen.files.solids import halved
from bodygen.findings import Finding
from bodygen.folder.publish import Draft
from bodygen.form.facing import Side
from bodygen.mesh.skin import Mesh
from bodygen.report.pictures.router_view import DOTS_TO_AN_INCH, router_page
from bodygen.shop.cards.card import Card
from bodygen.shop.mill.carve import carve_job
from bodygen.shop.mill.carving_setup import board_for, lying
from bodygen.shop.mill.cutters import cutter_named, machine_of
from bodygen.shop.mill.job import Job, Stock
from bodygen.shop.mill.lips import lip_cutter, lip_jobs
from bodygen.shop.mill.profile import profile_job

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
    works = [
        *flat_works(a),
        ("half right", lambda: _half(a, "right")),
        ("half left", lambda: _half(a, "left", _twin(a, jobs))),
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
        if job.pictured:
            draft.add(f"{stem}.png", "the same as a picture: every move from above").write_bytes(
                page_png(router_page(job), DOTS_TO_AN_INCH)
            )
        findings += job.findings
        listed.append(Listed(f"program {job.name}", size, job.cutter.name, f"{job.minutes:.0f} min and more"))
    cautions = dict.fromkeys(key for job in jobs for key in job.cautions)
    return Outcome(tuple(findings), listed=tuple(listed), cautions=tuple(cautions))


def flat_works(a: Assessment) -> list[Work]:
    """What is cut out of a sheet: the lips and the router templates, each by its name."""
    cards = router_cards(a)[0]
    return [("lip", lambda: _lips(a)), *((card.name, lambda card=card: _template(a, card)) for card in cards)]


def _lips(a: Assessment) -> tuple[Job, ...]:
    lip, plate, shop = a.recipe.lip, a.shaped.plate, a.recipe.shop
    if lip is None or plate is None:
        return ()
    return lip_jobs(plate, lip, lip_cutter(lip.cutting, shop.profile_cutter), machine_of(shop), THROUGH_MM)


def _template(a: Assessment, card: Card) -> tuple[Job, ...]:
    cutter, machine = cutter_named(a.recipe.shop.profile_cutter or "flat_3"), machine_of(a.recipe.shop)
    x0, y0, x1, y1 = card.outline.box
    length, width = (float(ceil(side + 2 * MARGIN_MM)) for side in (x1 - x0, y1 - y0))
    stock = Stock(length, width, TEMPLATE_MM, TEMPLATE_SHEET, THROUGH_MM, (), machine.clamp_height)
    job = profile_job(card.name, (card.outline, *card.holes), stock, cutter, machine=machine)
    # corners where straps begin guide nothing; the template's own findings tell of the outline's hollows
    notes = [replace(f, severity="note") if f.code == "profile-corner" else f for f in job.findings]
    return (replace(job, findings=tuple(notes)),)


def _twin(a: Assessment, jobs: Sequence[Job]) -> tuple[Mesh, Job] | None:
    """The right half as it lies, and its finishing program, if it could be made."""
    finishing = [job for job in jobs if job.pictured and job.name.startswith("half right")]
    return (lying(halved(a, "right"), "right"), finishing[0]) if finishing else None


def _half(a: Assessment, side: Side, twin: tuple[Mesh, Job] | None = None) -> tuple[Job, ...]:
    shop = a.recipe.shop
    mesh, machine = lying(halved(a, side), side), machine_of(shop)
    rough, fine = cutter_named(shop.roughing or "flat_3"), cutter_named(shop.finishing or "ball_3")
    board = board_for(mesh, rough, fine, half=True)
    board = replace(board, thickness=shop.stock_thickness or board.thickness, clamp_height=machine.clamp_height)
    return carve_job(f"half {side}", mesh, board, rough, fine, shop.scallop, half=True, machine=machine, twin=twin)
