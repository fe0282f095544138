"""Which way each view looks at the bait, and at which hand the nose then lies: said once, for all that is drawn or cut.

The body's x runs from nose to tail, y to the bait's right and z up. Whoever looks at the right flank from outside looks
against y with z up, and so has x running to the left: the nose is at the right. The left flank has its nose at the
left. Knows no body.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from bodygen.form.integrals import Array

Side = Literal["right", "left"]
SIDES: tuple[Side, Side] = ("right", "left")


@dataclass(frozen=True, slots=True, eq=False)
class Projection:
    """A direction to look from: unit vectors (3,) of the body's axes that lie to the right and up as seen."""

    name: str
    right: Array
    up: Array

    @property
    def viewer(self) -> Array:
        """The unit vector (3,) [-] towards who looks on.

        Elementary: the cross product of right and up.

        Examples
        --------
        >>> SIDE.viewer.tolist()   # left of the bait
        [0.0, -1.0, 0.0]
        """
        return np.cross(self.right, self.up)

    @property
    def axes(self) -> tuple[int, int]:
        """Which of the body's axes [-] lie across and up, for a projection along the third: 0 is x, 1 is y, 2 is z.

        Examples
        --------
        >>> SIDE.axes
        (0, 2)
        """
        return int(np.argmax(np.abs(self.right))), int(np.argmax(np.abs(self.up)))

    @property
    def nose(self) -> Side:
        """At which hand the nose lies, for a projection across the body."""
        return "left" if self.right[0] > 0 else "right"

    def flat(self, points: Array) -> Array:
        """Points (k, 3) as seen: (k, 2) [mm].

        Elementary: a parallel projection.

        Examples
        --------
        >>> RIGHT_FLANK.flat(np.array([[10.0, 8.0, 2.0]])).tolist()   # the nose is at the right
        [[-10.0, 2.0]]
        """
        return np.stack([points @ self.right, points @ self.up], axis=-1)


SIDE = Projection("side", np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
"""The side view of every drawing: the left flank, seen from outside."""
RIGHT_FLANK = Projection("right flank", np.array([-1.0, 0, 0]), np.array([0, 0, 1.0]))
PLAN = Projection("plan", np.array([1.0, 0, 0]), np.array([0, 1.0, 0]))
"""From above."""
END = Projection("end", np.array([0, -1.0, 0]), np.array([0, 0, 1.0]))
"""From the nose."""
FLANKS: dict[Side, Projection] = {"left": SIDE, "right": RIGHT_FLANK}
"""Each flank as it is seen from outside."""


def outwards(side: Side) -> float:
    """1 or -1: the sign of y on a side [-].

    Elementary: y of the direction towards who looks on.

    Examples
    --------
    >>> outwards("right"), outwards("left")
    (1.0, -1.0)
    """
    return float(FLANKS[side].viewer[1])


def side_of(y: float) -> Side:
    """On which side y [mm] lies; the mid-plane counts as right.

    Examples
    --------
    >>> side_of(-2.0), side_of(0.0)
    ('left', 'right')
    """
    return "left" if y * outwards("left") > 0 else "right"
