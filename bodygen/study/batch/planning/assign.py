"""Which board gives how many pieces of which lot: whole numbers by a mixed-integer solver, first one aim, then another.

Knows counts and costs. Knows nothing of wood.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Spare = Literal["wood", "metal", "boards"]
Array = NDArray[np.float64]
SLACK = 1e-6
"""What the second aim may cost the first, as a share: the solver's rounding [-]."""


@dataclass(frozen=True, slots=True)
class BoardOffer:
    """What a board can give: at most ``pieces``, a face of ``area`` [mm^2], the metal of a piece of each lot [g].

    ``metal`` is None for a lot that its wood does not suit.
    """

    pieces: int
    area: float
    metal: tuple[float | None, ...]


def assigned(wanted: Sequence[int], offers: Sequence[BoardOffer], spare: Spare) -> NDArray[np.int64] | None:
    """Share the lots' pieces out over the boards.

    Parameters
    ----------
    wanted : sequence of int
        Pieces of each lot.
    offers : sequence of BoardOffer
        One for each board.
    spare : "wood", "metal" or "boards"
        What to use least of: the area of boards that are begun, the metal of all pieces, or the number of boards.

    Returns
    -------
    array (boards, lots) or None
        How many; None where the boards give too few. Of equal answers the one with the least metal, or of these, where
        metal is to be spared, the one with the least wood.

    References
    ----------
    A fixed-charge assignment: G. B. Dantzig, Linear Programming and Extensions (1963), from memory; solved by HiGHS
    through SciPy.

    Examples
    --------
    >>> heavy, light = BoardOffer(5, 100.0, (1.0,)), BoardOffer(5, 90.0, (2.0,))
    >>> assigned([4], [heavy, light], "metal").tolist(), assigned([4], [heavy, light], "wood").tolist()
    ([[4], [0]], [[0], [4]])
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    boards, lots = len(offers), len(wanted)
    count = boards * lots
    most = np.array([[o.pieces if metal is not None else 0 for metal in o.metal] for o in offers], dtype=float)
    metal = np.array([[m or 0.0 for m in o.metal] for o in offers])
    own = np.kron(np.eye(boards), np.ones(lots))  # pieces of each board
    rows = [
        LinearConstraint(np.hstack([own, -np.diag([float(o.pieces) for o in offers])]), -np.inf, 0.0),
        LinearConstraint(np.hstack([np.tile(np.eye(lots), boards), np.zeros((lots, boards))]), wanted, wanted),
    ]
    costs = {
        "metal": np.concatenate([metal.ravel(), np.zeros(boards)]),
        "wood": np.concatenate([np.zeros(count), [o.area for o in offers]]),
        "boards": np.concatenate([np.zeros(count), np.ones(boards)]),
    }
    bounds = Bounds(np.zeros(count + boards), np.concatenate([most.ravel(), np.ones(boards)]))
    found = None
    for aim in dict.fromkeys((spare, "metal", "wood")):
        found = milp(costs[aim], constraints=rows, bounds=bounds, integrality=np.ones(count + boards))
        if found.x is None:
            return None
        rows.append(LinearConstraint(costs[aim][None, :], -np.inf, found.fun * (1 + SLACK) + SLACK))
    assert found is not None  # noqa: S101  an aim was tried
    return np.asarray(np.round(found.x[:count]).reshape(boards, lots), dtype=np.int64)
