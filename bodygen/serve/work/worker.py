"""The process that works: it reads, weighs, draws, and keeps each tab's last bait warm. The server only passes on.

It is started anew where it dies or takes too long. What it may use of memory is limited by the system.
"""

import gc
import json
import os
import signal
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any

from bodygen.errors import BodygenError, InputError
from bodygen.recipe.starter import USUAL_LENGTH, starter_text
from bodygen.report.properties import plain
from bodygen.serve.answer.ask import Ask, Warm, answer
from bodygen.serve.answer.words import refusal_of
from bodygen.serve.work.faults import tell_fault
from bodygen.serve.work.pipe import PROGRESS, Reply, framed

MOST_TABS = 8
"""Tabs whose last bait is kept; those that asked longest ago go."""
OUT_OF_MEMORY = 75
"""Exit code of a process that had no memory left: it is started anew."""


def work(connection: Connection, memory_mb: int, *, answers: bool = False) -> None:
    """Answer one message after the other until the server hangs up; each is JSON, the reply a number and bytes.

    ``answers``: it is for asks while a hand waits, and reads the tables before the first of them.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server is the one to stop, and hangs up
    _limit(memory_mb)
    tabs: OrderedDict[str, Warm] = OrderedDict()
    if answers and not connection.poll():
        _warm_up()
    gc.freeze()  # what is loaded by now stays: no search for garbage need look at it, in the middle of a drag
    while True:
        try:
            message = json.loads(connection.recv_bytes())
        except (EOFError, OSError):
            return
        try:
            status, body = reply(message, tabs, lambda told: connection.send_bytes(PROGRESS + told))
        except MemoryError:
            os._exit(OUT_OF_MEMORY)
        with suppress(BrokenPipeError):
            connection.send_bytes(framed(status, body))


def reply(message: dict[str, Any], tabs: OrderedDict[str, Warm], say: Callable[[bytes], None]) -> Reply:
    """Status and body for one message; a fault of our own is told in words, as no traceback reaches a person."""
    try:
        if message["what"] == "ask":
            return 200, _ask(message, tabs)
        return 200, json.dumps(plain(_long(message, say)), allow_nan=False).encode()
    except InputError as error:
        return 200, json.dumps({"refused": refusal_of(error.mistakes), "message": str(error)}).encode()
    except BodygenError as error:
        refused = [{"line": 0, "key": getattr(error, "where", ""), "wrote": "", "message": str(error), "accepted": ""}]
        return 200, json.dumps({"refused": refused, "message": str(error)}).encode()
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001  whatever it is, the page is told and the server stays
        return 503, json.dumps({"error": tell_fault(error)}).encode()


def _ask(message: dict[str, Any], tabs: OrderedDict[str, Warm]) -> bytes:
    warm = tabs.setdefault(message["tab"], Warm())
    tabs.move_to_end(message["tab"])
    while len(tabs) > MOST_TABS:
        tabs.popitem(last=False)
    return answer(Ask(**message["ask"]), warm, message["began"])


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
