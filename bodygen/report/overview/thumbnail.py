"""A small picture of a part that is in no drawing: what an STL file holds, seen from above and ahead, shaded, as a PNG.

Needs no library of an extra, as every build shows its files.
"""

import struct
import zlib
from pathlib import Path

import numpy as np

from bodygen.plane.page import Array

WIDE, TALL, EDGE = 216, 144, 8
"""Size of a picture and what is left free round the part [pixels]."""
SAMPLES = 1.0
"""Points that are put on a facet for each pixel that it covers [-]; each inks its neighbours, too."""
_AROUND = np.array([(x, y) for y in (-1, 0, 1) for x in (-1, 0, 1)])
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
# Looking down by 35 degrees, turned by 30: right, up and towards the eye.
_TURN, _DOWN = np.radians(30.0), np.radians(35.0)
_RIGHT = np.array([np.cos(_TURN), np.sin(_TURN), 0.0])
_AHEAD = np.array([-np.sin(_TURN), np.cos(_TURN), 0.0])
_UP = np.sin(_DOWN) * _AHEAD + np.cos(_DOWN) * np.array([0.0, 0.0, 1.0])
_EYE = np.cross(_RIGHT, _UP)
_LIGHT = np.array([-0.35, -0.45, 0.82])


def stl_picture(path: Path) -> bytes:
    """Draw a binary STL file.

    Returns
    -------
    bytes
        A PNG of WIDE by TALL pixels in greys, white where nothing is; the same bytes for the same file.
    """
    corners = np.frombuffer(path.read_bytes(), _FACET, offset=84)["corners"].astype(float)
    return grey_png(shaded(corners))


def shaded(corners: Array) -> np.ndarray:
    """Facets (n, 3, 3) [mm] as greys (TALL, WIDE) from 0 to 255, by points strewn evenly over each facet.

    Derived here: the nearest of all points on a pixel is the one that is seen.
    """
    image = np.full((TALL, WIDE), 255, np.uint8)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    faces = normals @ _EYE > 0  # a closed part hides the others
    corners, normals = corners[faces], normals[faces]
    if not len(corners):
        return image
    flat = np.stack([corners @ _RIGHT, -(corners @ _UP)], axis=-1)
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    scale = float(np.min((np.array([WIDE, TALL]) - 2 * EDGE) / np.maximum(high - low, 1e-9)))
    flat = (flat - (low + high) / 2) * scale + np.array([WIDE, TALL]) / 2
    sides = flat[:, 1:] - flat[:, :1]
    area = np.abs(sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0]) / 2
    facet = np.repeat(np.arange(len(corners)), np.ceil(SAMPLES * area).astype(int) + 1)
    # shares of the two sides from the additive sequence of the plastic number, folded into the triangle
    k = np.arange(len(facet))
    u, v = (k * 0.7548776662) % 1.0, (k * 0.5698402910) % 1.0
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    at = flat[facet, 0] + u[:, None] * sides[facet, 0] + v[:, None] * sides[facet, 1]
    depth = corners @ _EYE
    near = depth[facet, 0] + u * (depth[facet, 1] - depth[facet, 0]) + v * (depth[facet, 2] - depth[facet, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    light = np.clip((normals / np.maximum(lengths, 1e-12)) @ _LIGHT, 0.0, 1.0)
    grey = (70 + 160 * light).astype(np.uint8)
    order = np.argsort(near, kind="stable")
    x, y = (at[order].astype(int)[:, None] + _AROUND).reshape(-1, 2).T
    shown = np.repeat(grey[facet[order]], len(_AROUND))
    image[np.clip(y, 0, TALL - 1), np.clip(x, 0, WIDE - 1)] = shown  # of several the last, nearest one
    return image


def grey_png(image: np.ndarray) -> bytes:
    """Pack greys (rows, columns) as a PNG (W3C Portable Network Graphics, third edition, from memory)."""
    rows, columns = image.shape
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), image], axis=1).tobytes()  # each line unfiltered
    head = struct.pack(">IIBBBBB", columns, rows, 8, 0, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b""))
    packed = (
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(packed)
