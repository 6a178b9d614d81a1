"""Worked examples of the GUM: JCGM 100:2008, Annex H.1 (end gauge) and H.2 (resistance and reactance).

Where no tolerance is given the printed value agrees within half a unit of its last digit. Unrounded
figures are what the printed inputs give; they were recomputed independently of this package.
"""

import math
from typing import Any

import numpy as np
import pytest

from labkit.uncertainty.components import (
    Component,
    Input,
    certain,
    from_covariance,
    from_readings,
    from_simultaneous_readings,
    uncertain,
)
from labkit.uncertainty.propagate import Estimate, first_order, second_order
from tests.elementary import cos, sin
from tests.printed import printed

# --- H.2: V, I and phi read together five times (Table H.2) -----------------------------------------

VOLTAGE = (5.007, 4.994, 5.005, 4.990, 4.999)  # V
CURRENT = (19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3)  # A
PHASE = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)  # rad
SETS = np.column_stack((VOLTAGE, CURRENT, PHASE))
NAMES = ("V", "I", "phi")


def impedance(V: Any, I: Any, phi: Any) -> tuple[Any, Any, Any]:  # noqa: E741
    """R, X and Z of H.2.2."""
    return V / I * cos(phi), V / I * sin(phi), V / I


def readings() -> tuple[Input, ...]:
    """The three inputs with the correlation that the five sets show."""
    return from_simultaneous_readings(NAMES, SETS, source="five sets")


def correlations(results: tuple[Estimate, ...]) -> list[float | None]:
    """r(1,2), r(1,3), r(2,3)."""
    first, second, third = results
    return [first.correlation(second), first.correlation(third), second.correlation(third)]


def test_means_of_five_sets() -> None:
    """Table H.2: the arithmetic means are 4.9990 V, 19.6610 mA and 1.044 46 rad."""
    V, I, phi = readings()  # noqa: E741
    assert V.value == pytest.approx(4.9990, abs=1e-12)
    assert I.value == pytest.approx(19.6610e-3, abs=1e-15)
    assert phi.value == pytest.approx(1.04446, abs=1e-12)


def test_standard_uncertainties_of_the_means() -> None:
    """Table H.2: s(mean) is 0.0032 V, 0.0095 mA and 0.000 75 rad."""
    V, I, phi = (x.standard_uncertainty for x in readings())  # noqa: E741
    assert printed("0.0032") == V
    assert printed("0.0095", 1e-3) == I
    assert printed("0.00075") == phi
    assert pytest.approx([3.209361e-3, 9.471008e-6, 7.520638e-4], rel=1e-6) == [V, I, phi]


def test_correlations_of_the_means() -> None:
    """Table H.2: r(V, I) = -0.36, r(V, phi) = 0.86, r(I, phi) = -0.65."""
    estimates = first_order(lambda *x: x, readings())
    found = correlations(estimates)
    assert found == [printed("-0.36"), printed("0.86"), printed("-0.65")]
    assert found == pytest.approx([-0.355311, 0.857624, -0.645111], abs=1e-6)


def test_resistance_reactance_impedance() -> None:
    """Table H.3: R = 127.732 Ω, X = 219.847 Ω, Z = 254.260 Ω."""
    R, X, Z = first_order(impedance, readings())
    assert R.value == printed("127.732")
    assert X.value == printed("219.847")
    assert Z.value == printed("254.260")
    assert [R.value, X.value, Z.value] == pytest.approx([127.732170, 219.846512, 254.259702], abs=1e-6)


def test_correlated_inputs_give_the_published_uncertainties() -> None:
    """Table H.3: u(R) = 0.071 Ω, u(X) = 0.295 Ω, u(Z) = 0.236 Ω.

    Tolerance 0.001 Ω: unrounded means give u(X) = 0.295 58 Ω, which would print as 0.296.
    """
    u = [result.standard_uncertainty for result in first_order(impedance, readings())]
    assert u == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)


def test_results_are_correlated_as_published() -> None:
    """Table H.3: r(R, X) = -0.588, r(R, Z) = -0.485, r(X, Z) = 0.993 (tolerance 0.001, as for u)."""
    found = correlations(first_order(impedance, readings()))
    assert found == pytest.approx([-0.588, -0.485, 0.993], abs=1e-3)


def test_second_approach_averages_the_results() -> None:
    """Table H.4, R, X and Z from each set and then averaged (computed for this test, 1e-6)."""
    sets = np.column_stack(impedance(*SETS.T))
    R, X, Z = inputs = from_simultaneous_readings(("R", "X", "Z"), sets, source="five sets")
    assert [R.value, X.value, Z.value] == pytest.approx([127.731630, 219.846895, 254.260050], abs=1e-6)
    assert [x.standard_uncertainty for x in inputs] == pytest.approx([0.071274, 0.295489, 0.236248], abs=1e-6)
    found = correlations(first_order(lambda *x: x, inputs))
    assert found == pytest.approx([-0.588277, -0.485065, 0.992508], abs=1e-6)


def rounded_inputs(r: tuple[float, float, float]) -> tuple[Input, ...]:
    """The inputs as Table H.2 prints them, with the given correlations."""
    u = np.array([0.0032, 0.0095e-3, 0.00075])
    correlation = np.array([[1, r[0], r[1]], [r[0], 1, r[2]], [r[1], r[2], 1]])
    return from_covariance(
        NAMES, [4.999, 19.661e-3, 1.04446], correlation * np.outer(u, u), source="Table H.2"
    )


def test_rounded_inputs_to_all_digits() -> None:
    """H.2 from the printed means, uncertainties and correlations, recomputed to 1e-10."""
    results = first_order(impedance, rounded_inputs((-0.36, 0.86, -0.65)))
    u = [result.standard_uncertainty for result in results]
    assert u == pytest.approx([0.0699787279884, 0.295716826846, 0.236602971835], abs=1e-10)
    expected = [-0.591484610819, -0.490623905441, 0.992797472722]
    assert correlations(results) == pytest.approx(expected, abs=1e-10)


def test_without_correlation_the_answer_is_another_one() -> None:
    """H.2 with r = 0 gives 0.1945, 0.2009 and 0.2041 Ω (computed for this test): correlation matters."""
    R, X, Z = first_order(impedance, [from_readings(n, x) for n, x in zip(NAMES, SETS.T, strict=True)])
    u = [each.standard_uncertainty for each in (R, X, Z)]
    assert u == pytest.approx([0.19454, 0.20091, 0.20408], abs=1e-5)
    assert R.correlation(X) == pytest.approx(0.0565, abs=1e-4)


def test_one_ensemble_keeps_its_degrees_of_freedom() -> None:
    """H.2: R, X and Z rest on one ensemble of five sets, so each has 4 degrees of freedom."""
    for result in first_order(impedance, readings()):
        assert result.degrees_of_freedom == pytest.approx(4, rel=1e-12)


# --- H.1: end gauge of 50 mm (lengths in nm, temperatures in °C) ------------------------------------


def gauge(standard: Any, d: Any, alpha: Any, delta_alpha: Any, delta_theta: Any, theta: Any) -> Any:
    """l = l_S + d - l_S (delta_alpha theta + alpha_S delta_theta), H.1.2."""
    return standard + d - standard * (delta_alpha * theta + alpha * delta_theta)


def comparison() -> Input:
    """The difference d: repeats, random and systematic error of the comparator (H.1.3.2)."""
    parts = (
        Component("repeats", "student", 5.8, 24),
        Component("comparator, random", "student", 3.9, 5),
        Component("comparator, systematic", "student", 6.7, 8),
    )
    return Input("d", 215.0, tuple((part, 1.0) for part in parts))


def gauge_inputs() -> list[Input]:
    """The inputs of Table H.1; the systematic comparator error is 6.7 nm with 8 degrees of freedom."""
    bed = Component("mean temperature of the bed", "normal", 0.2)
    cycle = Component("cycle of the bed", "arcsine", 0.5)
    return [
        uncertain("l_S", 50_000_623.0, "student", 25.0, degrees_of_freedom=18),
        comparison(),
        uncertain("alpha_S", 11.5e-6, "rectangular", 2e-6),
        uncertain("delta_alpha", 0.0, "rectangular", 1e-6, degrees_of_freedom=50),
        uncertain("delta_theta", 0.0, "rectangular", 0.05, degrees_of_freedom=2),
        Input("theta", -0.1, ((bed, 1.0), (cycle, 1.0))),
    ]


def test_gauge_length() -> None:
    """H.1.4: l = 50 000 838 nm with u = 32 nm (unrounded 31.663 879; tolerance 0.4 nm on the printed u)."""
    result = first_order(gauge, gauge_inputs())
    assert result.value == printed("50000838")
    assert result.standard_uncertainty == pytest.approx(32, abs=0.4)
    assert result.standard_uncertainty == pytest.approx(31.663879, abs=1e-6)


def test_gauge_budget() -> None:
    """H.1.4: the components are 25, 16.6, 6.7, 5.8, 3.9, 2.9 nm and three that are zero to first order."""
    parts = first_order(gauge, gauge_inputs()).contributions
    sizes = sorted((abs(part) for part in parts.values()), reverse=True)
    assert sizes == pytest.approx([25, 16.599, 6.7, 5.8, 3.9, 2.88679, 0, 0, 0], abs=1e-3)


def test_uncertainty_of_the_difference() -> None:
    """H.1.3.2: u(d) = 9.7 nm with 25.6 degrees of freedom (the printed inputs give 25.447; tolerance 0.2)."""
    d = first_order(lambda d: d, [comparison()])
    assert d.standard_uncertainty == printed("9.7")
    assert d.degrees_of_freedom == pytest.approx(25.6, abs=0.2)


def test_gauge_expanded_uncertainty() -> None:
    """H.1.6: 16 effective degrees of freedom, k = 2.92 and U99 = 93 nm (U99 from MEMORY).

    Tolerance 1 nm: GUM multiplies rounded figures; unrounded ones give 92.48 nm.
    """
    result = first_order(gauge, gauge_inputs())
    assert math.floor(result.degrees_of_freedom) == 16
    assert result.degrees_of_freedom == pytest.approx(16.7519, abs=1e-4)
    assert result.coverage_factor(0.99) == printed("2.92")
    assert result.expanded(0.99) == pytest.approx(93, abs=1)


def test_gauge_second_order() -> None:
    """H.1.7: the second-order terms make u 34 nm (unrounded 33.806)."""
    result = second_order(gauge, gauge_inputs())
    assert result.standard_uncertainty == printed("34")
    assert result.standard_uncertainty == pytest.approx(33.806, abs=1e-3)
    assert result.bias == pytest.approx(0, abs=1e-6)  # every curvature is a product of two sources


def test_a_certain_input_changes_nothing() -> None:
    """Replacing alpha_S, whose slope is zero in H.1, by a certain value leaves u as it is."""
    inputs = gauge_inputs()
    before = first_order(gauge, inputs).standard_uncertainty
    inputs[2] = certain("alpha_S", 11.5e-6)
    assert first_order(gauge, inputs).standard_uncertainty == before
