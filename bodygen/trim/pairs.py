"""Two small changes made together: any but wire and hooks, and a wire on one shank besides.

Knows candidates. They are far more than those that are worth floating, so each is put together when it is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bodygen.form.integrals import Array
from bodygen.recipe.model import Recipe
from bodygen.trim.candidate import SWAP, WIRE, Candidate, together


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Every pair of a recipe's changes that can be made together, by number."""

    recipe: Recipe
    changes: Sequence[Candidate]

    @property
    def wires(self) -> list[Candidate]:
        """One wire on one shank."""
        return [one for one in self.changes if one.ease == WIRE and one.parts == 1]

    @property
    def others(self) -> list[Candidate]:
        """What leaves the shanks as they are."""
        return [one for one in self.changes if one.ease not in {WIRE, SWAP}]

    @property
    def nets(self) -> Array:
        """The load of each, net of its water (n, 4) [g, g mm]."""
        return np.asarray((nets_of(self.others)[:, None] + nets_of(self.wires)[None]).reshape(-1, 4))

    def __getitem__(self, number: int) -> Candidate:
        """Put the pair of that number together."""
        other, wire = divmod(number, len(self.wires))
        return together(self.recipe, self.others[other], self.wires[wire])


def nets_of(changes: Sequence[Candidate]) -> Array:
    """Loads of changes net of their water (n, 4) [g, g mm]."""
    return np.array([one.net for one in changes]).reshape(-1, 4)
