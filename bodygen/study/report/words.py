"""The sentences of a study: the same on the page and on the screen.

A rate or a share whose interval is too wide is not told, and the sentence says so.
"""

from collections.abc import Sequence
from shlex import quote

from bodygen.explain.answers import answers
from bodygen.pipeline import assess
from bodygen.recipe.model import Recipe
from bodygen.recipe.read import parse_recipe
from bodygen.report.dive import conditions_text, is_not
from bodygen.study.report.shares import Decides, VarianceShare
from bodygen.study.report.told import FigureTold, Rate, StudyTold, decided
from bodygen.study.said.model import Limit, Normal, Range, Study, Values, Varied
from bodygen.study.said.named import label_and_unit, with_unit
from bodygen.tables import load
from bodygen.units import length_text, mass_text

TOO_FEW = "not told by so few designs"
HOW = {
    "grid": "every value with every other",
    "latin_hypercube": "spread evenly over all ranges (a Latin hypercube)",
    "sobol": "spread evenly over all ranges (Sobol' points)",
    "monte_carlo": "drawn by chance",
}
LEAST_SHARE = 0.05
"""Shares below this are summed up as the rest [-]."""


def asked(study: Study) -> list[str]:
    """What was asked, a line each."""
    units = _recipe(study).units
    lines = [f"{one.key} {spread_words(one, units)}" for one in study.varied]
    if study.boards:
        lines.append(f"the board, one of {len(study.boards)}: " + ", ".join(board.name for board in study.boards))
    lines += [limit_words(limit) for limit in study.limits]
    return lines


def granted(study: Study) -> list[str]:
    """What every design takes for granted, a line each."""
    recipe = _recipe(study)
    lines = [
        f"{board.name}: {' x '.join(length_text(side, recipe.units) for side in board.size)},"
        f" {mass_text(board.mass, recipe.units)}: {board.density:.3f} g/cm3 all through"
        for board in study.boards
    ]
    if study.boards:
        varies = 100 * float(load("batch")["board"]["within_cov"])
        lines.append(
            f"that blanks of one board differ, by about {varies:g} % (common practice, no published source), is in no"
            " row, nor is how far your scale and rule are off"
        )
    lines.append(f"all else is as {study.recipe.name} has it, and drilled, poured and coated just so")
    if any(column.path.startswith("dive.") for column in study.columns):
        a = assess(recipe)
        if a.dive is not None:
            told = " ".join(conditions_text(a.dive, recipe.units, a.flotation.water_g_cm3))
            lines += [f"depths are told for a bait that is {' '.join(told.split())}"] if told else []
        lines.append(is_not())
    return lines


def _recipe(study: Study) -> Recipe:
    return parse_recipe(study.text, study.recipe, allow_outside=study.allow_outside)


def spread_words(one: Varied, units: str) -> str:
    """How a key varies."""
    unit = f" {one.unit}" if one.unit else ""
    match one.spread:
        case Range(low=low, high=high, steps=steps):
            ends = [length_text(end, units) if one.unit == "mm" else f"{end:g}{unit}" for end in (low, high)]
            return f"from {ends[0]} to {ends[1]}" + (f" in {steps} values" if steps else "")
        case Values(texts=texts):
            return "one of " + ", ".join(texts)
        case Normal(mean=mean, deviation=deviation):
            middle = length_text(mean, units) if one.unit == "mm" else f"{mean:g}{unit}"
            return f"about {middle}, standard deviation {deviation:g}{unit}"


def limit_words(limit: Limit) -> str:
    """A limit in words."""
    label, unit = label_and_unit(limit.figure)
    if limit.least is not None and limit.most is not None:
        return f"{label} from {limit.least:g} to {with_unit(limit.most, unit)}"
    least = f"at least {with_unit(limit.least, unit)}" if limit.least is not None else ""
    return f"{label} {least or f'at most {with_unit(limit.most or 0.0, unit)}'}"


def counts(told: StudyTold) -> str:
    """How many designs there are, passed and failed."""
    whole, failed = len(told.results), sum(one.count for one in told.failures)
    lines = f"{whole} {'design' if whole == 1 else 'designs'}"
    if told.study.limits:
        lines += f", {told.passed} within all limits"
    return f"{lines}, {failed} that cannot be made"


def rate_words(one: Rate) -> str:
    """A pass rate with its interval; of too few designs the counts alone."""
    counted = f"{one.passed} of {one.of}"
    if not one.told:
        return f"{counted}: a rate is {TOO_FEW}"
    interval = f"; {span(one.low, one.high)}" if one.low < one.high else ""
    return f"{100 * one.passed / one.of:.0f} % pass ({counted}{interval})"


def span(low: float, high: float) -> str:
    """An interval of shares in percent."""
    return f"{100 * low:.0f} to {100 * high:.0f} %"


def failure_words(code: str) -> str:
    """What a finding means; the codes that are a study's own are told here."""
    if code in OWN:
        return OWN[code]
    row = load("findings")["finding"].get(code)
    return answers(code)[0].about if row else "no word of bodygen explain"


OWN = {
    "mistake": "the recipe with these values cannot be read: one lies outside what its key accepts",
    "fault": "bodygen itself failed at this design; please report it with the row's recipe",
    "no-sound-body": "no sound body can be made with these values",
}


def figure_words(one: FigureTold, *, sample: bool) -> str:
    """How a figure falls out; of designs that are a ``sample`` of something, how often where."""
    if not len(one.values):
        return f"{one.label}: no design has it"
    if not one.counts:
        return f"{one.label}: {with_unit(float(one.values[0]), one.unit)} in all of them"
    spread = float(one.edges[-1] - one.edges[0])
    ends = f"{with_unit(float(one.edges[0]), '', spread)} to {with_unit(float(one.edges[-1]), one.unit, spread)}"
    if one.p is None:
        return f"{one.label}: {ends}" + (f"; percentiles are {TOO_FEW}" if sample else "")
    low, middle, high = (with_unit(v, "", spread) for v in one.p)
    return f"{one.label}: {ends}; eight in ten from {low} to {high}, half below {middle}"


def decides_words(told: StudyTold, figure: FigureTold) -> str:
    """Which thing decides a figure, in one sentence."""
    shares = decided(told, figure.column)
    if not shares:
        return ""
    large = [one for one in shares if one.alone.value >= LEAST_SHARE and one.alone.told]
    unsure = [one for one in shares if not one.alone.told]
    name = figure.label
    if not large:
        return f"What decides {name} is {TOO_FEW}." if unsure else f"No single thing decides {name}."
    if shares[0] in unsure:  # what is told of the lesser ones does not stand for the whole
        told_of = ", ".join(f"{varied_name(told.study, one.varied)} {_percent(one.alone)}" for one in large)
        return f"What decides {name} most is {TOO_FEW}; {told_of}."
    first, *others = large
    text = f"{varied_name(told.study, first.varied)} decides {_percent(first.alone)} of the {name}"
    if others:
        text += "; " + ", ".join(f"{varied_name(told.study, one.varied)} {_percent(one.alone)}" for one in others)
    if unsure:
        text += f"; the share of {_names(told.study, unsure)} is {TOO_FEW}"
    text = f"The {text[4:]}" if text.startswith("the ") else text
    return f"{text}{_together(told.study, shares)}."


def _together(study: Study, shares: Sequence[Decides]) -> str:
    """What is decided by several things together, where that is known and not little."""
    mixed = [
        one
        for one in shares
        if one.all_in_all and one.all_in_all.told and one.all_in_all.low > one.alone.high + LEAST_SHARE
    ]
    if not mixed:
        return ""
    rows = ", ".join(f"{varied_name(study, one.varied)} {_percent(one.all_in_all)}" for one in mixed if one.all_in_all)
    return f"; with what it does together with others {rows}"


def _percent(share: VarianceShare) -> str:
    interval = f" ({span(share.low, share.high)})" if share.low < share.high else ""
    return f"{100 * share.value:.0f} %{interval}"


def _names(study: Study, shares: Sequence[Decides]) -> str:
    return ", ".join(varied_name(study, one.varied) for one in shares)


def varied_name(study: Study, column: str) -> str:
    """The key of a varied column; the board by that word."""
    return next((one.key for one in study.varied if one.column == column), f"the {column}")


def take_words(told: StudyTold, number: int | str) -> str:
    """The command that writes a row's recipe, from where the study was worked out."""
    where = f" --out {quote(told.out)}" if told.search and told.out != "out" else ""
    return f"bodygen study {quote(told.study.path.as_posix())} --take {number}{where}"
