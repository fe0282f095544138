"""A ballast bore in the real skin: what it holds, and what it adds to the bait's weight, as its depth changes.

Knows one bore (and its mirror image), a body and the metal. Knows nothing of water, nor of how deep it should be. Below
the rim a bore is a cylinder, so one cut of the mesh tells every depth: the mouth and the drill's end stay as they are
and a straight piece comes between them. Where another cut meets the bore, the shared wood is counted here too; the
search asks the whole flow afterwards and learns the difference (``trial.py``).
"""

from dataclasses import dataclass, replace
from math import pi

import manifold3d
import numpy as np

from bodygen.ballast.bore import tip_length, tip_volume
from bodygen.form.cuts import MOUTH_MM, Probe, Revolved, bore_line, tools_of
from bodygen.form.integrals import Array
from bodygen.mesh.cut import to_manifold, tool_mesh
from bodygen.mesh.pieces import filled_below, integrals
from bodygen.recipe.model import Bore, Fill, Recipe
from bodygen.weights import catalogue
from bodygen.weights.item import MM3_PER_CM3
from bodygen.weights.rooms import FILLER, GLUE, GLUED, closed_as, metal_density, slug_share


@dataclass(frozen=True, slots=True, eq=False)
class Hole:
    """One hole cut in a body; ``depth`` [mm] is the one it was cut at, ``shoulder`` [mm] where that puts the shoulder.

    ``mouth`` [mm^3] and ``mouth_moment`` (3,) [mm^4] are what the curved skin makes of a square mouth (negative: lost),
    the moment about ``origin`` (3,) [mm]; ``rim`` [mm] is how far below the mouth the lowest point of the rim lies.
    """

    bore: Bore
    origin: Array
    axis: Array
    depth: float
    shoulder: float
    mouth: float
    mouth_moment: Array
    rim: float

    @property
    def section(self) -> float:
        """Of the drill [mm^2]."""
        return pi / 4 * self.bore.diameter**2

    def _straight(self, top: float, depth: float) -> tuple[float, float]:
        """Volume [mm^3] below ``top`` and its moment along the axis about the origin [mm^4], at a depth [mm]."""
        bore, s = self.bore, self.shoulder + depth - self.depth
        tip = tip_volume(bore.diameter, bore.tip, bore.tip_angle)
        height = tip_length(bore.diameter, bore.tip, bore.tip_angle)
        tip_at = s + (3 / 8 * height if bore.tip == "ball" else height / 4)
        return self.section * (s - top) + tip, self.section * (s**2 - top**2) / 2 + tip * tip_at

    def room(self, depth: float) -> tuple[float, Array]:
        """Volume [mm^3] and first moment about the body's origin (3,) [mm^4] of the wood taken out."""
        volume, along = self._straight(0.0, depth)
        volume += self.mouth
        return volume, volume * self.origin + along * self.axis + self.mouth_moment

    def metal(self, depth: float, fill: Fill) -> tuple[float, Array]:
        """Volume [mm^3] and first moment (3,) [mm^4] of the part that the fill takes up, at the bore's full width."""
        top = (1 - fill.level) * depth
        if fill.finish == "flat":
            top = max(top, self.rim)
        elif fill.level >= 1:
            return self.room(depth)
        volume, along = self._straight(top, depth)
        return volume, volume * self.origin + along * self.axis


def holes_of(recipe: Recipe, bore: Bore, probe: Probe, body: manifold3d.Manifold) -> tuple[Hole, ...]:
    """Cut a bore, and its mirror image, to learn its mouth; the depth it is cut at is one that clears the rim.

    Raises
    ------
    InputError
        There is no body where the bore is to be.
    """
    bore = replace(bore, depth=reference_depth(bore))
    holes = []
    for tool in cutters(recipe, bore, probe):
        room = to_manifold(tool_mesh(tool)) ^ body
        taken = integrals(room)
        plain = Hole(
            bore, np.array(tool.origin), np.array(tool.axis), bore.depth or 0.0, tool.shoulder, 0.0, np.zeros(3), 0.0
        )
        volume, moment = plain.room(plain.depth)
        flat = integrals(filled_below(room, tool, 1.0, plain.depth, flat=True)).volume
        rim = tool.shoulder - (flat - tip_volume(bore.diameter, bore.tip, bore.tip_angle)) / plain.section
        mouth = taken.volume - volume
        lost = taken.volume * taken.centroid - moment - mouth * plain.origin
        holes.append(replace(plain, mouth=mouth, mouth_moment=lost, rim=max(rim, 0.0)))
    return tuple(holes)


def reference_depth(bore: Bore) -> float:
    """Depth to learn a mouth at [mm]: past the rim of any skin that a bore is drilled into at all."""
    return bore.diameter + tip_length(bore.diameter, bore.tip, bore.tip_angle)


def least_depth(bore: Bore) -> float:
    """Least depth worth drilling [mm]: a third of the width beyond the drill's end."""
    return bore.diameter / 3 + (
        tip_length(bore.diameter, bore.tip, bore.tip_angle) if bore.depth_to == "point" else 0.0
    )


def cutters(recipe: Recipe, bore: Bore, probe: Probe) -> tuple[Revolved, ...]:
    """The tools of this bore alone."""
    alone = replace(recipe, bores=(bore,), wire_slots=(), lip=None)
    return tuple(tool for tool in tools_of(alone, probe) if isinstance(tool, Revolved))


def wood_along(bore: Bore, probe: Probe) -> float:
    """Wood on the drill's axis from the mouth to where it leaves [mm]; 0 where the bore misses the body."""
    start, square, axis = bore_line(bore, probe)
    entered = probe.crossings(start, square)
    if len(entered) < 2:
        return 0.0
    beyond = probe.crossings(start + entered[0] * square - axis * probe.reach, axis) - probe.reach
    return float(next((hit for hit in beyond if hit > MOUTH_MM), 0.0))


def net(holes: tuple[Hole, ...], fill: Fill | None, depth: float, wood_g_cm3: float) -> tuple[float, Array]:
    """What bore and metal add to the bait that has neither: mass [g] and first moment (3,) [g mm].

    Wood goes out; metal, glue or filler come in. ``wood_g_cm3`` is the wood's density.
    """
    mass, moment = 0.0, np.zeros(3)
    for hole in holes:
        room, closing = hole.room(depth), closing_density(hole.bore, fill)
        mass += (closing - wood_g_cm3) * room[0] / MM3_PER_CM3
        moment = moment + (closing - wood_g_cm3) * room[1] / MM3_PER_CM3
        if fill is not None:
            metal, more = hole.metal(depth, fill), _more_than_closing(hole, fill, depth, closing)
            mass += more * metal[0] / MM3_PER_CM3
            moment = moment + more * metal[1] / MM3_PER_CM3
    return mass, moment


def metal_mass(holes: tuple[Hole, ...], fill: Fill, depth: float) -> float:
    """Metal alone [g]."""
    if fill.mass is not None:
        return fill.mass * len(holes)
    volume = sum(hole.metal(depth, fill)[0] * slug_share(hole.bore, fill) for hole in holes)
    return volume * metal_density(fill) / MM3_PER_CM3


def depth_for(holes: tuple[Hole, ...], fill: Fill, mass: float, wood_g_cm3: float) -> float:
    """Depth at which the bore adds ``mass`` [g] to the bait [mm]; straight in the depth, so two depths tell it."""
    first, second = holes[0].depth, 2 * holes[0].depth
    low, high = (net(holes, fill, depth, wood_g_cm3)[0] for depth in (first, second))
    return first + (mass - low) * (second - first) / (high - low)


def level_for(holes: tuple[Hole, ...], fill: Fill, depth: float, mass: float, wood_g_cm3: float) -> float:
    """Level of the fill at which a bore of this depth adds ``mass`` [g] to the bait [-], perhaps outside 0 to 1."""
    half, third = replace(fill, level=0.5), replace(fill, level=0.3)
    low, high = (net(holes, filled, depth, wood_g_cm3)[0] for filled in (third, half))
    return 0.3 + (mass - low) * 0.2 / (high - low)


def closing_density(bore: Bore, fill: Fill | None) -> float:
    """What makes up the room that the metal leaves [g/cm^3]: glue, filler, or nothing."""
    if closed_as(bore) != "filled":
        return 0.0
    glued = bore.kind in GLUED or (fill is not None and fill.placed == "slug" and fill.clearance > 0)
    return catalogue.density(catalogue.row("coatings", "coat", GLUE if glued else FILLER, "closed"))


def _more_than_closing(hole: Hole, fill: Fill, depth: float, closing: float) -> float:
    """Metal less what it leaves no room for, spread over the bore's full width [g/cm^3]."""
    share = slug_share(hole.bore, fill)
    if fill.mass is None:
        return share * (metal_density(fill) - closing)
    return fill.mass * MM3_PER_CM3 / hole.metal(depth, fill)[0] - share * closing
