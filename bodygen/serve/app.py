"""The routes of the page: what each takes and gives. Whatever computes is asked of the working processes.

The agreement with the page is written down in DEVELOPERS.md, under What passes between page and server.
"""

import asyncio
import gzip
import mimetypes
import time
from collections import OrderedDict
from collections.abc import AsyncIterator, Coroutine, Mapping
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import h11
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bodygen.errors import BodygenError
from bodygen.serve import shelf
from bodygen.serve.asked import LONGEST_TAB, ask_of, file_of, number_of, recipe_text, text_of
from bodygen.serve.long import LongBench
from bodygen.serve.process import GoneError, Worker
from bodygen.serve.replies import body_of, said, told
from bodygen.serve.saving import save
from bodygen.serve.work.faults import tell_fault
from bodygen.tables import load

PAGE = Path(__file__).parent / "page"
PACKED = {".js", ".mjs", ".css", ".html", ".svg", ".json", ".txt", ".map"}
"""Endings of files that are sent packed where the browser takes that."""


@dataclass(slots=True)
class Tab:
    """The newest ask of one tab, and whose turn it is."""

    newest: int = -1
    turn: asyncio.Lock = field(default_factory=asyncio.Lock)


class Bench:
    """One opened folder, its working processes, and the order of every tab's asks."""

    def __init__(self, folder: Path) -> None:
        limits = load("serve")
        self.folder, self.limits = folder, limits
        self.near = Worker(limits["memory"]["near_mb"], answers=True)
        self.writing = asyncio.Lock()
        self.tabs: OrderedDict[str, Tab] = OrderedDict()
        self.coming = Tab()
        """Of what is worked out before a tab asks for it: the newest alone."""
        self.begun: set[asyncio.Task[None]] = set()
        """Held here, as a loop does not hold its tasks."""

    def tab(self, name: str) -> Tab:
        """The tab of a name; of too many, those that asked longest ago are forgotten."""
        tab = self.tabs.setdefault(name, Tab())
        self.tabs.move_to_end(name)
        while len(self.tabs) > self.limits["number"]["tabs"]:
            self.tabs.popitem(last=False)
        return tab

    async def ask(self, request: Request) -> Response:
        """A recipe's text with changes in it: its figures, drawing, water and solid."""
        began = time.monotonic()
        message = ask_of(await body_of(request), self.folder, self.limits["size"]["changes"])
        number, tab = message["ask"]["ask"], self.tab(message["tab"])
        if number <= tab.newest:
            return overtaken()
        tab.newest = number
        self.make_way(message["tab"], message["ask"])
        async with tab.turn:
            if tab.newest != number:
                return overtaken()
            status, answer = await self.near.ask(message | {"began": began}, self.limits["time"]["ask_s"])
        kind = "application/octet-stream" if status == 200 else "application/json"
        return Response(answer, status, media_type=kind)

    def make_way(self, tab: str, asked: Mapping[str, Any]) -> None:
        """Let the working process leave what this tab wants no more, and what nobody asked for: a hand may wait."""
        at = self.near.at_work
        if at is None or (at["what"] == "ahead" and asked["want"] == "whole" and at["text"] == asked["text"]):
            return
        if at["tab"] == tab or at["what"] in {"mends", "ahead"}:
            self.near.overtake()

    async def ahead(self, file: str, text: str) -> None:
        """Have a recipe worked out that will be asked for next, unless a hand waits for something else."""
        message = {"what": "ahead", "tab": "", "text": text, "file": shelf.place_of(self.folder, file).as_posix()}
        at = self.near.at_work
        if at is not None and (at["what"] == "ask" or (at["what"], at["text"]) == ("ahead", text)):
            return
        self.coming.newest = number = self.coming.newest + 1
        if at is not None:
            self.near.overtake()
        async with self.coming.turn:
            if self.coming.newest != number:
                return
            with suppress(GoneError, OSError):  # whoever asks for it hears of it
                await self.near.ask(message, self.limits["time"]["ask_s"])

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        """Have something done that nobody waits for."""
        task = asyncio.create_task(work)
        self.begun.add(task)
        task.add_done_callback(self.begun.discard)

    async def first(self) -> None:
        """Have worked out what a page begins with, before one is opened."""
        with suppress(BodygenError, OSError):  # a page that asks for it hears of it
            file = (await asyncio.to_thread(shelf.shelf, self.folder))["first"]
            if file is not None:
                await self.ahead(file, (await asyncio.to_thread(shelf.read, self.folder, file))["text"])

    async def mends(self, request: Request) -> Response:
        """One value that mends it, for each doubt of the whole that was just told: as far as there is time."""
        document = await body_of(request)
        number, name = number_of(document), text_of(document, "tab", LONGEST_TAB)
        tab, seconds = self.tab(name), self.limits["time"]["mends_s"]
        message = {"what": "mends", "tab": name, "text": recipe_text(document), "seconds": seconds}
        message["file"] = file_of(document, self.folder)
        del document  # it may be far larger than what is taken of it, and wait long
        async with tab.turn:
            if tab.newest != number:
                return overtaken()
            status, answer = await self.near.ask(message, self.limits["time"]["ask_s"])
        return Response(answer, status, media_type="application/json")

    async def shelf(self, request: Request) -> Response:
        """All that may be begun with."""
        del request
        return said(await asyncio.to_thread(shelf.shelf, self.folder))

    async def recipe(self, request: Request) -> Response:
        """One recipe's text."""
        file = request.query_params.get("file", "")
        found = await asyncio.to_thread(shelf.read, self.folder, file)
        self.begin(self.ahead(file, found["text"]))
        return said(found)

    async def new(self, request: Request) -> Response:
        """A first recipe, in no file yet."""
        from bodygen.serve.beginning import new_text  # noqa: PLC0415  tomlkit is needed here alone

        document = await body_of(request)
        return said(await asyncio.to_thread(new_text, document, self.folder))

    async def save(self, request: Request) -> Response:
        """A recipe's text into its file."""
        document = await body_of(request)
        async with self.writing:  # one after the other, so that two pages do not both find the file as it was
            return said(await asyncio.to_thread(save, document, self.folder))

    def close(self) -> None:
        """End the working process."""
        self.near.close()


def app_of(folder: Path) -> Starlette:
    """The page of a folder, without its guard."""
    bench, shop = Bench(folder), LongBench(folder)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        del app
        bench.near.start()
        bench.begin(bench.first())
        yield
        bench.close()
        shop.close()

    routes = [
        Route("/ask", told(bench.ask), methods=["POST"]),
        Route("/mends", told(bench.mends), methods=["POST"]),
        Route("/shelf", told(bench.shelf)),
        Route("/recipe", told(bench.recipe)),
        Route("/new", told(bench.new), methods=["POST"]),
        Route("/save", told(bench.save), methods=["POST"]),
        Route("/offers", told(shop.offers), methods=["POST"]),
        Route("/forget", told(shop.forget), methods=["POST"]),
        Route("/build", told(shop.build), methods=["POST"]),
        Route("/job", told(shop.job)),
        Route("/file/{stem}/{name}", told(shop.file)),
        Route("/log", told(shop.log), methods=["POST"]),
        Route("/drop", told(shop.drop), methods=["POST"]),
        Route("/lay", told(shop.lay), methods=["POST"]),
        Route("/departs", told(shop.departs), methods=["POST"]),
        Route("/{path:path}", told(static)),
    ]
    return Starlette(routes=routes, lifespan=lifespan, exception_handlers={Exception: broken_off})


async def broken_off(request: Request, error: Exception) -> Response:
    """In place of an answer that could not be sent: ask again.

    Where what followed the question is no HTTP, its connection was refused before the answer came: that is no fault.
    """
    del request
    if isinstance(error, h11.LocalProtocolError):
        return Response(status_code=400)
    return said({"error": tell_fault(error)}, 503)


def overtaken() -> Response:
    """To an ask that a newer one of its tab has passed."""
    return said({"overtaken": True}, 409)


async def static(request: Request) -> Response:
    """A file of the page."""
    name = request.path_params["path"] or "index.html"
    try:
        path = shelf.inside(PAGE, name)
    except shelf.NoSuchFileError:
        return Response(status_code=404)
    if request.method not in {"GET", "HEAD"} or not path.is_file():
        return Response(status_code=404)
    kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    kind = "text/javascript" if path.suffix in {".js", ".mjs"} else kind
    if path.suffix in PACKED and "gzip" in request.headers.get("accept-encoding", ""):
        content = await asyncio.to_thread(_packed, path, path.stat().st_mtime_ns)
        return Response(content, headers={"content-encoding": "gzip"}, media_type=kind)
    return Response(await asyncio.to_thread(_content, path), media_type=kind)


def _content(path: Path) -> bytes:
    """A file of the page; its first one names every module, so that the browser need not come upon them one by one.

    They are of low priority, as a browser has six connections and the recipe to begin with is asked for meanwhile.
    """
    content = path.read_bytes()
    if path.name != "index.html":
        return content
    modules = sorted(module.relative_to(PAGE).as_posix() for module in PAGE.rglob("*.js"))
    links = "".join(f'<link rel="modulepreload" fetchpriority="low" href="{module}">\n' for module in modules)
    return content.replace(b"</head>", links.encode() + b"</head>")


@lru_cache(maxsize=256)
def _packed(path: Path, changed: int) -> bytes:
    del changed  # a file that changed is packed anew
    return gzip.compress(_content(path), 6, mtime=0)
