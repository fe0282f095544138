"""The photograph with the recipe's own outline over it, and how far it leaves what was seen there [mm]."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array, Body
from bodygen.scan.photo.lines import Profile, across
from bodygen.scan.photo.view import PhotoView

AIR, LONGEST = 0.12, 2000
"""Room round the bait, as a share of its length in the picture; the longer side of what is written [px]."""
LINE, LETTERS = (255, 230, 0), (255, 255, 255)
FIGURES = 6


def draw_overlay(
    path: Path, view: PhotoView, profile: Profile, height: Array | float, lines: tuple[Array, Array, Array]
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
    height : (n,) array or float
        How high the curve lies over the ground [mm].
    lines : tuple of (n,) arrays
        The recipe's x, upper and lower line [mm], as they are seen.
    """
    import cv2
    from PIL import Image

    x, upper, lower = lines
    axis = across(profile.along)
    loops = [profile.nose + x[:, None] * profile.along + line[:, None] * axis for line in (upper, lower)]
    curve = [view.pixels_of(loop, height) for loop in loops]
    around = np.concatenate([*curve, view.outline])
    low, high = around.min(axis=0), around.max(axis=0)
    air = AIR * float((high - low).max())
    (x0, y0), (x1, y1) = np.maximum(low - air, 0).astype(int), (high + air).astype(int)
    crop = view.photo.rgb[y0:y1, x0:x1]
    share = LONGEST / max(crop.shape[:2])
    how = cv2.INTER_AREA if share < 1 else cv2.INTER_LINEAR
    picture = np.ascontiguousarray(cv2.resize(crop, None, fx=share, fy=share, interpolation=how))

    def shown(pixels: Array) -> NDArray[np.int32]:
        return np.asarray(np.round((np.atleast_2d(pixels) - (x0, y0)) * share * 16), dtype=np.int32)

    for line in curve:
        cv2.polylines(picture, [shown(line)], False, LINE, 2, cv2.LINE_AA, 4)
    for line, seen, pixels, sign in ((upper, profile.high, curve[0], 1), (lower, profile.low, curve[1], -1)):
        off = sign * (line - np.interp(x, profile.x, seen))
        out = pixels - (curve[1] if sign == 1 else curve[0])
        for i in np.linspace(0.08, 0.92, FIGURES) * (len(x) - 1):
            at = round(i)
            way = out[at] / max(float(np.linalg.norm(out[at])), 1e-9)
            foot = shown(pixels[at] + way * 0.35 * air)[0]
            cv2.line(picture, tuple(shown(pixels[at])[0]), tuple(foot), LINE, 1, cv2.LINE_AA, 4)
            text = f"{off[at]:+.2f}"
            (wide, tall), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 0.7, 2)
            place = (int(foot[0] / 16 - wide / 2), int(foot[1] / 16 + (tall + 6 if way[1] > 0 else -6)))
            cv2.putText(picture, text, place, cv2.FONT_HERSHEY_SIMPLEX, 0.7, (0, 0, 0), 5, cv2.LINE_AA)
            cv2.putText(picture, text, place, cv2.FONT_HERSHEY_SIMPLEX, 0.7, LETTERS, 2, cv2.LINE_AA)
    Image.fromarray(picture).save(path)


def side_lines(body: Body, film: float, x: Array) -> tuple[Array, Array]:
    """Upper and lower line (n,) [mm] over the traced x (n,), the film of the coats on them."""
    low, high = body.heights_at(np.clip(x - film, 0, body.length))
    return np.asarray(high) + film, np.asarray(low) - film


def top_lines(body: Body, film: float, x: Array) -> tuple[Array, Array]:
    """Both flanks (n,) [mm] over the traced x (n,), the film of the coats on them."""
    half = np.asarray(body.half_width_at(np.clip(x - film, 0, body.length))) + film
    return half, -half
