"""Tasks under way: handed out a bounded number at a time, taken back in whatever order, and again where a worker died.

A worker that dies takes whatever it holds with it, guilty or not. So a task is tried once more as it is; if its worker
dies again its designs are handed out one by one; one whose worker then died twice is tried alone, when nothing else is
under way, and is a row that says so if that worker dies too.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from queue import Empty, SimpleQueue
from secrets import token_hex
from time import monotonic
from typing import Any

from bodygen.errors import BodygenError
from bodygen.study.engine.hands import ANSWER_S, LostError, answered, this_program, threads
from bodygen.study.engine.store import keep, kept, name_of
from bodygen.study.engine.task import SIGN, work
from bodygen.study.rows.row import failed_row
from bodygen.study.said.model import Design, Row, Study
from bodygen.tables import load

AHEAD = 2
"""Tasks handed out for each that can be under way, so that nobody waits for the next."""
WINDOW = 64
"""Tasks, at least, that may be done before the first of them is: then nothing more is handed out."""
TRIES = 2
"""Deaths that a task may see before its designs go one by one, and a design before it is tried alone."""
LOOK_S = 5.0
"""Without news so long, the scheduler is asked whether it is there."""
ALONE_S = 60.0
"""So long without any worker, and the run stops."""
TOLD_S, STUCK_S, USUAL_TIMES, STUCK_DESIGN_S = (
    float(load("study")["waiting"][name]) for name in ("told_s", "silent_s", "usual_times", "design_s")
)
"""When waiting is told; when, without any news, what is under way is taken to hang: ``Jobs._hangs``."""


@dataclass(slots=True)
class Portion:
    """A task: its designs, where its rows go, and how it fares; the parts of one that was split, by their place.

    ``begun`` is when it was handed out last [s]; ``alone`` is one that is tried, or waits to be tried, when nothing
    else is under way.
    """

    designs: tuple[Design, ...]
    name: str
    deaths: int = 0
    begun: float = 0.0
    alone: bool = False
    rows: list[Row] | None = None
    whole: "Portion | None" = None
    parts: "list[Portion]" = field(default_factory=list)


def _named(job: Portion) -> str:
    """The designs of a task by their numbers."""
    first, last = job.designs[0].number, job.designs[-1].number
    return f"design {first}" if first == last else f"designs {first} to {last}"


class Jobs:
    """Tasks that a client's workers have, and what comes back."""

    def __init__(
        self,
        study: Study,
        folder: Path,
        client: Any,  # noqa: ANN401  the library has no types
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._study, self._folder, self._client, self._say = study, folder.resolve(), client, say
        self._told, self._slowest = monotonic(), 0.0
        self._news: SimpleQueue[str] = SimpleQueue()  # keys alone: who holds a future holds its client
        self._out: dict[str, tuple[Portion, Any]] = {}
        self._doubted: deque[Portion] = deque()
        self._word = token_hex(16)
        self._at_once = threads(client)
        self._looked = self._heard = self._manned = monotonic()
        (self._folder / SIGN).write_text(self._word, encoding="utf-8")

    def rows(self, parts: Iterable[tuple[Design, ...]]) -> Iterator[Row]:
        """Give the rows of tasks, in their order, as soon as those before them are there."""
        coming = iter(parts)
        window: deque[Portion] = deque()
        more = True
        while more or window:
            while more and self._has_room(len(window)):
                designs = next(coming, None)
                more = designs is not None
                if designs is not None:
                    window.append(self._begun(designs))
            while window and window[0].rows is not None:
                yield from window.popleft().rows or ()
            if self._doubted and not self._out:
                self._hand_out(self._doubted.popleft())
            if window and window[0].rows is None:
                self._tell(window[0])
                self._wait()

    def _patience(self) -> tuple[float, float]:
        """How long nothing may be heard before what is under way is given up, and where others use the workers [s].

        The first goes by the slowest design that came back, its waiting counted, as far as one did.
        """
        longest = max((len(job.designs) for job, _ in self._out.values()), default=0)
        most = STUCK_DESIGN_S * AHEAD
        return STUCK_S + longest * min(most, USUAL_TIMES * self._slowest or most), STUCK_S + longest * most

    def _hangs(self, silent: float) -> bool:
        """Whether what is under way is taken to hang, after so long a silence [s]; never for another's work."""
        usual, most = self._patience()
        if not self._out or silent <= usual:
            return False
        busy = answered(self._client, self._client.scheduler.processing)
        return silent > most or all(key in self._out for keys in busy.values() for key in keys)

    def _tell(self, job: Portion) -> None:
        """Say what everything waits for, where it is long in coming: rows are written in their order."""
        now = monotonic()
        if job.begun and now - max(job.begun, self._told) > TOLD_S:
            self._told = now
            self._say(f"waiting for {_named(job)} for {now - job.begun:.0f} s")

    def _has_room(self, waiting: int) -> bool:
        """Whether one more task may be begun while so many wait for those before them; none while one must be alone."""
        few_out = len(self._out) < AHEAD * self._at_once
        return few_out and waiting < max(WINDOW, 4 * self._at_once) and not self._doubted

    def stop(self) -> None:
        """Let go of all that is under way."""
        with suppress(Exception):  # a client that is gone holds nothing
            for _, future in self._out.values():
                future.release()
        self._out.clear()
        (self._folder / SIGN).unlink(missing_ok=True)

    def _begun(self, designs: tuple[Design, ...]) -> Portion:
        name = name_of(self._study, designs)
        job = Portion(designs, name, rows=kept(self._folder, name, len(designs)))
        if job.rows is None:
            self._hand_out(job)
        return job

    def _hand_out(self, job: Portion) -> None:
        key = f"work-{token_hex(16)}"  # the scheduler remembers every other beginning of a key for ever
        given = (self._study, job.designs, str(self._folder), job.name, self._word, this_program())
        try:
            future = self._client.submit(work, *given, key=key, pure=False)
        except Exception as error:
            msg = "the scheduler is gone"
            raise LostError(msg) from error
        job.begun = monotonic()
        if not self._out:
            self._heard = job.begun  # a search may have thought meanwhile
        self._out[key] = job, future
        future.add_done_callback(lambda done: self._news.put(done.key))

    def _wait(self) -> None:
        """Take the next piece of news; ask after the scheduler where there is none."""
        try:
            key = self._news.get(timeout=LOOK_S)
        except Empty:
            self._look()
            return
        if key not in self._out:
            return  # given up on meanwhile
        job, future = self._out.pop(key)
        self._heard = monotonic()
        if future.status == "finished":
            self._slowest = max(self._slowest, (self._heard - job.begun) / len(job.designs))
        if self._heard - self._looked > LOOK_S:
            self._look()
        try:
            match future.status:
                case "finished":
                    self._take(job, future)
                case "error":
                    self._failed(job, future)
                case _:
                    msg = "the scheduler is gone"
                    raise LostError(msg)
        finally:
            with suppress(Exception):  # a client that is gone holds nothing
                future.release()

    def _take(self, job: Portion, future: Any) -> None:  # noqa: ANN401  as above
        """Take the rows of a task off the disk, or keep them there where its worker could not."""
        rows = kept(self._folder, job.name, len(job.designs))
        if rows is None:
            try:
                rows = future.result(timeout=ANSWER_S)
            except Exception:  # noqa: BLE001  its worker died since, with the rows
                rows = None
            if rows is None:
                self._again(job, "worker-died", "the rows were lost on their way")
                return
            keep(self._folder, job.name, rows)
        self._done(job, rows)

    def _done(self, job: Portion, rows: list[Row]) -> None:
        job.rows = rows
        whole = job.whole
        if whole is not None and all(part.rows is not None for part in whole.parts):
            whole.rows = [row for part in whole.parts for row in part.rows or ()]
            keep(self._folder, whole.name, whole.rows)
            for part in whole.parts:
                (self._folder / part.name).unlink(missing_ok=True)

    def _failed(self, job: Portion, future: Any) -> None:  # noqa: ANN401  as above
        from distributed import KilledWorker

        try:
            error = future.exception(timeout=ANSWER_S)
        except Exception as lost:
            msg = "the scheduler is gone, or gives no answer"
            raise LostError(msg) from lost
        if isinstance(error, KilledWorker):
            self._again(job, "worker-died", "the program that worked it out died of it, more than once")
            return
        if isinstance(error, BodygenError | OSError):
            raise error
        msg = f"a task failed: {type(error).__name__}: {error}"  # the library's own, as no worker of ours gives such
        raise BodygenError(msg) from error

    def _again(self, job: Portion, code: str, why: str) -> None:
        """Hand a task out again whose worker died, then its designs one by one; the one that does it is a row.

        A worker that dies takes those with it that wait for it, so no design is blamed but for what it does alone.
        """
        job.deaths += 1
        if job.deaths < TRIES:
            self._hand_out(job)
        elif len(job.designs) == 1 and not job.alone:
            job.alone = True
            self._doubted.append(job)
        elif job.alone:
            rows = [failed_row(self._study, job.designs[0], code, "", why)]
            keep(self._folder, job.name, rows)
            self._done(job, rows)
        else:
            singles = [(design,) for design in job.designs]
            job.parts = [Portion(one, name_of(self._study, one), whole=job) for one in singles]
            for part in job.parts:
                rows_before = kept(self._folder, part.name, 1)
                if rows_before is None:
                    self._hand_out(part)
                else:
                    self._done(part, rows_before)

    def _look(self) -> None:
        """Ask the scheduler how many work for it; where none has for long, or nothing came for long, do something."""
        self._looked = now = monotonic()
        self._at_once = threads(self._client)
        if self._at_once:
            self._manned = now
        elif now - self._manned > ALONE_S:
            msg = "no worker is left"
            raise LostError(msg)
        self._at_once = max(1, self._at_once)
        if self._hangs(now - self._heard):
            self._give_up_on_what_hangs()

    def _give_up_on_what_hangs(self) -> None:
        """Begin the workers anew, and count what was under way as if it had killed them."""
        stuck = [job for job, _ in self._out.values()]
        waited, names = monotonic() - self._heard, ", ".join(map(_named, stuck))
        self._say(f"nothing came for {waited:.0f} s: the workers begin anew, and {names} with them")
        for _, future in self._out.values():
            future.release()
        self._out.clear()
        busy: list[str] = list(answered(self._client, self._client.scheduler.ncores))
        restart: Callable[..., Any] = self._client.restart_workers
        restart(busy, timeout=ANSWER_S, raise_for_error=False)
        self._heard = monotonic()
        for job in stuck:
            self._again(job, "no-answer", "no answer came of it, more than once")
