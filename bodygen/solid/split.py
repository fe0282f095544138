"""Halves and master by the CAD kernel: the body parted at y = 0, or held between two stubs.

Is given the pins, stubs and holes as tools; where they go was decided in shop/jigs/.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bodygen.errors import DesignError
from bodygen.form.cuts import Prism
from bodygen.form.facing import Side, outwards
from bodygen.solid.cut import FUZZ_MM, cut_solid, tool_solid, with_most_marks, without_mark
from bodygen.solid.skin import sound

if TYPE_CHECKING:
    from collections.abc import Sequence

    from OCP.TopoDS import TopoDS_Shape

    from bodygen.form.cuts import Tool


CLEAR_MM = 2.0
"""How far the block that parts the left half off reaches beyond the body."""


def halves(cut_body: TopoDS_Shape, pins: Sequence[Tool]) -> dict[Side, TopoDS_Shape]:
    """Both halves of a cut body with their pin holes, unchecked (``skin.sound`` asks whether each is one valid solid).

    Where body, pins and the mid-plane meet is worked out once for both.

    Raises
    ------
    DesignError
        When the kernel cannot part it.
    """
    from OCP.BOPAlgo import BOPAlgo_CellsBuilder
    from OCP.TopTools import TopTools_ListOfShape

    drills, left_room = [tool_solid(pin) for pin in pins], tool_solid(_left_of(cut_body))

    def listed(*shapes: TopoDS_Shape) -> TopTools_ListOfShape:
        found = TopTools_ListOfShape()
        for shape in shapes:
            found.Append(shape)
        return found

    def attempt(fuzz: float) -> tuple[dict[Side, TopoDS_Shape], int]:
        cells = BOPAlgo_CellsBuilder()
        cells.SetArguments(listed(cut_body, *drills, left_room))
        cells.SetRunParallel(True)
        cells.SetNonDestructive(True)
        cells.SetFuzzyValue(fuzz)
        cells.SetCheckInverted(False)
        cells.Perform()
        if cells.HasErrors():
            msg = "the CAD kernel could not part the body into halves"
            raise DesignError(msg)
        made: dict[Side, TopoDS_Shape] = {}
        missing = 0
        rooms: dict[Side, tuple[list[TopoDS_Shape], list[TopoDS_Shape]]] = {
            "right": ([], [left_room]),
            "left": ([left_room], []),
        }
        for side, (within, outside) in rooms.items():
            cells.RemoveAllFromResult()
            cells.AddToResult(listed(cut_body, *within), listed(*drills, *outside))
            made[side] = cells.Shape()
            missing += without_mark(cells, [*drills, left_room])
        return made, missing

    return with_most_marks(attempt)


def with_stubs(body: TopoDS_Shape, stubs: Sequence[Tool], centre_holes: Sequence[Tool]) -> TopoDS_Shape:
    """The body with its stubs added and the centre holes cut.

    Raises
    ------
    DesignError
        When the kernel cannot join them, or does not find exactly one valid solid in the result.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse
    from OCP.TopTools import TopTools_ListOfShape

    arguments, added = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(body)
    for stub in stubs:
        added.Append(tool_solid(stub))
    operation = BRepAlgoAPI_Fuse()
    operation.SetArguments(arguments)
    operation.SetTools(added)
    operation.SetFuzzyValue(FUZZ_MM)
    operation.SetCheckInverted(False)
    operation.Build()
    if not operation.IsDone():
        msg = "the CAD kernel could not join the stubs to the body"
        raise DesignError(msg)
    return sound(cut_solid(operation.Shape(), centre_holes))


def _left_of(body: TopoDS_Shape) -> Prism:
    """A block on the left of the mid-plane, clear of the body all round."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.Add_s(body, box)
    x0, y0, z0, x1, y1, z1 = box.Get()
    half_thickness = (max(abs(y0), abs(y1)) + CLEAR_MM) / 2
    a0, a1, b0, b1 = x0 - CLEAR_MM, x1 + CLEAR_MM, z0 - CLEAR_MM, z1 + CLEAR_MM
    middle = outwards("left") * half_thickness
    outline = ((a0, b0), (a1, b0), (a1, b1), (a0, b1))
    return Prism(
        "other half",
        "parting",
        (0.0, middle, 0.0),
        (1.0, 0.0, 0.0),
        (0.0, 0.0, 1.0),
        outline,
        half_thickness,
        half_thickness,
    )
