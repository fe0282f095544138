"""Router programs that cut lips: the sheets of ``lip.sheet.sheet_drawings``, each as a program.

Knows how lips lie on their sheets and where their tabs are marked. Knows no path (profile.py).
"""

from dataclasses import replace
from itertools import count

from bodygen.errors import DesignError
from bodygen.plane.shapes import Placement, Point, Shape, box_of, placed
from bodygen.recipe.model import Cutting, Lip
from bodygen.shop.lip.marks import tab_places, tab_width
from bodygen.shop.lip.plate import LipPlate
from bodygen.shop.lip.sheet import lip_layout
from bodygen.shop.mill.cutters import Cutter, Machine, cutter_named, flat_cutter_near
from bodygen.shop.mill.job import Job, Stock
from bodygen.shop.mill.profile import default_profile, profile_job
from bodygen.tables import load

USUAL_CUTTER = "flat_2"


def lip_cutter(cutting: Cutting, wanted: str | None) -> Cutter:
    """The cutter of the lips' programs.

    Parameters
    ----------
    cutting : Cutting
        For a router its kerf is the cutter's diameter.
    wanted : str, optional
        Row of ``tables/cutters.toml`` that the shop names for flat parts; taken where the kerf says nothing.

    Raises
    ------
    DesignError
        If no flat cutter of the table is about as wide as the kerf.
    """
    named = cutter_named(wanted or USUAL_CUTTER)
    if cutting.process != "router" or cutting.kerf == 0:
        return named
    return flat_cutter_near(cutting.kerf, named)


def lip_jobs(plate: LipPlate, lip: Lip, cutter: Cutter, machine: Machine, through: float) -> tuple[Job, ...]:
    """Cut ``lip.cutting.quantity`` lips, a program for each sheet that they are drawn on, in the same places.

    Parameters
    ----------
    plate : LipPlate
        One lip.
    lip : Lip
        Its recipe: quantity, sheet or offcut, gap, tabs.
    cutter : Cutter
        A flat one.
    machine : Machine
        Limits of feed and height.
    through : float
        How far the cut goes into the waste board [mm].

    Raises
    ------
    DesignError
        If no feeds are known for the sheet, or a program breaks a rule of ``job.checked``.
    """
    material = load("making")["router_material"].get(lip.sheet)
    if material is None:
        msg = f"no feeds are known for {lip.sheet}: cut it by saw"
        raise DesignError(msg)
    cutting, laid = lip.cutting, lip_layout(plate, lip)
    x0, y0, x1, y1 = box_of(cutting.offcut) if cutting.offcut else (0.0, 0.0, *cutting.sheet_size)
    corner = Placement((-x0, -y0))
    piece = tuple(corner.of(point) for point in cutting.offcut)
    stock = Stock(x1 - x0, y1 - y0, plate.thickness, material, through, (), machine.clamp_height, piece)
    plan = replace(default_profile(), tab_width=tab_width(replace(cutting, process="router")))
    jobs = []
    for number, sheet in zip(count(1), laid.sheets, strict=False):
        places = [Placement(corner.of(p.shift), p.angle) for p in sheet.placements]
        shapes: list[Shape] = [placed(plate.outline, p) for p in places]
        shapes += [placed(hole, p) for p in places for hole in plate.holes]
        tabs = [p.of(spot) for p in places for spot in tab_places(plate.outline, cutting)]
        name = "lip" if number == 1 else f"lip-{number}"
        job = profile_job(name, shapes, stock, cutter, plan=plan, machine=machine, centred=False, tab_places=tabs)
        notes = (f"lies as drawn on lip-sheet-{number}.dxf, {_origin(cutting, (x0, y0))}", *job.notes)
        jobs.append(replace(job, notes=notes, pictured=True))
    return tuple(jobs)


def _origin(cutting: Cutting, corner: Point) -> str:
    """Where the program's zero lies on that drawing."""
    if not cutting.offcut:
        return "X0 Y0 the sheet's lower left corner"
    x, y = corner
    return f"X0 Y0 at {x:g}, {y:g} of lip.cutting.offcut, the lower left corner of the box round it"
