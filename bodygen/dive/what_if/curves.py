"""Depth against how much line is out and against speed, each with its range: what the picture of a dive shows.

Knows estimates under other conditions. How a bait runs at another speed comes in from above.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bodygen.dive.estimate import Estimate, Runs, estimated
from bodygen.dive.spread import Conditions, DepthRange
from bodygen.tables import load

Along = Literal["line_out_m", "speed_m_s"]


@dataclass(frozen=True, slots=True)
class DepthCurve:
    """Ranges of depth [m] along values of one condition [m, m/s], None where no depth is told; ``now`` is as asked."""

    along: Along
    values: tuple[float, ...]
    depths: tuple[DepthRange | None, ...]
    now: float


def depth_curves(e: Estimate, runs_at: Callable[[float], Runs]) -> tuple[DepthCurve, ...]:
    """Depth [m] along line out [m] and along speed [m/s], all else as it was asked; none where that is unknown.

    Parameters
    ----------
    e : Estimate
        As asked; far from the conditions of the dives that it was told the range is as wide as before any.
    runs_at : callable
        How the same bait runs at a speed [m/s].

    Notes
    -----
    As of ``estimated``, derived there; the least and the most are common practice: ``fishing.toml`` [curve].
    """
    now = e.asked.conditions
    if now is None:
        return ()
    row, speeds = load("fishing")["curve"], load("dive")["refused"]["speed_m_s"]
    lines = _spread([share * now.line_out_m for share in row["line_share"]], now.line_out_m)
    by_line = [_depth(e, e.runs, replace(now, line_out_m=out)) for out in lines]
    swum = _spread(speeds, now.speed_m_s)
    by_speed = [_depth(e, runs_at(speed), replace(now, speed_m_s=speed)) for speed in swum]
    return (
        DepthCurve("line_out_m", lines, tuple(by_line), now.line_out_m),
        DepthCurve("speed_m_s", swum, tuple(by_speed), now.speed_m_s),
    )


def _depth(e: Estimate, runs: Runs, conditions: Conditions) -> DepthRange | None:
    return estimated(runs, replace(e.asked, speed_m_s=conditions.speed_m_s, conditions=conditions), e.readings).depth


def _spread(ends: Sequence[float], now: float) -> tuple[float, ...]:
    low, high = ends
    count = load("fishing")["curve"]["points"]
    return tuple(sorted({now, *(low + (high - low) * i / (count - 1) for i in range(count))}))
