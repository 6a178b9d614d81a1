"""The forward model without loss, against independent answers: linear algebra, energy, limits.

All figures are computed for these tests; the parts are invented.
"""

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from labkit.errors import EntryError, ShapeError, WiringError
from labkit.theory.network import identify, input_impedance, input_inductance, path_and_loops
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots
from labkit.words import theory as words

PAIR = [[10.00e-3, 9.9675e-3], [9.9675e-3, 9.96e-3]]
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
SHORTED = "1a 1b | 2a=2b"
SIGNS = [(1, 1), (1, -1), (1, 1, 1), (1, -1, 1), (-1, 1, 1, -1), (1, 1, -1, 1, 1)]


def random_matrix(rng: np.random.Generator, windings: int) -> Any:
    """Positive semidefinite, about 1 H on the diagonal."""
    flux = rng.normal(size=(windings, windings))
    return flux @ flux.T


def in_line(signs: tuple[int, ...]) -> str:
    """All windings in line, those with sign -1 reversed."""
    ends = [("ab" if sign > 0 else "ba") for sign in signs]
    ties = [f"{w}{ends[w - 1][1]}={w + 1}{ends[w][0]}" for w in range(1, len(signs))]
    return f"1{ends[0][0]} {len(signs)}{ends[-1][1]} | {' '.join(ties)}"


def side_by_side(signs: tuple[int, ...]) -> str:
    """All windings side by side, those with sign -1 reversed."""
    ends = [("ab" if sign > 0 else "ba") for sign in signs]
    first, second = ("=".join(f"{w}{end[side]}" for w, end in enumerate(ends, 1)) for side in (0, 1))
    return f"1{ends[0][0]} 1{ends[0][1]} | {first} {second}"


@pytest.mark.parametrize("signs", SIGNS)
def test_windings_in_line_have_the_signed_sum_of_all_entries(signs: tuple[int, ...]) -> None:
    """In line: s' L s, for random matrices."""
    rng, s = np.random.default_rng(1), np.array(signs)
    for _ in range(20):
        L = random_matrix(rng, len(signs))
        assert input_inductance(L.tolist(), in_line(signs)) == pytest.approx(s @ L @ s, rel=1e-12)


@pytest.mark.parametrize("signs", SIGNS)
def test_windings_side_by_side_have_the_inverse_of_the_signed_inverse(signs: tuple[int, ...]) -> None:
    """Side by side: 1/(s' L^-1 s), for random matrices, by a linear solver that the model does not use."""
    rng, s = np.random.default_rng(2), np.array(signs)
    for _ in range(20):
        L = random_matrix(rng, len(signs)) + 0.01 * np.eye(len(signs))
        expected = 1 / (s @ np.linalg.solve(L, s))
        assert input_inductance(L.tolist(), side_by_side(signs)) == pytest.approx(expected, rel=1e-9)


def test_the_shorted_windings_reduce_the_first_by_a_schur_complement() -> None:
    """One winding with two others shorted: L11 - L1r Lrr^-1 Lr1."""
    rng = np.random.default_rng(3)
    for _ in range(20):
        L = random_matrix(rng, 3)
        expected = L[0, 0] - L[0, 1:] @ np.linalg.solve(L[1:, 1:], L[1:, 0])
        assert input_inductance(L.tolist(), "1a 1b | 2a=2b 3a=3b") == pytest.approx(expected, rel=1e-8)


def least_energy(L: Any, wiring: Wiring, windings: int) -> float:
    """Twice the least energy for unit current, by minimising over the loop currents numerically."""
    found = path_and_loops(wiring, windings)
    assert found is not None
    path, loops = np.array(found[0]), np.array(found[1]).reshape(-1, windings)
    flux = np.linalg.cholesky(L + 1e-15 * np.eye(windings)).T
    extra = np.linalg.lstsq((loops @ flux.T).T, -flux @ path, rcond=None)[0] if len(loops) else np.zeros(0)
    return float(np.sum((flux @ (path + loops.T @ extra)) ** 2))


def test_every_wiring_takes_the_least_energy() -> None:
    """The input inductance is the least of i' L i over all currents that the nodes allow, at least 0."""
    rng = np.random.default_rng(4)
    wirings = [w for w in all_wirings(3) if path_and_loops(w, 3) is not None]
    for wiring in rng.permutation(np.array(wirings, dtype=object))[:150]:
        L = random_matrix(rng, 3)
        answer = input_inductance(L.tolist(), wiring)
        assert answer == pytest.approx(least_energy(L, wiring, 3), rel=1e-7, abs=1e-10)
        assert answer >= -1e-12


def test_one_more_tie_never_raises_the_inductance() -> None:
    """A tie adds a way for current, so the least energy can only fall."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        L = random_matrix(rng, 3).tolist()
        loose = input_inductance(L, "1a 2b | 1b=2a")
        tied = input_inductance(L, "1a 2b | 1b=2a 3a=3b")
        more = input_inductance(L, "1a 2b | 1b=2a 3a=3b 3a=1a 3b=2b")
        assert more <= tied + 1e-12 <= loose + 2e-12


@pytest.mark.parametrize("windings", [2, 3, 4])
def test_full_coupling_is_finite_for_every_wiring(windings: int) -> None:
    """k = 1 throughout (a matrix of rank 1), in floats: from 0 up to the sum, and never nan or infinite."""
    rng = np.random.default_rng(6)
    wirings = list(all_wirings(2)) if windings == 2 else [Wiring.parse(side_by_side((1,) * windings))]
    if windings == 3:
        wirings = [w for w in all_wirings(3) if path_and_loops(w, 3) is not None][::9]
    for n in range(200):
        turns = rng.uniform(0.5, 2, windings)
        turns[1] = turns[0] if n % 3 == 0 else turns[1]
        turns = np.full(windings, turns[0]) if n % 3 == 1 else turns
        L = np.outer(turns, turns).tolist()
        for wiring in wirings:
            if path_and_loops(wiring, windings) is not None:
                assert -1e-5 <= input_inductance(L, wiring) <= sum(turns) ** 2 * (1 + 1e-12)


@pytest.mark.parametrize(
    ("turns", "wiring", "expected"),
    [
        ((3, 3), SIDE_BY_SIDE, 9),
        ((3, 4), SIDE_BY_SIDE, 0),
        ((3, 3, 3), "1a 1b | 1a=2a=3a 1b=2b=3b", 9),
        ((3, 3, 4), "1a 1b | 1a=2a=3a 1b=2b=3b", 0),
        ((0.3, 0.3, 0.7), "1a 1b | 1a=2a=3a 1b=2b=3b", 0),
        ((0.3, 0.7, 0.9), "1a 1b | 2a=2b 3a=3b", 0),
        ((3, 4, 5), "1a 2a | 1b=2b", 1),
    ],
)
def test_full_coupling_has_the_value_of_ideal_windings(turns: Any, wiring: str, expected: float) -> None:
    """k = 1: equal windings side by side keep their inductance, unequal ones short each other out."""
    L = np.outer(turns, turns).tolist()
    assert input_inductance(L, wiring) == pytest.approx(expected, abs=1e-12)


def test_a_set_that_is_not_passive_is_not_made_to_look_passive() -> None:
    """k > 1 stays visible: a negative result, and minus infinity where B is exactly zero."""
    assert input_inductance([[10e-3, 10.0e-3], [10.0e-3, 9.96e-3]], SHORTED) < 0
    assert input_inductance([[2.0, 1.5], [1.5, 1.0]], SIDE_BY_SIDE) == -math.inf


def test_open_leads_and_lead_inductance() -> None:
    """No way through is infinite; clips on one node read the leads; leads add to everything else."""
    assert input_inductance(PAIR, "1a 2a") == math.inf
    assert input_inductance(PAIR, "1a 1a", lead_inductance=1e-7) == 1e-7
    assert input_inductance(PAIR, "1a 1b", lead_inductance=1e-7) == PAIR[0][0] + 1e-7


def test_fractions_stay_exact() -> None:
    """Fractions in, the exact fraction out."""
    L = [[Fraction(13), Fraction(5)], [Fraction(5), Fraction(7)]]
    assert input_inductance(L, SIDE_BY_SIDE) == Fraction(66, 10)


def test_symbols_pass_through() -> None:
    """sympy symbols in, the textbook formula out."""
    L1, L2, M = sympy.symbols("L1 L2 M")
    answer = input_inductance([[L1, M], [M, L2]], SIDE_BY_SIDE)
    assert sympy.cancel(answer - (L1 * L2 - M**2) / (L1 + L2 - 2 * M)) == 0


def test_uncertain_numbers_keep_their_correlations() -> None:
    """The uncertainty of P+ is that of the formula written out with the same three inputs."""
    L1, L2, M = ufloat(10.0, 0.1), ufloat(9.0, 0.1), ufloat(5.0, 0.2)
    answer = input_inductance([[L1, M], [M, L2]], SIDE_BY_SIDE)
    difference = answer - (L1 * L2 - M * M) / (L1 + L2 - 2 * M)
    assert difference.nominal_value == pytest.approx(0, abs=1e-12)
    assert difference.std_dev == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("wiring", [w for w in all_wirings() if path_and_loops(w) is not None])
def test_arrays_give_what_their_elements_give(wiring: Wiring) -> None:
    """Element by element, full coupling in some elements included."""
    L1, L2 = np.array([2.0, 4.0, 1.0, 4.0]), np.array([2.0, 9.0, 3.0, 4.0])
    M = np.array([2.0, 6.0, 0.5, 4.0])
    together = input_inductance([[L1, M], [M, L2]], wiring)
    apart = [input_inductance([[a, c], [c, b]], wiring) for a, b, c in zip(L1, L2, M, strict=True)]
    assert np.broadcast_to(together, 4) == pytest.approx(apart, abs=1e-15)


def test_arrays_of_three_windings_split_where_full_coupling_does() -> None:
    """In one element windings 1 and 2 are equal and fully coupled, in another 1 and 3, in a third all."""
    turns = np.array([[1.0, 1.0, 2.0], [1.0, 2.0, 1.0], [3.0, 3.0, 3.0], [1.0, 2.0, 4.0]]).T
    L = [[turns[i] * turns[j] for j in range(3)] for i in range(3)]
    answer = input_inductance(L, "1a 1b | 1a=2a=3a 1b=2b=3b")
    assert answer == pytest.approx([0, 0, 9, 0], abs=1e-12)


def test_reciprocity_and_direction() -> None:
    """Swapping the clips changes nothing, and turning all windings round changes nothing."""
    rng = np.random.default_rng(8)
    L = random_matrix(rng, 2).tolist()
    turned = str.maketrans("ab", "ba")
    for wiring in all_wirings():
        swapped = Wiring(wiring.clips[::-1], wiring.ties)
        expected = pytest.approx(input_inductance(L, wiring))
        assert input_inductance(L, swapped) == expected
        assert input_inductance(L, wiring.notation.translate(turned)) == expected


def test_a_matrix_too_small_or_not_square_is_refused() -> None:
    """The sentence gives rows, columns, the wiring and what it needs."""
    with pytest.raises(ShapeError) as caught:
        input_inductance([[1.0]], SHORTED)
    facts = {"rows": 1, "columns": 1, "wiring": SHORTED, "windings": 2}
    assert str(caught.value) == words.MATRIX.format(**facts)
    with pytest.raises(ShapeError, match="2 by 3"):
        input_inductance([[1.0, 0.0, 0.0], [0.0, 1.0]], "1a 1b")


def test_bad_notation_is_refused_by_every_entrance() -> None:
    """The wiring's own error comes through."""
    for entrance in (
        lambda w: input_inductance(PAIR, w),
        lambda w: input_impedance(PAIR, w, 1e3),
        path_and_loops,
    ):
        with pytest.raises(WiringError):
            entrance("1a 1c")


@given(st.sampled_from(list(all_wirings(3))))
def test_path_and_loops_balance_at_every_node(wiring: Wiring) -> None:
    """The path carries one ampere from clip to clip, and every loop carries none."""
    found = path_and_loops(wiring, 3)
    first, second = wiring.clip_nodes(3)
    if found is None:
        return
    for current, sent in [(found[0], 1), *((loop, 0) for loop in found[1])]:
        for node in wiring.nodes(3):
            out = sum(current[t.winding - 1] * (1 if t.end == "a" else -1) for t in node)
            assert out == sent * ((node == first) - (node == second))


def test_identify_needs_no_numbers_of_the_part() -> None:
    """The same wiring is one thing for one place of the dots and another for the other."""
    assert identify(SIDE_BY_SIDE, parse_dots("1a 2a")) is Connection.PARALLEL_AIDING
    assert identify(SIDE_BY_SIDE, parse_dots("1a 2b")) is Connection.PARALLEL_OPPOSING
    assert identify("1a 2a", parse_dots("1a 2a")) is Connection.OPEN


@pytest.mark.parametrize(
    "given", [math.nan, math.inf, np.array([1e-3, math.nan])], ids=["nan", "inf", "array"]
)
def test_what_is_not_finite_is_refused(given: object) -> None:
    """An entry without a value would pass through every formula; it is refused where it enters."""
    for call in (input_inductance, lambda L, wiring: input_impedance(L, wiring, 1e3)):
        with pytest.raises(EntryError, match="entries are finite numbers in H"):
            call([[given, 0.0], [0.0, 1e-3]], "1a 1b")
