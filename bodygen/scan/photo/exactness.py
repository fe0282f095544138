"""How exactly a photograph's sizes are known: one figure of the length and of the depth, and the parts it is made of.

Each part is what the size moves by when one thing is as wrong as it may well be; no two have one cause, so that their
squares add. Knows the photograph as it was measured; decides nothing.
"""

from math import cos, hypot, radians, sin, tan

import numpy as np

from bodygen.form.body import Array
from bodygen.scan.photo.camera import Camera, camera_of
from bodygen.scan.photo.outline.lines import Profile
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.record import Unsure
from bodygen.tables import load

FOLDS = 4
SECTIONS = "how full the sections are"
SQUARENESS = (1.5, 6.0)
"""Sections from keeled to all but a rectangle: a leaning ray sees past the edge of the full ones."""


def unsure_of(side: PhotoView, profile: Profile, height: float, half: Array, thick_off: float) -> tuple[Unsure, ...]:
    """What length and depth of a side view may be off by [mm], part by part.

    Parameters
    ----------
    side : PhotoView
        The photograph.
    profile : Profile
        Its outline at ``height`` [mm] over the ground.
    height : float
        Half of the thickness [mm].
    half : (n,) array
        Half widths along the profile [mm].
    thick_off : float
        How far the thickness may be off [mm].
    """
    facts = load("limits")["photo"]
    length, depth = profile.length, float((profile.high - profile.low).max())
    over = hypot(thick_off / 2, float(facts["lies_over_mm"]))
    away = _away(side, height)
    leans = radians(float(facts["rocks_deg"])), radians(float(facts["dips_deg"]))
    parts = [
        Unsure("the focal length", *_by_focal(side, profile, height)),
        Unsure("the markers' fit", *_by_markers(side, profile, height)),
        Unsure("the height over the ground", length * over / away, depth * over / away),
        Unsure("how the bait leans on its flank", *_by_lean(side, profile, height, *leans)),
        Unsure("the edge in the picture", *_by_edge(side, profile)),
        Unsure(SECTIONS, 0.0, _by_sections(side, profile, height, half)),
    ]
    if side.camera is None:
        tilt = 1 - cos(radians(float(facts["usual_tilt_deg"])))
        parts.append(Unsure("how the camera leant", length * tilt, depth * tilt))
    return tuple(part for part in parts if max(part.length, part.depth) >= 0.005)


def together(parts: tuple[Unsure, ...]) -> tuple[float, float]:
    """Length and depth of all parts together [mm].

    Elementary: squares add.

    Examples
    --------
    >>> together((Unsure("one", 0.3, 0.0), Unsure("other", 0.4, 0.1)))
    (0.5, 0.1)
    """
    return hypot(*(part.length for part in parts)), hypot(*(part.depth for part in parts))


def _away(side: PhotoView, height: float) -> float:
    """How far the lens is over the outline [mm]."""
    return (side.away if side.camera is None else float(side.camera.at[2])) - height


def _moved(side: PhotoView, profile: Profile, height: float, cameras: list[Camera]) -> tuple[Array, Array]:
    """Length and depth [mm] of the same four places of the picture under other cameras, less what they are."""
    deep = int(np.argmax(profile.high - profile.low))
    own = np.array([
        (0.0, 0.0), (profile.length, 0.0),
        (profile.x[deep], profile.high[deep]), (profile.x[deep], profile.low[deep]),
    ])  # fmt: skip
    axes = np.stack([profile.along, (-profile.along[1], profile.along[0])])
    pixels = side.pixels_of(profile.nose + own @ axes, height)
    lengths, depths = [], []
    for camera in cameras:
        at = side.at_height(height, camera, pixels)
        lengths.append(float(np.linalg.norm(at[1] - at[0])) - profile.length)
        depths.append(float(np.linalg.norm(at[3] - at[2])) - float((profile.high - profile.low)[deep]))
    return np.array(lengths), np.array(depths)


def _by_focal(side: PhotoView, profile: Profile, height: float) -> tuple[float, float]:
    if side.camera is None or side.seen is None:
        facts = load("limits")["photo"]
        spread = float(facts["told_focal_spread" if side.photo.focal else "usual_focal_spread"])
        share = 0.0 if side.on_bait else height / side.away * spread / (1 - spread)
        return profile.length * share, float((profile.high - profile.low).max()) * share
    spread = side.camera.focal_spread
    if not spread:
        return 0.0, 0.0
    others = [camera_of(side.seen, None, side.camera.focal * share) for share in (1 - spread, 1 + spread)]
    lengths, depths = _moved(side, profile, height, others)
    return float(np.abs(lengths).max()), float(np.abs(depths).max())


def _by_markers(side: PhotoView, profile: Profile, height: float) -> tuple[float, float]:
    """Twice the standard error, by the jackknife over quarters of the markers; the focal length is held."""
    if side.camera is None or side.seen is None:
        return 0.0, 0.0
    fold = np.arange(len(side.seen.page)) // 4 % FOLDS
    others = [camera_of(side.seen.taken(fold != k), None, side.camera.focal) for k in range(FOLDS)]
    lengths, depths = _moved(side, profile, height, others)
    errors = (np.sqrt((FOLDS - 1) / FOLDS * ((v - v.mean()) ** 2).sum()) for v in (lengths, depths))
    length, depth = (2 * float(v) for v in errors)
    return length, depth


def _by_lean(side: PhotoView, profile: Profile, height: float, rocks: float, dips: float) -> tuple[float, float]:
    """A bait that leans by ``rocks`` [rad] about its long axis, and by ``dips`` [rad] with its nose up or down.

    Elementary: it looks shorter by its cosine, and each end, higher or lower by its half times the sine, moves by that
    times the lean of the ray there.
    """
    depth, length = float((profile.high - profile.low).max()), profile.length
    ends = side.lean(np.stack([profile.nose, profile.nose + length * profile.along]), height)
    along, over = ends @ profile.along, float(np.abs(ends).max())
    long = length * (1 - cos(dips)) + length / 2 * sin(dips) * abs(float(along.sum()))
    return long, depth / 2 * (1 - cos(rocks)) + depth / 2 * sin(rocks) * tan(min(over, 1.0))


def _by_edge(side: PhotoView, profile: Profile) -> tuple[float, float]:
    """Half of the blur to each side; at a pointed end all of it (30 drawn pictures: 0.1 mm at p95, 0.2 at points)."""
    depth = profile.high - profile.low
    near = np.array([np.interp(at, profile.x, depth) for at in (1.0, profile.length - 1.0)])
    ends = np.where(near < 0.25 * depth.max(), 1.0, 0.5) * side.blur
    return float(np.linalg.norm(ends)), float(np.hypot(0.5, 0.5)) * side.blur


def _by_sections(side: PhotoView, profile: Profile, height: float, half: Array) -> float:
    """Half of the range of depths, at the deepest place, that sections of both kinds give under the same outline.

    Derived here: a ray that leans by t touches a superellipse of exponent n at (d^q + (w t)^q)^(1/q), q = n / (n - 1).
    """
    deep = int(np.argmax(profile.high - profile.low))
    axis = np.array([-profile.along[1], profile.along[0]])
    size, wide = float((profile.high - profile.low)[deep]) / 2, float(half[deep])
    found = []
    for n in SQUARENESS:
        q, total = n / (n - 1), 0.0
        for line in (profile.high, profile.low):
            place = profile.nose + profile.x[deep] * profile.along + line[deep] * axis
            t = abs(float(side.lean(place[None], height)[0] @ axis))
            total += (size**q + (wide * t) ** q) ** (1 / q) - size
        found.append(total)
    return max(found) - min(found)
