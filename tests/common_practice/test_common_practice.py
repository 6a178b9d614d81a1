"""An everyday choke in numbers that any bench would find: common practice, no source.

Two windings of 4.50 and 4.49 mH, and 8.7 µH in line with one of them reversed; all else follows from these.
Digits printed here count to half a unit of the last one.
"""

import pytest

from labkit.theory.network import input_inductance
from labkit.theory.pair import Pair
from tests.printed import printed

PAIR = Pair(4.50e-3, 4.49e-3, 8.7e-6)
COEFFICIENTS = [
    ("mutual_inductance", "4.49065", 1e-3),
    ("coupling_coefficient", "0.9990328761", 1.0),
    ("mismatch_coefficient", "0.0252901047", 1.0),
]
SERIES_OPPOSING = ("series_opposing", "1a 2a | 1b=2b", "8.7", 1e-6)  # what the pair is made of
HOOK_UPS = [
    ("series_aiding", "1a 2b | 1b=2a", "17.9713", 1e-3),
    ("parallel_aiding", "1a 1b | 1a=2a 1b=2b", "4.4899514368", 1e-3),
    ("parallel_opposing", "1a 1b | 1a=2b 1b=2a", "2.1736088931", 1e-6),
    ("short_circuit_1", "1a 1b | 2a=2b", "8.6999059020", 1e-6),
]


@pytest.mark.parametrize(("name", "value", "unit"), COEFFICIENTS)
def test_pair_gives_the_coefficient(name: str, value: str, unit: float) -> None:
    """Common practice, no source: M, k and c of the pair, to every digit."""
    assert getattr(PAIR, name) == printed(value, unit)


@pytest.mark.parametrize(("name", "wiring", "value", "unit"), HOOK_UPS)
def test_pair_gives_the_inductance(name: str, wiring: str, value: str, unit: float) -> None:
    """Common practice, no source: the stable forms, to every digit."""
    assert getattr(PAIR, name) == printed(value, unit)


@pytest.mark.parametrize(("name", "wiring", "value", "unit"), [*HOOK_UPS, SERIES_OPPOSING])
def test_network_reads_the_inductance(name: str, wiring: str, value: str, unit: float) -> None:
    """Common practice, no source: the forward model of L1, L2 and M, to every digit."""
    assert input_inductance(PAIR.matrix(), wiring) == printed(value, unit)


UNCOUPLED = [("series_opposing", "8.99"), ("parallel_aiding", "2.2474972191")]


@pytest.mark.parametrize(("name", "millihenries"), UNCOUPLED)
def test_uncoupled_rule_says(name: str, millihenries: str) -> None:
    """Common practice, no source: what the rules of resistors would make of the two windings."""
    assert getattr(Pair.uncoupled(PAIR.L1, PAIR.L2), name) == printed(millihenries, 1e-3)
