"""Series and parallel equivalents as a meter shows them.

Computed for this test, except where a book stands beside the row: Bell, Electronic Instrumentation and
Measurements. The equivalents follow from Z(series) = Z(parallel).
"""

import cmath
import math
from typing import NamedTuple

import pytest

from labkit.theory import circuit
from labkit.theory.network import input_impedance
from tests.printed import printed


class Inductor(NamedTuple):
    """Series equivalent (Hz, H, Ω) and what follows from it, in SI units."""

    name: str
    frequency: float
    Ls: float
    Rs: float
    Q: float
    Lp: float
    Rp: float


INDUCTORS = [
    Inductor("10 mH at 1 kHz, Q 10", 1e3, 10e-3, 2 * math.pi, 10.0, 10.1e-3, 634.601716),
    Inductor("100 µH at 100 kHz", 100e3, 100e-6, 5.0, 12.566371, 100.633257e-6, 794.568352),
    Inductor("63 mH at 100 Hz, Q near 1", 100.0, 63e-3, 39.58, 1.000103, 125.987054e-3, 79.168135),
]
by_name = pytest.mark.parametrize("inductor", INDUCTORS, ids=lambda inductor: inductor.name)


@by_name
def test_quality_factor(inductor: Inductor) -> None:
    """Q = ωLs/Rs."""
    Q = circuit.quality_factor(inductor.Ls, inductor.Rs, inductor.frequency)
    assert Q == pytest.approx(inductor.Q, rel=1e-6)


@by_name
def test_parallel_equivalent(inductor: Inductor) -> None:
    """Lp = Ls(1 + 1/Q²) and Rp = Rs(1 + Q²)."""
    Q = circuit.quality_factor(inductor.Ls, inductor.Rs, inductor.frequency)
    assert circuit.parallel_from_series(inductor.Ls, Q) == pytest.approx(inductor.Lp, rel=1e-6)
    assert circuit.parallel_resistance_from_series(inductor.Rs, Q) == pytest.approx(inductor.Rp, rel=1e-6)


@by_name
def test_parallel_equivalent_returns_to_series(inductor: Inductor) -> None:
    """The conversion back gives the series equivalent."""
    Q = circuit.quality_factor(inductor.Ls, inductor.Rs, inductor.frequency)
    assert circuit.series_from_parallel(inductor.Lp, Q) == pytest.approx(inductor.Ls, rel=1e-6)
    assert circuit.series_resistance_from_parallel(inductor.Rp, Q) == pytest.approx(inductor.Rs, rel=1e-6)


@by_name
def test_both_equivalents_are_read_from_one_impedance(inductor: Inductor) -> None:
    """The forward model's impedance of the winding shows Ls in series mode and Lp in parallel mode."""
    Z = input_impedance([[inductor.Ls]], "1a 1b", inductor.frequency, [inductor.Rs])
    assert circuit.series_inductance(Z, inductor.frequency) == pytest.approx(inductor.Ls, rel=1e-12)
    assert circuit.parallel_inductance(Z, inductor.frequency) == pytest.approx(inductor.Lp, rel=1e-6)


def test_magnitude() -> None:
    """|Z| of the winding with Q 10."""
    Z = input_impedance([[10e-3]], "1a 1b", 1e3, [2 * math.pi])
    assert abs(Z) == pytest.approx(63.145231, rel=1e-6)


@pytest.mark.parametrize(("inductor", "degrees"), [(INDUCTORS[0], 84.289407), (INDUCTORS[1], 85.450135)])
def test_phase(inductor: Inductor, degrees: float) -> None:
    """θ of the winding's impedance."""
    Z = input_impedance([[inductor.Ls]], "1a 1b", inductor.frequency, [inductor.Rs])
    assert math.degrees(cmath.phase(Z)) == pytest.approx(degrees, rel=1e-6)


def test_series_equivalent_of_a_lossy_inductor_is_the_books() -> None:
    """Bell, examples 8-8 and 8-9, pp. 210-211: 63 mH beside 8.4 kΩ at 100 Hz is 63 mH and 0.187 Ω, Q 212."""
    Q = 8.4e3 / (2 * math.pi * 100 * 63e-3)
    assert printed("212") == Q
    assert circuit.series_from_parallel(63e-3, Q) == printed("63", 1e-3)
    assert circuit.series_resistance_from_parallel(8.4e3, Q) == printed("0.187")


def test_parallel_equivalent_of_a_capacitor_is_the_books() -> None:
    """Bell, example 8-1, p. 194: 5 nF and 8 kΩ in series at 1 kHz is 0.005 µF beside 134 kΩ (cut off)."""
    omega = 2 * math.pi * 1e3
    Ls = -1 / (omega**2 * 5e-9)  # the same formulas hold for a reactance of either sign
    Q = circuit.quality_factor(Ls, 8e3, 1e3)
    assert circuit.parallel_resistance_from_series(8e3, Q) == printed("134…", 1e3)
    assert -1 / (omega**2 * circuit.parallel_from_series(Ls, Q)) == printed("0.005", 1e-6)
