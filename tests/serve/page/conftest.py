"""A folder with one bait, the server on it, and a browser: what the tests of the page are tried with."""

import shutil

import pytest
from browsing import DEMOS, Hand, chromium, need_browser, serving


def bait_in(folder):
    folder.mkdir()
    shutil.copy(DEMOS / "tarn-perch-70.toml", folder / "perch.toml")
    return folder


@pytest.fixture(scope="module")
def browser():
    with chromium() as one:
        yield one


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    need_browser()
    with serving(bait_in(tmp_path_factory.mktemp("bench") / "baits")) as one:
        yield one


@pytest.fixture
def own_server(tmp_path):
    """One that a test may kill."""
    need_browser()
    with serving(bait_in(tmp_path / "baits")) as one:
        yield one


@pytest.fixture(scope="module")
def hand(browser, server):
    """On that bait, and the browser has nothing to complain of in the end."""
    one = Hand(browser, server.address, "perch.toml")
    yield one
    assert one.said == []
    one.close()
