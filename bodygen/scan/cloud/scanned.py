"""From a scan's points to the bait's surface in its own axes: cleaned, turned, fitted, decided, and told about.

Knows points in mm. Reading files and the unit is ``trace_scan``'s; what is written is the recipe writer's.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodygen.form.body import Body
from bodygen.form.fairing.offsets import surface_through
from bodygen.scan.cloud.clean import core_of, thin_points, with_thin_ends
from bodygen.scan.cloud.feet import feet_of
from bodygen.scan.cloud.fit import SkinFit, fit_surface
from bodygen.scan.cloud.flanks import Hole, Uneven, holes_of, uneven_of
from bodygen.scan.cloud.flats import flattened, lack_of, misfit_of
from bodygen.scan.cloud.frame import Frame, frames_of
from bodygen.scan.cloud.points import Cloud
from bodygen.scan.cloud.sections import first_sizes, levelled, standing_out
from bodygen.scan.cloud.sizes import Sizes, rows_along
from bodygen.scan.cloud.sureness import Decided, Seen, back_of, nose_of, seen_outside

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]
COARSE = 2500
"""Points of the first fit."""
GROWN = (1.0, 0.7, 0.5)
"""Reaches [mm] of the rounds in which the fit takes in what lies near it, of baits up to the usual length."""
USUAL = 80.0
CLEAR, SKIN = 3.0, (16, 16)
"""Two ways up whose misfits differ by fewer of their own spreads are alike: the deeper is taken, and said. Of known
baits scans that scatter by 0.1 mm differed by 3.7 and more, those of 0.4 mm and few corners by 2.3 and less, either
way. Patches of the skin along and around, within which points scatter together."""
ENDS = 0.07
"""Share of the length near an end that tells how it ends."""
CLEARLY = 0.98
SLIM = 0.03
"""Share of the depth from which on a place counts the less for where the axis lies, the deeper it is."""
CORNERED, MORE_ROWS = 0.012, 73
"""Patches off by more [mm] together ask for more rows."""
PATCHES = (24, 3)
"""Patches of the skin along, and around in each quarter, over which points count alike."""
FITTED = 8000
"""Points of the last fits."""


@dataclass(frozen=True, slots=True, eq=False)
class Scanned:
    """A scan in its own axes.

    ``fitted`` holds the surface and the points that were used; ``turn`` (3, 3) and ``move`` (3,) bring the file's
    points there, p turn^T + move, both in mm. ``explained`` is the share of the skin that lies near the surface [-] and
    ``p95`` how far 95 in 100 of it lie from that [mm], used or not; ``seen`` what stands outside, ``holes`` what was
    fitted across, ``uneven`` how the flanks differ.
    """

    fitted: SkinFit
    explained: float
    p95: float
    turn: Array
    move: Array
    nose: Decided
    back: Decided
    upright: bool
    seen: Seen
    holes: tuple[Hole, ...]
    uneven: Uneven


def scanned(cloud: Cloud, own: Mask, told: Callable[[Array], tuple[bool | None, bool | None]]) -> Scanned:
    """Fit a body's surface to a cloud [mm] in any pose.

    ``own``: which points may be the body's (k,); what the others are may still tell nose from tail.
    ``told``: of the turn (3, 3) from the file's axes to the fitted ones, whether the maker says that nose and back must
    be turned round (None: says nothing).
    """
    mine = cloud.taken(own)
    bare = np.flatnonzero(own)[with_thin_ends(mine, core_of(mine, thin_points(mine)))]
    frames = frames_of(cloud.taken(bare))
    stand = bare[standing_out(levelled(frames[0].of(cloud.points[bare]))[0])]
    if len(stand):
        bare = np.setdiff1d(bare, stand)
        frames = frames_of(cloud.taken(bare))
    coarse, turn, move, upright = _first_fit(cloud.taken(bare), frames)
    turn, move, fitted, taken = _grown(cloud, own, turn, move, coarse.sizes)
    body = fitted.body
    thick = np.isin(np.arange(len(own)), bare)
    seen = _seen(cloud, ~taken, thick, turn, move, body, stand)
    nose_told, back_told = told(turn)
    nose, back = nose_of(body, seen, nose_told), back_of(body, seen, back_told)
    if nose.turned or back.turned:
        round_turn, round_move, sizes = _turned(fitted.sizes, nose.turned, back.turned)
        turn, move = round_turn @ turn, round_turn @ move + round_move
        turn, move, fitted, taken = _grown(cloud, own, turn, move, sizes, GROWN[-1:])
        seen = _seen(cloud, ~taken, thick, turn, move, fitted.body, stand)
    if lack_of(fitted) > CORNERED:  # lines with corners, or waves, that few rows cannot follow
        turn, move, fitted, taken = _grown(cloud, own, turn, move, _with_more_rows(fitted.sizes), GROWN[-1:])
    if fitted.sizes.flat is not None and _beside_axis(fitted.sizes):  # a slim tail: the axis need not lie where it does
        level_turn, level_move, sizes = _levelled_axis(fitted.sizes)
        turn, move = level_turn @ turn, level_turn @ move + level_move
        turn, move, fitted, taken = _grown(cloud, own, turn, move, sizes, GROWN[-1:])
    if fitted.sizes.flat is not None and _beside_axis(fitted.sizes):  # stations say it then, which have no flats
        round_sizes = replace(fitted.sizes, flat=None)
        turn, move, fitted, taken = _grown(cloud, own, turn, move, round_sizes, GROWN[-1:])
    explained = float(cloud.areas[bare][taken[bare]].sum() / cloud.areas[bare].sum())
    side = fitted.points[:, 1] >= 0
    return Scanned(
        fitted, explained, _within(cloud.taken(bare), fitted.body, turn, move), turn, move, nose, back, upright, seen,
        holes_of(fitted.body, fitted.points, cloud.spacing), uneven_of(fitted, side),
    )  # fmt: skip


def _within(skin: Cloud, body: Body, turn: Array, move: Array) -> float:
    """How far 95 in 100 of the skin's area lie from the body [mm]."""
    at = skin.points @ turn.T + move
    folded = np.stack([at[:, 0], np.abs(at[:, 1]), at[:, 2]], axis=1)
    off = np.linalg.norm(folded - feet_of(body, folded).point, axis=1)
    order = np.argsort(off)
    passed = np.cumsum(skin.areas[order])
    return float(off[order][np.searchsorted(passed, 0.95 * passed[-1])])


def _seen(cloud: Cloud, away: Mask, thick: Mask, turn: Array, move: Array, body: Body, stand: Whole) -> Seen:
    """What stands out of the body; what it stands on tells nothing of nose and back."""
    away = away.copy()
    away[stand] = False
    at = cloud.points @ turn.T + move
    moved = replace(cloud, points=at, normals=cloud.normals @ turn.T)
    seen = seen_outside(moved.taken(away), thick[away], body)
    if not len(stand):
        return seen
    area, x = float(cloud.areas[stand].sum()), float(np.median(at[stand, 0]))
    return Seen(None, seen.lip, (*seen.words, f"a foot or stand at {round(x)} mm ({area:.0f} mm2)"))


def _first_fit(core: Cloud, frames: tuple[Frame, ...]) -> tuple[SkinFit, Array, Array, bool]:
    """A coarse fit in the frame that mirrors best, its turn and move, and whether depth is told from thickness."""
    some = _evenly(core.areas, COARSE)
    ways = []
    for frame in frames:
        points, level, shift = levelled(frame.of(core.points))
        turn, move = level @ frame.turn, shift - level @ frame.turn @ frame.middle
        start, length = first_sizes(points)
        # of two the farther one is not to be a fit that has not come to rest, so each goes on as long again
        within = (0.2 * length, *(0.06 * length, 0.03 * length) * len(frames))
        fit = fit_surface(points[some], np.ones(len(some)), start, within)
        ways.append((fit, fit.turn @ turn, fit.turn @ move + fit.move))
    nearer = _clearly_nearer([way[0] for way in ways])
    upright = nearer is not None
    fit, turn, move = ways[nearer or 0]
    for end in (0, 1):
        fit, turn, move = _other_end(fit, turn, move, end)
    flat = flattened(fit)
    if flat is not None:
        fit, turn, move = flat, flat.turn @ turn, flat.turn @ move + flat.move
    return fit, turn, move, upright


def _clearly_nearer(fits: list[SkinFit]) -> int | None:
    """Which fit is nearer to the points by more than chance: one alone is, of two perhaps neither (None).

    References
    ----------
    The spread of a mean whose terms hang together in groups: K.-Y. Liang, S. L. Zeger, Biometrika 73 (1986) 13-22 (from
    memory). Corners that a scanner put off take the points within the faces around with them.
    """
    if len(fits) == 1:
        return 0
    noise = min(fit.noise for fit in fits)
    costs = [np.sqrt(1 + (fit.off / (2 * noise)) ** 2) for fit in fits]
    off = costs[0] - costs[1]
    x, y, z = fits[0].points.T
    around = np.arctan2(z - np.median(z), y) / (2 * np.pi) + 0.5
    along = (x - x.min()) / max(float(np.ptp(x)), 1e-12)
    rows = [
        np.minimum((share * count).astype(int), count - 1) for share, count in zip((along, around), SKIN, strict=True)
    ]
    groups = np.bincount(rows[0] * SKIN[1] + rows[1], off - off.mean())
    spread = float(np.sqrt((groups**2).sum())) / len(off)
    return int(off.mean() > 0) if abs(float(off.mean())) > CLEAR * spread else None


def _other_end(fit: SkinFit, turn: Array, move: Array, end: int) -> tuple[SkinFit, Array, Array]:
    """Try an end the other way, sawn off for closed or closed for sawn off, and keep what is nearer to the points."""
    sizes, row = fit.sizes, (0, -1)[end]
    if sizes.closed[end] and not sizes.rounded[end]:
        return fit, turn, move
    lines = sizes.lines.copy()
    inner = lines[:, (2, -3)[end]]
    lines[:3, row] = 0.0
    if sizes.closed[end]:
        size = (inner[0] - inner[1]) / 2
        lines[:3, row] = 0.7 * np.array([size, -size, inner[2]])
    is_closed = not sizes.closed[end]
    closed = (is_closed, sizes.closed[1]) if end == 0 else (sizes.closed[0], is_closed)
    rounded = (is_closed, sizes.rounded[1]) if end == 0 else (sizes.rounded[0], is_closed)
    start = replace(sizes, lines=lines, closed=closed, rounded=rounded)
    reach = 0.03 * sizes.tail
    other = fit_surface(fit.points, np.ones(len(fit.points)), start, (reach, reach))
    near = np.abs(fit.points[:, 0] - end * sizes.tail) < ENDS * sizes.tail
    # a sawn end has more to fit with, so it must be clearly nearer
    clearly = 1 / CLEARLY if is_closed else CLEARLY
    if misfit_of(other.off[near], fit.noise) >= clearly * misfit_of(fit.off[near], fit.noise):
        return fit, turn, move
    return other, other.turn @ turn, other.turn @ move + other.move


def _evenly(areas: Array, count: int) -> Whole:
    """Numbers of points spread evenly over the area, the same every time; large ones count more than once."""
    share = np.cumsum(areas) / areas.sum()
    return np.searchsorted(share, (np.arange(count) + 0.5) / count).clip(0, len(areas) - 1)


def _evened(areas: Array, u: Array, v: Array) -> Array:
    """The areas (k,) that points stand for, the same for all of a patch of the skin.

    Of a rounded skin that scatters a point further out stands for more than one further in: by them the whole would lie
    outside by the scatter's square times the curvature, 0.5 % of the volume of a thin bait.
    """
    along = np.clip((u - u.min()) / max(float(np.ptp(u)), 1e-12) * PATCHES[0], 0, PATCHES[0] - 1).astype(int)
    around = np.floor(v * PATCHES[1]).astype(int)
    _, patch = np.unique(along * 1000 + around, return_inverse=True)
    return np.asarray((np.bincount(patch, areas) / np.bincount(patch))[patch])


def _grown(
    cloud: Cloud,
    own: Mask,
    turn: Array,
    move: Array,
    sizes: Sizes,
    reaches: tuple[float, ...] = GROWN,
) -> tuple[Array, Array, SkinFit, NDArray[np.bool_]]:
    """Take in what lies near the surface and fit again, in ever closer rounds: turn, move, the fit, which."""
    noise, fitted, taken = 0.0, None, np.ones(len(cloud.points), dtype=bool)
    for number, reach in enumerate(reaches, start=1):
        at = cloud.points @ turn.T + move
        folded = np.stack([at[:, 0], np.abs(at[:, 1]), at[:, 2]], axis=1)
        near = max(reach * max(1.0, sizes.tail / USUAL), 5 * noise)
        feet = feet_of(surface_through(sizes.offsets()), folded)
        taken = own & (np.abs(feet.off) < near) & (np.linalg.norm(folded - feet.point, axis=1) < 2 * near)
        some = np.flatnonzero(taken & (cloud.areas > 0))
        areas = _evened(cloud.areas[some], feet.u[some], feet.v[some] * np.where(at[some, 1] < 0, -1, 1))
        some = some[_evenly(areas, FITTED if number == len(reaches) else COARSE)]
        fitted = fit_surface(at[some], np.ones(len(some)), sizes, (near,))
        turn, move, sizes, noise = fitted.turn @ turn, fitted.turn @ move + fitted.move, fitted.sizes, fitted.noise
    assert fitted is not None  # noqa: S101  there is one round at least
    return turn, move, fitted, taken


def _beside_axis(sizes: Sizes) -> bool:
    """Whether the axis leaves the body somewhere, so that no lines drawn from it can say it."""
    return bool((sizes.lines[0] < 0).any() or (sizes.lines[1] > 0).any())


def _levelled_axis(sizes: Sizes) -> tuple[Array, Array, Sizes]:
    """The axis laid along the middle between back and belly, most of all where these are near each other.

    Returns
    -------
    tuple
        Turn (3, 3) and move (3,) [mm] of the points, and the sizes from there.
    """
    x = sizes.nose + sizes.places * (sizes.tail - sizes.nose)
    deep = sizes.lines[0] - sizes.lines[1]
    slope, height = np.polyfit(x, sizes.lines[:2].mean(axis=0), 1, w=1 / (deep + SLIM * deep.max()))
    lines = sizes.lines.copy()
    lines[:2] -= height + slope * x
    ends = np.flatnonzero(sizes.closed) * (len(x) - 1)
    lines[:2, ends] = 0.0
    cosine = 1 / np.hypot(1.0, slope)
    turn = np.array([[cosine, 0.0, slope * cosine], [0.0, 1.0, 0.0], [-slope * cosine, 0.0, cosine]])
    return turn, np.array([0.0, 0.0, -height * cosine]), replace(sizes, lines=lines)


def _with_more_rows(sizes: Sizes) -> Sizes:
    """The same sizes at more rows."""
    blunt = float(sizes.rounded[0]), float(sizes.rounded[1])
    places = rows_along(sizes.tail - sizes.nose, blunt, MORE_ROWS)
    return replace(
        sizes, places=places, lines=np.array([np.interp(places, sizes.places, line) for line in sizes.lines])
    )


def _turned(sizes: Sizes, nose: bool, back: bool) -> tuple[Array, Array, Sizes]:
    """Sizes with nose and tail, or back and belly, the other way round; and the half turn that goes with it."""
    turn, move = np.eye(3), np.zeros(3)
    places, lines, closed, rounded = sizes.places, sizes.lines, sizes.closed, sizes.rounded
    if nose:
        turn, move = np.diag([-1.0, -1.0, 1.0]), np.array([sizes.tail, 0.0, 0.0])
        places, lines, closed, rounded = 1 - places[::-1], lines[:, ::-1], closed[::-1], rounded[::-1]
    if back:
        half = np.diag([1.0, -1.0, -1.0])
        turn, move = half @ turn, half @ move
        top, bottom, wide, share, upper, lower = lines
        lines = np.stack([-bottom, -top, wide, 1 - share, lower, upper])
    return turn, move, replace(sizes, places=places, lines=lines, closed=closed, rounded=rounded)
