"""All that a tub told of a bait, and what to do: what reports and the log read.

Knows the parts of an answer. Computes nothing.
"""

from dataclasses import dataclass

from bodygen.recipe.model import Recipe
from bodygen.trim.advice import Advice, Aim, Now
from bodygen.trim.infer import Inferred, WoodTold
from bodygen.trim.readings import TubReading, TubWords


@dataclass(frozen=True, slots=True, eq=False)
class Trimmed:
    """What the tub told: ``read`` as it was taken, what ``inferred`` of it, how the finished bait is ``now``, advice.

    ``aimed`` are the goal's wishes; ``wood`` is what the log may learn; ``now`` is None where the readings contradict.
    """

    recipe: Recipe
    said: TubWords
    read: tuple[TubReading, ...]
    inferred: Inferred
    aimed: tuple[Aim, ...]
    now: Now | None
    advice: tuple[Advice, ...]
    water_c: float
    wood: WoodTold | None = None

    @property
    def met(self) -> bool:
        """Whether the goal is met as it is, or by the first advice."""
        return self.now is not None and (self.now.distance <= 1 or any(one.met for one in self.advice))
