"""All that is answered to how deep a bait runs, as data."""

from dataclasses import dataclass

from bodygen.dive.estimate import Estimate
from bodygen.dive.what_if.aim import Aimed
from bodygen.dive.what_if.effects import DiveEffect
from bodygen.dive.what_if.size import DeepestLip
from bodygen.findings import Finding
from bodygen.recipe.model import Recipe


@dataclass(frozen=True, slots=True, eq=False)
class Dive:
    """What ``dive`` answers: the estimate, what each change does, lips for a wanted depth where one was asked.

    ``deepest`` is the size of lip past which the depth falls. ``silent`` depths of the log teach nothing, as nothing
    was told when they were written. ``measured``: how many dives were told along with the question, of which
    ``unheard`` teach nothing.
    """

    recipe: Recipe
    estimate: Estimate
    effects: tuple[DiveEffect, ...] = ()
    deepest: DeepestLip | None = None
    silent: int = 0
    measured: int = 0
    unheard: int = 0
    aimed: Aimed | None = None

    def __repr__(self) -> str:
        """One line: the range, never a figure alone, or why there is none."""
        depth = self.estimate.depth
        if depth is None:
            return f"<Dive of {self.recipe.name!r}: no depth is told: {self.estimate.refused}>"
        return f"<Dive of {self.recipe.name!r}: {depth.low:.1f} to {depth.high:.1f} m, likely {depth.likely:.1f} m>"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Why no depth is told, or what to doubt of it."""
        return (*self.estimate.runs.refusals, *self.estimate.runs.doubts)
