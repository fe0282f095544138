"""Two baits over each other, or one that was meant and copies of it: how far apart, where, which way the hand errs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from bodygen.errors import BodygenError
from bodygen.form.body import Array
from bodygen.mesh.skin import Mesh
from bodygen.pipeline import assess
from bodygen.recipe.model import Stations
from bodygen.scan.copies.pose import Pose, laid_over, places_on, upright
from bodygen.scan.copies.specimen import Specimen, moved, squareness_of
from bodygen.scan.record import Fit, fit_of
from bodygen.units import length_text

PLACES, SLICES, ROWS = 3000, 20, 25
STATIONS = np.linspace(0.05, 0.95, 10)
LINES = ("back", "belly", "flank")
PARTS = (("nose", 0, 3), ("middle", 3, 7), ("tail", 7, 10))
"""Parts of the body, as stations from and to."""
SURE = 2.0
"""A mean that is so many of its own standard errors from nothing is the hand's, not chance's."""
LEAST_TOLD_MM = 0.1
TURNED_DEG, ASIDE_MM = 2.0, 0.5
"""A mesh that lies nearer than this to where it fits best stays as its maker put it, nose to nose."""


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A copy over the original: ``places`` (k, 3), ``off`` (k,) [mm], positive where the copy stands proud."""

    copy: Specimen
    places: Array
    off: Array
    fit: Fit
    where: tuple[tuple[float, float], ...]
    lines: Array
    """Back, belly and flank at the stations: how far the copy's stand outside (n, 3) [mm]."""
    pose: Pose | None = None
    """How the copy was laid over, where it did not lie there."""

    def document(self) -> dict[str, Any]:
        """Give what JSON has of one copy."""
        return {
            "name": self.copy.name,
            "surface": _surface(self),
            "where": [{"x_mm": x, "off_mm": off} for x, off in self.where],
            "turned_deg": None if self.pose is None else self.pose.turned_deg,
        }


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """What was meant, its copies, and what the copies' shapes do to its float: (reserve [g], pitch [deg]) or None."""

    meant: Specimen
    pairs: tuple[Pair, ...]
    within: float | None
    floats: tuple[tuple[float, float] | None, ...]

    @property
    def alike(self) -> bool:
        """Whether no copy is anywhere farther off than allowed."""
        return self.within is None or all(pair.fit.max <= self.within for pair in self.pairs)

    def document(self) -> dict[str, Any]:
        """Give the JSON document: of two, what lies between them; of more, the spread of the copies besides."""
        subjects = [self.meant, *(pair.copy for pair in self.pairs)]
        figures = [subject.figures() for subject in subjects]
        found: dict[str, Any] = {"names": [subject.name for subject in subjects]}
        found |= {key: [row[key] for row in figures] for key in figures[0]}
        found |= {"within_mm": self.within, "alike": self.alike}
        if len(self.pairs) == 1:
            both = self.pairs[0].document()
            return found | {key: both[key] for key in ("surface", "where", "turned_deg")}
        mean, sd = self.spread()
        x = STATIONS * self.meant.sizes[0]
        rows = [
            {"x_mm": float(at), **{f"{line}_mm": m for line, m in zip(LINES, mean[i], strict=True)},
             **{f"{line}_sd_mm": s for line, s in zip(LINES, sd[i], strict=True)}}
            for i, at in enumerate(x)
        ]  # fmt: skip
        floats = [None if each is None else {"reserve_g": each[0], "pitch_deg": each[1]} for each in self.floats]
        return found | {
            "copies": [pair.document() for pair in self.pairs],
            "spread": rows,
            "hand": list(self.hand()),
            "floats": floats,
        }

    def spread(self) -> tuple[Array, Array]:
        """Mean and standard deviation of the copies' lines (n, 3) [mm]."""
        lines = np.array([pair.lines for pair in self.pairs])
        return lines.mean(axis=0), lines.std(axis=0, ddof=1)

    def hand(self) -> tuple[str, ...]:
        """Which way the hand errs, a sentence for each part and line where it does so in every copy alike."""
        lines = np.array([pair.lines for pair in self.pairs])
        told = []
        for part, first, last in PARTS:
            for k, line in enumerate(LINES):
                each = lines[:, first:last, k].mean(axis=1)
                mean, error = float(each.mean()), float(each.std(ddof=1)) / np.sqrt(len(each))
                if abs(mean) >= LEAST_TOLD_MM and abs(mean) > SURE * error:
                    word = "fat" if mean > 0 else "thin"
                    told.append(
                        f"the {line} of the {part} is left {word}, {abs(mean):.2f} mm in the mean of {len(each)}"
                    )
        return tuple(told)


def compare(subjects: Sequence[Specimen], within: float | None) -> Compared:
    """Lay every copy over the first.

    Parameters
    ----------
    subjects : sequence of Specimen
        What was meant, then one copy or more.
    within : float or None
        How far a copy may be off anywhere [mm].
    """
    meant, *copies = _in_axes(subjects)
    laid = [_laid(copy, meant) for copy in copies]
    pairs = tuple(replace(_pair(meant, copy, within), pose=pose) for copy, pose in laid)
    copies = [copy for copy, _ in laid]
    several = len(copies) > 1 and meant.assessment is not None
    floats = tuple(_float_of(meant, copy) if several else None for copy in copies)
    return Compared(meant, pairs, within, floats)


def _in_axes(subjects: Sequence[Specimen]) -> tuple[Specimen, ...]:
    """The same, the first of them in a body's axes: those of one that has its own, or as it is longest."""
    meant, *copies = subjects
    if meant.body is not None:
        return tuple(subjects)
    drawn = next((copy for copy in copies if copy.body is not None), None)
    if drawn is not None:
        return (_laid(meant, drawn)[0], *copies)
    pose = upright(meant.mesh)
    return (meant if pose is None else moved(meant, pose), *copies)


def _laid(subject: Specimen, still: Specimen) -> tuple[Specimen, Pose | None]:
    """A mesh laid over what stays, and how; as it is where it has axes of its own, or lies there already."""
    pose = None if subject.body is not None else pose_over(subject.mesh, still.mesh)
    return (subject, None) if pose is None else (moved(subject, pose), pose)


def pose_over(mesh: Mesh, still: Mesh) -> Pose | None:
    """How a mesh comes to lie over what stays; None where it lies there already."""
    pose = laid_over(mesh, still)
    middle = mesh.vertices.mean(axis=0)
    aside = np.abs(middle @ pose.turn.T + pose.move - middle)[1:].max()
    return None if pose.turned_deg < TURNED_DEG and aside < ASIDE_MM else pose


def _pair(meant: Specimen, copy: Specimen, within: float | None) -> Pair:
    if copy.body is not None or meant.body is None:
        places, _ = places_on(meant.mesh, PLACES)
        off = -copy.outside(places)
    else:
        places, _ = places_on(copy.mesh, PLACES)
        off = meant.outside(places)
    length = meant.sizes[0]
    slices = np.clip((places[:, 0] / length * SLICES).astype(int), 0, SLICES - 1)
    where = []
    for i in np.unique(slices):
        own = np.flatnonzero(slices == i)
        worst = own[np.argmax(np.abs(off[own]))]
        if within is None or abs(off[worst]) > within:
            where.append((float(places[worst, 0]), float(off[worst])))
    x = STATIONS * length
    ours, theirs = meant.sections(x), copy.sections(np.minimum(x, copy.sizes[0] - 1e-3))
    apart = (theirs - ours)[:, :3] * (1.0, -1.0, 1.0)
    return Pair(copy, places, off, fit_of(off), tuple(where), apart)


def _float_of(meant: Specimen, copy: Specimen) -> tuple[float, float] | None:
    """Reserve and pitch of what was meant if its wood had the copy's shape; None where its bores do not fit that."""
    share = (1 - np.cos(np.linspace(0, np.pi, ROWS))) / 2
    x = share * copy.sizes[0]
    rows = copy.sections(np.clip(x, 1e-3, copy.sizes[0] - 1e-3))
    table = []
    for at, (top, bottom, half, area) in zip(x, rows, strict=True):
        end = at in {x[0], x[-1]} and min(top - bottom, 2 * half) < 1.0
        square = 2.0 if end else squareness_of(2 * half, top - bottom, area)
        middle = (top + bottom) / 2
        table.append((float(at), middle, middle, 0.0, 2.0) if end else (float(at), top, bottom, half, square))
    recipe = replace(meant.recipe, shape=Stations(copy.name, tuple(table)))
    try:
        a = assess(recipe)
    except BodygenError:
        return None
    return a.flotation.reserve_g, a.flotation.attitude.pitch_deg


def _surface(pair: Pair) -> dict[str, Any]:
    return {
        "mean_mm": float(np.abs(pair.off).mean()),
        "bias_mm": float(pair.off.mean()),
        "p95_mm": pair.fit.p95,
        "max_mm": pair.fit.max,
    }


def as_text(found: Compared) -> str:
    """Say how far apart they are, where, and what a hand does again and again."""
    ruler = found.meant.recipe.units
    lines = []
    for subject in (found.meant, *(pair.copy for pair in found.pairs)):
        long, deep, thick = (length_text(v, ruler) for v in subject.sizes)
        a = subject.assessment
        floats = f"; {a.total.mass:.2f} g, reserve {a.flotation.reserve_g:+.2f} g" if a else ""
        lines.append(
            f"{subject.name}: {long} long, {deep} deep, {thick} thick, {subject.volume / 1000:.2f} cm3{floats}"
        )
    for pair in found.pairs:
        mean = float(np.abs(pair.off).mean())
        turned = "" if pair.pose is None else f", turned by {pair.pose.turned_deg:.0f} deg to lie as it does"
        lines += ["", f"{pair.copy.name} over {found.meant.name}{turned}"]
        lines.append(
            f"  apart     {mean:.2f} mm in the mean, p95 {pair.fit.p95:.2f} mm, the farthest {pair.fit.max:.2f} mm"
        )
        worst = sorted(pair.where, key=lambda row: -abs(row[1]))[:5]
        lines += [
            f"  {'too much' if off > 0 else 'missing':9} {abs(off):.2f} mm at x = {round(x, 1) + 0.0:.1f} mm"
            for x, off in sorted(worst)
        ]
        if found.within is not None:
            far = pair.fit.max > found.within
            lines.append(f"  {'NOT within' if far else 'within'} {found.within:g} mm everywhere")
    return "\n".join([*lines, *(_several(found) if len(found.pairs) > 1 else [])])


def _several(found: Compared) -> list[str]:
    """The copies together: spread by station, the hand, the float."""
    mean, sd = found.spread()
    lines = [
        "",
        f"The {len(found.pairs)} copies together, mean and standard deviation outside of {found.meant.name} [mm]",
    ]
    lines.append(f"  {'x':>7}" + "".join(f"{line:>16}" for line in LINES))
    for i, x in enumerate(STATIONS * found.meant.sizes[0]):
        lines.append(f"  {x:7.1f}" + "".join(f"{mean[i, k]:+9.2f} ({sd[i, k]:.2f})" for k in range(3)))
    lines += [f"  {sentence}" for sentence in found.hand()] or ["  the hand errs no way again and again"]
    known = [each for each in found.floats if each is not None]
    if len(known) > 1:
        values = np.array(known)
        (reserve, pitch), (a, b) = values.mean(axis=0), values.std(axis=0, ddof=1)
        lines.append(f"  in these shapes its reserve is {reserve:+.2f} g, give or take {a:.2f}")
        lines.append(f"  and its nose {pitch:+.1f} deg up, give or take {b:.1f}")
    return lines


def picture_of(pair: Pair, meant: Specimen, path: Path) -> tuple[str, ...]:
    """Write the overlay of a copy and what was meant as SVG and PNG; returns the extras that the PNG lacks."""
    from bodygen.export.svg import page_svg  # noqa: PLC0415  only what draws loads it
    from bodygen.extras import missing  # noqa: PLC0415
    from bodygen.scan.copies.overlay import overlay_page  # noqa: PLC0415

    page = overlay_page(meant, pair.copy, pair.places, pair.off, str(pair.fit))
    path.write_text(page_svg(page), encoding="utf-8", newline="\n")
    lacks = missing(["paper"])
    if not lacks:
        from bodygen.export.png import page_png  # noqa: PLC0415

        path.with_suffix(".png").write_bytes(page_png(page))
    return lacks
