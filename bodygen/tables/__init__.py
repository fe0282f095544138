"""The facts: one TOML file each, every value with its unit in the key and its source beside it.

Knows where the files are. Knows nothing of what they mean; ``sources.toml`` says how to read ``source``.
"""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

COMMON_PRACTICE = "common practice, no published source"


@cache
def load(name: str) -> dict[str, Any]:
    """All of ``tables/<name>.toml`` as plain dicts and lists; read once, and not to be changed by who gets it."""
    return tomllib.loads((files(__package__) / f"{name}.toml").read_text(encoding="utf-8"))
