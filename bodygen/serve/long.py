"""The routes of what takes long: offers, builds and their files, the log, what is dropped; each in its own process.

An offer is given up when its tab asks for another or says forget; a build goes on whoever looks away.
"""

import asyncio
import json
import mimetypes
import os
import secrets
import shutil
import tempfile
from collections import OrderedDict
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from struct import Struct
from typing import Any, BinaryIO
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from bodygen.log.store import log_beside
from bodygen.serve import shelf
from bodygen.serve.asked import file_of, one_of, places_of, recipe_text, refuse, text_of, texts_of, words_of
from bodygen.serve.process import GoneError, Worker
from bodygen.serve.replies import body_of, json_object, said
from bodygen.tables import load

OUT = "out"
OFFERS = ("ballast", "dive", "lip", "trim")
LONGEST_NAME = 120
PIECE = 1 << 18
"""Bytes of a file that are sent at once."""
TAIL = Struct("<I")


@dataclass(slots=True)
class BuildJob:
    """One build: how far it is, and what came of it."""

    state: str = "running"
    done: int = 0
    of: int = 0
    now: str = "waiting"
    told: dict[str, Any] = field(default_factory=dict)


class LongBench:
    """Long asks of one opened folder."""

    def __init__(self, folder: Path) -> None:
        limits = load("serve")
        memory = limits["memory"]["long_mb"]
        self.folder, self.limits = folder, limits
        self.offering, self.making = Worker(memory), Worker(memory)
        self.jobs: OrderedDict[str, BuildJob] = OrderedDict()
        self.tasks: set[asyncio.Task[None]] = set()
        self.asking: dict[str, asyncio.Task[tuple[int, bytes]]] = {}
        self.uploads: set[str] = set()
        """Folders of what came in and is not read yet."""

    async def offers(self, request: Request) -> Response:
        """Offers for the bait as it is on the page."""
        document = await body_of(request)
        tab = text_of(document, "tab", LONGEST_NAME) if "tab" in document else ""
        message = self._message("offers", document) | {"kind": one_of(document, "kind", OFFERS)}
        self._log_of(message)
        del document
        self._give_up(tab)
        task = asyncio.create_task(self.offering.ask(message, self.limits["time"]["long_s"]))
        self.asking[tab] = task
        try:
            status, answer = await task
        except asyncio.CancelledError:
            return said({"overtaken": True}, 409)
        finally:
            if self.asking.get(tab) is task:
                del self.asking[tab]
        return Response(answer, status, media_type="application/json")

    async def forget(self, request: Request) -> Response:
        """Give up what a tab waits for."""
        document = await body_of(request)
        self._give_up(text_of(document, "tab", LONGEST_NAME))
        return said({})

    def _give_up(self, tab: str) -> None:
        task = self.asking.pop(tab, None)
        if task is not None:
            task.cancel()

    async def log(self, request: Request) -> Response:
        """Readings off the scale and out of the tub, into the bench log."""
        document = await body_of(request)
        if document.get("file") is None or str(document["file"]).startswith(shelf.DEMO):
            refuse("file", "a recipe of the folder: save it first, as the log lies beside it")
        message = self._message("log", document) | {
            "said": words_of(document) | {"weighed": texts_of(document, "weighed")}
        }
        self._log_of(message)
        del document
        status, answer = await self.offering.ask(message, self.limits["time"]["long_s"])
        return Response(answer, status, media_type="application/json")

    async def build(self, request: Request) -> Response:
        """Begin to make every file of the bait as it is on the page."""
        document = await body_of(request)
        file = document.get("file")
        only = text_of(document, "only", LONGEST_NAME) if document.get("only") else None
        shelf.inside(self.folder, f"{OUT}/any")  # or a link would lead a build out of the folder
        own = Path(str(file).removeprefix(shelf.DEMO)).stem if file else None
        message = self._message("build", document) | {"folder": self.folder.as_posix(), "own_name": own, "only": only}
        del document
        running = sum(job.state == "running" for job in self.jobs.values())
        if running >= self.limits["number"]["builds"]:
            msg = "other builds are still being made; ask again when they are done"
            raise GoneError(msg)
        number, job = secrets.token_hex(8), BuildJob()
        self.jobs[number] = job
        while len(self.jobs) > self.limits["number"]["jobs"]:
            self.jobs.popitem(last=False)
        task = asyncio.create_task(self._make(job, message))
        self.tasks.add(task)
        task.add_done_callback(self.tasks.discard)
        return said({"job": number})

    async def _make(self, job: BuildJob, message: dict[str, Any]) -> None:
        def told(progress: bytes) -> None:
            job.done, job.of, job.now = json.loads(progress)

        try:
            status, answer = await self.making.ask(message, self.limits["time"]["long_s"], told)
            job.told = json.loads(answer)
            job.state = "done" if status == 200 and "files" in job.told else "failed"
        except (GoneError, OSError) as error:  # of a job that stands as running for ever there would be one less
            job.told, job.state = {"message": str(error)}, "failed"

    async def job(self, request: Request) -> Response:
        """How far a build is; its files when it is done."""
        job = self.jobs.get(request.query_params.get("id", ""))
        if job is None:
            msg = "no such build"
            raise shelf.NoSuchFileError(msg)
        about = {"state": job.state, "done": job.done, "of": job.of, "now": job.now}
        return said(about | job.told)

    async def file(self, request: Request) -> Response:
        """One file of a build, to keep."""
        name = f"{request.path_params['stem']}/{request.path_params['name']}"
        path = shelf.inside(self.folder, f"{OUT}/{name}")
        try:
            stream = await asyncio.to_thread(shelf.opened, path)
        except OSError:
            stream = None
        if name.count("/") != 1 or stream is None:
            msg = "no such file"
            raise shelf.NoSuchFileError(msg)
        kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        headers = {
            "content-length": str(os.fstat(stream.fileno()).st_size),
            "content-disposition": f"attachment; filename*=utf-8''{quote(path.name)}",
        }
        return StreamingResponse(_pieces(stream), headers=headers, media_type=kind)

    async def drop(self, request: Request) -> Response:
        """A file that was dropped: a recipe comes back as its text, anything else is traced."""
        name = _name_of(request)
        if name.lower().endswith(".toml"):
            content = await _start_of(request, self.limits["size"]["body_bytes"] + 1)
            if len(content) > self.limits["size"]["body_bytes"]:
                refuse("file", "a recipe of at most a megabyte")
            text = content.decode("utf-8-sig", errors="replace").replace("\r\n", "\n")
            return said({"over": {"name": Path(name).stem, "text": text}, "name": Path(name).stem, "text": text})
        told = {key: value for key, value in request.query_params.items() if key not in {"name", "tab"}}
        message = {"what": "drop", "name": name, "folder": self.folder.as_posix(), "said": told}
        async with self._taken(request) as upload:
            return await self._made(message | {"upload": upload})

    async def lay(self, request: Request) -> Response:
        """A scan and after it the bait as it is on the page: laid over that, as it is."""
        name = _name_of(request)
        async with self._taken(request) as upload:
            document = await asyncio.to_thread(_tail_of, upload, self.limits["size"]["body_bytes"])
            message = {"what": "lay", "upload": upload, "name": name, "text": recipe_text(document)}
            message["file"] = file_of(document, self.folder)
            del document
            return await self._made(message)

    async def departs(self, request: Request) -> Response:
        """How far the places of what was laid over a bait lie from it as it is now."""
        document = await body_of(request)
        places = places_of(document, "places")
        message = {"what": "departs", "text": recipe_text(document), "file": file_of(document, self.folder)}
        del document
        status, answer = await self.offering.ask(message | {"places": places}, self.limits["time"]["long_s"])
        return Response(answer, status, media_type="application/json")

    async def _made(self, message: dict[str, Any]) -> Response:
        status, answer = await self.making.ask(message, self.limits["time"]["long_s"])
        return Response(answer, status, media_type="application/json")

    @asynccontextmanager
    async def _taken(self, request: Request) -> AsyncIterator[str]:
        """Put what comes in on the disk, piece by piece; where it lies.

        It has a folder of its own, where the working process puts what it makes of it: all of that goes afterwards,
        even of a process that died.
        """
        if len(self.uploads) >= self.limits["number"]["uploads"]:
            msg = "other files are still being read; send it again when they are done"
            raise GoneError(msg)
        folder = tempfile.mkdtemp(prefix="bodygen-")
        self.uploads.add(folder)
        try:
            with (Path(folder) / "upload").open("wb") as stream:
                async for piece in request.stream():
                    await asyncio.to_thread(stream.write, piece)
            yield stream.name
        finally:
            await asyncio.to_thread(shutil.rmtree, folder, ignore_errors=True)
            self.uploads.discard(folder)

    def _log_of(self, message: dict[str, Any]) -> None:
        """Refuse a log that a link leads out of the folder to; that of a demo lies beside the demos."""
        log = log_beside(Path(message["file"]))
        if log.is_relative_to(self.folder):
            shelf.inside(self.folder, log.relative_to(self.folder).as_posix())

    def _message(self, what: str, document: dict[str, Any]) -> dict[str, Any]:
        return {
            "what": what,
            "text": recipe_text(document),
            "file": file_of(document, self.folder),
            "said": texts_of(document, "said"),
        }

    def close(self) -> None:
        """End both processes and what they are at."""
        for task in [*self.tasks, *self.asking.values()]:
            task.cancel()
        self.offering.close()
        self.making.close()
        for folder in self.uploads:  # now: of a server that is ended by a signal no task goes on
            shutil.rmtree(folder, ignore_errors=True)


def _pieces(stream: BinaryIO) -> Iterator[bytes]:
    with stream:
        while piece := stream.read(PIECE):
            yield piece


def _name_of(request: Request) -> str:
    """The name of the file that is sent."""
    name = Path(request.query_params.get("name", "")).name
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        refuse("name", "the file's name")
    return name


async def _start_of(request: Request, most: int) -> bytes:
    """The first bytes that come in, at most so many; the rest passes, so that whoever sends it hears the answer."""
    kept = bytearray()
    async for piece in request.stream():
        kept += piece[: most - len(kept)]
    return bytes(kept)


def _tail_of(upload: str, longest: int) -> dict[str, Any]:
    """The JSON after an uploaded file, whose length stands last (uint32); then the file is there alone."""
    with Path(upload).open("r+b") as stream:
        size = stream.seek(0, os.SEEK_END)
        stream.seek(max(size - TAIL.size, 0))
        (length,) = TAIL.unpack(stream.read().rjust(TAIL.size, b"\xff"))
        start = size - TAIL.size - length
        if length > longest or start < 0:
            refuse("body", f"the file, JSON of at most {longest} bytes, and the length of that")
        stream.seek(start)
        document = json_object(stream.read(length))
        stream.truncate(start)
    return document
