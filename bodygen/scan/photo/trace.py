"""The surface from photographs: the side's outline in the mid-plane, the top's point by point, what is guessed said."""

from dataclasses import replace
from typing import Any

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.form.body import Array
from bodygen.form.fairing.offsets import skin_through
from bodygen.form.integrals import body_volume
from bodygen.scan.photo.exactness import unsure_of
from bodygen.scan.photo.lifted import Lifted, lifted
from bodygen.scan.photo.seen import parts_seen
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.photo.words import said_of
from bodygen.scan.readings.table import Readings
from bodygen.scan.readings.trace import traced_from
from bodygen.scan.record import Guessed, Traced
from bodygen.tables import load

NOISE_MM = 0.12
"""How exactly an outline is found [mm]: half a pixel of the flat picture, and the edge's own softness."""
PLACES = 160
CALLIPERS_MM = 0.3
"""How far a thickness by callipers held askew, or by a top view, is off."""


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
    measured = lifted(side, top, thickness, share, nose_right=nose_right)
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
    proposed = parts_seen(side, measured)
    notes, findings = said_of(side, top, measured, thickness, unsure, proposed, nose_right=nose_right)
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
        proposed=proposed,
    )
    return made, measured


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
