"""Who may ask, and how the server starts and ends."""

import asyncio
import re
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest
import uvicorn
from tab import served
from uvicorn.server import ServerState

import bodygen
from bodygen.extras import EXTRAS
from bodygen.serve.run import ImpatientProtocol, _listening


def test_the_shelf_shows_the_folder_the_demos_and_what_is_installed(page):
    shelf = page.get("shelf").json()
    assert [recipe["file"] for recipe in shelf["recipes"]] == ["perch.toml"]
    assert "demo:tarn-perch-70" in {demo["file"] for demo in shelf["demos"]}
    assert {family["name"] for family in shelf["families"]} >= {"acorn", "leaf"}
    assert set(shelf["extras"]) == set(EXTRAS) - {"page"}


def test_a_recipe_comes_with_its_checksum_and_a_demo_as_a_copy_in_no_file(page):
    mine = page.get("recipe", file="perch.toml").json()
    copy = page.get("recipe", file="demo:tarn-perch-70").json()
    assert mine["text"] == copy["text"]
    assert len(mine["sha256"]) == 64
    assert (copy["file"], copy["sha256"]) == (None, None)


@pytest.mark.parametrize("path", ["/", "{0}", "/token/shelf", "{0}2/shelf", "/shelf", "//shelf", "/a/../{0}/shelf"])
def test_without_the_token_there_is_nothing(page, path):
    reply = page.send("GET", path.format(page.below.rstrip("/")))
    assert (reply.status, reply.content) == (404, b"")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 403),
        ({"host": "127.0.0.1"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"origin": "http://{0}"}, 200),
    ],
)
def test_only_a_page_of_its_own_may_ask(page, headers, status):
    headers = {name: value.format(page.host) for name, value in headers.items()}
    assert page.get("shelf", headers).status == status


def test_every_answer_tells_the_browser_to_keep_to_itself(page):
    for reply in (page.get("shelf"), page.send("GET", "/"), page.get("no-such.js"), page.post("ask", {})):
        assert "default-src 'none'" in reply.headers["content-security-policy"]
        assert reply.headers["x-content-type-options"] == "nosniff"
        assert reply.headers["referrer-policy"] == "no-referrer"
        assert reply.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "file",
    [
        "../perch.toml",
        "/etc/passwd",
        "a/../../x.toml",
        ".hidden.toml",
        "demo:../x",
        "perch.csv",
        "x\0.toml",
        "link.toml",
    ],
)
def test_no_file_outside_the_folder_is_read(page, tmp_path, file):
    (tmp_path / "secret.toml").write_text('name = "secret"')
    link = page.folder / "link.toml"
    link.unlink(missing_ok=True)
    link.symlink_to(tmp_path / "secret.toml")
    reply = page.get("recipe", file=file)
    link.unlink()
    assert reply.status == 404
    assert b"secret" not in reply.content


@pytest.mark.parametrize(
    "wrong",
    [
        *(
            {"ask": -1},
            {"ask": "1"},
            {"text": 5},
            {"want": "all"},
            {"view": "top"},
            {"changes": {"a": 1}},
            {"tab": None},
        ),
        *({"holds": "lip"}, {"holds": [1]}, {"holds": ["a"] * 1000}, {"holds": ["a" * 1000]}),
    ],
    ids=lambda wrong: str(wrong)[:40],
)
def test_a_wrong_ask_is_told_what_would_be_taken(page, wrong):
    right = {"ask": 10**6, "tab": "other", "file": None, "text": "", "changes": {}, "want": "glance"}
    reply = page.post("ask", right | wrong)
    assert reply.status == 400
    assert next(iter(wrong)) in reply.json()["error"]


def test_an_ask_that_a_newer_one_has_passed_is_told_so(page):
    newer = {"ask": 7, "tab": "overtaken", "file": None, "text": "", "changes": {}, "want": "glance"}
    assert page.post("ask", newer).status == 200
    older = page.post("ask", newer | {"ask": 6})
    assert (older.status, older.json()) == (409, {"overtaken": True})


def test_it_prints_its_address_first_answers_there_and_ends_well(tmp_path):
    """And at the same place after a restart, as an open page goes on by itself; others may not read where that is."""
    folder = tmp_path / "folder"
    folder.mkdir()
    opened = served(folder)
    assert opened.address.startswith("http://127.0.0.1:")
    assert opened.get("shelf").status == 200
    opened.process.send_signal(signal.SIGINT)
    out, err = opened.process.communicate(timeout=20)
    assert (opened.process.returncode, out, err) == (0, "", "stop it with Ctrl-C\n")
    (kept,) = (tmp_path / "folder-state" / "bodygen").iterdir()
    assert kept.read_text(encoding="ascii") in opened.address
    assert kept.stat().st_mode & 0o077 == 0
    again = served(folder, "--port", opened.host.rpartition(":")[2])
    again.process.kill()
    again.process.communicate()
    assert again.address == opened.address


@pytest.mark.parametrize(
    ("words", "told"),
    [(["nowhere"], "no such folder"), ([".", "--port", "99999"], "port"), ([".", "--host", "256.1.1.1"], "listen")],
    ids=str,
)
def test_what_cannot_be_served_is_said_in_words(words, told):
    done = subprocess.run(
        [sys.executable, "-m", "bodygen", "serve", "--no-open", *words], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_the_browser_is_told_every_module_of_the_page_before_it_meets_them(page):
    told = re.findall(r'<link rel="modulepreload"[^>]* href="([^"]+)">', page.get("").content.decode())
    shipped = Path(bodygen.__file__).parent / "serve" / "page"
    assert sorted(told) == sorted(path.relative_to(shipped).as_posix() for path in shipped.rglob("*.js"))


def test_a_body_does_not_wait_until_its_head_is_acknowledged():
    lines = []

    class Seen(ImpatientProtocol):
        def connection_made(self, transport):
            super().connection_made(transport)
            line = transport.get_extra_info("socket")
            lines.append(line.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))

    async def called():
        config = uvicorn.Config(print, http=Seen, ws="none", lifespan="off")
        config.load()
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: Seen(config, ServerState(), {}), sock=_listening("127.0.0.1", 0))
        reader, writer = await asyncio.open_connection(*server.sockets[0].getsockname())
        writer.write(b"no request\r\n\r\n")
        assert await reader.read(12) == b"HTTP/1.1 400"
        writer.close()
        server.close()

    asyncio.run(called())
    assert lines == [1]
