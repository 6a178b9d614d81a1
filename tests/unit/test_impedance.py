"""The forward model with resistance and self-capacitance, against circuit formulas and nodal analysis.

All figures are computed for these tests; the parts are invented.
"""

import math
from typing import Any

import numpy as np
import pytest

from labkit.errors import ShapeError
from labkit.theory.network import input_impedance, input_inductance, path_and_loops
from labkit.theory.wiring import Wiring, all_wirings
from labkit.words import theory as words

PAIR = [[10.00e-3, 9.9675e-3], [9.9675e-3, 9.96e-3]]
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
SHORTED = "1a 1b | 2a=2b"
UNIT = 1 / (2 * math.pi)  # Hz, so that omega is exactly 1


def random_matrix(rng: np.random.Generator, windings: int) -> Any:
    """Positive semidefinite, about 1 H on the diagonal."""
    flux = rng.normal(size=(windings, windings))
    return flux @ flux.T


@pytest.mark.parametrize("wiring", [w for w in all_wirings() if path_and_loops(w) is not None])
@pytest.mark.parametrize("M", [9.9675e-3, 0.0, math.sqrt(10.00e-3 * 9.96e-3)])
def test_lossless_impedance_is_jw_times_the_inductance(wiring: Wiring, M: float) -> None:
    """Without resistance and capacitance Z = j omega L, at k = 1 too."""
    L = [[10.00e-3, M], [M, 9.96e-3]]
    expected = 2j * math.pi * 1e4 * input_inductance(L, wiring)
    assert input_impedance(L, wiring, 1e4) == pytest.approx(expected, rel=1e-9, abs=1e-6)


def test_impedance_of_open_and_leads() -> None:
    """Nothing between the clips is infinite; clips on one node leave the lead impedance."""
    assert input_impedance(PAIR, "1a 2a", 1e4) == complex(math.inf)
    assert input_impedance(PAIR, "1a 1a", 1e4, lead_impedance=0.02 + 0.01j) == 0.02 + 0.01j


@pytest.mark.parametrize(
    ("wiring", "resistance"),
    [("1a 1b", 2.0), (LINE_REVERSED, 5.0), (SIDE_BY_SIDE, 1.2), (SHORTED, 2.0)],
)
@pytest.mark.parametrize("C", [None, [1e-10, 2e-10]])
def test_at_zero_frequency_only_resistance_is_left(wiring: str, resistance: float, C: Any) -> None:
    """DC: windings are resistors and capacitances carry nothing, for a number and within an array."""
    R = [2.0, 3.0]
    assert input_impedance(PAIR, wiring, 0.0, R, C) == pytest.approx(resistance)
    swept = input_impedance(PAIR, wiring, np.array([0.0, 1e4]), R, C)
    assert swept[0] == pytest.approx(resistance)
    assert swept[1] == pytest.approx(input_impedance(PAIR, wiring, 1e4, R, C))


@pytest.mark.parametrize("polarity", [1, -1])
@pytest.mark.parametrize("frequency", [10.0, 1e3, 1e5])
def test_side_by_side_with_resistance_has_the_exact_impedance(polarity: int, frequency: float) -> None:
    """Z = z_m - z_S/4 - z_d²/(4 z_S), with S = B for aiding and S = A for opposing."""
    (L1, M), (_, L2) = PAIR
    R1, R2 = 0.8, 1.1
    w = 2 * math.pi * frequency
    z_m = (R1 + R2) / 2 + 1j * w * (L1 + L2) / 2
    z_S = R1 + R2 + 1j * w * (L1 + L2 - 2 * polarity * M)
    z_d = R1 - R2 + 1j * w * (L1 - L2)
    expected = z_m - z_S / 4 - z_d**2 / (4 * z_S)
    wiring = SIDE_BY_SIDE if polarity > 0 else "1a 1b | 1a=2b 1b=2a"
    assert input_impedance(PAIR, wiring, frequency, [R1, R2]) == pytest.approx(expected, rel=1e-10)


def test_mismatch_comes_in_around_the_corner_frequency() -> None:
    """With R1 = R2 the term d²/(4B) weighs x²/(1+x²), x = f/f_c and f_c = (R1+R2)/(2 pi B)."""
    (L1, M), (_, L2) = PAIR
    B, d = L1 + L2 - 2 * M, L1 - L2
    corner = 2.0 / (2 * math.pi * B)
    for x in (0.1, 1.0, 10.0):
        f = x * corner
        seen = input_impedance(PAIR, SIDE_BY_SIDE, f, [1.0, 1.0]).imag / (2 * math.pi * f)
        missing = (L1 + L2) / 2 - B / 4 - seen
        assert missing == pytest.approx(d**2 / (4 * B) * x**2 / (1 + x**2), rel=1e-6)


def test_shorted_winding_with_resistance_shows_more_than_the_short_circuit_inductance() -> None:
    """L_app = Lsc + (M²/L2) R2²/(R2² + omega² L2²), R2 the whole secondary loop."""
    (L1, M), (_, L2) = PAIR
    for f in (5.0, 100.0, 1e4):
        w = 2 * math.pi * f
        expected = L1 - M**2 / L2 + M**2 / L2 * 0.5**2 / (0.5**2 + (w * L2) ** 2)
        seen = input_impedance(PAIR, SHORTED, f, [0.8, 0.5]).imag / w
        assert seen == pytest.approx(expected, rel=1e-9)


def test_self_capacitance_raises_the_apparent_inductance() -> None:
    """A winding with self-capacitance reads L/(1 - omega² L C): one per cent more at a tenth of resonance."""
    L, C = 1e-3, 1e-10
    resonance = 1 / (2 * math.pi * math.sqrt(L * C))
    for share in (0.1, 0.5, 1.7):
        f = share * resonance
        seen = input_impedance([[L]], "1a 1b", f, C=[C]).imag / (2 * math.pi * f)
        assert seen == pytest.approx(L / (1 - share**2), rel=1e-9)


def test_exact_resonance_is_infinite_and_not_nan() -> None:
    """omega² L C = 1 without loss: infinite, as a number and as one element of a sweep."""
    alone = input_impedance([[1.0]], "1a 1b", UNIT, C=[1.0])
    assert alone == complex(math.inf)
    swept = input_impedance([[1.0]], "1a 1b", np.array([UNIT, 2 * UNIT]), C=[1.0])
    assert swept[0] == complex(math.inf)
    assert swept[1] == pytest.approx(2j / (1 - 4))


def test_next_to_a_resonance_the_impedance_is_large_and_finite() -> None:
    """One part in 10⁹ beside the resonance of a winding of 1 MΩ: -j X/(2e-9), not yet infinite."""
    beside = input_impedance([[1e6]], "1a 1b", UNIT * (1 + 1e-9), C=[1e-6])
    assert beside.imag == pytest.approx(-1e6 / 2e-9, rel=1e-6)


def test_two_coupled_windings_in_the_same_resonance_are_not_singular() -> None:
    """Both loops resonate alone, but coupled they do not: Z follows from the 2 by 2 equations, here -1j."""
    L = [[1.0, 0.5], [0.5, 1.0]]
    inductive = 1j * np.array(L)
    terminal = np.linalg.inv(np.linalg.inv(inductive) + 1j * np.eye(2))[0, 0]
    assert terminal == pytest.approx(-1j)
    assert input_impedance(L, "1a 1b", UNIT, C=[1.0, 1.0]) == pytest.approx(terminal)
    swept = input_impedance(L, "1a 1b", np.array([UNIT, UNIT * 1.0001]), C=[1.0, 1.0])
    assert swept == pytest.approx([terminal, terminal], rel=1e-3)


def test_random_circuits_agree_with_nodal_analysis() -> None:
    """Resistance, capacitance and coupling in every wiring of two windings, against an admittance matrix."""
    rng = np.random.default_rng(7)
    for wiring in (w for w in all_wirings() if path_and_loops(w) is not None):
        L = random_matrix(rng, 2) + 0.05 * np.eye(2)
        R, C, f = rng.uniform(0.1, 1, 2), rng.uniform(0.01, 0.1, 2), rng.uniform(0.05, 0.3)
        seen = input_impedance(L.tolist(), wiring, f, list(R), list(C))
        assert seen == pytest.approx(nodal(L, wiring, f, R, C), rel=1e-8)


def nodal(L: Any, wiring: Wiring, frequency: float, R: Any, C: Any) -> complex:
    """Voltage between the clips for unit current, by node potentials (least squares: some nodes float)."""
    w = 2 * math.pi * frequency
    nodes = wiring.nodes()
    incidence = np.array(
        [
            [("a" in e) * 1 - ("b" in e) * 1 for e in ({t.end for t in n if t.winding == k} for k in (1, 2))]
            for n in nodes
        ]
    )
    admittance = np.linalg.inv(np.diag(R) + 1j * w * L) + 1j * w * np.diag(C)
    first, second = (nodes.index(node) for node in wiring.clip_nodes())
    source = np.zeros(len(nodes), dtype=complex)
    source[first], source[second] = 1, -1
    potentials = np.linalg.lstsq(incidence @ admittance @ incidence.T, source, rcond=1e-12)[0]
    return complex(potentials[first] - potentials[second])


def test_one_value_a_winding_is_required() -> None:
    """Three resistances for two windings are refused with one sentence."""
    with pytest.raises(ShapeError) as caught:
        input_impedance(PAIR, "1a 1b", 1e3, R=[1.0, 1.0, 1.0])
    assert str(caught.value) == words.PER_WINDING.format(given=3, what="resistance", windings=2)
    with pytest.raises(ShapeError, match="self-capacitance"):
        input_impedance(PAIR, "1a 1b", 1e3, C=[1e-10])
