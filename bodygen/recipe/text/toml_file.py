"""A TOML file from its bytes to plain values; what is no TOML is said in plain words, with its line. Knows no keys."""

import re
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import NoReturn

from bodygen.errors import InputError, Mistake
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.recipe.text.slips import plainer_words
from bodygen.recipe.text.source_positions import short


def content_of(path: Path, what: str = "a parameter file (TOML)") -> bytes:
    """Take the bytes of a plain file of sensible size."""

    def refuse(problem: str) -> NoReturn:
        raise InputError([Mistake(path.as_posix(), 0, "", "", problem, what)])

    try:
        if path.is_dir():
            refuse("a folder.")
        if not path.exists():
            refuse("no such file.")
        if not path.is_file():
            refuse("not a plain file.")
        with path.open("rb") as file:
            content = file.read(LARGEST_TEXT + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not a path that can be followed"
        refuse(f"cannot be read: {reason}.")
    if len(content) > LARGEST_TEXT:
        refuse(f"larger than {LARGEST_TEXT // 1_000_000} MB.")
    if not content.strip():
        refuse("empty.")
    return content


def text_of(content: bytes, file: str) -> str:
    """Decode UTF-8, with or without a mark at its start, to lines that end in one character."""
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError([Mistake(file, line, "", "", "not UTF-8.", "save the file as UTF-8")]) from None


def toml_of(text: str, file: str) -> dict[str, object]:
    """Let tomllib read it, numbers as they were written; its complaint gets our form."""
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except RecursionError:
        raise InputError([Mistake(file, 0, "", "", "tables or lists too deep inside each other.")]) from None
    except ValueError as error:  # TOMLDecodeError, and int() of thousands of digits
        at = re.search(r" \(at line (\d+), column (\d+)\)", str(error))
        line = int(at[1]) if at else text.count("\n") + (not text.endswith("\n"))
        rows = text.splitlines()
        written = short(rows[line - 1]) if 0 < line <= len(rows) else ""
        plainer = plainer_words(rows[line - 1]) if 0 < line <= len(rows) else None
        if plainer:
            raise InputError([Mistake(file, line, *plainer)]) from None
        if "overwrite a value" in str(error):
            raise InputError([Mistake(file, line, "", written, *_twice(written))]) from None
        reason = str(error)[: at.start()] if at else str(error).removesuffix(" (at end of document)")
        problem = f"not TOML: {reason[:1].lower()}{reason[1:]}{f' (column {at[2]})' if at else ''}."
        raise InputError([Mistake(file, line, "", written, problem)]) from None


def _twice(row: str) -> tuple[str, str]:
    """What is wrong with a key or a heading that stands twice, and what is accepted."""
    if row.lstrip().startswith("["):
        return "a table or a key of this name is there already.", "of several tables each in double brackets, [[bore]]"
    return "this key stands in its table already.", "each key once in a table"
