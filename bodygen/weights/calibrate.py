"""Real readings put in: the wood's true density, and what everything after it then weighs.

A reading fixes the sum of what has gone on since the reading before it. The difference from what was expected falls on
those items by least squares: each bears it as the square of its spread, so a first reading moves the wood (10 % between
boards) and hardly the lead, and one taken after the ballast moves the ballast. What the maker weighed himself stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bodygen import tables
from bodygen.errors import InputError, Mistake
from bodygen.findings import Finding
from bodygen.recipe.keys import BARE
from bodygen.recipe.model import Recipe
from bodygen.weights.item import MM3_PER_CM3, Item, scaled, total
from bodygen.weights.learned import Learned, corrected_wood, learned_findings
from bodygen.weights.ledger import ledger
from bodygen.weights.measured import Measured
from bodygen.weights.spread import Cause, scale_reading
from bodygen.weights.stages import Stage, bare_stages, place_in_order, stages, tolerance, up_to
from bodygen.weights.wood import WoodDensity, no_wood, unusual_board, wood_density

MANY = 10.0
"""No part weighs so many times what was to be expected of it: such a reading is a slip."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """One reading: what the scale said and what was expected just before it [g].

    ``moved`` lists the items that bear the difference: name, mass before, mass after [g]; empty if nothing could move.
    """

    stage: str
    read: float
    expected: float
    moved: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """The ledger after the readings, and what moved; the stages before any reading stand beside those after all."""

    density: WoodDensity
    items: tuple[Item, ...]
    stages: tuple[Stage, ...]
    density_before: WoodDensity
    stages_before: tuple[Stage, ...]
    moves: tuple[Calibration, ...]
    findings: tuple[Finding, ...]


def calibrate(
    recipe: Recipe,
    measured: Measured,
    readings: Sequence[tuple[str, float]] = (),
    learned: Learned | None = None,
) -> Weighed:
    """Correct the ledger of a recipe by readings (stage, [g]); of two for one stage the later one counts.

    Without readings it is the ledger itself. Readings are taken in shop order, whatever order they come in. The
    findings are the wood's and the readings'. ``learned`` is what earlier builds taught; readings go on top of it.

    Derived here: each part bears a difference by its covariance with the sum, as normal masses do whose sum is known.

    Raises
    ------
    DesignError
        A stage that is none.
    InputError
        A reading that cannot be: a part would weigh nothing or many times too much, or the wood be no wood.
    """
    first = corrected_wood(recipe.wood, wood_density(recipe.wood), learned)
    if recipe.wood.density_g_cm3 is None and recipe.wood.blank_mass is not None and no_wood(first.g_cm3):
        raise _impossible(recipe, "wood.blank.mass", recipe.wood.blank_mass, no_wood(first.g_cm3))
    first_items = ledger(recipe, measured, first, learned)
    density, items = first, first_items
    moves: list[Calibration] = []
    findings: list[Finding] = [*first.findings, *learned_findings(first_items, recipe.wood, learned)]
    last = -1
    for stage, grams in sorted(dict(readings).items(), key=lambda reading: place_in_order(reading[0])):
        if stage in BARE:
            bare = next((s for s in bare_stages(recipe, measured, density) if s.name == stage), None)
            if bare is None:
                raise _impossible(recipe, f"weighed.{stage}", grams, "nobody said how large the squared block is.")
            expected, usual = bare.mass, bare.tolerance
            shares = {_wood_at(items): 1.0}
            difference = (grams / expected - 1) * items[_wood_at(items)].mass
        else:
            on = up_to(items, stage)
            expected, usual = total(on).mass, tolerance(on)[0]
            shares = _shares(items, last, place_in_order(stage))
            difference = grams - expected
        after = _moved(recipe, items, shares, difference, (stage, grams))
        moved = tuple((items[i].name, items[i].mass, after[i].mass) for i in sorted(shares))
        moves.append(Calibration(stage, grams, expected, moved))
        findings.extend(_checks(moves[-1], usual))
        if _wood_at(items) in shares:
            density = _density(measured, after[_wood_at(after)], stage, grams)
            if no_wood(density.g_cm3):
                raise _impossible(recipe, f"weighed.{stage}", grams, no_wood(density.g_cm3))
        items = after
        last = place_in_order(stage)
    if density is not first:
        findings.extend(unusual_board(recipe.wood, density.g_cm3, "weighed"))
    now = stages(recipe, measured, density, items)
    return Weighed(
        density,
        items,
        now,
        first,
        stages(recipe, measured, first, first_items) if moves else now,
        tuple(moves),
        tuple(findings),
    )


def _wood_at(items: Sequence[Item]) -> int:
    return next(i for i, item in enumerate(items) if item.kind == "wood")


def _shares(items: Sequence[Item], last: int, now: int) -> dict[int, float]:
    """Which items bear a difference, and which share of it each: by index, adding up to 1.

    Items that vary together (one pour, one tin of varnish) are one lot with the sum of their spreads. A wood whose
    density was given without a spread is taken to vary as woods usually do. Without any spread, mass decides.
    """
    new = [i for i, item in enumerate(items) if last < place_in_order(item.stage) <= now and item.mass > 0]
    spread = {i: items[i].spread for i in new}
    wood = _wood_at(items)
    if wood in spread and not spread[wood] > 0:
        spread[wood] = float(tables.load("woods")["bases"]["cov_default"]) * items[wood].mass
    if not any(spread.values()):
        spread = {i: items[i].mass for i in new}
        lots = dict.fromkeys(new, sum(spread.values()))
    else:
        sums: dict[Cause | None, float] = {}
        for i in new:
            sums[items[i].cause] = sums.get(items[i].cause, 0.0) + spread[i]
        lots = {i: sums[items[i].cause] for i in new}
    weight = {i: spread[i] * lots[i] for i in new if spread[i] > 0}
    whole = sum(weight.values())
    return {i: value / whole for i, value in weight.items()}


def _impossible(recipe: Recipe, key: str, grams: float, problem: str) -> InputError:
    """Refuse a reading, where it was written: in the recipe, or on the command line."""
    accepted = "what the scale said, its stage and its unit; then the sizes of block, body and bores as built"
    own = key.startswith("wood.") or dict(recipe.weighed).get(key.removeprefix("weighed.")) == grams
    file, line = recipe.place(key) if own else ("command line", 0)
    return InputError([Mistake(file, line, key, f"{grams:g} g", problem, accepted)])


def _moved(
    recipe: Recipe, items: Sequence[Item], shares: dict[int, float], difference: float, reading: tuple[str, float]
) -> tuple[Item, ...]:
    """Book a reading on the items; their sum is now as sure as the scale."""
    stage, grams = reading
    out = list(items)
    for i, share in shares.items():
        item = items[i]
        mass = item.mass + share * difference
        if not 0 < mass < MANY * item.mass:
            problem = f"{item.name} would weigh {mass:.2f} g then, where {item.mass:.2f} g was expected."
            raise _impossible(recipe, f"weighed.{stage}", grams, problem)
        sure = share * scale_reading()
        if stage in BARE:
            sure = scale_reading() / grams * mass
        out[i] = replace(
            scaled(item, mass / item.mass),
            spread=sure,
            cause=Cause("wood") if item.kind == "wood" else Cause("reading", stage),
            basis=f"from the reading {stage} = {grams:g} g",
        )
    return tuple(out)


def _density(measured: Measured, wood: Item, stage: str, grams: float) -> WoodDensity:
    density = wood.mass * MM3_PER_CM3 / measured.wood_left.volume
    return WoodDensity(density, f"from the reading {stage} = {grams:g} g", wood.spread / wood.mass)


def _checks(move: Calibration, usual: float) -> tuple[Finding, ...]:
    """Doubt a reading that nothing can bear, or that lies outside what was to be expected."""
    where = f"weighed.{move.stage}"
    off = move.read - move.expected
    if not move.moved:
        remedy = "nothing goes on between this reading and the one before: the difference was not booked"
        return (Finding("reading-alone", "warning", where, remedy, off, 0.0, "g"),)
    if usual > 0 and abs(off) > usual:
        remedy = "more than boards, metal and coats usually differ: check the scale, then what was built"
        if move.stage == "blank":
            remedy = "blank is the shaped body before any hole: the block before it is shaped is squared"
        return (Finding("reading-far", "warning", where, remedy, off, usual, "g"),)
    return ()
