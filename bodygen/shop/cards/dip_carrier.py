"""The dip and dry carrier: a flat frame around the bait that holds it by its eyes, and the comb that frames hang in.

The frame lies in the bait's mid-plane and follows its side view at a distance, so nothing but the wires in the eyes
touches a wet skin. No section is wider than at the mid-plane seen from the side, so the distance holds for the whole
skin, and for the lip if that is in already.

Knows the side view, ties, hangers and what hangs on the bait. Knows no finish.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool, slot_of
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold
from bodygen.mesh.skin import Mesh
from bodygen.plane.polygon import polygon
from bodygen.plane.shapes import Circle, Loop, Point, Text
from bodygen.recipe.model import Fitting
from bodygen.shop.cards.card import Card
from bodygen.shop.lip.plate import LipPlate
from bodygen.tables import as_row, load

IN_PLANE = 0.5
"""An eye nearer than this to the mid-plane is in it [mm]."""
SAME_EYE_MM = 8.0
"""Two that are nearer together are one eye, named twice."""
SIMPLE_MM = 0.01
ALLOWED_MM = 0.05
"""What the outlines may lose to chords and to being made simpler; the frame stays this much farther off."""
ROUNDNESS = 96
LINE_MM = 0.02
COMB_BACK_MM = 12.0


@dataclass(frozen=True, slots=True)
class CarrierSize:
    """What a carrier is made to; lengths mm, the meanings as in ``tables/masks.toml``."""

    gap: float
    band: float
    thickness: float
    eye: float
    hole: float
    tab: tuple[float, float]
    rod: float
    seats: int
    fit: float
    end: float


def default_carrier() -> CarrierSize:
    """The carrier of ``tables/masks.toml``: common practice, no published source."""
    return as_row(CarrierSize, load("masks")["carrier"])


@dataclass(frozen=True, slots=True)
class Eye:
    """A tie's or hanger's eye in the mid-plane: its foot on the skin (x, z) [mm], and the way out of the wood."""

    name: str
    foot: Point
    way: Point


def carrier(
    mesh: Mesh,
    tools: Sequence[Tool],
    fittings: Sequence[Fitting],
    plate: LipPlate | None,
    size: CarrierSize | None = None,
) -> tuple[tuple[Card, ...], tuple[Finding, ...]]:
    """Make the frame and its comb.

    Parameters
    ----------
    mesh : Mesh
        The uncut body [mm].
    tools, fittings : sequence
        Where its eyes are: ties and hangers, else what hangs on it.
    plate : LipPlate or None
        The lip, which is kept clear of too.
    size : CarrierSize, optional
        Left out: the usual.

    Returns
    -------
    cards : tuple of Card
        ``carrier frame`` in side view, in the body's own axes (x, z), and ``carrier comb``; none without an eye.
    findings : tuple of Finding
        Fewer than two eyes to hold it by.
    """
    size = size or default_carrier()
    shadow = side_shadow(mesh, tools, plate)
    eyes = eyes_of(shadow, tools, fittings)
    if not eyes:
        remedy = "no tie, hanger or ring in the mid-plane to hold the bait by: dip it on a pin in a bore"
        return (), (Finding("carrier-no-eye", "warning", "carrier", remedy, 0.0, 2.0, "eyes"),)
    found: tuple[Finding, ...] = ()
    if len(eyes) == 1:
        remedy = "one hanger eye only: the bait hangs from it and can swing; keep it off the frame till it is dry"
        found = (Finding("carrier-one-eye", "note", "carrier", remedy, 1.0, 2.0, "eyes"),)
    thickness = float(mesh.vertices[:, 1].max() - mesh.vertices[:, 1].min())
    return (_frame(shadow, eyes, size), _comb(thickness, size)), found


def side_shadow(mesh: Mesh, tools: Sequence[Tool], plate: LipPlate | None) -> manifold3d.CrossSection:
    """Body and lip as seen from the side, (x, z) [mm]."""
    upright = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0]])
    shadow = to_manifold(mesh).transform(upright).project()
    slot = slot_of(tools)
    if slot is None or plate is None:
        return shadow
    along, normal = (np.array([v[0], v[2]]) for v in (slot.along, slot.normal))
    mouth = np.array([slot.origin[0], slot.origin[2]])
    half, out = plate.thickness / 2, plate.exposed_length
    ring = [mouth + a * along + b * normal for a, b in ((-out, -half), (0, -half), (0, half), (-out, half))]
    return shadow + manifold3d.CrossSection([np.array(ring)], manifold3d.FillRule.NonZero)


def eyes_of(shadow: manifold3d.CrossSection, tools: Sequence[Tool], fittings: Sequence[Fitting]) -> tuple[Eye, ...]:
    """Eyes in the mid-plane from nose to tail: of ties and hangers, then of rings, screw eyes and hooks elsewhere."""
    eyes: list[Eye] = []
    for tool in tools:
        if (
            isinstance(tool, Revolved)
            and tool.kind in ("tie", "hanger")
            and abs(tool.origin[1]) < IN_PLANE
            and abs(tool.axis[1]) < 0.1
        ):
            way = -np.array([tool.axis[0], tool.axis[2]])
            way /= np.linalg.norm(way)
            eyes.append(Eye(tool.name, (tool.origin[0], tool.origin[2]), (float(way[0]), float(way[1]))))
    edge = np.concatenate(shadow.to_polygons())
    for fitting in sorted(
        fittings,
        key=lambda f: ("screw_eye", "ring", "hook").index(f.kind) if f.kind in ("screw_eye", "ring", "hook") else 9,
    ):
        if fitting.kind not in ("screw_eye", "ring", "hook") or abs(fitting.at[1]) > IN_PLANE or fitting.mirror:
            continue
        at = np.array([fitting.at[0], fitting.at[2]])
        foot = edge[np.argmin(np.linalg.norm(edge - at, axis=1))]
        if all(np.hypot(*(foot - eye.foot)) > SAME_EYE_MM for eye in eyes):
            eyes.append(Eye(fitting.name, (float(foot[0]), float(foot[1])), _outward(shadow, foot)))
    return tuple(sorted(eyes, key=lambda eye: eye.foot))


def _outward(shadow: manifold3d.CrossSection, foot: Array) -> Point:
    """The way from a point of the edge to the nearest of a line drawn around the shadow."""
    around = np.concatenate(shadow.offset(5.0, manifold3d.JoinType.Round, circular_segments=ROUNDNESS).to_polygons())
    way = around[np.argmin(np.linalg.norm(around - foot, axis=1))] - foot
    way /= np.linalg.norm(way)
    return float(way[0]), float(way[1])


def _frame(shadow: manifold3d.CrossSection, eyes: Sequence[Eye], size: CarrierSize) -> Card:
    inner = shadow.offset(size.gap + ALLOWED_MM, manifold3d.JoinType.Round, circular_segments=ROUNDNESS)
    inner = inner.hull() if inner.num_contour() > 1 else inner
    outer = inner.offset(size.band, manifold3d.JoinType.Round, circular_segments=ROUNDNESS)
    x0, _, x1, top = outer.bounds()
    wide, tall = size.tab
    middle = (x0 + x1) / 2
    neck = manifold3d.CrossSection.square((wide, tall + size.band)).translate((middle - wide / 2, top - size.band))
    head = manifold3d.CrossSection.square((wide + 2 * size.band, size.band + size.rod)).translate((
        middle - wide / 2 - size.band,
        top + tall,
    ))
    holes = [Circle(_in_band(eye, outer - inner), size.hole / 2) for eye in eyes]
    rod = Circle((middle, top + tall + (size.band + size.rod) / 2), size.rod / 2)
    names = " and ".join(eye.name for eye in eyes)
    return Card(
        "carrier frame",
        _loop(outer + neck + head),
        (_loop(inner), rod, *holes),
        (Text("nose", (middle - wide / 2 - size.band + 2.0, top + tall + size.band / 2), 3.0),),
        f"holds the bait for dipping and drying, {size.gap:g} mm clear of the skin all round",
        f"lay the bait inside, tie it by thin wire or a small rubber band from each hole to its eye ({names}), "
        "taut; dip and hang it by the head",
    )


def _in_band(eye: Eye, band: manifold3d.CrossSection) -> Point:
    """Where the line out of an eye crosses the middle of the band."""
    foot, way = np.array(eye.foot), np.array(eye.way)
    side = LINE_MM * np.array([-way[1], way[0]])
    far = foot + 1000.0 * way
    line = manifold3d.CrossSection(
        [np.array([foot - side, far - side, far + side, foot + side])], manifold3d.FillRule.NonZero
    )
    crossed = (np.concatenate(piece.to_polygons()) for piece in (line ^ band).decompose())
    nearest = min(crossed, key=lambda points: float(((points - foot) @ way).min()))
    away = (nearest - foot) @ way
    x, z = foot + (away.min() + away.max()) / 2 * way
    return float(x), float(z)


def _comb(thickness: float, size: CarrierSize) -> Card:
    """A flat plate whose slots take the necks of frames side by side, so far apart that wet baits stay clear."""
    pitch = ceil(thickness + size.gap)
    slot, deep = size.thickness + size.fit, size.tab[0] + size.fit
    low = [size.end + number * pitch - slot / 2 for number in range(size.seats)]
    length, tall = 2 * size.end + (size.seats - 1) * pitch, deep + COMB_BACK_MM
    notches = [
        point
        for x in reversed(low)
        for point in ((x + slot, tall), (x + slot, tall - deep), (x, tall - deep), (x, tall))
    ]
    outline = polygon([(0.0, 0.0), (length, 0.0), (length, tall), *notches, (0.0, tall)])
    return Card(
        "carrier comb",
        outline,
        (),
        (Text(f"pitch {pitch:g} mm", (size.end, 3.0), 3.0),),
        f"holds {size.seats} frames by their necks, {pitch - thickness:.1f} mm between two baits",
        "lay it across two rails, slide each frame's neck into a slot from the front; the head rests on the plate",
    )


def _loop(shape: manifold3d.CrossSection) -> Loop:
    """The outline of a shape without its holes, counter-clockwise."""
    rings = shape.simplify(SIMPLE_MM).to_polygons()
    ring = max((polygon([(float(x), float(y)) for x, y in r]) for r in rings), key=lambda loop: loop.area)
    return ring if ring.ccw else ring.reversed()
