"""The process that works: it reads, weighs, draws, and keeps each tab's last bait warm. The server only passes on.

It is started anew where it dies or takes too long. What it may use of memory is limited by the system.
"""

import gc
import json
import os
import signal
import time
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from multiprocessing.connection import Connection
from typing import Any, Protocol

from bodygen.assessment import Assessment
from bodygen.errors import BodygenError, InputError
from bodygen.recipe.starter import USUAL_LENGTH, starter_text
from bodygen.report.properties import plain
from bodygen.serve.answer.ask import Ask, Warm, answer, foresee
from bodygen.serve.answer.words import refusal_of
from bodygen.serve.mends.mends import mends_of
from bodygen.serve.work.faults import tell_fault
from bodygen.serve.work.pipe import PROGRESS, Reply, framed
from bodygen.tables import load

MOST_TABS = 8
"""Tabs whose last bait is kept; those that asked longest ago go."""
AHEAD = ""
"""In place of a tab's name: what was worked out for the next one, before it asks."""
QUICK_S = 0.2
"""After an answer that took longer the next is not worked out before it is asked for: a hand might wait for that."""
OUT_OF_MEMORY = 75
"""Exit code of a process that had no memory left: it is started anew."""


class SharedNumber(Protocol):
    """A number that two processes see."""

    value: int


class OvertakenError(Exception):
    """Nobody wants to know any more what is being worked out."""


def work(connection: Connection, memory_mb: int, stopped: SharedNumber, *, answers: bool = False) -> None:
    """Answer one message after the other until the server hangs up; each is JSON, the reply a number and bytes.

    ``stopped`` is shared with the server: the number of the last message that is wanted no more. ``answers``: it is for
    asks while a hand waits, and reads the tables before the first of them.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server is the one to stop, and hangs up
    _limit(memory_mb)
    tabs: OrderedDict[str, Warm] = OrderedDict()
    if answers and not connection.poll():
        _warm_up()
    rest, fresh = load("serve")["time"]["hand_lies_s"], True
    while True:
        try:
            message = json.loads(connection.recv_bytes())
        except (EOFError, OSError):
            return
        try:
            status, body = reply(
                message, tabs, lambda told: connection.send_bytes(PROGRESS + told), pause_of(message, stopped)
            )
        except MemoryError:
            os._exit(OUT_OF_MEMORY)
        except BrokenPipeError:  # the server was killed: nobody is there who would hear of it
            return
        with suppress(BrokenPipeError):
            connection.send_bytes(framed(status, body))
        if message.get("further") and time.monotonic() - message["began"] < QUICK_S:
            _foresee(message, tabs, lambda: not connection.poll(rest))
        if fresh:  # what is loaded by now stays: no search for garbage need look at it, in the middle of a drag
            gc.freeze()
            fresh = False


def pause_of(message: dict[str, Any], stopped: SharedNumber) -> Callable[[], None]:
    """What a long piece of work calls now and then: it ends the work where the message was overtaken."""

    def pause() -> None:
        if stopped.value >= message["asked"]:
            raise OvertakenError

    return pause


def reply(
    message: dict[str, Any], tabs: OrderedDict[str, Warm], say: Callable[[bytes], None], pause: Callable[[], None]
) -> Reply:
    """Status and body for one message; a fault of our own is told in words, as no traceback reaches a person."""
    try:
        match message["what"]:
            case "ask":
                asked = Ask(**message["ask"])
                body = answer(asked, _warm(message["tab"], tabs, asked.text), message["began"], pause)
            case "ahead":
                text = message["text"]
                known = next((warm.last for warm in tabs.values() if warm.text == text), None)  # of a page loaded anew
                ahead = tabs[AHEAD] = Warm(known)
                answer(Ask(0, text, {}, message["file"], "whole", "side"), ahead, pause=pause)
                body = b"{}"
            case "mends":
                body = mends_in(message, _warm(message["tab"], tabs), pause)
            case _:
                body = json.dumps(plain(_long(message, say)), allow_nan=False).encode()
    except InputError as error:
        body = json.dumps({"refused": refusal_of(error.mistakes), "message": str(error)}).encode()
    except BodygenError as error:
        refused = [{"line": 0, "key": getattr(error, "where", ""), "wrote": "", "message": str(error), "accepted": ""}]
        body = json.dumps({"refused": refused, "message": str(error)}).encode()
    except OvertakenError:
        return 409, b'{"overtaken": true}'
    except (MemoryError, BrokenPipeError):
        raise
    except Exception as error:  # noqa: BLE001  whatever it is, the page is told and the server stays
        return 503, json.dumps({"error": tell_fault(error)}).encode()
    most = load("serve")["size"]["answer_bytes"]
    if len(body) > most:  # the server would hold it several times
        told = f"there is more in this recipe than a page can show: {len(body) / 1e6:.0f} MB, at most {most / 1e6:.0f}"
        return 422, json.dumps({"error": told}).encode()
    return 200, body


def _warm(tab: str, tabs: OrderedDict[str, Warm], text: str | None = None) -> Warm:
    """What a tab asked last, or what was worked out ahead of this ``text``; of too many, the oldest are forgotten."""
    if AHEAD in tabs and tabs[AHEAD].text == text:
        tabs[tab] = tabs.pop(AHEAD)
    warm = tabs.setdefault(tab, Warm())
    tabs.move_to_end(tab)
    while len(tabs) > MOST_TABS:
        tabs.popitem(last=False)
    return warm


def _foresee(message: dict[str, Any], tabs: OrderedDict[str, Warm], lies_still: Callable[[], bool]) -> None:
    """Work out what comes next where the hand goes on as it went; who asks for that hears of what is wrong there."""
    try:
        if lies_still():
            foresee(Ask(**message["ask"]), message["further"], _warm(message["tab"], tabs))
    except MemoryError:
        os._exit(OUT_OF_MEMORY)
    except Exception:  # noqa: BLE001  nobody waits for it
        return


def mends_in(message: dict[str, Any], warm: Warm, pause: Callable[[], None]) -> bytes:
    """Mends for the doubts of what the tab was last told as a whole; none where that was another recipe.

    Where others ask meanwhile, those that were found by then are told.
    """
    known, mends = warm.last, []
    if isinstance(known, Assessment) and message["text"] == warm.text:
        with suppress(OvertakenError):
            for mend in mends_of(known, message["text"], message["file"], message["seconds"], pause):
                mends.append(mend)  # noqa: PERF402  what was found before it was overtaken counts
    return json.dumps({"mends": [asdict(mend) for mend in mends]}).encode()


def _long(message: dict[str, Any], say: Callable[[bytes], None]) -> dict[str, Any]:
    """What takes long; each loads what it needs."""
    told: dict[str, Any]
    match message["what"]:
        case "offers":
            from bodygen.serve.work.offers import offers_for  # noqa: PLC0415  no glance has a use for it

            told = offers_for(message["kind"], message["text"], message["file"], message["said"])
        case "log":
            from bodygen.serve.work.booking import booked  # noqa: PLC0415  as above

            told = booked(message["text"], message["file"], message["said"])
        case "build":
            from bodygen.serve.work.builds import built  # noqa: PLC0415  as above

            def progress(*step: object) -> None:
                say(json.dumps(step).encode())

            told = built(
                message["text"], message["file"], message["folder"], message["own_name"], message["only"], progress
            )
        case "lay":
            from bodygen.serve.work.laying import laid  # noqa: PLC0415  as above

            told = laid(message["upload"], message["name"], message["text"], message["file"])
        case "departs":
            from bodygen.serve.work.laying import departed  # noqa: PLC0415  as above

            told = departed(message["text"], message["file"], message["places"])
        case _:
            from bodygen.serve.work.dropped import traced  # noqa: PLC0415  as above

            told = traced(message["upload"], message["name"], message["folder"], message["said"])
    return told


def _warm_up() -> None:
    """Weigh a bait that nobody asked for, so that tables and libraries are there when somebody does."""
    with suppress(BodygenError):
        answer(Ask(0, starter_text("first", "mm", USUAL_LENGTH), {}, "first.toml", "whole", "side"), Warm())


def _limit(memory_mb: int) -> None:
    """Let the system refuse more memory than that, where it can."""
    with suppress(ImportError, ValueError, OSError):
        import resource  # noqa: PLC0415  there is none on Windows

        resource.setrlimit(resource.RLIMIT_AS, (memory_mb << 20, memory_mb << 20))
