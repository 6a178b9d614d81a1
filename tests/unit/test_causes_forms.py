"""Logarithms of the connections: equal to the closed forms, with the right slopes."""

import numpy as np
import pytest

from labkit.analysis.causes.likelihood import CONNECTIONS, log_forms
from labkit.theory.pair import Pair

RNG = np.random.default_rng(5)
PAIRS = np.column_stack([RNG.uniform(-12, -2, 200), RNG.uniform(-12, -2, 200), RNG.uniform(-2.5, 2.5, 200)])


def test_values_are_those_of_the_pair() -> None:
    """Each logarithm is that of `Pair.inductance`, for tight, loose and opposed pairs."""
    values, _ = log_forms(PAIRS)
    for t, row in zip(PAIRS, values, strict=True):
        pair = Pair.from_coordinates(*t)
        expected = [np.log(pair.inductance(c)) for c in CONNECTIONS]
        assert row == pytest.approx(expected, abs=1e-6)


def test_tight_pair_keeps_its_digits() -> None:
    """At 1 - k of 1e-6 the small inductances keep twelve digits."""
    values, _ = log_forms(np.array([[np.log(40e-3), np.log(20e-9), 0.3]]))
    P_minus = np.exp(values[0, CONNECTIONS.index("parallel_opposing")])  # type: ignore[arg-type]
    assert P_minus == pytest.approx(20e-9 / 4 * (1 - np.tanh(0.3) ** 2), rel=1e-12)


def test_slopes_are_derivatives() -> None:
    """Slopes equal differences of the values."""
    _, slopes = log_forms(PAIRS)
    step = 1e-6
    for axis in range(3):
        move = step * np.eye(3)[axis]
        numeric = (log_forms(PAIRS + move)[0] - log_forms(PAIRS - move)[0]) / (2 * step)
        assert slopes[:, :, axis] == pytest.approx(numeric, abs=2e-7)
