"""The photograph with the recipe's own outline over it, and how far it leaves what was seen there [mm]."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array, Body
from bodygen.scan.photo.outline.lines import Profile, across
from bodygen.scan.photo.view import PhotoView
from bodygen.scan.record import Proposed

AIR, LONGEST = 0.14, 2000
"""Room round the bait, as a share of its length in the picture; the longer side of what is written [px]."""
LINE, LETTERS, EDGE = (255, 230, 0), (255, 255, 255), (0, 0, 0)
FONT, SIZE = 0, 0.7
"""OpenCV's plain letters, and how large."""
FIGURES = 6
LEGEND = "yellow: the recipe; figures: how far it stands outside of what is seen [mm]"


def draw_overlay(
    path: Path,
    view: PhotoView,
    profile: Profile,
    height: float,
    lines: tuple[Array, Array, Array],
    parts: tuple[Proposed, ...] = (),
) -> None:
    """Write a PNG of the bait's surroundings with a curve over it.

    Parameters
    ----------
    path : Path
        File to write.
    view : PhotoView
        The photograph.
    profile : Profile
        What was seen, in whose axes the curve is.
    height : float
        How high the curve lies over the ground [mm].
    lines : tuple of (n,) arrays
        The recipe's x, upper and lower line [mm], as they are seen.
    parts : tuple of Proposed
        What is marked by a cross and its name.
    """
    import cv2
    from PIL import Image

    x, upper, lower = lines
    loops = [_placed(profile, np.column_stack([x, line])) for line in (upper, lower)]
    curve = [view.pixels_of(loop, height) for loop in loops]
    around = np.concatenate([*curve, view.outline])
    low, high = around.min(axis=0), around.max(axis=0)
    air = AIR * float((high - low).max())
    (x0, y0), (x1, y1) = np.maximum(low - air, 0).astype(int), (high + air).astype(int)
    crop = view.photo.rgb[y0:y1, x0:x1]
    share = LONGEST / max(crop.shape[:2])
    how = cv2.INTER_AREA if share < 1 else cv2.INTER_LINEAR
    picture = np.ascontiguousarray(cv2.resize(crop, None, fx=share, fy=share, interpolation=how), dtype=np.uint8)

    def shown(pixels: Array) -> NDArray[np.int32]:
        return np.asarray(np.round((np.atleast_2d(pixels) - (x0, y0)) * share * 16), dtype=np.int32)

    whole = shown(np.concatenate([curve[0], curve[1][::-1]]))
    for colour, wide in ((EDGE, 4), (LINE, 2)):
        cv2.polylines(picture, [whole], True, colour, wide, cv2.LINE_AA, 4)
    for line, seen, pixels, sign in ((upper, profile.high, curve[0], 1), (lower, profile.low, curve[1], -1)):
        off = sign * (line - np.interp(x, profile.x, seen))
        out = pixels - (curve[1] if sign == 1 else curve[0])
        for share_of_length in np.linspace(0.08, 0.92, FIGURES):
            at = int(np.argmin(np.abs(x - share_of_length * x[-1])))
            way = out[at] / max(float(np.linalg.norm(out[at])), 1e-9)
            foot = shown(pixels[at] + way * 0.35 * air)[0]
            cv2.line(picture, tuple(shown(pixels[at])[0]), tuple(foot), LINE, 1, cv2.LINE_AA, 4)
            _written(picture, f"{off[at] + 0.0:+.2f}".replace("-0.00", "+0.00"), foot / 16, below=way[1] > 0)
    for part in parts:
        place = shown(view.pixels_of(_placed(profile, np.array([[part.x, part.z]])), height + part.over))[0]
        cv2.drawMarker(picture, tuple(int(v) for v in place // 16), EDGE, cv2.MARKER_CROSS, 26, 5)
        cv2.drawMarker(picture, tuple(int(v) for v in place // 16), LETTERS, cv2.MARKER_CROSS, 24, 2)
        _written(picture, part.kind, place / 16 + (0, 14), below=True)
    _written(picture, LEGEND, np.array([picture.shape[1] / 2, picture.shape[0] - 10.0]), below=False)
    Image.fromarray(picture).save(path)


def _placed(profile: Profile, own: Array) -> Array:
    """Places of the body's axes (k, 2) on the ground (k, 2) [mm]."""
    return np.asarray(profile.nose + own @ np.stack([profile.along, across(profile.along)]))


def _written(picture: NDArray[np.uint8], text: str, at: Array, *, below: bool) -> None:
    """Letters with a dark edge, their middle at a place (2,) [px], below or above it (in place)."""
    import cv2

    (wide, tall), _ = cv2.getTextSize(text, FONT, SIZE, 2)
    left = int(np.clip(at[0] - wide / 2, 4, max(4, picture.shape[1] - wide - 4)))
    base = int(np.clip(at[1] + (tall + 6 if below else -6), tall + 4, picture.shape[0] - 6))
    for colour, thick in ((EDGE, 5), (LETTERS, 2)):
        cv2.putText(picture, text, (left, base), FONT, SIZE, colour, thick, cv2.LINE_AA)


def side_lines(body: Body, film: float, x: Array) -> tuple[Array, Array]:
    """Upper and lower line (n,) [mm] over the traced x (n,), the film of the coats on them."""
    inside, over = _under(body, film, x)
    low, high = body.heights_at(inside)
    return np.asarray(high) + over, np.asarray(low) - over


def top_lines(body: Body, film: float, x: Array) -> tuple[Array, Array]:
    """Both flanks (n,) [mm] over the traced x (n,), the film of the coats on them."""
    inside, over = _under(body, film, x)
    half = np.asarray(body.half_width_at(inside)) + over
    return half, -half


def _under(body: Body, film: float, x: Array) -> tuple[Array, Array]:
    """Where the body is under the traced x (n,), and how far its film stands out there [mm]: round, past an end."""
    inside = np.clip(x - film, 0, body.length)
    return inside, np.sqrt(np.maximum(film**2 - (x - film - inside) ** 2, 0.0))
