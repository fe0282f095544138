"""Opening the page: an address that nobody can guess, on this machine alone unless asked otherwise."""

import asyncio
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from bodygen.errors import InputError, Mistake
from bodygen.serve.address import token_of
from bodygen.serve.app import app_of
from bodygen.serve.guard import Guard
from bodygen.tables import load

LOOPBACK = ("127.0.0.1", "localhost", "::1")
EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104  the words for it; who writes them is warned
HTTP = 80
"""The port that a browser leaves off."""
GRACE_S = 2
"""How long a stopped server still finishes what it is at."""


class ImpatientProtocol(H11Protocol):
    """A connection that is hung up on where a request's head or a reader takes too long, or when there are too many."""

    _head: asyncio.TimerHandle | None = None
    """Runs while a head is waited for: from the start, and from the first byte of a later one."""
    _reader: asyncio.TimerHandle | None = None
    """Runs while the other side takes nothing more of an answer."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # as the parent has it
        """Begin to wait for the first request."""
        super().connection_made(transport)
        # asyncio does this by itself, but not for a socket whose protocol number is left open: a body that follows its
        # head would wait for the browser's delayed acknowledgement, 40 ms
        transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        limits = load("serve")
        if len(self.connections) > limits["number"]["sockets"]:
            transport.abort()
            return
        self._head = self.loop.call_later(limits["time"]["head_s"], transport.abort)

    def data_received(self, data: bytes) -> None:
        """Take what came in; where the library cannot even word its refusal (of a HEAD too long), hang up."""
        try:
            super().data_received(data)
        except h11.LocalProtocolError:
            self.transport.abort()
        cycle = vars(self)["cycle"]  # None until a first request is whole
        if cycle is None or cycle.response_complete:
            self._head = self._head or self.loop.call_later(load("serve")["time"]["head_s"], self.transport.abort)
        else:
            _end(self._head)
            self._head = None

    def pause_writing(self) -> None:
        """Wait no longer than for a body until the other side takes more of an answer."""
        super().pause_writing()
        self._reader = self.loop.call_later(load("serve")["time"]["body_s"], self.transport.abort)

    def resume_writing(self) -> None:
        """Go on."""
        super().resume_writing()
        _end(self._reader)

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing more."""
        _end(self._head)
        _end(self._reader)
        super().connection_lost(exc)


def _end(timer: asyncio.TimerHandle | None) -> None:
    if timer is not None:
        timer.cancel()


def serve(
    folder: Path,
    host: str = LOOPBACK[0],
    port: int | None = None,
    *,
    say: Callable[[str], None],
    warn: Callable[[str], None],
    show: bool = True,
) -> None:
    """Answer until stopped.

    Parameters
    ----------
    folder : Path
        Whose recipes are shown, and changed when the page says so; nothing outside is.
    host, port : str and int
        Where to listen; no port: the usual one, or any that is free. 0: any.
    say, warn : callables
        Take the address, which comes first; and what to be careful of.
    show : bool
        Whether a browser is opened.

    Raises
    ------
    InputError
        No such folder; the place to listen at is not to be had.
    """
    if not folder.is_dir():
        raise InputError([Mistake("command line", 0, "FOLDER", f'"{folder}"', "no such folder", "a folder of recipes")])
    listening = _listening(host, port)
    at = listening.getsockname()[1]
    token = token_of(folder)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{at}/{token}/"
    names = {shown.lower(), *(("localhost", "127.0.0.1", "[::1]") if host in LOOPBACK else ())}
    guarded = Guard(
        app_of(folder.resolve()), token, {f"{name}:{at}" for name in names} | (names if at == HTTP else set())
    )
    try:
        say(address)
        if host not in LOOPBACK:
            warn(f"anyone who can reach {host} and knows this address can read and change the recipes in {folder}")
            warn("what passes is not encrypted: use it in a network that you trust, and stop it when you are done")
        if host in EVERYWHERE:
            warn(f"on another machine write this one's own address in place of {shown}")
        if show:
            webbrowser.open(address)
        asyncio.run(_until_stopped(guarded, listening))
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()


async def _until_stopped(app: Any, listening: socket.socket) -> None:  # noqa: ANN401  an ASGI application
    limits = load("serve")
    config = uvicorn.Config(
        app,
        http=ImpatientProtocol,
        ws="none",
        loop="asyncio",
        lifespan="on",
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        timeout_keep_alive=int(limits["time"]["body_s"]),
        timeout_graceful_shutdown=GRACE_S,
        h11_max_incomplete_event_size=limits["size"]["head_bytes"],
    )
    await uvicorn.Server(config).serve([listening])


def _listening(host: str, port: int | None) -> socket.socket:
    """A socket at the place asked for; of no port, at the usual one or any that is free."""
    usual = int(load("serve")["page"]["port"])
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    key, written, accepted = "--host", f'"{host}"', "an address of this machine, such as 127.0.0.1"
    problem = "no address" if not host else ""  # the system would take it for every address there is
    for wanted in (usual, 0) if port is None else (port,):
        try:
            if not problem:
                return socket.create_server((host, wanted), family=family, backlog=64)
        except (socket.gaierror, UnicodeError) as error:
            problem = f"cannot listen there: {error}"
        except OSError as error:
            if wanted == usual and port is None:
                continue
            problem = f"cannot listen there: {error.strerror or error}"
            key, written, accepted = "--port", str(wanted), "a free port from 0 to 65535"
        except OverflowError:
            problem = "no port has this number"
            key, written, accepted = "--port", str(wanted), "a free port from 0 to 65535"
        raise InputError([Mistake("command line", 0, key, written, problem, accepted)])
    raise AssertionError
