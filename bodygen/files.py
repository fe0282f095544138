"""Which files a build holds: each solid, the lip, each with what it is for.

Knows names and purposes. Shapes come from shop/, bytes from export/; the two kernels are held against each other here,
because only a build has both.
"""

from functools import partial
from typing import TYPE_CHECKING

from bodygen.errors import BodygenError, DesignError
from bodygen.export.dxf import write_dxf
from bodygen.export.folder import Draft
from bodygen.export.stl import write_stl
from bodygen.export.svg import write_svg
from bodygen.export.threemf import write_threemf
from bodygen.findings import Finding
from bodygen.form.integrals import VolumeIntegrals
from bodygen.mesh.cut import cut_with, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.skin import Mesh, body_mesh
from bodygen.mesh.split import half, with_stubs
from bodygen.mesh.tidy import tidy
from bodygen.recipe.model import Recipe
from bodygen.report.assessment import Assessment
from bodygen.report.properties import difference_percent
from bodygen.report.sheet import cautions
from bodygen.report.summary import wood_words
from bodygen.shop.halves import Halves, halves_of, usual_dowel
from bodygen.shop.lip import LipPlate
from bodygen.shop.lip_sheet import cutting_drawing, nominal_drawing, sheet_drawings
from bodygen.shop.master import Master, master_of, usual_stubs
from bodygen.units import length_text
from bodygen.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Callable

    from OCP.TopoDS import TopoDS_Shape

FILE_MM = 0.01
"""How far facets in files may leave the surface: a fifth of what a printer can show."""
TIDY_MM = 0.01
FLAT_SAG_MM = 0.01
KERNELS_AGREE_PERCENT = 0.05
"""Further apart than this, one of the two answers is wrong (contract, section 4)."""


def write_solids(a: Assessment, draft: Draft) -> tuple[VolumeIntegrals | None, tuple[Finding, ...]]:
    """Body, cut body, halves and master as STL, 3MF and STEP; the kernel's volume of the cut body, and new doubts.

    A body that is a mesh has no STEP: there is no surface behind it, only facets.

    Raises
    ------
    DesignError
        The CAD kernel finds no single valid solid, or another volume than ours.
    """
    skin = a.shaped.mesh if a.shaped.body is None else body_mesh(a.shaped.body, FILE_MM)
    cut = to_mesh(cut_with(to_manifold(skin), [to_manifold(tool_mesh(tool)) for tool in a.shaped.tools]))
    halves, master = halves_of(cut, usual_dowel()), master_of(skin, usual_stubs())
    findings = [*halves.findings, *master.findings]
    meshes: list[tuple[str, str, Callable[[], Mesh]]] = [
        ("body", "the shaped body without any hole: a carving guide, a master to print", lambda: skin),
        ("cut-body", "the body with every bore and slot", lambda: cut),
    ]
    for side in ("right", "left"):
        purpose = f"the {side} half, parted at the mid-plane, with key pin holes: print or mill it flat side down"
        meshes.append((f"half-{side}", purpose, partial(half, cut, side, halves.pins)))
    if master.stubs:
        meshes.append((
            "master",
            "the body between end stubs with centre holes, for lathe or copy carver",
            partial(with_stubs, skin, master.stubs, master.centre_holes),
        ))
    written = set()
    for name, purpose, mesh in meshes:
        try:
            fit = tidy(mesh(), TIDY_MM)
        except DesignError as error:
            if name in ("body", "cut-body"):
                raise
            findings.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        written.add(name)
        title = f"{a.recipe.name} {name}"
        write_stl(fit, draft.add(f"{name}.stl", purpose), title)
        write_threemf([(title, fit)], draft.add(f"{name}.3mf", purpose), title)
    cad = _write_steps(a, draft, halves, master, written, findings) if a.shaped.body is not None else None
    return cad, tuple(findings)


def _write_steps(
    a: Assessment, draft: Draft, halves: Halves, master: Master, written: set[str], findings: list[Finding]
) -> VolumeIntegrals:
    _load_kernel()
    from bodygen.export.step import write_step  # noqa: PLC0415  the CAD kernel takes a second to load
    from bodygen.solid import skin as solid_skin  # noqa: PLC0415
    from bodygen.solid import split as solid_split  # noqa: PLC0415
    from bodygen.solid.cut import cut_solid  # noqa: PLC0415
    from bodygen.solid.measure import solid_volume  # noqa: PLC0415

    assert a.shaped.body is not None  # noqa: S101  asked by the caller
    body = solid_skin.body_solid(a.shaped.body)
    cut = solid_skin.sound(cut_solid(body, a.shaped.tools))
    volume = solid_volume(cut)
    off = difference_percent(volume, a.measured.wood_left)
    if abs(off) > KERNELS_AGREE_PERCENT:
        msg = f"the CAD kernel finds {volume.volume:.1f} mm3 of wood left, {off:+.3f} % from ours: no file on that"
        raise DesignError(msg)
    solids: list[tuple[str, str, Callable[[], TopoDS_Shape]]] = [
        ("body", "the shaped body as a CAD solid", lambda: body),
        ("cut-body", "the body with every bore and slot as a CAD solid", lambda: cut),
        (
            "half-right",
            "the right half with key pin holes as a CAD solid",
            lambda: solid_split.half(cut, "right", halves.pins),
        ),
        (
            "half-left",
            "the left half with key pin holes as a CAD solid",
            lambda: solid_split.half(cut, "left", halves.pins),
        ),
        (
            "master",
            "the master with stubs as a CAD solid",
            lambda: solid_split.with_stubs(body, master.stubs, master.centre_holes),
        ),
    ]
    for name, purpose, solid in solids:
        if name not in written:
            continue
        try:
            shape = solid()
        except DesignError as error:
            if name in ("body", "cut-body"):
                raise
            findings.append(Finding("no-file", "warning", f"{name}.step", f"left out of the build: {error}"))
            continue
        write_step(shape, draft.add(f"{name}.step", purpose), f"{a.recipe.name} {name}")
    return volume


def _load_kernel() -> None:
    """Load the CAD kernel now, so that a machine that cannot is told what it lacks.

    Raises
    ------
    BodygenError
        A system library is missing: the kernel's wheel does not bring the screen libraries it is linked to.
    """
    try:
        import OCP.gp  # noqa: F401  loaded for its effect
    except ImportError as error:
        msg = f"the CAD kernel does not load ({error}); on Debian and its kin: apt-get install libgl1 libx11-6"
        raise BodygenError(msg) from error


def write_lip(recipe: Recipe, plate: LipPlate, draft: Draft) -> None:
    """The lip to look at, to cut singly, and nested on its sheet."""
    lip = recipe.lip
    assert lip is not None  # noqa: S101  a plate comes from a lip
    about = f"bodygen {VERSION}, recipe {recipe.sha256[:8]}"
    words = partial(length_text, units=recipe.units)
    nominal = nominal_drawing(plate, lip, recipe.name, words, about)
    write_dxf(nominal, draft.add("lip.dxf", "the lip at its true size with dimensions: check it, or saw along it"))
    write_svg(nominal, draft.add("lip.svg", "the same as a picture, 1:1"))
    cut = cutting_drawing(plate, lip, recipe.name, about)
    write_dxf(cut, draft.add("lip-cut.dxf", "one lip, the path of the cut: kerf or cutter allowed for once"))
    flat = draft.add("lip-cut-flat.dxf", "the same in short straight lines, for programs that ignore arcs")
    write_dxf(cut, flat, FLAT_SAG_MM)
    sheets, _ = sheet_drawings(plate, lip, recipe.name, about)
    for number, sheet in enumerate(sheets, start=1):
        write_dxf(sheet, draft.add(f"lip-sheet-{number}.dxf", f"lips nested on sheet {number}, ready to cut"))


def write_drawing(a: Assessment, draft: Draft) -> None:
    """The three-view drawing on one A4 page, to scale."""
    from bodygen.report.drawing import three_view  # noqa: PLC0415  only a build draws
    from bodygen.report.paper import svg  # noqa: PLC0415
    from bodygen.report.png import png  # noqa: PLC0415

    assert a.shaped.body is not None  # noqa: S101  a mesh has no outline to draw
    titles = "; ".join(title for title, _ in cautions(a.recipe))
    sheet = three_view(
        a.recipe,
        a.shaped.body,
        a.shaped.tools,
        wood=wood_words(a),
        lip=a.shaped.plate,
        cautions=[f"Take care, in full on the build sheet: {titles}."],
    )
    purpose = "three views with every bore and slot, to scale on A4: check the printed scale bar before use"
    draft.add("drawing.svg", purpose).write_text(svg(sheet), encoding="utf-8", newline="\n")
    draft.add("drawing.png", "the same as a picture").write_bytes(png(sheet))


def write_pictures(a: Assessment, draft: Draft) -> None:
    """The bait at its waterline, its weights as a bar, its righting curves."""
    from bodygen.flotation.righting import righting_curve  # noqa: PLC0415  only a build draws
    from bodygen.report.afloat import afloat_sheet  # noqa: PLC0415
    from bodygen.report.bars import ledger_bar  # noqa: PLC0415
    from bodygen.report.curves import righting_sheet  # noqa: PLC0415
    from bodygen.report.paper import svg  # noqa: PLC0415
    from bodygen.report.png import png  # noqa: PLC0415
    from bodygen.report.scene import scene_of  # noqa: PLC0415

    f = a.flotation
    curves = [
        righting_curve(a.hull, f.attitude, a.total.centre_of_mass, f.water_g_cm3, about) for about in ("roll", "pitch")
    ]
    for name, purpose, sheet in (
        (
            "waterline",
            "the bait as it lies in the water, from the side, the nose and above, true to scale",
            afloat_sheet(scene_of(a)),
        ),
        (
            "ledger",
            "what goes on at each step, the total, and the water it pushes aside",
            ledger_bar(a.recipe, a.weighed.items, f.displaced_cm3 * f.water_g_cm3),
        ),
        ("righting", "how hard the water turns it back when held over", righting_sheet(a.recipe, curves)),
    ):
        draft.add(f"{name}.svg", purpose).write_text(svg(sheet), encoding="utf-8", newline="\n")
        draft.add(f"{name}.png", "the same as a picture").write_bytes(png(sheet))
