"""What is to be told of a scan's skin: where none of it was seen, and how its flanks differ."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body, fine_parameters
from bodygen.scan.cloud.clean import clusters
from bodygen.scan.cloud.fit import SkinFit

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Hole:
    """A patch of skin without a point: its middle's x [mm], where it is, how far it reaches [mm]."""

    x: float
    side: str
    across: float

    def __str__(self) -> str:
        return f"a hole about {self.across:.0f} mm across at {round(self.x)} mm in the {self.side}"


@dataclass(frozen=True, slots=True)
class Uneven:
    """How the flanks differ: half of it, mean and greatest over patches [mm], and where the greatest is [mm]."""

    mean: float
    most: float
    x: float
    side: str


def holes_of(body: Body, points: Array, spacing: float) -> tuple[Hole, ...]:
    """Patches of the skin that no point (k, 3) [mm] lies near."""
    from scipy.spatial import cKDTree

    half = body.points(fine_parameters(body, 3), 6).reshape(-1, 3)
    skin = np.concatenate([half, half * (1.0, -1.0, 1.0)])
    far = cKDTree(points).query(skin)[0]
    bare = skin[far > max(1.5, 3 * spacing)]
    if len(bare) < 2:
        return ()
    number = clusters(bare, 3.0)
    found = []
    for i in range(int(number.max()) + 1):
        patch = bare[number == i]
        middle = patch.mean(axis=0)
        across = float(np.linalg.norm(np.ptp(patch, axis=0))) + 2 * max(1.5, 3 * spacing)
        found.append(Hole(float(middle[0]), _side(body, middle), across))
    return tuple(sorted(found, key=lambda hole: hole.x))


def _side(body: Body, at: Array) -> str:
    belly, back = (float(h[0]) for h in body.heights_at(at[:1]))
    if abs(at[1]) > 0.3 * float(body.half_width_at(at[:1])[0]):
        return "right flank" if at[1] > 0 else "left flank"
    return "back" if at[2] > (belly + back) / 2 else "belly"


def uneven_of(fitted: SkinFit, right: NDArray[np.bool_]) -> Uneven:
    """How far the flanks lie on either side of the fitted skin, patch by patch."""
    near = fitted.counted > 0.3
    length = fitted.sizes.tail
    patch = np.clip((fitted.points[:, 0] / length * 12).astype(int), 0, 11) * 2 + (fitted.points[:, 2] >= 0)
    sums = [
        (np.bincount(patch[near & side], fitted.off[near & side], 24), np.bincount(patch[near & side], minlength=24))
        for side in (right, ~right)
    ]
    both = (sums[0][1] >= 8) & (sums[1][1] >= 8)
    if not both.any():
        return Uneven(0.0, 0.0, 0.0, "")
    gap = (sums[0][0] / np.maximum(sums[0][1], 1) - sums[1][0] / np.maximum(sums[1][1], 1)) / 2
    gap = np.where(both, gap, 0.0)
    worst = int(np.argmax(np.abs(gap)))
    fuller = "right" if gap[worst] > 0 else "left"
    return Uneven(float(np.abs(gap[both]).mean()), float(np.abs(gap).max()), (worst // 2 + 0.5) * length / 12, fuller)
