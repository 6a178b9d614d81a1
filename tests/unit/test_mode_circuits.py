"""Modes by the tying of terminals, for every description of a part, and circuits around them."""

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest

from labkit.errors import EntryError, LabkitError, ShapeError, WiringError
from labkit.theory import lossy_pair as corners
from labkit.theory.choke import Choke
from labkit.theory.insertion import (
    CISPR_17,
    Capacitor,
    Filter,
    Termination,
    against_network,
    insertion_loss,
    nominal_network,
    series_loss,
)
from labkit.theory.modes import (
    Mode,
    Part,
    mode_inductance,
    part_of_choke,
    part_of_impedances,
    part_of_inductances,
    part_of_pair,
    part_of_scattering,
    scattering_of,
    tying,
)
from labkit.theory.network import identify, input_impedance
from labkit.theory.nodes import GROUND, between, port_impedances
from labkit.theory.pair import Pair
from labkit.theory.wiring import Connection, all_wirings, parse_dots
from tests.chokes import NEARLY_EQUAL as CHOKE
from tests.chokes import TRIO

CM, DM = Mode.COMMON, Mode.DIFFERENTIAL
F = np.geomspace(1e3, 30e6, 31)
PAIR = Pair(10.00e-3, 9.96e-3, 25.0e-6)
DOTS = ("1a 2a", "1a 2b", "1b 2a", "1b 2b")
MIRRORED = Choke(
    CHOKE.R,
    CHOKE.leakage,
    CHOKE.core,
    (1, -1.002),
    CHOKE.relaxation,
    CHOKE.C,
    CHOKE.between,
)
PORTS = ("1a", "2a", "1b", "2b")


@pytest.mark.parametrize("dots", DOTS)
def test_tying_is_side_by_side_aiding_and_in_line_opposing(dots: str) -> None:
    """Wherever the dots are, common mode is parallel-aiding and differential mode series-opposing."""
    marked = parse_dots(dots)
    assert identify(tying(CM, marked), marked) is Connection.PARALLEL_AIDING
    assert identify(tying(DM, marked), marked) is Connection.SERIES_OPPOSING


def test_mode_inductance_is_exact() -> None:
    """Fractions stay fractions: P+ and B of a pair, dots on unlike ends included."""
    L1, L2, M = Fraction(13), Fraction(7), Fraction(5)
    for dots, sign in (("1a 2a", 1), ("1a 2b", -1)):
        L = [[L1, sign * M], [sign * M, L2]]
        assert mode_inductance(L, CM, parse_dots(dots)) == Fraction(13 * 7 - 25, 13 + 7 - 10)
        assert mode_inductance(L, DM, parse_dots(dots)) == 10


def test_three_equal_windings() -> None:
    """Three equal windings: (L + 2M)/3 in common mode, 2(L - M) from any line to any other."""
    L, M = Fraction(10), Fraction(9)
    matrix = [[L, M, M], [M, L, M], [M, M, L]]
    dots = parse_dots("1a 2a 3a", 3)
    assert mode_inductance(matrix, CM, dots) == Fraction(28, 3)
    for lines in itertools.permutations((1, 2, 3), 2):
        assert mode_inductance(matrix, DM, dots, lines) == 2


@pytest.mark.parametrize("choke", [CHOKE, MIRRORED, TRIO], ids=["pair", "mirrored", "trio"])
def test_a_part_sees_every_wiring_as_the_choke_does(choke: Choke) -> None:
    """The general solver and the choke's own give the same impedance in every wiring that conducts."""
    part = part_of_choke(choke)
    wirings = list(all_wirings(choke.windings))[:: 1 if choke.windings == 2 else 40]
    seen = 0
    for wiring in wirings:
        expected = choke.impedance(wiring, F)
        if np.isfinite(expected).all():
            np.testing.assert_allclose(part.impedance(wiring, F), expected, rtol=1e-8, err_msg=str(wiring))
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("mode", list(Mode))
def test_all_descriptions_of_one_part_agree(mode: Mode) -> None:
    """Inductances, impedances of the windings, choke and scattering parameters give one mode impedance."""
    plain = Choke(R=(0.1, 0.2), leakage=(12e-6, 13e-6), core=10e-3, turns=(1, -1.002))
    L = plain.inductance_matrix(1.0)[0].real
    Z = np.diag(plain.R) + (2j * np.pi * F)[:, None, None] * L
    S = plain.scattering(F, PORTS, (50, 75, 50, 60))
    wiring = tying(mode, parse_dots("1a 2b"))
    expected = input_impedance(L.tolist(), wiring, F, plain.R.tolist())
    for part in (
        part_of_inductances(L, "1a 2b", plain.R),
        part_of_pair(plain.pair(), "1a 2b", plain.R),
        part_of_impedances(F, Z, "1a 2b"),
        part_of_choke(plain),
        part_of_scattering(F, S, (50, 75, 50, 60), PORTS, "1a 2b"),
    ):
        np.testing.assert_allclose(part.mode_impedance(mode, F), expected, rtol=1e-6)


def test_ports_in_any_stated_order() -> None:
    """The same four-port in another order of its ports is the same part, if the order is stated."""
    for order in itertools.permutations(PORTS):
        S = CHOKE.scattering(F, order)
        part = part_of_scattering(F, S, 50.0, order)
        np.testing.assert_allclose(part.mode_impedance(CM, F), CHOKE.impedance(tying(CM, part.dots), F))


def test_capacitance_to_ground_is_not_lost() -> None:
    """A four-port with capacitance from its ends to ground loses more in common mode than without."""
    Y = CHOKE.admittance(F)
    jw = (2j * np.pi * F)[:, None, None]
    bare, tied = (
        part_of_scattering(F, scattering_of(Y + jw * C * np.eye(4), 50.0), 50.0, "1a 1b 2a 2b")
        for C in (0.0, 100e-12)
    )
    with_capacitors = Filter(part_of_choke(CHOKE), y_source=Capacitor(100e-12), y_load=Capacitor(100e-12))
    for mode in Mode:
        losses = [
            insertion_loss(filter, mode, Termination.of(50, 50), F)
            for filter in (Filter(tied), with_capacitors, Filter(bare), Filter(part_of_choke(CHOKE)))
        ]
        np.testing.assert_allclose(losses[0], losses[1], atol=1e-6)
        np.testing.assert_allclose(losses[2], losses[3], atol=1e-6)
        assert np.abs(losses[0] - losses[2]).max() > 1


@pytest.mark.parametrize("mode", list(Mode))
@pytest.mark.parametrize("ends", CISPR_17, ids=lambda ends: ends.name)
def test_a_choke_alone_loses_by_the_closed_form(mode: Mode, ends: Termination) -> None:
    """Without capacitors the circuit is the mode impedance in series."""
    part = part_of_choke(CHOKE)
    source, load = ends.at(F)
    expected = series_loss(part.mode_impedance(mode, F), source, load)
    if mode is DM:  # capacitance between the windings lies across source and load, not in series
        part = part_of_pair(PAIR)
        expected = series_loss(part.mode_impedance(mode, F), source, load)
    np.testing.assert_allclose(insertion_loss(Filter(part), mode, ends, F), expected, atol=1e-9)


def test_x_capacitors_do_nothing_in_common_mode_and_y_capacitors_little_in_differential_mode() -> None:
    """An X-capacitor between lines that move together carries no current; two Y stand in series as C/2."""
    part = part_of_pair(PAIR)
    fifty = Termination.of(50, 50)
    with_x = Filter(part, x_source=Capacitor(1e-6), x_load=Capacitor(1e-6))
    np.testing.assert_allclose(
        insertion_loss(with_x, CM, fifty, F), insertion_loss(Filter(part), CM, fifty, F), atol=1e-9
    )
    with_y, half = Filter(part, y_load=Capacitor(4.7e-9)), Filter(part, x_load=Capacitor(2.35e-9))
    np.testing.assert_allclose(
        insertion_loss(with_y, DM, fifty, F), insertion_loss(half, DM, fifty, F), atol=1e-9
    )
    assert not Filter(part).has_capacitors
    assert with_y.has_capacitors


def test_the_side_of_a_capacitor_counts_and_is_not_swapped() -> None:
    """Between 0.1 Ω and 100 Ω a capacitor works on the load side and hardly on the source side."""
    part, ends = part_of_pair(PAIR), Termination.of(0.1, 100)
    for mode, source, load in ((DM, "x_source", "x_load"), (CM, "y_source", "y_load")):
        at_source, at_load = (
            insertion_loss(Filter(part, **{place: Capacitor(1e-6)}), mode, ends, 1e6)[0]
            for place in (source, load)
        )
        assert at_load > at_source + 20
        turned = insertion_loss(
            Filter(part, **{source: Capacitor(1e-6)}), mode, Termination.of(100, 0.1), 1e6
        )
        assert turned == pytest.approx(at_load)  # reciprocity


def test_a_resonant_capacitor() -> None:
    """With its leads a capacitor is a short but for its resistance at 1/(2π√(LC))."""
    capacitor = Capacitor(100e-9, R=0.05, L=10e-9)
    f = np.array([corners.resonance(10e-9, 100e-9)])
    assert 1 / capacitor.admittance(f) == pytest.approx(0.05)


def test_the_network_matters_at_low_frequency_only() -> None:
    """Against 50 Ω ∥ 50 µH the loss differs from 25 Ω by over 1 dB at 150 kHz, by below 0.1 dB at 30 MHz."""
    part = part_of_pair(PAIR)
    f = np.array([150e3, 30e6])
    nominal = insertion_loss(Filter(part), CM, nominal_network(CM), f)
    real = insertion_loss(Filter(part), CM, against_network(CM, 25), f)
    assert abs(real - nominal)[0] > 1
    assert abs(real - nominal)[1] < 0.1
    damped = insertion_loss(Filter(part), CM, against_network(CM, 25, series_resistance=5), f)
    assert damped[0] != pytest.approx(real[0], abs=1e-3)


def test_choke_corner_is_three_decibels() -> None:
    """At (Rs + RL)/(2πL) an inductance in series loses 10 log10 2."""
    for mode, L in ((CM, PAIR.parallel_aiding), (DM, PAIR.B)):
        f = corners.choke_corner(L, 50, 50)
        found = insertion_loss(Filter(part_of_pair(PAIR)), mode, Termination.of(50, 50), f)
        assert found == pytest.approx(10 * math.log10(2))


@pytest.mark.parametrize("x", [0.1, 1.0, 10.0])
def test_the_mismatch_shows_with_its_weight(x: float) -> None:
    """With R1 = R2 the parallel reading falls short of m - B/4 by d²/(4B) times x²/(1 + x²)."""
    R = 0.05
    corner = corners.resistance_corner(R, R, PAIR.B)
    f = x * corner
    Z = part_of_pair(PAIR, R=(R, R)).mode_impedance(CM, f)[0]
    m, d = (PAIR.L1 + PAIR.L2) / 2, PAIR.L1 - PAIR.L2
    short = m - PAIR.B / 4 - Z.imag / (2 * math.pi * f)
    assert short / (d * d / (4 * PAIR.B)) == pytest.approx(corners.mismatch_weight(f, corner), rel=1e-6)


def test_k_of_one_has_answers() -> None:
    """Two equal windings with k = 1 lose nothing in differential mode and by L in common mode."""
    part = part_of_pair(Pair.from_coupling(1e-3, 1e-3, 1.0))
    assert insertion_loss(Filter(part), DM, Termination.of(50, 50), F) == pytest.approx(0, abs=1e-9)
    expected = series_loss(2j * np.pi * F * 1e-3, 50, 50)
    assert insertion_loss(Filter(part), CM, Termination.of(50, 50), F) == pytest.approx(expected)


def test_a_node_that_nothing_leads_to_is_harmless(monkeypatch: pytest.MonkeyPatch) -> None:
    """An island keeps 0 V by itself; the slow way for circuits that leave a current open is not taken."""
    monkeypatch.delattr(np.linalg, "pinv")
    f = np.array([1.0])
    elements = [between("a", "b", 2.0, f), between("c", "d", 0.0, f), between("c", GROUND, 0.0, f)]
    assert port_impedances(elements, [("a", "b")])[:, 0, 0] == pytest.approx(0.5)


def _measured() -> Part:
    return part_of_scattering(F, CHOKE.scattering(F), 50.0)


REFUSED = [
    (lambda: tying("commonmode", parse_dots("1a 2a")), EntryError, "is not a mode"),
    (lambda: tying(CM, parse_dots("1a", 1)), WiringError, "One winding has no modes"),
    (lambda: tying(DM, parse_dots("1a 2a"), (1, 1)), WiringError, "two different numbers"),
    (lambda: tying(DM, parse_dots("1a 2a"), (1, 3)), WiringError, "numbers from 1 to 2"),
    (lambda: _measured().elements(np.array([1234.5])), EntryError, "nothing is interpolated"),
    (lambda: part_of_pair(PAIR).elements(np.array([0.0])), EntryError, "above zero"),
    (
        lambda: part_of_scattering(F, CHOKE.scattering(F), 50.0, "1a 1b 2a 1a"),
        WiringError,
        "every terminal",
    ),
    (lambda: part_of_inductances([[1.0, 2.0]], "1a"), ShapeError, "a row and a column"),
    (lambda: Capacitor(0.0), EntryError, "is no capacitor"),
    (lambda: Capacitor(1e-9, R=-1), EntryError, "is no capacitor"),
    (lambda: Termination.of(0.0, 50).at(F), EntryError, "above zero"),
    (lambda: Termination.of(50, math.inf).at(F), EntryError, "above zero"),
]


@pytest.mark.parametrize(("call", "error", "words"), REFUSED, ids=[words for _, _, words in REFUSED])
def test_bad_input_gets_one_sentence(call: object, error: type[LabkitError], words: str) -> None:
    """What was given, what is accepted, what to do."""
    assert callable(call)
    with pytest.raises(error, match=words):
        call()
