"""A photograph: its pixels, upright and not more of them than help, and what its file says of the lens.

Knows files of pictures. Knows nothing of what is seen.
"""

from dataclasses import dataclass
from hashlib import sha256
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING
from warnings import catch_warnings

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake

if TYPE_CHECKING:
    from PIL import Image

Pixels = NDArray[np.uint8]
KINDS = ("JPEG", "PNG", "TIFF", "WEBP")
"""What cameras and scanners write; of what Pillow knows besides, it hands some to other programs to be carried out."""
LARGEST_FILE, MOST_PIXELS, LONGEST, FEWEST = 250_000_000, 250_000_000, 4000, 300
"""Bytes, pixels and longer side of a file that is read, and the shorter side that shows enough [px]."""
FULL_FRAME_DIAGONAL_MM = hypot(36.0, 24.0)
EXIF, FOCAL_35, ORIENTATION = 0x8769, 0xA405, 0x0112
"""Numbers of EXIF 2.3: its own directory, FocalLengthIn35mmFilm, Orientation."""
TURNS = {
    2: "FLIP_LEFT_RIGHT",
    3: "ROTATE_180",
    4: "FLIP_TOP_BOTTOM",
    5: "TRANSPOSE",
    6: "ROTATE_270",
    7: "TRANSVERSE",
    8: "ROTATE_90",
}
"""What makes a picture upright, by orientation."""


@dataclass(frozen=True, slots=True, eq=False)
class Photograph:
    """An upright picture ``rgb`` (h, w, 3); ``scale``: its pixels to one of the file's [-].

    ``focal`` is that which the file tells [px of this picture], or None.
    """

    file: str
    sha256: str
    rgb: Pixels
    scale: float
    focal: float | None


def read_photograph(path: Path, *, clear_is_black: bool = False) -> Photograph:
    """Read a JPEG, PNG, TIFF or WebP picture, at most ``LONGEST`` pixels along its longer side.

    Raises
    ------
    InputError
        No such file, no picture, or one far too large or too small.
    """
    from PIL import Image, UnidentifiedImageError

    content = _content(path)
    limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        with catch_warnings(action="ignore"), Image.open(path, formats=KINDS) as picture:
            size = picture.size
            if _is_right(size):
                told = _focal_35(picture)
                rgb, turned = _upright(picture, clear_is_black)
    except Exception as error:  # noqa: BLE001  a parser may raise anything on a hostile file
        why = "no kind of file that is known" if isinstance(error, UnidentifiedImageError) else error
        problem = f"not a picture that can be read ({why})."
        raise _mistake(path, problem, "a JPEG, PNG, TIFF or WebP file") from None
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    if not _is_right(size):
        problem = f"{size[0]} by {size[1]} pixels."
        raise _mistake(path, problem, f"{FEWEST} pixels or more a side, {MOST_PIXELS:,} at most in all")
    scale = rgb.shape[1] / size[1 if turned else 0]
    focal = told / FULL_FRAME_DIAGONAL_MM * hypot(*rgb.shape[:2]) if 8 <= told <= 300 else None
    return Photograph(path.as_posix(), sha256(content).hexdigest(), rgb, scale, focal)


def _is_right(size: tuple[int, int]) -> bool:
    return size[0] * size[1] <= MOST_PIXELS and min(size) >= FEWEST


def _upright(picture: "Image.Image", clear_is_black: bool) -> tuple[Pixels, bool]:
    """Its pixels, turned as the file says and not too many of them; whether sides and ends changed places."""
    from PIL import Image

    picture.draft("RGB", (LONGEST, LONGEST))
    picture.load()
    share = max(1, -(-max(picture.size) // LONGEST))
    small = picture.reduce(share) if share > 1 and picture.mode in {"RGB", "L"} else picture
    if clear_is_black and "A" in small.getbands():
        small = Image.alpha_composite(Image.new("RGBA", small.size, "black"), small.convert("RGBA"))
    turn = _orientation(picture)
    upright = small.convert("RGB")
    if turn in TURNS:
        upright = upright.transpose(Image.Transpose[TURNS[turn]])
    upright.thumbnail((LONGEST, LONGEST))
    return np.asarray(upright), turn >= 5


def _orientation(picture: "Image.Image") -> int:
    """How the camera was held, 1 to 8; 1, upright, where the file says nothing that can be read."""
    try:
        found = int(picture.getexif().get(ORIENTATION, 1))
    except Exception:  # noqa: BLE001  what a file says beside its picture spoils no picture
        return 1
    return found if found in TURNS else 1


def _focal_35(picture: "Image.Image") -> float:
    """The focal length on a full frame that the file tells [mm], 0 where it tells none that can be read."""
    try:
        return float(picture.getexif().get_ifd(EXIF).get(FOCAL_35, 0) or 0)
    except Exception:  # noqa: BLE001  what a file says beside its picture spoils no picture
        return 0.0


def _content(path: Path) -> bytes:
    if path.is_file() and path.stat().st_size <= LARGEST_FILE:
        return path.read_bytes()
    if not path.exists():
        problem = "no such file."
    else:
        problem = f"larger than {LARGEST_FILE // 1_000_000} MB." if path.is_file() else "not a plain file."
    raise _mistake(path, problem, "a photograph")


def _mistake(path: Path, problem: str, accepted: str) -> InputError:
    return InputError([Mistake(path.as_posix(), 0, "", "", problem, accepted)])
