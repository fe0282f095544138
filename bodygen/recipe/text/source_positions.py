"""Where everything stands in a parameter file: key path -> line and the text as written.

A light scan of TOML that ``tomllib`` has read without complaint already, so it checks nothing itself. Key paths are the
maker's: ``shape.length``, ``bore[1].depth`` (counted from 1), ``shape.back.points[2]``, odd keys in quotes.
"""

import re
import tomllib
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

_TOKEN = re.compile(
    r"""
    (?P<text>\"{3}(?:\\[\s\S]|[^\\])*?\"{3}(?:\"{0,2})   # three quotes, and up to two more that belong to the text
        |'{3}[\s\S]*?'{3}(?:'{0,2})
        |"(?:\\.|[^"\\\n])*"
        |'[^'\n]*')
    |(?P<comment>\#[^\n]*)
    |(?P<newline>\n)
    |(?P<mark>[\[\]{},=.])
    |(?P<space>[ \t]+)
    |(?P<bare>[^\s\[\]{},=.\#"']+)
    """,
    re.VERBOSE,
)
Found = TypeVar("Found")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
LONGEST_QUOTE = 60  # characters of what was written that a message repeats


@dataclass(frozen=True, slots=True)
class Place:
    """Line (from 1) of a key or an array's element, and its value as written, cut short; "" for a table."""

    line: int
    written: str


def join(path: str, key: str) -> str:
    r"""Key path of ``key`` inside the table at ``path``; a key that TOML would quote is quoted.

    >>> join("bore[2]", "fill")
    'bore[2].fill'
    """
    shown = key
    if not _BARE_KEY.fullmatch(key):
        plain = key if key.isprintable() else key.encode("unicode_escape").decode()
        shown = '"' + plain.replace('"', '\\"') + '"'
    return f"{path}.{shown}" if path else shown


def short(written: str) -> str:
    """Put what was written on one line, not longer than a message can bear."""
    line = " ".join(written.split())
    return line if len(line) <= LONGEST_QUOTE else line[: LONGEST_QUOTE - 3] + "..."


class Later(Mapping[str, Found]):
    """What ``make`` gives, made when something is first looked up: a recipe without a mistake is mostly not asked.

    >>> lines = Later(lambda: print("looked for") or {"shape.length": 7})
    >>> lines["shape.length"], len(lines)
    looked for
    (7, 1)
    """

    def __init__(self, make: Callable[[], Mapping[str, Found]]) -> None:
        self.make = make

    @cached_property
    def made(self) -> Mapping[str, Found]:
        """The mapping itself."""
        return self.make()

    def __getitem__(self, key: str) -> Found:
        """As of any mapping."""
        return self.made[key]

    def __iter__(self) -> Iterator[str]:
        """As of any mapping."""
        return iter(self.made)

    def __len__(self) -> int:
        """As of any mapping."""
        return len(self.made)


def places(text: str) -> dict[str, Place]:
    """Find every table, key and array element of valid TOML whose lines end in one character."""
    scan = _Scan(text)
    scan.document()
    return scan.found


def spans(text: str) -> dict[str, tuple[int, int]]:
    r"""Where the value of every key and array element begins and ends in the text; of a table's header nothing.

    >>> spans('[shape]\nlength = "3 in"  # of basswood\n')
    {'shape.length': (17, 23)}
    """
    scan = _Scan(text)
    scan.document()
    return scan.spans


class _Scan:
    """One walk over the tokens of a file; ``at`` is the next of them."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = [
            (match.lastgroup or "", match.start(), match.end())
            for match in _TOKEN.finditer(text)
            if match.lastgroup not in {"space", "comment"}
        ]
        self.starts = [0, *(match.end() for match in re.finditer(r"\n", text))]
        self.at = 0
        self.found: dict[str, Place] = {}
        self.spans: dict[str, tuple[int, int]] = {}
        self.arrays: dict[str, int] = {}  # path of an array of tables -> how many so far

    def line(self, position: int) -> int:
        return bisect_right(self.starts, position)

    def peek(self, skip: int = 0) -> str:
        """Text of a coming token if it is a mark, its kind otherwise, "" at the end."""
        if self.at + skip >= len(self.tokens):
            return ""
        kind, start, end = self.tokens[self.at + skip]
        return self.text[start:end] if kind == "mark" else kind

    def document(self) -> None:
        table = ""
        while self.at < len(self.tokens):
            if self.peek() == "newline":
                self.at += 1
            elif self.peek() == "[":
                table = self.header()
            else:
                self.assignment(table)

    def header(self) -> str:
        """Read ``[a.b]`` or ``[[a.b]]``: the path that the following keys belong to."""
        start = self.tokens[self.at][1]
        several = self.text.startswith("[[", start)
        self.at += 2 if several else 1
        keys = self.key()
        self.at += 2 if several else 1
        path = ""
        for number, key in enumerate(keys):
            path = join(path, key)
            last = number == len(keys) - 1
            if several and last:
                self.arrays[path] = self.arrays.get(path, 0) + 1
                self.note(path, start)
            if path in self.arrays:
                path = f"{path}[{self.arrays[path]}]"
            self.note(path, start)
        return path

    def key(self) -> list[str]:
        """Read a dotted key as its parts."""
        parts: list[str] = []
        while True:
            kind, start, end = self.tokens[self.at]
            word = self.text[start:end]
            parts.append(_unquoted(word) if kind == "text" else word)
            self.at += 1
            if self.peek() != ".":
                return parts
            self.at += 1

    def assignment(self, table: str) -> None:
        """Read ``a.b = value``."""
        start = self.tokens[self.at][1]
        keys = self.key()
        self.at += 1  # the equals sign
        path = table
        for key in keys[:-1]:
            path = join(path, key)
            self.note(path, start)
        path = join(path, keys[-1])
        self.value(path, start)

    def value(self, path: str, start: int) -> None:
        """Read a value; ``start`` is where its key, or the element itself, begins."""
        first = self.tokens[self.at][1]
        self.note(path, start)
        match self.peek():
            case "[":
                self.array(path)
            case "{":
                self.inline_table(path)
            case _:
                while self.peek() not in {"", "newline", ",", "]", "}"}:  # 1979-05-27 07:32:00.5 is many tokens
                    self.at += 1
        self.spans[path] = first, self.tokens[self.at - 1][2]
        self.found[path] = Place(self.found[path].line, short(self.text[first : self.spans[path][1]]))

    def array(self, path: str) -> None:
        self.at += 1
        number = 0
        while self.peek() != "]":
            if self.peek() in {"newline", ","}:
                self.at += 1
            else:
                number += 1
                self.value(f"{path}[{number}]", self.tokens[self.at][1])
        self.at += 1

    def inline_table(self, path: str) -> None:
        self.at += 1
        while self.peek() != "}":
            if self.peek() in {"newline", ","}:
                self.at += 1
            else:
                self.assignment(path)
        self.at += 1

    def note(self, path: str, position: int) -> None:
        """Keep the first place of a path."""
        if path not in self.found:
            self.found[path] = Place(self.line(position), "")


def _unquoted(word: str) -> str:
    """Key inside quotes, escapes resolved."""
    return str(tomllib.loads(f"key = {word}")["key"])
