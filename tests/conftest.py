"""What holds for every test: the same examples each time, and a skip can be made a failure."""

from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--no-skips`: a test that is skipped counts as failed."""
    parser.addoption("--no-skips", action="store_true", help="a skipped test fails")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Turn skips into failures if asked to."""
    report = yield
    if report.skipped and item.config.getoption("--no-skips"):  # type: ignore[attr-defined]
        report.outcome = "failed"  # type: ignore[attr-defined]
    return report  # type: ignore[return-value]
