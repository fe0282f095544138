"""Files that a recipe names: beside it, and nowhere else unless the maker allows it."""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from bodygen.recipe.text.read_context import ReadContext

LARGEST_TEXT = 1_000_000  # bytes of a recipe or a stations file
LARGEST_MESH = 300_000_000


def named_file(ctx: ReadContext, key: str, name: str, endings: tuple[str, ...], largest: int) -> Path | None:
    """Find a file that the recipe names; None and a mistake where it may not or cannot be read.

    The path is taken from the recipe's own folder, links followed, and must end up inside that folder unless
    ``ctx.allow_outside``.
    """
    accepted = f"a {', '.join(endings)} file in the recipe's own folder"
    try:
        path = (ctx.folder / name).resolve()
        inside = path.is_relative_to(ctx.folder.resolve())
        if not inside and not ctx.allow_outside:
            ctx.fault(key, "leads out of the recipe's folder.", f"{accepted}; --allow-outside lifts this")
        elif path.suffix.lower() not in endings:
            ctx.fault(key, "not a kind of file that is read here.", accepted)
        elif not path.exists():
            ctx.fault(key, "no such file.", accepted)
        elif not path.is_file():
            ctx.fault(key, "not a plain file.", accepted)
        elif path.stat().st_size > largest:
            ctx.fault(key, f"larger than {largest // 1_000_000} MB.", accepted)
        else:
            ctx.named.append(path)
            return path
    except (OSError, ValueError, RuntimeError):  # a name the system cannot hold, or links that go round
        ctx.fault(key, "not a path that can be followed.", accepted)
    return None


def digest(recipe: bytes, named: Iterable[Path]) -> str:
    """SHA-256 of a recipe's bytes and, each after its own length, of every file it names, in the order of naming."""
    total = hashlib.sha256(recipe)
    for path in named:
        content = path.read_bytes()
        total.update(f"\n{len(content)}\n".encode())
        total.update(content)
    return total.hexdigest()
