"""What earlier builds taught: factors on boards, pours and coats, each with its ground, and their place in the ledger.

Knows lots: what varies from bench to bench as one thing ("wood: basswood", "metal: lead_hand_poured",
"coats: sealed"). Knows nothing of where the factors come from (log/). Only what the tables guessed is corrected: what
the maker weighed, and a density that the recipe gives, stay.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bodygen.findings import Finding
from bodygen.recipe.model import Wood
from bodygen.weights.item import Item, scaled
from bodygen.weights.spread import Cause
from bodygen.weights.wood import WoodDensity


@dataclass(frozen=True, slots=True)
class Factor:
    """One lot: ``value`` times what the tables say [-]; the next build lies within ``sd`` of it [-], as one deviation.

    ``builds`` readings had the ``mean`` ratio of measured to expected [-], with the standard deviation ``spread`` [-];
    ``trust`` is the share of the way from 1 to the mean that is taken [-]. ``where``: "", or the board they are of.
    """

    lot: str
    value: float
    sd: float
    builds: int
    mean: float
    spread: float
    trust: float
    where: str = ""

    @property
    def ground(self) -> str:
        """Say where the factor comes from, in one line."""
        of = f"{self.builds} builds{f' of board {self.where}' if self.where else ''}"
        return (
            f"x {self.value:.3f} learned from {of}: measured over expected {self.mean:.3f}, "
            f"spread {self.spread:.3f}, {100 * self.trust:.0f} % of it taken"
        )


@dataclass(frozen=True, slots=True)
class Learned:
    """Factors by lot, and the readings that were left out, each with its reason."""

    factors: tuple[Factor, ...] = ()
    left_out: tuple[str, ...] = ()

    def of(self, lot: str) -> Factor | None:
        """Find the factor [-] of a lot; None where nothing was learned.

        Examples
        --------
        >>> Learned((Factor("wood: balsa", 1.1, 0.05, 3, 1.2, 0.1, 0.5),)).of("wood: balsa").value
        1.1
        """
        return next((f for f in self.factors if lot and f.lot == lot), None)


WOOD = "wood: "


def wood_lot(species: str) -> str:
    """Name the lot of a species' boards."""
    return WOOD + species


def is_wood(lot: str) -> bool:
    """Whether a lot is boards of a species: those teach every recipe, pours and coats their own alone."""
    return lot.startswith(WOOD)


def metal_lot(row: str) -> str:
    """Name the lot of a metal as it is placed: a row of ``metals.toml``."""
    return f"metal: {row}"


def coat_lot(stage: str) -> str:
    """Name the lot of all that goes on the skin at one stage: it is weighed together."""
    return f"coats: {stage}"


def corrected_wood(wood: Wood, density: WoodDensity, learned: Learned | None) -> WoodDensity:
    """Correct a species' average [g/cm^3] by what boards weighed; a given density and a weighed blank stay.

    Elementary: the average times the factor; how a factor is learned, the log says.

    Examples
    --------
    >>> known = Learned((Factor("wood: balsa", 1.1, 0.055, 3, 1.2, 0.1, 0.5),))
    >>> density = corrected_wood(Wood("balsa"), WoodDensity(0.15, "the table", 0.2), known)
    >>> density.g_cm3, density.cov
    (0.165, 0.05)
    """
    if learned is None or wood.species is None or wood.density_g_cm3 is not None or wood.blank_mass is not None:
        return density
    factor = learned.of(wood_lot(wood.species))
    if factor is None:
        return density
    basis = f"{density.basis}; {factor.ground}"
    return replace(density, g_cm3=density.g_cm3 * factor.value, basis=basis, cov=factor.sd / factor.value)


def corrected(items: Sequence[Item], learned: Learned | None) -> tuple[Item, ...]:
    """Correct the items [g] whose lot something was learned of; what is a thicker film also pushes more water aside.

    Elementary: mass times the factor.

    Examples
    --------
    >>> import numpy as np
    >>> at, lot = np.zeros(3), "coats: cleared"
    >>> film = Item("varnish", "cleared", 1.0, at, 870.0, at, volume_follows=True, lot=lot)
    >>> (thicker,) = corrected([film], Learned((Factor(lot, 1.1, 0.05, 3, 1.2, 0.1, 0.5),)))
    >>> thicker.mass, thicker.displaces
    (1.1, 957.0)
    """
    return tuple(items) if learned is None else tuple(_corrected(item, learned.of(item.lot)) for item in items)


def _corrected(item: Item, factor: Factor | None) -> Item:
    if factor is None:
        return item
    return replace(
        scaled(item, factor.value),
        spread=item.mass * factor.sd,
        cause=Cause("lot", factor.lot),
        basis=f"{item.basis}; {factor.ground}",
    )


def learned_findings(items: Sequence[Item], wood: Wood, learned: Learned | None) -> tuple[Finding, ...]:
    """Note every factor [-] that is in use, with its ground."""
    if learned is None:
        return ()
    given = wood.species is None or wood.density_g_cm3 is not None or wood.blank_mass is not None
    used = {item.lot for item in items} | (set() if given else {wood_lot(wood.species or "")})
    return tuple(
        Finding("learned", "note", f.lot, f.ground, f.value, 1.0, "of the tables' figure", "the bench log")
        for f in learned.factors
        if f.lot in used
    )
