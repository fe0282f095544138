"""Files that are not what their names say, for whatever takes a photograph, a scan or a table."""

import io
import struct
import zipfile
import zlib

import numpy as np

MEGABYTE = 1_000_000


def png(width, height):
    """A picture that says how large it is, and holds no row."""

    def chunk(kind, content):
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(99))) + chunk(b"IEND", b"")


def bomb(megabytes):
    """A 3MF of a few hundred kilobytes that unpacks to so much."""
    kind = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    name = "http://schemas.openxmlformats.org/package/2006/relationships"
    link = f'<Relationships xmlns="{name}"><Relationship Target="/3D/m.model" Id="r" Type="{kind}"/></Relationships>'
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as whole:
        whole.writestr("_rels/.rels", link)
        with whole.open("3D/m.model", "w") as model:
            for _ in range(megabytes):
                model.write(b" " * MEGABYTE)
    return packed.getvalue()


def stl(corners):
    """A binary STL of triangles (n, 3, 3)."""
    rows = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    rows["corners"] = corners
    return bytes(80) + struct.pack("<I", len(corners)) + rows.tobytes()


def loose(count=200, **changed):
    """Triangles that hold no body; ``at`` = value: a corner that is that."""
    corners = np.random.default_rng(1).normal(size=(count, 3, 3))
    if "corner" in changed:
        corners[count // 2, 1] = changed["corner"]
    return stl(corners)


SPOILT = {
    "words.jpg": b"no picture at all " * 50,
    "empty.png": b"",
    "vast.png": png(30_000, 30_000),
    "scan.png": loose(),
    "picture.stl": png(800, 600),
    "no-number.stl": loose(corner=np.nan),
    "endless.stl": loose(corner=np.inf),
    "loose.stl": loose(),
    "half.stl": loose()[:5000],
    "empty.stl": b"",
    "words.obj": b"v one two three\nf 1 2 3\n",
    "nowhere.obj": b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n",
    "promises.ply": b"ply\nformat ascii 1.0\nelement vertex 999999999\nproperty float x\nend_header\n0\n",
    "words.3mf": b"PK no archive",
    "letters.csv": b"x_mm,top_mm,bottom_mm,half_width_mm\n0,a,0,0\n",
    "header.csv": b"x_mm,top_mm\n0,0\n",
    "not-text.csv": b"\xff\xfe\x00\x80" * 99,
}  # fmt: skip
