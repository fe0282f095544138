"""3MF: named meshes with their unit, in a ZIP package of the standard library. Same meshes and names, same bytes.

Knows the package and its markup. Which triangles, and how fine, was decided in mesh/ (``float32.py`` makes them fit).

References
----------
3MF Consortium, 3D Manufacturing Format Core Specification & Reference Guide, version 1.3; clauses were read in the
1.2.4 text: 1.1 (ZIP, deflate), 2.1.1 and C.2 (start part relationship), 2.3.2 (UTF-8, no DTD), 3.3 (positive octant),
table 3-1 (Title, Application), 4.1 (closed, turned outwards), 4.1.3 (no vertex twice). Parts list and relations:
ECMA-376 part 2, Open Packaging Conventions.
"""

from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import numpy as np

from bodygen.mesh.skin import Mesh
from bodygen.version import VERSION

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
RELATION_TYPE = "application/vnd.openxmlformats-package.relationships+xml"
FIRST_DATE = (1980, 1, 1, 0, 0, 0)
"""The earliest that a ZIP can say: with a clock no two builds are alike."""
XML = '<?xml version="1.0" encoding="UTF-8"?>\n'

CONTENT_TYPES = (
    f'{XML}<Types xmlns="{PACKAGE}/content-types">'
    f'<Default Extension="rels" ContentType="{RELATION_TYPE}"/>'
    f'<Default Extension="model" ContentType="{MODEL_TYPE}"/></Types>\n'
)
RELATIONS = (
    f'{XML}<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Target="/3D/3dmodel.model" Id="start" Type="{START_PART}"/></Relationships>\n'
)


def write_threemf(parts: Sequence[tuple[str, Mesh]], path: Path, title: str) -> None:
    """Write named closed meshes [mm] as one model, each part an object of its own.

    The vertices stay in body axes; one shift of the whole build brings it into the positive octant, as the
    specification asks, so that the parts keep their places to each other.
    """
    low = np.floor(np.min([mesh.vertices.min(axis=0) for _, mesh in parts], axis=0))
    shift = " ".join(str(0.0 - value) for value in low.tolist())
    objects = "".join(_object(number, name, mesh) for number, (name, mesh) in enumerate(parts, start=1))
    items = "".join(
        f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {shift}"/>' for number in range(1, len(parts) + 1)
    )
    model = (
        f'{XML}<model unit="millimeter" xml:lang="en" xmlns="{CORE}">\n'
        f'<metadata name="Title">{escape(title)}</metadata>\n'
        f'<metadata name="Application">bodygen {escape(VERSION)}</metadata>\n'
        f"<resources>\n{objects}</resources>\n<build>{items}</build>\n</model>\n"
    )
    with ZipFile(path, "w") as package:
        for name, text in (
            ("[Content_Types].xml", CONTENT_TYPES),
            ("_rels/.rels", RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            entry = ZipInfo(name, FIRST_DATE)
            entry.compress_type = ZIP_DEFLATED
            entry.create_system = 0  # left alone, it tells on which system the file was made
            package.writestr(entry, text.encode())


def _object(number: int, name: str, mesh: Mesh) -> str:
    # as text, a 32-bit number is the shortest that reads back as itself
    corners = mesh.vertices.astype(np.float32).astype(str).tolist()
    vertices = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>\n' for x, y, z in corners)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in mesh.faces.tolist())
    return (
        f'<object id="{number}" type="model" name={quoteattr(name)}><mesh>\n'
        f"<vertices>\n{vertices}</vertices>\n<triangles>\n{triangles}</triangles>\n</mesh></object>\n"
    )
