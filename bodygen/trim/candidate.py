"""One small change to a finished bait: as a load net of its water, in words, and as the recipe has it.

Knows recipes and what lay on the scale. Knows no hook, bore or lip, and chooses nothing.
"""

from collections.abc import Collection
from dataclasses import dataclass, field

from bodygen.ballast.bore_report import Table
from bodygen.form.integrals import Array
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Bore, Recipe
from bodygen.tables import load as load_table

WIRE, SWAP, PUTTY, LIP, PLUG, OUT = range(1, 7)
"""How easy a change is: wire on a shank, another hook or ring, putty, the lip, a trim bore, metal out."""


DRILLED = ("spinning_tools", "small_workpiece", "wood_dust")
"""Cautions of a hole in a finished bait."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One change: what to do, how easy (1 is the easiest), what the scale then says more [g], and where (3,) [mm].

    ``net`` (4,) [g, g mm] is its load in the water; ``changes`` are key paths with new values, whole tables for what
    the recipe did not have; ``added`` is what lies more on the scale from a stage on [g]; ``cautions`` are those of
    what is worked, ``bore`` is a new one in the wood, ``parts`` how many things are put on or fetched for it.
    """

    what: str
    ease: int
    mass_g: float
    at: Array
    net: Array
    changes: dict[str, object]
    cautions: tuple[str, ...] = ()
    bore: Bore | None = None
    parts: int = 1
    added: dict[str, float] = field(default_factory=dict)


def together(recipe: Recipe, one: Candidate, wire: Candidate) -> Candidate:
    """A change and a wire on a shank besides, as one; the recipe's new fittings are numbered on [g, g mm].

    Elementary: loads and masses add.
    """
    added = {stage: _from(one.added, stage) + _from(wire.added, stage) for stage in (*one.added, *wire.added)}
    changes = {key: value for key, value in one.changes.items() if not key.startswith("weighed.")}
    number = len(recipe.fittings) + sum(key.startswith(f"fitting[{len(recipe.fittings) + 1}]") for key in changes)
    (wound,) = (value for value in wire.changes.values() if isinstance(value, dict))
    mass = one.mass_g + wire.mass_g
    return Candidate(
        f"{one.what}, and {wire.what}",
        max(one.ease, wire.ease),
        mass,
        (one.mass_g * one.at + wire.mass_g * wire.at) / mass if abs(mass) > 1e-6 else one.at,
        one.net + wire.net,
        {**changes, f"fitting[{number + 1}]": wound, **on_the_scale(recipe, added)},
        tuple(dict.fromkeys((*one.cautions, *wire.cautions))),
        one.bore,
        one.parts + wire.parts,
        added,
    )


def _from(added: dict[str, float], stage: str) -> float:
    """What of a change lies on the scale at a stage [g]."""
    begun = [STAGES.index(one) for one in added if STAGES.index(one) <= STAGES.index(stage)]
    return added[STAGES[max(begun)]] if begun else 0.0


def fitting_table(name: str, mass: float, cm3: float, at: tuple[float, float, float] | Array) -> Table:
    """A ``[[fitting]]`` of a mass [g] that pushes water aside [cm^3] at a place (3,) [mm]."""
    place = [f"{value:.2f} mm" for value in at]
    return {"name": name, "mass": f"{mass:.3f} g", "displaces_cm3": round(cm3, 4), "at": place}


def free_name(name: str, taken: Collection[str]) -> str:
    """The name, or with the first number behind it that is not taken.

    Examples
    --------
    >>> free_name("trim bore", ["keel", "trim bore", "trim bore 2"])
    'trim bore 3'
    """
    numbered = (f"{name} {n}" for n in range(2, len(taken) + 3))
    return next(one for one in (name, *numbered) if one not in taken)


def on_the_scale(recipe: Recipe, grams: dict[str, float]) -> dict[str, object]:
    """The recipe's own weigh-ins as they would have been with the change: what it adds from each stage on [g].

    A weigh-in is of the bait before the change. Left as it is, it would put what is added now down to lighter wood.

    Examples
    --------
    >>> bait = Recipe("b", "mm", None, weighed=(("blank", 5.0), ("sealed", 8.0), ("rigged", 11.0)))
    >>> on_the_scale(bait, {"drilled": -0.1, "ballast": 0.4})
    {'weighed.sealed': '8.400 g', 'weighed.rigged': '11.400 g'}
    """
    changes: dict[str, object] = {}
    for stage, mass in recipe.weighed:
        more = _from(grams, stage)
        if more:
            changes[f"weighed.{stage}"] = f"{mass + more:.3f} g"
    return changes


def cold_cautions(metal: str) -> tuple[str, ...]:
    """Cautions of a metal that is not molten."""
    named = load_table("metals")["metal"].get(metal, {}).get("cautions", ())
    return tuple(key for key in named if key not in {"lead_pouring", "hot_metal"})
