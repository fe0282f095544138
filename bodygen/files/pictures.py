"""The pictures: three views with dimensions, and how the bait floats."""

from collections.abc import Sequence

from bodygen.assessment import Assessment, estimate_of, runs_at_speeds, runs_of
from bodygen.dive.estimate import Estimate
from bodygen.dive.what_if.curves import depth_curves
from bodygen.dive.what_if.effects import DiveEffect, effects
from bodygen.export.png import page_png
from bodygen.export.svg import page_svg
from bodygen.files.outcome import Outcome
from bodygen.flotation.righting import righting_curve
from bodygen.folder.publish import Draft
from bodygen.form.cuts.wired import bent_wires
from bodygen.plane.page import PaperPage
from bodygen.report.pictures.afloat import afloat_sheet
from bodygen.report.pictures.bars import ledger_bar, reserve_histogram
from bodygen.report.pictures.curves import righting_sheet
from bodygen.report.pictures.drawing import three_views
from bodygen.report.pictures.drawn.depths import depths_sheet
from bodygen.report.pictures.drawn.painted import painted_sheet
from bodygen.report.pictures.drawn.running import running_sheet
from bodygen.report.pictures.floating_view import floating_view_of
from bodygen.report.sheet import cautions
from bodygen.report.summary import wood_words


def write_pictures(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001  each picture names the recipe
    """The three-view drawing; the bait at its waterline, its weights as a bar, its righting curves."""
    if a.shaped.body is not None:
        _drawing(a, draft)

    f = a.flotation
    curves = [
        righting_curve(a.hull, f.attitude, a.total.centre_of_mass, f.water_g_cm3, about) for about in ("roll", "pitch")
    ]
    for name, purpose, sheet in (
        (
            "waterline",
            "the bait as it lies in the water, from the side, the nose and above, true to scale",
            waterline(a),
        ),
        (
            "ledger",
            "what goes on at each step, the total, and the water it pushes aside",
            ledger_bar(a.recipe, a.weighed.items, f.displaced_cm3 * f.water_g_cm3),
        ),
        ("righting", "how hard the water turns it back when held over", righting_sheet(a.recipe, curves)),
        *_reserve(a),
        *_running(a),
        *_depths(a),
        *_painted(a),
    ):
        draft.add(f"{name}.svg", purpose).write_text(page_svg(sheet), encoding="utf-8", newline="\n")
        draft.add(f"{name}.png", "the same as a picture").write_bytes(page_png(sheet))
    return Outcome()


def _painted(a: Assessment) -> list[tuple[str, str, PaperPage]]:
    """The bait in its colours; nothing where nobody says any."""
    if not a.recipe.paints:
        return []
    return [("painted", "the bait painted, layer by layer, with the names of its colours", painted_sheet(a))]


def waterline(a: Assessment) -> PaperPage:
    """The bait as it lies in the water."""
    return afloat_sheet(floating_view_of(a))


def waterline_svg(a: Assessment) -> str:
    """The same as an element for a page, so without the line in front that says that a file is XML."""
    return page_svg(waterline(a)).partition("?>\n")[2]


def _reserve(a: Assessment) -> list[tuple[str, str, PaperPage]]:
    """How the reserve may fall out; nothing where nothing is known to vary."""
    if a.spread is None or a.spread.reserve_sd_g == 0:
        return []
    goal = a.recipe.goal.reserve if a.recipe.goal else None
    purpose = "how the reserve may fall out over many builds, with the trim asked for"
    return [("reserve", purpose, reserve_histogram(a.recipe, a.spread.reserves, goal))]


def _running(a: Assessment) -> list[tuple[str, str, PaperPage]]:
    """The forces on the bait as it runs; nothing where nobody says how fast, or where the estimate has no ground."""
    speed = a.recipe.retrieve.speed_m_s if a.recipe.retrieve else None
    runs = a.dive.runs if a.dive else runs_of(a, speed)
    if speed is None or runs.inputs is None or runs.running is None or runs.refusals:
        return []
    purpose = "the forces on it as it is drawn, and how they balance"
    return [("running", purpose, running_sheet(a, runs.inputs, speed, runs.running))]


def _depths(a: Assessment) -> list[tuple[str, str, PaperPage]]:
    """How deep it runs on other line and at other speeds; nothing where no depth is told."""
    e, again = a.dive, a.again
    if e is None or e.depth is None or again is None:
        return []
    changes = effects(e, a.recipe, lambda changed: estimate_of(again(changed), e.asked, e.readings))
    purpose = "how deep it runs with more or less line and at other speeds, and which change moves it most"
    return [("depths", purpose, depths_page(a, e, changes))]


def depths_page(a: Assessment, e: Estimate, changes: Sequence[DiveEffect]) -> PaperPage:
    """How deep a bait runs under any conditions that were asked for, and what changes do to that."""
    return depths_sheet(a.recipe, e, depth_curves(e, runs_at_speeds(a)), changes)


def _drawing(a: Assessment, draft: Draft) -> None:
    """The three-view drawing on A4, to scale; further pages where one has no room for all bores."""
    assert a.shaped.body is not None  # noqa: S101  a mesh has no outline to draw
    titles = "; ".join(title for title, _ in cautions(a.recipe))
    sheets = three_views(
        a.recipe,
        a.shaped.body,
        a.shaped.tools,
        wood=wood_words(a),
        lip=a.shaped.plate,
        wires=bent_wires(a.recipe, a.shaped.tools, a.shaped.caster),
        cautions=[f"Take care, in full in index.html: {titles}."],
    )
    purpose = "three views with every bore and slot, to scale on A4: check the printed scale bar before use"
    for number, sheet in enumerate(sheets, 1):
        stem = "drawing" if number == 1 else f"drawing-{number}"
        draft.add(f"{stem}.svg", purpose).write_text(page_svg(sheet), encoding="utf-8", newline="\n")
        draft.add(f"{stem}.png", "the same as a picture").write_bytes(page_png(sheet))
