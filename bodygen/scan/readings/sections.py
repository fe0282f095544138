"""The sections of a body whose lines are known: how high it is widest, how square; usual where nobody read it.

Of what is guessed it says how much volume hangs on it.
"""

from dataclasses import replace

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.form.fairing.fair import fair_line
from bodygen.form.fairing.offsets import FoldError, Offsets, skin_through
from bodygen.form.integrals import body_volume
from bodygen.scan.readings.lines import Array
from bodygen.scan.readings.table import Readings
from bodygen.scan.record import Guessed
from bodygen.tables import load


def sections_of(readings: Readings, offsets: Offsets) -> tuple[Offsets, tuple[Guessed, ...]]:
    """The widest line and squareness as they were read; where they were not, as usual, and how much hangs on it."""
    depth = offsets.top - offsets.bottom
    guess = load("limits")["readings"]
    share, known_widest = _along(
        readings,
        (readings.widest - np.interp(readings.x, offsets.x, offsets.bottom))
        / np.maximum(np.interp(readings.x, offsets.x, depth), 1e-9),
        offsets.x,
        0.5,
        (0.05, 0.95),
    )
    low, high = (float(v) for v in load("limits")["range"]["squareness"])
    usual = float(guess["squareness"])
    back, known_back = _along(readings, readings.squareness_back, offsets.x, usual, (low, high))
    belly, known_belly = _along(readings, readings.squareness_belly, offsets.x, usual, (low, high))

    def made(back: Array, belly: Array, share: Array) -> Offsets:
        return replace(offsets, widest=offsets.bottom + share * depth, squareness_back=back, squareness_belly=belly)

    found = made(back, belly, share)
    corners = [None] if known_back and known_belly else list(guess["squareness_range"])
    heights = [None] if known_widest else list(guess["widest_range"])
    ends = [
        made(_taken(back, n, known_back), _taken(belly, n, known_belly), _taken(share, at, known_widest))
        for n in corners
        for at in heights
    ]
    between = _range(readings, ends, float(guess["volume_share"]))
    guessed = []
    if not (known_back and known_belly):
        guessed.append(Guessed("squareness", f"{usual:g}", "nobody measured the sections' corners", between))
    if not known_widest:
        why = "nobody measured how high the body is widest"
        guessed.append(Guessed("widest line", "midway between back and belly", why, between))
    return found, tuple(guessed)


def _taken(values: Array, instead: float | None, known: bool) -> Array:
    """What was read, or the end of a range where nobody did."""
    return values if known or instead is None else np.full_like(values, instead)


def _along(
    readings: Readings, values: Array, x: Array, usual: float, bounds: tuple[float, float]
) -> tuple[Array, bool]:
    """What was read here and there, fair over x (k,); the usual where it never was; and whether it was."""
    known = ~np.isnan(values) & (readings.x > 0) & (readings.x < readings.length)
    at, which = np.unique(readings.x[known], return_index=True)
    some = np.clip(values[known][which], *bounds)
    if not len(at):
        return np.full(len(x), usual), False
    if len(at) == 1 or np.ptp(some) < 1e-9:
        return np.full(len(x), float(some.mean())), True
    return np.clip(fair_line(at, some)(x), *bounds), True


def volume_of(readings: Readings, offsets: Offsets) -> float:
    """Volume [cm^3] of the surface; raises ``InputError`` where it folds."""
    try:
        return body_volume(skin_through(offsets)).volume / 1000
    except FoldError as fold:
        nearest = int(np.argmin(np.abs(readings.x - fold.x)))
        problem = f"the surface through the readings {fold.what} near x = {fold.x:.1f} mm."
        accepted = "check this row and those beside it, or leave one out"
        raise InputError([
            Mistake(readings.file, readings.lines[nearest], "x_mm", f"{readings.x[nearest]:g}", problem, accepted)
        ]) from None


def _range(readings: Readings, ends: list[Offsets], apart: float) -> tuple[float, float]:
    """Least and greatest volume [cm^3] of some surfaces, and what the lines themselves leave open."""
    volumes = [volume_of(readings, one) for one in ends]
    return min(volumes) * (1 - apart), max(volumes) * (1 + apart)
