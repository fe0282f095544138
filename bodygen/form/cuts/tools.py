"""Where every drill, saw and kerf goes: recipe -> tools in body axes, each a plain solid swept in from outside.

A tool is data (a revolved profile or a prism); mesh/ and solid/ each make their own solid of it. Nothing is cut here
and nothing is judged: whether enough wood is left is asked in checks.py.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, sin, tan

import numpy as np
from numpy.typing import NDArray

from bodygen.errors import InputError, Mistake
from bodygen.findings import PartKey
from bodygen.form.ray_caster import CLEAR_MM, RayCaster
from bodygen.form.triples import cross
from bodygen.recipe.model import Bore, Lip, Recipe, WireSlot
from bodygen.recipe.text.read_context import grow_instead
from bodygen.units import length_text

Array = NDArray[np.float64]
MOUTH_MM = 1e-3
"""Crossings nearer than this to a mouth are the mouth itself."""


@dataclass(frozen=True, slots=True)
class Revolved:
    """A drill's path: a profile turned about an axis.

    ``origin`` is the mouth, where the axis meets the skin; ``axis`` the unit direction into the wood. ``profile`` holds
    (s, r): distance along the axis from the mouth and radius [mm], from outside to the innermost point (r = 0).
    ``ball`` True: the last two points are joined by a quarter circle. ``shoulder`` and ``point`` are where the full
    diameter and the hole end (equal for a flat bottom); for a bore right through both are the exit.
    """

    name: str
    kind: str
    bore: int
    mirrored: bool
    origin: tuple[float, float, float]
    axis: tuple[float, float, float]
    profile: tuple[tuple[float, float], ...]
    ball: bool
    diameter: float
    shoulder: float
    point: float
    through: bool = False

    @property
    def part(self) -> PartKey:
        """The entry of the recipe that it is drilled for."""
        return "bore", self.bore


@dataclass(frozen=True, slots=True)
class Prism:
    """A saw's path: a polygon of (a, b) along ``along`` and ``normal`` from ``origin`` [mm], -half to +half across.

    It is thick along y: every saw cut of a bait stands across its mid-plane. ``along`` runs into the wood; ``depth`` is
    how far it goes in, from the skin [mm]. ``slot`` is the place among the recipe's wire slots, 0 for the lip's.
    """

    name: str
    kind: str
    origin: tuple[float, float, float]
    along: tuple[float, float, float]
    normal: tuple[float, float, float]
    polygon: tuple[tuple[float, float], ...]
    half: float
    depth: float
    slot: int = 0

    @property
    def part(self) -> PartKey:
        """The entry of the recipe that it is sawn for; a mouth is the lip's."""
        return ("wire_slot", self.slot) if self.kind == "wire" else ("lip", 0)


Tool = Revolved | Prism


def slot_of(tools: Sequence[Tool]) -> Prism | None:
    """The cut that the lip is set in, its sizes in [mm]; None for a lipless bait."""
    return next((tool for tool in tools if isinstance(tool, Prism) and tool.kind == "slot"), None)


def tools_of(recipe: Recipe, caster: RayCaster) -> tuple[Tool, ...]:
    """Every cut of the recipe [mm] in its order: bores (a mirrored one twice), wire slots, the lip slot (and mouth).

    Elementary: a line meets the skin, and the tool's own section goes in along it.

    Raises
    ------
    InputError
        A mouth that lies beside the body: nothing there to drill into. All such mistakes together.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> from bodygen.form.ray_caster import ray_caster_of
    >>> from bodygen.recipe.model import Stations
    >>> bore = Bore("b", "any", "belly", 6.0, 14.0, x=20.0)
    >>> (drill,) = tools_of(Recipe("bar", "mm", Stations("bar.csv", ()), bores=(bore,)), ray_caster_of(bar))
    >>> drill.origin, drill.point   # the point of 118 deg reaches 3 / tan 59 deg beyond the shoulder
    ((20.0, 0.0, -10.0), 15.803)
    """
    tools: list[Tool] = []
    mistakes: list[Mistake] = []
    lines = [bore_line(bore, caster)[:2] for bore in recipe.bores]
    if recipe.lip:
        lines.append(_lip_line(recipe.lip, caster))
    if lines:  # many at once take little longer than one, and the caster remembers them
        caster.lines(*(np.array(each) for each in zip(*lines, strict=True)))
    for index, bore in enumerate(recipe.bores):
        try:
            tools += _bore(recipe, index, bore, caster)
        except InputError as error:
            mistakes += error.mistakes
    for index, slot in enumerate(recipe.wire_slots):
        try:
            tools.append(_wire_slot(recipe, index, slot, caster))
        except InputError as error:
            mistakes += error.mistakes
    try:
        if recipe.lip:
            tools += _lip_slot(recipe, recipe.lip, caster)
    except InputError as error:
        mistakes += error.mistakes
    if mistakes:
        raise InputError(mistakes)
    return tuple(tools)


def _beside(recipe: Recipe, key: str, what: str, caster: RayCaster, x: float | None = None) -> InputError:
    low, high = caster.low, caster.high
    ends = [[length_text(float(v), recipe.units) for v in corner] for corner in (low, high)]
    span = ", ".join(f"{axis} {a} to {b}" for axis, a, b in zip("xyz", *ends, strict=True))
    accepted = f"a place on the body, which spans {span}"
    if x is not None and x >= high[0]:
        accepted = f"x from {ends[0][0]} to {ends[1][0]}; {grow_instead(recipe.place()[0], ends[1][0])}"
    return InputError([Mistake(*recipe.place(key), key, "", what, accepted)])


def _bore(recipe: Recipe, index: int, bore: Bore, caster: RayCaster) -> list[Revolved]:
    key = f"bore[{index + 1}]"
    start, square, axis = bore_line(bore, caster)
    hits = caster.crossings(start, square)
    if len(hits) < 2:
        behind = bore.x is not None and bore.x >= caster.high[0]
        what = f"its axis ({bore.name}) does not meet the body{', x is behind the tail' if behind else ''}"
        raise _beside(recipe, f"{key}.x" if behind else key, what, caster, bore.x)
    mouth = start + hits[0] * square
    reach = caster.reach
    if bore.direction is not None and reach > hits[-1] - MOUTH_MM:
        # the point lies where the line leaves the body: the drill would come from the other side
        turned = ", ".join(f"{0.0 - value:.3g}" for value in bore.direction)
        where, what = f"{key}.direction", f"it leads out of the wood ({bore.name})"
        raise InputError([Mistake(*recipe.place(where, key), where, "", what, f"into the wood: [{turned}]")])
    beyond = hits - hits[0] if bore.lean == 0 else caster.crossings(mouth - axis * reach, axis) - reach
    beyond = beyond[beyond > MOUTH_MM]
    if not len(beyond):
        raise _beside(recipe, key, f"its axis ({bore.name}) only grazes the body", caster)
    leave = float(beyond[0])
    r = bore.diameter / 2
    out = reach
    if bore.depth is None:
        shoulder = point = leave
        end = ((out, r), (out, 0.0))
    else:
        tip = _tip_length(bore)
        shoulder = bore.depth if bore.depth_to == "shoulder" else bore.depth - tip
        point = shoulder + tip
        if shoulder < 0:
            raise _beside(
                recipe,
                f"{key}.depth",
                f"the point alone is {length_text(tip, recipe.units)} long: measured to the point that is the least",
                caster,
            )
        end = ((shoulder, r), (point, 0.0))
    mouth_radius = bore.counterbore.diameter / 2 if bore.counterbore else r
    step = ((bore.counterbore.depth, mouth_radius), (bore.counterbore.depth, r)) if bore.counterbore else ()
    profile = ((-out, 0.0), (-out, mouth_radius), *step, *end)
    tool = Revolved(
        bore.name,
        bore.kind,
        index,
        mirrored=False,
        origin=_triple(mouth),
        axis=_triple(axis),
        profile=profile,
        ball=bore.tip == "ball" and bore.depth is not None,
        diameter=bore.diameter,
        shoulder=shoulder,
        point=point,
        through=bore.depth is None,
    )
    if not bore.mirror or (tool.through and abs(axis[1]) > 1 - 1e-12):
        return [tool]  # straight through from side to side a hole is its own mirror image
    flip = (1.0, -1.0, 1.0)
    other = replace(tool, mirrored=True, origin=_triple(mouth * flip), axis=_triple(axis * flip))
    return [tool, other]


def _tip_length(bore: Bore) -> float:
    """How far the drill's end reaches beyond its shoulder [mm]."""
    r = bore.diameter / 2
    return {"twist": r / tan(bore.tip_angle / 2), "ball": r, "flat": 0.0}[bore.tip]


def bore_line(bore: Bore, caster: RayCaster) -> tuple[Array, Array, Array]:
    """Where to look for a bore's mouth, and which way its drill goes.

    Elementary trigonometry.

    Returns
    -------
    start, square, axis : (3,) arrays
        A point outside the body [mm]; the unit direction from there square to the face entered, along which the mouth
        is found; the drill's own unit direction into the wood, which ``lean`` tips away from ``square``.

    Examples
    --------
    >>> from bodygen.form.fairing.offsets import Offsets, surface_through
    >>> one = np.ones(4)
    >>> bar = surface_through(Offsets(20 * np.arange(4), 10 * one, -10 * one, 8 * one, 0 * one, 2 * one, 2 * one))
    >>> from bodygen.form.ray_caster import ray_caster_of
    >>> bore = Bore("b", "any", "belly", 6.0, 14.0, x=20.0, lean=np.radians(30))
    >>> [way.tolist() for way in bore_line(bore, ray_caster_of(bar))[1:]]
    [[0.0, 0.0, 1.0], [0.5, 0.0, 0.866]]
    """
    low, high = caster.low, caster.high
    c, s = cos(bore.lean), sin(bore.lean)
    x = bore.x if bore.x is not None else 0.0
    reach = caster.reach
    if bore.entry == "point":
        assert bore.at is not None  # noqa: S101  the reader asks for both
        assert bore.direction is not None  # noqa: S101
        axis = np.array(bore.direction, dtype=float)
        axis /= np.linalg.norm(axis)
        return np.array(bore.at) - axis * reach, axis, axis
    if bore.entry in ("nose", "tail"):
        way = 1.0 if bore.entry == "nose" else -1.0
        square, axis = np.array([way, 0.0, 0.0]), np.array([way * c, 0.0, s])
        through = np.array([low[0] if way > 0 else high[0], bore.offset, bore.height])
    elif bore.entry == "side":
        way = -1.0 if bore.side == "right" else 1.0
        square, axis, through = np.array([0.0, way, 0.0]), np.array([s, way * c, 0.0]), np.array([x, 0.0, bore.height])
    else:
        way = 1.0 if bore.entry == "belly" else -1.0
        square, axis, through = np.array([0.0, 0.0, way]), np.array([s, 0.0, way * c]), np.array([x, bore.offset, 0.0])
    return through - square * reach, square, axis


def _lip_line(lip: Lip, caster: RayCaster) -> tuple[Array, Array]:
    """A point outside the body [mm] and the unit direction along which the slot's mouth is found."""
    if lip.entry == "belly":
        return np.array([lip.x or 0.0, 0.0, caster.low[2] - caster.reach]), np.array([0.0, 0.0, 1.0])
    return np.array([caster.low[0] - caster.reach, 0.0, lip.height]), np.array([1.0, 0.0, 0.0])


def _lip_slot(recipe: Recipe, lip: Lip, caster: RayCaster) -> list[Prism]:
    """The slot, and the mouth above it if there is one: a cut of its own, for water fills it and no glue."""
    (start, way), key = _lip_line(lip, caster), "lip.x" if lip.entry == "belly" else "lip.height"
    hits = caster.crossings(start, way)
    if len(hits) < 2:
        raise _beside(recipe, key, "the slot does not meet the body there", caster, lip.x)
    mouth = _triple(start + hits[0] * way)
    c, s, out = cos(lip.angle), sin(lip.angle), caster.reach
    half = (lip.thickness + lip.fit) / 2
    across = float(max(abs(caster.low[1]), abs(caster.high[1]))) + CLEAR_MM
    width = lip.slot_width / 2 if lip.slot_width is not None else across
    along, normal = (c, 0.0, s), (-s, 0.0, c)
    slot = Prism(
        "lip slot", "slot", mouth, along, normal, _rectangle(-out, lip.slot_depth, -half, half), width, lip.slot_depth
    )
    if lip.mouth is None:
        return [slot]
    open_part = _rectangle(-out, lip.mouth.depth, 0.0, half + lip.mouth.height)
    return [slot, Prism("mouth", "mouth", mouth, along, normal, open_part, across, lip.mouth.depth)]


def _rectangle(a0: float, a1: float, b0: float, b1: float) -> tuple[tuple[float, float], ...]:
    return (a0, b0), (a1, b0), (a1, b1), (a0, b1)


def _wire_slot(recipe: Recipe, index: int, slot: WireSlot, caster: RayCaster) -> Prism:
    key = f"wire_slot[{index + 1}]"
    low, high = caster.low, caster.high
    up = 1.0 if slot.along == "belly" else -1.0
    outside = (low[2] if slot.along == "belly" else high[2]) - up * CLEAR_MM
    count = max(2, int(np.ceil((slot.end - slot.start) / 1.0)) + 1)
    stations = np.linspace(slot.start, slot.end, count)
    skin = caster.heights(stations)[0 if slot.along == "belly" else 1]
    on_body = np.isfinite(skin)
    if not on_body.any():
        raise _beside(recipe, key, f"the kerf ({slot.name}) runs beside the body", caster)
    if slot.floor is not None:
        floor = np.full(count, slot.floor)
    else:
        assert slot.depth is not None  # noqa: S101  the reader asks for one of the two
        floor = np.interp(stations, stations[on_body], skin[on_body]) + up * slot.depth
    if slot.floor is not None and np.nanmax(up * (floor - skin)) <= 0:
        raise _beside(recipe, f"{key}.floor", "the floor lies outside the wood all along the kerf", caster)
    points = [
        (slot.start, float(outside)),
        (slot.end, float(outside)),
        *zip(stations[::-1].tolist(), floor[::-1].tolist(), strict=True),
    ]
    if slot.floor is not None:
        points = [*points[:3], points[-1]]
    depth = float(np.nanmax(np.abs(floor - skin)))
    outline = points if up > 0 else points[::-1]
    return Prism(
        slot.name,
        "wire",
        (0.0, 0.0, 0.0),
        (1.0, 0.0, 0.0),
        (0.0, 0.0, 1.0),
        tuple(outline),
        slot.width / 2,
        depth,
        index,
    )


def square_to(axis: Sequence[float]) -> tuple[Array, Array]:
    """Two unit vectors (3,) [-] square to a unit axis and to each other, right-handed with it.

    Elementary: two cross products, the first with the axis of the body that lies most across.

    Examples
    --------
    >>> [way.tolist() for way in square_to((0.0, 0.0, 1.0))]
    [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]
    """
    a = np.asarray(axis, dtype=float)
    helper = np.eye(3)[int(np.argmin(np.abs(a)))]
    first = cross(a, helper)
    first /= np.linalg.norm(first)
    return first, cross(a, first)


def _triple(vector: Array) -> tuple[float, float, float]:
    return float(vector[0]), float(vector[1]), float(vector[2])
