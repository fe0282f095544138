"""A recipe found by the short code that its card, its pages and the log print.

Knows recipe files and their hashes. Knows no card and no log.
"""

import re
from collections.abc import Iterable
from difflib import get_close_matches
from hashlib import sha256
from pathlib import Path

from bodygen.errors import BodygenError, InputError, Mistake, visible
from bodygen.recipe.read import read_recipe
from bodygen.version import SHORT, code_of

LEAST = 4
"""Fewer digits of a code are none."""
LOOKS_LIKE = re.compile(rf"[0-9a-f]{{{LEAST},64}}|(?=.*[0-9])[0-9a-z]{{{LEAST},64}}")
"""Digits of a hash; or one that was written with a slip, such as an o for a 0."""


def recipe_file(asked: Path, folder: Path, built: Iterable[tuple[str, str]] = ()) -> Path:
    """The file of a recipe that was asked for by its path, or by its code in a folder.

    Parameters
    ----------
    asked : Path
        What was written: a path, or the first digits of a code, four at least.
    folder : Path
        Where recipes are looked for; not in its folders.
    built : iterable of (name, sha256)
        What was built, or is in a log: so that a card of a recipe that was changed since is told as such.

    Returns
    -------
    Path
        The path as it was written, where it is there or looks like none of a code.

    Raises
    ------
    InputError
        No recipe there has the code, or several have; the nearest codes, and which recipe had it once.
    """
    code = str(asked).lower()
    if not LOOKS_LIKE.fullmatch(code) or asked.exists():
        return asked
    files = sorted(path for path in folder.glob("*.toml") if path.is_file())
    plain = [path for path in files if sha256(path.read_bytes()).hexdigest().startswith(code)]
    hashes = _hashes(files) if not plain else {}
    found = plain or [path for path, whole in hashes.items() if whole.startswith(code)]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(visible(path.name) for path in found)
        raise InputError([_mistake(asked, f"{len(found)} recipes here have this code: {names}.", "one file's name")])
    raise InputError([_mistake(asked, *_no_such(code, hashes, {whole: name for name, whole in built}))])


def _hashes(files: Iterable[Path]) -> dict[Path, str]:
    """The hash of each recipe that can be read, with the files it names."""
    found = {}
    for path in files:
        try:
            found[path] = read_recipe(path).sha256 or ""
        except BodygenError:
            continue
    return found


def _no_such(code: str, hashes: dict[Path, str], built: dict[str, str]) -> tuple[str, str]:
    """What to say of a code that no recipe has: the problem, and what is accepted."""
    codes = {code_of(whole): visible(path.name) for path, whole in hashes.items()}
    near = [f"{one} ({codes[one]})" for one in get_close_matches(code[:SHORT], codes, n=3)]
    once = next((name for whole, name in built.items() if whole.startswith(code)), None)
    problem = "no such file here, and no recipe here has this code."
    if once is not None:
        problem = f"no recipe here has this code now: {visible(once)} had it, and was changed since."
    accepted = f"the nearest: {', '.join(near)}" if near else "a parameter file (TOML), or the code on its card"
    return problem, accepted


def _mistake(asked: Path, problem: str, accepted: str) -> Mistake:
    return Mistake("command line", 0, "RECIPE", visible(str(asked)), problem, accepted)
