"""One photograph with the bait's outline in it, and where that outline lies in mm at any height over the ground.

With the page there is a camera, and the page's own axes; with a span alone there is one scale for the whole picture,
x to its right and y up it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.body import Array
from bodygen.scan.photo.camera import Camera, Sightings, camera_of, sightings
from bodygen.scan.photo.outline.silhouette import PER_MM, NothingSeenError, Silhouette, silhouette
from bodygen.scan.photo.page import marker_page
from bodygen.scan.photo.photograph import FULL_FRAME_DIAGONAL_MM, Photograph, read_photograph
from bodygen.tables import load

RIM_MM, INSET_MM = 6.0, 1.5
LARGEST_FLAT = 3200
ON_THE_BAIT_MM = 4.0


@dataclass(frozen=True, slots=True)
class PixelSpan:
    """Two places (x, y) of a picture [px of the file, from its top left] and how far apart they are [mm]."""

    start: tuple[float, float]
    end: tuple[float, float]
    length: float


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """The flat picture ``rgb`` (h, w, 3), what was ``found`` in it, and its pixels ``to_picture``, the photograph's."""

    rgb: NDArray[np.uint8]
    found: Silhouette
    to_picture: Callable[[Array], Array]


@dataclass(frozen=True, slots=True, eq=False)
class PhotoView:
    """A picture, the ``outline`` (k, 2) [px] that was found in it, and how it is measured.

    Either ``camera`` with its ``seen`` corners, or ``per_px`` [mm] of a span; ``away`` [mm]: how far the lens was, as
    far as anybody can tell; ``on_bait``: the span's ends lie on the bait itself; ``blur`` [mm] of the picture's edges.
    """

    photo: Photograph
    outline: Array
    flat: Flat
    camera: Camera | None = None
    seen: Sightings | None = None
    per_px: float = 0.0
    away: float = 0.0
    on_bait: bool = False
    blur: float = 0.0

    def at_height(self, height: Array | float, camera: Camera | None = None, pixels: Array | None = None) -> Array:
        """Where the outline (or other ``pixels``) lies at a height over the ground (k, 2) [mm]."""
        pixels = self.outline if pixels is None else pixels
        if not len(pixels):
            return np.zeros((0, 2))
        camera = camera or self.camera
        if camera is not None:
            return camera.on_plane(pixels, height)
        shrink = 1.0 if self.on_bait else 1 - np.asarray(height) / self.away
        middle = np.array(self.photo.rgb.shape[1::-1]) / 2
        flat = (pixels - middle) * (self.per_px, -self.per_px)
        return np.asarray(flat * np.broadcast_to(shrink, (len(flat),))[:, None])

    def pixels_of(self, points: Array, height: Array | float) -> Array:
        """Where places (k, 2) [mm] at a height over the ground are in the picture (k, 2) [px]."""
        if self.camera is not None:
            return self.camera.pixels(np.column_stack([points, np.broadcast_to(height, (len(points),))]))
        shrink = 1.0 if self.on_bait else 1 - np.asarray(height) / self.away
        middle = np.array(self.photo.rgb.shape[1::-1]) / 2
        return np.asarray(points / shrink / (self.per_px, -self.per_px) + middle)

    def lean(self, points: Array, height: float) -> Array:
        """How far the ray through each place (k, 2) [mm] leans off the upright, x and y (k, 2) [-]."""
        if self.camera is not None:
            at = self.camera.at
            return np.asarray((points - at[:2]) / (at[2] - height))
        return np.asarray(points / (self.away - height))


def view_of(path: Path, paper: str | None, span: PixelSpan | None, mask: Path | None = None) -> PhotoView:
    """Read a picture and find the bait in it, on the page of this paper or by a span.

    Raises
    ------
    InputError
        A picture that cannot be read, a page that is not there, no bait, or more than one.
    """
    photo = read_photograph(path)
    strokes = None if mask is None else _strokes(mask, photo)
    try:
        return _on_page(photo, paper, strokes) if paper else _by_span(photo, span, strokes)
    except NothingSeenError as error:
        accepted = "one bait in the free middle, whole, nothing beside it; --mask covers what is no bait"
        raise InputError([Mistake(photo.file, 0, "", "", str(error), accepted)]) from None


def _on_page(photo: Photograph, paper: str, strokes: NDArray[np.uint8] | None) -> PhotoView:
    import cv2

    seen = sightings(photo, paper)
    camera = camera_of(seen, photo.focal)
    x0, y0, x1, y1 = marker_page(paper).middle
    wide, high = round((x1 - x0) * PER_MM), round((y1 - y0) * PER_MM)
    x, y = np.meshgrid(x0 + (np.arange(wide) + 0.5) / PER_MM, y1 - (np.arange(high) + 0.5) / PER_MM)
    at = (
        camera
        .pixels(np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)]))
        .reshape(high, wide, 2)
        .astype(np.float32)
    )
    denser = float(np.linalg.norm(at[0, 0] - at[-1, -1]) / hypot(wide, high))
    rgb = cv2.GaussianBlur(photo.rgb, (0, 0), 0.4 * denser) if denser > 1.2 else photo.rgb
    whole = cv2.remap(rgb, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inset, rim = round(INSET_MM * PER_MM), round(RIM_MM * PER_MM)
    flat = np.ascontiguousarray(whole[inset:-inset, inset:-inset], dtype=np.uint8)
    covered = None if strokes is None else _covered(strokes, at)[inset:-inset, inset:-inset]
    found = silhouette(flat, _frame(flat.shape[:2], rim), covered)

    def to_picture(pixels: Array) -> Array:
        on = np.column_stack([
            x0 + (pixels[:, 0] + inset + 0.5) / PER_MM,
            y1 - (pixels[:, 1] + inset + 0.5) / PER_MM,
            0 * pixels[:, 0],
        ])
        return camera.pixels(on)

    return PhotoView(photo, to_picture(found.outline), Flat(flat, found, to_picture), camera, seen, blur=found.blur)


def _by_span(photo: Photograph, span: PixelSpan | None, strokes: NDArray[np.uint8] | None) -> PhotoView:
    import cv2

    assert span is not None  # noqa: S101  the command line asks for one or the other
    start, end = (np.array(p) * photo.scale for p in (span.start, span.end))
    apart = float(np.linalg.norm(end - start))
    high, wide = photo.rgb.shape[:2]
    inside = all(0 <= p[0] <= wide and 0 <= p[1] <= high for p in (start, end))
    if apart < 50 or not inside:
        problem = (
            f"its ends are {apart / photo.scale:.0f} pixels apart{'' if inside else ', one outside of the picture'}."
        )
        accepted = "two places in the picture, far apart, such as two marks of a ruler"
        raise InputError([Mistake("command line", 0, "--span", "", problem, accepted)])
    per_px = span.length / apart
    share = per_px * PER_MM
    if share * max(wide, high) > LARGEST_FLAT:
        problem = f"by that the picture shows {per_px * max(wide, high):.0f} mm from side to side."
        raise InputError([Mistake("command line", 0, "--span", "", problem, f"{LARGEST_FLAT / PER_MM:.0f} mm at most")])
    size = (max(1, round(wide * share)), max(1, round(high * share)))
    how = cv2.INTER_AREA if share < 1 else cv2.INTER_LINEAR
    flat = np.asarray(cv2.resize(photo.rgb, size, interpolation=how), dtype=np.uint8)
    rim = max(3, round(0.04 * min(size)))
    covered = None if strokes is None else cv2.resize(strokes, size, interpolation=cv2.INTER_NEAREST) > 0
    found = silhouette(flat, _frame(flat.shape[:2], rim), covered)
    factor = np.array([wide / size[0], high / size[1]])

    def to_picture(pixels: Array) -> Array:
        return np.asarray((pixels + 0.5) * factor - 0.5)

    outline = to_picture(found.outline)
    ends = [float(np.linalg.norm(outline - p, axis=1).min()) * per_px for p in (start, end)]
    focal = photo.focal or float(load("limits")["photo"]["usual_focal_35_mm"]) / FULL_FRAME_DIAGONAL_MM * hypot(
        wide, high
    )
    on_bait = max(ends) < ON_THE_BAIT_MM
    return PhotoView(
        photo, outline, Flat(flat, found, to_picture), None, None, per_px, focal * per_px, on_bait, found.blur
    )


def _frame(shape: tuple[int, ...], rim: int) -> NDArray[np.bool_]:
    frame = np.ones(shape[:2], dtype=bool)
    frame[rim:-rim, rim:-rim] = False
    return frame


def _strokes(path: Path, photo: Photograph) -> NDArray[np.uint8]:
    """The maker's strokes over a picture, in its own size: whatever is neither black nor clear covers."""
    import cv2

    drawn = read_photograph(path, clear_is_black=True).rgb.max(axis=2)
    high, wide = photo.rgb.shape[:2]
    if abs(drawn.shape[1] / drawn.shape[0] - wide / high) > 0.02 * wide / high:
        problem = f"{drawn.shape[1]} by {drawn.shape[0]} pixels do not lie over {wide} by {high}."
        raise InputError([Mistake(path.as_posix(), 0, "", "", problem, "the same sides as the photograph's")])
    return np.asarray(cv2.resize(drawn, (wide, high), interpolation=cv2.INTER_NEAREST) > 40, dtype=np.uint8)


def _covered(strokes: NDArray[np.uint8], at: NDArray[np.float32]) -> NDArray[np.bool_]:
    import cv2

    return np.asarray(cv2.remap(strokes, at[..., 0], at[..., 1], cv2.INTER_NEAREST)) > 0
