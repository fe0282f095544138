"""What is worked out before it is asked for: told as it would have been, and to nobody who asks for something else."""

import asyncio
import time
from collections import OrderedDict
from dataclasses import replace

import pytest
from tab import PERCH

from bodygen.serve import app, shelf
from bodygen.serve.answer import ask
from bodygen.serve.answer.ask import Ask, Warm, answer, foresee, unpacked
from bodygen.serve.app import Bench
from bodygen.serve.asked import WrongAskError, ask_of
from bodygen.serve.work.worker import reply

TEXT = PERCH.read_text(encoding="utf-8")
DEPTHS = ("10 mm", "10.5 mm", "11 mm")


@pytest.fixture(scope="module")
def told():
    """A tab that was told the whole of it."""
    warm = Warm()
    answer(Ask(1, TEXT, {}, "perch.toml", "whole", "side"), warm)
    return warm


def glance(told, depth):
    """The tab anew, and its next ask."""
    holds = [part["name"] for part in told.told[1].document["solid"]["parts"]]
    changes = {"bore[1].depth": depth}
    return replace(told), Ask(2, TEXT, changes, "perch.toml", "glance", "side", holds=holds)


def next_of(asked, message, depth):
    document, _ = unpacked(message)
    holds = [part["name"] for part in document["solid"]["parts"]][::-1]  # in whatever order the page has them
    return Ask(asked.ask + 1, TEXT, {"bore[1].depth": depth}, "perch.toml", "glance", "side", holds=holds)


def without_time(message):
    document, numbers = unpacked(message)
    return document | {"answer_ms": 0}, numbers


@pytest.mark.parametrize("comes", [DEPTHS[1], DEPTHS[2]])
def test_what_was_foreseen_is_told_as_it_would_have_been_and_only_to_that_ask(comes, told, monkeypatch):
    worked = []
    warm, first = glance(told, DEPTHS[0])
    plain, _ = glance(told, DEPTHS[0])
    message = answer(first, warm)
    answer(first, plain)
    foresee(first, {"bore[1].depth": DEPTHS[1]}, warm)
    real = ask.glance
    monkeypatch.setattr(ask, "glance", lambda *words: worked.append(words) or real(*words))
    second = next_of(first, message, comes)
    after = answer(second, warm)
    assert len(worked) == (comes != DEPTHS[1])
    assert without_time(after) == without_time(answer(second, plain))
    assert unpacked(after)[0]["figures"] != unpacked(message)[0]["figures"]
    assert warm.text == plain.text
    assert warm.foreseen is None


def test_what_would_be_refused_is_not_foreseen_and_after_a_refusal_nothing_is(told):
    warm, first = glance(told, DEPTHS[0])
    answer(first, warm)
    foresee(first, {"bore[1].depth": "eleven"}, warm)
    assert warm.foreseen is None
    _, wrong = glance(told, "eleven")
    assert unpacked(answer(wrong, warm))[0]["refused"]
    foresee(wrong, {"bore[1].depth": DEPTHS[1]}, warm)
    assert warm.foreseen is None


def test_what_is_very_large_is_not_kept_to_be_told_again(told, monkeypatch):
    monkeypatch.setattr(ask, "MOST_KEPT", 1000)
    warm, first = glance(told, DEPTHS[0])
    answer(first, warm)
    foresee(first, {"bore[1].depth": DEPTHS[1]}, warm)
    assert (warm.told, warm.foreseen) == (None, None)


def test_a_step_further_is_looked_at_like_any_change(tmp_path):
    asked = {"ask": 1, "tab": "one", "file": None, "text": TEXT, "changes": {}, "want": "glance"}
    assert ask_of(asked, tmp_path, 5)["further"] == {}
    assert ask_of(asked | {"further": {"shape.length": "3 in"}}, tmp_path, 5)["further"] == {"shape.length": "3 in"}
    for further in ([], "3 in", {"a": 1}, {"a" * 5000: "1"}, {"a": "1" * 5000}, dict.fromkeys("abcdef", "1")):
        with pytest.raises(WrongAskError, match="further"):
            ask_of(asked | {"further": further}, tmp_path, 5)


def test_a_page_that_is_loaded_anew_is_told_what_was_told_before(monkeypatch):
    tabs, never = OrderedDict(), lambda: None
    said = {"text": TEXT, "file": "perch.toml"}
    whole = {"ask": 1, "changes": {}, "want": "whole", "view": "side", **said}
    first = {"what": "ask", "tab": "one", "ask": whole, "began": time.monotonic()}
    before = reply(first, tabs, lambda _: None, never)
    monkeypatch.setattr(ask, "assess", lambda *_, **__: pytest.fail("worked out again"))
    assert reply({"what": "ahead", "tab": "", **said}, tabs, lambda _: None, never)[0] == 200
    monkeypatch.setattr(ask, "solid_of", lambda *_, **__: pytest.fail("told again"))
    after = reply(first | {"tab": "two"}, tabs, lambda _: None, never)
    assert without_time(after[1]) == without_time(before[1])
    assert set(tabs) == {"one", "two"}


def test_a_page_begins_with_the_first_recipe_of_its_folder_or_with_a_demo(tmp_path, monkeypatch):
    assert shelf.shelf(tmp_path)["first"] == "demo:tarn-perch-70"
    (tmp_path / "b.toml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "notes.toml").write_text("x = 1\n", encoding="utf-8")
    (tmp_path / "a.toml").write_text(TEXT, encoding="utf-8")
    assert shelf.shelf(tmp_path)["first"] == "a.toml"
    monkeypatch.setattr(shelf, "demo_folder", lambda: None)
    (tmp_path / "none").mkdir()
    assert shelf.shelf(tmp_path / "none")["first"] is None


class Near:
    """A working process that writes down what it is asked."""

    def __init__(self, at_work=None):
        self.at_work, self.asked, self.overtaken = at_work, [], False

    async def ask(self, message, seconds):
        del seconds
        self.asked.append((message["what"], message["text"]))
        return 200, b"{}"

    def overtake(self):
        self.overtaken = True


def opened(folder, at_work=None):
    bench = Bench(folder)
    bench.near = Near(at_work)
    asyncio.run(bench.first())
    return bench.near


def test_a_server_works_out_at_once_what_a_page_begins_with(tmp_path):
    (tmp_path / "perch.toml").write_text(TEXT, encoding="utf-8")
    assert opened(tmp_path).asked == [("ahead", TEXT)]


def test_a_folder_with_nothing_to_begin_with_keeps_a_server_from_nothing(tmp_path, monkeypatch):
    monkeypatch.setattr(app.shelf, "demo_folder", lambda: None)
    assert opened(tmp_path).asked == []


def test_of_many_recipes_that_are_read_at_once_the_first_and_the_last_are_worked_out(tmp_path):
    (tmp_path / "perch.toml").write_text(TEXT, encoding="utf-8")
    texts = [f"{TEXT}# {number}\n" for number in range(20)]

    async def flood():
        bench, go = Bench(tmp_path), asyncio.Event()
        bench.near = Near()
        plain = bench.near.ask

        async def slow(message, seconds):
            bench.near.at_work = message
            await go.wait()
            bench.near.at_work = None
            return await plain(message, seconds)

        bench.near.ask = slow
        for text in texts:
            bench.begin(bench.ahead("perch.toml", text))
            await asyncio.sleep(0)
        go.set()
        await asyncio.gather(*bench.begun)
        return bench

    bench = asyncio.run(flood())
    assert bench.near.asked == [("ahead", texts[0]), ("ahead", texts[-1])]
    assert (bench.near.overtaken, bench.begun) == (True, set())


@pytest.mark.parametrize(
    ("at_work", "left", "asked"),
    [
        ({"what": "mends", "text": "another"}, True, 1),  # those that were found by then are told
        ({"what": "ahead", "text": "another"}, True, 1),
        ({"what": "ahead", "text": TEXT}, False, 0),
        ({"what": "ask", "text": "another"}, False, 0),  # a hand waits for it
    ],
)
def test_a_recipe_that_is_read_comes_before_mends_and_after_a_hand(at_work, left, asked, tmp_path):
    (tmp_path / "perch.toml").write_text(TEXT, encoding="utf-8")
    near = opened(tmp_path, at_work)
    assert (near.overtaken, len(near.asked)) == (left, asked)
