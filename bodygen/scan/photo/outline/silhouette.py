"""What in a picture is the bait: its silhouette, robust to shadow, to bars and bright bellies, without thin things.

The picture is flat already, ``PER_MM`` pixels to the millimetre. What lies in shadow keeps the ground's colour and
loses light alone; what differs in colour, or is brighter or far darker than any shadow, is not the ground. From that a
graph cut finds the edge. Knows pixels.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Array
from bodygen.scan.photo.outline.edge import blur_of, refined
from bodygen.scan.photo.outline.light import linear_light
from bodygen.scan.photo.outline.tips import with_tips

Pixels = NDArray[np.uint8]
Flags = NDArray[np.bool_]
PER_MM = 5.0
DEEPEST_SHADOW, GLARE = -1.6, 0.35
"""Logarithms of the light left in the deepest shadow, and of light that no even lamp gives [-]."""
COLOUR_SPREADS, LEAST_COLOUR = 6.0, 0.16
"""How many spreads of the ground's own colour something must differ by, and how much at least [-, logarithm]."""
WIRE_MM, PLATE_MM = 1.1, 2.2
"""Half of the width up to which things are taken as wire, and as a plate seen on its edge [mm]."""
TIP = 2.2
"""How many half widths a pointed end may reach out of what is left without thin things."""
WEDGE = 1.3
"""How many half widths of its foot make a thing at an end the body's own tip."""
TAPERS = 0.75
"""What reaches farther is a tip where it fills less of its foot times its reach [-]: a wedge half, a wire all."""
LEAST_AREA_MM2 = 120.0
SECOND = 0.3
"""Share of the largest thing's area above which a second one is another bait."""


class NothingSeenError(ValueError):
    """No bait in the picture, or more than one: ``args[0]`` says which."""


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """The ``body`` (h, w) and what else is no ground ``beside`` it; the closed ``outline`` (k, 2) [px] of the body.

    ``light`` (h, w, 3): logarithm of the picture's light over the ground's own [-]. ``blur`` [mm]: how far the
    picture's edges are blurred, as a standard deviation.
    """

    body: Flags
    beside: Flags
    outline: Array
    light: NDArray[np.float32]
    blur: float


def silhouette(rgb: Pixels, rim: Flags, not_bait: Flags | None = None) -> Silhouette:
    """Find the bait in a flat picture.

    Parameters
    ----------
    rgb : (h, w, 3) array
        The picture, sRGB.
    rim : (h, w) array
        Where there is ground for sure.
    not_bait : (h, w) array, optional
        What is no bait by the maker's own strokes.

    Raises
    ------
    NothingSeenError
        Nothing there is a bait, or more than one thing is.
    """
    light = _log_light(rgb)
    ground = _ground(light, rim)
    ratio = light - ground
    brightness = ratio.mean(axis=2)
    colour = np.abs(ratio - brightness[..., None]).max(axis=2)
    usual = float(np.median(colour[rim])) + 1e-6
    bar = max(COLOUR_SPREADS * usual, LEAST_COLOUR)
    own = (colour > bar) | (brightness < DEEPEST_SHADOW) | (brightness > max(GLARE, 6 * _spread(brightness[rim])))
    if not_bait is not None:
        own &= ~not_bait
    rough = _largest(_inner(_closed(_opened(own, 0.6), 2.0)))
    filled = _filled(rough)
    _refuse_odd(filled)
    cut = _cut(rgb, filled, own, not_bait)
    body, thin = without_thin(_filled(cut))
    _refuse_odd(body)
    beside = (thin | own) & ~_morph(body, "grow", 0.5)
    linear = linear_light(rgb)
    outline = refined(linear, outline_of(body))
    blur = blur_of(linear, outline)
    return Silhouette(body, beside, with_tips(linear, outline, blur), ratio, blur / PER_MM)


def _log_light(rgb: Pixels) -> NDArray[np.float32]:
    """Logarithm of each channel's light (h, w, 3) [-], by the standard curve of sRGB (IEC 61966-2-1)."""
    value = np.arange(256) / 255
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    table = np.log(linear + 0.004).astype(np.float32)
    import cv2

    smooth = cv2.GaussianBlur(rgb, (0, 0), 0.8)
    return np.asarray(table[smooth])


def _ground(light: NDArray[np.float32], rim: Flags) -> NDArray[np.float32]:
    """The ground's own light (h, w, 3): of each channel a bent plane through the rim, without what lies off it."""
    high, wide = rim.shape
    u, v = (2 * np.arange(size) / size - 1 for size in (wide, high))
    some = slice(None, None, max(1, int(rim.sum()) // 20000))
    y, x = (places[some] for places in np.nonzero(rim))
    rows = np.column_stack([np.ones(len(x)), u[x], v[y], u[x] * v[y], u[x] ** 2, v[y] ** 2])
    values = light[y, x].astype(float)
    weight = np.ones(len(rows))
    for _ in range(8):
        found, *_ = np.linalg.lstsq(rows * weight[:, None], values * weight[:, None], rcond=None)
        off = np.abs(values - rows @ found).max(axis=1)
        weight = 1 / (1 + (off / (2 * np.median(off) + 1e-6)) ** 2)
    one, by_u, by_v, by_uv, by_uu, by_vv = found.astype(np.float32)
    u, v = (axis.astype(np.float32)[:, None] for axis in (u, v))
    columns = one + by_u * u + by_uu * u**2
    return np.asarray(columns + by_v * v[:, None] + by_vv * v[:, None] ** 2 + by_uv * u * v[:, None])


def _spread(values: Array) -> float:
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))


def _disc(radius_mm: float) -> Pixels:
    import cv2

    size = 2 * round(radius_mm * PER_MM) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), dtype=np.uint8)


def _morph(mask: Flags, what: str, radius_mm: float) -> Flags:
    import cv2

    kind = {"open": cv2.MORPH_OPEN, "close": cv2.MORPH_CLOSE, "grow": cv2.MORPH_DILATE, "shrink": cv2.MORPH_ERODE}
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), kind[what], _disc(radius_mm))) > 0


def _opened(mask: Flags, radius_mm: float) -> Flags:
    return _morph(mask, "open", radius_mm)


def _closed(mask: Flags, radius_mm: float) -> Flags:
    return _morph(mask, "close", radius_mm)


def _parts(mask: Flags) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Number of the part that each pixel belongs to (0: none), and the area of each [px]."""
    import cv2

    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    return np.asarray(labels), np.asarray(stats[:, cv2.CC_STAT_AREA])


def _inner(mask: Flags) -> Flags:
    """The same without what runs out of the picture, such as the table's edge, unless there is nothing else."""
    labels, areas = _parts(mask)
    out = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    inner = np.asarray(mask & ~np.isin(labels, out))
    large = [areas[part] for part in range(1, len(areas)) if part not in out]
    return inner if large and max(large) >= LEAST_AREA_MM2 * PER_MM**2 else mask


def _largest(mask: Flags) -> Flags:
    labels, areas = _parts(mask)
    if len(areas) < 2 or areas[1:].max() < LEAST_AREA_MM2 * PER_MM**2:
        msg = "no bait is to be seen on the ground."
        raise NothingSeenError(msg)
    order = np.argsort(-areas[1:]) + 1
    if len(order) > 1 and areas[order[1]] > SECOND * areas[order[0]]:
        msg = "there are two things of much the same size."
        raise NothingSeenError(msg)
    return np.asarray(labels == order[0])


def _filled(mask: Flags) -> Flags:
    """The same without holes."""
    import cv2

    outer, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(cv2.drawContours(np.zeros(mask.shape, dtype=np.uint8), outer, -1, 1, -1)) > 0


def _refuse_odd(mask: Flags) -> None:
    if mask.sum() < LEAST_AREA_MM2 * PER_MM**2:
        msg = "no bait is to be seen on the ground."
        raise NothingSeenError(msg)
    edge = np.zeros_like(mask)
    edge[[0, -1]], edge[:, [0, -1]] = True, True
    if (mask & edge).sum() > 4 * PER_MM:
        msg = "what differs from the ground runs out of the picture's free part."
        raise NothingSeenError(msg)


def _cut(rgb: Pixels, rough: Flags, own: Flags, not_bait: Flags | None) -> Flags:
    """The bait by a graph cut near the rough silhouette, its surroundings only."""
    import cv2

    rows, columns = np.flatnonzero(rough.any(axis=1)), np.flatnonzero(rough.any(axis=0))
    pad = round(10 * PER_MM)
    part = (
        slice(max(rows[0] - pad, 0), rows[-1] + pad + 1),
        slice(max(columns[0] - pad, 0), columns[-1] + pad + 1),
    )
    mask, seen = rough[part], own[part]
    state = np.full(mask.shape, cv2.GC_BGD, dtype=np.uint8)
    state[_morph(mask, "grow", 2.0)] = cv2.GC_PR_BGD
    state[mask | seen & (state == cv2.GC_PR_BGD)] = cv2.GC_PR_FGD
    state[_morph(mask, "shrink", 1.6)] = cv2.GC_FGD
    if not_bait is not None:
        state[not_bait[part]] = cv2.GC_BGD
    cv2.setRNGSeed(7)
    picture = cv2.GaussianBlur(np.ascontiguousarray(rgb[part]), (0, 0), 0.6)
    whole = (0, 0, mask.shape[1], mask.shape[0])  # not looked at, as the mask says what is what
    cv2.grabCut(picture, state, whole, np.zeros((1, 65)), np.zeros((1, 65)), 3, cv2.GC_INIT_WITH_MASK)
    found = np.zeros_like(rough)
    found[part] = (state == cv2.GC_FGD) | (state == cv2.GC_PR_FGD)
    labels, areas = _parts(found)
    return np.asarray(labels == 1 + int(np.argmax(areas[1:])))


def without_thin(mask: Flags) -> tuple[Flags, Flags]:
    """The body without wire and plates on edge, and these; a pointed nose or tail stays.

    Derived here: an opening by a disc takes off the tip of a wedge along an arc of pi less the wedge's angle, and of
    wire no more than its own width.
    """
    body = mask
    for radius in (WIRE_MM, PLATE_MM):
        core = _largest(_opened(body, radius))
        labels, areas = _parts(body & ~core)
        near = _morph(core, "grow", TIP * radius)
        touching = np.bincount(labels[_morph(core, "grow", 1 / PER_MM)], minlength=len(areas)) / PER_MM
        out = _straight(labels, ~near, core, touching)
        ends = np.unique(labels[_at_ends(core)])
        kept = (touching > WEDGE * radius) & np.isin(np.arange(len(areas)), ends)
        kept &= ~np.isin(np.arange(len(areas)), out)
        kept[0] = False
        body = core | kept[labels]
    return _largest(body), mask & ~body


def _straight(labels: NDArray[np.int32], far: Flags, core: Flags, feet: Array) -> NDArray[np.int32]:
    """Numbers of the parts that reach far out and do not taper; ``feet`` (n,) [mm]: how wide each stands there."""
    import cv2

    away = cv2.distanceTransform((~core).astype(np.uint8), cv2.DIST_L2, 5)
    numbers = np.unique(labels[far])
    reach = np.array([away[labels == number].max() for number in numbers]) / PER_MM
    area = np.array([(labels == number).sum() for number in numbers]) / PER_MM**2
    return np.asarray(numbers[area > TAPERS * np.maximum(feet[numbers], 1e-9) * reach])


def _at_ends(body: Flags) -> Flags:
    """Where a picture (h, w) lies beyond the last twentieths of a body along its length."""
    rows, columns = np.nonzero(body)
    points = np.column_stack([columns, rows]).astype(float)
    middle = points.mean(axis=0)
    values, axes = np.linalg.eigh(np.cov((points - middle).T))
    along = axes[:, int(np.argmax(values))]
    at = (points - middle) @ along
    low, high = at.min() + 0.05 * np.ptp(at), at.max() - 0.05 * np.ptp(at)
    y, x = np.mgrid[0 : body.shape[0], 0 : body.shape[1]]
    place = (x - middle[0]) * along[0] + (y - middle[1]) * along[1]
    return np.asarray((place < low) | (place > high))


def outline_of(mask: Flags) -> Array:
    """The edge of a mask (k, 2) [px], between the middles of its pixels and those outside, smoothed over 0.4 mm."""
    import cv2

    fine = 4
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.4 * PER_MM / 2)
    large = cv2.resize(soft, None, fx=fine, fy=fine, interpolation=cv2.INTER_LINEAR)
    loops, _ = cv2.findContours((large > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    loop = max(loops, key=cv2.contourArea).reshape(-1, 2).astype(float)
    ahead, behind = np.roll(loop, -3, axis=0), np.roll(loop, 3, axis=0)
    along = ahead - behind
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    size = np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    middle = loop.mean(axis=0)
    sign = np.sign(((loop - middle) * out).sum())
    loop = loop + 0.5 * sign * out / size
    return np.asarray((loop + 0.5) / fine - 0.5)
