"""An everyday choke entered at a bench: common practice, no source.

Windings 4.50 and 4.49 mH, 8.7 µH in line with one of them reversed; the meter and its card are invented.
"""

import pytest

from labkit.analysis.analysis import analyse
from labkit.record.bench import Bench
from labkit.theory.wiring import Connection
from tests.benches import typed_bench
from tests.printed import printed

READINGS = {"one": "4.50 mH", "two": "4.49 mH", "line-reversed": "8.7 µH"}
CARD = """
schema = 1
id = "everyday"
title = "Everyday hand-held meter (invented)"
invented = true
source = "invented for this test"

[[ranges]]
quantity = "inductance"
name = "200 µH"
up_to = "199.9 µH"
digit = "0.1 µH"
percent = 0.5
digits = 2
frequencies = ["10 kHz"]

[[ranges]]
quantity = "inductance"
name = "20 mH"
up_to = "19.99 mH"
digit = "10 µH"
percent = 0.5
digits = 2
frequencies = ["10 kHz"]
"""


def bench(**more: str) -> Bench:
    """The three readings and what is read besides, with the invented card."""
    return typed_bench(READINGS | more, card=CARD)


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        ("mutual_inductance", "4.49065", 1e-3),
        ("coefficient", "0.9990328761", 1.0),
        ("leakage_short_circuit", "8.6999059020", 1e-6),
    ],
)
def test_the_record_gives_the_coupling(name: str, value: str, unit: float) -> None:
    """Common practice, no source: M, k and the short-circuit inductance from three entered readings."""
    assert getattr(analyse(bench()).believed, name).value == printed(value, unit)


@pytest.mark.parametrize(
    ("connection", "value", "unit"),
    [
        (Connection.SERIES_AIDING, "17.9713", 1e-3),
        (Connection.PARALLEL_AIDING, "4.4899514368", 1e-3),
        (Connection.PARALLEL_OPPOSING, "2.1736088931", 1e-6),
        (Connection.SHORT_CIRCUIT_1, "8.6999059020", 1e-6),
    ],
)
def test_the_record_predicts_by_the_coupled_rule(connection: Connection, value: str, unit: float) -> None:
    """Common practice, no source: what the other connections should read, to every digit."""
    (row,) = [p for p in analyse(bench()).predictions if p.connection is connection]
    assert row.coupled.estimate.value == printed(value, unit)


@pytest.mark.parametrize(
    ("connection", "millihenries"),
    [(Connection.SERIES_OPPOSING, "8.99"), (Connection.PARALLEL_AIDING, "2.2474972191")],
)
def test_the_record_predicts_by_the_uncoupled_rule(connection: Connection, millihenries: str) -> None:
    """Common practice, no source: what the rules known from resistors would say."""
    (row,) = [p for p in analyse(bench()).predictions if p.connection is connection]
    assert row.uncoupled.estimate.value == printed(millihenries, 1e-3)


def verdicts(made: Bench, id: str) -> dict[str, str]:
    """Verdicts on a reading, by rule."""
    return {c.statement.rule: c.verdict.kind for c in analyse(made).comparisons if c.observation.id == id}


def test_the_parallel_reading_fits_the_coupled_rule_alone() -> None:
    """Common practice, no source: 4.48 mH is consistent with the coupled 4.49 mH, and 2.25 mH is refuted.

    That either winding alone would read the same is said too: the reading alone cannot tell.
    """
    made = bench(side="4.48 mH")
    (coupled,) = [
        c for c in analyse(made).comparisons if c.observation.id == "side" and c.statement.rule == "coupled"
    ]
    assert coupled.shared.passes
    assert coupled.independent.passes
    assert verdicts(made, "side")["uncoupled"] == "inconsistent"


def test_the_series_reading_refutes_the_uncoupled_rule() -> None:
    """Common practice, no source: 8.7 µH refutes 8.99 mH."""
    assert verdicts(bench(), "line-reversed")["uncoupled"] == "inconsistent"


def test_the_mismatch_coefficient() -> None:
    """Common practice, no source: c of the pair that the readings give."""
    by = analyse(bench()).believed
    L1, L2, B = by.route.pair(*[o.value for o in by.observations])
    assert (L1 - L2) / ((2 * (L1 + L2) - B) * B) ** 0.5 == printed("0.0252901047", 1.0)
