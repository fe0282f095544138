"""For mutate.py: pytest ends at the first failed assertion, and hypothesis does not look for a smaller example."""

from collections.abc import Generator

import pytest
from hypothesis import Phase, settings

settings.register_profile("first", phases=(Phase.explicit, Phase.generate))
settings.load_profile("first")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """One assertion is all that is asked for; a crash may still be followed by one."""
    report = yield
    if call.excinfo is not None and call.excinfo.errisinstance((AssertionError, pytest.fail.Exception)):
        item.session.shouldstop = "an assertion failed"
    return report
