"""Elimination of the currents that the network itself decides, where floats leave rounding behind."""

import math
from fractions import Fraction

import numpy as np
import pytest
import sympy

from labkit.theory.network import Table, schur_complement


def test_a_regular_system_is_solved_as_linear_algebra_does() -> None:
    """S00 - S0l Sll^-1 Sl0 for random systems, not symmetric ones included."""
    rng = np.random.default_rng(1)
    for size in (1, 2, 3, 5):
        S = rng.normal(size=(size, size)) + 1j * rng.normal(size=(size, size))
        expected = S[0, 0] - S[0, 1:] @ np.linalg.solve(S[1:, 1:], S[1:, 0])
        assert schur_complement(S.tolist(), [1.0] * size) == pytest.approx(expected)


def test_zero_diagonal_is_no_obstacle() -> None:
    """[[0, 1], [1, 0]] has an inverse though no diagonal pivot."""
    assert schur_complement([[5.0, 2.0, 3.0], [2.0, 0.0, 1.0], [3.0, 1.0, 0.0]], [5.0] * 3) == -7.0


@pytest.mark.parametrize("number", [float, Fraction, sympy.Integer])
def test_an_equation_without_unknowns_changes_nothing(number: type) -> None:
    """0 = 0 leaves S00, in every kind of number."""
    S = [[number(4), number(0)], [number(0), number(0)]]
    assert schur_complement(S, [4.0, 4.0]) == 4


def test_rounding_counts_as_zero_only_against_the_terms_it_is_left_of() -> None:
    """The same row is rounding beside terms of 1, and an honest small inductance beside terms of 1e-17."""
    S = [[1.0, 2e-17], [2e-17, 1e-17]]
    assert schur_complement(S, [1.0, 1.0]) == 1.0
    assert schur_complement(S, [1.0, 4e-17]) == pytest.approx(1 - 4e-17)
    assert schur_complement([[1.0, 0.5], [0.5, 1e-12]], [1.0, 1.0]) == pytest.approx(-0.25e12)


def test_exact_numbers_know_no_rounding() -> None:
    """A fraction of 1e-30 is a pivot like any other."""
    small = Fraction(1, 10**30)
    assert schur_complement([[Fraction(2), small], [small, small]], [2.0, 2.0]) == 2 - small


def test_no_finite_answer_is_infinite_and_never_nan() -> None:
    """0 = something: complex infinite without direction, real minus infinity, symbols minus oo."""
    assert schur_complement([[1j, 1j], [1j, 0j]], [1.0, 1.0]) == complex(math.inf)
    assert schur_complement([[1.0, 1.0], [1.0, 0.0]], [1.0, 1.0]) == -math.inf
    one, none = sympy.Integer(1), sympy.Integer(0)
    assert schur_complement([[one, one], [one, none]], [1.0, 1.0]) == -sympy.oo
    twice = [[1.0, 1.0, 1.0], [1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]
    assert schur_complement(twice, [1.0] * 3) == -math.inf


def test_each_element_of_an_array_has_its_own_pivots() -> None:
    """Elements whose diagonals vanish here, there, everywhere and nowhere, solved as if each were alone."""
    first, second = np.array([0.0, 0.0, 1.0, 2.0, 0.0]), np.array([0.0, 3.0, 0.0, 4.0, 0.0])
    between = np.array([1.0, 1.0, 1.0, 1.0, 0.0])
    S: Table = [[7.0, 1.0, 2.0], [1.0, first, between], [2.0, between, second]]
    together = schur_complement(S, [7.0] * 3)
    for n, answer in enumerate(together):
        alone = [[entry[n] if isinstance(entry, np.ndarray) else entry for entry in row] for row in S]
        assert answer == schur_complement(alone, [7.0] * 3)
    assert list(np.isfinite(together)) == [True, True, True, True, False]
