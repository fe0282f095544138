"""Answers as a person reads them, and as the JSON document that programs read."""

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from bodygen.explain.answers import Explained

WIDTH = 100
LABEL = 13


def as_text(found: Sequence[Explained]) -> str:
    """Show each answer under its name, one line for each label."""
    return "\n\n".join("\n".join([*_head(one), *_lines(one)]) for one in found)


def as_document(word: str, found: Sequence[Explained]) -> dict[str, Any]:
    """Give every answer for JSON."""
    return {"format": 1, "word": word, "answers": [dict(one.document) for one in found]}


def _head(one: Explained) -> list[str]:
    return wrap(f"{one.name}: {one.about}", WIDTH, break_long_words=False, break_on_hyphens=False)


def _lines(one: Explained) -> list[str]:
    shown = []
    indent = max(LABEL, *(len(label) + 2 for label, text in one.lines if text), 0)
    for label, text in one.lines:
        rows = [row for line in text.split("\n") if line for row in _rows(line, indent)]
        shown += [f"  {label if number == 0 else '':<{indent}}{row}" for number, row in enumerate(rows)]
    return shown


def _rows(line: str, indent: int) -> list[str]:
    return wrap(line, WIDTH - indent - 2, break_long_words=False, break_on_hyphens=False)
