"""A common-mode choke: its connections, what the uncoupled rules miss, and which route to the leakage holds.

Computed for this test. The values follow from the closed forms of two equal or nearly equal windings; the
uncertainties were computed with an independent implementation of first-order propagation.
"""

from collections.abc import Callable
from typing import NamedTuple

import pytest

from labkit.theory.network import input_inductance
from labkit.theory.number import Number
from labkit.theory.pair import (
    Pair,
    coupling_coefficient,
    mutual_from_series,
    parallel_aiding,
    short_circuit_1,
)
from labkit.theory.wiring import Connection, parse_dots, standard_wiring
from labkit.uncertainty.components import Component, Input, uncertain
from labkit.uncertainty.propagate import first_order
from tests.printed import printed

SA, SO = Connection.SERIES_AIDING, Connection.SERIES_OPPOSING
PA, PO = Connection.PARALLEL_AIDING, Connection.PARALLEL_OPPOSING
SC = Connection.SHORT_CIRCUIT_1


class Choke(NamedTuple):
    """Windings in mH, their coupling, and the connections in mH; text to half a unit of its last digit."""

    L1: float
    L2: float
    k: float
    M: str | float
    readings: dict[Connection, str | float]


CHOKES = [
    Choke(10, 10, 0.99, 9.9, {SA: 39.8, SO: 0.200, PA: 9.95, PO: 0.050, SC: 0.199}),
    Choke(10, 10, 0.95, 9.5, {SA: 39.0, SO: 1.000, PA: 9.75, SC: 0.975}),
    Choke(10, 10, 0.999, 9.99, {SA: 39.98, SO: 0.020, PA: 9.995, SC: 0.01999}),
    Choke(10.0, 9.6, 0.985, "9.650990", {SA: "38.901979", SO: "0.298021", PA: "9.591276", PO: "0.073477"}),
]
READINGS = [
    pytest.param(choke, c, id=f"L2 {choke.L2} mH, k {choke.k}: {c}")
    for choke in CHOKES
    for c in choke.readings
]


def test_mutual_inductance() -> None:
    """M = k sqrt(L1 L2)."""
    for choke in CHOKES:
        assert Pair.from_coupling(*choke[:3]).mutual_inductance == printed(choke.M)


@pytest.mark.parametrize(("choke", "connection"), READINGS)
def test_network_reads_the_connection(choke: Choke, connection: Connection) -> None:
    """The forward model reads the connection."""
    pair = Pair.from_coupling(choke.L1 * 1e-3, choke.L2 * 1e-3, choke.k)
    wiring = standard_wiring(connection, parse_dots("1a 2a"))
    assert wiring is not None
    assert input_inductance(pair.matrix(), wiring) == printed(choke.readings[connection], 1e-3)


@pytest.mark.parametrize(("choke", "connection"), READINGS)
def test_pair_gives_the_connection(choke: Choke, connection: Connection) -> None:
    """The stable form of the pair gives the connection."""
    pair = Pair.from_coupling(choke.L1, choke.L2, choke.k)
    assert pair.inductance(connection) == printed(choke.readings[connection])


MISSES = [(SA, "-49.75"), (SO, "9900.00"), (PA, "-49.75")]


@pytest.mark.parametrize(("connection", "percent"), MISSES)
def test_uncoupled_rule_misses_by(connection: Connection, percent: str) -> None:
    """Two windings of 10 mH with k = 0.99: how far the rules of resistors are off, in per cent."""
    L1, L2, k, _, _ = CHOKES[0]
    naive = Pair.uncoupled(L1, L2).inductance(connection)
    assert 100 * (naive / Pair.from_coupling(L1, L2, k).inductance(connection) - 1) == printed(percent)


READ = {"L1": (10.00, 0.046), "L2": (9.60, 0.045), "A": (38.90, 0.180), "B": (0.298, 0.002)}  # mH: value, u


def mutual(L1: Number, L2: Number, A: Number, B: Number) -> Number:
    """M from the two series readings."""
    return mutual_from_series(A, B)


def coupling(L1: Number, L2: Number, A: Number, B: Number) -> Number:
    """k by the textbook route."""
    return coupling_coefficient(L1, L2, mutual(L1, L2, A, B))


def parallel(L1: Number, L2: Number, A: Number, B: Number) -> Number:
    """Parallel-aiding by the textbook route."""
    return parallel_aiding(L1, L2, mutual(L1, L2, A, B))


def leakage(L1: Number, L2: Number, A: Number, B: Number) -> Number:
    """L1(1 - k²) by the textbook route."""
    return short_circuit_1(L1, L2, mutual(L1, L2, A, B))


def closure(L1: Number, L2: Number, A: Number, B: Number) -> Number:
    """Zero for four readings that belong together."""
    return A + B - 2 * (L1 + L2)


def independent() -> list[Input]:
    """Four readings that share no source of error."""
    return [uncertain(name, value, "normal", u) for name, (value, u) in READ.items()]


def one_gain() -> list[Input]:
    """Four readings whose only error is one gain, ±0.5 %, common to all."""
    gain = Component("gain", "rectangular", 0.005)
    return [Input(name, value, ((gain, value),)) for name, (value, _) in READ.items()]


Formula = Callable[..., Number]
INDEPENDENT: list[tuple[Formula, str, str]] = [
    (mutual, "9.6505", "0.0450"),
    (coupling, "0.98495", "0.00562"),
    (parallel, "9.5915", "0.0640"),
    (leakage, "0.2987", "0.1112"),
    (closure, "-0.002", "0.221"),
]


@pytest.mark.parametrize(("formula", "value", "u"), INDEPENDENT)
def test_uncertainty_from_independent_readings(formula: Formula, value: str, u: str) -> None:
    """Four independent readings give the value and its standard uncertainty."""
    estimate = first_order(formula, independent())
    assert estimate.value == printed(value)
    assert estimate.standard_uncertainty == printed(u)


COMMON_GAIN: list[tuple[Formula, str]] = [
    (mutual, "0.02786"),
    (parallel, "0.02769"),
    (leakage, "0.00086"),
]


@pytest.mark.parametrize(("formula", "u"), COMMON_GAIN)
def test_common_gain_scales_every_inductance(formula: Formula, u: str) -> None:
    """One gain common to all readings is left whole in every inductance that they give."""
    assert first_order(formula, one_gain()).standard_uncertainty == printed(u)


def test_common_gain_cancels_in_the_coupling() -> None:
    """One gain common to all readings leaves k without uncertainty."""
    assert first_order(coupling, one_gain()).standard_uncertainty < 1e-15


def test_leakage_from_coupling_is_hopeless_and_from_the_opposing_reading_good() -> None:
    """The difference of near-equal numbers leaves 37 % of uncertainty, the direct reading 0.7 %."""
    by_coupling = first_order(leakage, independent())
    direct = independent()[-1]
    assert 100 * by_coupling.standard_uncertainty / by_coupling.value == printed("37")
    assert 100 * direct.standard_uncertainty / direct.value == printed("0.7")
