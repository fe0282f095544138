"""The surface from photographs: the side's outline in the mid-plane, the top's point by point, what is guessed said."""

from dataclasses import dataclass, replace
from math import degrees, radians
from typing import Any

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.form.body import Array
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.integrals import body_volume
from bodygen.scan.photo.camera import tilt_text
from bodygen.scan.photo.exactness import together, unsure_of
from bodygen.scan.photo.lines import Profile, across, profile_of
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.readings.table import Readings
from bodygen.scan.readings.trace import traced_from
from bodygen.scan.record import Guessed, Traced, Unsure
from bodygen.tables import load

NOISE_MM = 0.12
"""How exactly an outline is found [mm]: half a pixel of the flat picture, and the edge's own softness."""
PLACES = 160
CALLIPERS_MM = 0.3
"""How far a thickness by callipers held askew, or by a top view, is off."""


@dataclass(frozen=True, slots=True, eq=False)
class Lifted:
    """Both profiles as they lie over the ground: the side at ``height`` [mm], the top at ``heights`` (k,) [mm]."""

    side: Profile
    height: float
    half: Array
    top: Profile | None
    heights: Array | None


def traced_photos(
    side: PhotoView, top: PhotoView | None, thickness: float | None, *, nose_right: bool
) -> tuple[Traced, Lifted]:
    """The surface [mm] of one or two photographs.

    Parameters
    ----------
    side, top : PhotoView
        The bait on its flank; the bait on its belly, or None.
    thickness : float or None
        Greatest thickness [mm]; None: from the top view, or guessed from the depth.
    nose_right : bool
        The side's nose is at the right of the picture.

    Raises
    ------
    InputError
        What was found is no body.
    """
    facts = load("limits")["photo"]
    share = float(facts["thickness_share"])
    measured = _measured(side, top, thickness, share, nose_right=nose_right)
    text = f"{side.photo.file}: the outline"
    profile, nothing = measured.side, np.full(len(measured.side.x), np.nan)
    lines, file = (0,) * len(profile.x), side.photo
    readings = Readings(
        file.file, file.sha256, profile.x, profile.high, profile.low, measured.half, nothing, nothing, nothing, lines
    )
    try:
        trace = traced_from(readings)
    except InputError as error:
        problem = f"is no body's: {error.mistakes[0].problem}"
        raise InputError([
            Mistake(text, 0, "", "", problem, "a sharper picture, or --mask over what is no bait")
        ]) from None
    guessed = tuple(g for g in trace.guessed if g.what in {"squareness", "widest line"})
    guessed += _plan_guessed(trace, measured, top, thickness, facts)
    unsure = unsure_of(side, profile, measured.height, measured.half, _thick_off(measured, top, thickness, facts))
    notes, findings = _said(side, top, measured, thickness, unsure, nose_right=nose_right)
    places = _places(measured, trace)
    made = replace(
        trace,
        how="photo",
        places=places,
        noise=NOISE_MM,
        guessed=guessed,
        notes=notes,
        findings=findings,
        doubtful=(),
        unsure=unsure,
    )
    return made, measured


def _measured(
    side: PhotoView, top: PhotoView | None, thickness: float | None, share: float, *, nose_right: bool
) -> Lifted:
    """Lift the outlines to their heights, thrice: the side's needs the thickness, the top's the side."""
    towards = np.array([-1.0, 0.0]) if nose_right else np.array([1.0, 0.0])
    thick, seen_top, heights = thickness, None, None
    profile = _profile(side, (thick or 0.0) / 2, towards)
    if thick is None:
        thick = share * float((profile.high - profile.low).max())
    half = _family(profile, thick)
    for _ in range(3):
        height = thick / 2
        profile = _true_depth(side, _profile(side, height, towards), height, half)
        if top is None:
            thick = thickness or share * float((profile.high - profile.low).max())
            half = _family(profile, thick)
            continue
        seen_top, heights = _top(top, profile, heights, towards)
        seen_top = _true_width(top, seen_top, heights, profile)
        half = (seen_top.high - seen_top.low) / 2
        if thickness is not None:
            half = half * thickness / 2 / half.max()
        thick = 2 * float(half.max())
    return Lifted(profile, thick / 2, half, seen_top, heights)


def _profile(view: PhotoView, height: Array | float, towards: Array) -> Profile:
    return profile_of(view.at_height(height), _direction(view, towards))


def _direction(view: PhotoView, towards: Array) -> Array:
    """Which way of the ground is ``towards`` in the picture (x right, y up) (2,)."""
    middle = view.outline.mean(axis=0)
    two = view.at_height(0.0, pixels=np.array([middle, middle + 20.0 * towards * (1, -1)]))
    return np.asarray(two[1] - two[0])


def _family(profile: Profile, thick: float) -> Array:
    """Half widths (n,) [mm] that are the same share of the depth all along."""
    depth = profile.high - profile.low
    return np.asarray(thick / 2 * depth / depth.max())


def _lean_across(view: PhotoView, profile: Profile, height: float) -> tuple[Array, Array]:
    """How far the rays lean across the bait at its upper and lower line (n,) [-]."""
    axis = across(profile.along)
    sides = []
    for line in (profile.high, profile.low):
        at = profile.nose + profile.x[:, None] * profile.along + line[:, None] * axis
        sides.append(view.lean(at, height) @ axis)
    return sides[0], sides[1]


def _true_depth(view: PhotoView, profile: Profile, height: float, half: Array) -> Profile:
    """Take off what a leaning ray sees of the flank past the true edge.

    Derived here: of an ellipse of half axes d and w a ray that leans by t touches at sqrt(d^2 + w^2 t^2) from the
    middle, measured in the mid-plane.
    """
    middle, size = (profile.high + profile.low) / 2, (profile.high - profile.low) / 2
    up, down = (
        np.sqrt(np.maximum(size**2 - (half * lean) ** 2, 0.25 * size**2))
        for lean in _lean_across(view, profile, height)
    )
    return _true_ends(view, replace(profile, high=middle + up, low=middle - down), height, half)


def _true_ends(view: PhotoView, profile: Profile, height: float, half: Array) -> Profile:
    """Take off what a leaning ray sees past a sawn end, whose edges lie nearer or farther than its middle.

    Elementary: the edge that is ``half`` (n,) [mm] nearer, or farther, is seen half times the ray's lean past the face.
    """
    ends = np.array([0.0, profile.length])
    places = profile.nose + ends[:, None] * profile.along
    past = np.abs(view.lean(places, height) @ profile.along) * half[[0, -1]]
    past[(profile.high - profile.low)[[0, -1]] <= 0] = 0.0
    share = 1 - past.sum() / profile.length
    at = past[0] + share * profile.x
    high, low = (np.interp(at, profile.x, line) for line in (profile.high, profile.low))
    nose = profile.nose + past[0] * profile.along
    return Profile(profile.points - (past[0], 0.0), share * profile.x, high, low, nose, profile.along)


def _top(view: PhotoView, side: Profile, heights: Array | None, towards: Array) -> tuple[Profile, Array]:
    """The top view's outline, each point at the height of the widest line over the lowest place of the belly."""
    over = (side.high + side.low) / 2 - float(side.low.min())
    if heights is None:
        heights = np.full(len(view.outline), float(np.median(over)))
    profile = _profile(view, heights, towards)
    at = profile.points[:, 0] / profile.length * side.length
    heights = np.interp(at, side.x, over)
    return _profile(view, heights, towards), heights


def _true_width(view: PhotoView, profile: Profile, heights: Array, side: Profile) -> Profile:
    """The same as for the side, with the depth in place of the width."""
    depth = (side.high - side.low) / 2
    return _true_depth(view, profile, float(np.mean(heights)), depth)


def _plan_guessed(
    trace: Traced, measured: Lifted, top: PhotoView | None, thickness: float | None, facts: dict[str, Any]
) -> tuple[Guessed, ...]:
    """What was taken for the plan where no top view shows it, and how much hangs on it."""
    if top is not None:
        return ()
    volume = body_volume(skin_through(trace.offsets)).volume / 1000
    guessed = [
        Guessed(
            "plan",
            "full as the side: the same share of the depth all along",
            "there is no picture from above",
            (0.85 * volume, 1.15 * volume),
        )
    ]
    if thickness is None:
        depth = float((measured.side.high - measured.side.low).max())
        low, high = (float(v) for v in facts["thickness_range"])
        thick = 2 * measured.height
        between = (volume * 0.85 * low * depth / thick, volume * 1.15 * high * depth / thick)
        why = "nobody told it; --thickness or --top does"
        guessed.append(Guessed("thickness", f"{thick:.1f} mm, {thick / depth:.2f} of the depth", why, between))
    return tuple(guessed)


def _thick_off(measured: Lifted, top: PhotoView | None, thickness: float | None, facts: dict[str, Any]) -> float:
    """How far the thickness may be off [mm]: as callipers held askew, or by what it was guessed from."""
    if thickness is not None or top is not None:
        return CALLIPERS_MM
    depth = float((measured.side.high - measured.side.low).max())
    return max(abs(float(share) * depth - 2 * measured.height) for share in facts["thickness_range"])


def _said(
    side: PhotoView,
    top: PhotoView | None,
    measured: Lifted,
    thickness: float | None,
    unsure: tuple[Unsure, ...],
    *,
    nose_right: bool,
) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """The record's sentences, and the doubts that a reader must not miss."""
    facts = load("limits")["photo"]
    off_by = together(unsure)
    profile, height = measured.side, measured.height
    length, depth = profile.length, float((profile.high - profile.low).max())
    notes = [f"The nose is at the {'right' if nose_right else 'left'} of the picture; x runs from nose to tail."]
    findings = []
    towards = np.array([-1.0, 0.0]) if nose_right else np.array([1.0, 0.0])
    if side.camera is not None and side.seen is not None:
        notes.append(tilt_text(side.camera))
        if side.camera.focal_from != "the page":
            where = f"{degrees(side.camera.tilt):.1f} deg"
            remedy = f"the camera leant by {where} only; lean it by 10 to 20 deg"
            findings.append(Finding("trace-focal-unknown", "note", "photo", remedy, round(off_by[0], 3), None, "mm"))
    else:
        notes += _span_notes(side, height, length)
        remedy = "a span alone does not tell how the camera leant; lay the bait on the page"
        value = round(length * (1 - np.cos(radians(10))), 3)
        findings.append(Finding("trace-tilt-unknown", "warning", "photo", remedy, value, None, "mm"))
    parts = "; ".join(str(part) for part in unsure)
    known = f"The length is known within {off_by[0]:.2f} mm and the depth within {off_by[1]:.2f} mm"
    notes.append(f"{known}. Of these, in mm: {parts}.")
    if top is None and thickness is None:
        low, high = (float(v) * depth / 2 for v in facts["thickness_range"])
        small, large = (_profile(side, h, towards).length for h in (low, high))
        off = max(abs(small - length), abs(large - length))
        remedy = (
            f"the outline's height over the page hangs on the thickness, and the length by {off:.2f} mm: --thickness"
        )
        findings.append(Finding("trace-thickness-guessed", "warning", "photo", remedy, round(off, 3), None, "mm"))
    if measured.top is not None:
        apart = measured.top.length - length
        notes.append(f"The picture from above is {measured.top.length:.1f} mm long, {apart:+.1f} mm to the side's.")
    notes += _seen_beside(side, measured)
    return tuple(notes), tuple(findings)


def _span_notes(side: PhotoView, height: float, length: float) -> list[str]:
    leans = ", ".join(f"{length * (1 - np.cos(radians(t))):.1f} mm at {t} deg" for t in (5, 10))
    notes = [f"Scale and turn come from a span; how the camera leant is unknown, and takes off the length {leans}."]
    if side.on_bait:
        return [*notes, "The span's ends lie on the bait, so nothing is corrected for its height."]
    how = "the picture's file" if side.photo.focal else "what is usual, within 30 %"
    taken = length * height / side.away
    facts = load("limits")["photo"]
    spread = float(facts["told_focal_spread" if side.photo.focal else "usual_focal_spread"])
    notes.append(
        f"The outline lies {height:.1f} mm over the span: {taken:.1f} mm are taken off the length, for a lens"
        f" {side.away:.0f} mm away by {how}; that may be off by {taken * spread / (1 - spread):.1f} mm."
    )
    return notes


def _seen_beside(side: PhotoView, measured: Lifted) -> list[str]:
    """Thin things that were left out of the outline, by where they leave it."""
    if not len(side.thin):
        return []
    profile = measured.side
    places = profile.own(side.at_height(measured.height, pixels=side.thin))
    said = []
    for x, z in places[np.argsort(places[:, 0])]:
        share = x / profile.length
        middle = float(np.interp(x, profile.x, (profile.high + profile.low) / 2))
        if share < 0.25 and z < middle:
            what = "a lip or a line tie"
        elif share < 0.12:
            what = "a line tie"
        elif share > 0.88:
            what = "a tail hanger"
        else:
            what = "a hanger" if z < middle else "something on the back"
        said.append(f"{what} at x = {min(max(x, 0.0), profile.length):.1f} mm, z = {z:+.1f} mm")
    return [f"Left out of the outline, and by their places: {'; '.join(said)}."]


def _places(measured: Lifted, trace: Traced) -> Array:
    """Where the outlines were seen (k, 3) [mm]: the side's in the mid-plane, the top's at the widest line."""
    profile = measured.side
    at = np.linspace(0, profile.length, PLACES)
    inner = at[1:-1]
    rows = [
        np.column_stack([inner, 0 * inner, np.interp(inner, profile.x, line)]) for line in (profile.high, profile.low)
    ]
    if measured.top is not None:
        widest = np.interp(inner, trace.offsets.x, trace.offsets.widest)
        half = np.interp(inner, profile.x, measured.half)
        rows += [np.column_stack([inner, sign * half, widest]) for sign in (1, -1)]
    return np.concatenate(rows)
