"""``bodygen serve``: the page in the browser, until it is stopped."""

from argparse import Namespace

from bodygen.commands.copying import DONE
from bodygen.console.terminal import show, tell
from bodygen.extras import refuse_missing


def serve(options: Namespace) -> int:
    """Answer a page until stopped; the address is the first line of stdout."""
    refuse_missing({"serve": ("page",)})
    from bodygen.serve.run import serve as run  # noqa: PLC0415  no other command has a use for a server

    run(options.folder, options.host, options.port, say=_say, warn=tell, show=not options.no_open)
    return DONE


def _say(address: str) -> None:
    show(address)
    tell("stop it with Ctrl-C")
