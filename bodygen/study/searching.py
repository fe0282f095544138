"""A search as a study has it: keys, boards, aims and limits to axes and wishes, and back to designs and rows.

``search/`` knows numbers alone and ``report/`` shows what is told; here the two meet.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from bodygen.recipe.changes import key_of
from bodygen.recipe.read import parse_recipe
from bodygen.study.plan.designs import design_of
from bodygen.study.report.told import OfferTold, SearchTold, WishTold
from bodygen.study.report.words import limit_words
from bodygen.study.said.model import Design, Range, Row, Study, StudyAim, Values, Varied
from bodygen.study.said.named import label_and_unit, number_text, with_unit
from bodygen.study.said.written import written
from bodygen.study.search.find import SearchOutcome, find
from bodygen.study.search.space import Among, Axis, Point, Ranged
from bodygen.study.search.task import hits
from bodygen.study.search.wishes import Band, Figures, Wished, value_of
from bodygen.tables import load
from bodygen.units import INCH, inch_fraction, is_number

Run = Callable[[Sequence[Design]], Sequence[Row]]
"""Designs to their rows in the same order."""
_STEPS = {
    "angle": "angle_deg", "mass": "mass_g", "temperature": "temperature_c", "speed": "speed_m_s",
    "density": "density_g_cm3", "percent": "percent", "whole": "whole",
}  # fmt: skip


def search(study: Study, run: Run) -> tuple[SearchOutcome, list[Row]]:
    """Look for the designs that a study asks for.

    Parameters
    ----------
    study : Study
        With ``search`` and ``aims``.
    run : callable
        A batch of designs, numbered in the order in which they are tried, to their rows.

    Returns
    -------
    SearchOutcome, list of Row
        What was found, and the row of every design tried; row ``i`` is of ``SearchOutcome.tried[i]``.
    """
    rows: list[Row] = []
    designs = study.search.designs if study.search else 0

    def evaluate(points: Sequence[Point]) -> list[Figures | None]:
        new = run([design_at_point(study, len(rows) + 1 + i, point) for i, point in enumerate(points)])
        rows.extend(new)
        return [_figures(row) for row in new]

    limits = [Band(one.column, one.least, one.most) for one in study.limits]
    found = find(axes_of(study), evaluate, wishes_of(study.aims), limits, designs, study.seed)
    return found, rows


def axes_of(study: Study) -> list[Axis]:
    """What a search may turn, the boards last."""
    units = units_of(study)
    axes = [_axis(one, units) for one in study.varied]
    return [*axes, Among(len(study.boards))] if study.boards else axes


def units_of(study: Study) -> str:
    """What the recipe's bare lengths are in, "mm" or "in"."""
    return parse_recipe(study.text, study.recipe, allow_outside=study.allow_outside).units


def _axis(one: Varied, units: str) -> Axis:
    match one.spread:
        case Range(low=low, high=high):
            return Ranged(low, high, step_of(one, units))
        case Values(texts=texts):
            return Among(len(texts))
        case _:
            msg = f"{one.key}: a search takes no chances"  # the reader has refused it
            raise ValueError(msg)


def step_of(one: Varied, units: str) -> float:
    """The step that a maker sets a key to, in its own unit: a tenth of a millimetre, 1/64 in, a degree."""
    steps, about = load("study")["step"], key_of(one.key)
    kind = "whole" if one.whole else about.kind if about else "number"
    if one.unit == "mm":
        return float(steps["length_in"]) * float(INCH) if units == "in" else float(steps["length_mm"])
    return float(steps[_STEPS.get(kind, "number")])


def design_at_point(study: Study, number: int, point: Point) -> Design:
    """The design that a search calls by a value for each range and a place in each list."""
    texts = [
        one.spread.texts[int(value)] if isinstance(one.spread, Values) else written(one, value)
        for one, value in zip(study.varied, point[: len(study.varied)], strict=True)
    ]
    return design_of(study, number, texts, int(point[-1]) if study.boards else None)


def design_of_row(study: Study, row: Mapping[str, Any]) -> Design:
    """The design that a row of the table was made from."""
    texts = []
    for one in study.varied:
        value = row[one.column]
        if isinstance(one.spread, Values):
            among = one.spread.numbers or one.spread.texts
            texts.append(one.spread.texts[list(among).index(value)])
        else:
            texts.append(written(one, value))
    board = [b.name for b in study.boards].index(row["board"]) if study.boards else None
    return design_of(study, int(row["number"]), texts, board)


def wishes_of(aims: Sequence[StudyAim]) -> list[Wished]:
    """Aims as a search takes them."""
    return [Wished(aim.column, aim.target, aim.within or 0.0, aim.sense) for aim in aims]


def _figures(row: Row) -> Figures | None:
    """Figures of a row; None where the design cannot be made."""
    if row["failed"] is not None:
        return None
    return {k: float(v) for k, v in row.items() if is_number(v)}


def searched(study: Study, found: SearchOutcome) -> SearchTold:
    """What a search found, in words."""
    return SearchTold(
        tuple(_says(study, found)),
        tuple(
            OfferTold(
                one.design + 1, one.exact + 1, _toml(study, found.tried[one.design][0]), _got(study, found, one.design)
            )
            for one in found.offers
        ),
        tuple(_wish(study, found, measure) for measure in found.measures) if len(found.measures) > 1 else (),
        tuple(i + 1 for i in found.front),
    )


def _says(study: Study, found: SearchOutcome) -> list[str]:
    tried = f"{len(found.tried)} designs were tried, {found.failed} of them cannot be made."
    first = found.offers[0]
    if found.failed == len(found.tried):
        return [f"{tried} There is nothing to offer: see what cannot be made."]
    if not first.within_limits:
        return [
            f"{tried} None is within all limits; row {first.design + 1} is the nearest.",
            *_in_the_way(study, found),
        ]
    if len(found.offers) > 1:
        return [f"{tried} {len(found.offers)} are offered, of which none is better than another in everything."]
    return [f"{tried} {_nearest(study, found)}"]


def _nearest(study: Study, found: SearchOutcome) -> str:
    """How near the one design that is offered comes."""
    first = found.offers[0]
    if all(aim.target is None for aim in study.aims):
        return f"Row {first.design + 1} is the best that a maker can set."
    if first.met:
        return f"Row {first.design + 1} meets every target."
    nearest = f"row {first.design + 1} is the nearest that a maker can set"
    if hits(found.tried[first.exact][1], [wish for measure in found.measures for wish in measure]):
        return f"Row {first.exact + 1} meets every target, but rounded to steps none does: {nearest}."
    return f"None meets every target: {nearest}."


def _in_the_way(study: Study, found: SearchOutcome) -> list[str]:
    """Which limit stands in the way: one without which some design would do, else how many keep each."""
    lines = []
    for one, limit in zip(found.limits, study.limits, strict=True):
        _, unit = label_and_unit(limit.figure)
        said = limit_words(limit)
        if one.others_kept and one.nearest is not None:
            lines.append(
                f"{said} stands in the way: {one.others_kept} designs keep all else, "
                f"and the nearest of them misses it by {with_unit(one.nearest, unit)}."
            )
    if lines:
        return lines
    kept = "; ".join(
        f"{one.kept} keep {limit_words(limit)}" for one, limit in zip(found.limits, study.limits, strict=True)
    )
    return [f"No single limit stands in the way, several do together: of the designs {kept}."]


def _toml(study: Study, point: Point) -> str:
    """The changes of a design as lines of a recipe, lengths of an inch recipe in 64ths where they are whole ones."""
    design, units = design_at_point(study, 1, point), units_of(study)
    board = [f"# of board {design.board}"] if design.board else []
    return "\n".join([*board, *(f"{key} = {_quoted(text, units)}" for key, text in design.changes)])


def _quoted(text: str, units: str) -> str:
    number, _, unit = text.partition(" ")
    try:
        inches = float(number) / float(INCH)
    except ValueError:
        return text if text in {"true", "false"} or text[:1] in "[{" else f'"{text}"'
    if units == "in" and unit == "mm" and abs(64 * inches - round(64 * inches)) < 1e-6:
        return f'"{inch_fraction(inches)} in"'
    return f'"{text}"' if unit else text


def _got(study: Study, found: SearchOutcome, design: int) -> tuple[tuple[str, str, str], ...]:
    figures = found.tried[design][1] or {}
    rows = []
    for aim in study.aims:
        label, unit = label_and_unit(aim.figure)
        wished = (
            f"as near {with_unit(aim.target, unit)} as can be"
            if aim.target is not None
            else _SENSE[aim.sense or "least"]
        )
        rows.append((label, wished, _value(figures, aim.column, unit)))
    for limit in study.limits:
        label, unit = label_and_unit(limit.figure)
        rows.append((label, limit_words(limit).removeprefix(f"{label} "), _value(figures, limit.column, unit)))
    return tuple(dict.fromkeys(rows))


_SENSE = {"least": "as little as can be", "most": "as much as can be"}


def _value(figures: Figures, column: str, unit: str) -> str:
    """A figure; of a likely one that is kept as a range, its ends besides."""
    if column not in figures:
        return "none"
    text = f"{number_text(figures[column], 0.01 * abs(figures[column]))} {unit}".rstrip()
    low, high = (column.removesuffix("likely") + end for end in ("low", "high"))
    if low not in figures or high not in figures:
        return text
    return f"{text} ({number_text(figures[low])} to {number_text(figures[high])})"


def _wish(study: Study, found: SearchOutcome, measure: tuple[Wished, ...]) -> WishTold:
    """One measure over every row, the way its figure is written."""
    values = [value_of(figures, measure) for _, figures in found.tried]
    if measure[0].target is not None:
        return WishTold("miss of the targets", "times what counts as met", tuple(values))
    aim = next(aim for aim in study.aims if aim.column == measure[0].figure)
    label, unit = label_and_unit(aim.figure)
    return WishTold(label, unit, tuple(-v for v in values) if measure[0].sense == "most" else tuple(values))
