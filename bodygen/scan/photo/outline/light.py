"""The light of a picture, linear, and its samples along lines. Knows pixels."""

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array

Light = NDArray[np.float32]
AT_ONCE = 4000
"""Lines that are sampled together: OpenCV takes no larger tables."""


def linear_light(rgb: NDArray[np.uint8]) -> Light:
    """Light (h, w, 3) [-] of a picture, by a power of 2.2, near enough to sRGB for telling where light is halved."""
    return ((rgb.astype(np.float32) / 255) ** 2.2).astype(np.float32)


def sampled(light: Light, at: Array) -> Light:
    """The light at places (k, m, 2) [px]: (k, m, 3)."""
    import cv2

    rows = [
        cv2.remap(light, part[..., 0], part[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for part in np.array_split(at.astype(np.float32), max(1, -(-len(at) // AT_ONCE)))
    ]
    return np.asarray(np.concatenate(rows))
