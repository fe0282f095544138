"""The axis of a traced body: where a slim tail lies beside it, it is laid anew; no flat flank is given up for that."""

import numpy as np
import pytest

from bodygen.scan.cloud.scanned import _beside_axis, _levelled_axis
from bodygen.scan.cloud.sizes import Sizes


def bent(tilt, shift):
    """A closed nose, a slim sawn tail, and the axis laid askew by a tilt [-] and a shift [mm] of the tail."""
    places = np.linspace(0.0, 1.0, 37)
    deep = 30 * np.sqrt(np.clip(4 * places * (1 - places), 0, 1)) * (1 - places) ** 0.5
    deep[-4:] = 0.9
    lines = np.zeros((6, 37))
    lines[0], lines[1] = deep / 2, -deep / 2
    lines[:2, 1:] += tilt * 76 * places[1:] + shift * places[1:] ** 3
    lines[2:] = np.array([10.0, 0.5, 0.5, 0.5])[:, None]
    return Sizes(places, lines, 0.0, 76.0, (True, False), (True, False), (None, 7.7))


@pytest.mark.parametrize(("tilt", "shift"), [(-0.02, 0.0), (0.015, 0.0), (-0.02, 0.3), (0.05, 0.0)])
def test_an_axis_that_leaves_the_slim_tail_is_laid_through_it(tilt, shift):
    sizes = bent(tilt, shift)
    assert _beside_axis(sizes)
    turn, move, level = _levelled_axis(sizes)
    assert not _beside_axis(level)
    # a turn is a turn, and rows come to lie where the levelled sizes say, but for what a small turn moves along x
    assert turn @ turn.T == pytest.approx(np.eye(3))
    for sizes_line, level_line in zip(sizes.lines[:2], level.lines[:2], strict=True):
        points = np.stack([sizes.places * 76.0, np.zeros(37), sizes_line], axis=1) @ turn.T + move
        assert points[1:, 2] == pytest.approx(level_line[1:], abs=15 * tilt**2 + 0.01)
