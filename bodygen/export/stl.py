"""Binary STL: triangles as 32-bit numbers. The format has no unit; ours is mm and the header says so.

Knows bytes. Which triangles, and how fine, was decided in mesh/ (``repair_for_float32`` makes them fit for 32 bits).

References
----------
3D Systems, StereoLithography Interface Specification (1989), binary form: 80 bytes of header, a 32-bit count, then 50
bytes a facet, all little-endian (from memory).
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bodygen.form.triples import doubled_areas
from bodygen.mesh.skin import Mesh
from bodygen.version import VERSION

HEADER_BYTES = 80
FACET = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_stl(mesh: Mesh, path: Path, title: str) -> None:
    """Write one closed mesh [mm]; the same mesh and title give the same bytes.

    ``title`` goes into the header after our name, as far as it fits; letters outside ASCII become "?".
    """
    facets = np.zeros(len(mesh.faces), FACET)
    corners = mesh.vertices.astype(np.float32)[mesh.faces]
    facets["corners"] = corners
    facets["normal"] = _normals(corners)
    # a header that begins with "solid" is taken for the text form by some readers: our name comes first
    header = f"bodygen {VERSION}, unit mm: {title}".encode("ascii", "replace")[:HEADER_BYTES].ljust(HEADER_BYTES)
    path.write_bytes(header + np.uint32(len(facets)).astype("<u4").tobytes() + facets.tobytes())


def _normals(corners: NDArray[np.float32]) -> NDArray[np.float64]:
    """Unit normals of the triangles as written, after rounding: a reader that works them out finds the same."""
    normal = doubled_areas(corners.astype(np.float64))
    return np.asarray(normal / np.linalg.norm(normal, axis=1)[:, None] + 0.0)
