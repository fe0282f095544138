"""All that a study tells, worked out once: counts, rates, how figures fall out, what decides them, rows to look at.

Page, text and document show it; they compute nothing.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bodygen.study.report.results import BOARD, Floats, Mask, Results
from bodygen.study.report.shares import Decides, given_shares, sobol_shares
from bodygen.study.said.model import Limit, Study
from bodygen.study.said.named import label_and_unit
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class Rate:
    """How many of how many pass, and the interval of the share (Wilson's); ``what`` is a board, or "" for all."""

    what: str
    passed: int
    of: int
    low: float
    high: float

    @property
    def told(self) -> bool:
        """Whether the interval is narrow enough to tell a rate."""
        return self.of > 0 and (self.high - self.low) / 2 <= float(load("study")["told"]["rate_half_width"])


@dataclass(frozen=True, slots=True)
class Failure:
    """Designs that failed by one finding: how many, and the first of them."""

    code: str
    count: int
    first: int


@dataclass(frozen=True, slots=True)
class LimitTold:
    """Of the designs that can be made, how many lie outside a limit."""

    limit: Limit
    outside: int
    of: int


@dataclass(frozen=True, slots=True, eq=False)
class FigureTold:
    """How a figure falls out over the designs that can be made.

    ``p`` is p10, p50, p90; None of too few, and of those that a search chose.
    """

    column: str
    label: str
    unit: str
    values: Floats
    edges: Floats
    counts: tuple[int, ...]
    p: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class RowToSee:
    """A row worth looking at, and why."""

    number: int
    why: str


@dataclass(frozen=True, slots=True)
class OfferTold:
    """A design that a search offers: its row, the row of the best one that it was rounded from, what to write.

    ``toml`` are the changes as text of a recipe; ``rows`` one line for each wish and limit: name, wished, got.
    """

    number: int
    exact: int
    toml: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class WishTold:
    """One thing that a search made small or large: its value in each row of the table."""

    label: str
    unit: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SearchTold:
    """What a search found: sentences, the designs offered, and along which wishes; ``front`` are rows of the table."""

    says: tuple[str, ...]
    offers: tuple[OfferTold, ...]
    wishes: tuple[WishTold, ...]
    front: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class StudyTold:
    """What is told of a study; ``sample`` says whether its designs are one, so that rates and shares mean something.

    ``out`` is the folder that its own was made in.
    """

    study: Study
    results: Results
    sample: bool
    passed: int
    failures: tuple[Failure, ...]
    limits: tuple[LimitTold, ...]
    rates: tuple[Rate, ...]
    figures: tuple[FigureTold, ...]
    decides: tuple[Decides, ...]
    looks: tuple[RowToSee, ...]
    search: SearchTold | None = None
    out: str = "out"


def tell(study: Study, results: Results, search: SearchTold | None = None, out: str = "out") -> StudyTold:
    """Work out what a table tells."""
    sample = study.plan is not None
    counted = _counted(study, results)
    made, passed = results.made & counted, results.passed(study) & counted
    return StudyTold(
        study,
        results,
        sample,
        int(np.sum(results.passed(study))),
        failures_of(results),
        tuple(LimitTold(one, int(np.sum(made & ~results.inside(one))), int(np.sum(made))) for one in study.limits),
        _rates(study, results, counted, passed) if sample else (),
        tuple(_figure(study, name, results.figures[name][made], sample) for name in _shown(study, results)),
        tuple(_decides(study, results)) if sample else (),
        () if search and search.offers else looks_of(study, results),
        search,
        out,
    )


def failures_of(results: Results) -> tuple[Failure, ...]:
    """Count the designs that failed, by finding, the most frequent first."""
    counts = Counter(str(code) for code in results.failed if code)
    first = {code: int(results.numbers[np.argmax(results.failed == code)]) for code in counts}
    return tuple(Failure(code, count, first[code]) for code, count in sorted(counts.items(), key=lambda c: (-c[1], c)))


def rate(what: str, passed: int, of: int) -> Rate:
    """Give a share with its interval.

    Wilson's score interval (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; recommended by Brown, Cai and DasGupta,
    Statistical Science 16 (2001) 101), as scipy.stats.binomtest has it.
    """
    from scipy.stats import binomtest

    if of == 0:
        return Rate(what, 0, 0, 0.0, 1.0)
    ends = binomtest(passed, of).proportion_ci(load("study")["told"]["confidence"], method="wilson")
    return Rate(what, passed, of, float(ends.low), float(ends.high))


def every_of(what: str, passed: int, of: int) -> Rate:
    """Give the share of a whole grid, in which chance has no part."""
    share = passed / of if of else 0.0
    return Rate(what, passed, of, share, share)


def _counted(study: Study, results: Results) -> Mask:
    """Which rows are a sample: of a plan laid out for Sobol' indices the two that do not depend on each other."""
    if study.plan is None or not study.plan.base:
        return np.ones(len(results), dtype=bool)
    return np.asarray(results.numbers <= 2 * study.plan.base)


def _rates(study: Study, results: Results, counted: Mask, passed: Mask) -> tuple[Rate, ...]:
    parts = [("", counted)]
    parts += [(board.name, counted & (results.varied[BOARD] == board.name)) for board in study.boards]
    every = study.plan is not None and study.plan.how == "grid"  # all there are, and no sample of more
    told = every_of if every else rate
    return tuple(told(what, int(np.sum(passed & mine)), int(np.sum(mine))) for what, mine in parts)


def _shown(study: Study, results: Results) -> list[str]:
    """Columns of figures to tell of: of a range that has a likely, that one."""
    paths = {column.path: column.name for column in study.columns}
    ends = {
        f"{path.removesuffix('likely')}{end}" for path in paths if path.endswith(".likely") for end in ("low", "high")
    }
    return [name for path, name in paths.items() if name in results.figures and path not in ends]


def _figure(study: Study, name: str, values: Floats, sample: bool) -> FigureTold:
    told = load("study")["told"]
    path = next(column.path for column in study.columns if column.name == name)
    label, unit = label_and_unit(path)
    values = values[np.isfinite(values)]
    if not len(values) or np.ptp(values) <= 1e-9 * np.max(np.abs(values)):
        return FigureTold(name, label, unit, values, values[:0], (), None)
    edges = np.histogram_bin_edges(values, "auto")
    edges = edges if len(edges) <= told["most_bins"] + 1 else np.linspace(edges[0], edges[-1], told["most_bins"] + 1)
    low, middle, high = (float(v) for v in np.percentile(values, [10, 50, 90]))
    p = (low, middle, high) if sample and len(values) >= told["least_designs"] else None
    return FigureTold(name, label, unit, values, edges, tuple(int(c) for c in np.histogram(values, edges)[0]), p)


def _decides(study: Study, results: Results) -> list[Decides]:
    """Shares of every figure, by the way that the designs allow."""
    names = list(results.varied)
    found: list[Decides] = []
    plan = study.plan
    if plan is not None and plan.base:
        n = plan.base
        place = {int(number): i for i, number in enumerate(results.numbers)}
        rows = np.array([place.get(k + 1, -1) for k in range(n * (len(names) + 2))]).reshape(len(names) + 2, n)
        for figure in _shown(study, results):
            column = results.figures[figure]
            values = np.where(results.made, column, np.nan)
            blocks = np.where(rows >= 0, values[rows], np.nan)
            found += sobol_shares(names, figure, blocks[0], blocks[1], blocks[2:], study.seed)
        return found
    for figure in _shown(study, results):
        column = results.figures[figure]
        rows = results.made & np.isfinite(column)
        varied = [results.varied[name][rows] for name in names]
        every = plan is not None and plan.how == "grid" and bool(np.all(rows))
        found += given_shares(names, varied, figure, column[rows], every=every)
    return found


def looks_of(study: Study, results: Results) -> tuple[RowToSee, ...]:
    """The rows to look at: best and worst by the limits; where there are none, the ends of each figure."""
    made = np.flatnonzero(results.made)
    if not len(made):
        return ()
    if study.limits:
        slack = np.min([_slack(limit, results)[made] for limit in study.limits], axis=0)
        slack = np.where(np.isfinite(slack), slack, -np.inf)
        best, worst = made[np.argmax(slack)], made[np.argmin(slack)]
        inside = "farthest within the limits" if np.max(slack) >= 0 else "nearest to the limits"
        rows = [(best, inside), (worst, "farthest outside" if np.min(slack) < 0 else "nearest to a limit")]
    else:
        rows = []
        for name in _shown(study, results)[:MOST_ENDS]:
            values = results.figures[name][made]
            if np.any(np.isfinite(values)) and np.nanmax(values) > np.nanmin(values):
                label, _ = label_and_unit(next(c.path for c in study.columns if c.name == name))
                rows += [(made[np.nanargmax(values)], f"most {label}"), (made[np.nanargmin(values)], f"least {label}")]
    whys: dict[int, list[str]] = {}
    for row, why in rows:
        whys.setdefault(int(results.numbers[row]), []).append(why)
    return tuple(RowToSee(number, ", ".join(said)) for number, said in whys.items())


MOST_ENDS = 4
"""Figures whose ends are told where nothing says which rows are good."""


def _slack(limit: Limit, results: Results) -> Floats:
    """How far within a limit each row lies, in the band's width or the limit's size; negative outside."""
    values = results.figures[limit.column]
    ends = [end for end in (limit.least, limit.most) if end is not None]
    scale = (max(ends) - min(ends)) or max(abs(end) for end in ends) or 1.0
    low = values - limit.least if limit.least is not None else np.full(len(values), np.inf)
    high = limit.most - values if limit.most is not None else np.full(len(values), np.inf)
    return np.asarray(np.minimum(low, high) / scale)


def decided(told: StudyTold, figure: str) -> Sequence[Decides]:
    """Shares of one figure, the largest first."""
    return sorted((one for one in told.decides if one.figure == figure), key=lambda one: -one.alone.value)
