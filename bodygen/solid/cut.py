"""Cutting with the CAD kernel: every tool as an exact solid (cylinders, cones, spheres, planes), all in one boolean."""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, sin
from typing import TYPE_CHECKING, TypeVar

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism, Revolved

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from OCP.BOPAlgo import BOPAlgo_CellsBuilder
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.gp import gp_Pnt
    from OCP.TopoDS import TopoDS_Shape

    from bodygen.form.cuts import Tool

Made = TypeVar("Made")
FUZZ_MM = 1e-5
FUZZES_MM = (FUZZ_MM, 0.0, 1e-4)
"""Tried in turn while a tool leaves no mark: at 1e-5 the kernel once left a nose bore out without a word."""


def cut_solid(body: TopoDS_Shape, tools: Sequence[Tool]) -> TopoDS_Shape:
    """What the tools leave of the body, unchecked (``skin.sound`` asks whether it is one valid solid).

    Raises
    ------
    DesignError
        When the kernel's boolean fails.
    """
    if not tools:
        return body
    cutting_solids = [tool_solid(tool) for tool in tools]

    def attempt(fuzz: float) -> tuple[TopoDS_Shape, int]:
        operation = _cut(body, cutting_solids, fuzz)
        return operation.Shape(), without_mark(operation, cutting_solids)

    return with_most_marks(attempt)


def with_most_marks(attempt: Callable[[float], tuple[Made, int]]) -> Made:
    """What an attempt makes of the first of ``FUZZES_MM`` [mm] where every tool leaves a mark, else where most do.

    Parameters
    ----------
    attempt : callable
        Makes something with a fuzz, and says how many tools left no mark.
    """
    best, fewest = attempt(FUZZES_MM[0])
    for fuzz in FUZZES_MM[1:]:
        if not fewest:
            break
        made, missing = attempt(fuzz)
        if missing < fewest:
            best, fewest = made, missing
    return best


def _cut(body: TopoDS_Shape, cutting_solids: Sequence[TopoDS_Shape], fuzz: float) -> BRepAlgoAPI_Cut:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.TopTools import TopTools_ListOfShape

    arguments, cutters = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(body)
    for cutting_solid in cutting_solids:
        cutters.Append(cutting_solid)
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(arguments)
    operation.SetTools(cutters)
    operation.SetRunParallel(True)
    operation.SetNonDestructive(True)  # or the body comes out of it with other tolerances than it went in with
    operation.SetFuzzyValue(fuzz)
    operation.SetUseOBB(True)  # a leaning bore's upright box meets far more faces than the bore does
    operation.SetCheckInverted(False)  # both are right side out: ``skin.sound`` and the tools' own making say so
    operation.Build()
    if not operation.IsDone():
        msg = "the CAD kernel could not cut the bores and slots out of the body"
        raise DesignError(msg)
    return operation


def without_mark(operation: BRepAlgoAPI_Cut | BOPAlgo_CellsBuilder, cutting_solids: Sequence[TopoDS_Shape]) -> int:
    """How many of the tools left no mark on what the operation made."""
    return sum(not _left_a_mark(operation, cutting_solid) for cutting_solid in cutting_solids)


def _left_a_mark(operation: BRepAlgoAPI_Cut | BOPAlgo_CellsBuilder, cutting_solid: TopoDS_Shape) -> bool:
    """Whether any face of a tool, whole or cut down, is a wall of what is left; edges alone are none."""
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer

    explorer = TopExp_Explorer(cutting_solid, TopAbs_FACE)
    while explorer.More():
        face = explorer.Current()
        whole = not operation.IsDeleted(face) and not operation.Generated(face).Size()
        if whole or operation.Modified(face).Size():
            return True
        explorer.Next()
    return False


def tool_solid(tool: Tool) -> TopoDS_Shape:
    """A tool as a solid of the kernel [mm], exact: cylinders, cones, spheres, planes."""
    return _revolved(tool) if isinstance(tool, Revolved) else _prism(tool)


def _revolved(tool: Revolved) -> TopoDS_Shape:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Vec

    frame = gp_Ax2(gp_Pnt(*tool.origin), gp_Dir(*tool.axis))
    outward, axis = gp_Vec(frame.XDirection()), gp_Vec(gp_Dir(*tool.axis))

    def place(s: float, r: float) -> gp_Pnt:
        return gp_Pnt(*tool.origin).Translated(axis.Multiplied(s)).Translated(outward.Multiplied(r))

    points = list(tool.profile)
    wire = BRepBuilderAPI_MakeWire()
    last = len(points) - 1
    for i, (a, b) in enumerate(pairwise(points), start=1):
        if a == b:
            continue
        if tool.ball and i == last:
            r = a[1]
            middle = place(a[0] + r * sin(pi / 4), r * cos(pi / 4))
            edge = BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(place(*a), middle, place(*b)).Value())
        else:
            edge = BRepBuilderAPI_MakeEdge(place(*a), place(*b))
        wire.Add(edge.Edge())
    wire.Add(BRepBuilderAPI_MakeEdge(place(*points[-1]), place(*points[0])).Edge())
    face = BRepBuilderAPI_MakeFace(wire.Wire()).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(*tool.origin), gp_Dir(*tool.axis))).Shape()


def _prism(tool: Prism) -> TopoDS_Shape:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    along, normal = gp_Vec(*tool.along), gp_Vec(*tool.normal)
    across = along.Crossed(normal)
    corner = gp_Pnt(*tool.origin).Translated(across.Multiplied(-tool.half))
    polygon = BRepBuilderAPI_MakePolygon()
    for a, b in tool.polygon:
        polygon.Add(corner.Translated(along.Multiplied(a)).Translated(normal.Multiplied(b)))
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
    return BRepPrimAPI_MakePrism(face, across.Multiplied(2 * tool.half)).Shape()
