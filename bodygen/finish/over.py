"""What may lie under what: how long the next coat waits, until when it needs no scuffing, or why it must not go on.

Knows the table of one finish over another. Knows no dates.
"""

from dataclasses import dataclass
from typing import Literal, cast

from bodygen import tables
from bodygen.finish.drying import Drying

Code = Literal["ok", "window", "dry", "scuff", "mist", "spot", "no"]
BARE = "bare_wood"
SCUFF = "scuff it dull with 320 to 400 grit, dust off"
WASH = "wash it with water and a pad, dry it, then "
PREPARE: dict[Code, str] = {"mist": "thin sprayed coats only, each left to flash; try it on scrap"}


@dataclass(frozen=True, slots=True)
class Rule:
    """How one finish goes over another: hours to wait [h], from when it must be scuffed [h], what to do first.

    ``wait`` is None where it must not go on at all; ``latest`` where there is no such limit. ``why`` is the reason, its
    ``source`` beside it.
    """

    code: Code
    wait: float | None
    latest: float | None
    prepare: str
    why: str
    source: str


def over(finish: str, under: str, below: Drying | None) -> Rule:
    """How a product class goes over another, or over ``bare_wood``, that dries as ``below`` [h].

    Parameters
    ----------
    finish, under : str
        Rows of ``finishes.toml``.
    below : Drying or None
        Of the coat below; None for bare wood.

    References
    ----------
    ``finishes.toml``, [compatibility]: mostly common practice, what was read is said there.

    Examples
    --------
    >>> from bodygen.finish.drying import Air, drying
    >>> over("lacquer", "two_part_epoxy_slow", drying("two_part_epoxy_slow", Air())).wait
    120.0
    """
    table = tables.load("finishes")["compatibility"]
    code = cast("Code", table["over"][finish][table["under"].index(under)])
    why, source = _why(finish, under)
    if code == "no":
        return Rule(code, None, None, "", why or "the two do not go together.", source)
    if below is None:
        return Rule(code, 0.0, None, PREPARE.get(code, ""), why, source)
    soonest = below.recoat_min if finish == under else below.touch
    wait = {"window": below.recoat_min, "dry": below.dry, "scuff": below.water or below.sand}.get(code, soonest)
    prepare = scuffed(under) if code == "scuff" else PREPARE.get(code, "")
    return Rule(code, wait, below.recoat_max if code == "window" else None, prepare, why, source)


def scuffed(under: str) -> str:
    """What to do with a finish before the next one holds on it; epoxies grow a waxy film."""
    return (WASH if "epoxy" in under else "") + SCUFF


def _why(finish: str, under: str) -> tuple[str, str]:
    """The reason for a pair, as far as the table has one, and its source."""
    table = tables.load("finishes")["compatibility"]
    for row in table["why"]:
        if finish in row["over"] and under in row["under"]:
            return row["text"], row["source"]
    return "", tables.COMMON_PRACTICE
