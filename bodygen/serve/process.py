"""A working process as the server sees it: started when it is needed, asked one thing at a time, ended when it hangs.

Knows pipes and time. Knows nothing of what is asked.
"""

import asyncio
import json
import multiprocessing
import signal
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from threading import Thread
from typing import Any

from bodygen.errors import BodygenError
from bodygen.serve.work.pipe import PROGRESS, Reply, taken_apart

SMALL = 1 << 15
"""Bytes that the system holds until they are read: to send no more than these waits for nobody."""


class GoneError(BodygenError):
    """The process died, had no memory left, or took too long; it is started anew for the next ask."""


class Worker:
    """One process and the pipe to it; ``ask`` queues, in the order of asking."""

    def __init__(self, memory_mb: int, *, answers: bool = False) -> None:
        self._memory_mb, self._answers = memory_mb, answers
        self._turn = asyncio.Lock()
        self._process: Any = None
        self._pipe: Connection | None = None
        self._hears: Callable[[bytes | None], None] = lambda _: None
        self._spawn = multiprocessing.get_context("spawn")
        self._stopped = self._spawn.Value("q", 0, lock=False)
        self._asked = 0
        self.at_work: Mapping[str, Any] | None = None
        """What it was asked and has not answered yet."""

    async def ask(
        self, message: Mapping[str, Any], seconds: float, told: Callable[[bytes], None] = lambda _: None
    ) -> Reply:
        """Send a message and wait for the status and the body; ``told`` hears of progress, in this loop.

        Raises
        ------
        GoneError
            There is no answer; it says why.
        """
        async with self._turn:
            pipe = self._started()
            answer: asyncio.Future[bytes] = asyncio.get_running_loop().create_future()

            def hears(reply: bytes | None) -> None:
                if answer.done():
                    return
                if reply is None:
                    answer.set_exception(EOFError())
                elif reply[:2] == PROGRESS:
                    told(reply[2:])
                else:
                    answer.set_result(reply)

            self._hears = hears
            content = json.dumps({**message, "asked": self._asked + 1}).encode()
            self._asked, self.at_work = self._asked + 1, message
            try:
                async with asyncio.timeout(seconds):  # of the sending, too: a process that hangs does not read
                    if len(content) > SMALL:
                        await asyncio.to_thread(pipe.send_bytes, content)
                    else:  # a thread for it would take a millisecond of a glance's
                        pipe.send_bytes(content)
                    reply = await answer
            except TimeoutError:
                self.stop()
                msg = f"it took longer than {seconds:g} s and was given up"
                raise GoneError(msg) from None
            except (EOFError, OSError):
                self.stop()
                msg = "the process that works it out ended, perhaps for want of memory; ask again"
                raise GoneError(msg) from None
            except asyncio.CancelledError:
                self.stop()
                raise
            finally:
                self.at_work = None
        return taken_apart(reply)

    def overtake(self) -> None:
        """What it is at is wanted no more: it answers so at the next pause in its work, where that has any."""
        self._stopped.value = self._asked

    def start(self) -> None:
        """Start it before anything is asked, so that the first answer need not wait for that."""
        self._started()

    def stop(self) -> None:
        """End it; whatever it was at is lost."""
        if self._process is not None:
            self._process.kill()
            self._process.join(1.0)
        self._process = self._pipe = None  # who listens there closes it

    def close(self) -> None:
        """End it for good."""
        self.stop()

    def _started(self) -> Connection:
        if self._pipe is not None and self._process.is_alive():
            return self._pipe
        self.stop()
        from bodygen.serve.work.worker import work  # noqa: PLC0415  the server itself weighs nothing

        ours, theirs = self._spawn.Pipe()
        process = self._spawn.Process(
            target=work, args=(theirs, self._memory_mb, self._stopped), kwargs={"answers": self._answers}, daemon=True
        )
        with _deaf_to_ctrl_c():
            process.start()
        theirs.close()
        self._process, self._pipe = process, ours
        Thread(target=self._listen, args=(ours, asyncio.get_running_loop()), daemon=True).start()
        return ours

    def _listen(self, pipe: Connection, loop: asyncio.AbstractEventLoop) -> None:
        """In a thread of its own, as long as the process lives: pass on to the loop what it says."""
        reply: bytes | None = b""
        with pipe, suppress(RuntimeError):  # of a loop that is closed
            while reply is not None:
                try:
                    reply = pipe.recv_bytes()
                except (EOFError, OSError):
                    reply = None
                loop.call_soon_threadsafe(self._pass_on, pipe, reply)

    def _pass_on(self, pipe: Connection, reply: bytes | None) -> None:
        if pipe is not self._pipe:  # of one that was ended nobody wants to hear
            return
        if reply is None:
            self._pipe = None  # though the process may still be about to end
        self._hears(reply)


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Of a process that is started here Ctrl-C is none of its business, not even while it still loads.

    A terminal sends it to everybody, and it would be told with a traceback. Ours is not lost: it waits until after.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # or the first start would start it, too, and that lets signals in again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
