"""The process that works: it reads, weighs, draws, and keeps each tab's last bait warm. The server only passes on.

It is started anew where it dies or takes too long. What it may use of memory is limited by the system.
"""

import json
import os
import signal
import sys
import traceback
from collections import OrderedDict
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any

from bodygen.errors import BodygenError
from bodygen.serve.answer.ask import Ask, Warm, answer

MOST_TABS = 8
"""Tabs whose last bait is kept; those that asked longest ago go."""
Reply = tuple[int, bytes]
OUT_OF_MEMORY = 75
"""Exit code of a process that had no memory left: it is started anew."""


def work(connection: Connection, memory_mb: int) -> None:
    """Answer one message after the other until the server hangs up; each is JSON, the reply a number and bytes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server is the one to stop, and hangs up
    _limit(memory_mb)
    tabs: OrderedDict[str, Warm] = OrderedDict()
    while True:
        try:
            message = json.loads(connection.recv_bytes())
        except (EOFError, OSError):
            return
        try:
            status, body = reply(message, tabs)
        except MemoryError:
            os._exit(OUT_OF_MEMORY)
        with suppress(BrokenPipeError):
            connection.send_bytes(status.to_bytes(2, "little") + body)


def reply(message: dict[str, Any], tabs: OrderedDict[str, Warm]) -> Reply:
    """Status and body for one message; a fault of our own is told in words, as no traceback reaches a person."""
    try:
        return DO[message["what"]](message, tabs)
    except BodygenError as error:
        return 422, json.dumps({"error": str(error)}).encode()
    except MemoryError:
        raise
    except Exception as error:  # noqa: BLE001  whatever it is, the page is told and the server stays
        traceback.print_exc(file=sys.stderr)
        return 503, json.dumps({"error": f"a fault of bodygen's own: {type(error).__name__}: {error}"}).encode()


def _ask(message: dict[str, Any], tabs: OrderedDict[str, Warm]) -> Reply:
    warm = tabs.setdefault(message["tab"], Warm())
    tabs.move_to_end(message["tab"])
    while len(tabs) > MOST_TABS:
        tabs.popitem(last=False)
    asked = Ask(**message["ask"])
    return 200, answer(asked, warm, message["began"])


DO = {"ask": _ask}


def _limit(memory_mb: int) -> None:
    """Let the system refuse more memory than that, where it can."""
    with suppress(ImportError, ValueError, OSError):
        import resource  # noqa: PLC0415  there is none on Windows

        resource.setrlimit(resource.RLIMIT_AS, (memory_mb << 20, memory_mb << 20))
