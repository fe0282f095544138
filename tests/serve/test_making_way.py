"""A glance never waits for a whole that it has overtaken: a whole stops at its next pause, and none of them is far."""

import asyncio
import json
import time
from collections import OrderedDict
from types import SimpleNamespace

import pytest
from starlette.requests import Request
from tab import PERCH

from bodygen.flotation import immersion
from bodygen.serve.answer import ask
from bodygen.serve.answer.ask import Ask, Warm, answer, unpacked
from bodygen.serve.app import Bench
from bodygen.serve.work.worker import OvertakenError, pause_of, reply

TEXT = PERCH.read_text(encoding="utf-8")
MOST_AT_ONCE = 0.5
"""Of the water planes that cut a hull, a whole's dearest work, what may lie between two of its pauses."""


def asked(want, text=TEXT):
    return Ask(1, text, {}, "perch.toml", want, "side")


def test_a_whole_pauses_after_little_work_and_a_glance_never(monkeypatch):
    cuts, between = 0, []
    cut_skin = immersion.cut_skin

    def counted(blocks, places, axes, level):
        nonlocal cuts
        cuts += len(axes)
        return cut_skin(blocks, places, axes, level)

    def pause():
        nonlocal cuts
        between.append(cuts)
        cuts = 0

    monkeypatch.setattr(immersion, "cut_skin", counted)
    warm = Warm()
    answer(asked("whole"), warm, pause=pause)
    assert len(between) > 8
    assert max([*between, cuts]) <= MOST_AT_ONCE * sum([*between, cuts]), between
    between.clear()
    answer(asked("glance"), warm, pause=pause)
    assert between == []


def test_a_whole_that_is_overtaken_ends_there_and_leaves_the_tab_as_it_was():
    stopped, tabs = SimpleNamespace(value=0), OrderedDict()
    message = {"what": "ask", "tab": "tab", "began": 0.0, "asked": 1}
    ask = {"ask": 1, "text": TEXT, "changes": {}, "file": "perch.toml", "want": "whole", "view": "side"}
    status, body = reply(message | {"ask": ask}, tabs, lambda _: None, pause_of(message, stopped))
    assert status == 200
    before, stopped.value = tabs["tab"].last, 2
    later = message | {"asked": 2}
    longer = ask | {"changes": {"shape.length": "3 in"}}
    status, body = reply(later | {"ask": longer}, tabs, lambda _: None, pause_of(later, stopped))
    assert (status, json.loads(body)) == (409, {"overtaken": True})
    assert tabs["tab"].last is before
    third = message | {"asked": 3}
    status, body = reply(third | {"ask": longer | {"want": "glance"}}, tabs, lambda _: None, pause_of(third, stopped))
    assert (status, unpacked(body)[0]["refused"]) == (200, None)


def test_a_stop_that_comes_too_late_stops_nothing_that_is_asked_after_it():
    stopped = SimpleNamespace(value=4)
    pause_of({"asked": 5}, stopped)()
    with pytest.raises(OvertakenError):
        pause_of({"asked": 4}, stopped)()


class Near:
    """A working process that works at a whole, or at mends, until it is overtaken; it writes down what it hears."""

    def __init__(self):
        self.heard, self.at_work, self.begun, self.stop = [], None, asyncio.Event(), asyncio.Event()

    async def ask(self, message, seconds):
        del seconds
        self.at_work, what = message, message.get("ask", {}).get("want", message["what"])
        self.heard.append(what)
        self.begun.set()
        if what != "glance":
            await self.stop.wait()
            self.stop.clear()
            self.heard.append(f"{what} left")
        self.at_work = None
        return 200, b"{}"

    def overtake(self):
        self.stop.set()


def request(document):
    async def receive():
        return {"type": "http.request", "body": json.dumps(document).encode()}

    return Request({"type": "http", "method": "POST", "headers": [(b"content-type", b"application/json")]}, receive)


@pytest.mark.parametrize("first", ["whole", "mends"])
def test_a_glance_of_the_same_tab_has_what_is_at_work_left_before_it_is_asked(first, tmp_path):
    async def both():
        bench = Bench(tmp_path)
        bench.near = Near()
        said = {"tab": "tab", "file": None, "text": TEXT, "changes": {}, "want": "whole"}
        bench.tab("tab").newest = 1
        route, number = (bench.mends, 1) if first == "mends" else (bench.ask, 2)
        long = asyncio.create_task(route(request(said | {"ask": number})))
        await bench.near.begun.wait()
        glance = await bench.ask(request(said | {"ask": 3, "want": "glance"}))
        await long
        return bench.near.heard, glance.status_code

    assert asyncio.run(both()) == ([first, f"{first} left", "glance"], 200)


def left(at_work, asked, folder):
    """Whether what is at work is left for what another tab asks."""

    async def heard():
        bench = Bench(folder)
        bench.near = Near()
        bench.near.at_work = {"tab": "another"} | at_work
        bench.make_way("tab", asked)
        return bench.near.stop.is_set()

    return asyncio.run(heard())


def test_mends_of_one_tab_make_way_for_another_and_its_whole_does_not(tmp_path):
    asked = {"want": "glance", "text": TEXT}
    assert [left({"what": what}, asked, tmp_path) for what in ("mends", "ask")] == [True, False]


def test_what_is_worked_out_ahead_makes_way_for_all_but_the_whole_of_it(tmp_path):
    ahead = {"what": "ahead", "text": TEXT}
    asked = [(want, text) for want in ("whole", "glance") for text in (TEXT, TEXT + "\n")]
    assert [left(ahead, {"want": want, "text": text}, tmp_path) for want, text in asked] == [False, True, True, True]


def test_what_was_worked_out_ahead_is_what_is_answered(monkeypatch):
    tabs, never = OrderedDict(), lambda: None
    said = {"text": TEXT, "file": "recipe.toml"}
    status, _ = reply({"what": "ahead", "tab": "", **said}, tabs, lambda _: None, never)
    assert status == 200
    whole = {"ask": 1, "changes": {}, "want": "whole", "view": "side", **said}
    message = {"what": "ask", "tab": "one", "ask": whole, "began": time.monotonic()}
    fresh = unpacked(reply(message, OrderedDict(), lambda _: None, never)[1])
    monkeypatch.setattr(ask, "assess", lambda *_, **__: pytest.fail("worked out again"))
    document, buffers = unpacked(reply(message, tabs, lambda _: None, never)[1])
    assert (document | {"answer_ms": 0}, buffers) == (fresh[0] | {"answer_ms": 0}, fresh[1])
    assert list(tabs) == ["one"]
