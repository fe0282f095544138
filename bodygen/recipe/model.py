"""A recipe after reading: frozen data, lengths in mm, masses in g, angles in rad, temperatures in degC.

Knows no TOML and no units as text (``read.py`` does). Every optional table is None or empty when it was left out, so
that later rooms can tell "not said" from "said to be zero". Key paths in findings use the recipe's own names.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

Units = Literal["mm", "in"]
BoreKind = Literal["ballast", "hanger", "tie", "eye", "rattle", "through", "any"]
Entry = Literal["belly", "back", "side", "nose", "tail", "point"]
Tip = Literal["twist", "flat", "ball"]
Closed = Literal["open", "sealed", "filled"]  # floods with water | holds air | glue or filler takes up what is left
Fit = Literal["press", "slide", "loose"]
MaskKind = Literal["back", "flank", "belly", "bars", "gill", "eye"]
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

    ``lines`` are those of the file that the rows stand on, to name one by.
    """

    file: str
    rows: tuple[tuple[float, float, float, float, float], ...]
    lines: tuple[int, ...] = field(default=(), compare=False, repr=False)


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


@dataclass(frozen=True, slots=True)
class Counterbore:
    """A wider, flat-bottomed mouth: diameter and depth from the skin on the bore's axis [mm]."""

    diameter: float
    depth: float


@dataclass(frozen=True, slots=True)
class Fill:
    """What goes into a ballast bore: a metal of the table, how it is placed, how full.

    ``level`` is the share of the bore's depth that is filled [-]; ``mass`` is the maker's own scale and wins [g];
    ``clearance`` is between a cast slug and the bore, on the diameter [mm].
    """

    metal: str = "lead_cast_slug"
    placed: Literal["slug", "poured", "putty"] = "slug"
    level: float = 1.0
    mass: float | None = None
    clearance: float = 0.0
    finish: Literal["flush", "flat"] = "flush"


@dataclass(frozen=True, slots=True)
class Bore:
    """``[[bore]]``: one drilled hole.

    Where the axis meets the skin: ``x`` along the body with ``offset`` (y, right positive) for belly and back; ``x``
    with ``height`` (z) for the side; ``offset`` with ``height`` for nose and tail; ``at`` with ``direction`` (into the
    wood) for a point. ``lean`` tips the axis: its inner end goes aft by this angle for belly, back and side, up for
    nose and tail [rad]. ``side`` is the flank that a side bore enters. ``depth`` [mm] is measured on the axis from the
    skin to the shoulder or to the point, None for a bore right through. ``tip_angle`` is the point's included angle
    [rad], used by a twist tip. ``mirror`` bores the other flank too. ``diameter`` [mm]; ``drill`` as the maker named
    it. ``may_meet``: names of bores that this one may run into on purpose. ``closed``: what becomes of the room that
    metal and hardware leave; None: as is usual for the kind.
    """

    name: str
    kind: BoreKind
    entry: Entry
    diameter: float
    depth: float | None
    x: float | None = None
    offset: float = 0.0
    height: float = 0.0
    side: Literal["right", "left"] = "right"
    at: Point3 | None = None
    direction: Point3 | None = None
    lean: float = 0.0
    drill: str | None = None
    depth_to: Literal["shoulder", "point"] = "shoulder"
    tip: Tip = "twist"
    tip_angle: float = 2.0594885173533086  # 118 degrees
    mirror: bool = False
    counterbore: Counterbore | None = None
    may_meet: tuple[str, ...] = ()
    fill: Fill | None = None
    closed: Closed | None = None


@dataclass(frozen=True, slots=True)
class WireSlot:
    """``[[wire_slot]]``: a kerf sawn in the mid-plane from belly or back.

    It runs from ``start`` to ``end`` along x [mm], of ``width``; either to a constant ``depth`` below the skin or down
    to a straight ``floor`` at that height z [mm].
    """

    name: str
    along: Literal["belly", "back"]
    start: float
    end: float
    width: float
    depth: float | None = None
    floor: float | None = None
    closed: Closed = "filled"


@dataclass(frozen=True, slots=True)
class Mouth:
    """A mouth cut above the slot so that the slot lies in its floor: height and depth along the slot [mm]."""

    height: float
    depth: float


@dataclass(frozen=True, slots=True)
class TieHole:
    """A hole in the plate on its middle line: diameter, and distance from the slot's mouth [mm]."""

    diameter: float
    distance: float


@dataclass(frozen=True, slots=True)
class Cutting:
    """How lips are cut.

    ``kerf`` is the full width of the cut for laser and saw, the cutter's diameter for a router [mm]; ``quantity`` lips
    nested on a sheet of ``sheet_size`` (width, height) with ``gap`` between parts and to the edge [mm], or inside the
    corners ``offcut`` of a left-over piece [mm] where there are any. ``tabs`` places on each lip are marked where it
    may stay joined to the sheet over ``tab_width`` [mm]; None: what is usual for the process.
    """

    process: Literal["laser", "router", "hand"] = "hand"
    kerf: float = 0.0
    quantity: int = 1
    sheet_size: tuple[float, float] = (300.0, 200.0)
    gap: float = 3.0
    offcut: tuple[tuple[float, float], ...] = ()
    tabs: int = 0
    tab_width: float | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend right across the plate: distance from the slot's mouth [mm], and angle of the tip, down positive [rad]."""

    distance: float
    angle: float


@dataclass(frozen=True, slots=True)
class Lip:
    """``[lip]``: the plate and its slot.

    The slot's middle plane meets the profile at ``x`` on the belly (entry "belly") or at ``height`` on the nose (entry
    "nose"); ``angle`` is measured from straight ahead downwards [rad]: 0 lies along the axis, pi/2 hangs straight down.
    ``thickness`` is the sheet's measured thickness; the slot is ``thickness + fit`` wide [mm]. ``slot_depth`` runs
    along the plate from the skin; ``slot_width`` None cuts right across the body. ``length`` is the exposed length from
    the slot's mouth to the tip, ``width`` the greatest width [mm]. ``outline`` names a family or is "points", then
    ``points`` are (distance from the mouth, half width) [mm]. ``tongue_width`` None: the slot's width, or as wide as
    the body is there. ``mass`` is the cut plate on the maker's own scale and wins over sheet and size [g].
    """

    sheet: str
    thickness: float
    angle: float
    slot_depth: float
    length: float
    width: float
    x: float | None = None
    height: float = 0.0
    entry: Literal["belly", "nose"] = "belly"
    fit: float = 0.1
    slot_width: float | None = None
    mouth: Mouth | None = None
    outline: str = "shovel"
    points: tuple[tuple[float, float], ...] = ()
    corner_radius: float = 1.0
    tongue_width: float | None = None
    tie_hole: TieHole | None = None
    cutting: Cutting = Cutting()
    mass: float | None = None
    bend: Bend | None = None


@dataclass(frozen=True, slots=True)
class Fitting:
    """``[[fitting]]``: a thing of known mass at a known place [g, mm, cm^3].

    ``kind`` "weight" is the general form and says everything itself. For "hook", "ring", "eye", "screw_eye" and "wire"
    the table fills in ``mass`` and ``displaces_cm3`` from ``size`` (and ``length`` for wire) where silent.
    ``at``: where its weight acts; of what hangs, the eye it hangs from. ``on`` names a bore instead: ``at`` is then
    found from its mouth (``form/hung.py``). ``length``: of a wire along its bends, of a hook from end to end [mm].
    """

    name: str
    kind: Literal["weight", "hook", "ring", "eye", "screw_eye", "wire"]
    at: Point3
    stage: str
    mass: float | None = None
    displaces_cm3: float | None = None
    size: str | None = None
    length: float | None = None
    quantity: int = 1
    mirror: bool = False
    on: str | None = None


@dataclass(frozen=True, slots=True)
class Coat:
    """``[[coat]]``: a finish of the table, or what it weighed.

    ``coats`` of it, each ``film`` thick [mm], or a measured ``gain`` in all [g].
    """

    name: str
    finish: str | None
    stage: str
    coats: int = 1
    film: float | None = None
    density_g_cm3: float | None = None
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class Mask:
    """``[[mask]]``: a region of the skin that is painted by itself; None: the usual of ``tables/masks.toml``.

    ``start`` and ``end`` bound it along x [mm]; ``low`` and ``high`` are shares of the depth there, 0 at the belly and
    1 at the back [-]. ``count`` bars, each ``width`` wide along the body [mm] and tipped by ``slant``, upper end aft
    [rad]. A gill stands at ``x``, its band ``width`` wide; an eye's ring reaches ``width`` beyond its bore [mm].
    """

    kind: MaskKind
    name: str
    start: float | None = None
    end: float | None = None
    low: float | None = None
    high: float | None = None
    count: int | None = None
    width: float | None = None
    slant: float | None = None
    x: float | None = None


@dataclass(frozen=True, slots=True)
class Water:
    """``[water]``: temperature [degC] and absolute salinity [g/kg], or a density that wins [g/cm^3]."""

    temperature: float = 15.0
    salinity: float = 0.0
    density_g_cm3: float | None = None


@dataclass(frozen=True, slots=True)
class LineOut:
    """``[line]``: diameter [mm], length out [m]."""

    diameter: float | None = None
    length_m: float | None = None


@dataclass(frozen=True, slots=True)
class Retrieve:
    """``[retrieve]``: speed [m/s], rod tip above the water [m]."""

    speed_m_s: float | None = None
    tip_height_m: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """``[limits]``: least wood left, mm. None means the table's value for this wood (``tables/limits.toml``).

    ``bore_to_skin`` and ``bore_to_slot`` are for every kind of bore that has no limit of its own.
    """

    bore_to_skin: float | None = None
    bore_to_bore: float | None = None
    ballast_to_back: float | None = None
    bore_to_slot: float | None = None
    chin: float | None = None
    hanger_to_skin: float | None = None
    hanger_to_slot: float | None = None
    eye_to_slot: float | None = None


@dataclass(frozen=True, slots=True)
class Shop:
    """``[shop]``: the printer, cutters and boards at hand; None: the usual of ``tables/``.

    ``printer_bed`` along x, y and up [mm]; ``fit`` of cradles on the body; ``follower_allowance``: how much larger all
    round a second master is [mm]; ``shrink_percent`` of what is cast in the mould. ``stock_thickness`` of the board to
    carve from, ``scallop``: ridges that finishing leaves [mm]; ``roughing``, ``finishing``, ``profile_cutter``: rows of
    ``tables/cutters.toml``. ``spindle_speeds`` that the router's dial has [1/min], ``fastest_feed`` and
    ``fastest_plunge`` [mm/min], ``clamp_height`` above the stock [mm]. ``bush``: outer diameter of the guide bush or
    bearing that runs along a router template, ``cutter``: of the cutter in it [mm].
    """

    printer_bed: Point3 | None = None
    fit: Fit | None = None
    follower_allowance: float | None = None
    shrink_percent: float | None = None
    stock_thickness: float | None = None
    roughing: str | None = None
    finishing: str | None = None
    profile_cutter: str | None = None
    scallop: float | None = None
    spindle_speeds: tuple[float, ...] = ()
    fastest_feed: float | None = None
    fastest_plunge: float | None = None
    clamp_height: float | None = None
    bush: float | None = None
    cutter: float | None = None


@dataclass(frozen=True, slots=True)
class Waterline:
    """Where the water should stand: ``height`` z on the body at the station ``x`` in the mid-plane [mm]."""

    x: float
    height: float


@dataclass(frozen=True, slots=True)
class Goal:
    """``[goal]``: how the maker wants it to lie, and with what it may be ballasted.

    ``state`` (key ``float``) is what it is meant to be. At most one of ``reserve`` (water displaced wholly under, less
    the weight [g]), ``suspends_at`` [degC], ``sinks_at`` and ``rises_at`` [m/s]. ``pitch``: nose up positive, at rest
    [rad].
    ``bores``: the recipe's own ballast bores, one in a place to be found, or one in front and one behind; None: as can
    be done with what is given. ``metal``: this row and no other. ``drills`` [mm]: these and no others.
    """

    state: Literal["floats", "suspends", "sinks"] | None = None
    reserve: float | None = None
    suspends_at: float | None = None
    sinks_at: float | None = None
    rises_at: float | None = None
    pitch: float | None = None
    waterline: Waterline | None = None
    bores: Literal["given", "one", "two"] | None = None
    metal: str | None = None
    drills: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Source:
    """What a recipe was read from.

    ``lines`` maps a key path to its line in ``file``; ``sha256`` is of the file's bytes and of every file it names, so
    that two equal hashes mean the same input.
    """

    file: str
    sha256: str
    lines: Mapping[str, int] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a parameter file says; two that say the same are equal, wherever they were read.

    ``source`` is where it was read. A changed recipe (``dataclasses.replace``) has None, for no file says what it says.
    """

    name: str
    units: Units
    shape: Parameters | Stations | MeshFile
    wood: Wood = Wood()
    bores: tuple[Bore, ...] = ()
    wire_slots: tuple[WireSlot, ...] = ()
    lip: Lip | None = None
    fittings: tuple[Fitting, ...] = ()
    coats: tuple[Coat, ...] = ()
    masks: tuple[Mask, ...] = ()
    water: Water = Water()
    line: LineOut | None = None
    retrieve: Retrieve | None = None
    limits: Limits = Limits()
    shop: Shop = Shop()
    goal: Goal | None = None
    weighed: tuple[tuple[str, float], ...] = ()  # (stage, grams) read off the maker's scale
    source: Source | None = field(default=None, init=False, compare=False)  # not in __init__: replace leaves it behind

    def __repr__(self) -> str:
        """One line: what is in it, and where it was read."""
        kind = {Parameters: "drawn", Stations: "measured", MeshFile: "a mesh"}[type(self.shape)]
        tables = {"bore": self.bores, "wire slot": self.wire_slots, "fitting": self.fittings, "coat": self.coats}
        held = [f"{len(rows)} {name}{'s' * (len(rows) > 1)}" for name, rows in tables.items() if rows]
        held += ["a lip"] if self.lip else []
        where = self.source.file if self.source else "changed, in no file"
        return f"<Recipe {self.name!r}: {', '.join([kind, *held])}; {where}>"

    @property
    def sha256(self) -> str | None:
        """Of what it was read from; None for a recipe that is in no file."""
        return self.source.sha256 if self.source else None

    def place(self, *keys: str) -> tuple[str, int]:
        """File and line of the first of these keys that the file has, for a message; no file and 0 where none is."""
        if self.source is None:
            return "", 0
        return self.source.file, next((self.source.lines[key] for key in keys if key in self.source.lines), 0)


def read_from(recipe: Recipe, source: Source | None) -> Recipe:
    """The same recipe, known to be what this source says."""
    same = replace(recipe)
    object.__setattr__(same, "source", source)  # the one place that may
    return same
