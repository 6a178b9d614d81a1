"""Influences with a size: planted they come back with their sign, and small ones are not asked for.

Parts and meters are invented.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest

from labkit.analysis.amounts import AMOUNTS, Amount, reads
from labkit.analysis.joint_fit import fit, model, would_identify
from labkit.analysis.observations import Observation, observe
from labkit.errors import MissingReading
from labkit.record.card import read_card
from labkit.record.virtual_bench import VirtualBench
from labkit.resources import shipped
from labkit.theory.circuit import series_inductance
from labkit.theory.network import input_impedance
from labkit.theory.pair import STABLE_FORMS, Pair
from labkit.theory.wiring import Connection, Wiring
from labkit.uncertainty.components import Input
from labkit.uncertainty.propagate import Estimate
from labkit.words import analysis as words
from tests.benches import ALL_WIRINGS, virtual_bench

PAIR = Pair(L1=10.00e-3, L2=9.90e-3, B=60.0e-6)
BY_NAME = {amount.name: amount for amount in AMOUNTS}
F = 10e3
W = 2 * math.pi * F
IDS = tuple(ALL_WIRINGS)
LOW = ("one", "line")

PLANTED = {
    "lead inductance": 0.5e-6,
    "capacitance": 300e-12,
    "self-capacitance": 300e-12,
    "board capacitor": 0.3e-9,
    "shorting resistance": 40.0**2,
    "level": -3.0,
    "core change": 3.0,
    "drift": -1.0,
}
"""Sizes that the fine meter sees clearly, not all of a usual size; of the resistance its square."""


def observed(ids: Iterable[str] = IDS, *, low: bool = True) -> tuple[Observation, ...]:
    """Readings of the pair with the fine meter's uncertainties at 10 kHz, then some at 1 kHz."""
    meter = VirtualBench(PAIR.matrix(), read_card(shipped("data", "cards", "bench-fine.toml")), 5)
    bench = virtual_bench(meter, ids, "bench-fine")
    for id in LOW if low else ():
        bench.read(ALL_WIRINGS[id], meter.shown(ALL_WIRINGS[id]), f"{id}-low", frequency="1 kHz")
    return observe(bench)


def with_amount(name: str, size: float, ids: Iterable[str] = IDS) -> tuple[Observation, ...]:
    """The readings as a meter without errors would show them with an influence at work."""
    plain = observed(ids)
    ideal = {c: complex(form(PAIR.L1, PAIR.L2, PAIR.B)) for c, form in STABLE_FORMS.items()}
    shown = reads(BY_NAME[name], ideal, plain, size).real
    return tuple(
        replace(o, input=Input(o.id, float(y), o.input.terms)) for o, y in zip(plain, shown, strict=True)
    )


def size_of(name: str, observations: Iterable[Observation]) -> Estimate:
    size = fit(tuple(observations), BY_NAME[name]).size
    assert size is not None
    return size


def asked_for(size: Estimate) -> bool:
    """Beyond twice its uncertainty."""
    return abs(size.value) > 2 * size.standard_uncertainty


def test_every_amount_has_its_words_and_its_planted_case() -> None:
    """No amount without title, usual size, cure, and a case in this file."""
    assert len(AMOUNTS) == len(BY_NAME)
    for table in (words.AMOUNTS_TITLE, words.USUAL, words.CURE, PLANTED):
        assert set(table) == set(BY_NAME)


@pytest.mark.parametrize("name", PLANTED)
def test_planted_size_is_recovered_with_its_sign(name: str) -> None:
    """From exact readings with the influence at work its size comes back, beyond twice its uncertainty."""
    size = size_of(name, with_amount(name, PLANTED[name]))
    assert size.value == pytest.approx(PLANTED[name], rel=0.02)
    assert asked_for(size)


GROWS = {
    "lead inductance": IDS,
    "capacitance": IDS,
    "self-capacitance": IDS,
    "board capacitor": ("line", "line-reversed", "side-reversed"),
    "shorting resistance": ("one-shorted", "two-shorted"),
    "level": ("line",),
    "core change": ("line", "side"),
    "drift": ("two", "line", "side"),
}
"""Which readings a positive size makes larger, in the order in which they were taken."""


@pytest.mark.parametrize("name", GROWS)
def test_positive_size_makes_these_readings_larger_and_no_others(name: str) -> None:
    """What the sign means, reading by reading."""
    size = abs(PLANTED[name])
    plain, changed = ({o.id: o.value for o in with_amount(name, s)} for s in (0.0, size))
    assert {id for id in IDS if changed[id] > plain[id] * (1 + 1e-9)} == set(GROWS[name])
    assert {id for id in IDS if changed[id] < plain[id] * (1 - 1e-9)} == set()


def test_drift_grows_from_reading_to_reading() -> None:
    """A drift of 1 % a reading: the third reading is 2 % up on the first."""
    drifted = {o.id: o.value for o in with_amount("drift", 1.0)}
    assert drifted["line"] == pytest.approx(1.02 * PAIR.inductance(Connection.SERIES_AIDING))


@pytest.mark.parametrize("name", PLANTED)
def test_the_opposite_sign_is_recovered_too(name: str) -> None:
    """An influence of the other sign is found with that sign; nothing is clipped at zero."""
    size = size_of(name, with_amount(name, -PLANTED[name]))
    assert size.value == pytest.approx(-PLANTED[name], rel=0.02)


@pytest.mark.parametrize("name", PLANTED)
def test_near_miss_is_not_asked_for(name: str) -> None:
    """An influence of half its own uncertainty is not asked for."""
    u = size_of(name, with_amount(name, PLANTED[name])).standard_uncertainty
    size = size_of(name, with_amount(name, 0.5 * u))
    assert not asked_for(size)


@pytest.mark.parametrize("name", PLANTED)
def test_influence_leaves_the_pair_as_it_is(name: str) -> None:
    """With the influence fitted beside it the series-opposing inductance of the pair is as without."""
    found = fit(with_amount(name, PLANTED[name]), BY_NAME[name])
    B = math.exp(found.parameters[1].value)
    assert pytest.approx(PAIR.B, rel=1e-3) == B


@pytest.mark.parametrize(
    ("name", "usual", "unusual"),
    [
        ("lead inductance", 0.3e-6, -0.3e-6),
        ("capacitance", 50e-12, -50e-12),
        ("self-capacitance", 50e-12, 5e-9),
        ("board capacitor", 0.47e-6, 50e-12),
        ("shorting resistance", 0.5, 40.0),
        ("level", -2.0, 20.0),
        ("core change", 2.0, -20.0),
        ("drift", 0.3, 5.0),
    ],
)
def test_plausible_sizes_are_told_from_others(name: str, usual: float, unusual: float) -> None:
    """Sizes seen in practice are plausible, sizes or signs that are not are not."""
    assert BY_NAME[name].is_plausible(usual)
    assert not BY_NAME[name].is_plausible(unusual)


@pytest.mark.parametrize("id", IDS)
def test_self_capacitance_is_what_the_network_says(id: str) -> None:
    """Every wiring with a capacitance across each winding reads what the network says."""
    C = 300e-12
    Z = input_impedance(PAIR.matrix(), ALL_WIRINGS[id], F, R=[0.0, 0.0], C=[C, C])
    shown = {o.id: o.value for o in with_amount("self-capacitance", C)}[id]
    assert shown == pytest.approx(float(series_inductance(Z, F)), rel=1e-9)


@pytest.mark.parametrize("id", [i for i in IDS if i != "side"])
def test_board_capacitor_is_what_the_network_says(id: str) -> None:
    """A capacitor from 1a to 2a, as a third uncoupled branch of the network, reads the same.

    Side by side it is shorted by the tie.
    """
    C = 0.3e-9
    L_C = -1 / (W**2 * C)  # a capacitance is a negative inductance at one frequency
    L = [[*row, 0.0] for row in PAIR.matrix()] + [[0.0, 0.0, L_C]]
    wiring = Wiring.parse(ALL_WIRINGS[id])
    ties = " ".join(["1a=3a 2a=3b", *(f"{a}={b}" for a, b in wiring.ties)])
    clips = " ".join(map(str, wiring.clips))
    Z = input_impedance(L, f"{clips} | {ties}", F)
    shown = {o.id: o.value for o in with_amount("board capacitor", C)}[id]
    assert shown == pytest.approx(float(series_inductance(Z, F)), rel=1e-9)


def test_board_capacitor_leaves_side_by_side_alone() -> None:
    """The tie from 1a to 2a shorts it, so P+ is as on the bench, while series-aiding is far too large."""
    plain, changed = (
        {o.id: o.value for o in with_amount("board capacitor", C)} for C in (0.0, PLANTED["board capacitor"])
    )
    assert changed["side"] == plain["side"]
    assert changed["line"] > 1.01 * plain["line"]


def test_level_and_core_change_are_told_apart_by_the_reading_side_by_side() -> None:
    """Level moves series-aiding alone, so that P+ is no longer (A/4)(1 - c²); a core change keeps that."""
    level = fit(with_amount("level", -3.0), BY_NAME["core change"])
    core = fit(with_amount("core change", -3.0), BY_NAME["core change"])
    assert level.chi_squared > 20
    assert core.chi_squared < 0.1


def test_shorting_resistance_adds_what_the_formula_says() -> None:
    """Lsc grows by (M²/L2) R²/(R² + ω²L2²)."""
    R, M = 40.0, (PAIR.L1 + PAIR.L2 - PAIR.B) / 2
    plain, changed = ({o.id: o.value for o in with_amount("shorting resistance", r * r)} for r in (0.0, R))
    more = M**2 / PAIR.L2 * R**2 / (R**2 + (W * PAIR.L2) ** 2)
    assert changed["one-shorted"] - plain["one-shorted"] == pytest.approx(more, rel=1e-9)
    assert changed["line-reversed"] == plain["line-reversed"]


def test_shorting_resistance_needs_the_short_circuit_test() -> None:
    """Without a short-circuit reading nothing is said, and both such readings are named as what would."""
    ids = ("one", "two", "line-reversed", "side")
    cures = would_identify(observed(ids, low=False), BY_NAME["shorting resistance"])
    assert cures == (Connection.SHORT_CIRCUIT_1, Connection.SHORT_CIRCUIT_2)


def test_self_capacitance_is_another_pair_at_one_frequency() -> None:
    """At one frequency it changes every reading as another pair would: chi² is 0 without it, and no size."""
    single = tuple(o for o in with_amount("self-capacitance", 300e-12) if not o.id.endswith("low"))
    assert fit(single).chi_squared < 1e-9
    assert would_identify(single, BY_NAME["self-capacitance"]) == ()
    with pytest.raises(MissingReading, match="say nothing about the self-capacitance"):
        fit(single, BY_NAME["self-capacitance"])


def test_capacitance_without_a_frequency_is_never_identified() -> None:
    """Where no frequency is recorded, no further reading of that kind helps."""
    unknown = tuple(
        replace(o, readings=tuple(replace(r, frequency=None) for r in o.readings)) for o in observed()
    )
    assert would_identify(unknown, BY_NAME["capacitance"]) == ()


def test_slopes_of_every_amount_are_those_of_differences() -> None:
    """The complex step gives the slope that a small difference gives, for every amount."""
    observations, t = observed(), np.array([*PAIR.coordinates, 0.0])
    for amount in AMOUNTS:
        t[3] = PLANTED[amount.name]
        assert np.allclose(_exact(amount, observations, t), _difference(amount, observations, t), rtol=1e-5)


def _exact(amount: Amount, observations: tuple[Observation, ...], t: np.ndarray) -> np.ndarray:
    step = np.array([0, 0, 0, 1e-30j])
    return np.asarray(model(observations, t + step, amount).imag / 1e-30)


def _difference(amount: Amount, observations: tuple[Observation, ...], t: np.ndarray) -> np.ndarray:
    step = np.array([0, 0, 0, 1e-4 * abs(t[3])])
    above, below = (model(observations, t + sign * step, amount) for sign in (1, -1))
    return np.asarray((above - below) / (2 * step[3]))
