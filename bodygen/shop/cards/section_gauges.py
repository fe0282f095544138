"""Section gauges: cards that say "stop sanding", one for each station, and the rack that keeps them in order.

A card has a notch for the back on its lower edge and one for the belly on its upper edge. Held upright and square to
the body, its marked face on the station's line, it is slipped over from above, then from below: a thread of light all
round means that the wood is there. Knows sections (skin/silhouette.py) and cards; knows no blank.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from bodygen.errors import DesignError
from bodygen.findings import Finding
from bodygen.form.body import Body
from bodygen.mesh.skin import Mesh
from bodygen.plane.polygon import filleted, polygon
from bodygen.plane.shapes import Item, Line, Loop, Piece, Placement, Point, Text, placed, straight
from bodygen.recipe.model import Units
from bodygen.shop.cards.card import Card
from bodygen.shop.skin.silhouette import Section, section
from bodygen.tables import as_row, load
from bodygen.units import inch_fraction

_SAME_MM = 1e-6
_TICK_MM = 1.0  # the parting line is marked on a card that ends farther than this from it


@dataclass(frozen=True, slots=True)
class Station:
    """A place along the body that has a number, counted from the nose; ``x`` [mm]."""

    number: int
    x: float


@dataclass(frozen=True, slots=True)
class GaugeSizes:
    """What a section gauge and its rack are like; lengths [mm].

    ``clearance`` is the gap all round a finished body; ``limb`` the card beside a notch, ``web`` between the two.
    ``thickness`` is the sheet's.
    """

    clearance: float
    limb: float
    web: float
    least_width: float
    corner: float
    label: float
    number: float
    thickness: float


@dataclass(frozen=True, slots=True)
class RackSizes:
    """Rails and cross bars, halved into each other [mm]; ``fit``: how much wider a slot is than the sheet is thick."""

    pitch: float
    height: float
    slot_depth: float
    fit: float
    end: float


def default_gauge() -> GaugeSizes:
    """The sizes of ``tables/gauges.toml``: common practice, no published source."""
    return as_row(GaugeSizes, load("gauges")["section"])


def default_rack() -> RackSizes:
    """The sizes of ``tables/gauges.toml``: common practice, no published source."""
    return as_row(RackSizes, load("gauges")["rack"])


def stations_of(length: float, units: Units, count: int | None = None) -> tuple[Station, ...]:
    """Stations evenly along the body, each on a whole step of the recipe's ruler.

    Parameters
    ----------
    length : float
        Nose to tail [mm].
    units : {"mm", "in"}
        Whose ruler.
    count : int, optional
        How many; left out: about one every 12 mm, five to nine.

    Examples
    --------
    >>> [station.x for station in stations_of(70.0, "mm")]
    [5.5, 17.5, 29.0, 41.0, 52.5, 64.5]
    """
    row = load("gauges")["station"]
    step = row["step_in_mm"] if units == "in" else row["step_mm"]
    wanted = count or min(max(round(length / row["spacing_mm"]), row["least"]), row["most"])
    ends = row["first_share"] * length, (1 - row["first_share"]) * length
    places = [round(float(x) / step) * step for x in np.linspace(*ends, wanted)]
    return tuple(Station(number, x) for number, x in enumerate(places, start=1))


def section_gauges(
    body: Body | None, mesh: Mesh, stations: Sequence[Station], sizes: GaugeSizes, units: Units
) -> tuple[tuple[Card, ...], tuple[Finding, ...]]:
    """One card for each station where there is wood.

    Parameters
    ----------
    body : Body or None
        The surface; None where a mesh is taken as it is.
    mesh : Mesh
        The uncut body [mm].
    stations : sequence of Station
        Where.
    sizes : GaugeSizes
        Clearance and card.
    units : {"mm", "in"}
        For the lettering.

    Returns
    -------
    cards : tuple of Card
        All of one width. Each lies upright as seen looking at its marked face.
    findings : tuple of Finding
        A station without a card says why.
    """
    found: list[tuple[Station, Section]] = []
    checks: list[Finding] = []
    for station in stations:
        try:
            found.append((station, section(body, mesh, station.x, sizes.clearance)))
        except DesignError as error:
            checks.append(Finding("gauge-no-section", "note", f"gauge {station.number}", str(error)))
    if not found:
        return (), tuple(checks)
    widest = max(cut.half_width for _, cut in found)
    deepest = max(found, key=lambda pair: _depth(pair[1]))[0].x
    half = max(widest + sizes.limb, sizes.least_width / 2)
    cards = [_gauge(station, cut, half, sizes, units, to_tail=station.x < deepest) for station, cut in found]
    return tuple(cards), tuple(checks)


def _depth(cut: Section) -> float:
    top = max(z for piece in cut.over for _, z in piece.extremes())
    return top - min(z for piece in cut.under for _, z in piece.extremes())


def _gauge(station: Station, cut: Section, half: float, sizes: GaugeSizes, units: Units, *, to_tail: bool) -> Card:
    """Lay a card out with its lower edge at y = 0; the face that is marked looks to where the body grows."""
    over, under = cut.over, cut.under
    if not to_tail:  # seen from the nose, right and left change places
        over, under = _turned(over), _turned(under)
    back_foot = min(0.0, over[0].start[1], over[-1].end[1])
    belly_foot = max(0.0, under[0].start[1], under[-1].end[1])
    top_of_back = max(z for piece in over for _, z in piece.extremes())
    bottom_of_belly = min(z for piece in under for _, z in piece.extremes())
    low = top_of_back - back_foot  # where the web begins
    high = low + sizes.web
    back = _shifted(over, -back_foot)
    belly = _shifted(under, high - bottom_of_belly)
    tall = high + belly_foot - bottom_of_belly
    outline = _outline(half, tall, sizes.corner, back, belly)
    along = inch_fraction(station.x / 25.4) + " in" if units == "in" else f"{station.x:g} mm"
    face = "tail" if to_tail else "nose"
    size, gap = sizes.label, 1.0
    lines = [
        Text("back", (0.0, low + gap), size, "centre"),
        Text(f"face to {face}", (0.0, low + 2.5 * size), size, "centre"),
        Text(f"x {along}", (0.0, low + 4.4 * size), size, "centre"),
        Text(str(station.number), (0.0, low + 6.3 * size), sizes.number, "centre"),
        Text("belly", (0.0, high - gap - size), size, "centre"),
    ]
    marks: list[Item] = [
        *lines,
        *_parting(half, back, -back_foot, 0.0),
        *_parting(half, belly, high - bottom_of_belly, tall),
    ]
    return Card(
        f"gauge {station.number}",
        outline,
        (),
        tuple(marks),
        f"section gauge for station {station.number}, {along} from the nose, {sizes.clearance:g} mm clear all round",
        f"square to the body, its marked face on line {station.number} and looking to the {face}: sand until the same "
        "thread of light shows all round",
    )


def _turned(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Right and left exchanged, travelled in the same sense."""
    flip = Placement(angle=pi, mirror=True)
    return tuple(placed(piece, flip).reversed() for piece in reversed(pieces))


def _shifted(pieces: Sequence[Piece], up: float) -> tuple[Piece, ...]:
    return tuple(placed(piece, Placement((0.0, up))) for piece in pieces)


def _outline(half: float, tall: float, corner: float, back: Sequence[Piece], belly: Sequence[Piece]) -> Loop:
    """Card with both notches: along the lower edge, up and over the back notch, and round."""
    frame = filleted([(-half, 0.0), (half, 0.0), (half, tall), (-half, tall)], [corner] * 4).pieces
    lower, upper = frame[1], frame[5]
    corners = frame[2:5], frame[6:], frame[:1]
    over = _walled([piece.reversed() for piece in reversed(back)], 0.0)
    under = _walled([piece.reversed() for piece in reversed(belly)], tall)
    return Loop((
        *straight(lower.start, over[0].start),
        *over,
        *straight(over[-1].end, lower.end),
        *corners[0],
        *straight(upper.start, under[0].start),
        *under,
        *straight(under[-1].end, upper.end),
        *corners[1],
        *corners[2],
    ))


def _walled(pieces: Sequence[Piece], edge: float) -> list[Piece]:
    """A notch with straight walls from its widest places to the card's edge."""
    first, last = pieces[0].start, pieces[-1].end
    notch, (begin, end) = list(pieces), ((first[0], edge), (last[0], edge))
    if abs(first[1] - edge) < _SAME_MM:
        notch[0], first = replace(notch[0], start=begin), begin
    if abs(last[1] - edge) < _SAME_MM:
        notch[-1], last = replace(notch[-1], end=end), end
    return [*straight(begin, first), *notch, *straight(last, end)]


def _parting(half: float, notch: Sequence[Piece], height: float, edge: float) -> list[Line]:
    """Ticks beside a notch at the parting line, where the card does not end on it."""
    sides = notch[0].start, notch[-1].end
    if abs(height - edge) < _TICK_MM:
        return []
    inner = max(abs(x) for x, _ in sides)
    if half - inner < 2.0:
        return []
    return [Line((way * (inner + 0.6), height), (way * (inner + 4.0), height)) for way in (-1, 1)]


def rack(cards: Sequence[Card], sizes: RackSizes, gauge: GaugeSizes) -> tuple[Card, ...]:
    """Two rails with a slot for each card, and two cross bars that hold the rails apart, halved into each other.

    The rails stand under the limbs of the cards, which have all one width.
    """
    if not cards:
        return ()
    x0, _, x1, _ = cards[0].outline.box
    apart = (x1 - x0) / 2 - gauge.limb / 2 - gauge.corner / 2
    wide, deep = gauge.thickness + sizes.fit, sizes.height / 2
    count = len(cards)
    length = 2 * sizes.end + (count - 1) * sizes.pitch
    joints = sizes.end / 2 - wide / 2, length - sizes.end / 2 - wide / 2
    slots = [sizes.end + i * sizes.pitch - wide / 2 for i in range(count)]
    low = [point for x in joints for point in _nick(x, wide, 0.0, deep)]
    high = [point for x in reversed(slots) for point in reversed(_nick(x, wide, sizes.height, -sizes.slot_depth))]
    rail = polygon([(0.0, 0.0), *low, (length, 0.0), (length, sizes.height), *high, (0.0, sizes.height)])
    numbers = tuple(
        Text(card.name.split()[-1], (x + wide / 2, sizes.height - sizes.slot_depth - 4.0), 2.4, "centre")
        for card, x in zip(cards, slots, strict=True)
    )
    reach = apart + 8.0
    tops = [point for x in (apart, -apart) for point in reversed(_nick(x - wide / 2, wide, sizes.height, -deep))]
    bar = polygon([(-reach, 0.0), (reach, 0.0), (reach, sizes.height), *tops, (-reach, sizes.height)])
    purpose = "rack that keeps the section gauges in their order"
    use = "slide the two rails down over the two cross bars; each card stands in the slot of its number"
    return (
        Card("rack rail left", rail, (), numbers, purpose, use),
        Card("rack rail right", rail, (), numbers, purpose, use),
        Card("rack bar nose", bar, (), (Text("nose", (0.0, 4.0), 2.4, "centre"),), purpose, use),
        Card("rack bar tail", bar, (), (Text("tail", (0.0, 4.0), 2.4, "centre"),), purpose, use),
    )


def _nick(x: float, wide: float, edge: float, deep: float) -> list[Point]:
    """Corners of a slot cut in from an edge, from left to right."""
    return [(x, edge), (x, edge + deep), (x + wide, edge + deep), (x + wide, edge)]
