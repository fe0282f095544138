"""What takes too long is given up and told; the process that was at it is ended, and the next ask is answered.

Working processes are stopped by the system in the middle of their work, as by a computation without an end.
"""

import os
import signal
import threading

import pytest
from amount import only_with_more
from tab import PERCH, in_haste, served, workers

pytestmark = only_with_more
TEXT = PERCH.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("haste") / "folder"
    folder.mkdir()
    opened = served(folder, program=in_haste(6))
    yield opened
    opened.process.kill()
    _, told = opened.process.communicate()
    assert told.splitlines() == ["stop it with Ctrl-C"]


def ask(page, number):
    return page.post("ask", {"ask": number, "tab": "t", "file": None, "text": TEXT, "want": "glance"})


def test_an_ask_that_takes_too_long_is_told_and_the_next_is_answered(page):
    assert ask(page, 1).status == 200
    (worker,) = workers(page.process)
    os.kill(worker, signal.SIGSTOP)
    late = ask(page, 2)
    assert (late.status, late.json()) == (503, {"error": "it took longer than 6 s and was given up"})
    assert worker not in workers(page.process)
    assert ask(page, 3).status == 200
    assert len(workers(page.process)) == 1


def test_a_process_that_does_not_even_read_what_it_is_asked_is_given_up_too(page):
    """What is asked is larger than the system holds until it is read."""
    assert ask(page, 10).status == 200
    (worker,) = workers(page.process)
    os.kill(worker, signal.SIGSTOP)
    large = {"ask": 11, "tab": "t", "file": None, "text": f"{TEXT}# {'x' * 900_000}", "want": "glance"}
    assert page.post("ask", large).status == 503
    assert ask(page, 12).status == 200


def test_while_an_offer_is_worked_out_a_glance_is_answered_and_a_forgotten_offer_ends(page):
    asked = {"tab": "t", "file": None, "text": TEXT, "kind": "ballast", "said": {"reserve": "3 g"}}
    assert page.post("offers", asked).status == 200
    _, offering = workers(page.process)
    os.kill(offering, signal.SIGSTOP)
    replies = []
    waiting = threading.Thread(target=lambda: replies.append(page.post("offers", asked)))
    waiting.start()
    assert ask(page, 14).status == 200
    assert replies == []
    for _ in range(100):  # until it has come in to be forgotten
        assert page.post("forget", {"tab": "t"}).status == 200
        waiting.join(0.3)
        if replies:
            break
    assert (replies[0].status, replies[0].json()) == (409, {"overtaken": True})
    assert offering not in workers(page.process)
    assert page.post("offers", asked).json()["offers"]
