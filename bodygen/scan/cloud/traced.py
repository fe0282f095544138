"""A scan's file as a trace: read in its unit, cleaned, fitted; what was decided, guessed, left out and fitted across.

Knows files and words. What is done to the points is ``scanned.py``'s.
"""

from dataclasses import dataclass
from hashlib import sha256
from math import exp, log
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.mesh.file import MOST_FACES, loaded, own_unit
from bodygen.mesh.skin import Faces, Mesh
from bodygen.recipe.model import Units
from bodygen.scan.cloud.clean import is_flat, shells_of, size_of
from bodygen.scan.cloud.points import Cloud, cloud_of, merged
from bodygen.scan.cloud.scanned import Scanned, scanned
from bodygen.scan.cloud.sureness import SURE, Decided
from bodygen.scan.record import Guessed, Traced
from bodygen.tables import load

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Unit = Literal["auto", "mm", "in", "cm", "m"]
ALONG = 0.2
"""Cosine between a direction of the file and one of the bait, below which the file's direction says nothing of it."""
CROSSING = 4.0
"""Times the box's own skin that a scan's skin may be: strips that overlap are two or three."""
MOSTLY = 0.75
"""Share of the skin that must lie near one body's surface: of two that are fused, two thirds do."""
ONE_SIDED = 0.4
"""Length of the mean of the skin's normals above which only one side of the bait was scanned: 0 is closed, 1 flat."""
CLEAR_UNIT = 0.8
"""How likely a unit must be not to be told as guessed."""
IN_MM = {"mm": 1.0, "in": 25.4, "cm": 10.0, "m": 1000.0}
WORDS = {"in": "inches", "cm": "centimetres", "m": "metres"}
KINDS = "STL, OBJ, 3MF or PLY"


@dataclass(frozen=True, slots=True)
class Asked:
    """What the maker says of a scan: its unit, where in the file the nose points (``+x``, ``-x``), and the back."""

    unit: Unit = "auto"
    nose: Literal["+x", "-x"] | None = None
    back: Literal["+z", "-z"] | None = None


def traced_from(file: Path, asked: Asked) -> tuple[Traced, Units]:
    """The surface through a scan [mm], and the units of the recipe: inches for a scan in inches.

    Parameters
    ----------
    file : Path
        A mesh, open or closed, in any pose.
    asked : Asked
        What its shape may leave open.

    Raises
    ------
    InputError
        No mesh, no bait or more than one in it, a direction that says nothing.
    """
    cloud, own, left_out, unit, guessed = _read(file, asked.unit)
    try:
        found = scanned(cloud, own, lambda turn: (_told(turn, 0, asked.nose), _told(turn, 2, asked.back)))
    except np.linalg.LinAlgError:
        problem = "shows no bait: no body comes to rest on its skin"
        raise _refusal(file, problem, "one bait to a file, seen from both flanks") from None
    if found.explained < MOSTLY:
        problem = f"shows no one bait: {1 - found.explained:.0%} of the skin lies off the nearest body"
        accepted = "one bait to a file; cut off what it is fused to in the program it came from, and try again"
        raise _refusal(file, problem, accepted)
    guesses = (*guessed, *_guessed(found, asked))
    notes = [
        f"The scan's numbers are {WORDS.get(unit, unit)}. {_where(found)}",
        f"The nose is {found.nose.why} ({found.nose.sure:.0%} sure).",
        f"The back is {found.back.why} ({found.back.sure:.0%} sure).",
        f"The points scatter by {found.fitted.noise:.2f} mm.",
    ]
    left_out = (*left_out, *found.seen.words)
    if left_out:
        notes.append(f"Left out: {'; '.join(left_out)}.")
    fitted = found.fitted
    noise = float(np.clip(fitted.noise, *load("mesh")["scan"]["noise_mm"]))
    trace = Traced(
        "scan", file.name, sha256(file.read_bytes()).hexdigest(), fitted.sizes.offsets(), fitted.points, noise,
        (), guesses, _findings(found, left_out), tuple(notes),
    )  # fmt: skip
    return trace, "in" if unit in {"in", "inch"} else "mm"


def _refusal(file: Path, problem: str, accepted: str) -> InputError:
    return InputError([Mistake(str(file), 0, "", "", problem, accepted)])


def _fault(vertices: Array, faces: Faces) -> tuple[str, str] | None:
    """What is wrong with a mesh as it was read, and what is accepted."""
    if not 0 < len(faces) <= MOST_FACES:
        accepted = f"1 to {MOST_FACES} triangles; lay a finer scan coarser in the program it came from"
        return f"has {len(faces)} triangles", accepted
    if faces.min() < 0 or faces.max() >= len(vertices):
        return "has triangles whose corners are not in it", "a whole file: save the scan again"
    if not np.isfinite(vertices).all():
        return "has corners that are no numbers", "finite corners: save the scan again"
    return None


def skin_from(file: Path, unit: Unit) -> tuple[Mesh, tuple[Guessed, ...]]:
    """A scan's skin as it is [mm], open or closed, and what was guessed of its unit.

    Raises
    ------
    InputError
        As ``traced_from``, less that a body must fit it.
    """
    _, _, _, name, guessed = _read(file, unit)
    vertices, faces = merged(*loaded(file))
    scale = IN_MM[name] if name in IN_MM else load("mesh")["unit_3mf"][f"{name}_mm"]
    return Mesh(vertices * scale, faces), guessed


def _read(file: Path, unit: Unit) -> tuple[Cloud, Mask, tuple[str, ...], str, tuple[Guessed, ...]]:
    """The points in mm, which of them may be the body's, what was left out, the unit, and what of it was guessed."""
    try:
        vertices, faces = loaded(file)
        own = own_unit(file) if file.suffix.lower() == ".3mf" else None
    except OSError as error:
        raise _refusal(file, f"cannot be read: {error.strerror or error}", "the file of a scan") from error
    except Exception as error:  # a parser may raise anything on a hostile file
        raise _refusal(file, f"cannot be read as a mesh ({type(error).__name__})", KINDS) from error
    fault = _fault(vertices, faces)
    if fault is not None:
        raise _refusal(file, *fault)
    vertices, faces = merged(vertices, faces)
    cloud = cloud_of(vertices, faces)
    del vertices, faces
    if len(cloud.points) < 50 or is_flat(cloud):
        raise _refusal(file, "holds no body: all of it is flat, or nothing", "the scan of a bait, from both flanks")
    wide, deep, high = np.ptp(cloud.points, axis=0)
    if cloud.areas.sum() > CROSSING * 2 * (wide * deep + deep * high + high * wide):
        problem = "is no skin: its triangles cross each other all over"
        raise _refusal(file, problem, "a mesh of the bait's skin, as the scanner's own program makes it")
    shells = shells_of(cloud)
    if shells.bodies > 1:
        problem = f"holds {shells.bodies} bodies of like size that stand apart"
        raise _refusal(file, problem, "one bait to a file: save them apart")
    body = cloud.taken(shells.body)
    if is_flat(body):
        raise _refusal(file, "holds no body: what is left of it is flat", "the scan of a bait, from both flanks")
    if body.one_sided > ONE_SIDED:
        accepted = "the scan of a bait from both flanks, laid together in one file"
        raise _refusal(file, "shows one side of a bait only", accepted)
    scale, name, guessed = _unit(file, size_of(body), unit, own)
    least, most = load("mesh")["size"]["longest_mm"]
    if not least <= size_of(body) * scale <= most:
        problem = f"is {size_of(body) * scale:.3g} mm long in {name}"
        raise _refusal(file, problem, f"{least:g} to {most:g} mm; --units says what its numbers are")
    return cloud.scaled(scale), shells.body, shells.left_out, name, guessed


def _unit(file: Path, size: float, asked: Unit, own: str | None) -> tuple[float, str, tuple[Guessed, ...]]:
    """How many mm one of the file is, the unit's name, and the guess, where it is one."""
    facts = load("mesh")["scan"]
    known = IN_MM
    if asked != "auto":
        return known[asked], asked, ()
    if own is not None:
        scale = load("mesh")["unit_3mf"].get(f"{own}_mm")
        if scale is None:
            raise _refusal(file, f'is in "{own}", which is no unit of a 3MF', "--units mm, in, cm or m")
        return float(scale), own, ()
    likely = {
        name: facts["usual"][name] * exp(-0.5 * (log(size * scale / facts["usual_length_mm"]) / facts["spread"]) ** 2)
        for name, scale in known.items()
    }
    name = max(likely, key=lambda one: likely[one])
    total = sum(likely.values())
    sure = likely[name] / total if total > 0 else 0.0
    if sure >= CLEAR_UNIT:
        return known[name], name, ()
    second = sorted(known, key=lambda one: -likely[one])[1]
    lengths = f"{size * known[name]:.0f} mm; in {second} it were {size * known[second]:.0f} mm"
    why = f"as the scan is {size:.3g} long, {lengths}"
    return known[name], name, (Guessed("unit", name, f"{why}: --units decides"),)


def _told(turn: Array, axis: int, direction: str | None) -> bool | None:
    """Whether the fitted axes must be turned round for nose (axis 0) or back (2) to point where the maker says."""
    if direction is None:
        return None
    name, ahead = ("nose", -1.0) if axis == 0 else ("back", 1.0)
    points = ahead * turn[axis, axis] * (1.0 if direction[0] == "+" else -1.0)
    if abs(points) < ALONG:
        letters = "xyz"
        best = letters[int(np.argmax(np.abs(turn[axis])))]
        problem = f"says nothing: the {name} of this scan points along {best} of the file"
        accepted = "a scan that was turned in the program it came from, nose along x and back along z"
        raise InputError([Mistake("command line", 0, f"--{name}", direction, problem, accepted)])
    return bool(points < 0)


def _guessed(found: Scanned, asked: Asked) -> tuple[Guessed, ...]:
    """Decisions that are not sure, each with the option that decides it."""
    ways = (("nose", found.nose, asked.nose, -found.turn[0], 0), ("back", found.back, asked.back, found.turn[2], 2))
    some = [
        Guessed(name, _pointing(way), _unsure(name, decided, way, axis))
        for name, decided, told, way, axis in ways
        if told is None and decided.sure < SURE
    ]
    if not found.upright:
        why = (
            "as within its scatter both planes mirror it alike; if it was flat, exchange depth and thickness in the "
            "program it came from"
        )
        some.append(Guessed("depth", "the larger of its two sizes across", why))
    return tuple(some)


def _unsure(name: str, decided: Decided, way: Array, axis: int) -> str:
    if abs(way[axis]) < ALONG:
        turned = f"turn the scan in its own program, nose along x and back along z, then --{name} decides"
        return f"as {decided.why}, {decided.sure:.0%} sure: {turned}"
    other = f"{'-' if way[axis] > 0 else '+'}{'xyz'[axis]}"
    return f"as {decided.why}, {decided.sure:.0%} sure: --{name} {other} is the other way"


def _pointing(way: Array) -> str:
    """The direction of the file that is nearest to one, such as +x."""
    axis = int(np.argmax(np.abs(way)))
    return f"{'+' if way[axis] > 0 else '-'}{'xyz'[axis]} of the file"


def _where(found: Scanned) -> str:
    """How the bait lies in its file."""
    return (
        f"In the file the nose points to {_pointing(-found.turn[0])[:2]}, the back to {_pointing(found.turn[2])[:2]}."
    )


def _findings(found: Scanned, left_out: tuple[str, ...]) -> tuple[Finding, ...]:
    """What is to be said of the scan as of any design: holes, uneven flanks, what was left out."""
    facts = load("mesh")["scan"]
    some = []
    near = max(float(facts["near_mm"]), float(facts["near_scatters"]) * found.fitted.noise)
    if found.p95 > near:
        what = (
            "5 in 100 of the scan's skin lie farther than that from this body: it scatters much, or has edges, steps "
            "or parts that no lines along a bait can say; look at the map where"
        )
        some.append(Finding("scan-fits-badly", "warning", "shape", what, round(found.p95, 2), round(near, 2), "mm"))
    if left_out:
        what = f"{'; '.join(left_out)}: look at the map whether any of it is the body's own"
        some.append(Finding("scan-left-out", "note", "shape", what, float(len(left_out)), None, ""))
    if found.holes:
        what = (
            f"{'; '.join(str(hole) for hole in found.holes)}: fitted across; scan these places again, or measure there"
        )
        widest = max(hole.across for hole in found.holes)
        some.append(Finding("scan-holes", "warning", "shape", what, round(widest, 1), None, "mm"))
    uneven = found.uneven
    limit = max(float(facts["uneven_mm"]), 0.5 * found.fitted.noise)
    if uneven.most > limit:
        what = f"the flanks differ, the {uneven.side} one being fuller at x = {{}}: the recipe has the mean of both"
        some.append(
            Finding("scan-uneven", "note", "shape", what, round(uneven.most, 3), limit, "mm", lengths=(uneven.x,))
        )
    return tuple(some)
