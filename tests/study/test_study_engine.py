"""Real processes that are killed: no row is lost, none is worked out twice, nobody waits for ever.

A limit of some minutes stands wherever something is waited for; what is tried takes seconds.
"""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from itertools import islice
from pathlib import Path

import dask
import psutil
import pytest
from amount import only_with_more
from distributed import KilledWorker
from leaves import BAIT, PLAN, RANGES, SEARCH, STUDY

import bodygen
from bodygen.errors import InputError
from bodygen.files.made_with import program
from bodygen.study.engine import hands
from bodygen.study.engine import jobs as engine_jobs
from bodygen.study.engine.run import engine, together
from bodygen.study.engine.store import ROWS, SCRATCH
from bodygen.study.plan.designs import designs_of, in_parts
from bodygen.study.rows.row import failed_row
from bodygen.study.rows.table import read_table
from bodygen.study.said.read import read_study
from bodygen.version import VERSION

LIMIT = 240
MANY = STUDY.replace("designs = 6", "designs = 40")
KILLS = """
import os
from bodygen.study.engine import task
from bodygen.study.rows.row import row_of as known
def row_of(study, design):
    if design.number == 7:
        os._exit(1)
    return known(study, design)
task.row_of = row_of
"""
SLOW = """
import time
from bodygen.study.engine import task
from bodygen.study.rows.row import row_of as known
def row_of(study, design):
    time.sleep(0.2)
    return known(study, design)
task.row_of = row_of
"""
DEEP = """
import os
from bodygen.study.engine import task
def row_of(study, design):
    assert os.environ["MALLOC_TRIM_THRESHOLD_"] == str(256 << 20)  # the library has 64 kB, which costs a sixth
    return row_of(study, design)
task.row_of = row_of
"""
STAND_IN = """
from bodygen.study.engine import task
from bodygen.study.rows.row import failed_row
task.row_of = lambda study, design: failed_row(study, design, "stand-in", "", "")
"""
BLIND = "from bodygen.study.engine import task\ntask._sees = lambda *_: False\n"
OTHER = "from bodygen.study.engine import task\ntask.this_program = lambda: ('0.0.1', 'another')\n"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    folder = tmp_path_factory.mktemp("engine")
    (folder / "leaf.toml").write_text(BAIT, encoding="utf-8")
    (folder / "leaves.toml").write_text(MANY, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def alone(place):
    """The table that one process makes."""
    return tables(bodygen.run_study(place / "leaves.toml", place / "alone", workers=1).folder)


def tables(folder):
    return [(folder / name).read_bytes() for name in ("table.csv", "table.parquet")]


def command(place, out, *words):
    return [sys.executable, "-m", "bodygen", "study", str(place / "leaves.toml"), "--out", str(out), *words]


@contextmanager
def begun(words, preload=None, folder=None, **how):
    """A process of its own group; whatever of it is left at the end is killed."""
    env = dict(os.environ)
    if preload:
        (folder / "preload.py").write_text(preload, encoding="utf-8")
        env["DASK_DISTRIBUTED__WORKER__PRELOAD"] = str(folder / "preload.py")
    was = signal.signal(signal.SIGINT, signal.default_int_handler)  # tests in the background of a shell are deaf to it
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env, start_new_session=True, **how
    )
    signal.signal(signal.SIGINT, was)
    try:
        yield process
    finally:
        for one in [*psutil.Process(process.pid).children(recursive=True)] if process.poll() is None else []:
            one.kill()
        process.kill()
        process.communicate()


def until(true, process=None):
    deadline = time.monotonic() + LIMIT
    while not true():
        assert time.monotonic() < deadline
        assert process is None or process.poll() is None, process.communicate()
        time.sleep(0.02)


def kept(out):
    rows = out / "leaves" / ROWS
    return {path.name: path.stat().st_mtime_ns for path in rows.glob("*.jsonl")} if rows.is_dir() else {}


def workers_of(process):
    """Processes that work: those of the library's own start, not its helpers."""
    return [p for p in psutil.Process(process.pid).children(recursive=True) if "spawn_main" in " ".join(p.cmdline())]


def test_how_many_designs_make_a_task_depends_on_nothing_but_their_number():
    assert [together(n) for n in (1, 31, 64, 200, 512, 10_000, 10**6)] == [1, 1, 2, 6, 16, 16, 16]


@only_with_more
def test_two_workers_make_the_table_of_one_and_leave_nothing_behind(place, alone, tmp_path):
    with begun(command(place, tmp_path / "out", "--workers", "2"), cwd=tmp_path) as process:
        said, talk = process.communicate(timeout=LIMIT)
    assert (process.returncode, talk) == (0, "")
    assert "40 designs" in said
    assert tables(tmp_path / "out" / "leaves") == alone
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@only_with_more
def test_a_killed_worker_loses_no_row(place, alone, tmp_path):
    with begun(command(place, tmp_path, "--workers", "2")) as process:
        until(lambda: len(kept(tmp_path)) > 4, process)
        workers_of(process)[0].kill()
        _, talk = process.communicate(timeout=LIMIT)
    assert (process.returncode, talk) == (0, "")
    assert tables(tmp_path / "leaves") == alone


@only_with_more
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT], ids=lambda one: one.name)
def test_a_stopped_run_goes_on_and_works_nothing_out_twice(how, place, alone, tmp_path):
    """Ctrl-C goes to the whole group, as in a terminal; designs are slow, so that it finds some undone."""
    with begun(command(place, tmp_path, "--workers", "2"), SLOW, tmp_path) as process:
        until(lambda: len(kept(tmp_path)) > 4, process)
        all_of_it = psutil.Process(process.pid).children(recursive=True)
        os.killpg(process.pid, how) if how == signal.SIGINT else process.kill()
        _, talk = process.communicate(timeout=LIMIT)
        assert not psutil.wait_procs(all_of_it, timeout=LIMIT)[1]
    if how == signal.SIGINT:
        assert process.returncode == 3
        assert talk == "stopped; the rows so far are kept: the same command with --resume goes on from them\n"
    before = kept(tmp_path)
    assert len(before) > 4
    assert (tmp_path / "leaves" / ROWS / SCRATCH).exists() == (how == signal.SIGKILL)
    assert not (tmp_path / "leaves" / "table.csv").exists()
    done = subprocess.run(command(place, tmp_path), capture_output=True, text=True, check=False, timeout=LIMIT)
    assert done.returncode == 2
    assert "--resume" in done.stderr
    done = subprocess.run(command(place, tmp_path, "--resume"), capture_output=True, check=False, timeout=LIMIT)
    assert done.returncode == 0
    assert not (tmp_path / "leaves" / ROWS / SCRATCH).exists()
    after = kept(tmp_path)
    assert {name: after[name] for name in before} == before
    assert tables(tmp_path / "leaves") == alone


@only_with_more
def test_a_design_that_kills_its_worker_is_a_row_and_the_others_are_as_ever(place, alone, tmp_path):
    assert alone
    others = list(read_table(place / "alone" / "leaves"))
    with begun(command(place, tmp_path, "--workers", "2"), KILLS, tmp_path) as process:
        _, talk = process.communicate(timeout=LIMIT)
    assert (process.returncode, talk) == (0, "")
    rows = list(read_table(tmp_path / "leaves"))
    assert rows[6]["failed"] == "worker-died"
    assert "died of it" in rows[6]["why"]
    assert [row for row in rows if row["number"] != 7] == [row for row in others if row["number"] != 7]


@only_with_more
def test_an_error_too_deep_to_be_sent_is_told_and_not_waited_for(place, tmp_path):
    with begun(command(place, tmp_path, "--workers", "2"), DEEP, tmp_path) as process:
        said = process.communicate(timeout=LIMIT)[1]
    assert process.returncode == bodygen.BodygenError.exit_code
    assert "a task failed: RecursionError" in said
    assert "Traceback" not in said


@only_with_more
def test_a_task_that_hangs_is_given_up_on_and_split(place, monkeypatch, tmp_path):
    """With short limits, and a design that sleeps for ever."""
    hangs = KILLS.replace("os._exit(1)", "__import__('time').sleep(10_000)")
    (tmp_path / "preload.py").write_text(hangs, encoding="utf-8")
    study = read_study(place / "leaves.toml")
    for name, limit in (("LOOK_S", 0.5), ("STUCK_S", 3.0), ("STUCK_DESIGN_S", 0.1)):
        monkeypatch.setattr(engine_jobs, name, limit)
    code = (
        "import sys\nfrom bodygen.study.engine import jobs\n"
        "jobs.LOOK_S, jobs.STUCK_S, jobs.STUCK_DESIGN_S = 0.5, 3.0, 0.1\n"
        "from bodygen.cli import main\n"
        "if __name__ == '__main__':\n    sys.exit(main(sys.argv[1:]))\n"
    )
    (tmp_path / "run.py").write_text(code, encoding="utf-8")
    words = [sys.executable, str(tmp_path / "run.py"), *command(place, tmp_path, "--workers", "2")[3:]]
    with begun(words, hangs, tmp_path) as process:
        _, talk = process.communicate(timeout=2 * LIMIT)
    assert (process.returncode, talk) == (0, "")
    rows = list(read_table(tmp_path / "leaves"))
    assert [row["number"] for row in rows if row["failed"] == "no-answer"] == [7]
    assert len(rows) == study.plan.designs


@contextmanager
def elsewhere(folder, workers=2, preload=None):
    """A scheduler and workers that somebody else runs; gives the address and their processes."""
    file = folder / "scheduler.json"
    file.unlink(missing_ok=True)
    python = [sys.executable, "-m"]
    common = ["--scheduler-file", str(file), "--no-dashboard"]
    first = [*python, "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", *common]
    others = [*python, "distributed.cli.dask_worker", "--nthreads", "1", "--local-directory", str(folder), *common]
    with begun(first, cwd=folder) as scheduler:
        until(file.exists, scheduler)
        with begun([*others, "--nworkers", str(workers)], preload, folder, cwd=folder) as hands:
            until(file.read_text, scheduler)
            yield json.loads(file.read_text())["address"], scheduler, hands


@only_with_more
def test_a_worker_then_the_scheduler_killed_and_resumed_the_same_table(place, alone, tmp_path):
    out = tmp_path / "out"
    with (
        elsewhere(tmp_path) as (address, scheduler, hands),
        begun(command(place, out, "--scheduler", address)) as process,
    ):
        until(lambda: len(kept(out)) > 4, process)
        workers_of(hands)[0].kill()
        seen = len(kept(out))
        until(lambda: len(kept(out)) > seen + 2, process)
        scheduler.kill()
        _, talk = process.communicate(timeout=LIMIT)
    assert process.returncode == 3
    assert talk.startswith("the scheduler is gone")
    assert talk.endswith("; the rows so far are kept: the same command with --resume goes on from them\n")
    before = kept(out)
    with elsewhere(tmp_path) as (address, *_):
        words = command(place, out, "--scheduler", address, "--resume")
        done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=LIMIT)
    assert (done.returncode, done.stderr) == (0, "")
    after = kept(out)
    assert {name: after[name] for name in before} == before
    assert tables(out / "leaves") == alone


@only_with_more
def test_workers_that_cannot_see_the_folder_hand_their_rows_back(place, alone, tmp_path):
    with elsewhere(tmp_path, preload=BLIND) as (address, *_):
        words = command(place, tmp_path / "out", "--scheduler", address)
        done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=LIMIT)
    assert (done.returncode, done.stderr) == (0, "")
    assert tables(tmp_path / "out" / "leaves") == alone


@only_with_more
def test_workers_with_another_version_are_refused(place, tmp_path):
    with elsewhere(tmp_path, preload=OTHER) as (address, *_):
        words = command(place, tmp_path / "out", "--scheduler", address)
        done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=LIMIT)
    assert done.returncode == 2
    assert re.search(r"the worker tcp://\S+ has bodygen 0\.0\.1 \(code another\), and here it is", done.stderr)


@only_with_more
def test_workers_of_another_checkout_are_refused_before_anything_is_worked_out(place, tmp_path):
    """The same version to the letter, but for a comment in one file."""
    copied = tmp_path / "bodygen"  # workers begin here, so that this is the one that they find
    shutil.copytree(Path(bodygen.__file__).parent, copied, ignore=shutil.ignore_patterns("__pycache__"))
    with (copied / "version.py").open("a", encoding="utf-8") as file:
        file.write("# another\n")
    with elsewhere(tmp_path) as (address, *_):
        words = command(place, tmp_path / "out", "--scheduler", address)
        done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=LIMIT)
    assert done.returncode == 2
    assert re.search(r"the workers? tcp://127.0.0.1:\d+.* bodygen 0.1.0 \(code \w{8}\), and here", done.stderr)
    assert f"(code {program()[:8]})." in done.stderr
    assert not kept(tmp_path / "out")


class Answers:
    """A scheduler's client that only answers what its workers have."""

    _run = None

    def __init__(self, told):
        self.told = told

    def sync(self, _ask, *_, callback_timeout):
        assert callback_timeout
        return self.told


def test_of_workers_with_other_programs_each_is_named(tmp_path):
    mine, other = (VERSION, program(), []), (VERSION, "de4c58b2e0", [])
    told = {"tcp://a:1": mine, "tcp://b:1": other, "tcp://c:1": other, "tcp://d:1": ("", "", [])}
    with pytest.raises(InputError) as refused:
        hands._agree(Answers(told), "tcp://bench:8786", [tmp_path])
    here = f"and here it is {VERSION} (code {program()[:8]})."
    assert [mistake.problem for mistake in refused.value.mistakes] == [
        f"the workers tcp://b:1, tcp://c:1 have bodygen {VERSION} (code de4c58b2), {here}",
        f"the worker tcp://d:1 has no bodygen, {here}",
    ]
    hands._agree(Answers({"tcp://a:1": mine}), "tcp://bench:8786", [tmp_path])


@only_with_more
def test_where_no_scheduler_answers_that_is_told_and_nothing_waits(place, tmp_path):
    words = command(place, tmp_path, "--scheduler", "tcp://127.0.0.1:1")
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=LIMIT)
    assert done.returncode == 2
    assert "no scheduler answers there" in done.stderr


@only_with_more
def test_an_engine_that_is_asked_again_takes_the_rows_that_are_there(place, tmp_path):
    """As a search does, one generation after the other."""
    study = read_study(place / "leaves.toml")
    designs = list(designs_of(study, study.plan))[:12]
    with engine(study, tmp_path, 12) as run:
        first = list(run(designs[:6]))
        assert list(run(designs))[:6] == first
    assert len([*tmp_path.glob("*.jsonl")]) == 12


@only_with_more
def test_a_search_whose_worker_and_client_die_goes_on_to_the_same_answer(place, tmp_path):
    """A worker of this machine first, then the client; resumed by another number of workers."""
    front = SEARCH.replace("target = 2.0\nwithin = 0.1", 'as_can_be = "most"')
    front += '[[aim]]\nfigure = "stages[drilled].mass_g"\nas_can_be = "least"\n'
    (tmp_path / "leaf.toml").write_text(BAIT, encoding="utf-8")
    (tmp_path / "leaves.toml").write_text(RANGES.replace(PLAN, front), encoding="utf-8")
    alone = bodygen.run_study(tmp_path / "leaves.toml", tmp_path / "alone", workers=1).folder
    out = tmp_path / "out"
    with begun(command(tmp_path, out, "--workers", "2")) as process:
        until(lambda: len(kept(out)) > 3, process)
        workers_of(process)[0].kill()
        seen = len(kept(out))
        until(lambda: len(kept(out)) > seen + 2, process)
        process.kill()
    before = kept(out)
    done = subprocess.run(command(tmp_path, out, "--resume"), capture_output=True, check=False, timeout=LIMIT)
    assert done.returncode == 0
    assert {name: kept(out)[name] for name in before} == before
    for name in ("table.csv", "table.parquet", "study.json", "report.html"):
        one = (alone / name).read_bytes().replace(str(tmp_path / "alone").encode(), str(out).encode())
        assert (out / "leaves" / name).read_bytes() == one, name


class OneWorker:
    """A scheduler's client as the engine sees it, whose one worker takes two tasks at a time, and dies with both."""

    def __init__(self, kills):
        self.kills, self.waiting = kills, []

    def submit(self, _, study, designs, *__, key, pure):
        assert not pure
        return OneWorkersFuture(self, designs, [failed_row(study, design, "seen", "", "") for design in designs], key)

    def look(self, _):
        """Work out what waits, now that no more comes."""
        died = any(design.number in self.kills for future in self.waiting for design in future.designs)
        waiting, self.waiting = self.waiting, []
        for future in waiting:
            future.status = "error" if died else "finished"
            future.told(future)
        return 1


class OneWorkersFuture:
    def __init__(self, worker, designs, rows, key):
        self.worker, self.designs, self.rows, self.key = worker, designs, rows, key

    def add_done_callback(self, told):
        self.told = told
        self.worker.waiting.append(self)
        if len(self.worker.waiting) == 2:
            self.worker.look(self)

    def result(self, timeout):
        assert timeout
        return self.rows

    def exception(self, timeout):
        assert timeout
        return KilledWorker("task", None, 1)

    def release(self):
        pass


def test_what_is_waited_for_is_named_and_the_limit_follows_what_designs_took(place, monkeypatch, tmp_path):
    """By a clock that runs a second at each look: the worker begins only when something was said."""
    worker, study, said, clock = OneWorker(set()), read_study(place / "leaves.toml"), [], iter(range(10**6))
    monkeypatch.setattr(engine_jobs, "threads", lambda _: 1)
    monkeypatch.setattr(engine_jobs, "LOOK_S", 0.001)
    monkeypatch.setattr(engine_jobs, "TOLD_S", 3.0)
    monkeypatch.setattr(engine_jobs, "monotonic", lambda: float(next(clock)))
    jobs = engine_jobs.Jobs(study, tmp_path, worker, said.append)
    assert jobs._patience() == (60.0, 60.0)
    monkeypatch.setattr(engine_jobs, "threads", lambda _: worker.look(None) if said else 1)
    rows = list(jobs.rows(in_parts(islice(designs_of(study, study.plan), 4), 4)))
    assert [row["number"] for row in rows] == [1, 2, 3, 4]
    assert re.fullmatch(r"waiting for designs 1 to 4 for \d+ s", said[0])
    assert jobs._slowest > 0
    first = engine_jobs.Portion(tuple(islice(designs_of(study, study.plan), 16)), "first", begun=0.0)
    jobs._out["one"] = first, None
    jobs._slowest = 0.25
    assert jobs._patience() == (60 + 16 * 20 * 0.25, 60 + 16 * 2 * 30)
    jobs._slowest = 0.0
    assert jobs._patience() == (1020.0, 1020.0)
    jobs._out.clear()


def test_no_design_is_blamed_for_the_death_of_a_worker_that_it_waited_for(place, monkeypatch, tmp_path):
    """The eighth waits beside the seventh, which kills their worker, again and again, until each is tried alone."""
    worker, study = OneWorker({7}), read_study(place / "leaves.toml")
    monkeypatch.setattr(engine_jobs, "threads", worker.look)
    monkeypatch.setattr(engine_jobs, "LOOK_S", 0.01)
    jobs = engine_jobs.Jobs(study, tmp_path, worker)
    rows = list(jobs.rows(in_parts(designs_of(study, study.plan), 4)))
    assert [row["number"] for row in rows] == [*range(1, 41)]
    assert [row["number"] for row in rows if row["failed"] == "worker-died"] == [7]


@only_with_more
def test_more_designs_need_no_more_memory(place, tmp_path):
    """Of the client, which has the scheduler in it, too; from when everything is loaded until the report is made."""
    (tmp_path / "stand_in.py").write_text(STAND_IN, encoding="utf-8")
    many = tmp_path / "leaves.toml"
    many.write_text(STUDY.replace("designs = 6", "designs = 16000"), encoding="utf-8")
    (tmp_path / "leaf.toml").write_text(BAIT, encoding="utf-8")
    me, held = psutil.Process(), {}

    def say(words):
        held[int(words.split()[0])] = me.memory_info().rss / 1e6

    with dask.config.set({"distributed.worker.preload": [str(tmp_path / "stand_in.py")]}):
        made = bodygen.run_study(many, tmp_path / "out", workers=2, say=say)
    assert made.document["failures"] == {"stand-in": 16000}
    assert held[max(held)] - next(mb for rows, mb in held.items() if rows > 5000) < 10
