"""Whether the wood stands it: what a changed bore breaks that the recipe as given does not, and how deep it may go.

Knows the rules of ``form/cuts/checks.py``. A limit that the given design already breaks at a bore of this name is taken
as accepted by the maker, as far as it goes and no farther.
"""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from bodygen.ballast.answer import Answer
from bodygen.ballast.bore import cutters, least_depth, wood_along
from bodygen.ballast.layout import step
from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.cuts.checks import wood_left
from bodygen.form.cuts.skin import Skin
from bodygen.recipe.model import Bore, Limits, Recipe, Units
from bodygen.units import length_text

CODES = frozenset({
    *("bore-breaks-out", "ballast-near-back", "bore-near-skin", "bores-meet", "bores-close"),
    *("bore-meets-slot", "bore-near-slot"),
})
LIMIT_KEYS = {
    "bore-near-skin": "bore_to_skin",
    "ballast-near-back": "ballast_to_back",
    "bores-close": "bore_to_bore",
    "bore-near-slot": "bore_to_slot",
}
"""The key of ``[limits]`` behind each finding that is a doubt and no error."""
SAME_MM = 0.02
FAR_MM = 150.0
NOTHING = Skin(np.empty((0, 3, 3)), np.empty((0, 3)))


def broken(findings: Iterable[Finding], recipe: Recipe, given: Answer, bores: tuple[Bore, ...]) -> tuple[Finding, ...]:
    """Limits [mm] that a recipe breaks and the given design does not, or less; an error at ``bores`` is never taken."""
    accepted = {(f.code, _bores(f, given.recipe)): f.value or 0.0 for f in given.findings if f.code in CODES}
    own = {bore.name for bore in bores}
    return tuple(
        f
        for f in findings
        if f.code in CODES
        and (
            (f.severity == "error" and own & _bores(f, recipe))
            or (f.value or 0.0) < accepted.get((f.code, _bores(f, recipe)), FAR_MM) - SAME_MM
        )
    )


def errors_of(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Only what cannot be made."""
    return tuple(f for f in findings if f.severity == "error")


def limit_words(finding: Finding, units: Units) -> str:
    """Name the limit that a finding is about: its key in ``[limits]`` and figures, as far as there are any."""
    key = LIMIT_KEYS.get(finding.code)
    if key is None or finding.severity == "error" or finding.value is None or finding.limit is None:
        return f"{finding.code} at {finding.where}"
    left, least = (length_text(length, units) for length in (finding.value, finding.limit))
    return f"{left} of wood at {finding.where} where limits.{key} wants {least}"


def judge(recipe: Recipe, bores: tuple[Bore, ...], given: Answer) -> tuple[Finding, ...]:
    """What these bores of a recipe break [mm], all its other cuts as they are in the given answer.

    Each new bore is held against the skin and the slots, and against those bores alone.

    The limits' sources are the findings' own, most of them common practice.
    """
    tools = _tools(recipe, bores, given)
    names = {bore.name for bore in bores}
    new = [t for t in tools if isinstance(t, Revolved) and t.name in names]
    saws = [t for t in tools if not isinstance(t, Revolved)]
    found = [*wood_left(recipe, (*new, *saws), given.skin, given.caster)]
    for bore in new:
        for other in tools:
            if isinstance(other, Revolved) and other.name not in names:
                found += wood_left(recipe, (bore, other), NOTHING, given.caster)
    return broken(found, recipe, given, bores)


def to_back(recipe: Recipe, bores: tuple[Bore, ...], given: Answer) -> float | None:
    """Least wood between these ballast bores and the back [mm]; None where they do not point at it.

    See ``cuts.checks.wood_left``, elementary.
    """
    wide = replace(recipe, limits=Limits(bore_to_skin=0.0, bore_to_bore=0.0, ballast_to_back=FAR_MM, bore_to_slot=0.0))
    tools = tuple(t for t in _tools(recipe, bores, given) if t.name in {b.name for b in bores})
    found = wood_left(wide, tools, given.skin, given.caster)
    return min((f.value for f in found if f.code == "ballast-near-back" and f.value is not None), default=None)


def deepest(recipe: Recipe, bore: Bore, given: Answer, *, relaxed: bool = False) -> tuple[float, tuple[Finding, ...]]:
    """Greatest depth of a bore that breaks nothing [mm], and what a step more would break; 0 where any depth does.

    ``relaxed``: only what cannot be made counts as broken.

    Bisection over the shop's steps, derived here.
    """
    unit = step(recipe.units)
    low, high = 0, int(np.ceil(wood_along(bore, given.caster) / unit))
    first = int(np.ceil(least_depth(bore) / unit))
    stops: tuple[Finding, ...] = ()
    if high <= first:
        return 0.0, (
            Finding("bore-breaks-out", "error", bore.name, "there is no wood for a bore here", 0.0, 0.0, "mm"),
        )
    low = first - 1
    while high - low > 1:
        middle = (low + high) // 2
        found = judge(*_deepened(recipe, bore, middle * unit), given)
        found = errors_of(found) if relaxed else found
        low, high, stops = (low, middle, found) if found else (middle, high, stops)
    return (low * unit if low >= first else 0.0), stops


def _deepened(recipe: Recipe, bore: Bore, depth: float) -> tuple[Recipe, tuple[Bore, ...]]:
    deep = replace(bore, depth=depth)
    return replace(recipe, bores=tuple(deep if b.name == bore.name else b for b in recipe.bores)), (deep,)


def _tools(recipe: Recipe, bores: tuple[Bore, ...], given: Answer) -> tuple[Tool, ...]:
    """Cut the bores anew and keep every other cut, bores numbered as the recipe has them."""
    number = {bore.name: i for i, bore in enumerate(recipe.bores)}
    new = {bore.name for bore in bores}
    tools: list[Tool] = [
        replace(tool, bore=number[bore.name]) for bore in bores for tool in cutters(recipe, bore, given.caster)
    ]
    for tool in given.tools:
        if not isinstance(tool, Revolved):
            tools.append(tool)
        elif tool.name in number and tool.name not in new:
            tools.append(replace(tool, bore=number[tool.name]))
    return tuple(tools)


def _bores(finding: Finding, recipe: Recipe) -> frozenset[str]:
    """The bores that a finding is about: by the one name that each has, in whatever order two recipes list them."""
    return frozenset(recipe.bores[place].name for table, place in finding.about if table == "bore")
