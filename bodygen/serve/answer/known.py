"""What an answer is told from: a whole assessment, or a glance at a recipe that was changed a little since one."""

from typing import TypeAlias

from bodygen.assessment import Assessment, Glance
from bodygen.weights.stages import Stage

Known: TypeAlias = Assessment | Glance


def stages_of(known: Known) -> tuple[Stage, ...]:
    """The weigh-ins, masses [g]."""
    return known.weighed.stages if isinstance(known, Assessment) else known.stages
