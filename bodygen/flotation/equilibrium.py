"""How a hull of given mass lies in the water: the attitude it comes to when let go level, and every other stable one.

Knows weight, water and attitudes. Knows nothing of where the mass came from, nor what a maker would think of the answer
(``checks.py``).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bodygen.errors import BodygenError, DesignError
from bodygen.flotation.energy_minimiser import Rest, minimise
from bodygen.flotation.hull import MIRRORED, Hull, coarser, is_symmetric
from bodygen.flotation.immersion import centre_of_buoyancy, horizontal_axes
from bodygen.flotation.rolling import connected_without_barrier, valleys_by_rolling
from bodygen.form.integrals import Array
from bodygen.tables import load

State = Literal["floats", "suspends", "sinks"]
Vector = tuple[float, float, float]

STARTS = 40  # directions to look from, besides level: 500 random bodies gave the same answers from 200
COARSE_FACES, COARSE_CELLS, COARSE_STEPS, COARSE_APART = 3000, 24, 8, 2.0  # faces, cells, steps [-]; apart [deg]
COARSE_NEAR = 0.005  # rad: less than what the coarse hull's rest is off anyway
LONGEST_STEP = 0.5  # rad, from the spread of starts: quick
LET_GO_STEP = 0.1  # rad, from level: stays in the valley that the level bait stands in


@dataclass(frozen=True, slots=True)
class Attitude:
    """One way to lie. Angles in degrees, lengths mm; signs as DEVELOPERS.md has them, under Axes.

    ``up`` is the vertical in body axes; ``water_height`` where the water stands: up . p = water_height [mm].
    ``roll_deg`` is None with the nose straight up or down; ``water_height`` and ``freeboard_mm`` are None wholly under,
    where no surface is in reach. ``gm_mm``, ``gml_mm``: metacentric heights about the horizontal projection of x and
    across it. ``centre_of_buoyancy`` [mm] and ``submerged_cm3`` are of the part under water. ``stable``: no small turn
    in any direction lowers the energy. ``residual_n_mm``: moment left unbalanced by the iteration.
    """

    up: Vector
    water_height: float | None
    pitch_deg: float
    roll_deg: float | None
    freeboard_mm: float | None
    gm_mm: float
    gml_mm: float
    waterplane_cm2: float
    submerged_cm3: float
    centre_of_buoyancy: Vector
    stable: bool
    residual_n_mm: float


@dataclass(frozen=True, slots=True)
class Flotation:
    """``attitude`` is where it comes to when let go level, back up; ``others`` every further stable one, lowest first.

    ``reserve_g`` is the water displaced wholly under, less the weight; ``displaced_cm3`` that water's volume.
    """

    water_g_cm3: float
    state: State
    reserve_g: float
    displaced_cm3: float
    attitude: Attitude
    others: tuple[Attitude, ...]


def find_attitudes(
    hull: Hull,
    mass_g: float,
    centre_of_mass: Vector | Array,
    water_g_cm3: float,
    *,
    others: bool = True,
    near: Attitude | None = None,
    pause: Callable[[], None] = lambda: None,
) -> Flotation:
    """Find every way a body rests in the water.

    Archimedes' principle; which rest, and that it is stable: see ``energy_minimiser.py``, derived here.

    Parameters
    ----------
    hull : Hull
        All that displaces water [mm].
    mass_g : float
        Total mass, things that hang from an eye included [g].
    centre_of_mass : (3,)
        Of that mass, with hanging things at their eyes; body axes [mm].
    water_g_cm3 : float
        Density of the water [g/cm^3].
    others : bool
        Whether to look for further attitudes; without, the answer comes about eight times as quick.
    near : Attitude, optional
        Where a bait like this lay: it is let go from there, not from level.
    pause : callable
        Called before every piece of the work; what it raises ends it.

    Returns
    -------
    Flotation

    Raises
    ------
    DesignError
        Mass or density is not a positive number, or the centre of mass is not finite.

    Examples
    --------
    >>> import manifold3d
    >>> from bodygen.flotation.hull import Shell, build_hull
    >>> from bodygen.mesh.cut import to_mesh
    >>> box = to_mesh(manifold3d.Manifold.cube((60.0, 20.0, 10.0), True))
    >>> hull = build_hull([Shell(box.vertices, box.faces)])
    >>> board = find_attitudes(hull, 6.0, np.zeros(3), 1.0, others=False)   # of half the water's density, 5 mm deep
    >>> board.reserve_g, board.attitude.freeboard_mm, board.attitude.gm_mm   # GM = 20^2 / (12 * 5) - 2.5
    (6.0, 5.0, 4.1667)
    """
    centre = np.asarray(centre_of_mass, dtype=np.float64)
    if not (math.isfinite(mass_g) and mass_g > 0 and math.isfinite(water_g_cm3) and water_g_cm3 > 0):
        text = f"a body of {mass_g} g in water of {water_g_cm3} g/cm3 cannot be floated: both must be positive"
        raise DesignError(text)
    if centre.shape != (3,) or not np.isfinite(centre).all():
        text = f"the centre of mass {centre_of_mass} is not a place"
        raise DesignError(text)
    displaced_cm3 = hull.volume / 1000
    reserve = displaced_cm3 * water_g_cm3 - mass_g
    further: list[Attitude] = []
    band = load("flotation")["suspends"]["reserve_share"] * displaced_cm3 * water_g_cm3
    if reserve <= band:
        state: State = "suspends" if reserve >= -band else "sinks"
        attitude = _wholly_under(hull, centre, water_g_cm3)
    else:
        state = "floats"
        attitude, *further = _afloat(
            hull, mass_g, centre, 1000 * mass_g / water_g_cm3, near, others=others, pause=pause
        )
    return Flotation(water_g_cm3, state, reserve, displaced_cm3, attitude, tuple(further))


def spread_of_directions(count: int) -> Array:
    """Spread unit vectors (count, 3) [-]: six along the axes, the rest evenly on a spiral, off every plane of symmetry.

    The golden-angle spiral of R. Swinbank, R. J. Purser, Q. J. R. Meteorol. Soc. 132 (2006) 1769 (from memory).

    Examples
    --------
    >>> spread_of_directions(6).sum(axis=0).tolist(), spread_of_directions(46).shape
    ([0.0, 0.0, 0.0], (46, 3))
    """
    axes = np.concatenate([np.eye(3), -np.eye(3)])
    k = np.arange(max(count - len(axes), 0))
    height = 1 - (2 * k + 1) / max(len(k), 1)
    turn = k * math.pi * (3 - math.sqrt(5)) + 0.3
    ring = np.sqrt(1 - height**2)
    spiral = np.stack([height, ring * np.cos(turn), ring * np.sin(turn)], axis=1)
    return np.concatenate([axes, spiral])[:count]


def _afloat(
    hull: Hull,
    mass_g: float,
    centre: Array,
    volume: float,
    near: Attitude | None,
    *,
    others: bool,
    pause: Callable[[], None],
) -> list[Attitude]:
    """Find the attitude reached from another one afloat, or from level; then the other stable ones by rising energy."""
    pause()
    up, height = ((0.0, 0.0, 1.0), None) if near is None else (near.up, near.water_height)
    heights = None if height is None else np.array([height])
    level = minimise(hull, np.array([up]), centre, volume, LET_GO_STEP, heights=heights)
    if not level.settled[0]:
        text = f"no rest found for {mass_g:g} g after many steps; the last direction of up was {level.up[0].tolist()}"
        raise BodygenError(text)
    rests = _distinct_rests(hull, centre, volume, level, pause) if others else [level]
    return [_describe(hull, mass_g, centre, _right_side_up(hull, centre, volume, rest)) for rest in rests]


def _distinct_rests(hull: Hull, centre: Array, volume: float, level: Rest, pause: Callable[[], None]) -> list[Rest]:
    """Every rest by itself: the given one first, then all others by energy, images left out."""
    symmetric = bool(abs(centre[1]) < MIRRORED * hull.size and is_symmetric(hull))
    valleys, spread = _worth_a_look(hull, centre, volume, level.up[0], pause, symmetric=symmetric)
    pause()
    starts = np.concatenate([valleys, spread])
    steps = np.repeat([LET_GO_STEP, LONGEST_STEP], [len(valleys), len(spread)])
    new = np.array([not _alike(level.up[0], up) for up in starts], dtype=bool)  # from beside a rest the way leads to it
    if not new.any():
        return [level]
    ends = minimise(hull, starts[new], centre, volume, steps[new])
    barrier, kept = _barrier(hull), [level]
    for candidate in np.flatnonzero(ends.settled)[np.argsort(ends.slope.energy[ends.settled], kind="stable")]:
        pause()
        rest = ends.of(np.array([candidate]))
        if any(_twins(k, rest, barrier) for k in kept):
            continue
        level_ones = [k.up[0] for k in kept if abs(k.slope.energy[0] - rest.slope.energy[0]) < barrier]
        if not any(connected_without_barrier(hull, centre, volume, k, rest.up[0], barrier) for k in level_ones):
            kept.append(rest)
    return kept


def _worth_a_look(
    hull: Hull, centre: Array, volume: float, rest: Array, pause: Callable[[], None], *, symmetric: bool
) -> tuple[Array, Array]:
    """Directions (k, 3) to go down from on the full hull: valleys met by rolling, and where else to go from.

    Those are where a few steps on a coarse hull lead from everywhere, but for beside the valleys and the ``rest`` that
    is known. That walk is cut short on purpose: a valley that
    the coarse hull has lost still slows it down there. A shallow one on a round body, where the coarse hull is no guide
    at all, is met by rolling the full one. Of a ``symmetric`` bait one flank is enough.
    """
    pause()
    starts = spread_of_directions(STARTS)
    starts = starts[starts[:, 0] != 0]  # those along y and z lie on the circle of rolls, two of them on a saddle
    if symmetric:
        starts = starts[starts[:, 1] >= 0]
    if len(hull.faces) < COARSE_FACES:
        return valleys_by_rolling(hull, centre, volume, symmetric=symmetric), starts
    rough = coarser(hull, COARSE_CELLS)
    there, scaled = centre + rough.centroid - hull.centroid, volume * rough.volume / hull.volume
    valleys = valleys_by_rolling(hull, centre, volume, (rough, there, scaled), symmetric=symmetric)
    near = math.cos(math.radians(COARSE_APART))
    known = [rest, *valleys]
    kept = [*known, *(known * np.array([1, -1, 1]))] if symmetric else known
    found = len(kept)
    pause()
    for up in minimise(rough, starts, there, scaled, LONGEST_STEP, COARSE_STEPS, COARSE_NEAR).up:
        if (np.array(kept) @ up).max() < near:
            kept.append(up)
    return valleys, np.array(kept[found:]).reshape(-1, 3)


def _alike(a: Array, b: Array) -> bool:
    """Whether two directions are the same or mirror images, to within what facets can tell."""
    near = math.cos(math.radians(load("flotation")["same_attitude"]["within_deg"]))
    return bool(a @ b > near or a @ (b * [1, -1, 1]) > near)


def _right_side_up(hull: Hull, centre: Array, volume: float, rest: Rest) -> Rest:
    """Of two mirror images give the one with the right side up; a body that is no mirror image keeps its own."""
    if rest.up[0, 1] > -1e-9:
        return rest
    image = minimise(hull, rest.up * [1, -1, 1], centre, volume, LET_GO_STEP)
    return image if image.settled[0] and _twins(image, rest, _barrier(hull)) else rest


def _barrier(hull: Hull) -> float:
    """Of the energy over the weight [mm]: what counts as no climb at all."""
    return float(load("flotation")["same_attitude"]["barrier_share"]) * hull.size


def _twins(a: Rest, b: Rest, barrier: float) -> bool:
    """Whether two rests are one or mirror images: of a lopsided body the two sides may look alike and lie deeper."""
    return abs(float(a.slope.energy[0] - b.slope.energy[0])) < 20 * barrier and _alike(a.up[0], b.up[0])


def _angles(up: Array) -> tuple[float, float | None]:
    """Pitch and roll [deg]; roll None with the nose straight up or down."""
    x, y, z = (0.0 if abs(c) < 1e-9 else float(c) for c in up)
    pitch = math.degrees(math.asin(min(1.0, max(-1.0, -x)))) + 0.0
    if 90 - abs(pitch) < load("flotation")["upright"]["within_deg"]:
        return pitch, None
    return pitch, math.degrees(math.atan2(y, z))


def moment_n_mm(mass_g: float, lever: float) -> float:
    """Moment [N mm] of a weight [g] at a lever [mm].

    References
    ----------
    Standard gravity: NIST SP 811 (``flotation.toml``).

    Examples
    --------
    >>> moment_n_mm(100.0, 10.0)
    9.80665
    """
    return mass_g / 1000 * float(load("flotation")["gravity"]["standard_m_s2"]) * lever


def _describe(hull: Hull, mass_g: float, centre: Array, rest: Rest) -> Attitude:
    """Everything that is said of one attitude afloat."""
    cut, stiffness = rest.cut, rest.slope.stiffness[0]
    up, height = cut.up[0], float(cut.height[0])
    pitch, roll = _angles(up)
    if roll is None:  # the axes' limit at roll 0, as if exactly upright
        along, across = horizontal_axes(np.array([[math.copysign(1.0, up[0]), 0.0, 0.0]]))
        old = np.stack([cut.along[0], cut.across[0]])
        change = np.stack([along[0], across[0]]) @ old.T
        stiffness = change @ stiffness @ change.T
    bottom_up = np.linalg.eigvalsh(stiffness)
    buoyancy = centre_of_buoyancy(hull, cut)[0]
    return Attitude(
        up=_vector(up),
        water_height=height,
        pitch_deg=pitch,
        roll_deg=roll,
        freeboard_mm=float(np.einsum("nd,d->n", hull.vertices, up).max() - height),
        gm_mm=float(stiffness[1, 1]),
        gml_mm=float(stiffness[0, 0]),
        waterplane_cm2=float(cut.area[0]) / 100,
        submerged_cm3=float(cut.volume[0]) / 1000,
        centre_of_buoyancy=_vector(buoyancy),
        stable=bool(bottom_up[0] >= -1e-6 * hull.size),
        residual_n_mm=moment_n_mm(mass_g, float(np.linalg.norm(np.cross(centre - buoyancy, up)))),
    )


def _wholly_under(hull: Hull, centre: Array, water_g_cm3: float) -> Attitude:
    """No waterplane: the centre of mass hangs straight below the centre of buoyancy; level if the two are one."""
    arm = hull.centroid - centre
    distance = float(np.linalg.norm(arm))
    up = arm / distance if distance > 1e-9 * hull.size else np.array([0.0, 0.0, 1.0])
    pitch, roll = _angles(up)
    lift_g = hull.volume / 1000 * water_g_cm3
    return Attitude(
        up=_vector(up),
        water_height=None,
        pitch_deg=pitch,
        roll_deg=roll,
        freeboard_mm=None,
        gm_mm=distance,
        gml_mm=distance,
        waterplane_cm2=0.0,
        submerged_cm3=hull.volume / 1000,
        centre_of_buoyancy=_vector(hull.centroid),
        stable=True,
        residual_n_mm=moment_n_mm(lift_g, float(np.linalg.norm(np.cross(arm, up)))),
    )


def _vector(values: Array) -> Vector:
    """Three plain floats, no negative zero."""
    return float(values[0]) + 0.0, float(values[1]) + 0.0, float(values[2]) + 0.0
