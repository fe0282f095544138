"""What a trace found, as data: the surface, how near it lies to what was measured, and what it had to guess.

Every way of tracing ends in a ``Traced``; ``written.py`` makes the recipe of it. Knows nothing of files.
"""

from dataclasses import dataclass
from math import degrees
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from bodygen.findings import Finding
from bodygen.form.fairing.offsets import Offsets

Array = NDArray[np.float64]
How = Literal["stations", "scan", "photo"]
Part = Literal[
    "eye", "line tie", "lip or line tie", "hanger", "tail hanger", "lip", "clear lip", "something on the back"
]
"""What a photograph may show on a bait or beside it."""


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A place that does not fair: ``what`` at ``x`` [mm] is ``off`` [mm] away from where the rest has it.

    Positive where what was measured stands outside the fair surface. ``left_out``: it was not used at all.
    ``beside_end``: the line may close otherwise there than the rest says, and the reading be right.
    """

    x: float
    what: str
    off: float
    left_out: bool = False
    beside_end: bool = False

    def document(self) -> dict[str, Any]:
        """Give the fields that JSON has."""
        return {"x_mm": self.x, "what": self.what, "off_mm": self.off, "left_out": self.left_out}

    def __str__(self) -> str:
        """Say it to the maker, in mm as callipers show it."""
        used = "; left out" if self.left_out else ""
        used += ", or the end closes otherwise than the rest says" if self.beside_end and not self.left_out else ""
        return f"at {self.x:.1f} mm the {self.what} sits {abs(self.off):.1f} mm off the curve: measure again{used}"


@dataclass(frozen=True, slots=True)
class Guessed:
    """What nobody measured: ``what`` was taken as ``taken``, ``why``; within ``volume_cm3`` (low, high) it may lie."""

    what: str
    taken: str
    why: str
    volume_cm3: tuple[float, float] | None = None

    def document(self) -> dict[str, Any]:
        """Give the fields that JSON has."""
        volume = None if self.volume_cm3 is None else list(self.volume_cm3)
        return {"what": self.what, "taken": self.taken, "why": self.why, "volume_cm3": volume}

    def __str__(self) -> str:
        """Say it in one sentence."""
        between = (
            ""
            if self.volume_cm3 is None
            else "; the volume then lies between {:.2f} and {:.2f} cm3".format(*self.volume_cm3)
        )
        return f"{self.what}: taken as {self.taken}, {self.why}{between}"


@dataclass(frozen=True, slots=True)
class Unsure:
    """What the sizes may be off by for one cause, ``what``: ``length`` and ``depth`` [mm]."""

    what: str
    length: float
    depth: float

    def document(self) -> dict[str, Any]:
        """Give the fields that JSON has."""
        return {"what": self.what, "length_mm": self.length, "depth_mm": self.depth}

    def __str__(self) -> str:
        """Say it in a few words."""
        return f"{self.what} {self.length:.2f} and {self.depth:.2f}"


@dataclass(frozen=True, slots=True)
class Proposed:
    """A part that was seen at ``x``, ``z`` [mm], to be looked at: it is used for nothing.

    ``size`` [mm] is an eye's diameter, or how far a lip stands out; ``angle`` [rad] a lip's from straight ahead,
    downwards; ``over`` [mm]: how far it lies over the mid-plane, nearer to the lens.
    """

    kind: Part
    x: float
    z: float
    size: float | None = None
    angle: float | None = None
    over: float = 0.0

    def document(self) -> dict[str, Any]:
        """Give the fields that JSON has."""
        angle = None if self.angle is None else degrees(self.angle)
        return {"what": self.kind, "x_mm": self.x, "z_mm": self.z, "size_mm": self.size, "angle_deg": angle}

    def __str__(self) -> str:
        """Say it in a few words."""
        how = ""
        if self.angle is not None:
            how = f", {self.size:.0f} mm out and {degrees(self.angle):.0f} deg down from straight ahead"
        elif self.size is not None:
            how = f", {self.size:.1f} mm across"
        article = "" if self.kind.startswith("something") else "an " if self.kind == "eye" else "a "
        return f"{article}{self.kind} at x = {self.x:.1f} mm, z = {round(self.z, 1) + 0.0:+.1f} mm{how}"


@dataclass(frozen=True, slots=True)
class Fit:
    """How far ``points`` measured places lie from a surface [mm]: root mean square, 95th percentile, the farthest."""

    rms: float
    p95: float
    max: float
    points: int

    def document(self) -> dict[str, Any]:
        """Give the fields that JSON has."""
        return {"rms_mm": self.rms, "p95_mm": self.p95, "max_mm": self.max, "points": self.points}

    def __str__(self) -> str:
        """Say it in one line."""
        return f"{self.points} places: rms {self.rms:.2f} mm, p95 {self.p95:.2f} mm, the farthest {self.max:.2f} mm"


def fit_of(off: Array) -> Fit:
    """Sum up deviations (k,) [mm] of either sign.

    Elementary.

    Examples
    --------
    >>> fit_of(np.array([0.3, -0.4]))
    Fit(rms=0.3535, p95=0.395, max=0.4, points=2)
    """
    size = np.abs(off)
    if not len(size):
        return Fit(0.0, 0.0, 0.0, 0)
    rms, p95 = float(np.sqrt(np.mean(size**2))), float(np.percentile(size, 95))
    return Fit(rms, p95, float(size.max()), len(size))


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A bait's skin as it was measured, coats and all, in the body's axes with the nose at x = 0.

    Attributes
    ----------
    how : str
        Which way it was traced.
    file, sha256 : str
        Name of the file that was traced, and the hash of its bytes.
    offsets : Offsets
        The fair surface [mm]: 33 rows or more, close at round ends.
    places : (k, 3) array
        What was measured and used [mm], in the same axes: the fit is told by these.
    noise : float
        How exactly they are known [mm]; the recipe's lines may leave the surface by half of it.
    doubtful, guessed, findings
        What does not fair; what nobody measured; what else is to be said, as for any design.
    unsure : tuple of Unsure
        What length and depth may be off by, by cause; nothing where the fit itself tells it.
    proposed : tuple of Proposed
        What else was seen, to be looked at.
    notes : tuple of str
        Sentences for the record in the recipe: which way the axes lie, what was left out.
    """

    how: How
    file: str
    sha256: str
    offsets: Offsets
    places: Array
    noise: float
    doubtful: tuple[Doubtful, ...] = ()
    guessed: tuple[Guessed, ...] = ()
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    unsure: tuple[Unsure, ...] = ()
    proposed: tuple[Proposed, ...] = ()
