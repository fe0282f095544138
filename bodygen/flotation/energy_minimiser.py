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

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodygen.flotation.hull import Hull
from bodygen.flotation.immersion import Immersion, immerse, immerse_volume
from bodygen.form.integrals import Array

KICK = 0.02  # rad: far enough from a saddle to see its fall over rounding, near enough to stay in its own valley
ROUGHLY = 0.05  # of the volume: near enough to begin at, as every step moves the water too
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


@dataclass(frozen=True, slots=True)
class Rest:
    """Where k minimisations ended: up (k, 3), height (k,) [mm]; settled (k,) bool: at rest, and not on a saddle."""

    up: Array
    height: Array
    settled: NDArray[np.bool_]


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
    angle = np.linalg.norm(tangent, axis=1, keepdims=True)
    moved = np.cos(angle) * up + np.sinc(angle / np.pi) * tangent
    result: Array = moved / np.linalg.norm(moved, axis=1, keepdims=True)
    return result


def minimise(
    hull: Hull,
    starts: Array,
    centre_of_mass: Array,
    volume: float,
    longest_step: float | Array,
    most_steps: int = LONGEST_WAY,
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
    reach = 0.5 * float(np.linalg.norm(hull.vertices.max(axis=0) - hull.vertices.min(axis=0)))
    up_all, settled_all = starts.copy(), np.zeros(len(starts), dtype=bool)
    cut = immerse_volume(hull, starts, volume, tolerance=ROUGHLY)
    height_all = cut.height.copy()
    here = slope(hull, cut, centre_of_mass, volume)
    active = np.arange(len(starts))
    up, height, along, across = cut.up, cut.height, cut.along, cut.across
    longest = np.broadcast_to(np.asarray(longest_step, dtype=np.float64), len(starts))
    radius, kicks = longest.copy(), np.zeros(len(starts), dtype=np.int64)
    for _ in range(most_steps):
        values, vectors = np.linalg.eigh(here.stiffness)
        balanced = (np.linalg.norm(here.turning, axis=1) < 1e-9 * size) & (np.abs(here.sinking) < 1e-10)
        kicked = balanced & (values[:, 0] < -1e-9 * size) & (kicks < 20)
        done = balanced & ~kicked
        if done.any():
            up_all[active[done]], height_all[active[done]] = up[done], height[done]
            settled_all[active[done]] = values[done, 0] >= -1e-9 * size
            keep = ~done
            active, up, height, along, across = active[keep], up[keep], height[keep], along[keep], across[keep]
            radius, longest, kicks, kicked = (a[keep] for a in (radius, longest, kicks, kicked))
            values, vectors = values[keep], vectors[keep]
            here = Slope(*(getattr(here, name)[keep] for name in Slope.__slots__))
        if not len(active):
            break
        step, rise = _step(here, values, vectors, radius, reach, volume)
        if kicked.any():
            fall = vectors[kicked, :, 0]
            step[kicked] = KICK * fall * _to_the_right(fall, along[kicked], across[kicked])[:, None]
            rise[kicked] = (here.firsts[kicked] * step[kicked]).sum(axis=1) / here.area[kicked]
            kicks = kicks + kicked
        tangent = step[:, :1] * along + step[:, 1:] * across
        new_up = turned(up, tangent)
        # the sphere curves away from the tangent: keep the plane through the origin's point while turning
        cut = immerse(hull, new_up, height + rise + (new_up - up) @ hull.origin)
        there = slope(hull, cut, centre_of_mass, volume)
        promised = -_model(here, step, rise, volume)
        fallen = here.energy - there.energy
        # Near rest the fall drowns in rounding; there the steps are Newton's own and need no proof.
        blind = promised < 1e-12 * size
        good = (fallen > 0.05 * promised) | blind | kicked
        full = np.hypot(np.linalg.norm(step, axis=1), rise / reach) > 0.8 * radius
        radius = np.where(good, np.where((fallen > 0.7 * promised) & full, 2 * radius, radius), 0.25 * radius)
        radius = np.where(good & (fallen < 0.25 * promised) & ~blind & ~kicked, 0.5 * radius, radius)
        radius = np.minimum(radius, longest)
        ways = (new_up, up), (cut.height, height), (cut.along, along), (cut.across, across)
        up, height, along, across = (_chosen(good, goes, stays) for goes, stays in ways)
        here = there if good.all() else _either(good, there, here)
    up_all[active], height_all[active] = up, height
    return Rest(up_all, height_all, settled_all)


def _either(good: NDArray[np.bool_], there: Slope, here: Slope) -> Slope:
    """The slopes of k minimisations: where each went to if that was good, else where it stays."""
    pairs = ((getattr(there, name), getattr(here, name)) for name in Slope.__slots__)
    return Slope(*(_chosen(good, goes, stays) for goes, stays in pairs))


def _chosen(good: NDArray[np.bool_], goes: Array, stays: Array) -> Array:
    return goes if good.all() else np.where(good.reshape(-1, *[1] * (stays.ndim - 1)), goes, stays)


def _to_the_right(fall: Array, along: Array, across: Array) -> Array:
    """Sign (k,) that makes a fall from a saddle the same whatever the rounding: right side up, else nose down."""
    body = fall[:, :1] * along + fall[:, 1:] * across
    leading = np.where(
        np.abs(body[:, 1]) > 1e-3, body[:, 1], np.where(np.abs(body[:, 0]) > 1e-3, body[:, 0], body[:, 2])
    )
    return np.where(leading < 0, -1.0, 1.0)


def _step(
    here: Slope, values: Array, vectors: Array, radius: Array, reach: float, volume: float
) -> tuple[Array, Array]:
    """Turn (k, 2) [rad] and rise (k,) [mm] of the next trial; where the water must move far it moves alone."""
    slopes = (here.turning[:, None, :] @ vectors)[:, 0]
    stiff = np.maximum(np.abs(values), 1e-12 * reach)
    along_axes = -slopes / stiff
    length = np.linalg.norm(along_axes, axis=1, keepdims=True)
    along_axes *= np.minimum(1.0, radius[:, None] / np.maximum(length, 1e-300))
    step = (vectors @ along_axes[:, :, None])[:, :, 0]
    rise = ((here.firsts * step).sum(axis=1) - volume * here.sinking) / here.area
    far = np.abs(rise) > reach * radius
    step[far] = 0
    alone = np.clip(-volume * here.sinking / here.area, -reach * radius, reach * radius)
    return step, np.where(far, alone, rise)


def _model(here: Slope, step: Array, rise: Array, volume: float) -> Array:
    """Change of energy (k,) [mm] that the quadratic model expects of a step."""
    spread = rise - ((here.firsts * step).sum(axis=1) - volume * here.sinking) / here.area  # from the best rise
    turn = (here.turning * step).sum(axis=1) + 0.5 * np.einsum("ka,kab,kb->k", step, here.stiffness, step)
    lift = 0.5 * here.area / volume
    change: Array = turn + lift * (spread**2 - (volume * here.sinking / here.area) ** 2)
    return change
