"""What may come out otherwise than planned, one input each, and what a unit of it does to the mass, stage by stage.

Knows the ledger's spreads, the tables' bounds behind them, drills and depth stops. Draws nothing (``spread.py``).
"""

from dataclasses import dataclass
from math import pi
from typing import Literal

import numpy as np

from bodygen import tables
from bodygen.ballast.answer import Answer
from bodygen.ballast.bore import closing_density
from bodygen.form.cuts import Revolved
from bodygen.form.integrals import Array
from bodygen.recipe.model import Bore
from bodygen.tables import catalogue
from bodygen.weights.cavities import GLUE, STAGE_OF, metal_density, slug_share
from bodygen.weights.fittings import SECTIONS
from bodygen.weights.item import MM3_PER_CM3, Item
from bodygen.weights.measured import BoreCavity
from bodygen.weights.spread import Cause, triangular, triangular_mean, uniform

Form = Literal["normal", "uniform", "triangular"]
_BOUNDS = {"film": "dry_mm", "soak": "soak_g_per_100cm2"}


@dataclass(frozen=True, slots=True, eq=False)
class Effect:
    """What one unit of an input does at a stage: mass [g] at a place (3,) [mm], and volume [mm^3] pushed aside there.

    ``film``: that volume lies all over the skin and is only partly under water while the bait floats.
    """

    stage: str
    mass: float
    at: Array
    volume: float = 0.0
    film: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Input:
    """One thing that varies by itself: ``form`` with its ``low``, ``likely`` and ``high``, in the unit of its effects.

    For "normal" the three are minus one standard deviation, the mean, and plus one.
    """

    name: str
    form: Form
    low: float
    likely: float
    high: float
    effects: tuple[Effect, ...]

    @property
    def sd(self) -> float:
        """One standard deviation, in the input's unit [mm], or as a share of a mass [-].

        Of each form as ``spread.uniform`` and ``spread.triangular`` have it (GUM, from memory).

        Examples
        --------
        >>> [Input("", form, -1.0, 0.0, 1.0, ()).sd for form in ("uniform", "triangular", "normal")]   # 1/√3, 1/√6, 1
        [0.57735, 0.40825, 1.0]
        """
        if self.form == "uniform":
            return uniform(self.low, self.high)
        return triangular(self.low, self.likely, self.high) if self.form == "triangular" else self.high - self.likely

    @property
    def mean(self) -> float:
        """The mean, in the input's unit [mm], or as a share of a mass [-]; 0 is what the plan says.

        Elementary.

        Examples
        --------
        >>> [Input("", form, -1.0, 0.0, 4.0, ()).mean for form in ("uniform", "triangular", "normal")]
        [1.5, 1.0, 0.0]
        """
        if self.form == "uniform":
            return (self.low + self.high) / 2
        return triangular_mean(self.low, self.likely, self.high) if self.form == "triangular" else self.likely

    def draw(self, count: int, chance: np.random.Generator) -> Array:
        """Values (count,) [mm], or as shares of a mass [-].

        Examples
        --------
        >>> drawn = Input("", "uniform", -1.0, 0.0, 1.0, ()).draw(100, np.random.default_rng(1))
        >>> drawn.shape, bool(np.abs(drawn).max() < 1)
        ((100,), True)
        """
        if self.form == "uniform":
            return chance.uniform(self.low, self.high, count)
        if self.form == "triangular":
            return chance.triangular(self.low, self.likely, self.high, count)
        return chance.normal(self.likely, self.high - self.likely, count)


def inputs_of(answer: Answer) -> tuple[Input, ...]:
    """All that varies: the ledger's spreads as shares of the mass [-], then depth and width of the ballast bores [mm].

    How far a depth and a drill are off is common practice, no published source.
    """
    groups: dict[Cause | int, list[Item]] = {}
    for place, item in enumerate(answer.items):
        if item.spread > 0 and item.mass > 0:
            groups.setdefault(item.cause or place, []).append(item)
    out = [_of_ledger(items) for items in groups.values()]
    tools = {(t.bore, t.mirrored): t for t in answer.tools if isinstance(t, Revolved)}
    widths: dict[float, list[Effect]] = {}
    for cavity in answer.measured.bores:
        bore = answer.recipe.bores[cavity.index]
        if bore.fill is None or bore.depth is None:
            continue
        tool = tools[cavity.index, cavity.mirrored]
        which = f"{bore.name}, other side" if cavity.mirrored else bore.name
        off = float(tables.load("ballast")["bore"]["depth_off_mm"])
        out.append(Input(f"depth of {which}", "uniform", -off, 0.0, off, _deeper(answer, bore, tool)))
        widths.setdefault(bore.diameter, []).extend(_wider(answer, bore, cavity))
    low, high = (float(v) for v in tables.load("drills")["practice"]["oversize_mm"])
    off = (high - low) / 2  # the plan's width is the hole's own, so it comes out wider as often as narrower
    out += [Input(f"width of the {d:g} mm bores", "uniform", -off, 0.0, off, tuple(e)) for d, e in widths.items()]
    return tuple(out)


def taken_as_exact(answer: Answer) -> tuple[str, ...]:
    """What has a mass of its own [g] and no spread that anybody knows: worth a weighing."""
    return tuple(item.name for item in answer.items if item.mass > 0.02 * answer.total.mass and not item.spread > 0)


def _of_ledger(items: list[Item]) -> Input:
    """What varies together in the ledger, as shares of its mass."""
    effects = tuple(
        Effect(i.stage, i.mass, i.at, i.displaces if i.volume_follows else 0.0, i.kind == "film") for i in items
    )
    cause, share = items[0].cause, sum(i.spread for i in items) / sum(i.mass for i in items)
    form, low, likely, high = _shape(cause) or ("normal", -share, 0.0, share)
    return Input(cause.words if cause else items[0].name, form, low, likely, high, effects)


def _shape(cause: Cause | None) -> tuple[Form, float, float, float] | None:
    """How the bounds of a cause's own row spread it, as shares of the planned mass; None where it is normal.

    The plan goes by the mean of a film, a soak and a hook's patterns, so the three bounds add up to 0. Wood, readings
    and what was learned are normal, with the ledger's own standard deviation; so are densities of metals and sheets,
    for the table's figure is the one to use and its bounds say only how far it may be off.
    """
    if cause is None or cause.of not in {"film", "soak", "pattern"}:
        return None
    if cause.of == "pattern":
        low, high = tables.load("hardware")[SECTIONS[cause.row]]["pattern_factor"]
        likely = 1.0
    else:
        low, likely, high = tables.load("coatings")["coat"][cause.row][_BOUNDS[cause.of]]
    mean = triangular_mean(low, likely, high)
    return "triangular", low / mean - 1, likely / mean - 1, high / mean - 1


def _metal_follows(bore: Bore) -> bool:
    """Whether more space takes more metal: what is poured or pressed in does, a slug or a weighed fill does not."""
    return bore.fill is not None and bore.fill.placed != "slug" and bore.fill.mass is None


def _deeper(answer: Answer, bore: Bore, tool: Revolved) -> tuple[Effect, ...]:
    """One mm more depth: a slice of wood goes at the shoulder, metal or filler comes."""
    assert bore.fill is not None  # noqa: S101  the caller's condition
    slice_mm3 = pi / 4 * bore.diameter**2
    at = np.array(tool.origin) + tool.shoulder * np.array(tool.axis)
    closing, level = closing_density(bore, bore.fill), bore.fill.level
    comes = closing
    if _metal_follows(bore):
        comes = level * metal_density(bore.fill) + (1 - level) * closing
    return (
        Effect("drilled", -slice_mm3 * answer.wood.g_cm3 / MM3_PER_CM3, at),
        Effect(STAGE_OF[bore.kind], slice_mm3 * comes / MM3_PER_CM3, at),
    )


def _wider(answer: Answer, bore: Bore, cavity: BoreCavity) -> tuple[Effect, ...]:
    """One mm more width: the cavity grows with its square; a slug has glue round it then."""
    assert bore.fill is not None  # noqa: S101  the caller's condition
    more = 2 / bore.diameter * cavity.cavity.volume / MM3_PER_CM3
    at, closing = cavity.cavity.centroid, closing_density(bore, bore.fill)
    if not _metal_follows(bore):
        glue = catalogue.density(catalogue.row("coatings", "coat", GLUE, "closed"))
        comes = more * (glue if closing > 0 else 0.0)
    else:
        metal = (
            cavity.metal.volume * slug_share(bore, bore.fill) / cavity.cavity.volume
            if cavity.metal is not None
            else 0.0
        )
        comes = more * (metal * metal_density(bore.fill) + (1 - metal) * closing)
    return Effect("drilled", -more * answer.wood.g_cm3, at), Effect(STAGE_OF[bore.kind], comes, at)
