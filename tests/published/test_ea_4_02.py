"""EA-4/02, example S3: calibration of a 10 kΩ standard resistor by substitution.

Result and standard uncertainty are as printed; the inputs are from MEMORY and reproduce them.
"""

import math
from typing import Any

import pytest

from labkit.uncertainty.components import Input, from_readings, uncertain
from labkit.uncertainty.propagate import first_order

RATIOS = (1.0000104, 1.0000107, 1.0000106, 1.0000103, 1.0000105)


def resistance(standard: Any, drift: Any, warm_standard: Any, r_c: Any, r: Any, warm: Any) -> Any:
    """R_X = (R_S + δR_D + δR_TS) r_C r - δR_TX, in Ω."""
    return (standard + drift + warm_standard) * r_c * r - warm


def inputs() -> list[Input]:
    """The budget's inputs, in Ω."""
    return [
        uncertain("R_S", 10_000.053, "normal", 2.5e-3),
        uncertain("delta R_D", 20e-3, "rectangular", 10e-3),
        uncertain("delta R_TS", 0.0, "rectangular", 2.75e-3),
        uncertain("r_C", 1.0, "triangular", 1e-6),
        from_readings("r", RATIOS),
        uncertain("delta R_TX", 0.0, "rectangular", 5.5e-3),
    ]


def test_resistor_by_substitution() -> None:
    """S3: R_X = 10 000.178 Ω (unrounded …178 000 766 5), u = 8.33 mΩ (8.328 004; tolerance 0.005 mΩ)."""
    result = first_order(resistance, inputs())
    assert result.value == pytest.approx(10_000.178, abs=1e-3)
    assert result.value == pytest.approx(10_000.1780007665, abs=1e-9)
    assert result.standard_uncertainty == pytest.approx(8.33e-3, abs=5e-6)


def test_expanded_uncertainty() -> None:
    """S3: U = 17 mΩ with coverage factor 2; type A is so small that the degrees of freedom are no limit."""
    result = first_order(resistance, inputs())
    assert 2 * result.standard_uncertainty == pytest.approx(17e-3, abs=0.5e-3)
    assert math.floor(result.degrees_of_freedom) > 1000


def test_budget_rows() -> None:
    """S3, budget: 2.5, 5.8, 1.6, 4.1, 0.7 and 3.2 mΩ (MEMORY), and independent inputs leave no covariance."""
    result = first_order(resistance, inputs())
    sizes = [abs(row.contribution) for row in result.budget]
    assert sizes == pytest.approx([2.5e-3, 5.8e-3, 1.6e-3, 4.1e-3, 0.7e-3, 3.2e-3], abs=0.05e-3)
    assert result.covariance_part == pytest.approx(0, abs=1e-15)
