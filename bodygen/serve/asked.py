"""What a page may post, looked at before anything is done with it: names, kinds and sizes."""

from pathlib import Path
from typing import Any, NoReturn

from bodygen.errors import BodygenError
from bodygen.recipe.text.files import LARGEST_TEXT
from bodygen.serve.shelf import place_of
from bodygen.units import is_number

WANTS = ("glance", "whole")
VIEWS = ("side", "plan", "nose", "section")
LONGEST = 4000
"""Characters of one change, and of a name."""
LONGEST_TAB = 100
LARGEST_NUMBER = 2**53
LONGEST_NAME = 40
MOST_WORDS = 40
MOST_PLACES, FARTHEST_MM = 5000, 100_000


class WrongAskError(BodygenError):
    """What was posted is not what is taken here; it says what is."""


def ask_of(document: dict[str, Any], folder: Path, most_changes: int) -> dict[str, Any]:
    """The message to the working process for an ask.

    Raises
    ------
    WrongAskError
        Something of it is missing, or of another kind.
    NoSuchFileError
        Its file is none of the folder.
    """
    section = document.get("section_x_mm")
    if section is not None and not is_number(section):
        refuse("section_x_mm", "a number, or null")
    return {
        "what": "ask",
        "tab": text_of(document, "tab", LONGEST_TAB),
        "ask": {
            "ask": number_of(document),
            "text": recipe_text(document),
            "changes": changes_of(document, "changes", most_changes),
            "file": file_of(document, folder),
            "want": one_of(document, "want", WANTS),
            "view": one_of(document, "view", VIEWS, "side"),
            "section_x_mm": section,
            "holds": names_of(document, "holds"),
        },
        "further": changes_of(document, "further", most_changes),
    }


def changes_of(document: dict[str, Any], key: str, most: int) -> dict[str, str | None]:
    """Values of a recipe by their keys, as people write them; null takes one out."""
    changes = document.get(key, {})
    if not isinstance(changes, dict) or len(changes) > most:
        refuse(key, f"an object of at most {most} keys")
    for place, value in changes.items():
        if len(place) > LONGEST or not whole(place):
            refuse(key, f"keys of at most {LONGEST} characters")
        if not (value is None or (isinstance(value, str) and len(value) <= LONGEST and whole(value))):
            refuse(f"{key}.{place[:40]}", f"text of at most {LONGEST} characters, or null")
    return changes


def names_of(document: dict[str, Any], key: str) -> list[str]:
    """A few short words, or none."""
    value = document.get(key, [])
    fit = isinstance(value, list) and len(value) <= MOST_WORDS
    if not fit or not all(isinstance(name, str) and len(name) <= LONGEST_NAME for name in value):
        refuse(key, f"at most {MOST_WORDS} names of at most {LONGEST_NAME} characters")
    return list(value)


def places_of(document: dict[str, Any], key: str) -> list[list[float]]:
    """Places in space [mm], one at least."""
    value = document.get(key)
    if not (isinstance(value, list) and 0 < len(value) <= MOST_PLACES and all(map(_is_place, value))):
        refuse(key, f"1 to {MOST_PLACES} places, each three numbers of at most {FARTHEST_MM} mm")
    return value


def _is_place(value: object) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(map(_is_length, value))


def _is_length(value: object) -> bool:
    return is_number(value) and abs(value) <= FARTHEST_MM


def number_of(document: dict[str, Any]) -> int:
    """The number of an ask: those of a tab rise."""
    number = document.get("ask")
    if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < LARGEST_NUMBER:
        refuse("ask", "a whole number")
    return number


def recipe_text(document: dict[str, Any]) -> str:
    """The recipe's text, no larger than a file of it may be."""
    text = text_of(document, "text", LARGEST_TEXT)
    if len(text.encode()) > LARGEST_TEXT:
        refuse("text", f"at most {LARGEST_TEXT} bytes")
    return text


def file_of(document: dict[str, Any], folder: Path) -> str:
    """Where the recipe lies, or would lie: the place that messages name."""
    file = document.get("file")
    if file is not None and not (isinstance(file, str) and whole(file)):
        refuse("file", "a file's name, or null")
    return place_of(folder, file).as_posix()


def text_of(document: dict[str, Any], key: str, longest: int) -> str:
    """A text that must be there."""
    value = document.get(key)
    if not isinstance(value, str) or len(value) > longest or not whole(value):
        refuse(key, f"a text of at most {longest} characters")
    return value


def texts_of(document: dict[str, Any], key: str) -> dict[str, str]:
    """Texts by their names; none where the key is not there."""
    found = document.get(key) or {}
    if not isinstance(found, dict) or len(found) > MOST_WORDS:
        refuse(key, f"an object of at most {MOST_WORDS} texts")
    for name, value in found.items():
        if not isinstance(value, str) or len(value) > LONGEST or not whole(value):
            refuse(f"{key}.{name[:40]}", f"a text of at most {LONGEST} characters")
    return found


def words_of(document: dict[str, Any]) -> dict[str, str]:
    """The short texts of a document by their names."""
    texts = {name: value for name, value in document.items() if isinstance(value, str) and len(value) <= LONGEST}
    if len(texts) > MOST_WORDS:
        refuse("body", f"at most {MOST_WORDS} texts")
    return texts


def whole(text: str) -> bool:
    r"""Whether a text can be written down: half of a surrogate pair cannot.

    >>> whole("perch"), whole("\ud800")
    (True, False)
    """
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def one_of(document: dict[str, Any], key: str, words: tuple[str, ...], otherwise: str = "") -> str:
    """One of these words."""
    value = document.get(key, otherwise)
    if value not in words:
        refuse(key, f"one of {', '.join(words)}")
    return str(value)


def refuse(key: str, accepted: str) -> NoReturn:
    """Say what would be taken.

    Raises
    ------
    WrongAskError
        Always.
    """
    msg = f"{key}: {accepted}"
    raise WrongAskError(msg)
