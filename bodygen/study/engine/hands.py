"""Who works: processes of this machine, or the workers of a scheduler that somebody runs. Knows nothing of rows.

Every wait has a limit. A scheduler that does not answer is told, never waited for.
"""

import logging
import os
import shutil
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from bodygen.errors import BodygenError, InputError, Mistake
from bodygen.files.made_with import program
from bodygen.version import VERSION, code_of

MOST_NAMED = 4
"""Workers that are named one by one where something is wrong with them."""
BEGIN_S, ANSWER_S, END_S = 60.0, 15.0, 5.0
"""How long processes may take to begin, a scheduler to answer, and all of it to end [s]."""
_QUIET = {
    "distributed.comm.timeouts.connect": f"{ANSWER_S}s",
    "distributed.worker.use-file-locking": False,  # its folder is our own, and may lie on a drive that knows no locks
    # who looks at how a worker fares takes the interpreter from the thread that works, so it looks seldom
    "distributed.admin.tick.interval": "2s",
    "distributed.admin.system-monitor.interval": "2s",
    "distributed.admin.system-monitor.log-length": 60,  # of 7200: an hour of growing
    "distributed.admin.low-level-log-length": 20,  # of 1000, each with what its task was given
    "distributed.admin.system-monitor.gil.enabled": False,
    "distributed.worker.profile.enabled": False,
    # Memory stays with the process between one array and the next: the library has every 64 kB that are free go back
    # to the system, whose pages, 20 000 a design, took a sixth of the time. To name nothing leaves its figure in force.
    "distributed.nanny.pre-spawn-environ": {
        "MALLOC_TRIM_THRESHOLD_": 256 << 20,
        "MALLOC_MMAP_THRESHOLD_": 32 << 20,
        "OMP_NUM_THREADS": 1,
        "MKL_NUM_THREADS": 1,
        "OPENBLAS_NUM_THREADS": 1,
    },
}


class LostError(BodygenError):
    """The scheduler is gone, or all of its workers; rows that were kept are safe."""


def cores() -> int:
    """How many processes this machine can run at once for us."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def hired(workers: int, scheduler: str | None, needed: Sequence[Path], scratch: Path) -> Iterator[Any]:
    """Give a client of so many processes of this machine, or of a scheduler's workers.

    Parameters
    ----------
    workers : int
        Processes, each with one thread.
    scheduler : str or None
        Its address, "tcp://bench:8786", which wins.
    needed : sequence of Path
        Files that a worker must be able to read.
    scratch : Path
        A folder for what processes of this machine leave while they work: cleared first, as a run that was killed could
        not do it, and gone afterwards.

    Raises
    ------
    InputError
        No scheduler answers there, it has no worker, or workers have another bodygen, or one cannot see a needed file.
    """
    import dask

    with ExitStack() as stack:
        stack.enter_context(dask.config.set(_QUIET))
        stack.enter_context(_hushed())
        address = scheduler or _local(stack, workers, scratch)
        client = _connected(stack, address)
        _agree(client, address, needed)
        yield client


@contextmanager
def _hushed() -> Iterator[None]:
    """Keep the library's own talk off the screen: what matters of it is told in our words."""
    import distributed  # noqa: F401  it sets its loggers up as it is loaded

    loggers = [logging.getLogger(name) for name in logging.root.manager.loggerDict if name.startswith("distributed")]
    levels = [one.level for one in loggers]
    for one in loggers:
        one.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for one, level in zip(loggers, levels, strict=True):
            one.setLevel(level)


def _local(stack: ExitStack, workers: int, scratch: Path) -> Any:  # noqa: ANN401  the library has no types
    """Begin processes that listen to this machine alone and leave nothing in the current folder."""
    import dask
    from distributed import LocalCluster

    _cleared(scratch)
    stack.callback(_cleared, scratch)
    stack.enter_context(dask.config.set({"temporary-directory": str(scratch)}))
    first = dask.config.get("distributed.worker.preload") or []
    cluster = LocalCluster(
        n_workers=workers,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",  # any free port, so that two studies may run at once
        worker_dashboard_address=None,
        memory_limit=0,  # a design needs little, and a worker that is put to sleep over it would never wake
        local_directory=str(scratch),
        preload=[*([first] if isinstance(first, str) else first), "bodygen.study.engine.deaf"],
        silence_logs=logging.CRITICAL,
        # who dies of a task is counted here, and only here; the port above shows nothing
        scheduler_kwargs={"allowed_failures": 0, "dashboard": False},
    )
    stack.callback(_ended, cluster)
    return cluster


def _cleared(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)


def _connected(stack: ExitStack, address: Any) -> Any:  # noqa: ANN401  as above
    from distributed import Client

    try:
        client = Client(address, timeout=ANSWER_S, set_as_default=False)
        stack.callback(_ended, client)
        deadline = time.monotonic() + BEGIN_S
        while not threads(client):
            if time.monotonic() > deadline:
                raise InputError([_wrong(address, "no worker is there.", "a scheduler with workers")])
            time.sleep(0.2)
    except (OSError, ValueError, TypeError) as error:
        if isinstance(address, str):
            problem, accepted = "no scheduler answers there.", 'the address of one that runs, "tcp://HOST:PORT"'
            raise InputError([_wrong(address, problem, accepted)]) from error
        msg = f"the workers could not be begun: {error}"
        raise LostError(msg) from error
    return client


def _ended(one: Any) -> None:  # noqa: ANN401  as above
    """Close a client or a cluster; one that is gone already, or does not answer, is left."""
    with suppress(Exception):
        one.close(timeout=END_S)


def _agree(client: Any, address: Any, needed: Sequence[Path]) -> None:  # noqa: ANN401  as above
    """Refuse workers whose rows would be others, or none."""

    def there(files: tuple[str, ...]) -> tuple[str, str, list[str]]:
        from pathlib import Path  # noqa: PLC0415  it is sent as it is, to where nothing is loaded

        try:
            from bodygen.version import VERSION  # noqa: PLC0415  as above
        except ImportError:
            return "", "", []
        try:
            from bodygen.files.made_with import program  # noqa: PLC0415  as above
        except ImportError:
            return str(VERSION), "", []
        return str(VERSION), program(), [file for file in files if not Path(file).exists()]

    if not isinstance(address, str):
        return
    files = tuple(str(file.resolve()) for file in needed)
    told = answered(client, client._run, there, files)  # noqa: SLF001  `run` itself waits for ever
    others: dict[tuple[str, str], list[str]] = {}
    for worker, (version, code, _) in told.items():
        if (version, code) != this_program():
            others.setdefault((version, code), []).append(worker)
    if others:
        raise InputError([
            _wrong(address, *other_program(one, this_program(), workers)) for one, workers in others.items()
        ])
    for worker, (*_, lacks) in told.items():
        if lacks:
            problem = f"the worker {worker} cannot see {lacks[0]}, which the recipe names."
            raise InputError([_wrong(address, problem, "the same folders on both")])


def this_program() -> tuple[str, str]:
    """Version and checksum of the program that runs here."""
    return VERSION, program()


def other_program(theirs: tuple[str, str], here: tuple[str, str], workers: Sequence[str]) -> tuple[str, str]:
    """Say of workers which bodygen they have, which stands here, and what would do.

    >>> print(other_program(("0.1", "de4c58b2e0"), ("0.1", "4f0b3a22c1"), ["tcp://bench:1", "tcp://bench:2"])[0])
    the workers tcp://bench:1, tcp://bench:2 have bodygen 0.1 (code de4c58b2), and here it is 0.1 (code 4f0b3a22).
    """
    more = len(workers) - MOST_NAMED
    named = ", ".join(workers[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    who = f"the workers {named} have" if len(workers) > 1 else f"the worker {named} has"
    version, code = theirs
    what = f"bodygen {version} (code {code_of(code) or 'unknown'})" if version else "no bodygen"
    accepted = "the same program on both: install it there as it is here, and begin the workers anew"
    return f"{who} {what}, and here it is {here[0]} (code {code_of(here[1])}).", accepted


def threads(client: Any) -> int:  # noqa: ANN401  as above
    """How many tasks can be under way at once.

    Raises
    ------
    LostError
        The scheduler does not answer.
    """
    return sum(answered(client, client.scheduler.ncores).values())


def answered(client: Any, ask: Any, *given: Any) -> Any:  # noqa: ANN401  as above
    """Ask, and do not wait for ever.

    Raises
    ------
    LostError
        The scheduler does not answer.
    """
    try:
        return client.sync(ask, *given, callback_timeout=ANSWER_S)
    except (OSError, RuntimeError, ValueError, AttributeError) as error:  # gone, closing, or gone while it was asked
        msg = "the scheduler is gone, or gives no answer"
        raise LostError(msg) from error


def _wrong(address: Any, problem: str, accepted: str) -> Mistake:  # noqa: ANN401  as above
    return Mistake("command line", 0, "--scheduler", str(address), problem, accepted)
