"""The body as a solid of the CAD kernel, its faces built straight from the poles."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from bodygen.errors import DesignError
from bodygen.form import spline

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from OCP.Geom import Geom_BSplineSurface
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

    from bodygen.form.body import Body

SEW_MM = 1e-6
SAME_KNOT = 1e-9
SPANS = 4
"""Spans of the surface along the length that one face covers."""


def body_solid(body: Body) -> TopoDS_Shape:
    """One closed solid: faces for every Bézier of the section (and its mirror image), split at corners, plane ends.

    Raises
    ------
    DesignError
        When the kernel does not find exactly one valid solid in it.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
    from OCP.TopAbs import TopAbs_SHELL
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    sewing = BRepBuilderAPI_Sewing(SEW_MM)
    for surface in _patches(body):
        sewing.Add(BRepBuilderAPI_MakeFace(surface, SEW_MM).Face())
    for flat, row in ((body.nose_flat, 0), (body.tail_flat, -1)):
        if flat:
            sewing.Add(_plane_end(body.poles[row]))
    sewing.Perform()
    found = TopExp_Explorer(sewing.SewedShape(), TopAbs_SHELL)
    if not found.More():
        msg = "the CAD kernel could not join the skin into one shell"
        raise DesignError(msg)
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(found.Current())).Solid()
    return sound(solid)


def sound(shape: TopoDS_Shape) -> TopoDS_Shape:
    """The shape itself if it holds exactly one valid closed solid, turned right side out.

    Where the kernel finds fault with its own boolean (a bore out of the very point of a nose), its repair is tried once
    and has to pass the same check.

    Raises
    ------
    DesignError
        Otherwise; the message says what the kernel found.
    """
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.ShapeFix import ShapeFix_Shape

    solid = _only_solid(shape)
    if not BRepCheck_Analyzer(solid).IsValid():
        repair = ShapeFix_Shape(solid)
        # where it gives up the solid stays as it was, for the check below; the kernel's failures share no class
        with suppress(Exception):
            repair.Perform()
            solid = _only_solid(repair.Shape())
        if not BRepCheck_Analyzer(solid).IsValid():
            msg = "the CAD kernel finds the solid not valid"
            raise DesignError(msg)
    return solid


def _only_solid(shape: TopoDS_Shape) -> TopoDS_Shape:
    """The one solid in a shape, its volume above zero: the kernel's own way of telling outside from inside errs."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    solids = []
    explorer = TopExp_Explorer(shape, TopAbs_SOLID)
    while explorer.More():
        solids.append(TopoDS.Solid_s(explorer.Current()))
        explorer.Next()
    if len(solids) != 1:
        msg = f"the CAD kernel finds {len(solids)} separate pieces of wood where one was expected"
        raise DesignError(msg)
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(solids[0], properties)
    return TopoDS.Solid_s(solids[0].Reversed()) if properties.Mass() < 0 else solids[0]


def _patches(body: Body) -> list[Geom_BSplineSurface]:
    """Every face's surface, right side then left; a corner splits the run, so that each face is smooth."""
    bounds = np.concatenate([[body.knots[0]], body.corners, [body.knots[-1]]])
    patches = []
    for first, last in pairwise(bounds):
        knots, poles = _run(body, float(first), float(last))
        for segment in range(body.segments):
            part = poles[:, 3 * segment : 3 * segment + 4]
            for flip in (1.0, -1.0):
                patches += _lengths(_surface(knots, part * (1.0, flip, 1.0)))
    return patches


def _lengths(surface: Geom_BSplineSurface) -> list[Geom_BSplineSurface]:
    """The same surface in faces of ``SPANS`` spans each.

    Programs that read the file ask for its volume without a tolerance: over one face from nose to tail the kernel was
    then 0.15 to 1.1 % off, over these 0.004 % at most. Cuts are quicker for it, too (4.2 s -> 1.1 s at worst).
    """
    knots = [surface.UKnot(i + 1) for i in range(surface.NbUKnots())]
    pieces = []
    for start, end in pairwise([*knots[:-1:SPANS], knots[-1]]):
        piece = surface.Copy()
        piece.Segment(start, end, 0.0, 1.0, SAME_KNOT, SAME_KNOT)
        pieces.append(piece)
    return pieces


def _run(body: Body, first: float, last: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Knots and poles between two corners: with multiplicity 3 there the poles are simply shared out."""
    start = int(np.searchsorted(body.knots, first, side="right")) - 1
    end = int(np.searchsorted(body.knots, last, side="left"))
    inner = body.knots[start + 1 : end]
    knots = np.concatenate([np.full(4, first), inner, np.full(4, last)])
    begin = start - spline.DEGREE
    return knots, body.poles[begin : begin + len(knots) - 4]


def _surface(knots: NDArray[np.float64], poles: NDArray[np.float64]) -> Geom_BSplineSurface:
    from OCP.Geom import Geom_BSplineSurface
    from OCP.gp import gp_Pnt
    from OCP.TColgp import TColgp_Array2OfPnt
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    rows, columns = poles.shape[:2]
    grid = TColgp_Array2OfPnt(1, rows, 1, columns)
    for i in range(rows):
        for j in range(columns):
            grid.SetValue(i + 1, j + 1, gp_Pnt(*(float(c) for c in poles[i, j])))
    distinct, count = np.unique(knots, return_counts=True)
    u, u_count = TColStd_Array1OfReal(1, len(distinct)), TColStd_Array1OfInteger(1, len(distinct))
    for i, (value, times) in enumerate(zip(distinct, count, strict=True), start=1):
        u.SetValue(i, float(value))
        u_count.SetValue(i, int(times))
    v, v_count = TColStd_Array1OfReal(1, 2), TColStd_Array1OfInteger(1, 2)
    for i, value in enumerate((0.0, 1.0), start=1):
        v.SetValue(i, value)
        v_count.SetValue(i, 4)
    return Geom_BSplineSurface(grid, u, v, u_count, v_count, spline.DEGREE, spline.DEGREE, False, False)


def _plane_end(polygon: NDArray[np.float64]) -> TopoDS_Face:
    """The plane face that closes a sized end, bounded by the section's own Béziers."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.Geom import Geom_BezierCurve
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
    from OCP.TColgp import TColgp_Array1OfPnt
    from OCP.TopTools import TopTools_ListOfShape

    edges = TopTools_ListOfShape()
    for segment in range((len(polygon) - 1) // 3):
        for flip in (1.0, -1.0):
            array = TColgp_Array1OfPnt(1, 4)
            for i, point in enumerate(polygon[3 * segment : 3 * segment + 4] * (1.0, flip, 1.0), start=1):
                array.SetValue(i, gp_Pnt(*(float(c) for c in point)))
            edges.Append(BRepBuilderAPI_MakeEdge(Geom_BezierCurve(array)).Edge())
    wire = BRepBuilderAPI_MakeWire()
    wire.Add(edges)
    plane = gp_Pln(gp_Pnt(float(polygon[0, 0]), 0.0, 0.0), gp_Dir(1.0, 0.0, 0.0))
    return BRepBuilderAPI_MakeFace(plane, wire.Wire(), True).Face()
