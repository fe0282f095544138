"""What stays the same through one search for ballast, and the few questions that every step of it asks.

Knows the given answer and how often the whole flow was asked. Solves nothing.
"""

from dataclasses import dataclass

from bodygen.ballast.answer import Answer, Ask
from bodygen.ballast.drag import Drag, drag_of, straight_up
from bodygen.ballast.layout import Layout
from bodygen.ballast.trial import Base, Ground, Trial, base_of
from bodygen.errors import BodygenError
from bodygen.recipe.model import Bore, Fill, Goal, Recipe


class Counted:
    """Count how often the whole flow is asked."""

    def __init__(self, ask: Ask) -> None:
        self.ask, self.count = ask, 0

    def __call__(self, recipe: Recipe) -> Answer:
        """Ask the whole flow, and count it."""
        self.count += 1
        return self.ask(recipe)

    def or_none(self, recipe: Recipe) -> Answer | None:
        """Ask for a trial; None where no sound body or no metal comes of it (a level that reaches no metal)."""
        try:
            return self(recipe)
        except BodygenError:
            return None


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What stays the same through one search; ``failed`` remembers depths that the wood does not stand."""

    goal: Goal
    ground: Ground
    drag: Drag
    ask: Counted
    taught: dict[str, object]
    failed: dict[tuple[bool, tuple[Bore, ...]], list[tuple[float, ...]]]


def base_for(search: Search, layout: Layout) -> Base:
    """The given bait without the bores that this layout brings in anew or leaves out."""
    given = search.ground.given.recipe
    kept = {bore.name for i, bore in enumerate(layout.recipe.bores) if i not in layout.places}
    return base_of(
        search.ground, tuple(bore for bore in given.bores if bore.kind == "ballast" and bore.name not in kept)
    )


def filling(trial: Trial) -> Fill:
    """What a trial fills its bores with."""
    return trial.bores[0].fill or Fill()


def drag_for(goal: Goal, answer: Answer) -> Drag:
    """Drag of a bait in the attitude in which it lies wholly under, at the speed that a goal asks for."""
    up = straight_up(answer.hull.centroid, answer.total.centre_of_mass)
    return drag_of(answer.hull, up, answer.sizes, goal.sinks_at or goal.rises_at)
