"""A page's server as a maker starts it, and a browser's tab that asks it."""

import http.client
import json
import os
import socket
import struct
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlencode, urlsplit

PARAMS = Path(__file__).parents[1] / "params"
PERCH = PARAMS / "tarn-perch-70.toml"


class Reply(NamedTuple):
    status: int
    headers: dict
    content: bytes

    def json(self):
        return json.loads(self.content)


class Page:
    """One tab: asks that are numbered, answers taken apart."""

    def __init__(self, address, folder, process=None):
        self.address, self.folder, self.process, self.number = address, folder, process, 0
        self.host = urlsplit(address).netloc
        self.below = urlsplit(address).path

    def send(self, method, path, body=None, headers=None):
        connection = http.client.HTTPConnection(self.host, timeout=60)
        connection.request(method, path, body, headers or {})
        reply = connection.getresponse()
        told = Reply(reply.status, {name.lower(): value for name, value in reply.getheaders()}, reply.read())
        connection.close()
        return told

    def get(self, path, headers=None, **query):
        return self.send("GET", f"{self.below}{path}{'?' if query else ''}{urlencode(query)}", None, headers)

    def post(self, path, document, headers=None):
        return self.send(
            "POST", f"{self.below}{path}", json.dumps(document), {"content-type": "application/json"} | (headers or {})
        )

    def ask(self, text, changes=None, want="glance", **more):
        """The answer's document and its buffers."""
        self.number += 1
        document = {"ask": self.number, "tab": "tab", "file": None, "text": text, "changes": changes or {}}
        reply = self.post("ask", document | {"want": want} | more)
        assert reply.status == 200, reply.content
        (length,) = struct.unpack_from("<I", reply.content)
        return json.loads(reply.content[4 : 4 + length]), reply.content[4 + length :]


def passing(folder):
    """Where a folder's server puts what is there for a moment."""
    return folder.parent / f"{folder.name}-passing"


def surroundings(folder):
    """Of a server whose state, and what is there for a moment, lie beside its folder."""
    passing(folder).mkdir(exist_ok=True)
    return os.environ | {
        "XDG_STATE_HOME": str(folder.parent / f"{folder.name}-state"),
        "TMPDIR": str(passing(folder)),
    }


def served(folder, *more, program=("-m", "bodygen")):
    """Start a server in a process of its own, in its own ``surroundings``."""
    words = [sys.executable, *program, "serve", str(folder), "--port", "0", "--no-open", *more]
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=surroundings(folder)
    )
    return Page(process.stdout.readline().strip(), folder, process)


def in_haste(seconds):
    """The program with another limit of `serve.toml` for an ask."""
    change = f"from bodygen.tables import load; load('serve')['time']['ask_s'] = {seconds}"
    return "-c", f"{change}; import sys; from bodygen.cli import main; sys.exit(main(sys.argv[1:]))"


def workers(process):
    """The numbers of a server's working processes, in the order of their starts."""
    found = [
        int(path.parent.name)
        for path in Path("/proc").glob("[0-9]*/stat")
        if path.read_text(errors="replace").rpartition(")")[2].split()[1] == str(process.pid)
        and b"spawn_main" in (path.parent / "cmdline").read_bytes()
    ]
    return sorted(found)


def own_address():
    """Where this machine is reached from others; None where it is not."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))  # nothing is sent: the system says which of its addresses it would use
            found = way.getsockname()[0]
        except OSError:
            return None
    return None if found.startswith("127.") or found == "0.0.0.0" else found  # noqa: S104


def memory_mb(process):
    """The most memory that a process has held so far [MB]."""
    status = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024
