"""What a picture shows beside the body, as tables of a recipe to look at and to take the comment signs off.

What no picture shows, how deep a hole is and which drill made it, stands there as it usually is, and is said so.
Knows places in mm. Reads no picture.
"""

from math import degrees

from bodygen.recipe.starter import EYE_DEPTH, LIP_THICKNESS, PILOTS, usual_sizes
from bodygen.scan.record import Part, Proposed
from bodygen.units import INCH

_HOLES: dict[Part, tuple[str, str]] = {
    "hanger": ("hanger", "belly"),
    "line tie": ("tie", "nose"),
    "tail hanger": ("hanger", "tail"),
}
"""What kind of hole holds each, and from where it is drilled."""
UNSEEN = "# not seen; as usual"


def proposed_lines(parts: tuple[Proposed, ...], length: float, film: float, ruler: str) -> list[str]:
    """Comment lines: each part's table.

    Parameters
    ----------
    parts : tuple of Proposed
        What was seen, in the traced skin's axes.
    length, film : float
        Of the body, and how thick the coats are that were taken off it [mm].
    ruler : str
        ``mm`` or ``in``.
    """
    tables = []
    for i, part in enumerate(parts):
        number = [other.kind for other in parts[: i + 1]].count(part.kind)
        tables.append(_table(part, number, length, film, ruler))
    if not any(tables):
        return []
    said = "Proposed, as the photograph shows it: hold it against the bait, then take the # off what is right."
    return ["", f"# {said}", *(f"# {line}".rstrip() for table in tables if table for line in ["", *table])]


def _table(part: Proposed, number: int, length: float, film: float, ruler: str) -> list[str]:
    def text(millimetres: float) -> str:
        return f'"{millimetres:.1f} mm"' if ruler == "mm" else f'"{millimetres / float(INCH):.3f} in"'

    usual = usual_sizes(length)
    x, z = text(max(part.x - film, 0.0)), text(part.z)
    if part.kind == "eye" and part.size is not None:
        size, depth = f"diameter = {text(part.size)}", f'depth = "{EYE_DEPTH}"  {UNSEEN}'
        return ["[[bore]]", 'name = "eye"', 'kind = "eye"', f"x = {x}", f"height = {z}", size, depth, 'tip = "flat"']
    if part.angle is not None and part.size is not None:
        return [
            "[lip]",
            f'sheet = "polycarbonate"  {UNSEEN}',
            f'thickness = "{LIP_THICKNESS}"  {UNSEEN}',
            f'angle = "{degrees(part.angle):.0f} deg"',
            f"x = {x}",
            f"slot_depth = {text(usual['slot_depth'])}  {UNSEEN}",
            f"length = {text(part.size)}",
            f"width = {text(usual['lip_width'])}  {UNSEEN}",
        ]
    if part.kind not in _HOLES:
        return []
    kind, start = _HOLES[part.kind]
    place, share = (f"x = {x}", "hanger_depth") if start == "belly" else (f"height = {z}", "end_depth")
    drill, depth = f'drill = "{PILOTS[ruler]}"  {UNSEEN}', f"depth = {text(usual[share])}  {UNSEEN}"
    name = f'name = "{part.kind} {number}"'
    return ["[[bore]]", name, f'kind = "{kind}"', f'from = "{start}"', place, drill, depth]
