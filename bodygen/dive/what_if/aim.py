"""The inverse question: which lip, or which tie, puts the likely depth where it is wanted; all else as it is.

Every trial is a whole recipe, weighed, floated and checked, and estimated as any other; an offer breaks no rule that
the given bait keeps. Knows trials and keys of the recipe. How a recipe becomes an estimate comes in from above.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import inf, log
from typing import Any

import numpy as np

from bodygen.dive.estimate import Estimate, fished
from bodygen.dive.what_if.lip import VARIABLES, Variable, moved_by, reach_of, steps_of
from bodygen.errors import DesignError, InputError
from bodygen.findings import Finding
from bodygen.recipe.model import Recipe
from bodygen.tables import load

LINES = 81
"""Diameters and lengths of line that are looked at."""
COARSE = 4
"""Looks in one direction before the steps between two of them are halved."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A changed recipe as the whole flow has it: its estimate, and the rules it breaks that the given bait keeps."""

    estimate: Estimate
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class LipOffer:
    """One way to run in the wanted depths, or the nearest: ``met`` says which.

    ``changes``: recipe key paths to new values as a recipe writes them (None: take the key out). ``moved``: how far
    each was changed [mm, deg]; ``changed`` adds them up, one for a millimetre or five degrees [-].
    """

    changes: Mapping[str, object]
    moved: Mapping[Variable, float]
    changed: float
    estimate: Estimate
    met: bool


@dataclass(frozen=True, slots=True)
class Aimed:
    """Offers, the least change first; what else would do with the lip as it is; what stands in the way of more.

    ``line_diameter_mm`` and ``line_out_m`` would put the likely depth at the nearest wanted one; None where neither
    more nor less of it within reach does. ``lip_reach_m`` and ``line_reach_m``: the likely depths
    that the lips tried reach, and other line with the lip as it is.
    """

    low_m: float
    high_m: float
    offers: tuple[LipOffer, ...]
    line_diameter_mm: float | None
    line_out_m: float | None
    lip_reach_m: tuple[float, float] | None
    line_reach_m: tuple[float, float] | None
    stops: tuple[Finding, ...] = ()

    @property
    def line_does_more(self) -> bool:
        """Whether line diameter and line out reach farther than every lip that was tried.

        Notes
        -----
        Elementary.
        """
        if self.lip_reach_m is None or self.line_reach_m is None:
            return False
        return self.line_reach_m[1] / self.line_reach_m[0] > self.lip_reach_m[1] / self.lip_reach_m[0]


@dataclass(slots=True)
class _Search:
    """Trials so far, by how far each variable was moved in steps."""

    recipe: Recipe
    assess: Callable[[Recipe], Tried]
    low: float
    high: float
    done: dict[tuple[tuple[Variable, int], ...], LipOffer | None] = field(default_factory=dict)
    stops: dict[str, Finding] = field(default_factory=dict)

    def at(self, steps: Mapping[Variable, int]) -> LipOffer | None:
        """The offer with each variable moved so many steps; None where a rule is broken or no depth is told."""
        key = tuple((name, steps[name]) for name in VARIABLES if steps.get(name))
        if key not in self.done:
            self.done[key] = self._tried(dict(key))
        return self.done[key]

    def _tried(self, steps: Mapping[Variable, int]) -> LipOffer | None:
        changed = moved_by(self.recipe, steps)
        if changed is None:
            return None
        try:
            tried = self.assess(changed.recipe)
        except (DesignError, InputError):
            return None
        self.stops |= {f"{f.code} {f.where}": f for f in tried.findings}
        return None if tried.findings else self.offer(changed.changes, changed.by, tried.estimate)

    def offer(self, changes: Mapping[str, object], by: Mapping[Variable, float], e: Estimate) -> LipOffer | None:
        """The estimate of a recipe that breaks no rule, as an offer; None where no depth is told."""
        if e.depth is None:
            return None
        row = load("fishing")["aim"]
        size = sum(abs(much) / row["change_deg" if name == "angle" else "change_mm"] for name, much in by.items())
        return LipOffer(changes, by, size, e, self.low <= e.depth.likely <= self.high)

    def off(self, offer: LipOffer | None) -> float:
        """How far the likely depth lies from the wanted ones, in its logarithm; deeper positive, 0 within them."""
        depth = offer.estimate.depth if offer else None
        if depth is None:
            return inf
        return min(0.0, log(depth.likely / self.low)) or max(0.0, log(depth.likely / self.high))

    def nearest(self) -> LipOffer | None:
        """Of all that was tried the one whose likely depth is the nearest; of equals the least change."""
        offers = [offer for offer in self.done.values() if offer]
        return min(offers, key=lambda offer: (abs(self.off(offer)), offer.changed), default=None)


def aim(given: Estimate, recipe: Recipe, low: float, high: float, assess: Callable[[Recipe], Tried]) -> Aimed:
    """Lips and ties that put the likely depth between ``low`` and ``high`` [m], the least change first.

    Parameters
    ----------
    given : Estimate
        Of the recipe as it is.
    recipe : Recipe
        Lengths [mm], angles [rad].
    low, high : float
        Wanted depths [m].
    assess : callable
        What the whole flow says of a changed recipe.

    Returns
    -------
    Aimed
        Without one that is ``met``, the nearest that can be had.

    Notes
    -----
    Derived here: outwards in steps of the ruler, first coarse, then halved; one variable alone, length and width
    together, and, where none of these will do, the angle and the tie on top of the largest or smallest lip.
    """
    search = _Search(recipe, assess, low, high)
    search.done[()] = search.offer({}, {}, given)
    reach = {name: reach_of(recipe, name) for name in VARIABLES}
    ways: list[tuple[Variable, ...]] = [("length",), ("width",), ("angle",), ("tie",), ("length", "width")]
    found = [hit for names in ways for hit in _outwards(search, names, reach, {})]
    if not found and (base := search.nearest()):
        held = {name: steps_of(recipe, name, by) for name, by in base.moved.items()}
        more: list[tuple[Variable, ...]] = [(name,) for name in VARIABLES if name not in held]
        found = [hit for names in more for hit in _outwards(search, names, reach, held)]
    nearest = search.nearest()
    offers = _different(sorted(found, key=lambda offer: offer.changed)) or ([nearest] if nearest else [])
    for names in (("length", "width"), ("angle",)):  # how far lips reach at all
        for count in _counts(names, reach):
            search.at(dict.fromkeys(names, count))
    lips = [offer.estimate.depth.likely for offer in search.done.values() if offer and offer.estimate.depth]
    line, out, by_line = _by_line(given, low, high)
    by_lip = (min(lips), max(lips)) if lips else None
    return Aimed(low, high, tuple(offers), line, out, by_lip, by_line, tuple(search.stops.values()))


def _different(offers: list[LipOffer]) -> list[LipOffer]:
    kept: list[LipOffer] = []
    for offer in offers:
        if not any(offer.moved == other.moved for other in kept):
            kept.append(offer)
    return kept[: load("fishing")["aim"]["offers"]]


def _outwards(
    search: _Search,
    names: tuple[Variable, ...],
    reach: Mapping[Variable, tuple[int, int]],
    held: Mapping[Variable, int],
) -> Iterator[LipOffer]:
    """Per direction the first hit going outwards, if there is one."""
    for way in (-1, 1):
        counts = sorted((count for count in _counts(names, reach) if count * way >= 0), key=abs)
        hit = _first(search, counts, lambda count: search.at({**held, **dict.fromkeys(names, count)}))
        if hit is not None:
            yield hit


def _counts(names: Sequence[Variable], reach: Mapping[Variable, tuple[int, int]]) -> list[int]:
    """Steps to look at first, from the least to the most that all of these variables have."""
    low, high = max(reach[name][0] for name in names), min(reach[name][1] for name in names)
    return sorted({round(end * i / COARSE) for end in (low, high) for i in range(COARSE + 1)})


def _first(search: _Search, counts: Sequence[int], look: Callable[[int], LipOffer | None]) -> LipOffer | None:
    """The first hit on the way through some counts, as far as halving between two of them tells."""
    for before, after in pairwise(counts):
        one, other = search.off(look(before)), search.off(look(after))
        if one == 0:
            return look(before)
        if one == inf or (other * one > 0 and other != inf):
            continue
        near, far = before, after
        while abs(far - near) > 1:
            middle = near + (far - near) // 2
            off = search.off(look(middle))
            near, far = (middle, far) if off * one > 0 and off != inf else (near, middle)
        if search.off(look(far)) == 0:
            return look(far)
    return look(counts[-1]) if search.off(look(counts[-1])) == 0 else None


def _by_line(e: Estimate, low: float, high: float) -> tuple[float | None, float | None, tuple[float, float] | None]:
    """Line diameter [mm] and line out [m] that would do with the lip as it is, and all depths [m] that these reach."""
    conditions, depth = e.asked.conditions, e.depth
    if conditions is None or depth is None or e.modelled_m is None:
        return None, None, None
    taught, (least, most) = depth.likely / e.modelled_m, load("fishing")["aim"]["line_share"]
    found, reached = [], []
    for name in ("line_diameter_mm", "line_out_m"):
        now, deep = getattr(conditions, name), []
        for share in np.geomspace(least, most, LINES).tolist():
            other: dict[str, Any] = {name: now * share}
            there = fished(e, replace(conditions, **other)).depth
            deep += [(share, taught * there)] if there is not None else []
        inside = [share for share, depth_m in deep if low <= depth_m <= high]
        nearest = min(inside, key=lambda share: abs(log(share)), default=None)
        found.append(None if nearest is None else now * nearest)
        reached += [depth_m for _, depth_m in deep]
    return found[0], found[1], (min(reached), max(reached)) if reached else None
