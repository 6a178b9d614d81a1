"""Conformity with limits: JCGM 106:2012, ILAC-G8:09/2019, and figures computed for this test.

Of the examples in JCGM 106 only the limits of the resistors (9.5) were read, in a secondary source; all other
figures from it are from memory and so marked, and each was computed anew.
"""

import math

import pytest

from labkit.uncertainty.components import uncertain
from labkit.uncertainty.decisions import TWO_SIGMA, Conformity, conformance_probability, conformity
from labkit.uncertainty.propagate import first_order


def below(limit: float, value: float, guard_factor: float) -> Conformity:
    """A value with u = 1, normal, against one upper limit."""
    estimate = first_order(lambda x: x, [uncertain("x", value, "normal", 1.0)])
    return conformity(estimate, -math.inf, limit, guard_factor)


@pytest.mark.parametrize(
    ("probability", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_one_limit_at_a_distance_of_z_standard_uncertainties(probability: float, z: float) -> None:
    """JCGM 106, 7.3, table 1 (MEMORY; quantiles of the standard normal): p at z = (limit - value)/u.

    z is known to half a unit of its last digit; two limits instead of one would be far outside.
    """
    low, high = (conformance_probability(0.0, 1.0, upper=z + half) for half in (-0.005, 0.005))
    assert low <= probability <= high


@pytest.mark.parametrize(
    ("value", "u", "lower", "upper", "probability"),
    [
        (-5.47, 0.05, -math.inf, -5.40, 0.92),  # breakdown voltage of a diode in V, one upper limit
        (509.7, 8.6, 490.0, math.inf, 0.99),  # bursting pressure of a container in kPa, one lower limit
    ],
)
def test_examples_with_one_limit(
    value: float, u: float, lower: float, upper: float, probability: float
) -> None:
    """JCGM 106, 7.3 (MEMORY, agrees with the computation to the printed digits)."""
    assert conformance_probability(value, u, lower, upper) == pytest.approx(probability, abs=0.005)


def test_example_with_two_limits() -> None:
    """JCGM 106, 9.5: resistors, 1500 Ω, 0.12 Ω, limits 1499.8 and 1500.2 Ω (READ): 90 % conform (MEMORY)."""
    assert conformance_probability(1500.0, 0.12, 1499.8, 1500.2) == pytest.approx(0.90, abs=0.005)


@pytest.mark.parametrize(
    ("guard_factor", "at_most"),
    [(3.0, 1e-6), (1.5, 0.0016), (1.0, 0.025), (0.83, 0.05), (0.0, 0.50)],
)
def test_false_acceptance_for_common_guard_bands(guard_factor: float, at_most: float) -> None:
    """ILAC-G8:09/2019, table 1 (READ, two secondary sources): w = r·U and the bound on false acceptance."""
    w = below(10.0, 0.0, guard_factor).guard_band
    at_the_edge = below(10.0, 10.0 - w, guard_factor)
    assert at_the_edge.decision == "pass"
    false_acceptance = 1 - at_the_edge.probability
    assert false_acceptance <= at_most * (1 + 1e-9)
    assert false_acceptance == pytest.approx(0.5 * math.erfc(2 * guard_factor / math.sqrt(2)), rel=1e-6)


def test_half_a_guard_band_is_one_standard_uncertainty() -> None:
    """r = 0.5, k = 2: w = u, and at the edge 15.87 % lies outside (computed for this test)."""
    found = below(10.0, 9.0, 0.5)
    assert found.guard_band == pytest.approx(1.0, rel=1e-9)
    assert 1 - found.probability == pytest.approx(0.158655, abs=1e-6)


def test_few_repeats_widen_the_guard_band() -> None:
    """JCGM 100, table G.2: 4 degrees of freedom, 95.45 %: t = 2.87; and the edge keeps its probability."""
    estimate = first_order(lambda x: x, [uncertain("x", 0.0, "student", 1.0, degrees_of_freedom=4)])
    found = conformity(estimate, -math.inf, 10.0)
    assert found.guard_band == pytest.approx(2.87, abs=0.005)
    assert conformance_probability(
        10.0 - found.guard_band, 1.0, upper=10.0, degrees_of_freedom=4
    ) == pytest.approx(1 - (1 - TWO_SIGMA) / 2, abs=1e-9)
