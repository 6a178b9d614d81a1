"""Worked examples of JCGM 101:2008, clause 9, by Monte Carlo and by first order.

Tolerances leave room for the scatter of 10⁶ draws (mean 0.001 u, interval ends 0.004 u) beside the last
printed digit; 9.4, which asks for 0.004 u on the ends, takes 10⁷ draws. "Computed for this test" marks
figures found without Monte Carlo, or with other draws.
"""

import math
from typing import Any

import numpy as np
import pytest

from labkit.uncertainty.components import Input, certain, from_covariance, uncertain
from labkit.uncertainty.montecarlo import MonteCarlo, agreement, monte_carlo
from labkit.uncertainty.propagate import first_order, second_order
from tests.printed import printed

SEED = 101
MANY = 10_000_000


def total(*x: Any) -> Any:
    """Y = X1 + X2 + X3 + X4, 9.2.1."""
    return sum(x)


def four(distribution: str, scales: tuple[float, ...]) -> list[Input]:
    """Four inputs with expectation zero."""
    return [uncertain(f"X{i + 1}", 0.0, distribution, scale) for i, scale in enumerate(scales)]


def test_sum_of_four_normals() -> None:
    """9.2.2, Table 2: y = 0, u = 2.0, 95 % interval ±3.92; first order agrees in every respect."""
    inputs = four("normal", (1.0,) * 4)
    draws, estimate = monte_carlo(total, inputs, seed=SEED), first_order(total, inputs)
    assert draws.mean == pytest.approx(0, abs=0.005)
    assert draws.standard_uncertainty == pytest.approx(2.0, abs=0.005)
    assert draws.shortest == pytest.approx((-3.92, 3.92), abs=0.01)
    assert draws.symmetric == pytest.approx((-3.92, 3.92), abs=0.01)
    assert estimate.expanded() == pytest.approx(3.919928, abs=1e-6)
    assert agreement(estimate, draws).interval_trusted


def test_sum_of_four_rectangulars() -> None:
    """9.2.3, Table 3: y = 0, u = 2.0, 95 % interval ±3.88; the exact end is 2√3(2 - (3/5)^¼)."""
    inputs = four("rectangular", (math.sqrt(3.0),) * 4)
    draws = monte_carlo(total, inputs, seed=SEED)
    exact = 2 * math.sqrt(3) * (2 - 0.6**0.25)
    assert exact == pytest.approx(3.87940674135, abs=1e-9)
    assert draws.mean == pytest.approx(0, abs=0.005)
    assert draws.standard_uncertainty == pytest.approx(2.0, abs=0.005)
    assert draws.shortest == pytest.approx((-exact, exact), abs=0.01)
    assert draws.symmetric == pytest.approx((-exact, exact), abs=0.01)


def test_one_dominant_rectangular() -> None:
    """9.2.4, Table 4: u = 10.1; first order says ±19.9, the interval is ±17.0 (MEMORY; exact 17.015 814).

    Value and standard uncertainty agree (the sum is linear); the interval does not, and that is said.
    """
    inputs = four("rectangular", (math.sqrt(3.0),) * 3 + (10 * math.sqrt(3.0),))
    draws, estimate = monte_carlo(total, inputs, seed=SEED), first_order(total, inputs)
    assert draws.standard_uncertainty == pytest.approx(math.sqrt(103), abs=0.05)
    assert draws.symmetric == pytest.approx((-17.015814, 17.015814), abs=0.05)
    assert draws.shortest == pytest.approx((-17.015814, 17.015814), abs=0.05)
    assert estimate.expanded() == printed("19.9")
    verdict = agreement(estimate, draws)
    assert verdict.first_order_trusted
    assert verdict.interval_trusted is False
    assert "so quote the Monte Carlo interval" in verdict.sentence


# --- 9.3 mass calibration (mg, kg/m³) ---------------------------------------------------------------

NOMINAL, AIR = 100_000.0, 1.2


def mass_difference(m: Any, dm: Any, air: Any, weight: Any, reference: Any) -> Any:
    """Deviation of the weight's conventional mass from nominal, model of 9.3.1."""
    return (m + dm) * (1 + (air - AIR) * (1 / weight - 1 / reference)) - NOMINAL


def mass_inputs() -> list[Input]:
    """Table 5."""
    return [
        uncertain("m_Rc", 100_000.000, "normal", 0.050),
        uncertain("delta m_Rc", 1.234, "normal", 0.020),
        uncertain("rho_a", 1.20, "rectangular", 0.10),
        uncertain("rho_W", 8000.0, "rectangular", 1000.0),
        uncertain("rho_R", 8000.0, "rectangular", 50.0),
    ]


def test_mass_first_order() -> None:
    """9.3.2, Table 6: 1.2340 mg, u = 0.0539 mg, 95 % interval [1.1285, 1.3395] mg."""
    result = first_order(mass_difference, mass_inputs())
    assert result.value == printed("1.2340")
    assert result.standard_uncertainty == printed("0.0539")
    assert result.value - result.expanded() == printed("1.1285")
    assert result.value + result.expanded() == printed("1.3395")


def test_mass_second_order() -> None:
    """9.3.2, Table 6: with second-order terms u = 0.0750 mg and [1.0870, 1.3810] mg; tolerance 0.0002 mg."""
    result = second_order(mass_difference, mass_inputs())
    half_width = 1.959964 * result.standard_uncertainty
    assert result.standard_uncertainty == pytest.approx(0.0750, abs=2e-4)
    assert (result.mean - half_width, result.mean + half_width) == pytest.approx((1.0870, 1.3810), abs=2e-4)


def test_mass_monte_carlo() -> None:
    """9.3.2, Table 6: u = 0.0754 mg (MEMORY; 0.075 480 by moments), shortest interval [1.084, 1.383].

    Tolerance 0.0002 mg on u and 0.002 mg on the ends.
    """
    draws = monte_carlo(mass_difference, mass_inputs(), seed=SEED)
    assert draws.mean == pytest.approx(1.2340, abs=5e-4)
    assert draws.standard_uncertainty == pytest.approx(0.0754, abs=2e-4)
    assert draws.shortest == pytest.approx((1.084, 1.383), abs=2e-3)
    verdict = agreement(first_order(mass_difference, mass_inputs()), draws)
    assert verdict.first_order_trusted is False


# --- 9.4 comparison loss of a power-meter calibration -----------------------------------------------

U = 0.005


def loss(x1: Any, x2: Any) -> Any:
    """δY = X1² + X2², 9.4.1."""
    return x1**2 + x2**2


def loss_inputs(x1: float, r: float) -> tuple[Input, ...]:
    """X1, X2 bivariate normal with u = 0.005 each, x2 = 0."""
    covariance = U**2 * np.array([[1.0, r], [r, 1.0]])
    return from_covariance(("X1", "X2"), [x1, 0.0], covariance, source="reflection")


def check_loss(x1: float, r: float, shortest: tuple[float, float]) -> None:
    """Exact moments and the shortest interval (·10⁻⁶), whose ends have a tolerance of 2 ·10⁻⁶."""
    draws = monte_carlo(loss, loss_inputs(x1, r), seed=SEED, draws=MANY)
    u = math.sqrt(4 * U**4 * (1 + r**2) + 4 * U**2 * x1**2)
    assert draws.mean == pytest.approx(x1**2 + 2 * U**2, abs=0.001 * u)
    assert draws.standard_uncertainty == pytest.approx(u, rel=0.002)
    assert draws.shortest == pytest.approx([end * 1e-6 for end in shortest], abs=2e-6)


@pytest.mark.parametrize(
    ("x1", "u", "shortest"),
    [(0.0, "50", (0.0, 149.8)), (0.010, "112", (0.0, 366.0)), (0.050, "502", (1594.0, 3549.0))],
)
def test_loss_uncorrelated(x1: float, u: str, shortest: tuple[float, float]) -> None:
    """9.4.3, Table 7 (r = 0): mean x1² + 2u², u = 50, 112, 502 ·10⁻⁶, and the shortest 95 % interval.

    The row x1 = 0 is published; the other ends were computed exactly for this test.
    """
    check_loss(x1, 0.0, shortest)
    assert math.sqrt(4 * U**4 + 4 * U**2 * x1**2) == printed(u, 1e-6)


@pytest.mark.parametrize(
    ("x1", "u", "shortest"),
    [(0.0, "67", (0.0, 185.0)), (0.010, "121", (13.0, 397.0)), (0.050, "505", (1624.0, 3555.0))],
)
def test_loss_correlated(x1: float, u: str, shortest: tuple[float, float]) -> None:
    """9.4.3, Table 8 (r = 0.9): u = 67, 121, 505 ·10⁻⁶ (505 and the ends computed for this test)."""
    check_loss(x1, 0.9, shortest)
    assert math.sqrt(4 * U**4 * (1 + 0.9**2) + 4 * U**2 * x1**2) == printed(u, 1e-6)


def test_loss_first_order_fails_and_says_so() -> None:
    """9.4.2: at x1 = 0 first order gives u = 0, which is reported as a failure, not as a result."""
    inputs = loss_inputs(0.0, 0.0)
    estimate = first_order(loss, inputs)
    verdict = agreement(estimate, monte_carlo(loss, inputs, seed=SEED))
    assert estimate.standard_uncertainty == 0
    assert verdict.first_order_trusted is False
    assert verdict.interval_trusted is False
    assert "every slope is zero" in verdict.sentence


def test_loss_first_order_away_from_zero() -> None:
    """9.4.2: at x1 = 0.010 first order gives u = 100 ·10⁻⁶; with second-order terms it is 112 ·10⁻⁶."""
    inputs = loss_inputs(0.010, 0.0)
    assert first_order(loss, inputs).standard_uncertainty == pytest.approx(100e-6, rel=1e-12)
    second = second_order(loss, inputs)
    assert second.standard_uncertainty == pytest.approx(math.sqrt(4 * U**4 + 4 * U**2 * 1e-4), rel=1e-6)
    assert second.mean == pytest.approx(150e-6, rel=1e-6)


# --- 9.5 gauge block (nm, °C) -----------------------------------------------------------------------


def deviation(
    standard: Any, d: Any, d1: Any, d2: Any, alpha: Any, theta0: Any, cycle: Any, d_alpha: Any, d_theta: Any
) -> Any:
    """δL, model of 9.5.2."""
    length = standard + d + d1 + d2
    return length - standard * (d_alpha * (theta0 + cycle) + alpha * d_theta) - 50_000_000.0


def block_inputs() -> list[Input]:
    """Table 10."""
    return [
        uncertain("L_S", 50_000_623.0, "student", 25.0, degrees_of_freedom=18),
        uncertain("D", 215.0, "student", 6.0, degrees_of_freedom=24),
        uncertain("d1", 0.0, "student", 4.0, degrees_of_freedom=5),
        uncertain("d2", 0.0, "student", 7.0, degrees_of_freedom=8),
        uncertain("alpha_S", 11.5e-6, "rectangular", 2e-6),
        uncertain("theta_0", -0.1, "normal", 0.2),
        uncertain("Delta", 0.0, "arcsine", 0.5),
        uncertain("delta alpha", 0.0, "curvilinear_trapezoid", 1e-6, shape=0.1),
        uncertain("delta theta", 0.0, "curvilinear_trapezoid", 0.050, shape=0.5),
    ]


def test_gauge_block_monte_carlo() -> None:
    """9.5.4, Table 12: 838 nm, u = 36 nm, 99 % interval about [745, 932] nm.

    Tolerance 1.5 nm on the ends: ten million draws give 837.98, 35.82, shortest [744, 931] (computed for
    this test); the ends of a 99 % interval scatter by 0.2 nm at a million draws.
    """
    draws: MonteCarlo = monte_carlo(deviation, block_inputs(), seed=SEED, coverage=0.99)
    assert draws.mean == pytest.approx(838, abs=0.5)
    assert draws.standard_uncertainty == pytest.approx(36, abs=0.5)
    assert draws.standard_uncertainty == pytest.approx(35.82, abs=0.1)
    assert draws.shortest == pytest.approx((745, 932), abs=1.5)
    assert draws.symmetric == pytest.approx((744.3, 931.7), abs=1.0)


def test_gauge_block_first_order() -> None:
    """9.5.4, Table 12: first order gives 838 nm and u = 32 nm (31.778 with plain rectangular limits)."""
    inputs = block_inputs()
    assert first_order(deviation, inputs).value == printed("838")
    assert first_order(deviation, inputs).standard_uncertainty == printed("32")
    inputs[7:] = [
        uncertain("delta alpha", 0.0, "rectangular", 1e-6, degrees_of_freedom=50),
        uncertain("delta theta", 0.0, "rectangular", 0.050, degrees_of_freedom=2),
    ]
    assert first_order(deviation, inputs).standard_uncertainty == pytest.approx(31.778, abs=1e-3)


def test_a_constant_has_no_spread() -> None:
    """Certain inputs give a result without uncertainty by both ways, and first order is trusted."""
    inputs = [certain("a", 0.1), certain("b", 0.2)]
    draws, estimate = (
        monte_carlo(lambda a, b: a + b, inputs, seed=SEED),
        first_order(lambda a, b: a + b, inputs),
    )
    assert draws.standard_uncertainty == pytest.approx(0, abs=1e-15)
    assert draws.shortest == draws.symmetric == (estimate.value, estimate.value)
    assert agreement(estimate, draws).interval_trusted
