"""What is said of a bait from photographs: the record's sentences, and the doubts that a reader must not miss."""

from math import cos, degrees, radians

from bodygen.findings import Finding
from bodygen.scan.photo.camera import tilt_text
from bodygen.scan.photo.exactness import SECTIONS, together
from bodygen.scan.photo.lifted import Lifted, side_profile, towards_tail
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.record import Proposed, Unsure
from bodygen.tables import load


def said_of(
    side: PhotoView,
    top: PhotoView | None,
    measured: Lifted,
    thickness: float | None,
    unsure: tuple[Unsure, ...],
    proposed: tuple[Proposed, ...],
    *,
    nose_right: bool,
) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """The record's sentences, and the doubts that a reader must not miss.

    Parameters
    ----------
    side, top : PhotoView
        The photographs; no top: None.
    measured : Lifted
        The outlines where they lie.
    thickness : float or None
        Greatest thickness [mm] where somebody told it.
    unsure : tuple of Unsure
        What the sizes may be off by.
    proposed : tuple of Proposed
        What else was seen.
    nose_right : bool
        The side's nose is at the right of the picture.
    """
    facts = load("limits")["photo"]
    off_by = together(unsure)
    profile, height = measured.side, measured.height
    length, depth = profile.length, float((profile.high - profile.low).max())
    notes = [f"The nose is at the {'right' if nose_right else 'left'} of the picture; x runs from nose to tail."]
    findings = []
    towards = towards_tail(nose_right=nose_right)
    if side.camera is not None and side.seen is not None:
        notes.append(tilt_text(side.camera))
        if side.camera.focal_from != "the page":
            where = f"{degrees(side.camera.tilt):.1f} deg"
            remedy = f"the camera leant by {where} only; lean it by 10 to 20 deg"
            findings.append(Finding("trace-focal-unknown", "note", "photo", remedy, round(off_by[0], 3), None, "mm"))
    else:
        notes += _span_notes(side, height, length)
        remedy = "a span alone does not tell how the camera leant; lay the bait on the page"
        value = round(length * (1 - cos(radians(10))), 3)
        findings.append(Finding("trace-tilt-unknown", "warning", "photo", remedy, value, None, "mm"))
    parts = "; ".join(str(part) for part in unsure)
    known = f"The length is known within {off_by[0]:.2f} mm and the depth within {off_by[1]:.2f} mm"
    notes.append(f"{known}. Of these, in mm: {parts}.")
    if top is None and thickness is None:
        low, high = (float(v) * depth / 2 for v in facts["thickness_range"])
        small, large = (side_profile(side, h, towards).length for h in (low, high))
        off = max(abs(small - length), abs(large - length))
        remedy = (
            f"the outline's height over the page hangs on the thickness, and the length by {off:.2f} mm: --thickness"
        )
        findings.append(Finding("trace-thickness-guessed", "warning", "photo", remedy, round(off, 3), None, "mm"))
    hidden = max((part.depth for part in unsure if part.what == SECTIONS), default=0.0)
    if hidden > float(facts["hides_mm"]):
        remedy = "lean the camera along the bait, not across it, hold it over its middle and farther away"
        limit = float(facts["hides_mm"])
        findings.append(Finding("trace-flank-hides", "warning", "photo", remedy, round(hidden, 3), limit, "mm"))
    if measured.top is not None:
        apart = measured.top.length - length
        notes.append(f"The picture from above is {measured.top.length:.1f} mm long, {apart:+.1f} mm to the side's.")
    if proposed:
        notes.append(
            f"Seen besides, left out of the outline, and proposed: {'; '.join(str(part) for part in proposed)}."
        )
    return tuple(notes), tuple(findings)


def _span_notes(side: PhotoView, height: float, length: float) -> list[str]:
    leans = ", ".join(f"{length * (1 - cos(radians(t))):.1f} mm at {t} deg" for t in (5, 10))
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
