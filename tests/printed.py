"""What a printed number promises: half a unit of its last digit."""

from decimal import Decimal
from typing import Any

import pytest


def printed(value: str | float, unit: float = 1.0) -> Any:
    """A value to compare with, in SI units.

    Text is a rounded number as it stands in print and agrees within half a unit of its last digit; "134…"
    is one whose further digits were cut off, from 134 up to 135. A number is exact in its source: 1e-12.
    """
    if not isinstance(value, str):
        return pytest.approx(value * unit, rel=1e-12, abs=0)
    number = Decimal(value.removesuffix("…"))
    half = Decimal(5).scaleb(int(number.as_tuple().exponent) - 1)
    middle = number + half.copy_sign(number) if value.endswith("…") else number
    return pytest.approx(float(middle) * unit, abs=float(half) * unit, rel=0)
