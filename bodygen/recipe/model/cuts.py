"""What is drilled and sawn, and what goes into the holes."""

from dataclasses import dataclass
from typing import Literal

from bodygen.recipe.model.body import Point3

BoreKind = Literal["ballast", "hanger", "tie", "eye", "rattle", "through", "any"]
Entry = Literal["belly", "back", "side", "nose", "tail", "point"]
Tip = Literal["twist", "flat", "ball"]
Closed = Literal["open", "sealed", "filled"]  # floods with water | holds air | glue or filler takes up what is left


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
