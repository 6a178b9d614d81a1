"""What holds for every passive pair, whatever its numbers.

Source: each identity follows from the flux equations of two linear windings. The pairs are drawn as two flux
vectors with fractions for entries, so that every one is passive, full coupling is among them, and the
forward model must be exact: the identities are compared with ==.
"""

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from labkit.errors import PassivityError
from labkit.theory.network import input_inductance
from labkit.theory.pair import (
    CLOSED_FORMS,
    STABLE_FORMS,
    Pair,
    mutual_from_series,
    parallel_aiding,
    passive_range,
)
from labkit.theory.wiring import Connection

Coils = tuple[Fraction, Fraction, Fraction]
HOOK_UPS = {  # dots on 1a and 2a
    "A": "1a 2b | 1b=2a",
    "B": "1a 2a | 1b=2b",
    "P+": "1a 1b | 1a=2a 1b=2b",
    "P-": "1a 1b | 1a=2b 1b=2a",
    "Lsc1": "1a 1b | 2a=2b",
    "Lsc2": "2a 2b | 1a=1b",
}
CONNECTIONS = {
    "A": Connection.SERIES_AIDING,
    "B": Connection.SERIES_OPPOSING,
    "P+": Connection.PARALLEL_AIDING,
    "P-": Connection.PARALLEL_OPPOSING,
    "Lsc1": Connection.SHORT_CIRCUIT_1,
    "Lsc2": Connection.SHORT_CIRCUIT_2,
}

components = st.fractions(min_value=-100, max_value=100, max_denominator=1000)
vectors = st.tuples(components, components).filter(any)
positive = st.fractions(min_value=Fraction(1, 1000), max_value=1000, max_denominator=1000)


@st.composite
def pairs(draw: st.DrawFn) -> Coils:
    """(L1, L2, M) with M² <= L1 L2."""
    (a, b), (c, d) = draw(vectors), draw(vectors)
    return a * a + b * b, c * c + d * d, a * c + b * d


def read(coils: Coils, name: str) -> Fraction:
    """The forward model's reading of one hook-up."""
    L1, L2, M = coils
    answer = input_inductance([[L1, M], [M, L2]], HOOK_UPS[name])
    assert isinstance(answer, Fraction)
    return answer


@pytest.mark.parametrize("name", HOOK_UPS)
@given(coils=pairs())
def test_both_forms_of_a_connection_are_what_the_network_reads(name: str, coils: Coils) -> None:
    """The textbook form in M and the stable form in B equal the forward model, full coupling included."""
    L1, L2, M = coils
    assert CLOSED_FORMS[CONNECTIONS[name]](L1, L2, M) == read(coils, name)
    assert STABLE_FORMS[CONNECTIONS[name]](L1, L2, L1 + L2 - 2 * M) == read(coils, name)


@given(pairs())
def test_mutual_inductance_and_sum_follow_from_the_series_readings(coils: Coils) -> None:
    """M = (A - B)/4 and L1 + L2 = (A + B)/2."""
    L1, L2, M = coils
    A, B = read(coils, "A"), read(coils, "B")
    assert mutual_from_series(A, B) == M
    assert (A + B) / 2 == L1 + L2


@given(pairs())
def test_parallel_times_opposite_series_is_the_determinant(coils: Coils) -> None:
    """P+ B = P- A = Lsc1 L2 = Lsc2 L1 = L1 L2 - M²."""
    L1, L2, M = coils
    determinant = L1 * L2 - M * M
    assert read(coils, "P+") * read(coils, "B") == determinant
    assert read(coils, "P-") * read(coils, "A") == determinant
    assert read(coils, "Lsc1") * L2 == determinant
    assert read(coils, "Lsc2") * L1 == determinant


@given(positive, positive)
def test_without_coupling_the_rules_of_resistors_hold(L1: Fraction, L2: Fraction) -> None:
    """M = 0: series is the sum and parallel is the product over the sum, for either polarity."""
    coils = (L1, L2, Fraction(0))
    assert read(coils, "A") == read(coils, "B") == L1 + L2
    assert read(coils, "P+") == read(coils, "P-") == L1 * L2 / (L1 + L2)


@pytest.mark.parametrize(("hook_up", "with_winding_2_reversed"), [("A", "B"), ("P+", "P-")])
@given(coils=pairs())
def test_moving_one_dot_swaps_aiding_and_opposing(
    hook_up: str, with_winding_2_reversed: str, coils: Coils
) -> None:
    """A winding reversed in the wiring reads like its dot moved to the other end, and back."""
    L1, L2, M = coils
    moved = (L1, L2, -M)
    assert read(coils, with_winding_2_reversed) == read(moved, hook_up)
    assert read(coils, hook_up) == read(moved, with_winding_2_reversed)


@given(pairs())
def test_parallel_never_exceeds_the_smaller_winding(coils: Coils) -> None:
    """0 <= P+ and P- <= min(L1, L2)."""
    for name in ("P+", "P-"):
        assert 0 <= read(coils, name) <= min(coils[:2])


@given(positive, positive)
@example(Fraction(1), Fraction(1))
def test_parallel_reaches_the_smaller_winding_when_mutual_equals_it(L1: Fraction, L2: Fraction) -> None:
    """P+ = min(L1, L2) at M = min(L1, L2), full coupling of equal windings included."""
    M = min(L1, L2)
    assert read((L1, L2, M), "P+") == M
    assert parallel_aiding(L1, L2, M) == M


@given(positive, positive)
@example(Fraction(1), Fraction(1))
def test_full_coupling_of_unequal_windings_shorts_itself(turns1: Fraction, turns2: Fraction) -> None:
    """k = 1: P+ = 0, an ideal transformer shorted on itself, unless the windings are equal: then L."""
    coils = (turns1**2, turns2**2, turns1 * turns2)
    assert read(coils, "P+") == (turns1**2 if turns1 == turns2 else 0)


@given(pairs())
def test_short_circuit_reading_gives_the_coupling(coils: Coils) -> None:
    """Lsc = Loc (1 - k²), so k² = 1 - Lsc/Loc, from either winding."""
    L1, L2, M = coils
    assert 1 - read(coils, "Lsc1") / L1 == 1 - read(coils, "Lsc2") / L2 == M * M / (L1 * L2)


@given(positive, st.fractions(min_value=-1, max_value=1, max_denominator=10**6))
@example(Fraction(1), Fraction(1))
@example(Fraction(1), Fraction(-1))
def test_equal_windings_as_a_choke(L: Fraction, k: Fraction) -> None:
    """L1 = L2 = L: B = 2(L - M), P± = (L ± M)/2, Lsc = L(1 - k²), which nears B as k nears 1."""
    M = k * L
    coils = (L, L, M)
    assert read(coils, "B") == 2 * (L - M)
    assert read(coils, "P+") == (L + M) / 2
    assert read(coils, "P-") == (L - M) / 2
    assert read(coils, "Lsc1") == L * (1 - k * k) == read(coils, "B") * (1 + k) / 2


inductances = st.floats(min_value=1e-7, max_value=10)


@given(inductances, inductances, st.floats(min_value=1e-6, max_value=10), st.booleans())
def test_impossible_pair_is_refused_with_the_bound(L1: float, L2: float, excess: float, above: bool) -> None:
    """|k| > 1, by an opposing reading too small or too large, is an error that carries the bound."""
    low, high = passive_range(L1, L2)
    B = high + excess * (L1 + L2) if above else low - excess * (L1 + L2)
    with pytest.raises(PassivityError) as caught:
        Pair(L1, L2, B)
    assert caught.value.bound == (low, high)


@given(inductances, inductances, st.floats(min_value=-1, max_value=1))
@example(1.0, 2.0, 1.0)
@example(1.0, 2.0, -1.0)
def test_possible_pair_is_taken(L1: float, L2: float, k: float) -> None:
    """Every |k| <= 1 is a pair, both limits included."""
    # Held as B = L1 + L2 - 2M, very unequal windings keep only those digits of M that L1 + L2 can show.
    resolution = 4e-16 * (L1 + L2) / (L1 * L2) ** 0.5
    assert Pair.from_coupling(L1, L2, k).coupling_coefficient == pytest.approx(k, abs=resolution + 1e-15)
