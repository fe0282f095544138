"""How an answer reaches a person's screen or a program's pipe: stdout is the answer, stderr the talk.

Nothing here lets a terminal obey what a recipe, a log or a file's name says; nothing fails because a stream is closed
or knows fewer letters than the text. Knows nothing of baits.
"""

import os
import re
import sys
from contextlib import suppress
from pathlib import Path

from bodygen.errors import BodygenError, visible

_COLOURS = re.compile(r"(\x1b\[[0-9;]*m)")
_ESCAPED_IN_JSON = re.compile(r"[\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def settle() -> tuple[str, ...]:
    """Make the three streams safe to use, and name those that were closed.

    A closed one would give its number to the next file that is opened, and whatever the kernel's libraries print would
    go into that file. What a stream's encoding lacks is shown by its number instead of failing.
    """
    closed = []
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number, this one
        if getattr(sys, name) is None:
            closed.append(name)
            setattr(sys, name, Path(os.devnull).open("r+", encoding="utf-8"))  # noqa: SIM115  open to the end
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")
    return tuple(closed)


def hush() -> None:
    """Let no more of the answer be printed: whoever read it is gone, and the program's end would complain of that."""
    with suppress(OSError, ValueError):  # a stream without a number: a test's, or a notebook's
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, sys.stdout.fileno())
        os.close(null)


def wants_colour() -> bool:
    """Whether stdout is a terminal that wants colour; NO_COLOR is obeyed."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def show(text: str) -> None:
    """Print an answer for people; its own colours stay where the terminal wants them.

    Raises
    ------
    BodygenError
        It cannot be printed, as on a full disk.
    """
    parts = _COLOURS.split(text) if wants_colour() else [text]
    _print("".join(part if i % 2 else visible(part, "\n\t") for i, part in enumerate(parts)))


def show_json(text: str) -> None:
    """Print a JSON document; what stdout cannot encode, or a terminal would obey, is written as JSON escapes.

    Raises
    ------
    BodygenError
        As ``show``.
    """
    encoding = sys.stdout.encoding or "utf-8"
    try:
        text.encode(encoding)
        _print(_ESCAPED_IN_JSON.sub(lambda found: _json_escape(found[0]), text))
    except UnicodeEncodeError:
        _print("".join(c if c.isascii() else _json_escape(c) for c in text))


def _json_escape(character: str) -> str:
    units = character.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[i : i + 4]}" for i in range(0, len(units), 4))


def tell(text: str) -> None:
    """Say something on stderr: progress, a mistake."""
    with suppress(OSError):  # nobody listens: the exit code still tells
        print(visible(text, "\n\t"), file=sys.stderr, flush=True)  # noqa: T201  this is where talk is printed


def _print(text: str) -> None:
    try:
        sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        hush()
        msg = f"the answer could not be printed: {error.strerror or error}"
        raise BodygenError(msg) from error
