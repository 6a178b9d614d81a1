"""Limits and display steps as standard uncertainties: JCGM 100:2008, 4.3.7 (a/√3) and F.2.2.1 (step/√12).

The limits are invented; the figures were computed for this test, to four digits.
"""

import pytest

from labkit.uncertainty.components import Component, Input
from labkit.uncertainty.propagate import first_order


@pytest.mark.parametrize(
    ("reading", "percent", "counts", "digit", "limit", "u"),
    [
        (10.00e-3, 0.5, 3, 0.01e-3, 80e-6, 46.19e-6),
        (1.234e-3, 0.3, 2, 0.001e-3, 5.702e-6, 3.292e-6),
        (199.9e-6, 1.0, 5, 0.1e-6, 2.499e-6, 1.443e-6),
    ],
)
def test_accuracy_limit(
    reading: float, percent: float, counts: int, digit: float, limit: float, u: float
) -> None:
    """4.3.7: an accuracy of ±a, taken as one rectangular distribution, is a/√3."""
    half_width = reading * percent / 100 + counts * digit
    assert half_width == pytest.approx(limit, rel=1e-9)
    assert Component("accuracy", "rectangular", half_width).standard_uncertainty == pytest.approx(u, rel=5e-4)


def test_display_step() -> None:
    """F.2.2.1: a step of 0.01 mH alone is 2.887 µH."""
    step = Component("display step", "rectangular", 0.01e-3 / 2)
    estimate = first_order(lambda L: L, [Input("L", 10.00e-3, ((step, 1.0),))])
    assert estimate.standard_uncertainty == pytest.approx(2.887e-6, rel=5e-4)
