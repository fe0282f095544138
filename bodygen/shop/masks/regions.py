"""Regions of the skin that are painted by themselves: back, flank, belly, bars, gill, eye ring, as shapes in side view.

A region is drawn in the side view of all drawings (form/facing.py), and holds on the skin that lies behind that drawing
on either flank; one around an eye's bore holds on the flank with that bore.
Where it reaches the back's or the belly's middle it is drawn on beyond it, so that an opening cuts right through.

Knows the side view and the eyes' bores. Makes no shell (shell.py) and no film (film.py).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians, tan

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.form.cuts import Revolved, Tool
from bodygen.form.facing import SIDES, Side, outwards, side_of
from bodygen.form.integrals import Array
from bodygen.form.ray_caster import RayCaster
from bodygen.recipe.model import Mask, MaskKind
from bodygen.tables import load

BEYOND_MM = 20.0
"""How far a region is drawn on beyond the body's edge."""
STATIONS = 401
ROUNDNESS = 96
BANDS: tuple[MaskKind, ...] = ("back", "flank", "belly")


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """What a mask leaves open: for each side of the bait that has it a shape in side view, (x, z) [mm]."""

    name: str
    kind: MaskKind
    on: dict[Side, manifold3d.CrossSection]


@dataclass(frozen=True, slots=True, eq=False)
class SideView:
    """Belly and back height (k,) over stations x (k,) [mm], and the greatest depth between them."""

    x: Array
    belly: Array
    back: Array

    @property
    def depth(self) -> float:
        """[mm]."""
        return float((self.back - self.belly).max())

    def height(self, x: Array, share: float) -> Array:
        """Height z at x (k,) of a share of the depth there, 0 at the belly [mm]."""
        low, high = np.interp(x, self.x, self.belly), np.interp(x, self.x, self.back)
        return np.asarray(low + share * (high - low))

    def outline(self) -> manifold3d.CrossSection:
        """The body's own shape."""
        ring = np.concatenate([np.column_stack([self.x, self.belly]), np.column_stack([self.x, self.back])[::-1]])
        return manifold3d.CrossSection([ring], manifold3d.FillRule.NonZero)


def side_view_of(caster: RayCaster) -> SideView:
    """The side view of a body, from its skin's heights in the mid-plane; stations lie closer at the ends."""
    turn = (1 - np.cos(np.linspace(0.0, np.pi, STATIONS))) / 2
    x = caster.low[0] + (caster.high[0] - caster.low[0]) * turn
    belly, back = caster.heights(x)
    on = np.isfinite(belly) & np.isfinite(back)
    return SideView(x[on], belly[on], back[on])


def regions(
    masks: Sequence[Mask], view: SideView, tools: Sequence[Tool]
) -> tuple[tuple[Region, ...], tuple[Finding, ...]]:
    """Draw every mask's region.

    Parameters
    ----------
    masks : sequence of Mask
        What the recipe says; what it leaves open is as usual.
    view : SideView
        The body from its side.
    tools : sequence of Tool
        The recipe's cuts: rings stand around the bores of eyes.

    Returns
    -------
    regions : tuple of Region
        In the masks' order.
    findings : tuple of Finding
        A mask that has no place on this body.
    """
    made: list[Region] = []
    findings: list[Finding] = []
    for number, mask in enumerate(masks, start=1):
        on = _eyes(mask, tools) if mask.kind == "eye" else dict.fromkeys(SIDES, _drawn(mask, view))
        on = {side: shape for side, shape in on.items() if not (shape ^ view.outline()).is_empty()}
        if not on:
            remedy = (
                "no eye's bore on a flank to ring" if mask.kind == "eye" else "the region lies beside the body: move it"
            )
            findings.append(Finding("mask-nowhere", "warning", f"mask[{number}]", remedy))
        else:
            made.append(Region(mask.name, mask.kind, on))
    return tuple(made), tuple(findings)


def _drawn(mask: Mask, view: SideView) -> manifold3d.CrossSection:
    row = load("masks")[mask.kind]
    low = row["low"] if mask.low is None else mask.low
    high = row["high"] if mask.high is None else mask.high
    first, last = float(view.x[0]), float(view.x[-1])
    if mask.kind in BANDS:
        start = first - BEYOND_MM if mask.start is None else mask.start
        end = last + BEYOND_MM if mask.end is None else mask.end
        return _band(view, start, end, low, high)
    length = last - first
    if mask.kind == "gill":
        at = first + row["x_share"] * length if mask.x is None else mask.x
        return _gill(
            view, at, row["width_mm"] if mask.width is None else mask.width, row["radius_depths"] * view.depth
        ) ^ _band(view, first - BEYOND_MM, last + BEYOND_MM, low, high)
    start = first + row["start_share"] * length if mask.start is None else mask.start
    end = first + row["end_share"] * length if mask.end is None else mask.end
    bars = _bars(
        view,
        (start, end),
        row["count"] if mask.count is None else mask.count,
        row["width_share"] * length if mask.width is None else mask.width,
        radians(row["slant_deg"]) if mask.slant is None else mask.slant,
    )
    return bars ^ _band(view, first - BEYOND_MM, last + BEYOND_MM, low, high)


def _band(view: SideView, start: float, end: float, low: float, high: float) -> manifold3d.CrossSection:
    """Between two shares of the depth; drawn on beyond an edge that it reaches, and beyond nose and tail."""
    inner = view.x[(view.x > start) & (view.x < end)]
    x = np.concatenate([[start], inner, [end]])
    bottom, top = view.height(x, low), view.height(x, high)
    if low <= 0:
        bottom = np.full(len(x), view.belly.min() - BEYOND_MM)
    if high >= 1:
        top = np.full(len(x), view.back.max() + BEYOND_MM)
    ring = np.concatenate([np.column_stack([x, bottom]), np.column_stack([x, top])[::-1]])
    return manifold3d.CrossSection([ring], manifold3d.FillRule.NonZero)


def _bars(view: SideView, span: tuple[float, float], count: int, width: float, slant: float) -> manifold3d.CrossSection:
    """Upright bars of one width along the body, first to last filling the span at the parting line."""
    bottom, top = view.belly.min() - BEYOND_MM, view.back.max() + BEYOND_MM
    spare = span[1] - span[0] - width
    middles = span[0] + width / 2 + (np.linspace(0.0, spare, count) if count > 1 else np.array([spare / 2]))
    lean = tan(slant)
    rings = [
        np.array([
            (middle + way * width / 2 + z * lean, z) for way, z in ((-1, bottom), (1, bottom), (1, top), (-1, top))
        ])
        for middle in middles
    ]
    return manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero)


def _gill(view: SideView, at: float, width: float, radius: float) -> manifold3d.CrossSection:
    """A band along an arc that is open towards the nose, its hindmost edge at x = ``at``, midway up the body there."""
    z = float(view.height(np.array([at]), 0.5)[0])
    outer = manifold3d.CrossSection.circle(radius, ROUNDNESS)
    ring = outer - manifold3d.CrossSection.circle(max(radius - width, 0.0), ROUNDNESS)
    behind = manifold3d.CrossSection.square((2 * radius, 4 * radius)).translate((0.0, -2 * radius))
    return (ring ^ behind).translate((at - radius, z))


def _eyes(mask: Mask, tools: Sequence[Tool]) -> dict[Side, manifold3d.CrossSection]:
    """A disc around each eye's bore, on its own flank: what the bore leaves of it is a ring."""
    width = load("masks")["eye"]["width_mm"] if mask.width is None else mask.width
    found: dict[Side, list[manifold3d.CrossSection]] = {"right": [], "left": []}
    for tool in tools:
        if isinstance(tool, Revolved) and tool.kind == "eye" and abs(tool.axis[1]) > 0.5:
            disc = manifold3d.CrossSection.circle(tool.diameter / 2 + width, ROUNDNESS)
            found[side_of(-tool.axis[1])].append(disc.translate((tool.origin[0], tool.origin[2])))
    return {
        side: manifold3d.CrossSection.batch_boolean(found[side], manifold3d.OpType.Add) for side in SIDES if found[side]
    }


def opening(shape: manifold3d.CrossSection, side: Side, far: float) -> manifold3d.Manifold:
    """A shape of the side view drawn out from the mid-plane to this far beyond one side [mm]."""
    upright = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, max(outwards(side), 0.0) * far], [0.0, 1.0, 0.0, 0.0]])
    return shape.extrude(far).transform(upright)
