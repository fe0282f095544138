"""What is written on a cradle: what it is, whose, its nose and tail, and which side of the body is where.

Knows a cradle's sides. Knows where words find room through face_label.py.
"""

from typing import Literal
from unicodedata import normalize

import manifold3d
import numpy as np

from bodygen.findings import Finding
from bodygen.mesh.cut import cut_with
from bodygen.shop.face_label import Face, FaceLabel, Letters, letters_on
from bodygen.shop.jigs.fastening import CradleSize

Holder = Literal["belly-up", "back-up", "left-jaw", "right-jaw"]
NAMES: dict[Holder, str] = {
    "belly-up": "CRADLE BELLY UP",
    "back-up": "CRADLE BACK UP",
    "left-jaw": "LEFT JAW",
    "right-jaw": "RIGHT JAW",
}
SIDES: dict[Holder, tuple[str, str]] = {
    "belly-up": ("RIGHT", "LEFT"),
    "back-up": ("LEFT", "RIGHT"),
    "left-jaw": ("BACK", "BELLY"),
    "right-jaw": ("BELLY", "BACK"),
}
"""The side of the body that lies at a cradle's least and greatest y."""
NEAR_MM = 25.0
"""NOSE and TAIL stand no farther than this from their ends."""


def letters_of(size: CradleSize) -> Letters:
    """Letters as a cradle has them."""
    return Letters(size.letter, size.least_letter, size.engraved, size.least_wall)


def named(
    piece: manifold3d.Manifold, holder: Holder, bait: str, number: tuple[int, int], letters: Letters
) -> tuple[manifold3d.Manifold, list[Finding]]:
    """Letter both long sides of a cradle, or of a piece of one.

    Parameters
    ----------
    piece : Manifold
        Its least corner at the origin, x from nose to tail [mm].
    holder : Holder
        Which cradle.
    bait : str
        The recipe's name.
    number : (int, int)
        Which piece of how many.
    letters : Letters
        Their size.
    """
    _, _, _, x1, y1, _ = piece.bounding_box()
    x, y, z = np.eye(3)
    kind = NAMES[holder] + (f" {number[0]}" if number[1] > 1 else "")
    ends = [FaceLabel(("NOSE",), 10.0, NEAR_MM)] if number[0] == 1 else []
    ends += [FaceLabel(("TAIL",), x1 - 10.0, NEAR_MM)] if number[0] == number[1] else []
    plain = normalize("NFKD", bait).encode("ascii", "ignore").decode().upper()
    missing: list[set[tuple[str, ...]]] = []
    tools: list[manifold3d.Manifold] = []
    for face, side in zip((Face(0.0 * y, x, z), Face(y1 * y, -x, z)), SIDES[holder], strict=True):
        way = float(face.right[0])
        wanted = [
            *ends,
            FaceLabel((side,), 0.3 * x1, x1),
            *(FaceLabel((words,), 0.6 * x1, x1) for words in (kind, plain)),
        ]
        turned = [FaceLabel(label.lines, way * label.near, label.within) for label in wanted]
        sunk, left = letters_on(piece, [face], turned, letters)
        tools += sunk
        missing.append({label.lines for label in left})
    nowhere, piece = missing[0] & missing[1], cut_with(piece, tools)
    if (kind,) in nowhere:
        _, _, _, x1, y1, _ = piece.bounding_box()
        ends_of = (Face(0.0 * x, -y, z), Face(x1 * x, y, z))
        first, _, rest = kind.partition(" ")
        for lines in ((kind,), (first, rest)):
            sunk, left = letters_on(piece, ends_of, [FaceLabel(lines, 0.0, y1)], letters)
            if not left:
                piece = cut_with(piece, sunk)
                nowhere -= {(kind,)}
                break
    nowhere |= {(side,) for side, without in zip(SIDES[holder], missing, strict=True) if (side,) in without}
    if lost := sorted({" ".join(lines) for lines in nowhere} - {plain}):
        remedy = f"no room on it for {', '.join(lost)}: write it on by hand"
        return piece, [Finding("jig-no-label", "note", holder, remedy)]
    return piece, []
