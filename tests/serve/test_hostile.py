"""Whatever anybody sends: no 5xx but 503, nothing from outside the folder, bounded memory, and an answer in time after.

A plain run takes two hundred; BODYGEN_HOSTILE=10000 all of them.
"""

import http.client
import json
import os
import random
import socket
import time
from pathlib import Path

import pytest
from tab import PERCH, memory_mb, passing, served, workers

from bodygen.tables import load

COUNT = int(os.environ.get("BODYGEN_HOSTILE", "200"))
MOST_MB = 350
"""Of the server itself; its working processes have bounds of their own."""
TEXT = PERCH.read_text(encoding="utf-8")
OUTSIDE = "a secret that lies outside"
ROUTES = ("ask", "save", "new", "offers", "build", "job", "log", "drop", "recipe", "shelf", "forget", "file/a/b", "")
NAMES = (
    "../secret.toml", "..%2fsecret.toml", "%2e%2e/secret.toml", "link.toml", "/etc/passwd", "demo:../../secret",
    "....//secret.toml", "a\x00.toml", "C:\\secret.toml", "perch.toml/", "." * 300, "\u202etoml.exe",
    "out/../../secret.toml",
    "folder/../../secret.toml", "//secret.toml", "~/.ssh/id_rsa", "con.toml", "%00", "demo:", "-rf.toml",
)  # fmt: skip
HEADERS = (
    {"host": "evil.example"}, {"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"},
    {"content-type": "text/plain"}, {"content-type": "multipart/form-data; boundary=x"}, {"x": "y" * 12_000},
    {"content-length": "999999999999"}, {"transfer-encoding": "chunked"}, {"expect": "100-continue"},
    {"upgrade": "websocket", "connection": "Upgrade"}, {"accept-encoding": "gzip" * 50}, {"cookie": "a=b; " * 500}, {},
)  # fmt: skip
VALUES = (
    None, True, -1, 2**70, 1e308, "", "\ud800", "a" * 5000, [], {}, [[[[]]]], {"a": {"b": []}}, "NaN", "../x", 0.5,
    "x = " + "[" * 3000, "[[bore]]\n" * 300, 'mesh = "../secret.stl"', "🐟" * 99, "\x00", "a\nb", "1e999999999",
)  # fmt: skip
RAW = (
    b"GET / HTTP/1.1\r\n\r\n", b"\x16\x03\x01\x02\x00", b"GET /\r\n\r\n", b"A" * 40_000,
    b"POST / HTTP/1.1\r\nHost: x\r\n",
    b"GET / HTTP/9.9\r\nHost: x\r\n\r\n", b"\x00" * 500, b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
    b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nhello",
)  # fmt: skip


def document(chance):
    """A body that is nearly right in some places and absurd in others."""
    right = {
        "ask": chance.randrange(10**6), "tab": f"tab{chance.randrange(60)}", "file": "perch.toml", "text": TEXT[:400],
        "changes": {"shape.length": "3 in"}, "want": "glance", "view": "side", "kind": "ballast", "said": {},
        "name": "x", "sha256_before": None, "id": "none", "further": {"shape.length": "4 in"},
    }  # fmt: skip
    for key in chance.sample(sorted(right), chance.randrange(4)):
        right[key] = chance.choice(VALUES)
    if chance.random() < 0.4:
        right["file"] = chance.choice(NAMES)
    if chance.random() < 0.2:
        right["changes"] = {chance.choice(["shape.length", "bore[9].x", "a.b[3]", "[", "shape"]): chance.choice(VALUES)}
    return right


def body_of(chance):
    way = chance.random()
    if way < 0.6:
        return json.dumps(document(chance)).encode("utf-8", errors="surrogatepass")
    if way < 0.7:
        return b"{" * chance.randrange(1, 3000)
    if way < 0.8:
        return chance.randbytes(chance.randrange(2000))
    if way < 0.83:
        return b"x" * 1_200_000
    return b""


def one_request(page, chance):
    """Send something; the status, and what came back. 0 where the server hung up, as it may."""
    below = page.below if chance.random() < 0.9 else chance.choice(["/", "/x/", "//", f"{page.below}%2e%2e/"])
    path = below + chance.choice(ROUTES)
    if chance.random() < 0.4:
        path += f"?{chance.choice(['file', 'name', 'id', 'x'])}={chance.choice(NAMES)}"
    path = path.encode("ascii", errors="ignore").decode().replace("\x00", "%00")[: chance.choice([99, 999, 5000])]
    odd = chance.choice(HEADERS)
    headers = {"content-type": "application/json"} | odd
    promises = {"transfer-encoding", "content-length", "expect"} & {*odd}  # a body that never comes is not waited for
    connection = http.client.HTTPConnection(page.host, timeout=0.2 if promises else 10)
    method = chance.choice(["GET", "POST", "POST", "POST", "PUT", "DELETE", "OPTIONS", "HEAD", "TRACE"])
    try:
        connection.request(method, path.replace(" ", "%20"), body_of(chance), headers)
        reply = connection.getresponse()
        return reply.status, reply.read()
    except (http.client.HTTPException, OSError):
        return 0, b""
    finally:
        connection.close()


def raw_request(page, chance):
    """Bytes that are no request, or half of one."""
    host, _, port = page.host.rpartition(":")
    with socket.create_connection((host, int(port)), timeout=5) as stream:
        try:
            stream.sendall(chance.choice(RAW))
            stream.settimeout(0.02)
            return stream.recv(2000)
        except OSError:
            return b""


@pytest.fixture
def alone(tmp_path):
    """A server of its own, and a secret beside its folder."""
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "perch.toml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "secret.toml").write_text(f'name = "{OUTSIDE}"\n{TEXT}', encoding="utf-8")
    (folder / "link.toml").symlink_to(tmp_path / "secret.toml")
    opened = served(folder)
    yield opened
    opened.process.kill()
    _, told = opened.process.communicate()
    assert "fault of bodygen" not in told, told
    assert "Traceback" not in told, told


def test_nothing_that_is_sent_breaks_it_or_leaves_the_folder(alone):
    chance = random.Random(11)  # noqa: S311  no secret comes of it
    before = {path: path.read_bytes() for path in alone.folder.parent.glob("*.toml")}
    half_open = []
    for number in range(COUNT):
        if number % 10 == 3:
            assert not raw_request(alone, chance).startswith(b"HTTP/1.1 5")
        elif number % 10 == 7 and len(half_open) < load("serve")["number"]["sockets"] // 2:
            host, _, port = alone.host.rpartition(":")
            half_open.append(socket.create_connection((host, int(port)), timeout=5))
            half_open[-1].sendall(chance.choice([b"", b"GET ", b"POST /x HTTP/1.1\r\nHost: "]))
        else:
            status, content = one_request(alone, chance)
            assert status < 500 or status == 503, (number, status, content[:200])
            assert OUTSIDE.encode() not in content, number
            assert b"Traceback" not in content, number
    assert {path: path.read_bytes() for path in alone.folder.parent.glob("*.toml")} == before
    assert sorted(path.name for path in alone.folder.parent.iterdir()) == [
        *("folder", "folder-passing", "folder-state", "secret.toml")
    ]
    if Path("/proc/self/status").exists():
        assert memory_mb(alone.process) < MOST_MB
    answered = after_the_flood(alone)
    assert answered["refused"] is None
    assert list(passing(alone.folder).iterdir()) == []
    for stream in half_open:
        stream.close()


def test_a_question_that_goes_on_as_no_http_is_refused_and_no_fault_of_ours(alone):
    host, _, port = alone.host.rpartition(":")
    for _ in range(20):
        with socket.create_connection((host, int(port)), timeout=5) as stream:
            head = f"POST {alone.below}shelf HTTP/1.1\r\nHost: {alone.host}\r\n"
            more = "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\nno length\r\n"
            stream.sendall((head + more).encode())
            assert stream.recv(2000).startswith(b"HTTP/1.1 4")
    assert alone.get("icon.svg").status == 200


def after_the_flood(page):
    """An honest ask, again where it was told that there are too many."""
    for _ in range(40):
        reply = page.post("ask", {"ask": 1, "tab": "honest", "file": None, "text": TEXT, "want": "whole"})
        if reply.status == 200:
            length = int.from_bytes(reply.content[:4], "little")
            return json.loads(reply.content[4 : 4 + length])
        assert reply.status in {429, 503}
        time.sleep(0.25)
    pytest.fail("no answer after the flood")


def test_a_worker_that_is_killed_is_started_anew_and_the_ask_is_told(alone):
    alone.ask(TEXT, want="whole")
    assert workers(alone.process)
    for worker in workers(alone.process):
        os.kill(worker, 9)
    reply = alone.post("ask", {"ask": 90, "tab": "t", "file": None, "text": TEXT, "want": "glance"})
    if reply.status != 200:  # it died at work, not before
        assert (reply.status, "ask again" in reply.json()["error"]) == (503, True)
    told, _ = alone.ask(TEXT, want="glance", tab="u")
    assert told["refused"] is None
