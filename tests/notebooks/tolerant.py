"""For nbval (`-p tests.notebooks.tolerant`): a number in an output may differ by one unit of its last digit."""

import pytest
from nbval.plugin import IPyNbCell

from tests.computed import same


class Output(str):
    """Text of an output, equal to one that differs from it in last digits only."""

    __slots__ = ()
    __hash__ = str.__hash__

    def __eq__(self, other: object) -> bool:
        return isinstance(other, str) and same(self, other)

    def __ne__(self, other: object) -> bool:
        return not self == other


def pytest_configure(config: pytest.Config) -> None:
    """Have nbval compare such texts: all that it compares passes through `sanitize`."""
    sanitized = IPyNbCell.sanitize

    def sanitize(self: IPyNbCell, text: object) -> object:
        plain = sanitized(self, text)
        return Output(plain) if isinstance(plain, str) else plain

    IPyNbCell.sanitize = sanitize
