"""The solids' files: body, cut body, halves and master as STL, 3MF and STEP.

Body and cut body keep the body's axes in every format: they describe it, and are read by other programs. Halves and
masters are there to be made, so their STL and 3MF lie as they are printed: halves flat side down, a master on its
flank. STEP, the drawing programs' format, keeps the body's axes.

The two kernels are held against each other here, because only a build has both.
"""

from collections.abc import Mapping
from functools import cache, partial
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from bodygen.assessment import Assessment
from bodygen.errors import BodygenError, DesignError
from bodygen.export.stl import write_stl
from bodygen.export.threemf import write_threemf
from bodygen.files.outcome import Outcome, as_printed
from bodygen.findings import Finding
from bodygen.folder.publish import Draft
from bodygen.form.facing import Side
from bodygen.form.integrals import VolumeIntegrals
from bodygen.mesh.cut import cut_with, known_manifold, to_manifold, to_mesh, tool_mesh
from bodygen.mesh.float32 import repair_for_float32
from bodygen.mesh.skin import Mesh, body_mesh
from bodygen.mesh.split import half, with_stubs
from bodygen.report.properties import difference_percent
from bodygen.shop.jigs.halves import Halves, default_dowel, halves_of
from bodygen.shop.jigs.master import Master, default_stubs, master_of
from bodygen.shop.jigs.print_bed import default_bed, laid
from bodygen.shop.mill.carving_setup import lying
from bodygen.shop.skin.offset import offset_mesh, offset_skin

if TYPE_CHECKING:
    from collections.abc import Callable

    from OCP.TopoDS import TopoDS_Shape

FILE_MM = 0.01
"""How far facets in files may leave the surface: a fifth of what a printer can show."""
REPAIR_MM = 0.01
NEAREST_SHARE, FACETS_MM = 0.99, 3 * FILE_MM
"""A moved skin is nowhere nearer to the old one than so much of the way, less the facets of both: or it has folded."""
IN_BODY_AXES = ("body", "cut-body")
KERNELS_AGREE_PERCENT = 0.05
"""Further apart than this, one of the two answers is wrong (DEVELOPERS.md, What the edges promise)."""


def _skin(a: Assessment) -> Mesh:
    body = a.shaped.body
    return a.shaped.mesh if body is None else a.shaped.kept.of("filed", lambda: body_mesh(body, FILE_MM))


def grown(a: Assessment, allowance: float) -> Mesh:
    """The skin moved outwards all over [mm].

    Raises
    ------
    DesignError
        Where a hollow is too tight for that: the moved skin would come nearer to its other flank.
    """
    body, skin = a.shaped.body, _skin(a)
    moved = offset_mesh(skin, allowance) if body is None else offset_skin(body, allowance, FILE_MM)
    around = manifold3d.Manifold.cube(tuple(np.ptp(moved.vertices, axis=0) + 2.0)).translate(
        tuple(moved.vertices.min(axis=0) - 1.0)
    )
    if to_manifold(skin).min_gap(around - to_manifold(moved), allowance) < NEAREST_SHARE * allowance - FACETS_MM:
        msg = f"a hollow of the skin is too tight to grow by {allowance:g} mm all over: a smaller allowance"
        raise DesignError(msg)
    return moved


def _carver_master(a: Assessment, allowance: float) -> Mesh:
    larger = grown(a, allowance)
    held = master_of(larger, default_stubs())
    if not held.stubs:
        msg = f"grown by {allowance:g} mm, an end gives a stub no hold on the x axis"
        raise DesignError(msg)
    return with_stubs(larger, held.stubs, held.centre_holes)


def cut_mesh(a: Assessment) -> Mesh:
    """The cut body as fine as it is filed."""

    def made() -> Mesh:
        return to_mesh(cut_with(known_manifold(_skin(a)), [to_manifold(tool_mesh(tool)) for tool in a.shaped.tools]))

    return a.shaped.kept.of("cut", made)


def _joined(a: Assessment) -> Halves:
    """Where the key pins of the two halves go."""
    return a.shaped.kept.of("joined", lambda: halves_of(cut_mesh(a), default_dowel()))


def halved(a: Assessment, side: Side) -> Mesh:
    """One half of the cut body with its key pin holes.

    Raises
    ------
    DesignError
        When it is not one piece.
    """
    return a.shaped.kept.of(("half", side), lambda: half(cut_mesh(a), side, _joined(a).pins))


def write_solids(a: Assessment, draft: Draft, about: str) -> Outcome:  # noqa: ARG001  a solid's file has no such line
    """Body, cut body, halves and master, and the kernel's own volume of the cut body.

    A body that is a mesh has no STEP: there is no surface behind it, only facets.

    Raises
    ------
    DesignError
        The CAD kernel finds no single valid solid, or another volume than ours.
    """
    skin, cut = _skin(a), cut_mesh(a)
    bed = default_bed(a.recipe.shop.printer_bed)
    halves, master = _joined(a), master_of(skin, default_stubs())
    findings = [*halves.findings, *master.findings]
    meshes: list[tuple[str, str, Callable[[], Mesh]]] = [
        ("body", "the shaped body without any hole: a carving guide, a master to print", lambda: skin),
        ("cut-body", "the body with every bore and slot", lambda: cut),
    ]
    for side in ("right", "left"):
        purpose = f"the {side} half, parted at the mid-plane, with key pin holes: lies flat side down, to print or mill"
        meshes.append((f"half-{side}", purpose, partial(halved, a, side)))
    if master.stubs:
        meshes.append((
            "master",
            "the body between end stubs with centre holes, for lathe or copy carver; lies on its flank",
            partial(with_stubs, skin, master.stubs, master.centre_holes),
        ))
    allowance = a.recipe.shop.follower_allowance
    if allowance and master.stubs:
        purpose = f"the master on its flank for the copy carver: {allowance:g} mm larger all over, stubs, centre holes"
        meshes.append(("carver-master", purpose, partial(_carver_master, a, allowance)))
    written: dict[str, Mesh] = {}
    listed = []
    for name, purpose, mesh in meshes:
        try:
            drawn = mesh()
            printed, off_bed = laid(lying(drawn, "left" if name == "half-left" else "right"), bed, name)
            fit = repair_for_float32(drawn if name in IN_BODY_AXES else printed, REPAIR_MM)
        except DesignError as error:
            if name in IN_BODY_AXES:
                raise
            findings.append(Finding("no-file", "warning", name, f"left out of the build: {error}"))
            continue
        written[name] = fit
        title = f"{a.recipe.name} {name}"
        write_stl(fit, draft.add(f"{name}.stl", purpose), title)
        write_threemf([(title, fit)], draft.add(f"{name}.3mf", purpose), title)
        if name != "body":  # the cut body is as large
            findings += off_bed
            listed.append(as_printed(name.replace("-", " "), printed))
    cad = _write_steps(a, draft, halves, master, written, findings) if a.shaped.body is not None else None
    return Outcome(tuple(findings), cad.volume if cad else None, tuple(listed))


def _write_steps(
    a: Assessment, draft: Draft, halves: Halves, master: Master, written: Mapping[str, Mesh], findings: list[Finding]
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
    off = difference_percent(volume.volume, a.measured.wood_left)
    if abs(off) > KERNELS_AGREE_PERCENT:
        msg = f"the CAD kernel finds {volume.volume:.1f} mm3 of wood left, {off:+.3f} % from ours: no file on that"
        raise DesignError(msg)
    parted = cache(lambda: solid_split.halves(cut, halves.pins))
    solids: list[tuple[str, str, Callable[[], TopoDS_Shape]]] = [
        ("body", "the shaped body as a CAD solid", lambda: body),
        ("cut-body", "the body with every bore and slot as a CAD solid", lambda: cut),
        (
            "half-right",
            "the right half with key pin holes as a CAD solid",
            lambda: solid_skin.sound(parted()["right"]),
        ),
        (
            "half-left",
            "the left half with key pin holes as a CAD solid",
            lambda: solid_skin.sound(parted()["left"]),
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
        write_step(shape, draft.add(f"{name}.step", purpose), f"{a.recipe.name} {name}", known_sound=True)
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
