"""The help that lets one formula serve every kind of number."""

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import sympy
from uncertainties import ufloat

from labkit.theory.number import is_exact, magnitude, nominal, ratio, sqrt


def test_square_root_of_every_kind() -> None:
    """Float, array, uncertain number and symbol each come back as their own kind."""
    assert sqrt(9.0) == 3.0
    assert sqrt(np.array([4.0, 9.0])).tolist() == [2.0, 3.0]
    uncertain = sqrt(ufloat(9.0, 0.6))
    assert (uncertain.nominal_value, uncertain.std_dev) == pytest.approx((3.0, 0.1))
    x = sympy.Symbol("x", positive=True)
    assert sqrt(x**2) == x


def test_nominal_drops_the_uncertainty_and_nothing_else() -> None:
    """Uncertain numbers lose their uncertainty, also after arithmetic; other numbers stay as they are."""
    assert nominal(ufloat(2.0, 0.1)) == 2.0
    assert nominal(2 * ufloat(2.0, 0.1) + 1) == 5.0
    assert nominal(Fraction(1, 3)) == Fraction(1, 3)


@pytest.mark.parametrize(
    ("x", "size"),
    [(-2.0, 2.0), (3 + 4j, 5.0), (Fraction(-1, 2), 0.5), (ufloat(-2.0, 1.0), 2.0), (sympy.Symbol("M"), 1.0)],
)
def test_magnitude_of_every_kind(x: Any, size: float) -> None:
    """Absolute value of the nominal value; a symbol counts as one."""
    assert magnitude(x) == size


def test_magnitude_of_zero_and_of_arrays() -> None:
    """A symbolic zero counts as zero; an array keeps its shape."""
    assert magnitude(sympy.Integer(0)) == 0
    assert magnitude(np.array([-1.0, 3.0, 0.0])).tolist() == [1.0, 3.0, 0.0]


def test_only_arithmetic_without_rounding_is_exact() -> None:
    """Fractions, integers and symbols are; floats, arrays and uncertain numbers are not."""
    assert all(map(is_exact, (1, Fraction(1, 3), sympy.Symbol("x"))))
    assert not any(map(is_exact, (1.0, 1j, np.array([1.0]), np.float64(1), ufloat(1, 0.1))))


@pytest.mark.parametrize("zero", [0, 0.0, 0j, Fraction(0), sympy.Integer(0), ufloat(0, 0.1)])
def test_zero_over_zero_is_zero(zero: Any) -> None:
    """A loop without energy subtracts nothing, in every kind of number."""
    assert nominal(ratio(zero, zero)) == 0


@pytest.mark.parametrize("zero", [0, 0.0, 0j, Fraction(0), ufloat(0, 0.1)])
def test_something_over_zero_is_infinite(zero: Any) -> None:
    """Never nan, never an exception."""
    assert ratio(1.0, zero) == math.inf


def test_symbols_over_zero() -> None:
    """sympy's own infinity, not its complex one."""
    assert ratio(sympy.Symbol("x"), sympy.Integer(0)) is sympy.oo


def test_arrays_go_element_by_element() -> None:
    """Each element by the same rule, without a warning; a number spreads over an array."""
    quotient = ratio(np.array([0.0, 1.0, 6.0]), np.array([0.0, 0.0, 3.0]))
    assert quotient.tolist() == [0.0, math.inf, 2.0]
    assert ratio(1.0, np.array([0.0, 2.0])).tolist() == [math.inf, 0.5]
    assert ratio(np.array([0.0, 2.0]), 2.0).tolist() == [0.0, 1.0]


def test_ordinary_quotients_are_ordinary() -> None:
    """The plain quotient wherever the denominator is not zero."""
    assert ratio(1.0, 4.0) == 0.25
    assert ratio(Fraction(1), Fraction(3)) == Fraction(1, 3)
    assert ratio(1.0, 2.0**-1000) == 2.0**1000
