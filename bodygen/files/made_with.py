"""What a build was made with: the program itself, Python, and the libraries that shape the bytes of its files.

It stands in ``manifest.json`` alone and decides what a later build may keep. The files themselves do not carry it: the
same bytes from two machines are the same file.
"""

import sys
import zlib
from functools import lru_cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from pathlib import Path

from bodygen.version import VERSION

LIBRARIES = (
    "cadquery-ocp-proxy",  # as old as the kernel, whether it came with its viewer or without
    "ezdxf",
    "gsw",
    "lxml",
    "manifold3d",
    "matplotlib",
    "networkx",
    "numpy",
    "pillow",
    "reportlab",
    "shapely",
    "trimesh",
)
"""Distributions that any file's bytes depend on."""


@lru_cache(maxsize=1)
def made_with() -> dict[str, str]:
    """Name and version of everything that decides what the same recipe becomes; empty for a library that is missing."""
    found = {
        "bodygen": program(),
        "python": f"{sys.implementation.name} {sys.version_info.major}.{sys.version_info.minor}",
        "zlib": zlib.ZLIB_RUNTIME_VERSION,
    }
    return found | {name: _version(name) for name in LIBRARIES}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


@lru_cache(maxsize=1)
def program() -> str:
    """Checksum of the program itself, tables and all: another program may make something else of the same recipe."""
    root = Path(str(files("bodygen")))
    digest = sha256(VERSION.encode())
    for path in sorted([*root.rglob("*.py"), *root.rglob("*.toml")]):
        digest.update(path.relative_to(root).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()
