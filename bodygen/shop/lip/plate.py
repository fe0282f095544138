"""The lip's plate: its outline with the tongue that goes into the slot, its tie hole, and what to doubt about them.

Knows the recipe's lip and the tables of sheet and outlines. Knows no file and no body: the body's width at the slot
comes in as a number. Plate axes: x along the plate, 0 at the slot's mouth, positive to the tip, the tongue negative;
y across.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from bodygen.errors import DesignError
from bodygen.findings import Finding, Severity
from bodygen.plane.arcs import distance
from bodygen.plane.kerf import tight_corners
from bodygen.plane.shapes import Circle, Loop, Point
from bodygen.recipe.model import Lip
from bodygen.shop.lip.marks import mark_findings
from bodygen.shop.lip.outline import exposed_part, fitted_outline, profile_of, tongue_width
from bodygen.tables import COMMON_PRACTICE, load


@dataclass(frozen=True, slots=True)
class LipPlate:
    """A plate ready to cut; lengths [mm], areas [mm^2] with the holes taken out, centroids in plate axes [mm].

    ``outline`` is the whole plate and ``exposed`` its part outside the slot, both counter-clockwise and without holes.
    ``slot_thickness`` and ``slot_width`` (None: right across) are the slot that this tongue was made for.
    """

    outline: Loop
    exposed: Loop
    holes: tuple[Circle, ...]
    tongue_width: float
    tongue_length: float
    exposed_length: float
    width: float
    thickness: float
    slot_thickness: float
    slot_width: float | None
    corner_radius: float
    area: float
    centroid: Point
    exposed_area: float
    exposed_centroid: Point

    @property
    def volume(self) -> float:
        """Volume of the plate [mm^3]."""
        return self.area * self.thickness


def lip_plate(lip: Lip, body_width: float | None = None) -> tuple[LipPlate, tuple[Finding, ...]]:
    """Plate of a recipe's lip, and the findings about it.

    Parameters
    ----------
    lip : Lip
        As read from the recipe.
    body_width : float, optional
        Width of the body at the slot's mouth [mm], for a slot right across; None: not known.

    Returns
    -------
    plate : LipPlate
        Exposed length and greatest width as told, the tongue shorter than the slot by the end gap of ``lips.toml``.
    findings : tuple of Finding
        Keys as in the recipe.

    Raises
    ------
    DesignError
        If the sheet or outline is in no table, or no plate can be made of the numbers.
    """
    rules = load("lips")
    profile = profile_of(lip)
    tongue = tongue_width(lip, 2 * profile[0][1] * lip.width, body_width, rules["tongue"]["same_width_mm"])
    return _with_tongue(lip, tongue)


@lru_cache(maxsize=64)
def _with_tongue(lip: Lip, tongue: float) -> tuple[LipPlate, tuple[Finding, ...]]:
    rules = load("lips")
    tongue_length = lip.slot_depth - rules["tongue"]["end_gap_mm"]
    if tongue_length <= 0:
        msg = (
            f"lip.slot_depth = {lip.slot_depth:g} mm leaves no tongue: it must be more than the "
            f"{rules['tongue']['end_gap_mm']:g} mm kept free for glue at the slot's bottom"
        )
        raise DesignError(msg)
    outline, radius = fitted_outline(lip, profile_of(lip), tongue, tongue_length)
    exposed = exposed_part(outline)
    holes: tuple[Circle, ...] = ()
    if lip.tie_hole:
        holes = (Circle((lip.tie_hole.distance, 0.0), lip.tie_hole.diameter / 2),)
    area, centroid = _less_holes(outline, holes)
    exposed_area, exposed_centroid = _less_holes(exposed, holes)
    plate = LipPlate(
        outline=outline,
        exposed=exposed,
        holes=holes,
        tongue_width=tongue,
        tongue_length=tongue_length,
        exposed_length=lip.length,
        width=lip.width,
        thickness=lip.thickness,
        slot_thickness=lip.thickness + lip.fit,
        slot_width=lip.slot_width,
        corner_radius=radius,
        area=area,
        centroid=centroid,
        exposed_area=exposed_area,
        exposed_centroid=exposed_centroid,
    )
    return plate, (*_shape_findings(lip, plate), *_cutting_findings(lip, plate))


def _less_holes(outline: Loop, holes: tuple[Circle, ...]) -> tuple[float, Point]:
    """Area and centroid with the holes taken out."""
    whole, middle = outline.area, outline.centroid
    area = whole - sum(h.area for h in holes)
    x, y = (whole * middle[k] - sum(h.area * h.centroid[k] for h in holes) for k in (0, 1))
    return area, (x / area, y / area)


def _shape_findings(lip: Lip, plate: LipPlate) -> list[Finding]:
    rules = load("lips")
    found = []
    if plate.corner_radius < lip.corner_radius:
        remedy = "cut with {}, the largest that fits: make the plate or tongue wider to have more"
        found.append(
            Finding(
                "lip-corner-radius",
                "warning",
                "lip.corner_radius",
                remedy,
                lip.corner_radius,
                plate.corner_radius,
                "mm",
                lengths=(plate.corner_radius,),
            )
        )
    if lip.slot_width is not None and plate.tongue_width > lip.slot_width:
        remedy = "make the tongue {} wide or the slot {}"
        fitting = (lip.slot_width - lip.fit, plate.tongue_width + lip.fit)
        where, value, limit = "lip.tongue_width", plate.tongue_width, lip.slot_width
        found.append(Finding("lip-tongue-too-wide", "error", where, remedy, value, limit, "mm", lengths=fitting))
    if lip.outline == "points":
        told = max(p[0] for p in lip.points), 2 * max(p[1] for p in lip.points)
        for key, asked, value in (("length", lip.length, told[0]), ("width", lip.width, told[1])):
            if abs(asked - value) > 0.005 * asked:
                remedy = f"the points were stretched to lip.{key}: draw them to {{}}, or change lip.{key}"
                doubt = Finding("lip-points-stretched", "warning", "lip.points", remedy, value, asked, "mm")
                found.append(replace(doubt, lengths=(asked,)))
    ratio, row = lip.width**2 / plate.exposed.area, rules["aspect_ratio"]
    if not row["tested_low"] <= ratio <= row["tested_high"]:
        limit = row["tested_low"] if ratio < row["tested_low"] else row["tested_high"]
        remedy = "outside what has been tested in a flume: try one on the water before you cut more"
        found.append(Finding("lip-aspect-ratio", "note", "lip.width", remedy, ratio, limit, "", row["source"]))
    return found + [f for hole in plate.holes for f in _hole_findings(plate, hole)]


def _hole_findings(plate: LipPlate, hole: Circle) -> list[Finding]:
    rules = load("lips")["tie_hole"]
    if hole.centre[0] < hole.radius:
        remedy = "move it to {} or more from the slot's mouth: it is in the wood now"
        where, value, least = "lip.tie_hole.distance", hole.centre[0], hole.radius
        return [Finding("lip-hole-in-slot", "error", where, remedy, value, least, "mm", lengths=(least,))]
    to_edge = min(distance(piece, hole.centre) for piece in plate.outline.pieces)
    inside = hole.centre[0] < plate.exposed_length
    left = (to_edge if inside else -to_edge) - hole.radius
    least = max(rules["least_edge_mm"], rules["least_edge_diameters"] * 2 * hole.radius)
    if left >= least:
        return []
    severity: Severity = "error" if left <= 0 else "warning"
    remedy = "move the hole towards the middle of the plate, or drill it smaller"
    where = "lip.tie_hole.distance"
    return [Finding("lip-hole-near-edge", severity, where, remedy, left, least, "mm", rules["source"])]


def _cutting_findings(lip: Lip, plate: LipPlate) -> list[Finding]:
    sheets = load("sheet")["sheet"]
    if lip.sheet not in sheets:
        msg = f'lip.sheet = "{lip.sheet}": no such sheet; there are {", ".join(sheets)}'
        raise DesignError(msg)
    row, cutting, found = sheets[lip.sheet], lip.cutting, []
    if "lip" not in row["use"]:
        remedy = f"{row['name']} is not a sheet for lips. {row.get('note', '')}".strip()
        source = row.get("note_source", COMMON_PRACTICE)
        found.append(Finding("lip-sheet-unsuitable", "warning", "lip.sheet", remedy, source=source))
    if cutting.process == "laser" and row["co2_laser"] != "yes":
        says = {
            "poor": "chars and melts under a CO2 laser, and most shops refuse it: saw or rout it",
            "no": "must not go under a CO2 laser: saw or rout it",
            "never": "gives poison gas under a laser and ruins the machine: never laser it",
        }[row["co2_laser"]]
        remedy = f"{row['name']} {says} (see the cautions {', '.join(row['cautions'])})"
        severity: Severity = "warning" if row["co2_laser"] == "poor" else "error"
        source = row["co2_laser_source"]
        found.append(Finding("lip-sheet-laser", severity, "lip.cutting.process", remedy, source=source))
    if cutting.process != "hand" and cutting.kerf == 0:
        remedy = "measure the width of the cut and write it down: without it the part comes out small by that much"
        found.append(Finding("lip-kerf-unknown", "warning", "lip.cutting.kerf", remedy, cutting.kerf, None, "mm"))
    return found + mark_findings(plate.outline, lip) + _kerf_findings(lip, plate)


def _kerf_findings(lip: Lip, plate: LipPlate) -> list[Finding]:
    kerf, process = lip.cutting.kerf, lip.cutting.process
    if process == "hand" or kerf == 0:
        return []
    found = []
    for hole in plate.holes:
        if hole.radius <= kerf / 2:
            remedy = (
                "the cut is as wide as the hole, which is marked only: drill it after cutting, or a narrower cutter"
            )
            where, value = "lip.tie_hole.diameter", 2 * hole.radius
            found.append(Finding("lip-hole-too-small-to-cut", "warning", where, remedy, value, kerf, "mm"))
    for corner in tight_corners(plate.outline, kerf, "outside"):
        remedy = (
            f"{corner.left_over:.2f} mm stay uncut in the corner at x {corner.at[0]:.1f}, y {corner.at[1]:.1f} of the "
            "plate: a larger lip.corner_radius, a narrower cutter, or finish it with a file"
        )
        severity: Severity = "warning" if process == "router" else "note"
        where, limit = "lip.corner_radius", kerf / 2
        found.append(Finding("lip-corner-too-tight", severity, where, remedy, corner.radius, limit, "mm"))
    return found
