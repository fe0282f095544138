"""Is all of the page in what was installed?  python .ci/served_whole.py SOURCES, by a Python that has bodygen[page].

Starts `bodygen serve` in an empty folder and holds every file of the page and every demo against those of the sources.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import bodygen


def fetched(address: str, document: object = None) -> bytes:
    """What is there, or what the server answers to a document."""
    body = None if document is None else json.dumps(document).encode()
    with urlopen(Request(address, body, {"Content-Type": "application/json"}), timeout=60) as reply:  # noqa: S310
        return bytes(reply.read())


def lacking(address: str, sources: Path) -> list[str]:
    """What the page at an address has not, or has otherwise."""
    found, page = [], sources / "bodygen" / "serve" / "page"
    for path in sorted(path for path in page.rglob("*") if path.is_file()):
        name = path.relative_to(page).as_posix()
        try:
            served = re.sub(rb'<link rel="modulepreload"[^>]*>\n', b"", fetched(address + name))  # the server's
            if served != path.read_bytes():
                found.append(f"{name} is another one")
        except HTTPError as error:
            found.append(f"{name}: {error.code}")
    demos = {demo["file"].partition(":")[2] for demo in json.loads(fetched(address + "shelf"))["demos"]}
    found += [f"demo {path.stem}" for path in (sources / "params").glob("*.toml") if path.stem not in demos]
    for demo in sorted(demos):
        text = json.loads(fetched(f"{address}recipe?file=demo:{demo}"))["text"]
        asked = {"ask": 1, "tab": demo, "file": f"demo:{demo}", "text": text, "changes": {}, "want": "whole"}
        answer = fetched(address + "ask", asked)
        document = json.loads(answer[4 : 4 + int.from_bytes(answer[:4], "little")])
        if document["refused"]:
            found.append(f"demo {demo}: {document['refused'][0]['message']}")
    return found


def main() -> int:
    """The exit code: 0 where nothing is lacking."""
    sources = Path(sys.argv[1]).resolve()
    if Path(bodygen.__file__).is_relative_to(sources):
        print("bodygen is loaded from the sources; nothing was tried")
        return 2
    with tempfile.TemporaryDirectory() as home:
        folder = Path(home) / "empty"
        folder.mkdir()
        command = [sys.executable, "-m", "bodygen", "serve", "--port", "0", "--no-open"]
        surroundings = os.environ | {"HOME": home, "XDG_STATE_HOME": f"{home}/state"}
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=folder, env=surroundings) as server:
            found = lacking(server.stdout.readline().strip() if server.stdout else "", sources)
            server.kill()
    print("\n".join(found) or "the page and its demos are whole")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
