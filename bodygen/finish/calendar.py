"""A bait's coats by the day: each coat, mask, eye, lip and hook at the hour at which the one below lets it.

Knows the recipe's coats, what lies under what, when the bench is open, and the ledger's items. The start is the
recipe's or is handed over: it never comes from the clock. Words for people are made in ``report/``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from math import fsum

from bodygen import tables
from bodygen.finish.bench_days import DAYS, BenchDays
from bodygen.finish.colours import colour_name
from bodygen.finish.drying import Air, Drying, class_named, drying
from bodygen.finish.over import BARE, over, scuffed
from bodygen.recipe.keys import STAGES
from bodygen.recipe.model import Coat, Finish, Paint, Recipe
from bodygen.weights.item import Item

COATED = ("sealed", "painted", "cleared")


@dataclass(frozen=True, slots=True)
class Standing:
    """What lies on the bait after a step: film of all coats [mm], mass of all [g], water it pushes aside [cm^3]."""

    film_mm: float
    mass_g: float
    displaced_cm3: float


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, at its moment.

    ``first`` is what to do before it, ``reason`` why it waited; ``after_h`` the hours since the step that it waited for
    [h]; ``early``: the maker wants it sooner than it should be. ``cautions`` are keys of ``cautions.toml``.
    """

    at: datetime
    what: str
    first: str = ""
    reason: str = ""
    after_h: float = 0.0
    early: bool = False
    cautions: tuple[str, ...] = ()
    stands: Standing | None = None


@dataclass(frozen=True, slots=True)
class Calendar:
    """All steps in their order; when it may go into the water (None: never as it is), and when it is at its hardest.

    ``water_late``: the same by the slowest hours of the table. ``refused`` says why there are no steps.
    """

    start: date
    air: Air
    steps: tuple[Step, ...] = ()
    water: datetime | None = None
    water_late: datetime | None = None
    full: datetime | None = None
    refused: str = ""


@dataclass(frozen=True, slots=True)
class On:
    """What lies uppermost: its class, since when, and how it dries; bare wood at first."""

    finish: str
    since: datetime
    dries: Drying | None = None


@dataclass(slots=True)
class _Bench:
    """The calendar while it is being made: what is on, what has been done, and when the hand is free again."""

    days: BenchDays
    air: Air
    on: On
    free: datetime
    steps: list[Step] = field(default_factory=list)
    layers: list[tuple[str, datetime, float]] = field(default_factory=list)  # class, since, thicker

    def do(self, step: Step, wait: float) -> Step:
        """Put a step at the first open quarter after so many hours [h] since what is on."""
        ready = self.on.since + timedelta(hours=wait)
        made = replace(step, at=self.days.next_open(max(ready, self.free)), after_h=wait)
        self.free = made.at + timedelta(minutes=tables.load("finishes")["bench"]["step_min"])
        self.steps.append(made)
        return made


def calendar(recipe: Recipe, items: Sequence[Item], area: float, start: date | None = None) -> Calendar | None:
    """Make the calendar of a recipe's coats.

    Parameters
    ----------
    recipe : Recipe
        Its ``[finish]`` says start, air and days; what it leaves open is as usual.
    items : sequence of Item
        The ledger [g, mm^3].
    area : float
        Of the skin [mm^2].
    start : date, optional
        Wins over the recipe's own.

    Returns
    -------
    Calendar or None
        None where nothing is coated, or nobody says when it begins.

    References
    ----------
    ``finishes.toml`` names the source of each hour; most are common practice, and the tin's own sheet wins.
    """
    said = recipe.finish or Finish()
    begins = start or (date.fromisoformat(said.start) if said.start else None)
    if begins is None or not recipe.coats:
        return None
    air = Air(said.temperature, said.humidity)
    refused = why_not(recipe)
    if refused:
        return Calendar(begins, air, refused=refused)
    morning = datetime.combine(begins, time())
    bench = _Bench(bench_days(said), air, On(BARE, morning), morning)
    for stage in COATED:
        _coats(bench, recipe, items, area, stage)
        _fittings(bench, recipe, items, area, stage)
    handled = bench.on.since + timedelta(hours=bench.on.dries.sand if bench.on.dries else 0.0)
    glued = _lip(bench, recipe)
    _rigged(bench, recipe, items, area, max(handled, glued or handled))
    return _ended(Calendar(begins, air, tuple(bench.steps)), bench, glued is not None)


def bench_days(said: Finish) -> BenchDays:
    """When the bench is open: as the recipe says, else as usual."""
    usual = tables.load("finishes")["bench"]
    hour, minute = (int(part) for part in usual["opens"].split(":"))
    days = frozenset(DAYS.index(day) for day in said.days or DAYS)
    opens = hour + minute / 60 if said.opens is None else said.opens
    return BenchDays(days, opens, said.hours or usual["hours"])


def in_order(coats: Sequence[Coat]) -> list[tuple[int, Coat]]:
    """Coats as they go on, with their places in the recipe."""
    return sorted(enumerate(coats), key=lambda row: STAGES.index(row[1].stage))


def pairs(recipe: Recipe) -> Iterator[tuple[int, str, int | None, str]]:
    """Each coat on the one below: its place and class, the other's place and class; up to one of no known class."""
    below: tuple[int | None, str] = (None, BARE)
    for place, coat in in_order(recipe.coats):
        finish = class_named(coat.finish, coat.dries_as)
        if finish is None:
            return
        yield place, finish, *below
        below = (place, finish)


def why_not(recipe: Recipe) -> str:
    """Why no calendar can be made; "" where it can."""
    for place, coat in enumerate(recipe.coats, 1):
        if class_named(coat.finish, coat.dries_as) is None:
            return f"nobody says how coat[{place}] dries: say dries_as"
    for place, finish, under, below in pairs(recipe):
        if over(finish, below, drying(below, Air()) if under is not None else None).code == "no":
            lower = "bare wood" if under is None else f"coat[{under + 1}]"
            return f"coat[{place + 1}] must not go over {lower}"
    return ""


def thicker_than_usual(coat: Coat) -> float:
    """A coat's film in usual ones of its finish [-]; 1 where either is not known."""
    if coat.film is None or coat.finish is None:
        return 1.0
    return float(coat.film / tables.load("coatings")["coat"][coat.finish]["dry_mm"][1] or 1.0)


def _coats(bench: _Bench, recipe: Recipe, items: Sequence[Item], area: float, stage: str) -> None:
    """Put on all coats of a stage; the last of paint in the layers that ``[[paint]]`` or ``[[mask]]`` say."""
    mine = [row for row in in_order(recipe.coats) if row[1].stage == stage]
    for place, coat in mine:
        names = _passes(recipe, coat, last_paint=stage == "painted" and place == mine[-1][0])
        for number, name in enumerate(names, 1):
            _pass(bench, coat, name, first=number == 1)
            stands = _standing(items, area, recipe, place, number / len(names))
            bench.steps[-1] = replace(bench.steps[-1], stands=stands)


def _passes(recipe: Recipe, coat: Coat, *, last_paint: bool) -> list[str]:
    """What each pass of a coat is called."""
    if last_paint and recipe.paints:
        return [f"{coat.name}: {_layer(paint)}" for paint in recipe.paints]
    if last_paint and recipe.masks:
        return [f"{coat.name}: ground", *(f"{coat.name}: through the mask {mask.name}" for mask in recipe.masks)]
    if coat.coats == 1:
        return [coat.name]
    return [f"{coat.name}, {number} of {coat.coats}" for number in range(1, coat.coats + 1)]


def _layer(paint: Paint) -> str:
    """A layer in words: its name, its colour, and where."""
    colour = colour_name(paint.colour)
    said = colour if paint.name in {colour, paint.colour} else f"{paint.name} ({colour})"
    if paint.mask:
        return f"{said}, through the mask {paint.mask}"
    return f"{said}, {'all over' if paint.region in {None, 'whole'} else f'on the {paint.region}'}"


def _pass(bench: _Bench, coat: Coat, what: str, *, first: bool) -> None:
    finish = class_named(coat.finish, coat.dries_as)
    assert finish is not None  # noqa: S101  why_not has looked
    on, thicker = bench.on, thicker_than_usual(coat)
    rule = over(finish, on.finish, on.dries)
    asked = coat.after_h if first and on.dries is not None else None
    needed = rule.wait or 0.0
    cautions = list(tables.load("finishes")["finish"][finish]["cautions"])
    cautions += tables.load("coatings")["coat"][coat.finish]["cautions"] if coat.finish else []
    step = bench.do(
        Step(on.since, what, rule.prepare, rule.why, early=asked is not None and asked < needed),
        needed if asked is None else asked,
    )
    waited = (step.at - on.since) / timedelta(hours=1)
    late = rule.latest is not None and waited > rule.latest
    prepare = scuffed(on.finish) if late else step.first
    cautions += ["wood_dust"] if "scuff" in prepare else []
    bench.steps[-1] = replace(step, first=prepare, cautions=tuple(dict.fromkeys(cautions)))
    bench.on = On(finish, step.at, drying(finish, bench.air, thicker))
    bench.layers.append((finish, step.at, thicker))


def _fittings(bench: _Bench, recipe: Recipe, items: Sequence[Item], area: float, stage: str) -> None:
    """Set in what goes on at a stage, once the last coat can be touched."""
    names = [fitting.name for fitting in recipe.fittings if fitting.stage == stage]
    if names:
        step = bench.do(Step(bench.on.since, ", ".join(names)), bench.on.dries.touch if bench.on.dries else 0.0)
        on = [item for item in items if STAGES.index(item.stage) <= STAGES.index(stage)]
        bench.steps[-1] = replace(step, stands=_sum(on, area))


def _lip(bench: _Bench, recipe: Recipe) -> datetime | None:
    """Glue the lip in when the coats can be handled; when the glue can be; None without a lip."""
    if recipe.lip is None:
        return None
    said = recipe.finish.lip_glue if recipe.finish is not None else None
    glue = said or tables.load("finishes")["bench"]["glue"]
    cautions = tuple(tables.load("finishes")["finish"][glue]["cautions"])
    step = bench.do(
        Step(bench.on.since, "glue the lip into its slot", cautions=cautions),
        bench.on.dries.sand if bench.on.dries else 0.0,
    )
    bench.layers.append((glue, step.at, 1.0))
    return step.at + timedelta(hours=drying(glue, bench.air).sand)


def _rigged(bench: _Bench, recipe: Recipe, items: Sequence[Item], area: float, ready: datetime) -> None:
    names = [fitting.name for fitting in recipe.fittings if fitting.stage == "rigged"]
    if names:
        hooks = any(fitting.kind == "hook" for fitting in recipe.fittings)
        step = bench.do(
            Step(ready, ", ".join(names), cautions=("hooks",) if hooks else ()),
            (ready - bench.on.since) / timedelta(hours=1),
        )
        bench.steps[-1] = replace(step, stands=_sum(items, area))


def _ended(made: Calendar, bench: _Bench, glued: bool) -> Calendar:
    """Say when all that is on may go into the water, and when it is at its hardest.

    The uppermost coat must stand water, and so must the glue; a coat below another has only to have cured so far.
    """
    outer = bench.layers[-2 if glued and len(bench.layers) > 1 else -1]
    likely = {layer: drying(layer[0], bench.air, layer[2]) for layer in bench.layers}
    slowest = {layer: drying(layer[0], bench.air, layer[2], "slowest") for layer in bench.layers}
    full = max(layer[1] + timedelta(hours=dry.full) for layer, dry in likely.items())
    if likely[outer].water is None:
        return replace(made, full=full)
    ends = [
        max([layer[1] + timedelta(hours=dry.water) for layer, dry in by.items() if dry.water] + [bench.steps[-1].at])
        for by in (likely, slowest)
    ]
    return replace(made, water=ends[0], water_late=ends[1], full=full)


def _standing(items: Sequence[Item], area: float, recipe: Recipe, place: int, share: float) -> Standing:
    """What stands after a share of a coat's passes: its soak is in the wood by then, of its film so much."""
    order = {number: rank for rank, (number, _) in enumerate(in_order(recipe.coats))}
    stage = STAGES.index(recipe.coats[place].stage)
    on: list[Item] = []
    for item in items:
        at = STAGES.index(item.stage)
        coat = order[item.owner[1]] if item.owner and item.owner[0] == "coat" else None
        if at < stage or (at == stage and coat is not None and coat < order[place]):
            on.append(item)
        elif coat == order[place]:
            part = share if item.kind == "film" else 1.0
            on.append(replace(item, mass=part * item.mass, displaces=part * item.displaces))
    return _sum(on, area)


def _sum(items: Sequence[Item], area: float) -> Standing:
    film = fsum(item.displaces for item in items if item.kind == "film") / area
    return Standing(film, fsum(item.mass for item in items), fsum(item.displaces for item in items) / 1000)
