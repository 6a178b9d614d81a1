"""What holds for every test: the same examples each time, no skips, and waiting told apart from wrong.

No test asserts how long something takes. A test waits for an event, with a generous limit; where the limit is
reached it raises a timeout, and that alone says neither that the code is wrong nor that it is right.
"""

from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")

LATE = 75  # exit status of a run in which all that failed had waited to its limit; "try again" in sysexits.h
TIMEOUTS = {
    "TimeoutError",
    "TimeoutExpired",
}  # by name: subprocess, psutil and playwright each have their own
WAITED = ("waited to its limit", True)


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--no-skips`: a test that is skipped counts as failed."""
    parser.addoption("--no-skips", action="store_true", help="a skipped test fails")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Turn skips into failures if asked to, and mark a failure that is a timeout."""
    report: pytest.TestReport = yield  # type: ignore[assignment]
    if report.skipped and item.config.getoption("--no-skips"):
        report.outcome = "failed"
    elif report.failed and call.excinfo and TIMEOUTS & {each.__name__ for each in call.excinfo.type.__mro__}:
        report.user_properties.append(WAITED)
    return report  # type: ignore[return-value]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Exit with `LATE` if tests failed and each of them by a timeout."""
    terminal = session.config.pluginmanager.get_plugin("terminalreporter")
    if terminal is None or session.exitstatus != pytest.ExitCode.TESTS_FAILED:
        return
    failed = [each for kind in ("failed", "error") for each in terminal.stats.get(kind, ())]
    if all(WAITED in map(tuple, getattr(each, "user_properties", ())) for each in failed):
        session.exitstatus = LATE
