"""Insertion loss, the artificial network and a choke between ports, against figures computed elsewhere.

Insertion loss of single elements: computed for this test from the definition of CISPR 17. The network's
impedance: 50 Ω ∥ 50 µH and 50 Ω ∥ (50 µH + 5 Ω) as in CISPR 16-1-2 (elements from memory), magnitudes and
phases computed for this test. The four-port: computed for this test with scikit-rf and ngspice.
"""

import math

import numpy as np
import pytest
import skrf

from labkit.theory import lossy_pair as corners
from labkit.theory.choke import Choke
from labkit.theory.insertion import (
    CISPR_17,
    Capacitor,
    Filter,
    Termination,
    against_network,
    artificial_network,
    insertion_loss,
    nominal_network,
    series_loss,
    shunt_loss,
)
from labkit.theory.modes import Mode, mixed_mode, part_of_inductances, part_of_pair
from labkit.theory.pair import Pair

CM, DM = Mode.COMMON, Mode.DIFFERENTIAL
SERIES = [
    (100e-6, 150e3, (2.7606, 2.7565, 6.5830, 0.8709)),
    (1e-3, 10e3, (1.4451, 1.4426, 4.1147, 0.4088)),
    (1e-3, 150e3, (19.5340, 19.5255, 25.5182, 13.6561)),
    (1e-3, 1e6, (35.9647, 35.9560, 41.9845, 29.9474)),
    (10e-3, 150e3, (39.4859, 39.4772, 45.5061, 33.4668)),
]
SHUNT = [(100e-9, 150e3, (8.1635, 0.0004, 13.6561)), (4.7e-9, 1e6, (1.8894, 0.0000, 5.0245))]


@pytest.mark.parametrize(("L", "f", "expected"), SERIES)
def test_series_inductance(L: float, f: float, expected: tuple[float, ...]) -> None:
    """An inductance in series loses this many dB in 50/50, 0.1/100, 25/25 and 100/100 Ω."""
    for (source, load), dB in zip(((50, 50), (0.1, 100), (25, 25), (100, 100)), expected, strict=True):
        assert series_loss(2j * math.pi * f * L, source, load) == pytest.approx(dB, abs=5e-5)


@pytest.mark.parametrize(("L", "f", "expected"), SERIES)
def test_the_circuit_solver_gives_the_same_for_a_choke(
    L: float, f: float, expected: tuple[float, ...]
) -> None:
    """A choke whose common-mode inductance is L loses the same, solved as a whole circuit."""
    part = part_of_pair(Pair.from_coupling(L, L, 1.0))
    for ends, dB in zip(((50, 50), (0.1, 100), (25, 25), (100, 100)), expected, strict=True):
        found = insertion_loss(Filter(part), CM, Termination.of(*ends), f)
        assert found == pytest.approx(dB, abs=5e-5)


@pytest.mark.parametrize(("C", "f", "expected"), SHUNT)
def test_shunt_capacitance(C: float, f: float, expected: tuple[float, ...]) -> None:
    """A capacitor across the load loses this many dB in 50/50, 0.1/100 and 100/100 Ω."""
    part = part_of_inductances([[1e-15, 0.0], [0.0, 1e-15]])  # as good as two wires
    for (source, load), dB in zip(((50, 50), (0.1, 100), (100, 100)), expected, strict=True):
        assert shunt_loss(1 / (2j * math.pi * f * C), source, load) == pytest.approx(dB, abs=5e-5)
        whole = Filter(part, x_load=Capacitor(C))
        assert insertion_loss(whole, DM, Termination.of(source, load), f) == pytest.approx(dB, abs=5e-5)


def test_a_series_inductance_and_its_dual_capacitance_lose_alike() -> None:
    """1 mH in series and 100 nF in shunt between 100 Ω and 100 Ω: L/C is the square of the resistance."""
    f = np.geomspace(1e3, 1e8, 11)
    jw = 2j * np.pi * f
    assert series_loss(jw * 1e-3, 100, 100) == pytest.approx(shunt_loss(1 / (jw * 100e-9), 100, 100))


NETWORK = [
    (0.0, {0.15: (34.29, 46.70), 0.20: (39.12, 38.51), 0.30: (44.17, 27.95), 0.50: (47.64, 17.66)}),
    (0.0, {1.0: (49.38, 9.04), 2.0: (49.84, 4.55), 5.0: (49.97, 1.82), 10: (49.99, 0.91), 30: (50.00, 0.30)}),
    (5.0, {0.009: (5.21, 26.54), 0.02: (7.25, 44.97), 0.05: (14.41, 56.40), 0.10: (25.11, 51.22)}),
    (5.0, {0.15: (32.71, 43.35)}),
]


@pytest.mark.parametrize(("resistance", "rows"), NETWORK)
def test_artificial_network(resistance: float, rows: dict[float, tuple[float, float]]) -> None:
    """The impedance of one line of the network has these magnitudes and phases."""
    for MHz, (magnitude, phase) in rows.items():
        (Z,) = artificial_network(MHz * 1e6, resistance)
        assert abs(Z) == pytest.approx(magnitude, abs=0.01)
        assert math.degrees(np.angle(Z)) == pytest.approx(phase, abs=0.01)


@pytest.mark.parametrize(("mode", "resistance"), [(CM, 25), (DM, 100)])
def test_the_network_in_each_mode(mode: Mode, resistance: float) -> None:
    """Two lines of 50 Ω are 25 Ω in common and 100 Ω in differential mode; scikit-rf counts alike."""
    f = np.array([1e9])
    assert nominal_network(mode).at(f) == (resistance, resistance)
    source, load = against_network(mode, source=resistance).at(f)
    assert source == resistance
    assert load == pytest.approx(resistance, abs=0.02)
    line = skrf.Network(f=f, s=np.zeros((1, 4, 4)), z0=50, f_unit="Hz")
    line.se2gmm(p=2)
    assert line.z0[0, 2 if mode is CM else 0] == resistance


def test_choke_between_four_ports() -> None:
    """10 mH, k = 0.99, 150 kHz, 50 Ω ports: transmission in each mode and of one line, no conversion."""
    choke = Choke(R=(0, 0), leakage=(0.1e-3, 0.1e-3), core=9.9e-3)
    S = choke.scattering([150e3])
    modes = mixed_mode(S, 50.0, (0, 1, 2, 3))
    differential, common = modes.differential[0, 1, 0], modes.common[0, 1, 0]
    assert differential == pytest.approx(0.529587 - 0.499124j, abs=1e-6)
    assert common == pytest.approx(2.8428e-5 - 5.331672e-3j, abs=1e-6)
    for value, dB in ((differential, -2.7606), (common, -45.4626), (S[0, 2, 0], -8.7373)):
        assert 20 * math.log10(abs(value)) == pytest.approx(dB, abs=1e-4)
    assert np.abs(modes.to_common).max() == pytest.approx(0, abs=1e-14)
    assert modes.reference == pytest.approx([100, 100, 25, 25])


def test_insertion_loss_of_that_choke_is_the_transmission() -> None:
    """Between the references of the modes, insertion loss is -20 log10 |S21| of each mode."""
    part = part_of_pair(Pair.from_coupling(10e-3, 10e-3, 0.99))
    for mode, dB in ((DM, 2.7606), (CM, 45.4626)):
        assert insertion_loss(Filter(part), mode, nominal_network(mode), 150e3) == pytest.approx(dB, abs=1e-4)


@pytest.mark.parametrize(
    ("Z", "S21", "dB"),
    [
        (100, 0.5, -6.02060),
        (50j, 0.8 - 0.4j, -0.96910),
        (10 + 628.3185307j, 0.027034721 - 0.154421963j, -16.09471),
        (1000 - 1000j, 0.049773756 + 0.045248869j, -23.44392),
    ],
)
def test_series_through_is_insertion_loss(Z: complex, S21: complex, dB: float) -> None:
    """S21 = 100/(100 + Z) of an impedance between 50 Ω ports, and IL in 50/50 Ω is -20 log10 |S21|."""
    assert 100 / (100 + Z) == pytest.approx(S21, abs=1e-9)
    assert series_loss(Z, 50, 50) == pytest.approx(-dB, abs=1e-5)
    by_skrf = skrf.network.y2s(np.array([[[1, -1], [-1, 1]]]) / Z, 50)[0, 1, 0]
    assert series_loss(Z, 50, 50) == pytest.approx(-20 * math.log10(abs(by_skrf)), abs=1e-9)


def test_filter_resonances() -> None:
    """2.4 mH with two 3300 pF: 39.989 kHz; 2 × 180 µH with 0.47 µF: 12.235 kHz (a common exercise)."""
    assert corners.common_mode_resonance(2.4e-3, 3300e-12) == pytest.approx(39.989e3, abs=0.5)
    assert corners.differential_mode_resonance(2 * 180e-6, 0.47e-6) == pytest.approx(12.235e3, abs=0.5)


def test_filter_resonances_show_in_the_circuit() -> None:
    """At its resonance a filter with an open end passes more than comes in, most of all frequencies."""
    part = part_of_pair(Pair.from_mutual(2.4e-3 + 90e-6, 2.4e-3 + 90e-6, 2.4e-3 - 90e-6))
    whole = Filter(part, x_load=Capacitor(0.47e-6), y_load=Capacitor(3300e-12))
    open_end = Termination.of(0.1, 1e9)
    for mode, expected in (
        (CM, 39.989e3),
        (DM, corners.differential_mode_resonance(360e-6, 0.47e-6, 3.3e-9)),
    ):
        f = expected * np.linspace(0.9, 1.1, 2001)
        assert f[insertion_loss(whole, mode, open_end, f).argmin()] == pytest.approx(expected, rel=2e-4)


def test_bleeder() -> None:
    """t/(C ln(V0/V)): 1 µF, 340 V to 34 V in 1 s: 434.294 kΩ; 339.4 V to 60 V in 2 s: 1.15418 MΩ."""
    assert corners.bleeder_resistance(1e-6, 340, 34, 1) == pytest.approx(434.294e3, abs=0.5)
    assert corners.bleeder_resistance(1e-6, 339.4, 60, 2) == pytest.approx(1.15418e6, abs=5)
    assert corners.discharge_time(1e-6, 434.294e3, 340, 34) == pytest.approx(1, abs=1e-5)


def test_current_of_a_line_capacitor() -> None:
    """2πfCV: 4.7 nF at 250 V, 50 Hz draw 0.369137 mA; 2.2 nF at 264 V, 60 Hz 0.218956 mA; back to C."""
    assert corners.line_capacitor_current(4.7e-9, 250, 50) == pytest.approx(0.369137e-3, abs=5e-10)
    assert corners.line_capacitor_current(2.2e-9, 264, 60) == pytest.approx(0.218956e-3, abs=5e-10)
    assert corners.line_capacitance_for(0.25e-3, 264, 60) == pytest.approx(2.51192e-9, abs=5e-15)


def test_the_terminations_of_the_standard() -> None:
    """The reference is 50/50 Ω, the approximate worst case 0.1/100 and 100/0.1 Ω."""
    assert [(t.source, t.load) for t in CISPR_17] == [(50, 50), (0.1, 100), (100, 0.1)]
