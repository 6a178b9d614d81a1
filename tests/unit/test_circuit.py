"""Series and parallel equivalents, quality factor, self-capacitance. Figures computed for these tests."""

import math

import numpy as np
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from labkit.theory.circuit import (
    apparent_inductance,
    parallel_from_series,
    parallel_inductance,
    parallel_resistance_from_series,
    quality_factor,
    series_from_parallel,
    series_inductance,
    series_resistance_from_parallel,
)

inductances, resistances = st.floats(1e-8, 10), st.floats(1e-3, 1e5)
frequencies = st.floats(10, 1e6)


@given(inductances, resistances, frequencies)
def test_both_equivalents_have_one_impedance(Ls: float, Rs: float, frequency: float) -> None:
    """Rs + jωLs equals jωLp parallel to Rp."""
    w = 2 * math.pi * frequency
    Q = quality_factor(Ls, Rs, frequency)
    Lp, Rp = parallel_from_series(Ls, Q), parallel_resistance_from_series(Rs, Q)
    together = 1 / (1 / Rp + 1 / (1j * w * Lp))
    assert together.real == pytest.approx(Rs, rel=1e-6)
    assert together.imag == pytest.approx(w * Ls, rel=1e-6)


@given(inductances, st.floats(1e-3, 1e4))
def test_there_and_back_is_where_one_started(L: float, Q: float) -> None:
    """Series to parallel to series, for inductance and resistance."""
    assert series_from_parallel(parallel_from_series(L, Q), Q) == pytest.approx(L)
    assert series_resistance_from_parallel(parallel_resistance_from_series(L, Q), Q) == pytest.approx(L)


@given(inductances, resistances, frequencies)
def test_equivalents_are_read_off_an_impedance(Ls: float, Rs: float, frequency: float) -> None:
    """Ls from the impedance, Lp from the admittance."""
    Z = Rs + 2j * math.pi * frequency * Ls
    Q = quality_factor(Ls, Rs, frequency)
    assert series_inductance(Z, frequency) == pytest.approx(Ls)
    assert parallel_inductance(Z, frequency) == pytest.approx(parallel_from_series(Ls, Q), rel=1e-6)


def test_worked_figures() -> None:
    """10 mH with 62.83 Ω at 10 kHz: Q = 10, Lp one per cent above Ls, Rp = 101 Rs."""
    Rs = 2 * math.pi * 10e3 * 10e-3 / 10
    assert quality_factor(10e-3, Rs, 10e3) == pytest.approx(10)
    assert parallel_from_series(10e-3, 10) == pytest.approx(10.1e-3)
    assert series_from_parallel(10.1e-3, 10) == pytest.approx(10e-3)
    assert parallel_resistance_from_series(Rs, 10) == pytest.approx(101 * Rs)


def test_without_quality_the_parallel_inductance_is_infinite() -> None:
    """Q = 0, a resistor: no reactance, so infinite Lp and zero Ls, not an exception."""
    assert parallel_from_series(1e-3, 0.0) == math.inf
    assert parallel_inductance(5 + 0j, 1e3) == math.inf
    assert series_from_parallel(1e-3, 0.0) == 0
    assert parallel_inductance(0j, 1e3) == 0


@pytest.mark.parametrize(("share", "factor"), [(0.1, 1 / 0.99), (0.5, 4 / 3), (2.0, -1 / 3)])
def test_self_capacitance_raises_then_turns_negative(share: float, factor: float) -> None:
    """L/(1 - ω²LC) as a multiple of L, by the share of the self-resonant frequency."""
    L, C = 10e-3, 100e-12
    resonance = 1 / (2 * math.pi * math.sqrt(L * C))
    assert apparent_inductance(L, C, share * resonance) == pytest.approx(factor * L)


def test_at_exact_resonance_the_apparent_inductance_is_infinite() -> None:
    """As a number, and as one element of a sweep."""
    f = 1 / (2 * math.pi)
    assert apparent_inductance(1.0, 1.0, f) == math.inf
    assert apparent_inductance(1.0, 1.0, np.array([f, 2 * f])) == pytest.approx([math.inf, -1 / 3])


def test_no_capacitance_changes_nothing() -> None:
    """C = 0 at any frequency."""
    assert apparent_inductance(10e-3, 0.0, 1e9) == 10e-3


def test_every_kind_of_number_passes() -> None:
    """Arrays, uncertain numbers and symbols through the same formulas."""
    assert parallel_from_series(1.0, np.array([1.0, 2.0])) == pytest.approx([2.0, 1.25])
    uncertain = parallel_from_series(1.0, ufloat(2.0, 0.1))
    assert uncertain.std_dev == pytest.approx(2 / 2.0**3 * 0.1)
    Ls, Q = sympy.symbols("Ls Q")
    assert sympy.cancel(series_from_parallel(parallel_from_series(Ls, Q), Q) - Ls) == 0
