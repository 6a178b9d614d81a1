"""The forward model against ngspice: random windings in every wiring, with resistance and self-capacitance.

Source: the circuits and their answers are computed for this test by an independent nodal simulator.
"""

import random

import numpy as np
import pytest

from labkit.theory.network import input_impedance
from labkit.theory.wiring import all_wirings
from tests.spice import REFERENCE, Circuit, impedances

AGREEMENT = 1e-6
PARTS_A_WIRING = 10  # 310 pairs, of which 220 conduct
TRIOS = 60
SWEEP = "dec 2 100 1meg"
Solved = tuple[np.ndarray, list[tuple[Circuit, np.ndarray]]]
PAIR_WIRINGS = [wiring.notation for wiring in all_wirings(2)]


def random_circuit(rng: random.Random, wiring: str, windings: int) -> Circuit:
    """Windings of 10 µH to 100 mH, coupled up to ±0.9999, lossy; three in four with self-capacitance."""
    scale = [10 ** rng.uniform(-2.5, -0.5) for _ in range(windings)]
    common = [rng.choice((-1, 1)) for _ in range(windings)]  # a flux that all windings share, either polarity
    stray = 10 ** rng.uniform(-2, 1)
    flux = [[common[i], *(stray * rng.gauss(0, 1) for _ in range(windings))] for i in range(windings)]
    norm = [sum(f * f for f in row) ** 0.5 for row in flux]
    k = [[sum(f * g for f, g in zip(a, b, strict=True)) for b in flux] for a in flux]
    return Circuit(
        wiring=wiring,
        L=[
            [scale[i] * scale[j] * k[i][j] / (norm[i] * norm[j]) for j in range(windings)]
            for i in range(windings)
        ],
        R=[10 ** rng.uniform(-2, 2) for _ in range(windings)],
        C=[10 ** rng.uniform(-12, -9) if rng.random() < 0.75 else None for _ in range(windings)],
    )


@pytest.fixture(scope="module")
def solved(tmp_path_factory: pytest.TempPathFactory) -> Solved:
    """Every circuit of this file with the simulator's impedances, from one run."""
    rng = random.Random(20240)
    circuits = [random_circuit(rng, wiring, 2) for wiring in PAIR_WIRINGS for _ in range(PARTS_A_WIRING)]
    trios = rng.sample([wiring.notation for wiring in all_wirings(3)], TRIOS)
    circuits += [random_circuit(rng, wiring, 3) for wiring in trios]
    frequency, seen = impedances(circuits, SWEEP, tmp_path_factory.mktemp("ngspice"))
    return frequency, list(zip(circuits, seen, strict=True))


def assert_agreement(frequency: np.ndarray, circuit: Circuit, seen: np.ndarray) -> bool:
    """Compare one circuit; returns whether it conducts."""
    ours = input_impedance(circuit.L, circuit.wiring, frequency, circuit.R, circuit.C)
    if np.all(np.isinf(ours)):
        np.testing.assert_allclose(seen, REFERENCE, rtol=AGREEMENT, err_msg=str(circuit))
        return False
    assert np.max(np.abs(ours / seen - 1)) < AGREEMENT, circuit
    return True


def test_all_wirings_of_a_pair_take_part() -> None:
    """All 31 wirings of a pair are simulated."""
    assert len(set(PAIR_WIRINGS)) == 31


@pytest.mark.parametrize("wiring", PAIR_WIRINGS)
def test_pair_impedance_agrees_with_the_simulator(solved: Solved, wiring: str) -> None:
    """Ten random pairs have the simulator's impedance to 1e-6 at nine frequencies, or are open in both."""
    frequency, circuits = solved
    mine = [(circuit, seen) for circuit, seen in circuits if circuit.wiring == wiring and len(circuit.R) == 2]
    assert len(mine) == PARTS_A_WIRING
    for circuit, seen in mine:
        assert_agreement(frequency, circuit, seen)


def test_more_than_two_hundred_pairs_conduct(solved: Solved) -> None:
    """The open wirings are not what makes up the number."""
    frequency, circuits = solved
    pairs = [(circuit, seen) for circuit, seen in circuits if len(circuit.R) == 2]
    assert sum(assert_agreement(frequency, *each) for each in pairs) == 220


def test_reversed_winding_would_be_noticed(solved: Solved) -> None:
    """The sign of M matters to the comparison: with one winding reversed no parallel pair agrees."""
    frequency, circuits = solved
    for circuit, seen in circuits:
        if circuit.wiring == "1a 1b | 1a=2a 1b=2b":
            reversed_matrix = [
                [L if i == j else -L for j, L in enumerate(row)] for i, row in enumerate(circuit.L)
            ]
            ours = input_impedance(reversed_matrix, circuit.wiring, frequency, circuit.R, circuit.C)
            assert np.max(np.abs(ours / seen - 1)) > 100 * AGREEMENT, circuit


def test_trio_impedance_agrees_with_the_simulator(solved: Solved) -> None:
    """Sixty random parts of three windings, pairwise coupled, have the simulator's impedance to 1e-6."""
    frequency, circuits = solved
    trios = [(circuit, seen) for circuit, seen in circuits if len(circuit.R) == 3]
    assert len(trios) == TRIOS
    assert sum(assert_agreement(frequency, *each) for each in trios) > TRIOS // 2
