"""Where a scanned bait's own axes lie: its length, its plane of symmetry, and which of two flat ways is its depth.

Knows points in any pose. Which end is the nose and which side the back is decided once there is a surface (sureness).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.cloud.points import Cloud

Array = NDArray[np.float64]
TRIED = 36
"""Planes through the long axis that are tried first: one every five degrees."""
LOOKED_AT = 1500
KEPT = 0.85
"""Share of the pairs that count, nearest first: hooks and holes have no partner on the other flank."""
ALIKE = 1.35
"""Two planes whose misfits differ by less than this are both planes of symmetry."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Axes as rows of ``turn`` (3, 3): x along, y across, z up; ``middle`` (3,) a point on them.

    ``misfit`` is how far the mirrored points lie off the skin.
    """

    turn: Array
    middle: Array
    misfit: float

    def of(self, points: Array) -> Array:
        """Points (k, 3) in these axes."""
        return np.asarray((points - self.middle) @ self.turn.T)


def frames_of(cloud: Cloud) -> tuple[Frame, ...]:
    """The axes of a bait's skin: the long one by its moments, the others by the plane that mirrors it best.

    A second frame where the plane across mirrors about as well; the one that makes the body deeper than thick is first.

    Derived here: planes every five degrees through the long axis, the best of them by steps of point-to-plane
    registration (as ICP) of the mirrored points, the worst of the pairs left out.
    """
    weight = cloud.areas / cloud.areas.sum()
    middle = weight @ cloud.points
    spread = (cloud.points - middle).T * weight @ (cloud.points - middle)
    _, axes = np.linalg.eigh(spread)
    # the sign of an eigenvector is the library's, and the same scan is to give the same body everywhere
    along, first, second = (way * np.sign(way[np.argmax(np.abs(way))]) for way in (axes[:, 2], axes[:, 1], axes[:, 0]))
    angles = np.arange(TRIED) * np.pi / TRIED
    mirrored = _Mirror(cloud)
    ways = [np.cos(a) * first + np.sin(a) * second for a in angles]
    off = np.array([mirrored.misfit(way, float(middle @ way)) for way in ways])
    best = int(np.argmin(off))
    across, at, misfit = mirrored.refined(ways[best], float(middle @ ways[best]))
    other, other_at, other_misfit = mirrored.refined(np.cross(along, across), float(middle @ np.cross(along, across)))
    first_frame = _frame(along, across, at, middle, misfit)
    if other_misfit > ALIKE * misfit + 0.02 * cloud.spacing:
        return (first_frame,)
    second_frame = _frame(along, other, other_at, middle, other_misfit)
    deeper = _extent(cloud, across) <= _extent(cloud, other)
    return (first_frame, second_frame) if deeper else (second_frame, first_frame)


def _frame(along: Array, across: Array, at: float, middle: Array, misfit: float) -> Frame:
    along = along - (along @ across) * across
    along /= np.linalg.norm(along)
    return Frame(np.stack([along, across, np.cross(along, across)]), middle - (middle @ across - at) * across, misfit)


def _extent(cloud: Cloud, way: Array) -> float:
    low, high = np.quantile(cloud.points @ way, [0.002, 0.998])
    return float(high - low)


class _Mirror:
    """A cloud, and how far its mirror image lies off it."""

    def __init__(self, cloud: Cloud) -> None:
        from scipy.spatial import cKDTree

        self.cloud = cloud
        self.tree = cKDTree(cloud.points)
        share = np.cumsum(cloud.areas) / cloud.areas.sum()
        some = np.searchsorted(share, (np.arange(LOOKED_AT) + 0.5) / LOOKED_AT)  # evenly by area, the same every time
        self.some = np.unique(some)

    def pairs(self, way: Array, at: float) -> tuple[Array, Array, Array]:
        """Mirror images (k, 3), how far each is off the skin that it meets (k,), and that skin's normals (k, 3)."""
        points = self.cloud.points[self.some]
        image = points - 2 * ((points @ way) - at)[:, None] * way
        far, near = self.tree.query(image)
        normal = self.cloud.normals[near]
        off = np.einsum("ij,ij->i", image - self.cloud.points[near], normal)
        # beside a hole or a hook's tip the plane of the nearest point tells nothing
        off = np.where(far > 4 * self.cloud.spacing, np.sign(off) * far, off)
        return image, off, normal

    def misfit(self, way: Array, at: float) -> float:
        off = np.sort(np.abs(self.pairs(way, at)[1]))
        return float(off[: int(KEPT * len(off))].mean())

    def refined(self, way: Array, at: float) -> tuple[Array, float, float]:
        """The plane (way, at) moved until its mirror images fit best, and its misfit."""
        middle = self.cloud.areas @ self.cloud.points / self.cloud.areas.sum()
        best = way, at, self.misfit(way, at)
        for _ in range(12):
            _, off, normal = self.pairs(way, at)
            kept = np.abs(off) <= np.quantile(np.abs(off), KEPT)
            points = self.cloud.points[self.some]
            a, b = _beside(way)
            lever = points - middle
            # image = p - 2 (p.way - at) way; of a small turn of way by s a + t b about the middle, and a move
            from_way = [-2 * ((lever @ d)[:, None] * way + ((points @ way) - at)[:, None] * d) for d in (a, b)]
            jac = np.stack([*(np.einsum("ij,ij->i", d, normal) for d in from_way), 2 * normal @ way], axis=1)[kept]
            step, *_ = np.linalg.lstsq(jac, -off[kept], rcond=None)
            centre = float(middle @ way) - at
            way = way + np.clip(step[0], -0.1, 0.1) * a + np.clip(step[1], -0.1, 0.1) * b
            way /= np.linalg.norm(way)
            at = float(middle @ way) - centre + float(step[2])
            misfit = self.misfit(way, at)
            if misfit < best[2]:
                best = way, at, misfit
            if np.abs(step).max() < 1e-5:
                break
        return best


def _beside(way: Array) -> tuple[Array, Array]:
    """Two unit vectors square to a third and to each other."""
    helper = np.eye(3)[int(np.argmin(np.abs(way)))]
    a = np.cross(way, helper)
    a /= np.linalg.norm(a)
    return a, np.cross(way, a)
