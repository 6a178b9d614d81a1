"""Self-resonance, distributed capacitance and Q: printed examples, and closed forms computed for these tests.

Sources stand beside each; example and page as in the books. Values that only repeat a formula are marked
"computed for this test".
"""

import numpy as np
import pytest

from labkit.theory.circuit import (
    apparent_inductance,
    apparent_quality_factor,
    distributed_capacitance,
    inductance_from_resonance,
    quality_factor,
    resistance_from_quality_factor,
    resonant_frequency,
    series_inductance,
    true_quality_factor,
)
from labkit.theory.models import CORE, SELF_CAPACITANCE


def test_roddy_coolen_example_1_5_1() -> None:
    """D. Roddy, J. Coolen, Electronic Communications, ex. 1.5.1, p. 19: SRF 60.2 MHz, Q 31.4, Q_eff 26."""
    L, C, R, f = 1e-6, 7e-12, 5.0, 25e6
    f0 = resonant_frequency(L, C)
    Q = quality_factor(L, R, f)
    assert f0 == pytest.approx(60.2e6, abs=0.05e6)
    assert f0 == pytest.approx(60.155e6, abs=500)
    assert Q == pytest.approx(31.4, abs=0.05)
    assert apparent_quality_factor(Q, f, f0) == pytest.approx(25.99, abs=0.005)
    assert apparent_inductance(L, C, f) == pytest.approx(1.21e-6, abs=0.005e-6)


def test_exact_terminal_values_of_the_same_coil() -> None:
    """Computed for this test: with R in the loop, L_eff 1.208469 µH and Q_eff 25.9843."""
    Z = SELF_CAPACITANCE.impedance([5.0, 1e-6, 7e-12], 25e6)
    assert series_inductance(Z, 25e6) == pytest.approx(1.208469e-6, rel=1e-6)
    assert Z.imag / Z.real == pytest.approx(25.9843, rel=2e-6)


@pytest.mark.parametrize(
    ("f", "n", "C1", "C2", "Cd", "tolerance"),
    [
        # A. D. Helfrick, W. D. Cooper, Modern Electronic Instrumentation, ex. 6-4, p. 162
        (2e6, 2, 460e-12, 100e-12, 20e-12, 1e-18),
        # H. S. Kalsi, Electronic Instrumentation, ex. 10.1, p. 289; 10.2, p. 290; 10.3, p. 290
        (2e6, 2, 600e-12, 100e-12, 66.67e-12, 0.005e-12),
        (1e6, 2, 500e-12, 110e-12, 20e-12, 1e-18),
        (2e6, 3, 500e-12, 50e-12, 6.25e-12, 1e-18),
        # J. B. Gupta, ex. 7.30, p. 214: 800 kHz with 95 pF, and 2.5 MHz by itself
        (800e3, 2.5 / 0.8, 95e-12, 0.0, 10.84e-12, 0.005e-12),
    ],
)
def test_distributed_capacitance(
    f: float, n: float, C1: float, C2: float, Cd: float, tolerance: float
) -> None:
    """Two resonances give the printed capacitance, and a winding that resonates at both with it."""
    found = distributed_capacitance(C1, C2, n)
    assert found == pytest.approx(Cd, abs=tolerance)
    L = inductance_from_resonance(f, C1 + found)
    assert resonant_frequency(L, C2 + found) == pytest.approx(n * f)


@pytest.mark.parametrize(
    ("f", "C", "L"),
    [(2e6, 480e-12, 13.193e-6), (2e6, 666.67e-12, 9.499e-6), (1e6, 520e-12, 48.712e-6)],
)
def test_inductance_of_the_same_examples(f: float, C: float, L: float) -> None:
    """Helfrick and Cooper, ex. 6-4; Kalsi, ex. 10.1 and 10.2: L to the last digit printed."""
    assert inductance_from_resonance(f, C) == pytest.approx(L, abs=0.6e-9)


def test_indicated_and_true_q() -> None:
    """J. B. Gupta, ex. 7.31, p. 214: 1 MHz, 480 pF, Cd 40 pF, 10 Ω: 30.607 indicated, 33.157 true."""
    L = inductance_from_resonance(1e6, 520e-12)
    indicated = quality_factor(L, 10.0, 1e6)
    assert indicated == pytest.approx(30.607, abs=0.001)
    assert true_quality_factor(indicated, 480e-12, 40e-12) == pytest.approx(33.157, abs=0.001)


def test_inductance_and_resistance_from_a_resonance() -> None:
    """D. A. Bell, Electronic Instrumentation and Measurements, ex. 8-12, p. 225: 110 µH and 8.8 Ω."""
    L = inductance_from_resonance(1.25e6, 147e-12)
    R = resistance_from_quality_factor(L, 98, 1.25e6)
    assert L == pytest.approx(110e-6, abs=0.5e-6)
    assert L == pytest.approx(110.28e-6, abs=0.005e-6)
    assert R == pytest.approx(8.8, abs=0.05)
    assert R == pytest.approx(8.838, abs=0.0005)


PARALLEL = [0.0, 0.0, 10e-3, 20e3 / (2 * np.pi * 10e-3), 20e-12]
"""L 10 mH beside R 20 kΩ beside C 20 pF, as the core's model: f_r = R/(2πL)."""


@pytest.mark.parametrize(
    ("f", "magnitude", "phase", "L"),
    [(100e3, 6456.56, 71.166, 9.72573e-3), (1e6, 8291.79, -65.507, -1.20092e-3)],
)
def test_parallel_rlc(f: float, magnitude: float, phase: float, L: float) -> None:
    """Computed for this test: |Z|, phase and apparent series L, which is negative above resonance."""
    Z = CORE.impedance(PARALLEL, f)
    assert abs(Z) == pytest.approx(magnitude, rel=1e-6)
    assert np.degrees(np.angle(Z)) == pytest.approx(phase, abs=5e-4)
    assert series_inductance(Z, f) == pytest.approx(L, rel=1e-6)


def test_parallel_rlc_at_resonance() -> None:
    """Computed for this test: at 355.881 kHz the impedance is the resistance alone."""
    f0 = CORE.self_resonance(PARALLEL)
    assert f0 == pytest.approx(355.881e3, abs=0.5)
    assert CORE.impedance(PARALLEL, f0) == pytest.approx(20e3)


@pytest.mark.parametrize(
    ("L", "C", "f0"), [(10e-3, 10e-12, 503.292e3), (1e-3, 15e-12, 1299.495e3), (200e-6, 30e-12, 2054.681e3)]
)
def test_self_resonance_by_formula(L: float, C: float, f0: float) -> None:
    """Computed for this test: 1/(2π sqrt(LC)) by formula, and by the model with hardly any resistance."""
    assert resonant_frequency(L, C) == pytest.approx(f0, abs=0.5)
    assert SELF_CAPACITANCE.self_resonance([1e-6, L, C]) == pytest.approx(f0, abs=0.5)
