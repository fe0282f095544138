"""How much metal a bore holds and how deep it must be: a plain hole in a block, and a ballast bore in a real skin.

Knows cylinders, drill points, one bore (and its mirror image), a body and the metal. Knows nothing of water, nor of how
deep a bore should be. Below the rim a bore is a cylinder, so one cut of the mesh tells every depth: the mouth and the
drill's end stay as they are and a straight piece comes between them. Where another cut meets the bore, the shared wood
is counted here too; the search asks the whole flow afterwards and learns the difference (``trial.py``).
"""

from dataclasses import dataclass, replace
from math import pi, tan
from typing import Literal

import manifold3d
import numpy as np

from bodygen.errors import DesignError
from bodygen.form.cuts import MOUTH_MM, Revolved, bore_line, tools_of
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.mesh.cut import to_manifold, tool_mesh
from bodygen.mesh.pieces import filled_below, integrals
from bodygen.recipe.model import Bore, Fill, Recipe, Tip
from bodygen.tables import catalogue
from bodygen.weights.cavities import FILLER, GLUE, GLUED, closed_as, metal_density, slug_share
from bodygen.weights.item import MM3_PER_CM3

DepthTo = Literal["shoulder", "point"]
TWIST = 2.0594885173533086
"""Included angle of the usual twist drill's point, 118 degrees [rad]."""


def tip_length(diameter: float, tip: Tip, tip_angle: float = TWIST) -> float:
    """How far a drill's end reaches beyond its shoulder [mm]; ``diameter`` [mm], ``tip_angle`` [rad].

    Elementary trigonometry.

    >>> tip_length(7.9375, "twist")
    2.3847
    """
    return {"twist": diameter / 2 / tan(tip_angle / 2), "ball": diameter / 2, "flat": 0.0}[tip]


def tip_volume(diameter: float, tip: Tip, tip_angle: float = TWIST) -> float:
    r"""Volume below the shoulder [mm^3]: a cone, half a ball, or nothing; ``diameter`` [mm], ``tip_angle`` [rad].

    .. math:: V_{cone} = \pi d^2 h / 12, \quad V_{ball} = \pi d^3 / 12

    Elementary: a cone, a half ball.

    >>> tip_volume(7.9375, "twist")
    39.33
    """
    reach = diameter if tip == "ball" else tip_length(diameter, tip, tip_angle)
    return pi * diameter**2 * reach / 12


def density_of(metal: str) -> float:
    """Density of a row of ``metals.toml`` [g/cm^3].

    The row of ``metals.toml`` names its source.
    """
    return catalogue.density(catalogue.row("metals", "metal", metal, "metal"))


def bore_volume(
    diameter: float, depth: float, tip: Tip = "flat", depth_to: DepthTo = "shoulder", tip_angle: float = TWIST
) -> float:
    """Volume in a bore whose mouth is square and flat [mm^3].

    Elementary solids: cylinder, cone, ball and the cap of one.

    Parameters
    ----------
    diameter, depth : float
        Of the drill, and of the bore to its shoulder or its point [mm], both > 0.
    tip : "twist", "flat" or "ball"
        What the drill leaves at the bottom.
    depth_to : "shoulder" or "point"
        What ``depth`` is measured to; a depth to the point that is less than the point's own length is a smaller cone.
    tip_angle : float
        Of a twist drill's point [rad].

    Examples
    --------
    >>> bore_volume(7.9375, 12.7)   # 5/16 in, 1/2 in deep, flat
    628.44
    >>> bore_volume(7.9375, 12.7, "twist", "point")
    549.77
    """
    if not (diameter > 0 and depth > 0):
        msg = f"a bore {diameter:g} mm wide and {depth:g} mm deep is none."
        raise DesignError(msg)
    reach = tip_length(diameter, tip, tip_angle)
    straight = depth if depth_to == "shoulder" else depth - reach
    if straight >= 0:
        return pi / 4 * diameter**2 * straight + tip_volume(diameter, tip, tip_angle)
    if tip == "twist":
        return tip_volume(diameter, tip, tip_angle) * (depth / reach) ** 3
    return pi * depth**2 * (diameter / 2 - depth / 3)  # a cap of the ball


def bore_mass(
    diameter: float,
    depth: float,
    metal: str,
    tip: Tip = "flat",
    depth_to: DepthTo = "shoulder",
    tip_angle: float = TWIST,
) -> float:
    """Mass of a metal that fills a plain bore to the brim [g]; the bore as in ``bore_volume`` [mm, rad].

    Elementary: volume times density.

    >>> bore_mass(9.525, 12.7, "lead")   # 3/8 in, 1/2 in deep
    10.26
    """
    return bore_volume(diameter, depth, tip, depth_to, tip_angle) / MM3_PER_CM3 * density_of(metal)


def depth_for_mass(
    mass: float,
    diameter: float,
    metal: str,
    tip: Tip = "flat",
    depth_to: DepthTo = "shoulder",
    tip_angle: float = TWIST,
) -> float:
    """Depth at which a plain bore holds ``mass`` [g] of a metal [mm]; the bore as in ``bore_volume`` [mm, rad].

    Elementary: ``bore_volume`` solved for the depth.

    Raises
    ------
    DesignError
        Less mass than the drill's point alone holds, with the depth measured to the shoulder.

    Examples
    --------
    >>> depth_for_mass(14.0, 9.525, "lead") / 25.4
    0.682
    """
    volume = mass * MM3_PER_CM3 / density_of(metal)
    point, reach = tip_volume(diameter, tip, tip_angle), tip_length(diameter, tip, tip_angle)
    straight = (volume - point) / (pi / 4 * diameter**2)
    if straight >= 0:
        return straight if depth_to == "shoulder" else straight + reach
    if depth_to == "point" and tip == "twist" and volume > 0:
        return float(reach * (volume / point) ** (1 / 3))
    held = bore_mass(diameter, reach, metal, tip, "point", tip_angle)
    msg = f"{mass:g} g of {metal} is less than the drill's end alone holds, {held:.2f} g: take a thinner drill."
    raise DesignError(msg)


@dataclass(frozen=True, slots=True, eq=False)
class BoreInSkin:
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

    def cavity(self, depth: float) -> tuple[float, Array]:
        """Volume [mm^3] and first moment about the body's origin (3,) [mm^4] of the wood taken out.

        Elementary solids, and the mouth as it was cut once.
        """
        volume, along = self._straight(0.0, depth)
        volume += self.mouth
        return volume, volume * self.origin + along * self.axis + self.mouth_moment

    def metal(self, depth: float, fill: Fill) -> tuple[float, Array]:
        """Volume [mm^3] and first moment (3,) [mm^4] of the part that the fill takes up, at the bore's full width.

        Elementary solids.

        Examples
        --------
        >>> flat = Bore("b", "ballast", "belly", 6.0, 10.0, tip="flat")
        >>> hole = BoreInSkin(flat, np.zeros(3), np.array([0.0, 0, 1]), 10.0, 10.0, 0.0, np.zeros(3), 0.0)
        >>> volume, moment = hole.metal(10.0, Fill("lead", level=0.5))   # the lower half
        >>> volume, float(moment[2] / volume)
        (141.372, 7.5)
        """
        top = (1 - fill.level) * depth
        if fill.finish == "flat":
            top = max(top, self.rim)
        elif fill.level >= 1:
            return self.cavity(depth)
        volume, along = self._straight(top, depth)
        return volume, volume * self.origin + along * self.axis


def bores_in_skin(recipe: Recipe, bore: Bore, caster: RayCaster, body: manifold3d.Manifold) -> tuple[BoreInSkin, ...]:
    """Cut a bore, and its mirror image, to learn its mouth [mm^3, mm^4], at a depth that clears the rim.

    Derived here: what the cut takes away, less a plain hole of that depth.

    Raises
    ------
    InputError
        There is no body where the bore is to be.
    """
    bore = replace(bore, depth=reference_depth(bore))
    holes = []
    for tool in cutters(recipe, bore, caster):
        cavity = to_manifold(tool_mesh(tool)) ^ body
        taken = integrals(cavity)
        plain = BoreInSkin(
            bore, np.array(tool.origin), np.array(tool.axis), bore.depth or 0.0, tool.shoulder, 0.0, np.zeros(3), 0.0
        )
        volume, moment = plain.cavity(plain.depth)
        flat = integrals(filled_below(cavity, tool, 1.0, plain.depth, flat=True)).volume
        rim = tool.shoulder - (flat - tip_volume(bore.diameter, bore.tip, bore.tip_angle)) / plain.section
        mouth = taken.volume - volume
        lost = taken.volume * taken.centroid - moment - mouth * plain.origin
        holes.append(replace(plain, mouth=mouth, mouth_moment=lost, rim=max(rim, 0.0)))
    return tuple(holes)


def reference_depth(bore: Bore) -> float:
    """Depth to learn a mouth at [mm]: past the rim of any skin that a bore is drilled into at all.

    Derived here: across a plane skin the rim lies deeper than a diameter only if that leans more than 63 degrees.
    """
    return bore.diameter + tip_length(bore.diameter, bore.tip, bore.tip_angle)


def least_depth(bore: Bore) -> float:
    """Least depth worth drilling [mm]: a third of the width beyond the drill's end.

    Common practice, no published source.
    """
    return bore.diameter / 3 + (
        tip_length(bore.diameter, bore.tip, bore.tip_angle) if bore.depth_to == "point" else 0.0
    )


def cutters(recipe: Recipe, bore: Bore, caster: RayCaster) -> tuple[Revolved, ...]:
    """The tools of this bore alone [mm]."""
    alone = replace(recipe, bores=(bore,), wire_slots=(), lip=None)
    return tuple(tool for tool in tools_of(alone, caster) if isinstance(tool, Revolved))


def wood_along(bore: Bore, caster: RayCaster) -> float:
    """Wood on the drill's axis from the mouth to where it leaves [mm]; 0 where the bore misses the body.

    Elementary: from where a line enters to where it leaves.
    """
    start, square, axis = bore_line(bore, caster)
    entered = caster.crossings(start, square)
    if len(entered) < 2:
        return 0.0
    beyond = caster.crossings(start + entered[0] * square - axis * caster.reach, axis) - caster.reach
    return float(next((hit for hit in beyond if hit > MOUTH_MM), 0.0))


def net(holes: tuple[BoreInSkin, ...], fill: Fill | None, depth: float, wood_g_cm3: float) -> tuple[float, Array]:
    """What bore and metal add to the bait that has neither: mass [g] and first moment (3,) [g mm].

    Wood goes out; metal, glue or filler come in. ``wood_g_cm3`` is the wood's density.

    Elementary: volumes times differences of density.

    Examples
    --------
    >>> flat = Bore("b", "ballast", "belly", 6.0, 10.0, tip="flat")
    >>> hole = BoreInSkin(flat, np.zeros(3), np.array([0.0, 0, 1]), 10.0, 10.0, 0.0, np.zeros(3), 0.0)
    >>> net((hole,), Fill("lead"), 10.0, 0.4)[0]   # (11.34 - 0.4) 0.09 pi
    3.0932
    """
    mass, moment = 0.0, np.zeros(3)
    for hole in holes:
        cavity, closing = hole.cavity(depth), closing_density(hole.bore, fill)
        mass += (closing - wood_g_cm3) * cavity[0] / MM3_PER_CM3
        moment = moment + (closing - wood_g_cm3) * cavity[1] / MM3_PER_CM3
        if fill is not None:
            metal, more = hole.metal(depth, fill), _more_than_closing(hole, fill, depth, closing)
            mass += more * metal[0] / MM3_PER_CM3
            moment = moment + more * metal[1] / MM3_PER_CM3
    return mass, moment


def depth_for(holes: tuple[BoreInSkin, ...], fill: Fill, mass: float, wood_g_cm3: float) -> float:
    """Depth at which the bore adds ``mass`` [g] to the bait [mm]; straight in the depth, so two depths tell it.

    Elementary: a straight line through two points.
    """
    first, second = holes[0].depth, 2 * holes[0].depth
    low, high = (net(holes, fill, depth, wood_g_cm3)[0] for depth in (first, second))
    return first + (mass - low) * (second - first) / (high - low)


def level_for(holes: tuple[BoreInSkin, ...], fill: Fill, depth: float, mass: float, wood_g_cm3: float) -> float:
    """Level of the fill at which a bore of this depth adds ``mass`` [g] to the bait [-], perhaps outside 0 to 1.

    Elementary: a straight line through two points.

    Examples
    --------
    >>> flat = Bore("b", "ballast", "belly", 6.0, 10.0, tip="flat")
    >>> hole = BoreInSkin(flat, np.zeros(3), np.array([0.0, 0, 1]), 10.0, 10.0, 0.0, np.zeros(3), 0.0)
    >>> level_for((hole,), Fill("lead"), 10.0, net((hole,), Fill("lead", level=0.7), 10.0, 0.4)[0], 0.4)
    0.7
    """
    half, third = replace(fill, level=0.5), replace(fill, level=0.3)
    low, high = (net(holes, filled, depth, wood_g_cm3)[0] for filled in (third, half))
    return 0.3 + (mass - low) * 0.2 / (high - low)


def closing_density(bore: Bore, fill: Fill | None) -> float:
    """What makes up the cavity that the metal leaves [g/cm^3]: glue, filler, or nothing.

    The row of ``coatings.toml`` names its source; which of them is common practice.
    """
    if closed_as(bore) != "filled":
        return 0.0
    glued = bore.kind in GLUED or (fill is not None and fill.placed == "slug" and fill.clearance > 0)
    return catalogue.density(catalogue.row("coatings", "coat", GLUE if glued else FILLER, "closed"))


def _more_than_closing(hole: BoreInSkin, fill: Fill, depth: float, closing: float) -> float:
    """Metal less what it leaves no space for, spread over the bore's full width [g/cm^3]."""
    share = slug_share(hole.bore, fill)
    if fill.mass is None:
        return share * (metal_density(fill) - closing)
    return fill.mass * MM3_PER_CM3 / hole.metal(depth, fill)[0] - share * closing
