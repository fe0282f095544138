"""The version, once; pyproject.toml reads it from here. Asking the installed package takes 17 ms of every start."""

VERSION = "0.1.0"

SHORT = 8
"""Digits of a hash that people compare by eye."""


def code_of(sha256: str | None, digits: int | None = SHORT) -> str:
    """The short code of a recipe that card, pages and log print alike: the first digits of its hash, or all for None.

    >>> code_of("de4c58b2e0"), code_of(None)
    ('de4c58b2', 'changed, in no file')
    """
    return sha256[:digits] if sha256 else "changed, in no file"
