"""First and second order propagation. All figures here are invented."""

import math
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import EntryError, PassivityError
from labkit.uncertainty.components import Component, Input, certain, uncertain
from labkit.uncertainty.propagate import first_order, linear, second_order
from tests.elementary import arctan2, sin, sqrt

GAIN = Component("gain", "rectangular", 0.003)


def reading(name: str, value: float, own: float = 0.0) -> Input:
    """A reading that shares its gain with every other one here and has digits of its own."""
    digits = Component(f"digits of {name}", "rectangular", own)
    return Input(name, value, ((GAIN, value), (digits, 1.0)))


def test_shared_gain_cancels_in_a_ratio() -> None:
    """A gain that two readings share leaves their ratio certain, and their sum more uncertain."""
    ratio, total = first_order(lambda a, b: (a / b, a + b), [reading("a", 10.0), reading("b", 5.0)])
    assert ratio.standard_uncertainty == pytest.approx(0, abs=1e-15)
    assert total.standard_uncertainty == pytest.approx(15.0 * 0.003 / math.sqrt(3))
    assert total.covariance_part == pytest.approx(2 * 10 * 5 * GAIN.standard_uncertainty**2)


def test_contributions_are_signed_and_named() -> None:
    """A result lists c·u of each source, with the sign of its slope."""
    a, b = uncertain("a", 3.0, "normal", 0.1), uncertain("b", 2.0, "normal", 0.2)
    result = first_order(lambda a, b: a * b - b**2, [a, b])
    by_name = {source.name: part for source, part in result.contributions.items()}
    assert by_name == pytest.approx({"a": 2.0 * 0.1, "b": (3.0 - 4.0) * 0.2})


def test_budget_shows_input_slope_and_contribution() -> None:
    """Each row gives name, value, standard uncertainty, sensitivity and their product."""
    rows = first_order(lambda a, b: a / b, [uncertain("a", 6.0, "normal", 0.1), certain("b", 3.0)]).budget
    facts = [(r.name, r.value, r.standard_uncertainty, r.sensitivity, r.contribution) for r in rows]
    assert facts[0] == ("a", 6.0, 0.1, pytest.approx(1 / 3), pytest.approx(0.1 / 3))
    assert facts[1] == ("b", 3.0, 0.0, pytest.approx(-2 / 3), 0.0)


VALUES, SPREADS = st.floats(0.5, 2.0), st.floats(0.01, 0.1)


@given(VALUES, VALUES, SPREADS, SPREADS, st.floats(-0.99, 0.99))
def test_variance_is_the_quadratic_form_of_slopes(a: float, b: float, ua: float, ub: float, r: float) -> None:
    """u² equals gᵀ V g with slopes g from a numerical derivative: an independent route to the same number."""

    def formula(x: Any, y: Any) -> Any:
        return sqrt(x * y) + sin(x) / y + arctan2(x, y)

    own, other = Component("own", "normal"), Component("other", "normal")
    inputs = [
        Input("a", a, ((own, ua),)),
        Input("b", b, ((own, ub * r), (other, ub * math.sqrt(1 - r * r)))),
    ]
    h = 1e-6
    slopes = np.array([formula(a + h, b) - formula(a - h, b), formula(a, b + h) - formula(a, b - h)]) / (
        2 * h
    )
    covariance = np.array([[ua * ua, r * ua * ub], [r * ua * ub, ub * ub]])
    variance = float(slopes @ covariance @ slopes)
    found = first_order(formula, inputs).standard_uncertainty ** 2
    assert found == pytest.approx(variance, rel=1e-6, abs=1e-12)


def test_a_difference_keeps_what_both_share() -> None:
    """Subtracting two results cancels their common gain; adding their variances would not."""
    a, b = reading("a", 10.0, 0.01), reading("b", 9.0, 0.02)
    first, second = first_order(lambda a, b: (a + b, a - b), [a, b])
    direct = first_order(lambda a, b: (a + b) - (a - b), [a, b])
    apart = first.difference(second)
    assert apart.value == pytest.approx(direct.value)
    assert apart.standard_uncertainty == pytest.approx(direct.standard_uncertainty, rel=1e-12)
    expected = first.standard_uncertainty**2 + second.standard_uncertainty**2 - 2 * first.covariance(second)
    assert apart.standard_uncertainty**2 == pytest.approx(expected, rel=1e-12)
    assert [row.name for row in apart.budget] == ["a", "b"]


def test_a_result_used_as_an_input_stays_tied_to_its_sources() -> None:
    """Twice a result minus itself is that result: its sources are remembered, not drawn anew."""
    a = reading("a", 10.0, 0.01)
    half = first_order(lambda a: a / 2, [a])
    again = first_order(lambda x, a: a - 2 * x, [half.as_input("half of a"), a])
    assert again.value == 0
    assert again.standard_uncertainty == pytest.approx(0, abs=1e-15)


def test_correlation_of_results() -> None:
    """A result has correlation 1 with itself, -1 with its opposite and none with a certain one."""
    x = uncertain("x", 2.0, "normal", 0.1)
    up, down, flat = first_order(lambda x: (x, 1 / x, 0 * x + 5), [x])
    assert up.correlation(up) == pytest.approx(1)
    assert up.correlation(down) == pytest.approx(-1)
    assert up.correlation(flat) is None


def test_two_results_with_clashing_source_names_are_refused() -> None:
    """One name for two sources is refused when results meet, as it is among inputs."""
    one = first_order(lambda x: x, [uncertain("x", 1.0, "normal", 0.1)])
    two = first_order(lambda x: x, [uncertain("x", 1.0, "normal", 0.2)])
    with pytest.raises(EntryError, match="both called x"):
        one.covariance(two)
    with pytest.raises(EntryError, match="both called x"):
        linear([(1, one), (-1, two)])


def test_degrees_of_freedom_by_welch_and_satterthwaite() -> None:
    """Two equal contributions with 4 degrees of freedom each have 8 together; exact ones have no limit."""
    a, b = (uncertain(name, 0.0, "student", 1.0, degrees_of_freedom=4) for name in "ab")
    assert first_order(lambda a, b: a + b, [a, b]).degrees_of_freedom == pytest.approx(8)
    exact = uncertain("c", 0.0, "normal", 1.0)
    assert math.isinf(first_order(lambda c: c, [exact]).degrees_of_freedom)
    assert first_order(lambda a, c: a + c, [a, exact]).degrees_of_freedom == pytest.approx(16)


@pytest.mark.parametrize(
    ("freedom", "coverage", "factor"),
    [(1, 0.95, 12.71), (4, 0.95, 2.78), (10, 0.99, 3.17), (50, 0.95, 2.01), (math.inf, 0.95, 1.960)],
)
def test_coverage_factor(freedom: float, coverage: float, factor: float) -> None:
    """JCGM 100:2008, Table G.2: t_p for some degrees of freedom."""
    law = "normal" if math.isinf(freedom) else "student"
    result = first_order(lambda x: x, [uncertain("x", 0.0, law, 2.0, degrees_of_freedom=freedom)])
    assert result.coverage_factor(coverage) == pytest.approx(factor, abs=0.005)
    assert result.expanded(coverage) == pytest.approx(2 * result.coverage_factor(coverage))


def test_fractional_degrees_of_freedom_are_cut_down() -> None:
    """G.4.1, note 1: effective degrees of freedom are truncated, so 3 + 4 equal parts' 6.86 count as 6."""
    a = uncertain("a", 0.0, "student", 1.0, degrees_of_freedom=3)
    b = uncertain("b", 0.0, "student", 1.0, degrees_of_freedom=4)
    result = first_order(lambda a, b: a + b, [a, b])
    assert result.degrees_of_freedom == pytest.approx(48 / 7)
    assert result.coverage_factor() == pytest.approx(2.45, abs=0.005)  # Table G.2, 6 degrees of freedom


@pytest.mark.parametrize("coverage", [0.0, 1.0, -0.5, 95, math.nan])
def test_a_coverage_that_is_no_probability_is_refused(coverage: float) -> None:
    """95 is not 0.95: the sentence says which numbers are accepted."""
    result = first_order(lambda x: x, [uncertain("x", 0.0, "normal", 1.0)])
    with pytest.raises(EntryError, match=r"such as 0\.95"):
        result.expanded(coverage)


def test_no_value_is_said_with_the_values() -> None:
    """A formula that cannot be evaluated names the values at which it failed."""
    with pytest.raises(EntryError, match="no finite value at B = 0"):
        first_order(lambda B: 1 / B, [uncertain("B", 0.0, "normal", 1.0)])
    with pytest.raises(EntryError, match="infinite or no number"):
        first_order(lambda _: math.inf, [certain("x", 1.0)])


def test_no_slope_is_said_with_the_name() -> None:
    """A square root at zero has no slope; first order says so instead of giving nan."""
    with pytest.raises(EntryError, match="finite"):
        first_order(sqrt, [uncertain("x", 0.0, "normal", 1.0)])


def test_the_formulas_own_refusal_passes_through() -> None:
    """An error that the formula raises on purpose is not rewritten."""

    def refuse(_: Any) -> Any:
        raise PassivityError("not passive")

    with pytest.raises(PassivityError, match=r"^not passive$"):
        first_order(refuse, [certain("x", 1.0)])


def test_a_constant_result_is_certain() -> None:
    """A formula that ignores its inputs has zero slopes, not an error."""
    result = first_order(lambda _: 4, [uncertain("x", 1.0, "normal", 1.0)])
    assert (result.value, result.standard_uncertainty, result.budget[0].sensitivity) == (4.0, 0.0, 0.0)


def test_one_result_or_several() -> None:
    """A formula that returns a tuple gives a tuple, even of one; a plain number gives one estimate."""
    x = [certain("x", 2.0)]
    assert [each.value for each in first_order(lambda x: (x,), x)] == [2.0]
    assert first_order(lambda x: x, x).value == 2.0


def test_second_order_of_a_square() -> None:
    """For a normal X, X² has expectation x² + u² and variance 4x²u² + 2u⁴: all of it is second order."""
    result = second_order(lambda x: x**2, [uncertain("x", 3.0, "normal", 0.5)])
    assert result.bias == pytest.approx(0.25, rel=1e-9)
    assert result.mean == pytest.approx(9.25)
    assert result.standard_uncertainty**2 == pytest.approx(4 * 9 * 0.25 + 2 * 0.5**4, rel=1e-9)


def test_second_order_has_the_third_derivative() -> None:
    """5.1.2, note: X³ with slope 3x² and third derivative 6 gives 9x⁴u² + ½(6x)²u⁴ + 3x²·6u⁴."""
    x, u = 2.0, 0.1
    result = second_order(lambda x: x**3, [uncertain("x", x, "normal", u)])
    expected = 9 * x**4 * u**2 + 0.5 * (6 * x) ** 2 * u**4 + 18 * x**2 * u**4
    assert result.standard_uncertainty**2 == pytest.approx(expected, rel=1e-8)


def test_second_order_knows_shared_sources() -> None:
    """(a - b)² of two readings with one gain is curved only by what they do not share."""
    a, b = reading("a", 10.0, 0.01), reading("b", 10.0, 0.01)
    result = second_order(lambda a, b: (a - b) ** 2, [a, b])
    variance_of_d = 2 * 0.01**2 / 3
    assert result.bias == pytest.approx(variance_of_d, rel=1e-6)
    assert result.standard_uncertainty == pytest.approx(math.sqrt(2) * variance_of_d, rel=1e-6)


def test_second_order_takes_one_result() -> None:
    """Several results at once are refused with their number; certain inputs have nothing to add."""
    with pytest.raises(EntryError, match="returned 2"):
        second_order(lambda x: (x, x), [certain("x", 1.0)])
    assert second_order(lambda x: x**2, [certain("x", 1.0)]).standard_uncertainty == 0.0


def test_a_series_that_turns_negative_is_refused() -> None:
    """Where the series gives a negative variance it says so: sin near its slope, over more than a turn."""
    with pytest.raises(EntryError, match="negative variance"):
        second_order(sin, [uncertain("x", 0.0, "normal", 3.0)])


def test_engine_loads_no_heavy_library_by_itself() -> None:
    """Importing the engine loads numpy only; uncertainties and scipy wait for their first use."""
    code = (
        "import sys, labkit.uncertainty.propagate, labkit.uncertainty.montecarlo;"
        "import labkit.uncertainty.components;"
        "print([m for m in ('uncertainties', 'scipy', 'sympy', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
