"""What goes back to the page as JSON, and how what comes in is taken apart."""

import json
from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response

from bodygen.errors import BodygenError
from bodygen.serve.asked import WrongAskError
from bodygen.serve.guard import TooLateError
from bodygen.serve.process import GoneError
from bodygen.serve.saving import ConflictError
from bodygen.serve.shelf import NoSuchFileError
from bodygen.serve.work.faults import tell_fault

Answer = Callable[[Request], Awaitable[Response]]


def told(answer: Answer) -> Answer:
    """The same, where what goes wrong is said as JSON: a sentence and a status, never a traceback."""

    async def safely(request: Request) -> Response:
        try:
            return await answer(request)
        except ConflictError as error:
            conflict = {"text": error.text, "sha256": error.sha256}
            return said({"conflict": conflict, "error": str(error)}, 409)
        except BodygenError as error:
            kinds = {WrongAskError: 400, NoSuchFileError: 404, GoneError: 503}
            return said({"error": str(error)}, kinds.get(type(error), 422))
        except OSError as error:
            return said({"error": f"{error.strerror or error}; nothing was changed"}, 503)
        except (TooLateError, ClientDisconnect) as error:  # not passed on: the framework would make a 500 of it
            return Response(status_code=getattr(error, "status", 400), headers={"connection": "close"})
        except Exception as error:  # noqa: BLE001  whatever it is, the page is told and the server stays
            return said({"error": tell_fault(error)}, 503)

    return safely


def said(document: Mapping[str, Any], status: int = 200) -> Response:
    """A JSON answer."""
    return Response(json.dumps(document), status, media_type="application/json")


async def body_of(request: Request) -> dict[str, Any]:
    """The JSON object that was posted.

    Raises
    ------
    WrongAskError
        It is none.
    """
    return json_object(b"".join([piece async for piece in request.stream()]))  # the request would keep its own


def json_object(content: bytes) -> dict[str, Any]:
    """The JSON object that bytes are.

    Raises
    ------
    WrongAskError
        They are none.
    """
    try:
        document = json.loads(content)
    except (ValueError, RecursionError):
        document = None
    if not isinstance(document, dict):
        msg = "not a JSON object"
        raise WrongAskError(msg)
    return document
