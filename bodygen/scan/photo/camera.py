"""Where the camera stood, from the markers of one page; and where a pixel lies on a plane above that page.

Focal length and the first term of the lens are free where the page is tilted enough to tell them, the centre of the
picture and square pixels are taken for granted. Knows markers and pinholes. Knows nothing of baits.
"""

from dataclasses import dataclass
from math import acos, degrees, hypot

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.form.body import Array
from bodygen.scan.photo.page import MarkerPage, marker_page, page_of
from bodygen.scan.photo.photograph import FULL_FRAME_DIAGONAL_MM, Photograph
from bodygen.tables import load

FEWEST_MARKERS = 8
FINDING = 2400
"""Longer side of the picture in which markers are looked for first [px]; their corners are refined in the whole one."""


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A pinhole with one lens term above a page whose z points at it.

    ``matrix`` (3, 3) [px] and ``lens`` (5,) as OpenCV has them, ``turn`` (3, 3) and ``shift`` (3,) [mm] from page to
    camera; ``tilt`` [rad] of its axis off the page's normal; ``off`` [px], root mean square of the corners.
    ``focal_spread``: the share by which the focal length may be wrong.
    """

    matrix: Array
    lens: Array
    turn: Array
    shift: Array
    tilt: float
    off: float
    focal_from: str
    focal_spread: float

    @property
    def focal(self) -> float:
        """Focal length [px]."""
        return float(self.matrix[0, 0])

    @property
    def at(self) -> Array:
        """Where the lens is (3,) [mm over the page]."""
        return np.asarray(-self.turn.T @ self.shift)

    def on_plane(self, pixels: Array, height: Array | float) -> Array:
        """Where pixels (k, 2) lie at a ``height`` (k,) over the page: x and y (k, 2) [mm]."""
        import cv2

        flat = cv2.undistortPoints(np.asarray(pixels, dtype=float).reshape(-1, 1, 2), self.matrix, self.lens)
        rays = np.concatenate([flat.reshape(-1, 2), np.ones((len(flat), 1))], axis=1) @ self.turn
        way = (height - self.at[2]) / rays[:, 2]
        return np.asarray(self.at[:2] + way[:, None] * rays[:, :2])

    def pixels(self, points: Array) -> Array:
        """Where points (k, 3) over the page [mm] are in the picture (k, 2) [px]."""
        import cv2

        if not len(points):
            return np.zeros((0, 2))
        turned = cv2.Rodrigues(self.turn)[0]
        found, _ = cv2.projectPoints(np.asarray(points, dtype=float), turned, self.shift, self.matrix, self.lens)
        return np.asarray(found, dtype=float).reshape(-1, 2)


@dataclass(frozen=True, slots=True, eq=False)
class Sightings:
    """Corners of markers: ``page`` (n, 2) [mm] and ``picture`` (n, 2) [px], of a picture of ``size`` (w, h) [px]."""

    page: Array
    picture: Array
    size: tuple[int, int]

    def taken(self, which: NDArray[np.bool_]) -> "Sightings":
        """Some of the corners (n,)."""
        return Sightings(self.page[which], self.picture[which], self.size)


def sightings(photo: Photograph, paper: str) -> Sightings:
    """Find the page's markers in a picture.

    Raises
    ------
    InputError
        No page, too little of it, another page than said, or one that is mirror-written.
    """
    numbers, corners = _found(photo.rgb)
    page = marker_page(paper)
    if not len(numbers):
        mirrored, _ = _found(np.ascontiguousarray(photo.rgb[:, ::-1]))
        if len(mirrored) >= FEWEST_MARKERS:
            problem = "the page is mirror-written in this picture: its letters run backwards."
            accepted = "a picture that is not flipped (a selfie camera flips), of a page that is printed as it comes"
        else:
            problem = "none of the page's markers is to be seen."
            accepted = "the whole page of `bodygen trace page` in the picture, sharp and lit; or --span"
        raise _mistake(photo, problem, accepted)
    other = page_of(numbers)
    if other is not None and other.paper != paper:
        raise _mistake(photo, f"this is the {other.paper} page.", f"--page {other.paper}")
    own = np.isin(numbers, page.numbers)
    numbers, corners = numbers[own], corners[own]
    at = page.corners[numbers - page.numbers[0]]
    if len(numbers) < FEWEST_MARKERS or not _surrounds(at.mean(axis=1), page):
        problem = f"{len(numbers)} of the page's {len(page.numbers)} markers are to be seen: it is cut off or covered."
        raise _mistake(photo, problem, "all four sides of the page in the picture")
    size = (photo.rgb.shape[1], photo.rgb.shape[0])
    return Sightings(at.reshape(-1, 2), corners.reshape(-1, 2), size)


def camera_of(seen: Sightings, focal_told: float | None, focal: float | None = None) -> Camera:
    """The camera that sees the corners where they are.

    Parameters
    ----------
    seen : Sightings
        Corners on the page and in the picture.
    focal_told : float or None
        What the picture's file says [px]; used where the tilt is too small to tell.
    focal : float, optional
        Hold it at this [px], whatever else there is.

    References
    ----------
    Zhang, A flexible new technique for camera calibration (2000), for one view, by OpenCV's ``calibrateCamera``.
    """
    facts = load("limits")["photo"]
    free = None
    if focal is None:
        free = _solved(seen, None)
        far = free.tilt >= np.radians(float(facts["least_tilt_deg"]))
        diagonal = hypot(*seen.size)
        sensible = 0.4 * diagonal < free.focal < 8 * diagonal
        if far and sensible and free.focal_spread < 0.3:
            return free
    if focal is not None:
        return _solved(seen, focal)
    if focal_told is not None:
        return _solved(seen, focal_told, "the picture's file", float(facts["told_focal_spread"]))
    usual = float(facts["usual_focal_35_mm"]) / FULL_FRAME_DIAGONAL_MM * hypot(*seen.size)
    return _solved(seen, usual, "what is usual", float(facts["usual_focal_spread"]))


def _solved(seen: Sightings, focal: float | None, how: str = "the page", spread: float = 0.0) -> Camera:
    """Solve for pose, lens and, where it is None, focal length [px]."""
    import cv2

    wide, high = seen.size
    start = focal or 28.0 / FULL_FRAME_DIAGONAL_MM * hypot(wide, high)
    matrix = np.array([[start, 0, (wide - 1) / 2], [0, start, (high - 1) / 2], [0, 0, 1]])
    flags = (
        cv2.CALIB_USE_INTRINSIC_GUESS
        | cv2.CALIB_FIX_PRINCIPAL_POINT
        | cv2.CALIB_FIX_ASPECT_RATIO
        | cv2.CALIB_ZERO_TANGENT_DIST
        | cv2.CALIB_FIX_K2
        | cv2.CALIB_FIX_K3
    )
    if focal is not None:
        flags |= cv2.CALIB_FIX_FOCAL_LENGTH
    on_page = np.concatenate([seen.page, np.zeros((len(seen.page), 1))], axis=1).astype(np.float32)
    off, matrix, lens, turns, shifts, spreads, *_ = cv2.calibrateCameraExtended(
        [on_page], [seen.picture.astype(np.float32)], seen.size, matrix, np.zeros(5), flags=flags
    )
    turn = np.asarray(cv2.Rodrigues(turns[0])[0], dtype=float)
    tilt = acos(min(1.0, abs(float(turn[2, 2]))))
    if focal is None:
        spread = 2 * float(spreads.ravel()[:2].max()) / float(matrix[0, 0])
    found, bent, shift = (np.asarray(v, dtype=float) for v in (matrix, lens, shifts[0]))
    return Camera(found, bent.ravel(), turn, shift.ravel(), tilt, float(off), how, spread)


def _found(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.int64], Array]:
    """Numbers (n,) and corners (n, 4, 2) [px] of the markers in a picture, each corner refined."""
    import cv2

    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    share = min(1.0, FINDING / max(grey.shape))
    small = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA) if share < 1 else grey
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    found, numbers, _ = cv2.aruco.ArucoDetector(family).detectMarkers(small)
    if numbers is None or not len(numbers):
        return np.zeros(0, dtype=np.int64), np.zeros((0, 4, 2))
    corners = (np.array(found, dtype=np.float32).reshape(-1, 4, 2) + 0.5) / share - 0.5
    side = float(np.median(np.linalg.norm(np.diff(corners, axis=1), axis=2)))
    reach = int(np.clip(side / 16, 2, 8))
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.005)
    refined = cv2.cornerSubPix(grey, corners.reshape(-1, 1, 2), (reach, reach), (-1, -1), stop)
    return numbers.ravel().astype(np.int64), np.asarray(refined, dtype=float).reshape(-1, 4, 2)


def _surrounds(at: Array, page: MarkerPage) -> bool:
    """Whether the markers seen (n, 2) [mm] lie on all four sides of the middle."""
    x0, y0, x1, y1 = page.middle
    return bool((at[:, 0] < x0).any() and (at[:, 0] > x1).any() and (at[:, 1] < y0).any() and (at[:, 1] > y1).any())


def tilt_text(camera: Camera) -> str:
    """Say how the camera was held and where its focal length comes from."""
    spread = f", within {100 * camera.focal_spread:.0f} %" if camera.focal_spread else ""
    return (
        f"The camera leant by {degrees(camera.tilt):.1f} deg; its focal length comes from {camera.focal_from}{spread}."
    )


def _mistake(photo: Photograph, problem: str, accepted: str) -> InputError:
    return InputError([Mistake(photo.file, 0, "", "", problem, accepted)])
