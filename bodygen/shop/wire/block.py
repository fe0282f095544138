"""The bending block: a printed plate with one station for each bend, its steel pins where the wire is bent too far.

The wire lies along a low ridge up to the bend's mark, is led round the forming pin, and touches the stop pin when it is
bent as much farther as it springs back. Loops are bent first, then their necks, then corners; turn the wire over for a
bend to the other side. Knows bends and plates. What is drawn on paper is ``template.py``'s.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, hypot, pi, sin, sqrt

import manifold3d
import numpy as np

from bodygen.form.cuts.wired import BentWire
from bodygen.form.wire.bends import WireBend
from bodygen.mesh.cut import to_mesh
from bodygen.plane.shapes import Point
from bodygen.recipe.model import TrialBend
from bodygen.shop.engrave import sunk, words, words_size
from bodygen.shop.part import Part
from bodygen.shop.wire.spring import Bending, bending_of, bow
from bodygen.tables import load

SIDES = 48
SETTLES = 4
"""Rounds in which the stop's place and the bow up to it settle: each leaves a tenth of the last."""
SEEN_DEG = 0.05
"""Bends that differ by less have one station."""


@dataclass(frozen=True, slots=True)
class BendStation:
    """One bend: the wire comes along +x to the mark at the origin and turns left round the forming pin [mm].

    ``loop`` is the radius to the wire's middle of a loop that was bent before and follows at once; 0 for straight wire.
    ``stop_at`` is None for a loop that comes round so far that its stop would stand in the wire's own way.
    ``tried``: the maker has measured how this wire springs back. The stop stands by ``bows`` farther than the bend is
    made, as far as the held wire bows beside it, give or take ``bows_more`` by where it is pushed [rad].
    """

    label: str
    wire: float
    made: Bending
    pin_at: Point
    stop_at: Point | None
    loop: float = 0.0
    tried: bool = False
    bows: float = 0.0
    bows_more: float = 0.0


def stations_of(wires: Sequence[BentWire]) -> tuple[BendStation, ...]:
    """A station for each bend that no other has, loops first, in the order in which they are bent."""
    found: dict[tuple[object, ...], tuple[WireBend, float, float, TrialBend | None]] = {}
    for wire in wires:
        bends = wire.form.bends
        for place, bend in enumerate(bends):
            beside = [b for b in bends[max(place - 1, 0) : place + 2] if abs(b.angle) > pi]
            loop = (beside[0].inside + wire.form.wire / 2) if beside and bend.out and abs(bend.angle) < pi else 0.0
            angle = round(degrees(abs(bend.angle)) / SEEN_DEG)
            row = (bend, wire.form.wire, loop, wire.trial)
            found.setdefault((wire.form.wire, bend.inside, angle, loop, wire.trial), row)
    ordered = sorted(found.values(), key=lambda row: (abs(row[0].angle) < pi, not row[0].out))
    return tuple(station(str(n), *row) for n, row in enumerate(ordered, 1))


def station(label: str, bend: WireBend, wire: float, loop: float = 0.0, trial: TrialBend | None = None) -> BendStation:
    """Where the pins of a bend stand [mm]: the stop touches the straight wire after it, or the loop, overbent."""
    row, made = load("wire")["block"], bending_of(bend, wire, trial)
    radius, touch = (made.pin + wire) / 2, (wire + row["stop_pin_mm"]) / 2
    away = _stop_away(made, wire)
    if away is None and not loop:
        return BendStation(label, wire, made, (0.0, radius), None, 0.0, trial is not None)
    away = away or 0.0
    first, then, most = _bows(made, wire, away, loop)
    angle = made.angle + first
    end = (radius * sin(angle), radius - radius * cos(angle))
    angle += then
    way, left = (cos(angle), sin(angle)), (-sin(angle), cos(angle))
    if not loop:
        stop = (end[0] + away * way[0] + touch * left[0], end[1] + away * way[1] + touch * left[1])
        return BendStation(label, wire, made, (0.0, radius), stop, 0.0, trial is not None, first + then, most)
    centre = (radius * sin(angle) - loop * left[0], radius - radius * cos(angle) - loop * left[1])
    dx, dy = centre[0], centre[1] - radius
    far = hypot(dx, dy)
    stop = (centre[0] - (loop + touch) * dy / far, centre[1] + (loop + touch) * dx / far)
    return BendStation(label, wire, made, (0.0, radius), stop, loop, trial is not None, first + then, most)


def _bows(made: Bending, wire: float, away: float, loop: float) -> tuple[float, float, float]:
    """How far the held wire bows before its bend and behind it, and give or take how much [rad].

    Derived here: a quarter of a loop bows, pi/4 loop^2 of what a straight does by a third of its length's square.
    """
    after = 3 * pi / 4 * loop**2 / ((made.pin + wire) / 2 + loop) if loop else away
    before = float(load("wire")["block"]["fence_gap_mm"])
    least, greatest = bow(made.springs, before + after)
    first, then = (sum(bow(made.springs, held)) / 2 for held in (before, after))
    return first, then, (greatest - least) / 2


def _stop_away(made: Bending, wire: float) -> float | None:
    """From a bend's end to where its stop touches [mm]: near, but clear of the pin, and of the wire before it is bent.

    None where no place is; it would lie farther out than is any use.
    A wire that is led round by more than half a turn comes down across where it lay; the farther out, the lower.
    """
    row = load("wire")["block"]
    radius, touch = (made.pin + wire) / 2, (wire + row["stop_pin_mm"]) / 2
    apart = (made.pin + row["stop_pin_mm"]) / 2 + row["between_pins_mm"]
    near = max(float(row["stop_away_mm"]), sqrt(max(apart**2 - (radius - touch) ** 2, 0.0)))
    away = near
    for _ in range(SETTLES):
        first, then, _ = _bows(made, wire, away, 0.0)
        end = made.angle + first
        if end + then <= pi:
            return near
        if end + then >= 2 * pi:
            return None
        low = touch * (1 + cos(end + then)) + row["slack_mm"] + radius * (1 - cos(end))
        clear = low / -sin(end + then)
        away = max(near, clear)
        if away > row["stop_farthest_mm"]:
            return None
    return away


def bending_block(wires: Sequence[BentWire]) -> Part:
    """The plate with every station, in rows, flat side down [mm]."""
    row, stations = load("wire")["block"], stations_of(wires)
    thick, margin = float(row["plate_mm"]), float(row["margin_mm"])
    ridges, cuts = list[manifold3d.Manifold](), list[manifold3d.Manifold]()
    x = y = tall = wide = 0.0
    for one in stations:
        (left, low), (right, high) = _room(one)
        if x and x + right - left + margin > row["row_mm"]:
            x, y, tall = 0.0, y + tall + margin, 0.0
        shift = np.array([x + margin - left, y + margin - low, thick])
        ridge, holes = _made(one)
        ridges.append(ridge.translate(tuple(shift)))
        cuts += [hole.translate(tuple(shift)) for hole in holes]
        x, tall = x + right - left + margin, max(tall, high - low)
        wide = max(wide, x)
    solid = _box((0.0, 0.0, 0.0), (wide + margin, y + tall + 2 * margin, thick))
    solid += manifold3d.Manifold.batch_boolean(ridges, manifold3d.OpType.Add)
    solid -= manifold3d.Manifold.batch_boolean(cuts, manifold3d.OpType.Add)
    return Part(
        "wire block", to_mesh(solid), _purpose(stations), _use(stations), tuple(load("wire")["cautions"]["keys"])
    )


def _room(one: BendStation) -> tuple[Point, Point]:
    """What a station takes of the plate, about its mark [mm]."""
    row = load("wire")["block"]
    across, deep = words_size([_words(one)], row["letter_mm"])
    pins = _pins(one)
    letters = -one.wire / 2 - row["slack_mm"] - row["fence_mm"] - 2.0 - deep
    low = min(-row["fence_gap_mm"] - row["fence_long_mm"], -across, *(at[0] - d for at, d in pins))
    bottom = min(letters, *(at[1] - d for at, d in pins))
    return (low, bottom), (max(at[0] + d for at, d in pins), max(at[1] + d for at, d in pins))


def _pins(one: BendStation) -> list[tuple[Point, float]]:
    """Where pins stand, and how thick they are [mm]."""
    forming = [(one.pin_at, one.made.pin)]
    return forming if one.stop_at is None else [*forming, (one.stop_at, float(load("wire")["block"]["stop_pin_mm"]))]


def _made(one: BendStation) -> tuple[manifold3d.Manifold, list[manifold3d.Manifold]]:
    """The ridge, and what is cut: holes for the pins, the mark, the words; the plate's top is at height 0 [mm]."""
    row = load("wire")["block"]
    outer, fence, deep = -one.wire / 2 - row["slack_mm"], row["fence_mm"], row["engraved_mm"]
    begin = -row["fence_gap_mm"] - row["fence_long_mm"]
    ridge = _box((begin, outer - fence, -1.0), (begin + row["fence_long_mm"], outer, one.wire))
    cuts = []
    for at, pin in _pins(one):
        radius = (pin + row["pin_hole_mm"]) / 2 / cos(pi / SIDES)
        hole = manifold3d.Manifold.cylinder(row["deep_mm"] + 1.0, radius, -1.0, SIDES)
        cuts.append(hole.translate((at[0], at[1], -row["deep_mm"])))
    cuts.append(_box((-0.25, outer - 4.0, -deep), (0.25, outer, 1.0)))  # the mark
    across, tall = words_size([_words(one)], row["letter_mm"])
    middle = np.array([-across / 2, outer - fence - 2.0 - tall / 2, 0.0])
    right, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    return ridge, [*cuts, sunk(words([_words(one)], row["letter_mm"]), middle, right, up, deep)]


def _words(one: BendStation) -> str:
    return f"{one.label}-{one.made.pin:g}/{degrees(abs(one.made.released.angle)):.0f}"


def _purpose(stations: Sequence[BendStation]) -> str:
    return f"bends the wire as the template shows it, {len(stations)} stations, each for one kind of bend"


def _use(stations: Sequence[BendStation]) -> str:
    give = load("wire")["spring_back"]["give_or_take"]
    pins = ", ".join(
        f"{one.label}: pin {one.made.pin:g} mm, to {degrees(one.made.angle):.1f} for "
        f"{degrees(abs(one.made.released.angle)):.1f} deg "
        f"({'as your trial bend did' if one.tried else f'give or take {give * degrees(one.made.opens):.1f}'}), "
        f"{_stop_words(one)}"
        for one in stations
    )
    stop, bows = load("wire")["block"]["stop_pin_mm"], max(one.bows_more for one in stations)
    return (
        f"goggles on; set steel pins (drill shanks), the stops {stop:g} mm; lay the mark on the line, the wire along "
        f"the ridge, and bend it to the left until it touches the stop, lifting its end over the ridge; loops first, "
        f"then necks with the leg at the ridge, then corners; turn it over for a bend to the right. {pins}. The stops "
        f"are farther as the held wire bows beside its bend, give or take {degrees(bows):.1f} deg: push it just behind "
        f"the stop. Bend one, lay it on the template, then correct"
    )


def _stop_words(one: BendStation) -> str:
    if one.stop_at is None:
        return "without a stop, as it comes round across itself: by the template"
    return f"the stop {degrees(one.bows):.1f} farther"


def _box(low: tuple[float, float, float], high: tuple[float, float, float]) -> manifold3d.Manifold:
    return manifold3d.Manifold.cube(tuple(b - a for a, b in zip(low, high, strict=True))).translate(low)
