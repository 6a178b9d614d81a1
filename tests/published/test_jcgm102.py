"""Worked example of JCGM 102:2011, 9.3: magnitude and phase from real and imaginary part.

Phase is taken in (-π, π]; its mean and standard uncertainty are those of the number, not of the direction.
"""

from typing import Any

import numpy as np
import pytest

from labkit.uncertainty.components import Input, from_covariance
from labkit.uncertainty.montecarlo import MonteCarlo, agreement, monte_carlo
from labkit.uncertainty.propagate import first_order
from tests.elementary import arctan2, sqrt

U = 0.010


def polar(x: Any, y: Any) -> tuple[Any, Any]:
    """Magnitude, and phase in rad."""
    return sqrt(x**2 + y**2), arctan2(y, x)


def cartesian(x: float, r: float) -> tuple[Input, ...]:
    """Real part x, imaginary part 0, u = 0.010 each, correlation r, bivariate normal."""
    return from_covariance(("x", "y"), [x, 0.0], U**2 * np.array([[1, r], [r, 1]]), source="complex reading")


def draws(x: float, r: float) -> tuple[MonteCarlo, ...]:
    """A million draws of magnitude and phase."""
    return monte_carlo(polar, cartesian(x, r), seed=102)


def test_small_reading_uncorrelated() -> None:
    """Table 6, x = 0.001, r = 0: magnitude 0.013 (u 0.007), phase 0.000 (u 1.744) rad.

    Exact (Rice distribution, computed for this test): 0.012 564 and 0.006 568.
    """
    magnitude, phase = draws(0.001, 0.0)
    assert magnitude.mean == pytest.approx(0.013, abs=5e-4)
    assert magnitude.standard_uncertainty == pytest.approx(0.007, abs=5e-4)
    assert magnitude.mean == pytest.approx(0.012564, abs=3e-5)
    assert magnitude.standard_uncertainty == pytest.approx(0.006568, abs=3e-5)
    assert phase.mean == pytest.approx(0.0, abs=0.005)
    assert phase.standard_uncertainty == pytest.approx(1.744, abs=2e-3)


def test_small_reading_first_order_is_not_trusted() -> None:
    """Table 6, first order, x = 0.001, r = 0: magnitude 0.001 (u 0.010), phase u 10.000 rad, both refuted."""
    estimates = first_order(polar, cartesian(0.001, 0.0))
    magnitude, phase = estimates
    assert magnitude.value == pytest.approx(0.001, rel=1e-12)
    assert magnitude.standard_uncertainty == pytest.approx(0.010, rel=1e-9)
    assert phase.standard_uncertainty == pytest.approx(10.0, rel=1e-9)
    for estimate, drawn in zip(estimates, draws(0.001, 0.0), strict=True):
        assert agreement(estimate, drawn).first_order_trusted is False


@pytest.mark.parametrize(
    ("x", "magnitude", "u_magnitude", "phase", "u_phase"),
    [(0.001, 0.012, 0.008, -0.556, 1.599), (0.010, 0.015, 0.008, -0.343, 0.903)],
)
def test_small_reading_correlated(
    x: float, magnitude: float, u_magnitude: float, phase: float, u_phase: float
) -> None:
    """Table 7, r = 0.9. Tolerance 0.005 rad on the mean phase, which scatters by 0.002 rad."""
    drawn_magnitude, drawn_phase = draws(x, 0.9)
    assert drawn_magnitude.mean == pytest.approx(magnitude, abs=5e-4)
    assert drawn_magnitude.standard_uncertainty == pytest.approx(u_magnitude, abs=5e-4)
    assert drawn_phase.mean == pytest.approx(phase, abs=5e-3)
    assert drawn_phase.standard_uncertainty == pytest.approx(u_phase, abs=2e-3)


@pytest.mark.parametrize(
    ("x", "magnitude", "u_magnitude", "u_phase"),
    [(0.010, 0.015486, 0.007758, 1.1182), (0.100, 0.100501, 0.009975, 0.1005)],
)
def test_larger_reading(x: float, magnitude: float, u_magnitude: float, u_phase: float) -> None:
    """r = 0, exact moments of the Rice distribution (computed for this test); draws scatter by 1e-5."""
    drawn_magnitude, drawn_phase = draws(x, 0.0)
    assert drawn_magnitude.mean == pytest.approx(magnitude, abs=5e-5)
    assert drawn_magnitude.standard_uncertainty == pytest.approx(u_magnitude, abs=3e-5)
    assert drawn_phase.standard_uncertainty == pytest.approx(u_phase, abs=2e-3)


def test_first_order_becomes_valid_as_the_reading_grows() -> None:
    """The first-order error of u(magnitude) falls from half of u to a quarter of a percent at x = 10 u."""
    excess = []
    for x in (0.001, 0.010, 0.100):
        estimate, drawn = first_order(polar, cartesian(x, 0.0))[0], draws(x, 0.0)[0]
        excess.append(abs(agreement(estimate, drawn, digits=1).excess) / estimate.standard_uncertainty)
    assert excess == pytest.approx([0.343, 0.224, 0.0025], abs=3e-3)
