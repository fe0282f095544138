"""How large a lip may become before it runs less deep: past a size it turns the bait so far that it mostly brakes.

Knows trials of a recipe's lip in other sizes, its shape kept. How a recipe becomes an estimate comes in from above.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from bodygen.dive.estimate import Estimate
from bodygen.dive.what_if.lip import sized
from bodygen.errors import DesignError, InputError
from bodygen.recipe.model import Recipe
from bodygen.tables import load


@dataclass(frozen=True, slots=True)
class DeepestLip:
    """The lip of the recipe's shape that runs deepest: length and width [mm], ``share`` of those that it has [-].

    ``depth_m`` is the likely one. ``beyond``: why no depth is told of a larger lip; empty where it runs less deep, or
    where ``tried_all``, none larger was tried.
    """

    length_mm: float
    width_mm: float
    share: float
    depth_m: float
    beyond: str = ""
    tried_all: bool = False


def deepest_lip(recipe: Recipe, again: Callable[[Recipe], Estimate]) -> DeepestLip | None:
    """The size past which the depth falls, going from the lip as it is [mm, m]; None where no depth is told of that.

    Parameters
    ----------
    recipe : Recipe
        Lengths [mm].
    again : callable
        The estimate of a changed recipe, under the same conditions.

    Notes
    -----
    Derived here: outwards in coarse steps to the first fall, then halving the steps on both sides of the deepest.
    """
    row = load("fishing")["deepest"]
    told: dict[float, tuple[float | None, str]] = {}

    def depth(share: float) -> float:
        if share not in told:
            told[share] = _likely(recipe, share, again)
        return told[share][0] or 0.0

    if recipe.lip is None or not depth(1.0):
        return None
    low, high = row["shares"]
    step, best = float(row["step"]), 1.0
    way = step if depth(step) > depth(best) else 1 / step
    while low <= best * way <= high and depth(best * way) > depth(best):
        best *= way
    for _ in range(row["halvings"]):
        step = step**0.5
        best = max((best, best / step, min(best * step, high)), key=depth)
    larger = min((share for share in told if share > best), default=None)
    beyond = "" if larger is None or told[larger][0] else told[larger][1]
    lip, deep = recipe.lip, depth(best)
    return DeepestLip(best * lip.length, best * lip.width, best, deep, beyond, larger is None)


def _likely(recipe: Recipe, share: float, again: Callable[[Recipe], Estimate]) -> tuple[float | None, str]:
    lip = recipe.lip
    if lip is None:
        return None, ""
    try:
        found = again(replace(recipe, lip=sized(lip, length=share * lip.length, width=share * lip.width)))
    except (DesignError, InputError) as error:
        return None, str(error)
    return (found.depth.likely if found.depth else None), found.refused
