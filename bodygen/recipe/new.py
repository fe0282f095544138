"""A new recipe file: the starter, or a copy of a proven recipe in another size; and the schema that editors read.

Never writes over a maker's file; a schema that another version of bodygen wrote gives way to this one's.
"""

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from bodygen import units
from bodygen.errors import InputError, Mistake
from bodygen.recipe.rewrite import Copy, copy_recipe, file_name
from bodygen.recipe.schema import FILE, is_ours, schema_text
from bodygen.recipe.starter import USUAL_LENGTH, starter_text
from bodygen.tables import load


def new_recipe(
    name: str, folder: Path, *, source: Path | None = None, size: str | None = None, ruler: str | None = None
) -> Path:
    """Write ``folder/<name>.toml``, its schema beside it, and return the recipe's path.

    Parameters
    ----------
    name : str
        The bait's name; the file's name is made from it.
    source : Path, optional
        Recipe to start from; None: the commented starter.
    size : str, optional
        Length of the body, as people write lengths; a bare number is in ``ruler``.
    ruler : "mm" or "in", optional
        Units of the starter recipe; a copy keeps its own.

    Raises
    ------
    InputError
        A size that is no length or an absurd one, a file that is there already, mistakes in the source, units for
        a copy.
    """
    stem = stem_of(name)
    if source is not None and ruler is not None:
        raise InputError([
            Mistake(
                "command line", 0, "--units", ruler, "a copy keeps the units of its source", "--from without --units"
            )
        ])
    length = length_of(size, ruler or "mm") if size is not None else None
    if source is None:
        made = Copy(starter_text(name, ruler or "mm", length or USUAL_LENGTH))
    else:
        made = copy_recipe(source, name, length=length)
    return write_new(folder, stem, made)


def stem_of(name: str) -> str:
    """The name of a bait's file, without its ending.

    Raises
    ------
    InputError
        Nothing that can be read, or what no line can show.
    """
    if not name.strip() or not name.isprintable():
        raise InputError([
            Mistake("command line", 0, "NAME", repr(name), "no name for a bait", "a name such as tarn-perch-70")
        ])
    return file_name(name)


def write_new(folder: Path, stem: str, made: Copy, beside: Sequence[str] = ()) -> Path:
    """Write a new recipe, its stations and the schema into a folder; return the recipe's path.

    The recipe's first line names the schema, unless a file of that name is there that bodygen did not write.

    Raises
    ------
    InputError
        One of the files is there already, or one of those that are to lie ``beside`` it: then nothing is written.
    """
    line = f"#:schema ./{FILE}\n" if _may_write_schema(folder / FILE) else ""
    text = line + re.sub(r"^#:schema .*\n", "", made.recipe, flags=re.MULTILINE)
    files = [(f"{stem}.toml", text), *([made.stations] if made.stations else [])]
    refuse_taken(folder / file for file in (*(file for file, _ in files), *beside))
    for file, text in files:
        with (folder / file).open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
    if line:
        _write_schema(folder / FILE)
    return folder / f"{stem}.toml"


def refuse_taken(files: Iterable[Path]) -> None:
    """Refuse to write where a file is there already."""
    for file in files:
        if file.exists():
            problem, accepted = "is there already; nothing was written", "another NAME, or move the old file away"
            raise InputError([Mistake(str(file), 0, "", "", problem, accepted)])


def _may_write_schema(file: Path) -> bool:
    """Whether there is no such file, or one that bodygen wrote."""
    try:
        return is_ours(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return not file.is_symlink()
    except (OSError, ValueError):
        return False


def _write_schema(file: Path) -> None:
    """Write this version's schema, all of it or nothing, where it is not there already."""
    text = schema_text()
    if file.exists() and file.read_text(encoding="utf-8") == text:
        return
    draft = file.with_name(f".{file.name}.new")
    draft.write_text(text, encoding="utf-8", newline="\n")
    draft.replace(file)


def length_of(written: str, ruler: str) -> float:
    """A body's length [mm] as a person writes it; a bare number is in ``ruler``, "mm" or "in".

    Raises
    ------
    InputError
        No length, or an absurd one.
    """
    low, high = load("limits")["range"]["body_length_mm"]
    accepted = f"a length from {low} to {high} mm, such as {'3 in' if ruler == 'in' else '80 mm'}"
    try:
        length = units.length(written, ruler)
    except units.UnitError as error:
        raise InputError([Mistake("command line", 0, "--size", f'"{written}"', error.problem, accepted)]) from error
    if not low <= length <= high:
        raise InputError([
            Mistake("command line", 0, "--size", f'"{written}"', f"{length:g} mm is no bait's length", accepted)
        ])
    return length
