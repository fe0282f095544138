"""Floods: more requests at once, more open sockets and slower bodies than are answered; and it answers after."""

import json
import os
import signal
import socket
import threading
import time
from collections import Counter
from contextlib import suppress
from http.client import HTTPException

import pytest
from amount import only_with_more
from tab import PERCH, memory_mb, passing, served, workers

from bodygen.tables import load

pytestmark = only_with_more
TEXT = PERCH.read_text(encoding="utf-8")
MOST_MB = 350
"""Of the server itself; its working processes have bounds of their own."""
LIMITS = load("serve")


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("flood") / "folder"
    folder.mkdir()
    opened = served(folder)
    yield opened
    assert memory_mb(opened.process) < MOST_MB
    opened.process.kill()
    _, told = opened.process.communicate()
    assert told.splitlines() == ["stop it with Ctrl-C"]


def connect(page):
    host, _, port = page.host.rpartition(":")
    return socket.create_connection((host, int(port)), timeout=10)


def answers_again(page):
    """An honest ask is answered, at the latest when the flood's share of a second is over."""
    for _ in range(80):
        reply = page.post(
            "ask", {"ask": time.time_ns() // 1000, "tab": "h", "file": None, "text": TEXT, "want": "whole"}
        )
        if reply.status == 200:
            return True
        assert reply.status in {429, 503}
        time.sleep(0.25)
    return False


def test_a_flood_from_many_sides_is_answered_or_told_to_wait(page):
    seen = Counter()

    def pour(number):
        for turn in range(3):
            newer = {"ask": time.time_ns() // 1000 + turn, "tab": f"tab{number % 6}"}
            document = newer | {"file": None, "text": TEXT, "want": "glance"}
            try:
                seen[page.post("ask", document).status] += 1
            except (HTTPException, OSError):
                seen[0] += 1  # hung up on, as it may be

    hands = [threading.Thread(target=pour, args=(number,)) for number in range(64)]
    for one in hands:
        one.start()
    for one in hands:
        one.join()
    assert set(seen) <= {0, 200, 409, 429, 503}
    assert seen[200] > 0
    assert answers_again(page)


def test_more_sockets_than_may_be_open_are_hung_up_on_and_the_others_answered(page):
    most = LIMITS["number"]["sockets"]
    opened = [connect(page) for _ in range(most + 40)]
    time.sleep(0.5)
    hung_up = 0
    for one in opened:
        one.settimeout(0.01)
        try:
            hung_up += one.recv(1) == b""
        except TimeoutError:
            pass
        except OSError:
            hung_up += 1
    assert hung_up >= 40 - 1
    for one in opened:
        one.close()
    assert answers_again(page)


def test_what_is_posted_beside_an_ask_is_not_held_while_that_waits(page):
    """A megabyte of JSON can be thirty of Python's; the memory is looked at when all tests are over."""
    assert answers_again(page)
    near = workers(page.process)[0]
    os.kill(near, signal.SIGSTOP)
    beside = "[" + "[]," * 300_000 + "[]]"

    def pour(number):
        body = f'{{"ask": 5, "tab": "t{number}", "file": null, "text": "", "want": "glance", "beside": {beside}}}'
        with suppress(HTTPException, OSError):
            page.send("POST", f"{page.below}ask", body, {"content-type": "application/json"})

    hands = [threading.Thread(target=pour, args=(number,)) for number in range(LIMITS["number"]["answering"] - 4)]
    for one in hands:
        one.start()
    time.sleep(4)
    os.kill(near, signal.SIGCONT)
    for one in hands:
        one.join()
    assert memory_mb(page.process) < MOST_MB
    assert answers_again(page)


def test_an_answer_larger_than_a_page_can_show_is_told_instead_and_the_server_stays_small(page):
    assert answers_again(page)
    thing = '\n[[fitting]]\nname = "f{}"\nmass = "0.001 g"\nat = ["1 in", 0, 0]\n'
    text = TEXT + "".join(thing.format(number) for number in range(4000))
    reply = page.post("ask", {"ask": 7, "tab": "large", "file": None, "text": text, "want": "whole"})
    assert (reply.status, "than a page can show" in reply.json()["error"]) == (422, True)
    assert answers_again(page)


def test_more_files_at_once_than_are_read_are_told_to_wait_and_none_is_left(page):
    head = f"POST {page.below}drop?name=a.stl HTTP/1.1\r\nHost: {page.host}\r\nContent-Length: 9000000\r\n\r\nsolid"
    slow = [connect(page) for _ in range(LIMITS["number"]["uploads"])]
    for one in slow:
        one.sendall(head.encode())
    time.sleep(0.5)
    reply = page.send("POST", f"{page.below}drop?name=a.stl", b"solid")
    assert (reply.status, "send it again" in reply.json()["error"]) == (503, True)
    for one in slow:
        one.close()
    time.sleep(0.5)
    assert page.send("POST", f"{page.below}drop?name=a.stl", b"solid").json()["refused"]
    assert list(passing(page.folder).glob("bodygen-*")) == []


def test_bodies_without_an_end_and_larger_than_they_said_are_cut_off(page):
    head = f"POST {page.below}ask HTTP/1.1\r\nHost: {page.host}\r\nContent-Type: application/json\r\n"
    slow = [connect(page) for _ in range(20)]
    for one in slow:  # each holds one of the places of those that are answered
        one.sendall(f"{head}Content-Length: 900000\r\n\r\n{{".encode())
    assert answers_again(page)
    with connect(page) as endless:
        endless.sendall(f"{head}Transfer-Encoding: chunked\r\n\r\n".encode())
        piece = b"10000\r\n" + b" " * 0x10000 + b"\r\n"
        told = b""
        try:
            for _ in range(40):
                endless.sendall(piece)
            told = endless.recv(200)
        except OSError:
            told = told or b"HTTP/1.1 413"  # it was hung up on while it was still sending
    assert told.startswith(b"HTTP/1.1 413")
    assert json.loads(page.get("shelf").content)["recipes"] == []
    for one in slow:
        one.close()
    assert answers_again(page)
