"""What a worker of our own does first: it leaves Ctrl-C, which a terminal sends to all, to the run it works for."""

import signal
from contextlib import suppress


def dask_setup(_worker: object) -> None:
    """Hear nothing of an interrupt; the library calls this by its name."""
    with suppress(ValueError):  # not the first thread: then it hears nothing anyway
        signal.signal(signal.SIGINT, signal.SIG_IGN)
