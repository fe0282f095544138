"""An energy minimiser: from a direction of up to the nearest one at which weight and buoyancy lie in one vertical.

Knows potential energy on the sphere of directions. Knows nothing of what an attitude is called, nor which of them a
maker is told (``equilibrium.py``).

With s the height over the water, G the centre of mass and V0 the volume of water that weighs as much as the body,

    Psi(u, h) = (u . G - h) - (1 / V0) * integral of s over the wetted volume            [mm]

is the potential energy over the weight; its least value over the water's height h is the energy E(u) at the volume V0,
so (u, h) go down together and no inner search for h is needed. In the horizontal axes, with I about the origin,
J = I / V0 - BG * 1, f the first moment and A the area of the waterplane:

    Psi_uu = J, Psi_uh = -f / V0, Psi_hh = A / V0; eliminating h leaves I_F / V0 - BG: the two metacentric heights.

Each step is Newton's with the absolute values of the eigenvalues, so it always goes down, inside a trust region; a
point of balance that is not a valley is left along its steepest fall (J. Nocedal, S. J. Wright, Numerical Optimization,
2006, chapters 3 and 4, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from bodygen.flotation.blocks import Flags, Indices
from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import Immersion, immerse, immerse_volume
from bodygen.form.integrals import Array

KICK = 0.02  # rad: far enough from a saddle to see its fall over rounding, near enough to stay in its own valley
ROUGHLY = 0.2  # of the volume: near enough to begin at, as every step moves the water too
LONGEST_WAY = 300  # steps; the longest way seen in 500 random bodies and 46 starts each took 41


@dataclass(frozen=True, slots=True)
class Slope:
    """Energy and its derivatives at k points (u, h), lengths in mm, for a weight of one.

    energy (k,); turning (k, 2): gradient along the two horizontal axes with h eliminated; sinking (k,): V / V0 - 1;
    stiffness (k, 2, 2): I_F / V0 - BG on the same axes; firsts (k, 2) [mm^3] and area (k,) [mm^2] of the waterplane.
    """

    energy: Array
    turning: Array
    sinking: Array
    stiffness: Array
    firsts: Array
    area: Array


Rows = TypeVar("Rows", Immersion, Slope)


@dataclass(frozen=True, slots=True)
class Rest:
    """Where k minimisations ended; settled (k,) bool: at rest, and not on a saddle."""

    cut: Immersion
    slope: Slope
    settled: Flags

    @property
    def up(self) -> Array:
        """The vertical in body axes (k, 3) [-]."""
        return self.cut.up

    @property
    def height(self) -> Array:
        """Of the water (k,), up . p [mm]."""
        return self.cut.height

    def of(self, which: Indices) -> "Rest":
        """Those at some places [-] among them."""
        return Rest(_rows(self.cut, which), _rows(self.slope, which), self.settled[which])


def slope(hull: Hull, cut: Immersion, centre_of_mass: Array, volume: float) -> Slope:
    """Energy over weight and its derivatives where the hull is cut; ``volume`` [mm^3] of water weighs as much as it.

    Derived here, see the head of this file; held in the tests against differences.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> here = slope(hull, immerse(hull, np.array([[0.0, 0, 1]]), np.zeros(1)), np.zeros(3), 6000.0)
    >>> here.turning[0].tolist(), float(here.stiffness[0, 1, 1])   # at rest, GM = 20^2 / (12 * 5) - 2.5
    ([0.0, 0.0], 4.1667)
    """
    arm = centre_of_mass - hull.origin
    up_arm = cut.up @ arm
    area = np.maximum(cut.area, 1e-9 * hull.size**2)
    energy = up_arm - cut.level - cut.moments[:, 2] / volume
    sinking = cut.volume / volume - 1
    flat_arm = np.stack([cut.along @ arm, cut.across @ arm], axis=1)
    turning = flat_arm - cut.moments[:, :2] / volume + cut.area_firsts * (sinking / area)[:, None]
    about_centre = cut.area_seconds - cut.area_firsts[:, :, None] * cut.area_firsts[:, None, :] / area[:, None, None]
    bg = up_arm - (cut.moments[:, 2] + cut.level * cut.volume) / volume
    stiffness = about_centre / volume - bg[:, None, None] * np.eye(2)
    return Slope(energy, turning, sinking, stiffness, cut.area_firsts, area)


def turned(up: Array, tangent: Array) -> Array:
    """``up`` (k, 3) moved along great circles by ``tangent`` (k, 3) [rad], each normal to its ``up``.

    Elementary: cos t up + sin t tangent / t.

    Examples
    --------
    >>> turned(np.array([[0.0, 0, 1]]), np.radians([[30.0, 0, 0]])).tolist()
    [[0.5, 0.0, 0.86603]]
    """
    angle = np.sqrt((tangent * tangent).sum(axis=1, keepdims=True))
    moved = np.cos(angle) * up + np.sin(angle) / np.maximum(angle, 1e-300) * tangent
    result: Array = moved / np.sqrt((moved * moved).sum(axis=1, keepdims=True))
    return result


def minimise(
    hull: Hull,
    starts: Array,
    centre_of_mass: Array,
    volume: float,
    longest_step: float | Array,
    most_steps: int = LONGEST_WAY,
    near: float = 0.0,
    heights: Array | None = None,
) -> Rest:
    """Follow the energy down from each start.

    Parameters
    ----------
    hull : Hull
        What pushes water aside [mm].
    starts : (k, 3) array
        Unit vectors of up, body axes [-].
    centre_of_mass : (3,) array
        Body axes [mm].
    volume : float
        Volume of water that weighs as much as the body, less than the hull's [mm^3].
    longest_step : float or (k,) array
        Trust radius that no step exceeds, of all starts or of each [rad]. Small steps stay in the valley they began in.
    most_steps : int
        Give up after so many [-]; what has not come to rest by then is not settled.
    near : float
        A start that is in a valley ends as soon as Newton's step is shorter than this [rad].
    heights : (k,) array, optional
        Where the water may stand at each start [mm]; left out where it is far off.

    Returns
    -------
    Rest
        In the order of the starts. At rest means a lever of less than 1e-9 of the hull's size.

    References
    ----------
    J. Nocedal, S. J. Wright, Numerical Optimization, 2006, chapters 3 and 4 (from memory).

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> tipped = np.array([[0.0, np.sin(0.1), np.cos(0.1)]])
    >>> rest = minimise(hull, tipped, np.zeros(3), 6000.0, 0.1)
    >>> rest.up.round(6).tolist(), rest.settled.tolist()   # a board lies flat
    ([[0.0, 0.0, 1.0]], [True])
    """
    size = hull.size
    reach = 0.5 * float(np.linalg.norm(hull.places.max(axis=1) - hull.places.min(axis=1)))
    cut = None if heights is None else immerse(hull, starts, heights)
    if cut is None or (np.abs(cut.volume - volume) > ROUGHLY * volume).any():
        cut = immerse_volume(hull, starts, volume, tolerance=ROUGHLY)
    here = slope(hull, cut, centre_of_mass, volume)
    longest = np.broadcast_to(np.asarray(longest_step, dtype=np.float64), len(starts))
    active, radius, kicks = np.arange(len(starts)), longest.copy(), np.zeros(len(starts), dtype=np.int64)
    ended: list[tuple[Indices, Immersion, Slope, Flags]] = []
    for _ in range(most_steps):
        values, vectors = _ways(here.stiffness)
        newton = _newton(here, values, vectors, reach)
        balanced = (np.hypot(*here.turning.T) < 1e-9 * size) & (np.abs(here.sinking) < 1e-10)
        kicked = balanced & (values[:, 0] < -1e-9 * size) & (kicks < 20)
        done = balanced & ~kicked
        if near:
            done |= (np.hypot(*newton.T) < near) & (values[:, 0] > 0) & (np.abs(here.sinking) < near)
        if done.any():
            on, off = np.flatnonzero(~done), np.flatnonzero(done)
            ended.append((active[off], _rows(cut, off), _rows(here, off), values[off, 0] >= -1e-9 * size))
            cut, here, active, kicks, kicked = _rows(cut, on), _rows(here, on), active[on], kicks[on], kicked[on]
            radius, longest, newton, vectors = radius[on], longest[on], newton[on], vectors[on]
        if not len(active):
            break
        step, rise = _step(here, newton, vectors, radius, reach, volume)
        if kicked.any():
            fall = vectors[kicked, :, 0]
            step[kicked] = KICK * fall * _to_the_right(fall, cut.along[kicked], cut.across[kicked])[:, None]
            rise[kicked] = (here.firsts[kicked] * step[kicked]).sum(axis=1) / here.area[kicked]
            kicks = kicks + kicked
        up = turned(cut.up, step[:, :1] * cut.along + step[:, 1:] * cut.across)
        # the sphere curves away from the tangent: keep the plane through the origin's point while turning
        new = immerse(hull, up, cut.height + rise + (up - cut.up) @ hull.origin)
        there = slope(hull, new, centre_of_mass, volume)
        promised = -_model(here, step, rise, volume)
        fallen = here.energy - there.energy
        # Near rest the fall drowns in rounding; there the steps are Newton's own and need no proof.
        blind = promised < 1e-12 * size
        good = (fallen > 0.05 * promised) | blind | kicked
        full = np.hypot(np.hypot(*step.T), rise / reach) > 0.8 * radius
        radius = np.where(good, np.where((fallen > 0.7 * promised) & full, 2 * radius, radius), 0.25 * radius)
        radius = np.where(good & (fallen < 0.25 * promised) & ~blind & ~kicked, 0.5 * radius, radius)
        radius = np.minimum(radius, longest)
        cut, here = _either(good, new, cut), _either(good, there, here)
    ended.append((active, cut, here, np.zeros(len(active), dtype=bool)))
    which, cuts, slopes, settled = zip(*ended, strict=True)
    order = np.argsort(np.concatenate(which))
    return Rest(_rows(_joined(cuts), order), _rows(_joined(slopes), order), np.concatenate(settled)[order])


def _rows(of: Rows, which: Indices) -> Rows:
    """Those of k planes that are asked for."""
    return type(of)(*(getattr(of, name).take(which, axis=0) for name in of.__slots__))


def _joined(each: Sequence[Rows]) -> Rows:
    return type(each[0])(*(np.concatenate([getattr(of, name) for of in each]) for name in each[0].__slots__))


def _either(good: Flags, goes: Rows, stays: Rows) -> Rows:
    """Where each of k minimisations went to if that was good, else where it stays."""
    if good.all():
        return goes
    pairs = ((getattr(goes, name), getattr(stays, name)) for name in goes.__slots__)
    return type(goes)(*(np.where(good.reshape(-1, *[1] * (a.ndim - 1)), a, b) for a, b in pairs))


def _to_the_right(fall: Array, along: Array, across: Array) -> Array:
    """Sign (k,) that makes a fall from a saddle the same whatever the rounding: right side up, else nose down."""
    body = fall[:, :1] * along + fall[:, 1:] * across
    leading = np.where(
        np.abs(body[:, 1]) > 1e-3, body[:, 1], np.where(np.abs(body[:, 0]) > 1e-3, body[:, 0], body[:, 2])
    )
    return np.where(leading < 0, -1.0, 1.0)


def _ways(stiffness: Array) -> tuple[Array, Array]:
    """Eigenvalues (k, 2), the lesser first, and eigenvectors (k, 2, 2) in columns of symmetric matrices (k, 2, 2).

    In closed form: for so few a library takes twice as long.
    """
    a, b, c = stiffness[:, 0, 0], stiffness[:, 0, 1], stiffness[:, 1, 1]
    middle, half = 0.5 * (a + c), np.hypot(0.5 * (a - c), b)
    turn = 0.5 * np.arctan2(b, 0.5 * (a - c))
    cos, sin = np.cos(turn), np.sin(turn)
    vectors = np.stack([-sin, cos, cos, sin], axis=1).reshape(-1, 2, 2)
    return np.stack([middle - half, middle + half], axis=1), vectors


def _newton(here: Slope, values: Array, vectors: Array, reach: float) -> Array:
    """Newton's turn (k, 2) [rad] along the eigenvectors of the stiffness, always downwards."""
    slopes = (here.turning[:, None, :] @ vectors)[:, 0]
    turn: Array = -slopes / np.maximum(np.abs(values), 1e-12 * reach)
    return turn


def _step(
    here: Slope, newton: Array, vectors: Array, radius: Array, reach: float, volume: float
) -> tuple[Array, Array]:
    """Turn (k, 2) [rad] and rise (k,) [mm] of the next trial; where the water must move far it moves alone."""
    along_axes = newton * np.minimum(1.0, radius / np.maximum(np.hypot(*newton.T), 1e-300))[:, None]
    step = (vectors @ along_axes[:, :, None])[:, :, 0]
    rise = ((here.firsts * step).sum(axis=1) - volume * here.sinking) / here.area
    far = np.abs(rise) > reach * radius
    if far.any():
        step[far] = 0
        alone = np.clip(-volume * here.sinking / here.area, -reach * radius, reach * radius)
        rise = np.where(far, alone, rise)
    return step, rise


def _model(here: Slope, step: Array, rise: Array, volume: float) -> Array:
    """Change of energy (k,) [mm] that the quadratic model expects of a step."""
    spread = rise - ((here.firsts * step).sum(axis=1) - volume * here.sinking) / here.area  # from the best rise
    turn = ((here.turning + 0.5 * (here.stiffness @ step[:, :, None])[:, :, 0]) * step).sum(axis=1)
    lift = 0.5 * here.area / volume
    change: Array = turn + lift * (spread**2 - (volume * here.sinking / here.area) ** 2)
    return change
