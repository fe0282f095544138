"""A working process as the server sees it: started when it is needed, asked one thing at a time, ended when it hangs.

Knows pipes and time. Knows nothing of what is asked.
"""

import asyncio
import json
import multiprocessing
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from typing import Any

from bodygen.errors import BodygenError
from bodygen.serve.work.pipe import PROGRESS, Reply, taken_apart


class GoneError(BodygenError):
    """The process died, had no memory left, or took too long; it is started anew for the next ask."""


class Worker:
    """One process and the pipe to it; ``ask`` queues, in the order of asking."""

    def __init__(self, memory_mb: int, *, answers: bool = False) -> None:
        self._memory_mb, self._answers = memory_mb, answers
        self._turn = asyncio.Lock()
        self._thread = ThreadPoolExecutor(2)  # one may still wait on the pipe of a process that was just ended
        self._process: Any = None
        self._pipe: Connection | None = None
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
            loop = asyncio.get_running_loop()

            def heard(progress: bytes) -> None:
                loop.call_soon_threadsafe(told, progress)

            self._asked, self.at_work = self._asked + 1, message
            content = json.dumps({**message, "asked": self._asked}).encode()
            try:
                waiting = loop.run_in_executor(self._thread, _exchange, pipe, content, heard)
                answer = await asyncio.wait_for(waiting, seconds)
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
        return taken_apart(answer)

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
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None

    def close(self) -> None:
        """End it for good."""
        self.stop()
        self._thread.shutdown(wait=False, cancel_futures=True)

    def _started(self) -> Connection:
        if self._pipe is not None and self._process.is_alive():
            return self._pipe
        self.stop()
        from bodygen.serve.work.worker import work  # noqa: PLC0415  the server itself weighs nothing

        ours, theirs = self._spawn.Pipe()
        process = self._spawn.Process(
            target=work, args=(theirs, self._memory_mb, self._stopped), kwargs={"answers": self._answers}, daemon=True
        )
        process.start()
        theirs.close()
        self._process, self._pipe = process, ours
        return ours


def _exchange(pipe: Connection, message: bytes, heard: Callable[[bytes], None]) -> bytes:
    pipe.send_bytes(message)
    while (answer := pipe.recv_bytes())[:2] == PROGRESS:
        heard(answer[2:])
    return answer
