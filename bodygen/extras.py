"""What an installation may do without: the libraries of each extra, and what to say where one is not there.

Weighing, floating and ballasting need none of them. ``pyproject.toml`` has the same list as distributions to install.
"""

from collections.abc import Iterable, Mapping
from importlib.util import find_spec

from bodygen.errors import BodygenError

EXTRAS: Mapping[str, tuple[str, ...]] = {
    "cad": ("OCP",),
    "paper": ("ezdxf", "matplotlib", "PIL", "reportlab", "shapely"),
    "mill": ("matplotlib", "PIL", "shapely"),
    # a bait traced from a photograph, and the page that it lies on
    "photo": ("PIL", "cv2", "reportlab"),
    "scan": ("scipy",),
    "page": ("starlette", "uvicorn"),
    "study": ("dask", "distributed", "pyarrow", "rectpack", "scipy"),
}
"""Modules by the name of the extra that brings them."""


class MissingExtraError(BodygenError):
    """Something was asked for that needs an extra which is not installed."""

    exit_code = 2


def missing(extras: Iterable[str]) -> tuple[str, ...]:
    """Those of the extras that are not installed, as far as can be seen without loading them."""
    return tuple(extra for extra in extras if any(find_spec(module) is None for module in EXTRAS[extra]))


def refuse_missing(needs: Mapping[str, tuple[str, ...]], otherwise: str = "") -> None:
    """Tell a person in one line what to install.

    Parameters
    ----------
    needs : mapping
        What was asked for, each with the extras that it needs.
    otherwise : str
        What can be had without: "--only {}", where {} stands for all that was asked for and needs no more.

    Raises
    ------
    MissingExtraError
        Where an extra is not installed.
    """
    absent = missing(extra for extra in EXTRAS if any(extra in extras for extras in needs.values()))
    if not absent:
        return
    lacks = [f"{extra} (for {', '.join(name for name in needs if extra in needs[name])})" for extra in absent]
    can = [name for name, extras in needs.items() if not {*extras} & {*absent}]
    install = f"In bodygen's own folder: pip install '.[{','.join(absent)}]'"
    instead = f"; or {otherwise.format(','.join(can))}" if otherwise and can else ""
    msg = f"extras that are not installed: {', '.join(lacks)}. {install}{instead}"
    raise MissingExtraError(msg)
