"""How deep the ballast bore of a piece must be, from what its squared blank weighs: a table of steps of the drill.

Each step of depth is weighed and floated once by the whole flow. All that the wood's density then changes is the mass
of the wood, in a straight line, so one weighing serves every board. Knows recipes and densities; knows no board.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from math import ceil

from bodygen.assessment import Assessment
from bodygen.ballast.bore import least_depth
from bodygen.ballast.bore_report import BoreReport, bore_report_of
from bodygen.ballast.layout import step
from bodygen.errors import BodygenError
from bodygen.form.bore_words import depth_figures
from bodygen.recipe.model import Bore, Fill, Recipe, Wood
from bodygen.units import length_text
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.stages import bare_volumes

Band = tuple[float, float]
Ask = Callable[[Recipe], Assessment]
DEEPEST = 4000
"""Steps of depth that no bait has."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """What a bait weighs at a stage: ``mass`` [g] at the density that it was worked out for, ``wood`` in it [mm^3]."""

    stage: str
    mass: float
    wood: float


@dataclass(frozen=True, slots=True, eq=False)
class Drilled:
    """The bait with its ballast bore ``steps`` of the drill deep, weighed and floated.

    ``density`` [g/cm^3] and ``reserve`` [g] are those it was worked out for, ``wood`` is the wood left [mm^3].
    ``broken``: what the wood does not stand at this depth.
    """

    steps: int
    depth: float
    depth_text: str
    bore: BoreReport
    density: float
    reserve: float
    wood: float
    weighings: tuple[Weighing, ...]
    broken: tuple[str, ...]
    recipe: Recipe

    def reserve_at(self, density: float) -> float:
        """Reserve of such a bait in wood of a density [g/cm^3]: it loses what the wood weighs more [g]."""
        return self.reserve - (density - self.density) * self.wood / MM3_PER_CM3

    def density_for(self, reserve: float) -> float:
        """Density of the wood at which its reserve is so large [g/cm^3]."""
        return self.density + (self.reserve - reserve) * MM3_PER_CM3 / self.wood

    def masses_at(self, density: float) -> dict[str, float]:
        """What the scale should read at each stage in wood of a density [g]."""
        more = (density - self.density) / MM3_PER_CM3
        return {one.stage: one.mass + more * one.wood for one in self.weighings}

    def recipe_at(self, density: float) -> Recipe:
        """The recipe of such a bait."""
        return in_wood(self.recipe, density)


def in_wood(recipe: Recipe, density: float) -> Recipe:
    """The recipe in wood of a density [g/cm^3], without what other blanks of it weighed."""
    wood: Wood = replace(recipe.wood, density_g_cm3=density, blank_mass=None)
    return replace(recipe, wood=wood, weighed=())


@dataclass(slots=True, eq=False)
class Ballasting:
    """Depths of one ballast bore of a recipe, each asked of the whole flow when it is first needed.

    ``place`` of the bore among the recipe's; ``ask`` weighs and floats a recipe; ``density`` [g/cm^3] to ask it at.
    """

    recipe: Recipe
    place: int
    ask: Ask
    density: float
    known: dict[int, Drilled | None] = field(default_factory=dict)

    @property
    def bore(self) -> Bore:
        """The bore whose depth is found."""
        return self.recipe.bores[self.place]

    @property
    def step(self) -> float:
        """What the shop sets a depth to [mm]."""
        return step(self.recipe.units)

    @property
    def least(self) -> int:
        """The shallowest bore worth drilling, in steps."""
        return ceil(least_depth(self.bore) / self.step)

    def drilled(self, steps: int) -> Drilled | None:
        """The bait with its bore so many steps deep; None where no sound body comes of it."""
        if steps not in self.known:
            self.known[steps] = self._asked(steps)
        return self.known[steps]

    def _asked(self, steps: int) -> Drilled | None:
        fill = replace(self.bore.fill or Fill(), mass=None)
        bore = replace(self.bore, depth=steps * self.step, fill=fill)
        bores = tuple(bore if n == self.place else b for n, b in enumerate(self.recipe.bores))
        recipe = replace(self.recipe, bores=bores)
        try:
            a = self.ask(in_wood(recipe, self.density))
        except BodygenError:
            return None
        bare, left = bare_volumes(a.recipe, a.measured), a.measured.wood_left.volume
        return Drilled(
            steps,
            steps * self.step,
            depth_figures(bore, partial(length_text, units=recipe.units)),
            bore_report_of(self.place, a.recipe, a.weighed.items, a.shaped.sizes[0]),
            self.density,
            a.flotation.reserve_g,
            left,
            tuple(Weighing(s.name, s.mass, bare[s.name][0] if s.name in bare else left) for s in a.weighed.stages),
            tuple(f.remedy for f in a.findings if f.severity == "error"),
            recipe,
        )

    def sound(self, steps: int) -> bool:
        """Whether the wood stands a bore so deep."""
        found = self.drilled(steps) if steps >= self.least else None
        return found is not None and not found.broken

    def deepest(self) -> int:
        """The deepest bore that the wood stands, in steps; less than ``least`` where it stands none."""
        good, bad = self.least - 1, self.least
        while bad < DEEPEST and self.sound(bad):
            good, bad = bad, 2 * bad
        while bad - good > 1:
            middle = (good + bad) // 2
            good, bad = (middle, bad) if self.sound(middle) else (good, middle)
        return good

    def chosen(self, density: float, band: Band) -> Drilled | None:
        """The depth that brings a bait of this wood [g/cm^3] nearest to the middle of a band [g]; None: none in it."""
        middle = sum(band) / 2
        first = self.drilled(self.least)
        second = self.drilled(self.least + 1)
        if first is None or second is None:
            return None
        worth = second.reserve_at(density) - first.reserve_at(density)
        guess = self.least + round((middle - first.reserve_at(density)) / worth) if worth else self.least
        tried = [self.drilled(max(guess + by, self.least)) for by in (-1, 0, 1) if guess + by < DEEPEST]
        if not any(one is not None and not one.broken for one in tried):
            tried = [self.drilled(self.deepest())] if self.deepest() >= self.least else []
        good = [one for one in tried if one is not None and not one.broken]
        best = min(good, key=lambda one: abs(one.reserve_at(density) - middle), default=None)
        return best if best is not None and band[0] <= best.reserve_at(density) <= band[1] else None

    def reach(self, band: Band) -> Band:
        """Least and greatest density of wood [g/cm^3] that some depth brings into a band [g]."""
        shallow, deep = self.drilled(self.least), self.drilled(max(self.deepest(), self.least))
        if shallow is None or deep is None:
            return 0.0, 0.0
        return deep.density_for(band[1]), shallow.density_for(band[0])


@dataclass(frozen=True, slots=True)
class DepthLine:
    """A line of the table: blanks from ``least`` to ``most`` [g] get this depth; ``worst`` reserve of them [g]."""

    least: float
    most: float
    drilled: Drilled
    worst: Band


def lines_of(ballasting: Ballasting, block: float, blanks: Band, band: Band, division: float) -> tuple[DepthLine, ...]:
    """Which depth for which reading of the squared blank, over all readings that may come.

    Parameters
    ----------
    ballasting : Ballasting
        Of the bait.
    block : float
        Volume of the squared blank [mm^3].
    blanks : (float, float)
        Least and greatest reading that may come [g].
    band : (float, float)
        Least and greatest reserve wanted [g].
    division : float
        Last digit of the scale [g].

    Returns
    -------
    tuple of DepthLine
        From the lightest blank to the heaviest; readings that no depth serves are in none.
    """
    lines: list[DepthLine] = []
    first, last = (round(grams / division) for grams in blanks)
    for reading in range(first, last + 1):
        grams = reading * division
        density = grams * MM3_PER_CM3 / block
        found = ballasting.chosen(density, band)
        if found is None:
            continue
        reserve = found.reserve_at(density)
        if lines and lines[-1].drilled is found and lines[-1].most > grams - 1.5 * division:
            before = lines.pop()
            worst = (min(before.worst[0], reserve), max(before.worst[1], reserve))
            lines.append(DepthLine(before.least, grams, found, worst))
        else:
            lines.append(DepthLine(grams, grams, found, (reserve, reserve)))
    return tuple(lines)


def ballast_bore(recipe: Recipe, name: str | None) -> int | None:
    """Place of the bore whose depth is to be found: the one of that name, else the first for ballast; None: none."""
    names: Sequence[Bore] = recipe.bores
    if name is None:
        return next((n for n, bore in enumerate(names) if bore.kind == "ballast"), None)
    return next((n for n, bore in enumerate(names) if bore.name == name and bore.kind == "ballast"), None)
