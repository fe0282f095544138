"""What a study costs: python tests/bench/study.py.

Prints figures, passes or fails nothing. BODYGEN_STUDY_DESIGNS designs (200) of the perch, its shape varied, each
assessed in full with its dive, on two processes: beside the yardstick of ``bench.py``, and beside two plain processes
that share nothing and keep nothing. Then BODYGEN_STUDY_STAND_INS designs (50 000) whose assessment is left out, so that
what is left is the engine: its cost a task, and whether its memory grows.
"""

import multiprocessing
import os
import sys
import threading
import time
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Self

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import psutil
from bench import yardstick

from bodygen.study.door import run_study
from bodygen.study.engine.run import MOST
from bodygen.study.plan.designs import designs_of
from bodygen.study.rows.row import row_of
from bodygen.study.said.read import read_study

RECIPE = Path(__file__).parents[2] / "params" / "tarn-perch-70.toml"
DESIGNS = int(os.environ.get("BODYGEN_STUDY_DESIGNS", "200"))
STAND_INS = int(os.environ.get("BODYGEN_STUDY_STAND_INS", "50000"))
PLAIN = 60
"""Designs of each plain process: some seconds of work."""
STUDY = """
format = 1
name = "bench"
recipe = "tarn-perch-70.toml"
seed = 7
[plan]
how = "latin_hypercube"
designs = {}
[[vary]]
key = "shape.thickness"
from = "14 mm"
to = "18 mm"
[[vary]]
key = "shape.depth"
from = "20 mm"
to = "24 mm"
[[vary]]
key = "shape.back_share"
from = 0.45
to = 0.55
"""
STAND_IN = """
from bodygen.study.engine import task
from bodygen.study.rows.row import failed_row
task.row_of = lambda study, design: failed_row(study, design, "stand-in", "", "")
"""


def written(folder: Path, designs: int) -> Path:
    """Write a study of so many designs."""
    (folder / RECIPE.name).write_bytes(RECIPE.read_bytes())
    path = folder / f"bench-{designs}.toml"
    path.write_text(STUDY.format(designs), encoding="utf-8")
    return path


def plain(path: Path, first: int, ready: threading.Barrier, took: multiprocessing.Queue) -> None:
    """Work designs out with nothing around it, and tell how long it took by the clock."""
    study = read_study(path)
    designs = list(islice(designs_of(study, study.plan), first, first + PLAIN))
    row_of(study, designs[0])
    ready.wait()
    began = time.perf_counter()
    for design in designs:
        row_of(study, design)
    took.put(time.perf_counter() - began)


def at_once(path: Path, processes: int) -> float:
    """Designs a second of so many plain processes."""
    context = multiprocessing.get_context("spawn")
    ready, took = context.Barrier(processes), context.Queue()
    each = [context.Process(target=plain, args=(path, PLAIN * i, ready, took)) for i in range(processes)]
    for one in each:
        one.start()
    longest = max(took.get() for _ in each)
    for one in each:
        one.join()
    return processes * PLAIN / longest


class Memory:
    """What this process and those that it began hold [MB], looked at while something runs: when, mine, theirs."""

    def __init__(self) -> None:
        self.seen: list[tuple[float, float, float]] = []
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _look(self) -> None:
        me = psutil.Process()
        while not self._over.wait(0.5):
            held = []
            for one in me.children(recursive=True):
                try:
                    held.append(one.memory_info().rss / 1e6)
                except psutil.Error:
                    continue
            self.seen.append((time.perf_counter(), me.memory_info().rss / 1e6, max(held, default=0.0)))

    def told(self) -> str:
        """At three tenths (all is loaded by then), six and nine: the client's, the largest worker's."""
        if not self.seen:
            return "too short to look"
        places = [self.seen[int(share * (len(self.seen) - 1))] for share in (0.3, 0.6, 0.9)]
        return "; ".join(f"client {mine:.0f}, worker {theirs:.0f}" for _, mine, theirs in places)


def run(path: Path, out: Path) -> tuple[float, float, Memory]:
    """Clock seconds of a study on two processes, from its beginning and from its first rows, and its memory."""
    first: list[float] = []

    def say(_: str) -> None:
        first.append(time.perf_counter())

    with Memory() as memory:
        began = time.perf_counter()
        run_study(path, out, workers=2, say=say)
        ended = time.perf_counter()
    return ended - began, ended - first[0], memory


def main() -> None:
    """Print all of it."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        path = written(folder, DESIGNS)
        short = path if DESIGNS >= 2 * PLAIN else written(folder, 2 * PLAIN)
        sticks = [yardstick() for _ in range(3)]
        one, two = at_once(short, 1), at_once(short, 2)
        took, after_start, memory = run(path, folder / "out")
        one, two = (one + at_once(short, 1)) / 2, (two + at_once(short, 2)) / 2
        sticks += [yardstick() for _ in range(3)]
        stick = sorted(sticks)[len(sticks) // 2]
        whole, rest = DESIGNS / took, (DESIGNS - MOST) / after_start
        print(f"{DESIGNS} designs on two processes: {took / stick:.0f} yardsticks by the clock,")
        print(f"  {took / stick / DESIGNS:.3f} a design, {DESIGNS / (took / stick):.2f} designs a yardstick")
        print(f"  two plain processes are {two / one:.2f} times as fast as one, the engine's {whole / one:.2f} times:")
        print(f"  {whole / two:.3f} of theirs with its start and its table, {rest / two:.3f} from its first rows on")
        print(f"  MB at three, six, nine tenths: {memory.told()}")
        hook = folder / "stand_in.py"
        hook.write_text(STAND_IN, encoding="utf-8")
        os.environ["DASK_DISTRIBUTED__WORKER__PRELOAD"] = str(hook)
        import dask

        dask.config.refresh()
        took, after_start, memory = run(written(folder, STAND_INS), folder / "out")
        tasks = STAND_INS / MOST
        print(f"{STAND_INS} designs without their assessment: {1000 * after_start / tasks:.1f} ms a task of {MOST},")
        print(f"  of which a plain design's work is {1000 * MOST / one:.0f} ms")
        print(f"  MB at three, six, nine tenths: {memory.told()}")


if __name__ == "__main__":
    sys.exit(main())
