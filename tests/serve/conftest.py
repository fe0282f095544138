"""One server for all tests of a process, as its worker takes a second to start."""

import signal

import pytest
from tab import PERCH, served


@pytest.fixture(scope="session")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("folder")
    (folder / "perch.toml").write_text(PERCH.read_text(encoding="utf-8"), encoding="utf-8")
    opened = served(folder)
    yield opened
    opened.process.send_signal(signal.SIGINT)
    out, err = opened.process.communicate(timeout=20)
    assert (opened.process.returncode, out, "Traceback" in err) == (0, "", False), err
