"""What builds teach: how far pours, coats and boards were from the tables, and how much of that to believe.

Knows records and expectations. Pure: the same records give the same factors. The rule (A. Gelman et al., Bayesian Data
Analysis, 3rd ed. 2013, sections 2.5 and 2.6, from memory): the tables' ratio 1 is a normal prior with their own spread
tau; builds scatter about this bench's own ratio with variance sigma^2, which starts as tau^2 plus the scale's noise,
worth ``PRIOR_BUILDS`` builds, and moves to what the builds show. With n builds of mean m the factor is
1 + w (m - 1), w = tau^2 / (tau^2 + sigma^2 / n); the next build lies within sqrt(sigma^2 + w sigma^2 / n) of it.

A tub speaks for the wood of a build that was not weighed: what ``trim/infer`` makes of it, as one reading with its
own noise, where that leaves a third of the tables' doubt at most. Of all else readings in the tub fix a net weight and
a moment, and a lot's part of them is the prior's share: what builds have in common (hooks of one packet, a coat always
laid on thick) would be taken for each lot's habit. Where a weigh-in tells of the wood it alone counts.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from statistics import fmean, stdev

from bodygen.log.record import Build
from bodygen.recipe.keys import BARE, STAGES
from bodygen.weights.expected import Expectation
from bodygen.weights.learned import Factor, Learned, is_wood
from bodygen.weights.spread import scale_reading

LEAST_BUILDS = 2
"""Fewer than this teach nothing: one odd build is no habit."""
PRIOR_BUILDS = 2
"""How many builds the first guess of their scatter is worth."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """Measured over expected of one lot in one build [-]; ``noise`` is the scale's share in it, one deviation [-]."""

    build: int
    board: str
    lot: str
    value: float
    noise: float


def learned(builds: Sequence[Build], now: Sequence[Expectation], recipe: str, board: str = "") -> Learned:
    """Find the factors for the next build of a recipe.

    Parameters
    ----------
    builds : sequence of Build
        The whole log. Pours and coats are learned from this recipe's builds, wood from every build of the species.
    now : sequence of Expectation
        What the tables say of the recipe as it stands; their spreads are the prior's [g].
    recipe : str
        Its name.
    board : str
        The board that is to be used. When two builds of it are in the log they alone speak for the wood; else the
        boards of the species do, each board once.

    Returns
    -------
    Learned
        Lots with fewer than ``LEAST_BUILDS`` builds are not in it.
    """
    factors: list[Factor] = []
    left_out: list[str] = []
    shares = _shares(now)
    found: dict[str, list[Ratio]] = {}
    for build in builds:
        rows, checks = ratios(build)
        mine = build.recipe == recipe
        for row in rows:
            if row.lot in shares and (mine or is_wood(row.lot)):
                found.setdefault(row.lot, []).append(row)
        left_out += checks if mine else []
    for lot, rows in found.items():
        where = ""
        used = rows
        if is_wood(lot):
            of_board = [row for row in rows if board and row.board == board]
            where, used = (board, of_board) if len(of_board) >= LEAST_BUILDS else ("", rows)
        if len(used) < LEAST_BUILDS or not shares[lot] > 0:
            continue
        values = [row.value for row in used] if where or not is_wood(lot) else _by_board(used)
        noise = fmean(row.noise for row in used)
        factors.append(shrunk(lot, values, shares[lot], noise, builds=len(used), where=where))
    return Learned(tuple(sorted(factors, key=lambda f: f.lot)), tuple(left_out))


def shrunk(
    lot: str, values: Sequence[float], prior_sd: float, noise: float, builds: int | None = None, where: str = ""
) -> Factor:
    r"""Shrink the mean of measured ratios towards 1, the tables' word.

    .. math:: f = 1 + w (m - 1), \quad w = \tau^2 / (\tau^2 + \sigma^2/n)

    Parameters
    ----------
    lot : str
        What the factor is of.
    values : sequence of float
        Measured over expected [-], at least one.
    prior_sd : float
        tau, how far a bench may be off the tables, one standard deviation [-], > 0.
    noise : float
        The scale's share in one ratio, one standard deviation [-].
    builds : int, optional
        How many builds stand behind the values; None: one each.
    where : str
        The board they are all of, if they are.

    Examples
    --------
    >>> shrunk("metal: lead_hand_poured", [0.96, 0.98, 0.97], 0.01, 0.0).value
    0.9775
    """
    n, mean = len(values), fmean(values)
    spread = stdev(values) if n > 1 else 0.0
    first = prior_sd**2 + noise**2
    variance = (PRIOR_BUILDS * first + (n - 1) * spread**2) / (PRIOR_BUILDS + n - 1)
    trust = prior_sd**2 / (prior_sd**2 + variance / n)
    sd = sqrt(variance + trust * variance / n)
    return Factor(lot, 1 + trust * (mean - 1), sd, builds or n, mean, spread, trust, where)


def ratios(build: Build) -> tuple[list[Ratio], list[str]]:
    """Find what each weigh-in, or a tub, says of one lot, and the readings that say nothing, with the reason.

    Between two readings lies what went on in between. When just one lot is in it, the rest of the gain is taken as
    expected and the difference is that lot's; when there are more, nobody can tell them apart.
    """
    weighed = build.weighed
    rows: list[Ratio] = []
    checks: list[str] = []
    bare = [e for e in build.expected if e.stage in BARE and e.stage in weighed and e.lot]
    rows += [_ratio(build, e.lot, weighed[e.stage], e.mass, readings=1) for e in bare[:1]]
    last, before = BARE[-1], 0.0
    for stage, mass in ((s, m) for s, m in weighed.items() if s not in BARE):
        on = [e for e in build.expected if STAGES.index(last) < STAGES.index(e.stage) <= STAGES.index(stage)]
        lots = {e.lot for e in on if e.lot}
        rest = fsum(e.mass for e in on if not e.lot)
        whole = fsum(e.mass for e in on if e.lot)
        gain = mass - before
        if len(lots) == 1 and gain - rest > 0:
            row = _ratio(build, lots.pop(), gain - rest, whole, readings=2 if before else 1)
            rows += [] if row.lot in {r.lot for r in rows} else [row]  # the blank speaks for the wood, not the drilled
        elif len(lots) == 1:
            checks.append(
                f"build {build.number}, {stage}: {gain:.2f} g went on where {rest:.2f} g of other parts did: left out"
            )
        elif lots:
            names = " and ".join(sorted(lots))
            checks.append(f"build {build.number}, {stage}: {names} were weighed together: left out")
        last, before = stage, mass
    return rows + _floated(build, {row.lot for row in rows}), checks


def _floated(build: Build, weighed: Collection[str]) -> list[Ratio]:
    """What the first tub tells of the wood, where no weigh-in does; a later one may be of a trimmed bait."""
    told = [test for test in build.water_tests if test.wood_lot and test.wood_ratio and test.wood_sd is not None]
    return [
        Ratio(build.number, build.board, test.wood_lot, test.wood_ratio, test.wood_sd)
        for test in told[:1]
        if test.wood_lot and test.wood_ratio and test.wood_sd is not None and test.wood_lot not in weighed
    ]


def _ratio(build: Build, lot: str, measured: float, expected: float, *, readings: int) -> Ratio:
    noise = scale_reading() * sqrt(readings) / expected
    return Ratio(build.number, build.board, lot, measured / expected, noise)


def _by_board(rows: Iterable[Ratio]) -> list[float]:
    """One mean a board: ten baits of one board are one board; a build without a note is a board of its own."""
    boards: dict[str, list[float]] = {}
    for row in rows:
        boards.setdefault(f"board {row.board}" if row.board else f"build {row.build}", []).append(row.value)
    return [fmean(values) for values in boards.values()]


def _shares(now: Sequence[Expectation]) -> dict[str, float]:
    """Spread of each lot as a share of its mass [-]."""
    sums: dict[str, tuple[float, float]] = {}
    for e in now:
        if e.lot and (e.stage not in BARE or not is_wood(e.lot)):
            mass, square = sums.get(e.lot, (0.0, 0.0))
            sums[e.lot] = mass + e.mass, square + e.sd**2
    return {lot: sqrt(square) / mass for lot, (mass, square) in sums.items()}
