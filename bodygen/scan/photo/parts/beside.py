"""Wire and plates that stand out of a silhouette: where each leaves it, which way it goes, how wide and how straight.

Knows pixels of a flat picture.
"""

from dataclasses import dataclass

import numpy as np

from bodygen.form.body import Array
from bodygen.scan.photo.outline.silhouette import PER_MM, Silhouette

LEAST_MM2, NEAR_MM = 1.5, 1.2
"""What is smaller, or begins farther from the outline, is a speck on the ground."""
STRAIGHT = 0.45
"""A thing is straight where it is scattered across itself by less than so much of its width [-]; a plate by 0.29."""


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """A thing beside the body: its ``foot`` (2,) and farthest place ``far`` (2,) [px], its mean ``width`` [px]."""

    foot: Array
    far: Array
    width: float
    straight: bool

    @property
    def length(self) -> float:
        """From the foot to the farthest place [px]."""
        return float(np.linalg.norm(self.far - self.foot))


def things_beside(found: Silhouette) -> list[Beside]:
    """All things that leave the outline of a silhouette."""
    import cv2

    count, labels, stats, _ = cv2.connectedComponentsWithStats(found.beside.astype(np.uint8), connectivity=8)
    things = []
    for part in range(1, count):
        if stats[part, cv2.CC_STAT_AREA] < LEAST_MM2 * PER_MM**2:
            continue
        rows, columns = np.nonzero(labels == part)
        points = np.column_stack([columns, rows]).astype(float)
        some = points[:: max(1, len(points) // 3000)]
        off = np.linalg.norm(some[:, None, :] - found.outline[None, ::8, :], axis=2).min(axis=1)
        if off.min() < NEAR_MM * PER_MM:
            things.append(_thing(points, some[int(np.argmin(off))]))
    return things


def _thing(points: Array, foot: Array) -> Beside:
    away = np.linalg.norm(points - foot, axis=1)
    far = points[away > 0.9 * away.max()].mean(axis=0)
    length = max(float(np.linalg.norm(far - foot)), 1.0)
    along = (far - foot) / length
    across = (points - foot) @ np.array([-along[1], along[0]])
    width = len(points) / max(float(away.max()), 1.0)
    return Beside(foot, far, width, bool(across.std() < STRAIGHT * width))
