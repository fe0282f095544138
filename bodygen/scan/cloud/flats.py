"""Flanks that are sawn flat: whether a scan has them, and the fit with them.

Knows a fit without flats, and where its points lie off it together.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bodygen.scan.cloud.fit import SkinFit, fit_surface

LACK, BETTER = 0.025, 0.97
"""Patches off by more [mm] together may be flats that squareness cannot say; what flats must leave of the misfit."""
ELLIPSE = 0.5523
"""The handle of an ellipse's quarter."""
REACH = 0.03
"""Share of the length within which points count."""
Array = NDArray[np.float64]


def flattened(fitted: SkinFit) -> SkinFit | None:
    """A fit of the same points with flat flanks, where that is nearer to them by more than chance."""
    if lack_of(fitted) < LACK:
        return None
    depth = float((fitted.sizes.lines[0] - fitted.sizes.lines[1]).max())
    reach = REACH * fitted.sizes.tail
    lines = fitted.sizes.lines.copy()
    lines[4:] = np.minimum(lines[4:], ELLIPSE)  # the flats and their edges say what the squareness said
    starts = [replace(fitted.sizes, lines=lines, flat=flat) for flat in ((0.4, 0.3 * depth), (None, 0.3 * depth))]
    ways = [
        fit_surface(fitted.points, np.ones(len(fitted.points)), start, (2 * reach, reach), open_ended=True)
        for start in starts
    ]
    noise = min(way.noise for way in (fitted, *ways))  # the nearest fit's: by a rough one's, what is not near is near
    # of two the one that most points lie near: an end that is not right yet may be far off in both
    best = min(ways, key=lambda way: float((way.off**2 / (way.off**2 + (3 * noise) ** 2)).mean()))
    return best if misfit_of(best.off, noise) < BETTER * misfit_of(fitted.off, noise) else None


def misfit_of(off: Array, noise: float) -> float:
    """The misfit that the fit makes least, mean over the points [-]; ``off`` (k,) [mm]."""
    return float(np.sqrt(1 + (off / (2 * noise)) ** 2).mean() - 1)


def lack_of(fitted: SkinFit) -> float:
    """How far patches of points lie off the surface together [mm], beyond what their scatter explains."""
    along = np.clip(fitted.points[:, 0] / fitted.sizes.tail * 16, 0, 15).astype(int)
    belly, back = fitted.body.heights_at(fitted.points[:, 0])
    up = (fitted.points[:, 2] - belly) / np.maximum(back - belly, 1e-6)
    patch = along * 8 + np.clip((up * 8).astype(int), 0, 7)
    near = fitted.counted > 0.02
    count = np.bincount(patch[near], minlength=128)
    mean = np.bincount(patch[near], fitted.off[near], 128) / np.maximum(count, 1)
    told = count >= 12
    excess = mean[told] ** 2 - fitted.noise**2 / count[told]
    return float(np.sqrt(max(float(np.average(excess, weights=count[told])), 0.0))) if told.any() else 0.0
