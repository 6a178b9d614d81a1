"""Resistance in a pair, held against the network's complex impedance."""

import math

import numpy as np
import pytest

from labkit.theory.circuit import series_inductance
from labkit.theory.lossy_pair import Losses, series_inductances
from labkit.theory.network import input_impedance
from labkit.theory.pair import STABLE_FORMS, Pair
from labkit.theory.wiring import Connection, parse_dots, standard_wiring

F = 10e3
W = 2 * math.pi * F
PAIR = Pair(L1=10.00e-3, L2=9.90e-3, B=25.0e-6)
JOINT = [c for c in STABLE_FORMS if c is not Connection.LEADS]


def through_the_network(connection: Connection, R: np.ndarray) -> float:
    """Series inductance from the network, the resistances as imaginary inductance of the matrix."""
    wiring = standard_wiring(connection, parse_dots("1a 2a"))
    assert wiring is not None
    lossy = np.array(PAIR.matrix()) - 1j * R / W
    return float(series_inductance(input_impedance(lossy.tolist(), wiring, F), F))


@pytest.mark.parametrize("connection", JOINT)
@pytest.mark.parametrize("R", [(0.6, 0.9, 0.0), (31.0, 30.5, 30.0), (5.0, 1.0, 2.0)])
def test_every_connection_is_what_the_network_says(
    connection: Connection, R: tuple[float, float, float]
) -> None:
    """With any resistances, shared ones included, the forms equal the network's impedance."""
    R1, R2, R12 = R
    found = series_inductances(PAIR.L1, PAIR.L2, PAIR.B, Losses(R1 / W, R2 / W, R12 / W))[connection]
    assert found == pytest.approx(through_the_network(connection, np.array([[R1, R12], [R12, R2]])), rel=1e-9)


def test_winding_resistances_of_the_network_are_the_copper_alone() -> None:
    """With nothing shared the forms equal the network with one resistance a winding."""
    Z = input_impedance(PAIR.matrix(), "1a 1b | 1a=2a 1b=2b", F, R=[0.6, 0.9])
    found = series_inductances(PAIR.L1, PAIR.L2, PAIR.B, Losses(0.6 / W, 0.9 / W))
    assert found[Connection.PARALLEL_AIDING] == pytest.approx(float(series_inductance(Z, F)), rel=1e-9)


def test_without_resistance_the_lossless_forms_come_back() -> None:
    """Zero resistance and no losses at all say the same."""
    ideal = series_inductances(PAIR.L1, PAIR.L2, PAIR.B)
    for connection, value in series_inductances(PAIR.L1, PAIR.L2, PAIR.B, Losses(0.0, 0.0)).items():
        assert value == pytest.approx(ideal[connection], rel=1e-9)


def test_half_of_the_mismatch_shows_at_the_corner_frequency() -> None:
    """At f = (R1 + R2)/(2πB), equal resistances, P+ shows half of its mismatch term d²/(4B)."""
    rho = PAIR.B / 2  # R/ω of each winding at that frequency
    d, m = PAIR.L1 - PAIR.L2, (PAIR.L1 + PAIR.L2) / 2
    found = series_inductances(PAIR.L1, PAIR.L2, PAIR.B, Losses(rho, rho))[Connection.PARALLEL_AIDING]
    assert m - PAIR.B / 4 - found == pytest.approx(d * d / (4 * PAIR.B) / 2, rel=1e-6)
