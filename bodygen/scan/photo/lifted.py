"""Outlines lifted to where they lie: the side's into the mid-plane, the top's point by point, each needing the other.

A ray that leans sees past the true edge; what it sees too much is taken off. Knows outlines and heights in mm.
"""

from dataclasses import dataclass, replace

import numpy as np

from bodygen.form.body import Array
from bodygen.scan.photo.outline.lines import Profile, across, profile_of
from bodygen.scan.photo.view import PhotoView


@dataclass(frozen=True, slots=True, eq=False)
class Lifted:
    """Both profiles as they lie over the ground: the side at ``height`` [mm], the top at ``heights`` (k,) [mm]."""

    side: Profile
    height: float
    half: Array
    top: Profile | None
    heights: Array | None


def lifted(
    side: PhotoView, top: PhotoView | None, thickness: float | None, share: float, *, nose_right: bool
) -> Lifted:
    """Lift the outlines to their heights, thrice: the side's needs the thickness, the top's the side."""
    towards = towards_tail(nose_right=nose_right)
    thick, seen_top, heights = thickness, None, None
    profile = side_profile(side, (thick or 0.0) / 2, towards)
    if thick is None:
        thick = share * float((profile.high - profile.low).max())
    half = _family(profile, thick)
    for _ in range(3):
        height = thick / 2
        profile = _true_depth(side, side_profile(side, height, towards), height, half)
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


def towards_tail(*, nose_right: bool) -> Array:
    """Which way of the picture the tail lies (2,).

    Examples
    --------
    >>> towards_tail(nose_right=True).tolist()
    [-1.0, 0.0]
    """
    return np.array([-1.0 if nose_right else 1.0, 0.0])


def side_profile(view: PhotoView, height: Array | float, towards: Array) -> Profile:
    """The outline at a height over the ground [mm], from nose to tail, which lies ``towards`` (2,) in the picture."""
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
    profile = side_profile(view, heights, towards)
    at = profile.points[:, 0] / profile.length * side.length
    heights = np.interp(at, side.x, over)
    return side_profile(view, heights, towards), heights


def _true_width(view: PhotoView, profile: Profile, heights: Array, side: Profile) -> Profile:
    """The same as for the side, with the depth in place of the width."""
    depth = (side.high - side.low) / 2
    return _true_depth(view, profile, float(np.mean(heights)), depth)
