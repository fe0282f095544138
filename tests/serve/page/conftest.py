"""A folder with one bait, the server on it, and a browser: what the tests of the page are tried with."""

import shutil

import pytest
from browsing import DEMOS, chromium, need_browser, serving


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
