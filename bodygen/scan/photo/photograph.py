"""A photograph: its pixels, upright and not more of them than help, and what its file says of the lens.

Knows files of pictures. Knows nothing of what is seen.
"""

from dataclasses import dataclass
from hashlib import sha256
from math import hypot
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake

Pixels = NDArray[np.uint8]
LARGEST_FILE, MOST_PIXELS, LONGEST, FEWEST = 250_000_000, 250_000_000, 4000, 300
"""Bytes, pixels and longer side of a file that is read, and the shorter side that shows enough [px]."""
FULL_FRAME_DIAGONAL_MM = hypot(36.0, 24.0)
EXIF, FOCAL_35 = 0x8769, 0xA405
"""Numbers of EXIF 2.3: its own directory, FocalLengthIn35mmFilm."""


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
    """Read a JPEG, PNG or another picture that Pillow opens, at most ``LONGEST`` pixels along its longer side.

    Raises
    ------
    InputError
        No such file, no picture, or one far too large or too small.
    """
    from PIL import Image, ImageOps

    content = _content(path)
    limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        with Image.open(path) as picture:
            wide, high = picture.size
            if wide * high > MOST_PIXELS or min(wide, high) < FEWEST:
                problem = f"{wide} by {high} pixels."
                raise _mistake(path, problem, f"{FEWEST} pixels or more a side, {MOST_PIXELS:,} at most in all")
            told = float(picture.getexif().get_ifd(EXIF).get(FOCAL_35, 0) or 0)
            picture.draft("RGB", (LONGEST, LONGEST))
            share = max(1, -(-max(picture.size) // LONGEST))
            small = picture.reduce(share) if share > 1 and picture.mode in {"RGB", "L"} else picture
            if clear_is_black and "A" in small.getbands():
                small = Image.alpha_composite(Image.new("RGBA", small.size, "black"), small.convert("RGBA"))
            upright = ImageOps.exif_transpose(small.convert("RGB"))
            turned = (picture.getexif().get(0x0112, 1) or 1) >= 5
            upright.thumbnail((LONGEST, LONGEST))
            rgb = np.asarray(upright)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        problem = f"not a picture that can be read ({error})."
        raise _mistake(path, problem, "a JPEG, PNG, TIFF or WebP file") from None
    finally:
        Image.MAX_IMAGE_PIXELS = limit
    scale = rgb.shape[1] / (high if turned else wide)
    focal = told / FULL_FRAME_DIAGONAL_MM * hypot(*rgb.shape[:2]) if 8 <= told <= 300 else None
    return Photograph(path.as_posix(), sha256(content).hexdigest(), rgb, scale, focal)


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
