"""Three views of a body and its cuts, flat, in the body's own mm: outlines, hidden bores, kerfs, bent wires, the lip.

Knows which line is seen and which is hidden. Knows no paper and no scale (drawing.py). The nose is at the left in side
and plan view, so the side view shows the left flank; the three views lie as in third-angle projection (ISO 128-30).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bodygen.form.body import Body, fine_parameters
from bodygen.form.cuts import Revolved, Tool, slot_of
from bodygen.form.facing import Projection
from bodygen.report.pictures.cut_lines import bore_lines, inner_point, plate_lines, saw_lines
from bodygen.report.pictures.hidden_lines import Array, Trace
from bodygen.shop.lip.plate import LipPlate


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A view's lines; ``low`` and ``high`` (2,) are the corners of body, lip and wires, right and up [mm].

    ``marks`` give for each tool's place in the list a point (2,) to lead its number to [mm]; the end view has none.
    """

    name: str
    traces: tuple[Trace, ...]
    low: Array
    high: Array
    marks: dict[int, Array]


def view_of(
    projection: Projection, body: Body, tools: Sequence[Tool], lip: LipPlate | None, wires: Sequence[Array] = ()
) -> View:
    """Draw the body, every tool's cut and the lip as seen from one direction.

    Parameters
    ----------
    projection : Projection
        ``SIDE``, ``PLAN`` or ``END``.
    body : Body
        Lengths in mm.
    tools : sequence of Tool
        As ``form.cuts.tools_of`` gives them.
    lip : LipPlate, optional
        Drawn in the first tool of kind "slot"; left out where there is none.
    wires : sequence of array
        Middle lines of bent wires (k, 3) [mm]; the end view, which tells no more of them, leaves them out.
    """
    outline = _outline(projection, body)
    slot = slot_of(tools)
    plate = plate_lines(projection, body, slot, lip) if slot and lip else ()
    cuts: list[Trace] = []
    marks: dict[int, Array] = {}
    for place, tool in enumerate(tools):
        if projection.name == "end" and not _told_by_the_end(tool):
            continue
        cuts += bore_lines(projection, body, tool) if isinstance(tool, Revolved) else saw_lines(projection, body, tool)
        marks[place] = projection.flat(inner_point(body, tool)[None])[0]
    extent = np.concatenate([trace.points for trace in (*outline, *plate)])
    middle = _middle_lines(projection, extent)
    bent = [Trace(projection.flat(wire), "wire", part="bent wire") for wire in wires if projection.name != "end"]
    traces = (*middle, *cuts, *bent, *plate, *outline)
    extent = np.concatenate([extent, *(trace.points for trace in bent)])
    return View(projection.name, traces, extent.min(axis=0), extent.max(axis=0), marks)


@lru_cache(maxsize=8)
def _outline(projection: Projection, body: Body) -> tuple[Trace, ...]:
    return tuple({"side": _side_outline, "plan": _plan_outline, "end": _end_outline}[projection.name](body))


def _told_by_the_end(tool: Tool) -> bool:
    """Whether the view from the nose says more of a cut than side and plan view do: else it only crowds it."""
    return isinstance(tool, Revolved) and (abs(tool.axis[0]) > 0.7 or abs(tool.origin[1]) > 5e-3)


def _side_outline(body: Body) -> list[Trace]:
    polygon = body.polygons(fine_parameters(body, 12))
    ring = np.concatenate([polygon[:, 0, ::2], polygon[::-1, -1, ::2]])
    flank = {body.widest_index, polygon.shape[1] - 1 - body.widest_index}
    lines = [Trace(polygon[:, index, ::2], "widest", part="widest line") for index in sorted(flank)]
    return [*lines, Trace(ring, "outline", closed=True, part="side outline")]


def _plan_outline(body: Body) -> list[Trace]:
    edge = body.polygons(fine_parameters(body, 12))[:, body.widest_index, :2]
    ring = np.concatenate([edge, edge[::-1] * (1.0, -1.0)])
    return [Trace(ring, "outline", closed=True, part="plan outline")]


def _end_outline(body: Body) -> list[Trace]:
    """At each height the widest of all sections: what is left of the body when looked at along its axis."""
    half = body.points(fine_parameters(body, 6), 24)[:, :, 1:]
    low, high = half[:, 0, 1].min(), half[:, -1, 1].max()
    heights = (low + high) / 2 - (high - low) / 2 * np.cos(np.linspace(0.0, np.pi, 161))
    widths = np.max([np.interp(heights, z, y, left=0.0, right=0.0) for y, z in half.transpose(0, 2, 1)], axis=0)
    edge = np.stack([widths, heights], axis=1)
    rings = [Trace(np.concatenate([edge, edge[::-1] * (-1.0, 1.0)]), "outline", closed=True, part="end outline")]
    for flat, x, pen in ((body.nose_flat, 0.0, "visible"), (body.tail_flat, body.length, "hidden")):
        if flat:
            rings.insert(0, Trace(body.section_at(x) * (-1.0, 1.0), pen, closed=True, part="flat end"))  # type: ignore[arg-type]  # mypy widens the pens of a tuple to str
    return rings


def _middle_lines(projection: Projection, extent: Array) -> list[Trace]:
    """The parting line (the x axis) and the mid-plane, a little beyond the outline."""
    low, high = extent.min(axis=0), extent.max(axis=0)
    beyond = 0.012 * float(high[0] - low[0])
    lines = [Trace(np.array([[low[0] - beyond, 0], [high[0] + beyond, 0]]), "centre", part="parting line")]
    if projection.name == "end":
        lines.append(Trace(np.array([[0, low[1] - beyond], [0, high[1] + beyond]]), "centre", part="mid-plane"))
    return lines
