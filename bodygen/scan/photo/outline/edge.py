"""The edge of a silhouette to a fraction of a pixel: where the light is midway between both its sides."""

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array
from bodygen.scan.photo.outline.light import Light, sampled

REACH_PX, STEP_PX = 6.0, 0.25
PLATEAU_PX = 3.5
"""Farther than this from the edge [px] a side shows its own colour, past the lens's blur."""
MOST_PX = 2.5
"""An edge is not moved farther than this [px]: what lies beyond is another edge."""
LEAST_CONTRAST = 0.03
STRANGE = 0.12
"""An edge with a third colour in it, by more than this of the step, is two edges: a bar ends close to the outline."""
LEAST_BLUR_PX = 0.7
WINDOW, AT_ENDS = 61, 25
"""Places along the outline, 3 mm in all, that are moved alike: a wire's foot is narrower than half of that."""


def refined(linear: Light, outline: Array) -> Array:
    """The outline (k, 2) [px] of a picture of this light, moved across itself to where half of its contrast is.

    Derived here: a lens's blur is even on both sides, so the middle of a step of light stays where it is.
    """
    out = _outwards(outline)
    along, share, known = _steps(linear, outline, out)
    crosses = (share[:, :-1] < 0.5) & (share[:, 1:] >= 0.5)
    place = along[:-1] + STEP_PX * (0.5 - share[:, :-1]) / np.where(crosses, share[:, 1:] - share[:, :-1], 1.0)
    far = np.where(crosses & (np.abs(place) <= MOST_PX), np.abs(place), np.inf)
    best = np.argmin(far, axis=1)
    known = np.isfinite(far.min(axis=1)) & known
    by = np.where(known, place[np.arange(len(place)), best], np.nan)
    moved = _bridged(np.where(_at_ends(outline), _median(by, AT_ENDS), _median(by, WINDOW)))
    return np.asarray(outline + moved[:, None] * out)


def blur_of(linear: Light, outline: Array) -> float:
    """How far a flat picture's edges are blurred, as the standard deviation of an even blur [px].

    Elementary: between its quarters a step that is blurred by one of these rises over 1.349 of it.
    """
    along, share, known = _steps(linear, outline, _outwards(outline))
    inner = np.abs(along) <= PLATEAU_PX
    rise = np.maximum.accumulate(share[known][:, inner], axis=1)
    if not len(rise):
        return LEAST_BLUR_PX
    widths = [float(np.interp(0.75, row, along[inner]) - np.interp(0.25, row, along[inner])) for row in rise[::8]]
    return max(LEAST_BLUR_PX, float(np.median(widths)) / 1.349)


def _steps(linear: Light, outline: Array, out: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """The light across an outline's places: how far along the normal (m,) [px], from 0 inside to 1 outside (k, m).

    Which of the places (k,) differ from the ground at all, and by one step.
    """
    along = np.arange(-REACH_PX, REACH_PX + STEP_PX / 2, STEP_PX)
    light = sampled(linear, outline[:, None, :] + along[None, :, None] * out[:, None, :])
    inner = light[:, along <= -PLATEAU_PX].mean(axis=1)
    outer = light[:, along >= PLATEAU_PX].mean(axis=1)
    apart = outer - inner
    contrast = (apart**2).sum(axis=1)
    share = ((light - inner[:, None, :]) * apart[:, None, :]).sum(axis=2) / np.maximum(contrast, 1e-9)[:, None]
    rest = light - inner[:, None, :] - share[..., None] * apart[:, None, :]
    strange = (rest[:, np.abs(along) <= PLATEAU_PX] ** 2).sum(axis=2).max(axis=1) > STRANGE**2 * contrast
    return along, np.asarray(share), np.asarray((contrast > LEAST_CONTRAST**2) & ~strange)


def _outwards(outline: Array) -> Array:
    """The unit normal (k, 2) of a closed outline, away from its inside."""
    ahead = np.roll(outline, -6, axis=0) - np.roll(outline, 6, axis=0)
    out = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    following = np.roll(outline, -1, axis=0)
    area = float((outline[:, 0] * following[:, 1] - following[:, 0] * outline[:, 1]).sum())
    return np.asarray(out if area > 0 else -out)


def _at_ends(outline: Array) -> NDArray[np.bool_]:
    """Which places (k,) lie in the last twentieths of the outline's length: a pointed end turns within 3 mm."""
    moved = outline - outline.mean(axis=0)
    at = moved @ np.linalg.svd(moved, full_matrices=False)[2][0]
    share = (at - at.min()) / np.ptp(at)
    return np.asarray((share < 0.05) | (share > 0.95))


def _median(by: Array, window: int) -> Array:
    """The middle of each place's neighbours (k,), NaN where too few of them are known."""
    around = np.concatenate([by[-window // 2 :], by, by[: window // 2 + 1]])
    windows = np.lib.stride_tricks.sliding_window_view(around, window)[: len(by)]
    known = ~np.isnan(windows)
    ordered = np.sort(np.where(known, windows, np.inf), axis=1)
    count = known.sum(axis=1)
    middle = ordered[np.arange(len(by)), np.maximum((count - 1) // 2, 0)]
    return np.asarray(np.where((count > window // 3) & np.isfinite(middle), middle, np.nan))


def _bridged(moved: Array) -> Array:
    """The same with what is not known (NaN) as its nearest known neighbours on both sides have it."""
    known = np.flatnonzero(~np.isnan(moved))
    if not len(known):
        return np.zeros(len(moved))
    return np.asarray(np.interp(np.arange(len(moved)), known, moved[known], period=len(moved)))
