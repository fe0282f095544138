"""Bent wires in a body: which form each fitting's wire has, in its bore or along its kerf, and where it runs.

Knows recipe, tools and skin. Judges nothing (``wire_checks.py``), weighs nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos

import numpy as np

from bodygen.errors import InputError, Mistake
from bodygen.form.cuts.tools import Prism, Revolved, Tool
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.form.wire.forms import Form, Run, hanger, neck_angle, through_wire, twisted_hanger
from bodygen.plane.shapes import Piece
from bodygen.recipe.model import Bent, Fitting, Recipe, TrialBend
from bodygen.recipe.readers.wire import wire_diameter
from bodygen.tables import load

SAG_MM = 0.01
STEP_MM = 0.25
"""Between the places along a wire that are looked at."""


@dataclass(frozen=True, slots=True)
class BentWire:
    """The bent wire of one of the recipe's fittings, by its ``place`` among them; ``size`` is its label.

    ``tool`` is the bore that its legs are in, or the kerf that it lies in, ``trial`` a bend of it that was measured.
    """

    place: int
    name: str
    size: str
    form: Form
    tool: Revolved | Prism
    trial: TrialBend | None = None

    def in_body(self, x: float, y: float) -> Array:
        """A point of the form's own plane in body axes (3,) [mm]; of a hanger in the middle of its legs."""
        if isinstance(self.tool, Prism):
            return np.array([x, 0.0, y])
        return np.array(self.tool.origin) - y * np.array(self.tool.axis)

    @property
    def line(self) -> Array:
        """Its middle line in body axes (k, 3) [mm].

        How an eye in a bore is turned is the maker's; here it lies in the plane of the bore and the body's axis, or
        upright where the bore runs along that.
        """
        path = self.form.path
        points = np.array([*(point for piece in path for point in piece.points(SAG_MM)[:-1]), path[-1].end])
        if isinstance(self.tool, Prism):
            return np.array([self.in_body(x, y) for x, y in points])
        axis = np.array(self.tool.axis)
        along = np.array([0.0, 0.0, 1.0]) if abs(axis[0]) > 1 - 1e-9 else np.array([1.0, 0.0, 0.0]) - axis[0] * axis
        across = along / np.linalg.norm(along)
        return np.asarray(np.array(self.tool.origin) + points[:, :1] * across - points[:, 1:] * axis)

    @property
    def centre(self) -> Array:
        """Where its weight acts, body axes (3,) [mm]."""
        return self.in_body(*self.form.centre)


def bent_wires(recipe: Recipe, tools: Sequence[Tool], caster: RayCaster) -> tuple[BentWire, ...]:
    """Every fitting's wire that has a form [mm].

    Raises
    ------
    InputError
        A through-wire that does not meet the body at its height, or whose bends have no room; all of them together.
    """
    made, mistakes = list[BentWire](), list[Mistake]()
    for place, fitting in enumerate(recipe.fittings):
        if fitting.bent is None or fitting.size is None:
            continue
        try:
            made.append(_bent(recipe, place, fitting, fitting.bent, tools, caster))
        except InputError as error:
            mistakes += error.mistakes
    if mistakes:
        raise InputError(mistakes)
    return tuple(made)


def bend_radius(bent: Bent, wire: float) -> float:
    """Inside radius of all bends but the eyes [mm]: as told, or 1.5 diameters.

    References
    ----------
    ``spring_radius_pages`` of ``sources.toml``.

    Examples
    --------
    >>> bend_radius(Bent("line_tie", 4.0), 1.0)
    1.5
    """
    return bent.radius if bent.radius is not None else float(load("wire")["bend"]["advised_radius_d"]) * wire


def _bent(
    recipe: Recipe, place: int, fitting: Fitting, bent: Bent, tools: Sequence[Tool], caster: RayCaster
) -> BentWire:
    size = fitting.size or ""
    wire = wire_diameter(size)
    radius = bend_radius(bent, wire)
    if bent.form == "through_wire":
        kerf = _kerf(recipe, f"fitting[{place + 1}].bent.kerf", bent, tools)
        usual = load("wire")["form"]
        tail = bent.tail if bent.tail is not None else usual["tail_d"] * wire
        tails = (tail if bent.start is None else usual["hook_d"] * wire, tail)
        key = f"fitting[{place + 1}].bent"
        run = _run(recipe, key, bent, wire, radius, kerf, caster)
        try:
            form = through_wire(wire, bent.loop, radius, tails, run)
        except ValueError as error:
            accepted = "ends and eye_at farther apart, a smaller radius or a deeper kerf"
            mistake = Mistake(*recipe.place(key), key, "", f"its bends run together: {error}.", accepted)
            raise InputError([mistake]) from None
        return BentWire(place, fitting.name, size, form, kerf, bent.trial_bend)
    bore = next(t for t in tools if isinstance(t, Revolved) and t.name == fitting.on and not t.mirrored)
    leg = bent.leg if bent.leg is not None else bore.shoulder
    if bent.form != "twisted_hanger":
        form = hanger(bent.form, wire, bent.loop, radius, leg)
        return BentWire(place, fitting.name, size, form, bore, bent.trial_bend)
    turns = bent.turns or max(1.0, round(leg / (float(load("wire")["twist"]["usual_pitch_d"]) * wire)))
    return BentWire(
        place, fitting.name, size, twisted_hanger(wire, bent.loop, radius, leg, turns), bore, bent.trial_bend
    )


def _kerf(recipe: Recipe, key: str, bent: Bent, tools: Sequence[Tool]) -> Prism:
    """The wire slot of that name; a file without it is not read, but a recipe may have been changed since."""
    kerfs = {tool.name: tool for tool in tools if isinstance(tool, Prism) and tool.kind == "wire"}
    if bent.kerf not in kerfs:
        accepted = ", ".join(kerfs) or "a [[wire_slot]]"
        raise InputError([Mistake(*recipe.place(key), key, f'"{bent.kerf}"', "no such wire slot.", accepted)])
    return kerfs[bent.kerf]


def _run(recipe: Recipe, key: str, bent: Bent, wire: float, radius: float, kerf: Prism, caster: RayCaster) -> Run:
    """Where a through-wire lies: against its kerf's floor, its eyes' necks where the skin is."""
    slot = recipe.wire_slots[kerf.slot]
    down = 1.0 if slot.along == "belly" else -1.0
    floor = floor_of(kerf)[:, 1]
    z = bent.height if bent.height is not None else down * (float((down * floor).min()) - wire / 2)
    rise = (radius + wire / 2) * (1 - cos(neck_angle(bent.loop, wire, radius)))
    heights = (z, z + down * (rise + wire / 2))
    hits = [caster.crossings(np.array([caster.low[0] - 1.0, 0.0, h]), np.array([1.0, 0.0, 0.0])) for h in heights]
    found = [caster.low[0] - 1.0 + hit for hit in hits if len(hit) >= 2]
    if not len(hits[0]):
        accepted = "height = another height above the parting line"
        raise InputError([Mistake(*recipe.place(key), key, "", "no wood lies at the wire's height.", accepted)])
    front, rear = float(min(f[0] for f in found)), float(max(f[-1] for f in found))
    if bent.start is not None:
        front = bent.start
    mouth = 0.0
    if bent.eye_at is not None:
        legs = caster.heights(np.array([bent.eye_at - wire / 2, bent.eye_at + wire / 2]))[0 if down > 0 else 1]
        mouth = down * float((down * legs).max())  # of the leg where the skin is nearer to the kerf's floor
        if not np.isfinite(mouth):
            where = f"{key}.eye_at"
            raise InputError([Mistake(*recipe.place(where), where, "", "lies beside the body.", "a place along it")])
    return Run(z, front, rear, down, bent.start is None, bent.eye_at, mouth)


def floor_of(kerf: Prism) -> Array:
    """A wire kerf's floor (n, 2), x and z from nose to tail [mm].

    Elementary: the corners of its polygon that do not lie on its side outside the body.
    """
    polygon = np.array(kerf.polygon)
    outside = polygon[np.argmax(np.abs(polygon[:, 1])), 1]
    floor = polygon[polygon[:, 1] != outside]
    return np.asarray(floor[np.argsort(floor[:, 0])])


def points_on(pieces: Sequence[Piece]) -> Array:
    """Places along pieces of a middle line (n, 2), a quarter of a millimetre apart at most [mm].

    Elementary.
    """
    out: list[tuple[float, float]] = []
    for piece in pieces:
        corners = piece.points(SAG_MM)
        for (ax, ay), (bx, by) in pairwise(corners):
            count = max(1, int(np.ceil(np.hypot(bx - ax, by - ay) / STEP_MM)))
            out += [(ax + s * (bx - ax), ay + s * (by - ay)) for s in np.linspace(0.0, 1.0, count + 1)]
    return np.array(out).reshape(-1, 2)
