"""Programs for the router: the lip cut from its sheet, and one half of the body carved from a board."""

from bodygen.errors import BodygenError, DesignError
from bodygen.export.folder import Draft
from bodygen.export.gcode import write_gcode
from bodygen.files.outcome import Listed, Outcome
from bodygen.files.solids import cut_mesh, halved
from bodygen.findings import Finding
from bodygen.report.assessment import Assessment
from bodygen.shop.board import board_for, lying
from bodygen.shop.carve_path import carve_job
from bodygen.shop.cutters import cutter_named
from bodygen.shop.profile_path import profile_job
from bodygen.shop.router_job import Job, Stock
from bodygen.tables import load

MARGIN_MM = 15.0
"""Sheet left round a lip for its clamps."""


def write_gcodes(a: Assessment, draft: Draft, about: str) -> Outcome:
    """Each program as a file; what cannot be routed, or breaks a rule, is left out and said."""
    findings: list[Finding] = []
    jobs: list[Job] = []
    for name, make in (("lip", _lip), ("half right", _half_right)):
        try:
            jobs += make(a)
        except (DesignError, BodygenError) as error:
            findings.append(Finding("no-file", "warning", f"{name} program", f"left out of the build: {error}"))
    listed = []
    for job in jobs:
        stem = "-".join(job.name.replace(",", " ").replace(":", " ").lower().split())
        size = f"{job.stock.length:g} x {job.stock.width:g} x {job.stock.thickness:g} mm"
        purpose = f"router program: {job.name}, stock {size}, {job.cutter.name}"
        write_gcode(job, draft.add(f"{stem}.ngc", purpose), about)
        findings += job.findings
        listed.append(Listed(f"program {job.name}", size, job.cutter.name, f"{job.minutes:.0f} min and more"))
    return Outcome(tuple(findings), listed=tuple(listed))


def _lip(a: Assessment) -> tuple[Job, ...]:
    lip, plate = a.recipe.lip, a.shaped.plate
    if lip is None or plate is None:
        return ()
    x0, y0, x1, y1 = plate.outline.box
    material = load("making")["router_material"].get(lip.sheet)
    if material is None:
        msg = f"no feeds are known for {lip.sheet}: cut it by saw"
        raise DesignError(msg)
    stock = Stock(x1 - x0 + 2 * MARGIN_MM, y1 - y0 + 2 * MARGIN_MM, plate.thickness, material, through=0.3)
    return (profile_job("lip", [plate.outline, *plate.holes], stock, cutter_named("flat_2")),)


def _half_right(a: Assessment) -> tuple[Job, ...]:
    mesh = lying(halved(cut_mesh(a), "right"))
    rough, fine = cutter_named("flat_3"), cutter_named("ball_3")
    return carve_job("half right", mesh, board_for(mesh, rough, fine, half=True), rough, fine, half=True)
