"""The body and its wood."""

from dataclasses import dataclass, field
from pathlib import Path

Point3 = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Curve:
    """A line drawn along the length through points, left to right.

    ``points`` are (x, value). ``fractions`` True: x is a share of the length and value a share of the greatest size of
    that line (its height share of the depth, or half the thickness); False: both in mm (a squareness value is bare).
    ``corners`` are indices of points where the line may turn sharply. ``family`` is the outline's name if one was used.
    """

    points: tuple[tuple[float, float], ...]
    fractions: bool
    corners: tuple[int, ...] = ()
    family: str | None = None


@dataclass(frozen=True, slots=True)
class End:
    """Nose or tail.

    ``bluntness`` 0 closes to a point, 1 like an ellipse, more is flatter [-]; ``size`` is the share of the greatest
    size that is left as a flat end (0: none) [-]. None: as the outline family or the points say.
    """

    bluntness: float | None = None
    size: float | None = None


@dataclass(frozen=True, slots=True)
class FlatSide:
    """Sawn flanks: height of the flat at the deepest section [mm], radius of the edges above and below it [mm].

    Left out height: what the radius leaves of the depth. Left out radius: the edge runs round to the middle of the
    back.
    """

    height: float | None = None
    edge_radius: float | None = None


@dataclass(frozen=True, slots=True)
class Parameters:
    """``[shape]`` by parameters.

    ``back``, ``belly``: heights above and below the x axis (both written as positive numbers upwards and downwards);
    ``plan``: half thickness; ``widest``: height z of the widest line [mm], None: midway. ``depth``/``thickness`` None
    only where the points are lengths. ``back_share``: how much of the depth lies above the x axis for outlines given as
    fractions [-]. ``squareness_*``: superellipse exponent along the length [-].
    """

    length: float
    depth: float | None
    thickness: float | None
    back: Curve
    belly: Curve
    plan: Curve
    back_share: float = 0.5
    widest: Curve | None = None
    squareness_back: Curve = Curve(((0.0, 2.0),), fractions=True)
    squareness_belly: Curve = Curve(((0.0, 2.0),), fractions=True)
    nose: End = End()
    tail: End = End()
    flat_side: FlatSide | None = None


@dataclass(frozen=True, slots=True)
class Stations:
    """``[shape] stations``: rows of (x, top, bottom, half_width, squareness), mm, read and checked already.

    ``lines`` are those of the file that the rows stand on, to name one by. ``lower`` is empty, or tells of each row how
    its lower half differs: (squareness there, the upper half having the row's; how high above the belly the widest line
    lies, as a share of the depth) [-].
    """

    file: str
    rows: tuple[tuple[float, float, float, float, float], ...]
    lines: tuple[int, ...] = field(default=(), compare=False, repr=False)
    lower: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class MeshFile:
    """``[shape] mesh``: a closed mesh taken as it is.

    ``scale`` turns its numbers into mm; ``sha256`` is of the file's bytes.
    """

    path: Path
    scale: float
    sha256: str


@dataclass(frozen=True, slots=True)
class Wood:
    """``[wood]``: a species and its moisture, or a density that wins [g/cm^3]; ``blank_*``: the weighed blank."""

    species: str | None = None
    moisture_percent: float = 12.0
    density_g_cm3: float | None = None
    blank_mass: float | None = None
    blank_size: Point3 | None = None
