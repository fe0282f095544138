"""``[lip]``: the plate, its slot and how it is cut.

Knows which sheets make lips and under which labels they are sold. Knows nothing of the body the slot is cut into.
"""

from itertools import combinations, pairwise
from typing import Any

from bodygen import tables
from bodygen.recipe.keys import Key
from bodygen.recipe.model import Bend, Cutting, Lip, Mouth, TieHole
from bodygen.recipe.text.read_context import ReadContext, Values, no_such_name, read_value

_DISTANCE = Key("length", "place_along_mm")
_HALF_WIDTH = Key("length", "lip_half_width_mm")
_OFFCUT = Key("lengths", "place_mm", count=2)
_END_WIDTH = Key("length", "place_along_mm")
BY_POINTS = "points"
AGREES = 0.01  # mm: a length written twice may differ by no more than this


def read_lip(ctx: ReadContext, values: Values) -> Lip | None:
    """Make the lip; None where a mistake stands in the way."""
    entry = values.get("from", "belly")
    if entry == "belly" and "x" not in values and "lip.x" not in ctx.written:
        ctx.missing("lip.x", 'where the slot meets the belly; or from = "nose" and height')
    if entry == "belly" and "height" in values:
        ctx.fault("lip.height", 'goes with from = "nose" only.', 'with from = "belly": x')
    if entry == "nose" and "x" in values:
        ctx.fault("lip.x", 'does not go with from = "nose".', 'with from = "nose": height')
    thickness = _thickness(ctx, values)
    points = _points(ctx, values["points"]) if "points" in values else ()
    outline = values.get("outline", BY_POINTS if points else tables.load("outlines")["default"]["lip"])
    families = tables.load("outlines")["lip"]
    if outline != BY_POINTS and outline not in families:
        no_such_name(ctx, "lip.outline", outline, (*families, BY_POINTS))
    if outline != BY_POINTS and points:
        ctx.fault("lip.points", f'does not go with outline = "{outline}".', "a family's name or points, not both")
    if outline == BY_POINTS and "points" not in values:
        ctx.missing("lip.points", "[[distance from the slot's mouth, half width], ...]")
    length = _size(ctx, values, "length", points[-1][0] if points else None)
    width = _size(ctx, values, "width", 2 * max(half for _, half in points) if points else None)
    cutting = _cutting(ctx, values.get("cutting", {}))
    bend = Bend(**values["bend"]) if {"distance", "angle"} <= values.get("bend", {}).keys() else None
    if bend and length is not None and bend.distance >= length:
        ctx.fault("lip.bend.distance", "not on the plate that shows.", f"less than {ctx.length_text(length)}")
    if ctx.mistakes or thickness is None or length is None or width is None:
        return None
    direct: dict[str, Any] = {
        key: values[key]
        for key in ("x", "height", "fit", "slot_width", "corner_radius", "tongue_width", "mass")
        if key in values
    }
    return Lip(
        sheet=values["sheet"],
        thickness=thickness,
        angle=values["angle"],
        slot_depth=values["slot_depth"],
        length=length,
        width=width,
        entry=entry,
        mouth=Mouth(**values["mouth"]) if "mouth" in values else None,
        outline=outline,
        points=points,
        tie_hole=TieHole(**values["tie_hole"]) if "tie_hole" in values else None,
        cutting=cutting,
        bend=bend,
        **direct,
    )


def _cutting(ctx: ReadContext, values: Values) -> Cutting:
    """Read how lips are cut; an offcut takes the sheet's place, and a saw leaves no tabs."""
    if "offcut" in values and "sheet_size" in values:
        ctx.fault("lip.cutting.sheet_size", "does not go with offcut.", "one of the two")
    if values.get("tabs") and values.get("process", "hand") == "hand":
        ctx.fault("lip.cutting.tabs", 'does not go with process = "hand".', "laser or router")
    if "tab_width" in values and not values.get("tabs"):
        ctx.fault("lip.cutting.tab_width", "there are no tabs.", "lip.cutting.tabs = 2, or without tab_width")
    corners = _offcut(ctx, values["offcut"]) if "offcut" in values else ()
    return Cutting(**{**values, "offcut": corners})


def _offcut(ctx: ReadContext, raw: object) -> tuple[tuple[float, float], ...]:
    """Read the corners of a left-over piece [mm]; it may have any shape that does not cross itself."""
    accepted = "three or more corners [x, y] in turn"
    if not isinstance(raw, list) or len(raw) < 3:
        ctx.fault("lip.cutting.offcut", "not an outline.", accepted)
        return ()
    read = [read_value(ctx, f"lip.cutting.offcut[{number}]", row, _OFFCUT) for number, row in enumerate(raw, start=1)]
    points = tuple(point for point in read if isinstance(point, tuple))
    if len(points) < len(raw):
        return ()
    sides = list(pairwise((*points, points[0])))
    corners = zip(sides, (*sides[1:], sides[0]), strict=True)
    apart = [(a, b) for (i, a), (j, b) in combinations(enumerate(sides), 2) if 1 < j - i < len(sides) - 1]
    if any(_turns_back(*pair) for pair in corners) or any(_meet(*pair) for pair in apart):
        ctx.fault("lip.cutting.offcut", "the outline meets itself.", accepted)
        return ()
    return points


_Side = tuple[tuple[float, float], tuple[float, float]]


def _turns_back(first: _Side, second: _Side) -> bool:
    """Whether the second side runs back along the first, or one of them has no length."""
    (ux, uy), (vx, vy) = ((b[0] - a[0], b[1] - a[1]) for a, b in (first, second))
    return ux * vy == uy * vx and ux * vx + uy * vy <= 0


def _meet(first: _Side, second: _Side) -> bool:
    """Whether two sides have a point in common; sides on one line count where their boxes meet."""

    def left(side: _Side, point: tuple[float, float]) -> float:
        (ax, ay), (bx, by) = side
        return (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)

    boxes = all(
        max(first[0][k], first[1][k]) >= min(second[0][k], second[1][k])
        and max(second[0][k], second[1][k]) >= min(first[0][k], first[1][k])
        for k in (0, 1)
    )
    return (
        boxes
        and left(first, second[0]) * left(first, second[1]) <= 0
        and left(second, first[0]) * left(second, first[1]) <= 0
    )


def labels(sheet: str) -> dict[str, float]:
    """Labels a sheet is sold under, each with its real thickness [mm]."""
    row = tables.load("sheet")["sheet"][sheet]
    return {label: float(thickness) for label, thickness, _ in row.get("sizes", []) + row.get("sizes_metric", [])}


def _thickness(ctx: ReadContext, values: Values) -> float | None:
    """Take the measured thickness, or look the label up; the sheet must be one that lips are made of."""
    sheet = values.get("sheet")
    if sheet is None:
        return None
    known = tables.load("sheet")["sheet"]
    fit = tuple(name for name, row in known.items() if "lip" in row["use"])
    if sheet not in known:
        no_such_name(ctx, "lip.sheet", sheet, fit)
        return None
    if sheet not in fit:
        why = known[sheet].get("note", "")
        ctx.fault("lip.sheet", f"not a sheet for lips. {why}".strip(), ", ".join(fit))
        return None
    nominal = values.get("nominal")
    if nominal is not None and nominal not in labels(sheet):
        sold = ", ".join(f'"{label}"' for label in labels(sheet)) or "none known for this sheet"
        ctx.fault("lip.nominal", f"{sheet} is not listed under this label.", f"{sold}; or thickness as measured")
    elif nominal is None and "lip.thickness" not in ctx.written:
        ctx.missing("lip.thickness", "the sheet's measured thickness, or nominal = the label it is sold under")
    thickness: float | None = values.get("thickness", labels(sheet).get(nominal or ""))
    return thickness


def _points(ctx: ReadContext, raw: object) -> tuple[tuple[float, float], ...]:
    """Read (distance, half width) [mm] from the mouth outwards."""
    if not isinstance(raw, list) or len(raw) < 2:
        ctx.fault("lip.points", "not a list of points.", "two or more [distance, half width], the first at distance 0")
        return ()
    points: list[tuple[float, float]] = []
    before = len(ctx.mistakes)
    for number, row in enumerate(raw, start=1):
        place = f"lip.points[{number}]"
        if not isinstance(row, list) or len(row) != 2:
            ctx.fault(place, "not a point.", "[distance, half width]")
            continue
        distance = read_value(ctx, f"{place}[1]", row[0], _DISTANCE)
        half = read_value(ctx, f"{place}[2]", row[1], _END_WIDTH if number == len(raw) else _HALF_WIDTH)
        if not isinstance(distance, float) or not isinstance(half, float):
            continue
        if points and distance <= points[-1][0]:
            ctx.fault(place, "not farther out than the point before it.", "distance growing from the mouth to the tip")
        if number == 1 and distance != 0:
            ctx.fault(place, "does not start at the slot's mouth.", "distance 0 in the first point")
        points.append((distance, half))
    return tuple(points) if len(ctx.mistakes) == before else ()


def _size(ctx: ReadContext, values: Values, key: str, drawn: float | None) -> float | None:
    """Take the exposed length or width as written, or as the points draw it; both must agree [mm]."""
    written = values.get(key)
    if drawn is None:
        if written is None and f"lip.{key}" not in ctx.written and "points" not in values:
            ctx.missing(f"lip.{key}", f"the plate's exposed {key}; only an outline by points does without")
        return written
    if written is not None and abs(written - drawn) > AGREES:
        ctx.fault(f"lip.{key}", "not what the points draw.", f"{ctx.length_text(drawn)}, or leave it out")
    return drawn
