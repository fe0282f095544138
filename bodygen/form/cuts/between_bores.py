"""How much wood stands between two bores, the wood beside a leaning bore's mouth included."""

from collections.abc import Callable
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from bodygen.form.cuts.hole import in_profile
from bodygen.form.cuts.skin import Skin
from bodygen.form.cuts.tools import Revolved, square_to
from bodygen.form.ray_caster import RayCaster

Array = NDArray[np.float64]
STATIONS = 40
"""Along a bore, for points on its wall."""
AROUND = 24
ROUGHLY = 9
"""Along what may be wood beside a mouth, before lines tell how much of it is."""


@lru_cache(maxsize=64)  # each hole is held against all that lie near it
def axis_points(bore: Revolved) -> Array:
    """Points on the hole's axis from the mouth inwards (n, 3) [mm]; read only.

    Elementary.
    """
    axis: Array = np.array(bore.origin) + np.linspace(0.0, bore.point, STATIONS)[:, None] * np.array(bore.axis)
    axis.setflags(write=False)
    return axis


@lru_cache(maxsize=64)
def wall_points(bore: Revolved) -> Array:
    """Points on the hole's axis, and then on its wall, from the mouth inwards (n, 3) [mm]; read only.

    Elementary: the profile turned about the axis.
    """
    axis, radius = axis_points(bore), _radius(bore, np.linspace(0.0, bore.point, STATIONS))
    points = np.concatenate([axis, (axis[:, None] + radius[:, None, None] * _ring(bore)).reshape(-1, 3)])
    points.setflags(write=False)
    return points


def at_least(bore: Revolved, off: Callable[[Array], Array]) -> float:
    """No less than this lies between a hole and something from which points (n, 3) are ``off`` so far (n,) [mm].

    Derived here: by how far the axis is off, and how far at most the hole's wall is from the points on that.
    """
    past_point = 0.0 if bore.through else max(s for s, _ in bore.profile) - bore.point
    step = bore.point / (STATIONS - 1)
    return float(off(axis_points(bore)).min()) - _widest(bore) - step / 2 - past_point


def wood_between(bore: Revolved, other: Revolved, limit: float, skin: Skin, caster: RayCaster) -> float:
    """Least wood between two holes [mm], at most 0 where they meet; infinite where it is well beyond ``limit`` [mm].

    A hole is held to begin where its axis meets the skin, and that is enough where the drill goes in squarely. Where it
    leans against the skin, wood stands beside its mouth on one side: there lines along its wall say where it begins.

    Elementary: distances from points of one wall to the half section of the other.
    """
    if _far_apart(bore, other, limit):
        return np.inf
    kept = skin.kept
    lean, other_lean = (kept.of(("leans", hole), partial(_leans, hole, skin)) for hole in (bore, other))
    narrow, wide = sorted((bore, other), key=_widest)
    if at_least(narrow, lambda points: in_profile(wide, points)[1]) - lean - other_lean > limit:
        return np.inf
    distance = kept.of(("between", bore, other), lambda: _squarely(bore, other))
    if distance <= 0 or distance - lean - other_lean > limit:
        return distance
    before = min(_before_mouth(bore, lean, other, other_lean), _before_mouth(other, other_lean, bore, lean))
    if before > min(distance, limit):
        return distance
    return min(distance, kept.of(("beside mouths", bore, other), lambda: _beside_mouths(bore, other, caster)))


def _before_mouth(bore: Revolved, lean: float, other: Revolved, other_lean: float) -> float:
    """No less than this lies between the wood beside a hole's mouth, as far as it may go, and another hole [mm]."""
    if not lean:
        return np.inf
    if not np.isfinite(lean + other_lean):
        return -np.inf
    ring = np.array(bore.origin) + _radius(bore, np.zeros(1))[0] * _ring(bore)
    s, step = np.linspace(-lean, 0.0, ROUGHLY, retstep=True)
    points = ring[:, None] + s[:, None] * np.array(bore.axis)
    return float(in_profile(other, points.reshape(-1, 3), -other_lean)[1].min() - step / 2)


def _squarely(bore: Revolved, other: Revolved) -> float:
    """The least distance of two holes, each from where its axis meets the skin [mm]."""
    return float(min(in_profile(other, wall_points(bore))[1].min(), in_profile(bore, wall_points(other))[1].min()))


def _beside_mouths(bore: Revolved, other: Revolved, caster: RayCaster) -> float:
    """The least distance of the wall before each one's mouth to the other hole [mm]; infinite where there is none."""
    (start, points), (other_start, other_points) = (_wall_before_mouth(hole, caster) for hole in (bore, other))
    here = in_profile(other, points, other_start)[1].min(initial=np.inf)
    return float(min(here, in_profile(bore, other_points, start)[1].min(initial=np.inf)))


def _far_apart(bore: Revolved, other: Revolved, limit: float) -> bool:
    """Whether spheres round the two holes already keep further apart than the limit [mm]."""
    middles = [np.array(b.origin) + b.point / 2 * np.array(b.axis) for b in (bore, other)]
    reach = sum(b.point / 2 + _widest(b) for b in (bore, other))
    return bool(np.linalg.norm(middles[0] - middles[1]) > reach + limit)


def _widest(bore: Revolved) -> float:
    return max(r for _, r in bore.profile)


def _leans(bore: Revolved, skin: Skin) -> float:
    """How far before its mouth a hole may have wood beside it [mm]: its radius times the slope of the skin there."""
    square = -skin.normals_at(np.array(bore.origin)) @ np.array(bore.axis)
    least = float(square.min(initial=1.0))
    wide = float(_radius(bore, np.zeros(1))[0])
    return wide * np.sqrt(1 - least**2) / least if least > 0 else np.inf


def _wall_before_mouth(bore: Revolved, caster: RayCaster) -> tuple[float, Array]:
    """Where wood begins beside the mouth [mm], at most 0, and the wall's points (n, 3) in the wood from there on."""
    axis, reach = np.array(bore.axis), caster.reach
    ring = np.array(bore.origin) + _radius(bore, np.zeros(1))[0] * _ring(bore)
    met = caster.lines(ring - axis * reach, np.broadcast_to(axis, ring.shape))
    starts = [(place, float(hits[0]) - reach) for place, hits in zip(ring, met, strict=True) if len(hits)]
    lines = [place + np.linspace(start, 0.0, STATIONS)[:, None] * axis for place, start in starts if start < 0]
    return min([0.0, *(start for _, start in starts)]), np.concatenate([*lines, np.empty((0, 3))])


def _radius(bore: Revolved, s: Array) -> Array:
    """The hole's radius (n,) at distances s (n,) from its mouth [mm]."""
    profile = np.array(bore.profile)
    return np.asarray(np.interp(s, profile[:, 0], profile[:, 1]))


def _ring(bore: Revolved) -> Array:
    """Unit vectors (24, 3) all round the axis."""
    first, second = square_to(bore.axis)
    angle = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)
    return np.asarray(np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second)
