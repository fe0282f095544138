"""One line of the ledger, and what any set of lines adds up to.

Knows mechanics (mass, first and second moments). Knows nothing of what the parts are or where their figures come from.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import fsum
from typing import Literal

import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import PartKey
from bodygen.form.integrals import Array, VolumeIntegrals
from bodygen.weights.spread import Cause

MM3_PER_CM3 = 1000.0
CavityKey = tuple[Literal["bore", "slot", "lip"], int]
"""A hole of ``Measured``: which list of its cavities, and the place there."""
Kind = Literal["wood", "metal", "closing", "fitting", "film", "soak", "plate", "tongue"]


def _point() -> Array:
    return np.zeros((3, 3))


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One part: what it weighs and where, what water it pushes aside and where, and when it goes on.

    ``name`` is for people alone. ``kind`` is what it is: ballast metal, what closes a cavity (glue, filler, air), a
    coat's film or soak, the lip's plate outside the skin or its tongue inside; anything else is a fitting. ``owner``
    is the entry of the recipe that it belongs to; the wood has none.

    ``mass`` [g] acts at ``at`` (3,) [mm]; ``inertia`` (3, 3) [g mm^2] is about its own centre, zero for a point.
    ``displaces`` [mm^3] acts at ``displaces_at`` (3,) [mm]. So much of it as ``outside`` says lies outside the wood's
    skin (hooks, coats, the lip's plate, the ring of a screw eye), of a fitting at ``outside_at`` (3,) [mm], or at
    ``at`` where that is None; the rest lies in ``cavity``, a place of ``Measured``. ``hangs``: free on an eye, so its
    weight and its displacement act there in every attitude. ``volume_follows``: when the mass turns out otherwise, so
    does the volume (a thicker film, a larger hook), and not the density. ``spread`` [g] is one standard deviation of
    the mass; items of the same ``cause`` vary together, others independently. ``basis``: where the mass comes from.
    ``lot`` names what a log can learn about (``learned.py``), "" where there is nothing to learn; benches differ in it
    by ``lot_share`` of the mass, as one standard deviation [-].
    """

    name: str
    stage: str
    mass: float
    at: Array
    displaces: float
    displaces_at: Array
    inertia: Array = field(default_factory=_point)
    outside: float = 0.0
    outside_at: Array | None = None
    hangs: bool = False
    volume_follows: bool = False
    spread: float = 0.0
    cause: Cause | None = None
    basis: str = ""
    lot: str = ""
    lot_share: float = 0.0
    kind: Kind = "fitting"
    owner: PartKey | None = None
    cavity: CavityKey | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Total:
    """All items together.

    Mass [g], centre of mass (3,) [mm], volume displaced wholly under [mm^3], its centre of
    buoyancy (3,) [mm], inertia (3, 3) [g mm^2] about the centre of mass, products of inertia with the minus sign.
    """

    mass: float
    centre_of_mass: Array
    displaced: float
    centre_of_buoyancy: Array
    inertia: Array


def solid(
    kind: Kind, owner: PartKey | None, name: str, stage: str, shape: VolumeIntegrals, density: float, basis: str
) -> Item:
    """Item of one material that fills ``shape``, weighing ``density`` [g/cm^3] and pushing its whole volume aside.

    Elementary.

    Examples
    --------
    >>> cube = VolumeIntegrals(1000.0, np.zeros(3), np.eye(3) * 1000.0 * 200 / 12)   # 10 mm: m (b^2 + c^2) / 12
    >>> lead = solid("metal", ("bore", 0), "cube", "ballast", cube, 11.34, "the table")
    >>> lead.mass, lead.displaces, float(lead.inertia[0, 0])
    (11.34, 1000.0, 189.0)
    """
    per_mm3 = density / MM3_PER_CM3
    return Item(
        name,
        stage,
        mass=shape.volume * per_mm3,
        at=shape.centroid,
        displaces=shape.volume,
        displaces_at=shape.centroid,
        inertia=shape.inertia * per_mm3,
        basis=basis,
        kind=kind,
        owner=owner,
    )


def summed(rows: Iterable[Array]) -> Array:
    """Sum of equal-shaped arrays of any unit [-], correctly rounded, so that the order of the rows can't matter.

    References
    ----------
    J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305-363, from memory: what Python's ``fsum`` does.

    Examples
    --------
    >>> summed([np.array([1e16]), np.array([1.0]), np.array([-1e16])]).tolist()   # plain sums give 0
    [1.0]
    """
    stack = np.stack(list(rows))
    flat = stack.reshape(len(stack), -1)
    return np.array([fsum(column) for column in flat.T.tolist()]).reshape(stack.shape[1:])


def mass_and_centre(items: Sequence[Item]) -> tuple[float, Array]:
    """Mass [g] and its centre (3,) [mm] of a set of items; errors as of ``total``.

    Elementary.

    Examples
    --------
    >>> items = [Item("", "ballast", m, np.array([x, 0, 0]), 0.0, np.zeros(3)) for m, x in ((1.0, 0.0), (3.0, 40.0))]
    >>> mass, centre = mass_and_centre(items)
    >>> mass, centre.tolist()
    (4.0, [30.0, 0.0, 0.0])
    """
    mass = fsum(i.mass for i in items)
    if not mass > 0:
        msg = f"the parts weigh {mass:g} g together; without mass there is no centre of mass."
        raise DesignError(msg)
    return mass, summed(i.mass * i.at for i in items) / mass


def total(items: Sequence[Item]) -> Total:
    r"""Mass [g], centres [mm] and inertia [g mm^2] of a set of items.

    .. math:: I = \sum_i I_i + m_i\,(|d_i|^2\,1 - d_i d_i^T), \quad d_i = r_i - r_G

    Returns
    -------
    Total
        Where nothing displaces water, the centre of buoyancy is NaN.

    Raises
    ------
    DesignError
        The items weigh nothing together, so that they have no centre.

    References
    ----------
    The parallel axis theorem (Huygens-Steiner) in tensor form.

    Examples
    --------
    >>> pair = [Item("", "ballast", 2.0, np.array([x, 0, 0]), 100.0, np.array([x, 0, 5])) for x in (20.0, 40.0)]
    >>> both = total(pair)
    >>> both.mass, both.displaced, both.centre_of_buoyancy.tolist()
    (4.0, 200.0, [30.0, 0.0, 5.0])
    >>> both.inertia.diagonal().tolist()   # 2 * 2 g * (10 mm)^2
    [0.0, 400.0, 400.0]
    """
    mass, centre = mass_and_centre(items)
    displaced = fsum(i.displaces for i in items)
    buoyancy = summed(i.displaces * i.displaces_at for i in items) / displaced if displaced > 0 else np.full(3, np.nan)
    inertia = summed(i.inertia + i.mass * steiner(i.at - centre) for i in items)
    return Total(mass, centre, displaced, buoyancy, inertia)


def steiner(offset: Array) -> Array:
    """Inertia tensor (3, 3) [mm^2] per unit mass of a point at ``offset`` (3,) [mm] from the axes' origin.

    References
    ----------
    The parallel axis theorem (Huygens-Steiner) in tensor form.

    Examples
    --------
    >>> steiner(np.array([0.0, 0.0, 2.0])).diagonal().tolist()
    [4.0, 4.0, 0.0]
    """
    return np.asarray(offset @ offset * np.eye(3) - np.outer(offset, offset))


def hanging(items: Sequence[Item]) -> tuple[Item, ...]:
    """List the items [g] that hang free: at every attitude their weight and displacement act at the eye, ``at``.

    Elementary: a thing on a ring pulls along the plumb line through the ring.

    Examples
    --------
    >>> hook, ring = (Item(n, "hooks", 1.0, np.zeros(3), 0.0, np.zeros(3), hangs=n == "hook") for n in ("hook", "ring"))
    >>> [item.name for item in hanging([hook, ring])]
    ['hook']
    """
    return tuple(i for i in items if i.hangs)


def scaled(item: Item, factor: float) -> Item:
    """Weigh an item ``factor`` times as much [-]; where its volume follows the mass, that too.

    Elementary.

    Examples
    --------
    >>> film = scaled(Item("", "cleared", 1.0, np.zeros(3), 870.0, np.zeros(3), volume_follows=True), 2.0)
    >>> film.mass, film.displaces
    (2.0, 1740.0)
    """
    volume = factor if item.volume_follows else 1.0
    return replace(
        item,
        mass=item.mass * factor,
        inertia=item.inertia * factor,
        displaces=item.displaces * volume,
        outside=item.outside * volume,
    )


def inside(items: Iterable[Item]) -> float:
    """Sum what items push aside within the skin [mm^3].

    Elementary.

    Examples
    --------
    >>> inside([Item("eye", "hangers", 0.3, np.zeros(3), 40.0, np.zeros(3), outside=15.0)])
    25.0
    """
    return fsum(item.displaces - item.outside for item in items)
