"""Who may ask, and how the server starts and ends."""

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
import uvicorn
from tab import served
from uvicorn.server import ServerState

import bodygen
from bodygen.extras import EXTRAS
from bodygen.serve.run import ImpatientProtocol, _listening
from bodygen.serve.shelf import opened
from bodygen.tables import load


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


def test_the_shelf_shows_what_can_be_opened_and_of_any_age(page):
    kept = page.folder / "old as the hills.toml"
    kept.write_text('name = "Old"\n', encoding="utf-8")
    os.utime(kept, (-(10**9), 2**34))
    others = [page.folder / name for name in ("what?.toml", "line\nbreak.toml", os.fsdecode(b"half\xff.toml"))]
    for path in others:
        path.write_text('name = "Other"\n', encoding="utf-8")
    reply = page.get("shelf")
    for path in (kept, *others):
        path.unlink()
    files = [recipe["file"] for recipe in reply.json()["recipes"]]
    assert (kept.name in files, {path.name for path in others} & {*files}) == (True, set())


def test_a_file_that_took_the_place_of_another_since_it_was_looked_at_is_not_read(tmp_path):
    (tmp_path / "secret.toml").write_text("secret", encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(tmp_path / "secret.toml")
    os.mkfifo(tmp_path / "pipe.toml")
    for name in ("link.toml", "pipe.toml"):
        with pytest.raises(OSError, match=r"symbolic|not a plain file"):
            opened(tmp_path / name)


@pytest.mark.parametrize(
    ("path", "document"),
    [
        ("new", {"name": "x", "family": {"a": 1}}),
        ("log", {"text": "", "file": "perch.toml", "weighed": [1]}),
        ("log", {"text": "", "file": "perch.toml", "weighed": {"drilled": {"a": 1}}}),
        ("log", {"text": "", "file": "perch.toml"} | {str(number): "a" for number in range(100)}),
    ],
    ids=lambda one: str(one)[:30],
)
def test_what_no_page_would_post_is_told_what_would_be_taken(page, path, document):
    reply = page.post(path, document)
    assert (reply.status in {400, 422}, bool(reply.json()["error"])) == (True, True)


@pytest.mark.parametrize("key", ["bore[1]", "a." * 1000 + "b"], ids=["a word for a table", "a thousand steps"])
def test_a_change_that_no_recipe_can_have_is_told(page, key):
    told, _ = page.ask("[[bore]]\nx = 1\n", {key: "1"}, tab="odd")
    assert told["refused"][0]["message"] == "no such place in this recipe."


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
    [
        (["nowhere"], "no such folder"),
        ([".", "--port", "99999"], "port"),
        ([".", "--host", "256.1.1.1"], "listen"),
        ([".", "--host", ""], "no address"),
    ],
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

    async def calling(reader, writer):
        writer.write(b"no request\r\n\r\n")
        assert await reader.read(12) == b"HTTP/1.1 400"

    called(calling, Seen)
    assert lines == [1]


@pytest.fixture
def hasty(monkeypatch):
    for name in ("head_s", "body_s"):
        monkeypatch.setitem(load("serve")["time"], name, 0.3)


def test_half_of_a_head_is_waited_for_no_longer_after_an_answer_than_before(hasty):
    async def calling(reader, writer):
        for _ in range(2):
            writer.write(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
            assert (await reader.readuntil(b"told\r\n0\r\n\r\n")).startswith(b"HTTP/1.1 200")
        await asyncio.sleep(0.5)  # between two requests there is time
        writer.write(b"GET / HTTP/1.1\r\nHo")
        with suppress(ConnectionError):
            assert await asyncio.wait_for(reader.read(), 5) == b""

    called(calling)


def test_who_does_not_take_an_answer_is_hung_up_on(hasty):
    async def calling(reader, writer):
        writer.write(b"GET /much HTTP/1.1\r\nHost: x\r\n\r\n")
        reader._transport.pause_reading()
        await asyncio.wait_for(gone.wait(), 5)

    gone = asyncio.Event()

    class Told(ImpatientProtocol):
        def connection_lost(self, exc):
            super().connection_lost(exc)
            gone.set()

    called(calling, Told)


async def tells(scope, receive, send):
    """An application that tells a little, or without an end."""
    await send({"type": "http.response.start", "status": 200, "headers": [(b"x", b"y")]})
    while scope["path"] == "/much":
        await send({"type": "http.response.body", "body": b"x" * 100_000, "more_body": True})
        await asyncio.sleep(0)
    await send({"type": "http.response.body", "body": b"told"})


def called(calling, protocol=ImpatientProtocol):
    """Call a server of one protocol, in this process."""

    async def both():
        config = uvicorn.Config(tells, http=protocol, ws="none", lifespan="off", log_level="critical")
        config.load()
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: protocol(config, ServerState(), {}), sock=_listening("127.0.0.1", 0))
        reader, writer = await asyncio.open_connection(*server.sockets[0].getsockname())
        try:
            await calling(reader, writer)
        finally:
            writer.close()
            server.close()

    asyncio.run(both())
