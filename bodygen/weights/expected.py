"""What the tables say goes on at each stage, lot by lot: the figures that a log holds real readings against.

Knows the ledger before anything was learned or weighed. Knows nothing of logs.
"""

from dataclasses import dataclass
from math import fsum, hypot

from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Recipe
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.learned import wood_lot
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import Measured
from bodygen.weights.stages import bare_volumes
from bodygen.weights.wood import species_density, wood_density


@dataclass(frozen=True, slots=True)
class Expectation:
    """``mass`` [g] of one ``lot`` that goes on at ``stage``, with one standard deviation ``sd`` between benches [g].

    ``lot`` "" is all that nothing can be learned of. At the stages of bare wood it is all of it, and not added to the
    others.
    """

    stage: str
    lot: str
    mass: float
    sd: float


def expectations(recipe: Recipe, measured: Measured) -> tuple[Expectation, ...]:
    """List what the tables expect [g], in shop order.

    Wood of a named species is expected as that species' average at the recipe's moisture, whatever density the recipe
    gives: so a board is held against its kind.

    Raises
    ------
    DesignError
        As ``ledger``.
    """
    density = wood_density(recipe.wood)
    items = ledger(recipe, measured, density)
    species = recipe.wood.species
    usual, cov = (density.g_cm3, density.cov) if species is None else species_density(recipe.wood)
    lot = "" if species is None else wood_lot(species)
    rows: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for stage, (volume, _) in bare_volumes(recipe, measured).items():
        mass = usual / MM3_PER_CM3 * volume
        rows[stage, lot] = [(mass, cov * mass)]
    for item in items:
        wood = item.kind == "wood"
        mass = usual / MM3_PER_CM3 * measured.wood_left.volume if wood else item.mass
        share = cov if wood else item.lot_share
        if mass > 0:
            rows.setdefault((item.stage, lot if wood else item.lot), []).append((mass, share * mass))
    return tuple(
        Expectation(stage, name, fsum(mass for mass, _ in parts), hypot(*(sd for _, sd in parts)) if name else 0.0)
        for (stage, name), parts in sorted(rows.items(), key=lambda row: (STAGES.index(row[0][0]), row[0][1]))
    )
