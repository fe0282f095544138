"""The part of a page's address that nobody can guess; the same for a folder at each start: an open page goes on.

It lies in a file that the user alone may read, among the user's own state; where that cannot be, it is new each time.
"""

import hashlib
import os
import re
import secrets
from pathlib import Path

_TOKEN = re.compile(r"[A-Za-z0-9_-]{24}")


def state_folder() -> Path:
    """Where programs keep what is the user's own and no document (XDG Base Directory Specification 0.8)."""
    told = os.environ.get("XDG_STATE_HOME", "")
    return (Path(told) if Path(told).is_absolute() else Path.home() / ".local" / "state") / "bodygen"


def token_of(folder: Path) -> str:
    """The token of an opened folder; deleting its file makes another."""
    try:
        kept = state_folder() / f"page-{hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:16]}"
        if kept.is_file() and not kept.is_symlink() and kept.stat().st_mode & 0o077 == 0:
            token = kept.read_text(encoding="ascii").strip()
            if _TOKEN.fullmatch(token):
                return token
        token = secrets.token_urlsafe(18)
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept.unlink(missing_ok=True)
        handle = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as stream:
            stream.write(token)
    except (OSError, RuntimeError, ValueError):  # no home, a full or read-only disk, a file that is none of ours
        return secrets.token_urlsafe(18)
    return token
