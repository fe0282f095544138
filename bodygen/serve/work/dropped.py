"""A file dropped on the page becomes a recipe in the opened folder: a scan or a table of readings is traced.

Bounds are those of files everywhere: size, kinds, what a mesh may be. Nothing that is there is overwritten.
"""

import re
import shutil
import tempfile
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from bodygen.errors import InputError, Mistake
from bodygen.extras import refuse_missing
from bodygen.folder.single_file import copy_new
from bodygen.recipe.new import refuse_taken
from bodygen.recipe.rewrite import file_name
from bodygen.recipe.schema import FILE as SCHEMA
from bodygen.scan.told import Told
from bodygen.scan.written import Written

SCANS = (".stl", ".obj", ".ply", ".3mf", ".off")
PHOTOS = (".jpg", ".jpeg", ".png")
READINGS = (".csv",)
UNITS = ("auto", "mm", "in", "cm", "m")
MOST_TRIES = 100
OTHER_WAY = re.compile(r"--(?:nose|back) (?P<way>\S+) is the other way")


def traced(upload: str, name: str, folder: str, said: dict[str, str]) -> dict[str, Any]:
    """Trace an uploaded file, and put recipe and pictures into the folder.

    Parameters
    ----------
    upload : str
        Where the server put what came in.
    name : str
        The file's own name: its ending says what it is, the rest names the copy.
    folder : str
        That is opened.
    said : dict of str
        ``units`` of a scan; ``page`` (a4, letter) or ``span``, and ``thickness``, of a photograph.

    Raises
    ------
    InputError, MissingExtraError
        As ``bodygen trace``.
    """
    with uploaded(upload, name) as source:
        made = source.parent / "made"
        made.mkdir()
        called = _free_name(Path(name).stem, Path(folder))
        written = _trace(source, source.suffix, called, made, said)
        files = sorted((path for path in made.iterdir() if path.is_file()), key=_recipe_first)
        refuse_taken(Path(folder) / path.name for path in files if path.name != SCHEMA)
        _forget_where(written.path, str(source.parent))
        for path in files:
            if not (Path(folder) / path.name).exists():
                copy_new(path, Path(folder))
        text = written.path.read_text(encoding="utf-8")
    return {
        "file": written.path.name,
        "name": written.recipe.name,
        "text": text,
        "sentences": [f"wrote {', '.join(path.name for path in files if path.name != SCHEMA)}", *_told(written)],
    }


def _told(written: Written) -> list[str]:
    """How near the recipe is, what is doubtful, and what was guessed: another guess by what can be done on the page."""
    fit, trace, units = written.fit, written.trace, written.recipe.units
    near = f"the recipe's skin is within {fit.p95:.2f} mm of 95 in 100 places, {fit.max:.2f} mm at most"
    doubts = [f"{one.severity}: {one.told(units)}" for one in trace.findings if one.severity != "note"]
    guesses = [OTHER_WAY.sub(_other_way, str(guess)) for guess in trace.guessed]
    return [near, *(f"doubtful {one}" for one in trace.doubtful), *doubts, *guesses]


def _recipe_first(path: Path) -> tuple[bool, str]:
    return path.suffix != ".toml", path.name


def _other_way(option: re.Match[str]) -> str:
    if option["way"] in {"left", "right"}:
        return f"drop it again and say that its nose is at the {option['way']}, if it is"
    return f"in a terminal, bodygen trace scan takes it the other way by {option[0].partition(' is ')[0]}"


@contextmanager
def uploaded(upload: str, name: str) -> Iterator[Path]:
    """What came in, for a moment under a name with its ending; mistakes are told by its own ``name``."""
    with tempfile.TemporaryDirectory(dir=Path(upload).parent) as scratch:  # that goes with the upload, whatever happens
        source = Path(scratch) / f"{file_name(Path(name).stem)}{Path(name).suffix.lower()}"
        shutil.move(upload, source)
        try:
            yield source
        except InputError as error:  # the maker knows the file by its own name, not by where it lay for a moment
            raise InputError([replace(m, file=name) if m.file == str(source) else m for m in error.mistakes]) from error


def _trace(source: Path, ending: str, called: str, made: Path, said: dict[str, str]) -> Written:
    if ending in SCANS:
        from bodygen.scan.door.copying import trace_scan  # noqa: PLC0415  each way loads its own libraries

        refuse_missing({"a scan": ("scan",)})
        units: Any = said.get("units") or "auto"
        if units not in UNITS:
            raise InputError([Mistake(str(source), 0, "units", units, "no unit of a scan.", ", ".join(UNITS))])
        return trace_scan(source, called, made, units=units)
    if ending in READINGS:
        from bodygen.scan.door.copying import trace_stations  # noqa: PLC0415  as above

        return trace_stations(source, called, made)
    if ending in PHOTOS:
        refuse_missing({"a photograph": ("photo",)})
        from bodygen.scan.photo.asked import pictures_of, trace_pictures  # noqa: PLC0415  as above

        options = Namespace(
            file=source, top=None, mask=None, page=None if said.get("span") else said.get("page") or "a4",
            span=said.get("span"), thickness=said.get("thickness"), nose=said.get("nose"),
        )  # fmt: skip
        return trace_pictures(pictures_of(options, "mm"), Told(called), made)
    accepted = f"a recipe (.toml), a scan ({', '.join(SCANS)}), a photograph ({', '.join(PHOTOS)}), readings (.csv)"
    raise InputError([Mistake(str(source), 0, "", "", "not a kind of file that is taken here.", accepted)])


def _forget_where(recipe: Path, scratch: str) -> None:
    """Take out of the recipe's comments where the upload lay for a moment."""
    text = recipe.read_text(encoding="utf-8").replace(f"{scratch}/", "")
    recipe.write_text(text, encoding="utf-8", newline="\n")


def _free_name(stem: str, folder: Path) -> str:
    """A name whose files are not in the folder yet."""
    plain = file_name(stem)[:60]
    tries = (plain, *(f"{plain}-{number}" for number in range(2, MOST_TRIES)))
    return next((name for name in tries if not (folder / f"{name}.toml").exists()), plain)
