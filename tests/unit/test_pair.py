"""A pair of windings: closed forms, closures, the bound of passivity, coordinates, limits.

The example pair is invented; its figures are computed for this test.
"""

import math
from fractions import Fraction

import numpy as np
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from labkit.errors import PassivityError
from labkit.theory import pair as words
from labkit.theory.pair import (
    CLOSED_FORMS,
    STABLE_FORMS,
    Pair,
    coupling_coefficient,
    is_passive,
    mutual_from_series,
    parallel_aiding,
    parallel_opposing,
    passive_range,
    short_circuit_1,
    stable_parallel_aiding,
)
from labkit.theory.wiring import Connection

EXAMPLE = Pair(10.00e-3, 9.96e-3, 25.0e-6)
logarithms = st.floats(-12, 3)
mismatches = st.floats(-4, 4)


@st.composite
def passive_pairs(draw: st.DrawFn) -> Pair:
    """Any passive pair, by the coordinates that know no bound."""
    return Pair.from_coordinates(draw(logarithms), draw(logarithms), draw(mismatches))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("mutual_inductance", 9.9675e-3),
        ("coupling_coefficient", 0.9987495),
        ("series_aiding", 39.895e-3),
        ("series_opposing", 25.0e-6),
        ("mismatch_coefficient", 0.0400526),
        ("mismatch_squared", 0.0400526**2),
        ("parallel_aiding", 9.95775e-3),
        ("parallel_opposing", 6.239974e-6),
        ("short_circuit_1", 24.99435e-6),
        ("short_circuit_2", 24.89438e-6),
        ("leakage_per_winding", 12.47996e-6),
        ("leakage_differential_mode", 25.0e-6),
        ("leakage_short_circuit", 24.99435e-6),
    ],
)
def test_the_example_pair_has_these_figures(name: str, expected: float) -> None:
    """Every quantity of the invented pair, to the digits that were worked out by hand."""
    assert getattr(EXAMPLE, name) == pytest.approx(expected, rel=2e-6)


def test_the_uncoupled_rules_of_the_example_are_far_off() -> None:
    """Two separate inductors of these values would read 19.96 mH in line and 4.98998 mH side by side."""
    apart = Pair.uncoupled(EXAMPLE.L1, EXAMPLE.L2)
    assert apart.series_aiding == apart.series_opposing == pytest.approx(19.96e-3)
    assert apart.parallel_aiding == pytest.approx(4.98998e-3, rel=1e-6)
    assert apart.parallel_opposing == pytest.approx(4.98998e-3, rel=1e-6)
    assert apart.coupling_coefficient == 0


@given(passive_pairs())
def test_closures_hold_for_every_passive_pair(pair: Pair) -> None:
    """A + B = 2(L1 + L2) and P+ B = P- A = Lsc1 L2 = Lsc2 L1 = L1 L2 - M²."""
    A, B = pair.series_aiding, pair.series_opposing
    assert A + B == pytest.approx(2 * (pair.L1 + pair.L2))
    product = pair.parallel_aiding * B
    closing = pytest.approx(product, rel=1e-6, abs=1e-11 * A * B)
    assert pair.parallel_opposing * A == closing
    assert pair.short_circuit_1 * pair.L2 == closing
    assert pair.short_circuit_2 * pair.L1 == closing
    assert pair.L1 * pair.L2 - pair.mutual_inductance**2 == pytest.approx(product, abs=1e-12 * (A + B) ** 2)


@given(passive_pairs())
def test_quarter_law_holds_for_either_polarity(pair: Pair) -> None:
    """P+/A = P-/B = (1 - c²)/4."""
    quarter = pytest.approx((1 - pair.mismatch_squared) / 4, abs=1e-9)
    assert pair.parallel_opposing / pair.series_opposing == quarter
    assert pair.parallel_aiding / pair.series_aiding == quarter


@given(passive_pairs())
def test_coordinates_lead_back_to_the_pair(pair: Pair) -> None:
    """(ln A, ln B, atanh c) and back."""
    again = Pair.from_coordinates(*pair.coordinates)
    assert (again.L1, again.L2) == pytest.approx((pair.L1, pair.L2), rel=1e-6)
    assert pytest.approx(pair.B) == again.B


@given(logarithms, logarithms, mismatches)
def test_every_triple_of_coordinates_is_a_passive_pair(ln_A: float, ln_B: float, atanh_c: float) -> None:
    """No triple is refused, and the pair has the A, B and c that were asked for."""
    pair = Pair.from_coordinates(ln_A, ln_B, atanh_c)
    assert pair.coordinates[:2] == pytest.approx((ln_A, ln_B), abs=1e-6)
    assert math.tanh(pair.coordinates[2]) == pytest.approx(math.tanh(atanh_c), abs=1e-6)


def test_a_pair_that_cannot_be_passive_is_refused_with_the_bound() -> None:
    """The sentence says what was given, the k it would need and both bounds; the error carries them."""
    with pytest.raises(PassivityError) as caught:
        Pair(4.0, 9.0, 0.9)
    facts = {"L1": 4.0, "L2": 9.0, "B": 0.9, "k": 12.1 / 12, "low": 1.0, "high": 25.0}
    assert str(caught.value) == words.NOT_PASSIVE.format(**facts)
    assert caught.value.bound == (1.0, 25.0)
    assert "1 H to 25 H" in str(caught.value)


@pytest.mark.parametrize("B", [0.9999, 25.001, -1.0])
def test_just_beyond_either_bound_is_refused(B: float) -> None:
    """(sqrt L1 - sqrt L2)² <= B <= (sqrt L1 + sqrt L2)²."""
    with pytest.raises(PassivityError):
        Pair(4.0, 9.0, B)
    assert not is_passive(4.0, 9.0, B)


@pytest.mark.parametrize(("B", "k"), [(1.0, 1.0), (25.0, -1.0), (13.0, 0.0)])
def test_the_bounds_themselves_are_full_coupling(B: float, k: float) -> None:
    """B at a bound is k = ±1 and is accepted."""
    assert Pair(4.0, 9.0, B).coupling_coefficient == k
    assert is_passive(4.0, 9.0, B)


@pytest.mark.parametrize(
    ("L1", "L2", "B"),
    [(0.0, 1.0, 1.0), (1.0, -1.0, 1.0)],
)
def test_self_inductances_are_above_zero(L1: float, L2: float, B: float) -> None:
    """Zero and negative are refused with one sentence."""
    with pytest.raises(PassivityError) as caught:
        Pair(L1, L2, B)
    assert str(caught.value) == words.SELF_INDUCTANCES.format(L1=L1, L2=L2)


def test_rounded_mutual_inductance_is_refused_where_the_small_series_reading_is_not() -> None:
    """M = 10.0 mH, as a display shows it, would need k = 1.0020; the formula alone would not notice."""
    assert coupling_coefficient(10.00e-3, 9.96e-3, 10.0e-3) == pytest.approx(1.0020, abs=5e-5)
    assert parallel_aiding(10.00e-3, 9.96e-3, 10.0e-3) == pytest.approx(10.00e-3)
    with pytest.raises(PassivityError, match="k = 1\\.002"):
        Pair.from_mutual(10.00e-3, 9.96e-3, 10.0e-3)


def test_passive_range_is_the_range_of_k() -> None:
    """Its ends are k = 1 and k = -1."""
    low, high = passive_range(4.0, 9.0)
    assert (4 + 9 - low) / (2 * math.sqrt(36)) == 1
    assert (4 + 9 - high) / (2 * math.sqrt(36)) == -1


def test_passivity_of_arrays_goes_element_by_element() -> None:
    """Draws that violate passivity can be counted."""
    B = np.array([0.9, 1.0, 13.0, 25.0, 25.1])
    assert is_passive(4.0, 9.0, B).tolist() == [False, True, True, True, False]


@pytest.mark.parametrize("L", [1.0, 0.3, 9.96e-3])
def test_full_coupling_of_equal_windings_keeps_their_inductance(L: float) -> None:
    """k = 1, L1 = L2: P+ = L, P- = 0, no short-circuit inductance; every value finite."""
    pair = Pair.from_coupling(L, L, 1)
    assert pair.parallel_aiding == pytest.approx(L)
    assert (pair.parallel_opposing, pair.short_circuit_1, pair.B, pair.mismatch_coefficient) == (0, 0, 0, 0)


@pytest.mark.parametrize("relative", [1e-15, 1e-12, 1e-8, 1e-4, 0.5])
def test_full_coupling_of_unequal_windings_shorts_them_out(relative: float) -> None:
    """k = 1, L1 > L2: P+ = 0 however small the difference, and c = 1."""
    L1 = 0.3 * (1 + relative)
    pair = Pair.from_coupling(L1, 0.3, 1)
    assert pair.mismatch_coefficient == pytest.approx(1, rel=1e-9)
    assert pair.parallel_aiding == pytest.approx(0, abs=1e-9)
    assert pair.short_circuit_1 == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("s", [0.0, 0.5, 1.0, 1.9])
def test_between_them_the_way_decides(s: float) -> None:
    """On d = s sqrt(B m) the limit of P+ for B -> 0 is m (1 - s²/4)."""
    for B in (1e-6, 1e-9, 1e-12):
        d = s * math.sqrt(B * 1.0)
        assert Pair(1 + d / 2, 1 - d / 2, B).parallel_aiding == pytest.approx(1 - s**2 / 4, abs=B + 1e-9)


def test_opposite_full_coupling_swaps_the_roles() -> None:
    """k = -1 with equal windings: A = 0, P- = L and P+ = 0."""
    pair = Pair(2.0, 2.0, 8.0)
    assert (pair.series_aiding, pair.parallel_opposing, pair.parallel_aiding) == (0, 2, 0)


@given(passive_pairs())
def test_swapping_the_polarity_swaps_both_connections(pair: Pair) -> None:
    """The pair with -M reads A for B and P- for P+."""
    other = Pair(pair.L1, pair.L2, pair.series_aiding)
    assert other.series_aiding == pytest.approx(pair.B, abs=1e-12 * pair.L1)
    assert other.parallel_opposing == pytest.approx(pair.parallel_aiding, abs=1e-9 * pair.L1, rel=1e-6)
    assert other.mutual_inductance == pytest.approx(-pair.mutual_inductance, abs=1e-12 * pair.L1)


@pytest.mark.parametrize("connection", list(CLOSED_FORMS))
def test_inductance_of_a_connection_is_its_stable_form(connection: Connection) -> None:
    """By name, equal to the textbook form as far as floats let that see."""
    pair, expected = EXAMPLE, STABLE_FORMS[connection](EXAMPLE.L1, EXAMPLE.L2, EXAMPLE.B)
    assert pair.inductance(connection) == expected
    textbook = CLOSED_FORMS[connection](pair.L1, pair.L2, pair.mutual_inductance)
    assert expected == pytest.approx(textbook, rel=1e-9)


def test_an_open_circuit_is_infinite() -> None:
    """`open` has no form and reads infinite; every other connection has both forms."""
    assert EXAMPLE.inductance(Connection.OPEN) == math.inf
    assert set(CLOSED_FORMS) == set(STABLE_FORMS) == set(Connection) - {Connection.OPEN}


def test_stable_forms_keep_their_digits_where_textbook_forms_lose_them() -> None:
    """At 1 - k of 1e-12 the textbook form loses digits that the form in B keeps; fractions are the judge."""
    L1, L2, B = Fraction(1), Fraction(1) - Fraction(1, 10**7), Fraction(2, 10**12)
    exact = float(stable_parallel_aiding(L1, L2, B))
    M = float((L1 + L2 - B) / 2)
    naive = (float(L1) * float(L2) - M * M) / (float(L1) + float(L2) - 2 * M)
    stable = stable_parallel_aiding(float(L1), float(L2), float(B))
    assert stable == pytest.approx(exact, rel=1e-8)
    assert abs(naive / exact - 1) > 1e-6


def test_matrix_carries_the_sign_of_the_dots() -> None:
    """+M for dots on ends of the same name, -M for others."""
    M = EXAMPLE.mutual_inductance
    assert EXAMPLE.matrix() == [[EXAMPLE.L1, M], [M, EXAMPLE.L2]]
    assert EXAMPLE.matrix(dots_alike=False) == [[EXAMPLE.L1, -M], [-M, EXAMPLE.L2]]


def test_three_ways_in_give_the_same_pair() -> None:
    """From B, from M and from k."""
    from_mutual = Pair.from_mutual(EXAMPLE.L1, EXAMPLE.L2, EXAMPLE.mutual_inductance)
    from_coupling = Pair.from_coupling(EXAMPLE.L1, EXAMPLE.L2, EXAMPLE.coupling_coefficient)
    assert pytest.approx(EXAMPLE.B, rel=1e-10) == from_mutual.B
    assert pytest.approx(EXAMPLE.B, rel=1e-10) == from_coupling.B


def test_mutual_inductance_from_series_readings_turns_negative_when_they_are_swapped() -> None:
    """M = (A - B)/4, and -M the other way round."""
    assert mutual_from_series(39.895e-3, 25.0e-6) == pytest.approx(9.9675e-3)
    assert mutual_from_series(25.0e-6, 39.895e-3) == pytest.approx(-9.9675e-3)


def test_a_pair_of_uncertain_numbers_keeps_its_correlations() -> None:
    """A + B - 2(L1 + L2) is zero without any uncertainty; P+ has the derivative of its formula."""
    L1, L2, B = ufloat(10e-3, 20e-6), ufloat(9.96e-3, 20e-6), ufloat(25e-6, 0.1e-6)
    pair = Pair(L1, L2, B)
    closure = pair.series_aiding + pair.series_opposing - 2 * (L1 + L2)
    assert (closure.nominal_value, closure.std_dev) == (pytest.approx(0), pytest.approx(0))
    d = 0.04e-3
    by_hand = math.hypot(
        (0.5 - d / (2 * 25e-6)) * 20e-6,
        (0.5 + d / (2 * 25e-6)) * 20e-6,
        (d**2 / (4 * 25e-6**2) - 0.25) * 0.1e-6,
    )
    assert pair.parallel_aiding.std_dev == pytest.approx(by_hand)
    assert pair.coupling_coefficient.nominal_value == pytest.approx(EXAMPLE.coupling_coefficient)


def test_closed_forms_take_arrays_and_symbols() -> None:
    """One formula for every kind of number."""
    k = np.array([0.0, 0.5, 1.0])
    assert parallel_aiding(1.0, 1.0, k) == pytest.approx([0.5, 0.75, 1.0])
    assert parallel_opposing(1.0, 1.0, k) == pytest.approx([0.5, 0.25, 0.0])
    L1, L2, M = sympy.symbols("L1 L2 M")
    assert sympy.expand(short_circuit_1(L1, L2, M) * L2) == L1 * L2 - M**2


@pytest.mark.parametrize("given", [1 + 1j, math.nan, math.inf, "ten", None])
def test_what_is_no_real_number_is_refused_by_name(given: object) -> None:
    """Complex, not finite, text, nothing: one sentence names the argument, in every way in."""
    for make in (
        lambda: Pair(1e-3, given, 1e-3),
        lambda: Pair(1e-3, 1e-3, given),
        lambda: Pair.from_coupling(1e-3, 1e-3, given),
    ):
        with pytest.raises(PassivityError, match=r"^(L2|B|k) = .* was given, but a pair"):
            make()


def test_a_negative_self_inductance_is_refused_before_its_root() -> None:
    """From a coupling coefficient as from B."""
    with pytest.raises(PassivityError, match="self-inductances are above zero"):
        Pair.from_coupling(-1e-3, 1e-3, 0.5)


@pytest.mark.parametrize("k", [1.0, -1.0])
@pytest.mark.parametrize("L2", [1e-3, 4e-3])
def test_full_coupling_has_no_coordinates(k: float, L2: float) -> None:
    """ln B, ln A or atanh c would be infinite; the refusal says so."""
    with pytest.raises(PassivityError, match=r"coordinates .* exist for \|k\| below 1"):
        _ = Pair.from_coupling(1e-3, L2, k).coordinates


@pytest.mark.parametrize(("bound", "outwards"), [(1.0, -1), (25.0, 1)])
def test_beyond_a_bound_only_rounding_is_let_through(bound: float, outwards: int) -> None:
    """Of a bound at 1 or 25 H a few units of its last digit are rounding, a part in 10^11 is not."""
    inside, beyond = bound + outwards * 4 * math.ulp(bound), bound * (1 + outwards * 1e-11)
    assert is_passive(4.0, 9.0, inside)
    assert Pair(4.0, 9.0, inside).B == inside
    assert not is_passive(4.0, 9.0, beyond)
    with pytest.raises(PassivityError):
        Pair(4.0, 9.0, beyond)
