"""Pointed ends of a silhouette: where a wedge comes to its point, though its last half millimetre is blurred away.

Across a wedge a blur moves light about but takes none away, so the sum over a line across it is the wedge's own depth;
along it, a blurred wedge is fitted. Knows pixels of a flat picture.
"""

import numpy as np

from bodygen.form.body import Array
from bodygen.scan.photo.outline.edge import LEAST_CONTRAST
from bodygen.scan.photo.outline.light import Light, sampled

STEP_PX = 0.5
INSIDE_PX, BEYOND_PX = 26.0, 16.0
"""What is looked at of an end, from its last place in the outline inwards and outwards [px]."""
MARGIN_PX, GROUND_PX = 10.0, 4.0
"""Ground beside the wedge, and how much of it at the rim tells the ground's light [px]."""
POINTED_PX, AT_PX = 18.0, 5.0
"""An end is pointed where it is no deeper than this so far in [px]; the edge itself finds a round one."""
OWN_BLURS = 2.5
"""So many blurs inside its edge a wedge shows its own colour [-]."""
WIRE_PX = 2.0
"""What stands out past the point and is thicker than this is no part of a wedge [px]."""
POWERS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1)
"""How a pointed end may open: depth ~ distance^p [-]."""
FITTED_PX = 13.0
"""So far in the depths are fitted [px]: farther in, bars and colours say less of the point than they spoil."""
MOST_PX = 8.0
"""A point is not looked for farther out than this [px]."""
EXACT_PX, EXACT_SHARE = 0.5, 0.1
"""How exactly a depth is seen: light [px], and colours that change along the wedge [-, of the depth]."""
NEAR = 2.0
"""A wedge whose depths are off the fitted ones by more of that, root mean square, is none [-]."""


def with_tips(light: Light, outline: Array, blur: float) -> Array:
    """The outline (k, 2) [px] of a flat picture with its pointed ends drawn out to their points.

    ``blur``: of its edges [px].
    Derived here: a depth a u^p of the way u to the point, blurred along, is fitted by least squares to the
    sums of light over lines across the end.
    """
    moved = outline - outline.mean(axis=0)
    along = np.linalg.svd(moved, full_matrices=False)[2][0]
    for way in (along, -along):
        outline = _with_tip(light, outline, np.asarray(way), blur)
    return outline


def _with_tip(light: Light, outline: Array, along: Array, blur: float) -> Array:
    """Draw out the end that lies towards ``along`` (2,), if it is pointed and is seen to be."""
    axes = np.stack([along, [-along[1], along[0]]], axis=1)
    own = outline @ axes
    last = float(own[:, 0].max())
    line = _middle(own, last)
    if line is None:
        return outline
    at = np.arange(last - INSIDE_PX, last + BEYOND_PX, STEP_PX)
    depth = _depths(light, at, line, axes, blur)
    if depth is None:
        return outline
    tip = _point(at, depth, last, blur)
    if tip is None or abs(tip - last) > MOST_PX:
        return outline
    joint = min(last, tip) - AT_PX
    high, low = (_side(own, joint, sign) for sign in (1.0, -1.0))
    point = np.array([tip, float(np.polyval(line[0], tip))])
    return np.asarray(_replaced(own, joint, point, (high, low)) @ axes.T)


def _middle(own: Array, last: float) -> tuple[Array, Array] | None:
    """The lines of an end's middle and of its half depth over its last 5 mm; None where it is not pointed."""
    x = np.arange(last - INSIDE_PX, last - AT_PX + 1)
    high, low = (_side(own, x, sign) for sign in (1.0, -1.0))
    if high[-1] - low[-1] > POINTED_PX:
        return None
    return np.polyfit(x, (high + low) / 2, 1), np.polyfit(x, (high - low) / 2, 1)


def _side(own: Array, x: Array | float, sign: float) -> Array:
    """Where the outermost places on one side of an end lie at x (n,) [px]."""
    x = np.atleast_1d(x)
    near = own[own[:, 0] > x.min() - 3]
    found = [sign * near[np.abs(near[:, 0] - at) < 1.5, 1] for at in x]
    return np.array([sign * float(row.max()) if len(row) else 0.0 for row in found])


def _depths(light: Light, at: Array, line: tuple[Array, Array], axes: Array, blur: float) -> Array | None:
    """Depths (n,) [px] across an end at places (n,) along it, as sums of light; None where its colour is the ground's.

    The ground's own light is taken from both sides of each line, that of the wedge from where it is deep; counted is
    what differs from the ground in hue, as a shadow does not, where that tells enough.
    """
    half = np.maximum(np.polyval(line[1], at), 0) + MARGIN_PX
    across = np.arange(-half.max(), half.max() + STEP_PX / 2, STEP_PX)
    middle = np.polyval(line[0], at)
    places = np.stack(np.broadcast_arrays(at[:, None], middle[:, None] + across), axis=2) @ axes.T
    seen = sampled(light, places).astype(float)
    inner = np.abs(across) <= half[:, None]
    rims = [inner & (sign * across >= half[:, None] - GROUND_PX) for sign in (-1.0, 1.0)]
    grounds = [(seen * rim[..., None]).sum(axis=1) / rim.sum(axis=1)[:, None] for rim in rims]
    share = np.clip((across + half[:, None]) / (2 * half[:, None]), 0, 1)[..., None]
    ground = grounds[0][:, None] * (1 - share) + grounds[1][:, None] * share
    off = (seen - ground) * inner[..., None]
    core = np.abs(across) < np.maximum(np.polyval(line[1], at) - OWN_BLURS * blur, 0)[:, None]
    deep = np.flatnonzero((core.sum(axis=1) >= 3) & (at < at[0] + INSIDE_PX - AT_PX))
    if len(deep) < 5:
        return None
    own = (off * core[..., None]).sum(axis=1)[deep] / core[deep].sum(axis=1)[:, None]
    own = own[np.abs(deep - np.arange(len(at))[:, None]).argmin(axis=1)]  # the point has the colour of what is next
    hue = ground.mean(axis=1)
    hue /= np.maximum(np.linalg.norm(hue, axis=1, keepdims=True), 1e-9)
    apart = own - (own * hue).sum(axis=1, keepdims=True) * hue  # a shadow moves the ground's light along its own hue
    contrast = (apart**2).sum(axis=1)
    if contrast.min() < LEAST_CONTRAST**2:
        apart, contrast = own, (own**2).sum(axis=1)
    if contrast.min() < LEAST_CONTRAST**2:
        return None
    return np.asarray((off @ apart[..., None])[..., 0].sum(axis=1) / contrast * STEP_PX)


def _point(at: Array, depth: Array, last: float, blur: float) -> float | None:
    """Where a blurred wedge of these depths (n,) [px] at places (n,) comes to its point; None where it is none."""
    beyond = float(np.median(depth[at > last + MOST_PX + 2]))
    if abs(beyond) > WIRE_PX:
        return None
    depth = depth - beyond
    inside = at > last - FITTED_PX
    weight = 1 / (EXACT_PX + EXACT_SHARE * np.maximum(depth[inside], 0))
    seen = weight * depth[inside]
    best, found = np.inf, None
    kernel = np.exp(-0.5 * (np.arange(-4 * blur, 4 * blur + STEP_PX / 2, STEP_PX) / blur) ** 2)
    kernel /= kernel.sum()
    pad = len(kernel) // 2
    wider = np.concatenate([at[0] - STEP_PX * np.arange(pad, 0, -1), at])
    for tip in np.arange(last - 2, last + MOST_PX, 0.25):
        way = np.maximum(tip - wider, 0.0)
        for power in POWERS:
            row = weight * np.convolve(way**power, kernel, "same")[pad:][: len(at)][inside]
            off = float(((row * (row @ seen) / (row @ row) - seen) ** 2).mean())
            if off < best:
                best, found = off, float(tip)
    return found if np.sqrt(best) < NEAR else None


def _replaced(own: Array, joint: float, point: Array, ends: tuple[Array, Array]) -> Array:
    """The outline with what lies past ``joint`` replaced by two lines that meet in a point."""
    past = own[:, 0] > joint
    first = int(np.argmax(past & ~np.roll(past, 1)))
    turned = np.roll(own, -first, axis=0)
    gone = np.roll(past, -first)
    rest = turned[int(np.flatnonzero(gone).max()) + 1 :] if gone.any() else turned
    high, low = (np.array([joint, float(end[0])]) for end in ends)
    start, end = (high, low) if np.linalg.norm(rest[-1] - high) < np.linalg.norm(rest[-1] - low) else (low, high)
    steps = np.linspace(0, 1, 40)[:, None]
    return np.concatenate([rest, start + steps * (point - start), (point + steps * (end - point))[1:]])
