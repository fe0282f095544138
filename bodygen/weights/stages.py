"""The weigh-ins, in the order of the bench: what the scale should read at each step, and how near.

Knows the order of work. ``squared`` is the block before anything is done to it: the one in hand, or the one that the
template is drawn for. ``blank`` is the shaped body before any hole, for those who shape first. ``drilled`` is the
shaped body with its holes and slots, whichever came first; it is left out where there are none. Every later stage
stands where something with a mass goes on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, prod

from bodygen import tables
from bodygen.errors import DesignError
from bodygen.form.integrals import Array
from bodygen.recipe.keys import BARE, STAGES
from bodygen.recipe.model import Recipe
from bodygen.weights.item import MM3_PER_CM3, Item, mass_and_centre
from bodygen.weights.measured import Measured
from bodygen.weights.spread import Cause, scale_reading
from bodygen.weights.wood import WoodDensity, blank_volume


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """One weigh-in: mass [g], its centre (3,) [mm] or None, the scale should read within ``tolerance`` [g] of the mass.

    ``ground`` names what the tolerance is made of, the largest share first.
    """

    name: str
    mass: float
    centre_of_mass: Array | None
    tolerance: float
    ground: str


def place_in_order(stage: str) -> int:
    """Index [-] of a stage in shop order; a ``DesignError`` that lists the stages for any other word.

    Common practice, no published source.

    Examples
    --------
    >>> place_in_order("ballast") < place_in_order("painted") < place_in_order("cleared")
    True
    """
    if stage not in STAGES:
        msg = f'stage = "{stage}": no such stage; one of {", ".join(STAGES)}.'
        raise DesignError(msg)
    return STAGES.index(stage)


def up_to(items: Sequence[Item], stage: str) -> tuple[Item, ...]:
    """List the items [g] that are on when the bait is weighed at ``stage``.

    Examples
    --------
    >>> import numpy as np
    >>> items = [Item(stage, stage, 1.0, np.zeros(3), 0.0, np.zeros(3)) for stage in ("drilled", "ballast", "painted")]
    >>> [item.name for item in up_to(items, "ballast")]
    ['drilled', 'ballast']
    """
    last = place_in_order(stage)
    return tuple(i for i in items if place_in_order(i.stage) <= last)


def stages(recipe: Recipe, measured: Measured, density: WoodDensity, items: Sequence[Item]) -> tuple[Stage, ...]:
    """Every weigh-in that applies [g], in shop order, each with all that is on by then.

    Common practice, no published source: the order of the bench.
    """
    for item in items:
        place_in_order(item.stage)  # a stage of no such name would be weighed nowhere
    out = bare_stages(recipe, measured, density)
    whole = not (measured.bores or measured.slots or measured.lip)
    for name in STAGES[len(BARE) :]:
        added = [i for i in items if i.stage == name and i.mass > 0]
        if not added or (name == "drilled" and whole and len(added) == 1):
            continue
        on = up_to(items, name)
        mass, centre = mass_and_centre(on)
        near, ground = tolerance(on)
        out.append(Stage(name, mass, centre, near, ground + _exact_wood(density)))
    return tuple(out)


def tolerance(items: Sequence[Item]) -> tuple[float, str]:
    """Say how near the scale should read [g], and what that is made of.

    What varies together adds up, what varies independently adds in squares, the scale's own reading among it; so many
    standard deviations of it as ``weighing.toml`` says.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.2 and 5.2.2, from memory: independent contributions add in squares, those that vary
    together as they are.

    Examples
    --------
    >>> import numpy as np
    >>> wood, film = (Item("", "cleared", 9.0, np.zeros(3), 0.0, np.zeros(3), spread=s, cause=Cause(of))
    ...               for s, of in ((0.4, "wood"), (0.3, "film")))
    >>> tolerance([wood, film])[0]   # 2 sqrt(0.4^2 + 0.3^2 + (0.1 / sqrt 12)^2)
    1.0017
    """
    shares: dict[Cause | None, float] = {}
    for item in items:
        if item.spread > 0:
            shares[item.cause] = shares.get(item.cause, 0.0) + item.spread
    count = float(tables.load("weighing")["tolerance"]["tolerance_sd"])
    named = [("the scale", scale_reading()), *((c.words if c else "the rest", s) for c, s in shares.items())]
    largest = sorted(named, key=lambda share: -round(share[1], 9))  # rounding must not change places
    ground = ", ".join(f"{name} {count * spread:.2f} g" for name, spread in largest)
    return count * hypot(*(spread for _, spread in named)), ground


def bare_volumes(recipe: Recipe, measured: Measured) -> dict[str, tuple[float, Array]]:
    """Volume of the wood [mm^3] and its centre (3,) [mm] at the stages before any hole, those that are known.

    Elementary: of a block its three sides, of the shaped body its own integral.
    """
    found = {"blank": (measured.body.volume, measured.body.centroid)}
    if measured.block is not None:
        own = blank_volume(recipe.wood)  # of a block in hand, even where it is too small
        found = {"squared": (prod(measured.block.size) if own is None else own, measured.block.middle)} | found
    return found


def bare_stages(recipe: Recipe, measured: Measured, density: WoodDensity) -> list[Stage]:
    """List the weigh-ins [g] of nothing but wood: the squared block, and the shaped body.

    Elementary: density times volume.
    """
    out = []
    for name, (volume, centre) in bare_volumes(recipe, measured).items():
        mass = density.g_cm3 / MM3_PER_CM3 * volume
        wood = Item(name, name, mass, centre, 0.0, centre, spread=density.cov * mass, cause=Cause("wood"))
        near, ground = tolerance([wood])
        out.append(Stage(name, mass, centre, near, ground + _exact_wood(density)))
    return out


def _exact_wood(density: WoodDensity) -> str:
    return "" if density.cov > 0 else f"; the wood's density taken as exact ({density.basis})"
