"""Impedance from scattering parameters and through a fixture, against values from outside.

Hook-ups: computed for this test from the voltage divider that each one is. Open and short: the two models of
the handbooks of impedance measurement, values computed for this test. File: scikit-rf's `ind.s2p`, see
`touchstone/README.md`.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from labkit.record.virtual_bench import Fixture
from labkit.sweeps.fixture import (
    from_reflection,
    from_series_through,
    from_shunt_through,
    open_short,
    open_short_load,
)
from labkit.sweeps.sweep import Impedance, Scattering
from labkit.sweeps.touchstone_file import read_touchstone
from labkit.theory.insertion import series_loss, shunt_loss

F = np.array([1e5])


def two_port(S21: complex, S11: complex = 0) -> Scattering:
    """A symmetric two-port in 50 Ω at one frequency."""
    return Scattering(F, np.array([[[S11, S21], [S21, S11]]]), np.array([50.0, 50.0]))


@pytest.mark.parametrize(("gamma", "Z"), [(1 / 3, 100), (1j, 50j), (-0.2 - 0.4j, 25 - 25j)])
def test_reflection(gamma: complex, Z: complex) -> None:
    """A reflection Γ = (Z - 50)/(Z + 50) gives the impedance back."""
    measured = Scattering(F, np.array([[[gamma]]]), np.array([50.0]))
    assert from_reflection(measured).Z[0] == pytest.approx(Z, rel=1e-14)


SERIES = [
    (100, 0.5, -6.02060),
    (50j, 0.8 - 0.4j, -0.96910),
    (10 + 628.3185307j, 0.027034721 - 0.154421963j, -16.09471),
    (1000 - 1000j, 0.049773756 + 0.045248869j, -23.44392),
]


@pytest.mark.parametrize(("Z", "S21", "decibel"), SERIES)
def test_series_through(Z: complex, S21: complex, decibel: float) -> None:
    """S21 = 100/(100 + Z) gives the impedance back, and in 50/50 Ω its insertion loss is -20 log|S21|."""
    found = from_series_through(two_port(S21)).Z[0]
    assert found == pytest.approx(Z, rel=3e-8)
    assert 100 / (100 + found) == pytest.approx(S21, abs=1e-9)
    assert float(series_loss(found, 50, 50)) == pytest.approx(-decibel, abs=1e-5)


@pytest.mark.parametrize(("Z", "S21", "decibel"), [(100, 0.8, -1.93820), (50j, 0.8 + 0.4j, -0.96910)])
def test_shunt_through(Z: complex, S21: complex, decibel: float) -> None:
    """S21 = 2 Z/(2 Z + 50) gives the impedance back, and in 50/50 Ω its insertion loss is -20 log|S21|."""
    assert from_shunt_through(two_port(S21)).Z[0] == pytest.approx(Z, rel=1e-12)
    assert float(shunt_loss(Z, 50, 50)) == pytest.approx(-decibel, abs=1e-5)


@pytest.mark.parametrize(("frequency", "L"), [(1e9, 1.00023e-9), (5e9, 1.0098e-9), (10e9, 1.0409e-9)])
def test_a_simulated_inductor(frequency: float, L: float) -> None:
    """1 nH with parasitics to ground: -1/Y21 gives the series branch."""
    name = "ind.s2p"
    sweep = read_touchstone((Path(__file__).parent / "touchstone" / name).read_bytes(), name)
    assert np.abs(sweep.S[0, 1, :]) == pytest.approx([0.960165474, 0.0653148384], rel=1e-9)
    assert np.degrees(np.angle(sweep.S[0, 1, :])) == pytest.approx([-3.92693531, 50.0207496], rel=1e-8)
    found = from_series_through(sweep, ground=False)
    place = found.frequency.tolist().index(frequency)
    assert found.reactance[place] / (2 * math.pi * frequency) == pytest.approx(L, rel=5e-5)
    if frequency == 1e9:
        assert found.Z[place] == pytest.approx(4.00316 + 6.284660j, abs=5e-6)


W = 2 * math.pi * F[0]
PART = 2 + 1j * W * 1e-3
LADDER = Fixture(R=0.05, L=50e-9, G=10e-9, C=2e-12)


def at(Z: complex) -> Impedance:
    """One impedance at 100 kHz."""
    return Impedance(F, np.array([Z]))


def measured_in_the_ladder() -> tuple[Impedance, Impedance, Impedance]:
    """Part, open and short as the ladder shows them."""
    return (
        at(LADDER.seen(np.array(PART), F)[0]),
        at(LADDER.seen(np.array(np.inf), F)[0]),
        at(LADDER.series(F)[0]),
    )


def test_the_ladder_gives_the_part_back() -> None:
    """2 Ω + 1 mH behind 0.05 Ω + 50 nH and beside 10 nS + 2 pF reads 1000.840 µH and comes back exactly."""
    raw, opened, shorted = measured_in_the_ladder()
    assert raw.Z[0] == pytest.approx(2.057116 + 628.846409j, abs=1e-6)
    assert raw.Z[0].imag / W == pytest.approx(1000.840e-6, abs=5e-10)
    found = open_short(raw, opened, shorted, "ladder").Z[0]
    assert found == pytest.approx(2 + 628.318531j, abs=1e-6)
    assert found == pytest.approx(PART, rel=1e-9)


def test_the_other_model_on_the_same_data() -> None:
    """The symmetric two-port gives 1.999960 + j628.318506 Ω: the model is part of the result."""
    found = open_short(*measured_in_the_ladder(), "symmetric").Z[0]
    assert found == pytest.approx(1.999960 + 628.318506j, abs=1e-6)


def test_a_known_load_needs_no_model() -> None:
    """A fixture that is neither a ladder nor symmetric is taken off exactly with a load of 100 Ω."""
    a, b, c, d = 1.02 + 0.01j, 3 + 2j, 1e-4 + 2e-5j, 0.97 - 0.02j  # a chain matrix at random

    def seen(Z: complex) -> complex:
        return (a * Z + b) / (c * Z + d)

    corrections = at(a / c), at(b / d), at(seen(100)), at(100)
    assert open_short_load(at(seen(PART)), *corrections).Z[0] == pytest.approx(PART, rel=1e-12)
