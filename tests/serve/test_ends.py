"""However it ends, at whatever it is: nobody is left, nothing is left, and nobody is shown a traceback."""

import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from http.client import HTTPException
from pathlib import Path

import pytest
from amount import only_with_more
from tab import PERCH, Page, passing, surroundings, workers

from bodygen.extras import missing

pytestmark = only_with_more
TEXT = PERCH.read_text(encoding="utf-8")
HEARS = "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler)"
HEARD = ("-c", f"{HEARS}; from bodygen.cli import main; sys.exit(main(sys.argv[1:]))")
"""Where the shell of the tests is deaf to Ctrl-C, so are its programs."""


@pytest.fixture
def page(tmp_path):
    """A server that is the first of a group of processes, as in a terminal, with a place of its own for what passes."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "perch.toml").write_text(TEXT, encoding="utf-8")
    words = [sys.executable, *HEARD, "serve", str(tmp_path / "folder"), "--port", "0", "--no-open"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    process = subprocess.Popen(words, env=surroundings(tmp_path / "folder"), start_new_session=True, **pipes)
    yield Page(process.stdout.readline().strip(), tmp_path / "folder", process)
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


def ended(page, how):
    """End all of a group by a signal; what was told."""
    os.killpg(page.process.pid, how)
    told = page.process.communicate(timeout=20)[1]
    for _ in range(50):
        with suppress(ProcessLookupError):
            os.killpg(page.process.pid, 0)
            time.sleep(0.1)
            continue
        return told
    pytest.fail("somebody is left")


@pytest.mark.parametrize("after", [0.1, 0.4, 0.8, 1.2])
def test_ctrl_c_while_its_process_is_still_loading_shows_no_traceback(page, after):
    time.sleep(after)
    assert ended(page, signal.SIGINT) == "stop it with Ctrl-C\n"


def reading(page):
    """Begin to trace a scan of many triangles, and wait until the working process has it."""
    if missing(["scan"]):
        pytest.skip("the extra for scans is not installed")
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=6)
    ball.apply_scale([35, 6, 11])

    def send():
        with suppress(HTTPException, OSError):
            page.send("POST", f"{page.below}drop?name=ball.stl", ball.export(file_type="stl"))

    sending = threading.Thread(target=send)
    sending.start()
    for _ in range(200):
        if list(passing(page.folder).glob("bodygen-*/*/made")):
            return sending
        time.sleep(0.05)
    return pytest.fail("it was never read")


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM], ids=["Ctrl-C", "TERM"])
def test_nothing_of_a_scan_that_is_being_traced_stays(page, how):
    sending = reading(page)
    assert ended(page, how) == "stop it with Ctrl-C\n"
    sending.join()
    assert (list(passing(page.folder).iterdir()), [path.name for path in page.folder.iterdir()]) == ([], ["perch.toml"])


def test_nothing_of_a_scan_stays_of_whose_process_there_was_an_end(page):
    sending = reading(page)
    os.kill(workers(page.process)[-1], signal.SIGKILL)
    sending.join()
    assert (list(passing(page.folder).iterdir()), [path.name for path in page.folder.iterdir()]) == ([], ["perch.toml"])
    assert page.ask(TEXT, want="whole")[0]["refused"] is None


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=["Ctrl-C", "TERM", "KILL"])
def test_of_a_build_that_is_under_way_nobody_stays_and_its_place_is_free_at_once(page, how):
    assert page.post("build", {"text": TEXT, "file": "perch.toml"}).status == 200
    time.sleep(3)
    ended(page, how)
    again = [sys.executable, *HEARD, "serve", str(page.folder), "--no-open", "--port", page.host.rpartition(":")[2]]
    own = surroundings(page.folder)
    second = subprocess.Popen(again, env=own, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert second.stdout.readline().strip() == page.address
    second.kill()
    second.communicate()
    left = {path.name for path in Path(page.folder, "out").glob("*")}
    assert left <= {".perch.lock", ".perch.new"}
