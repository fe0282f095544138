"""What stands before the page: who may ask, how much, how fast, and what every answer carries for the browser.

Everything lies below a token in the address that nobody can guess; anything else is answered 404 with nothing.
"""

import asyncio
import hmac
import time
from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bodygen.serve.work.faults import tell_fault
from bodygen.tables import load

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
NO_STORE = (b"cache-control", b"no-store")
METHODS = {"GET", "HEAD", "POST"}
UPLOADS = {"/drop", "/lay"}
"""The routes that take more than JSON."""


@dataclass(slots=True)
class Bucket:
    """So many at once, and so many a second in the long run."""

    at_once: float
    a_second: float
    left: float
    since: float

    def take(self, now: float) -> bool:
        """Whether one more may pass at a moment [s].

        >>> bucket = Bucket(1.0, 2.0, 1.0, 0.0)
        >>> bucket.take(0.0), bucket.take(0.1), bucket.take(0.6)
        (True, False, True)
        """
        self.left = min(self.at_once, self.left + (now - self.since) * self.a_second)
        self.since = now
        if self.left < 1:
            return False
        self.left -= 1
        return True


class TooLateError(Exception):
    """A body that did not come in time, or is larger than may be: the status to answer."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


class Guard:
    """Lets through what may pass, below ``/TOKEN/`` and from a page of this server's own."""

    def __init__(self, app: ASGIApp, token: str, hosts: Collection[str]) -> None:
        limits = load("serve")
        self._app, self._token, self._hosts = app, token.encode(), frozenset(hosts)
        self._size, self._time = limits["size"], limits["time"]
        number = limits["number"]
        self._bucket = Bucket(number["at_once"], number["a_second"], number["at_once"], time.monotonic())
        self._answering, self._most = 0, int(number["answering"])

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass it on."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        send = _with_headers(send)
        status, path = self._judge(scope)
        if status:
            await _nothing(send, status)
            return
        if self._answering >= self._most:
            await _nothing(send, 503)
            return
        scope = {**scope, "path": path, "raw_path": path.encode(), "root_path": ""}
        most = self._size["upload_bytes" if path in UPLOADS else "body_bytes"]
        started = False

        async def sent(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        self._answering += 1
        try:
            await self._app(scope, _limited(receive, most, self._time["body_s"]), sent)
        except TooLateError as error:
            if not started:
                await _nothing(send, error.status)
        except Exception as error:  # noqa: BLE001  mostly of a connection that is gone; the server stays
            if not started:
                tell_fault(error)
                with suppress(Exception):
                    await _nothing(send, 503)
        finally:
            self._answering -= 1

    def _judge(self, scope: Scope) -> tuple[int, str]:
        """The status to refuse with, 0 to let it pass; and the path below the token."""
        headers, path = _headers(scope), scope["path"]
        token, slash, rest = path.removeprefix("/").partition("/")
        known = path.startswith("/") and slash and hmac.compare_digest(token.encode(), self._token)
        hosts = self._hosts | {_came_to(scope)}  # who listens everywhere cannot know beforehand
        origins = {f"http://{host}" for host in hosts}
        refusals = (
            (headers.get("host", "").lower() not in hosts, 403),
            (not known or len(scope.get("raw_path") or b"") > self._size["path_bytes"], 404),
            (scope["method"] not in METHODS, 405),
            ("origin" in headers and headers["origin"].lower() not in origins, 403),
            (headers.get("sec-fetch-site", "none") not in {"none", "same-origin"}, 403),
        )
        status = next((status for refused, status in refusals if refused), 0)
        if not status and not self._bucket.take(time.monotonic()):
            status = 429
        return status or self._judge_body(scope["method"], f"/{rest}", headers), f"/{rest}"

    def _judge_body(self, method: str, path: str, headers: dict[str, str]) -> int:
        if method != "POST":
            return 0
        if (
            path not in UPLOADS
            and headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json"
        ):
            return 415
        length = headers.get("content-length", "0")
        most = self._size["upload_bytes" if path in UPLOADS else "body_bytes"]
        return 413 if not length.isascii() or not length.isdigit() or int(length[:18]) > most else 0


def _came_to(scope: Scope) -> str:
    """The address of this machine that a connection came to: a number, for which nobody's name can stand."""
    host, port = scope.get("server") or ("", None)
    shown = f"[{host}]" if ":" in host else host
    return f"{shown}:{port}"


def _headers(scope: Scope) -> dict[str, str]:
    """Headers by their names; of one that comes twice nothing, so that nobody reads another than we do."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        found[key] = "" if key in found else value.decode("latin-1")
    return found


def _limited(receive: Receive, most: int, seconds: float) -> Receive:
    """Pass a body on as long as it is small enough and comes in time."""
    got, until, whole = 0, time.monotonic() + seconds, False

    async def limited() -> Message:
        nonlocal got, whole
        if whole:  # what comes now is that the other side hangs up
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), max(until - time.monotonic(), 0.01))
        except TimeoutError:
            raise TooLateError(408) from None
        got += len(message.get("body", b""))
        whole = not message.get("more_body", False)
        if got > most:
            raise TooLateError(413)
        return message

    return limited


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", ()))
            names = {name.lower() for name, _ in given}
            store = [] if b"cache-control" in names else [NO_STORE]
            message = {**message, "headers": [*given, *HEADERS, *store]}
        await send(message)

    return sent


async def _nothing(send: Send, status: int) -> None:
    """Answer with a status and no word."""
    headers: list[tuple[bytes, bytes]] = [(b"content-length", b"0"), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    empty: dict[str, Any] = {"type": "http.response.body", "body": b""}
    await send(empty)
