"""The forward model against independent answers: linear algebra, circuit formulas, energy, limits.

All figures here are computed for these tests; the parts are invented.
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

from labkit.errors import ShapeError, WiringError
from labkit.theory.network import identify, input_impedance, input_inductance, path_and_loops
from labkit.theory.wiring import Connection, Wiring, all_wirings, parse_dots
from labkit.words import wiring as words

PAIR = [[10.00e-3, 9.9675e-3], [9.9675e-3, 9.96e-3]]
SIDE_BY_SIDE = "1a 1b | 1a=2a 1b=2b"
LINE_REVERSED = "1a 2a | 1b=2b"
SHORTED = "1a 1b | 2a=2b"


def random_matrix(rng: np.random.Generator, windings: int, rank: int | None = None) -> Any:
    """Positive semidefinite, about 1 H on the diagonal."""
    flux = rng.normal(size=(windings, windings if rank is None else rank))
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


SIGNS = [(1, 1), (1, -1), (1, 1, 1), (1, -1, 1), (-1, 1, 1, -1), (1, 1, -1, 1, 1)]


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


@pytest.mark.parametrize("wiring", [w for w in all_wirings() if path_and_loops(w) is not None])
@pytest.mark.parametrize("M", [9.9675e-3, 0.0, math.sqrt(10.00e-3 * 9.96e-3)])
def test_lossless_impedance_is_jw_times_the_inductance(wiring: Wiring, M: float) -> None:
    """Without resistance and capacitance Z = j omega L, at k = 1 too."""
    L = [[10.00e-3, M], [M, 9.96e-3]]
    expected = 2j * math.pi * 1e4 * input_inductance(L, wiring)
    assert input_impedance(L, wiring, 1e4) == pytest.approx(expected, rel=1e-9, abs=1e-6)


def test_impedance_of_open_and_leads() -> None:
    """Nothing between the clips is infinite; clips on one node leave the lead impedance."""
    assert input_impedance(PAIR, "1a 2a", 1e4) == complex(math.inf)
    assert input_impedance(PAIR, "1a 1a", 1e4, lead_impedance=0.02 + 0.01j) == 0.02 + 0.01j


@pytest.mark.parametrize(
    ("wiring", "resistance"),
    [("1a 1b", 2.0), (LINE_REVERSED, 5.0), (SIDE_BY_SIDE, 1.2), (SHORTED, 2.0)],
)
@pytest.mark.parametrize("C", [None, [1e-10, 2e-10]])
def test_at_zero_frequency_only_resistance_is_left(wiring: str, resistance: float, C: Any) -> None:
    """DC: windings are resistors and capacitances carry nothing, for a number and within an array."""
    R = [2.0, 3.0]
    assert input_impedance(PAIR, wiring, 0.0, R, C) == pytest.approx(resistance)
    swept = input_impedance(PAIR, wiring, np.array([0.0, 1e4]), R, C)
    assert swept[0] == pytest.approx(resistance)
    assert swept[1] == pytest.approx(input_impedance(PAIR, wiring, 1e4, R, C))


@pytest.mark.parametrize("polarity", [1, -1])
@pytest.mark.parametrize("frequency", [10.0, 1e3, 1e5])
def test_side_by_side_with_resistance_has_the_exact_impedance(polarity: int, frequency: float) -> None:
    """Z = z_m - z_S/4 - z_d²/(4 z_S), with S = B for aiding and S = A for opposing."""
    (L1, M), (_, L2) = PAIR
    R1, R2 = 0.8, 1.1
    w = 2 * math.pi * frequency
    z_m = (R1 + R2) / 2 + 1j * w * (L1 + L2) / 2
    z_S = R1 + R2 + 1j * w * (L1 + L2 - 2 * polarity * M)
    z_d = R1 - R2 + 1j * w * (L1 - L2)
    expected = z_m - z_S / 4 - z_d**2 / (4 * z_S)
    wiring = SIDE_BY_SIDE if polarity > 0 else "1a 1b | 1a=2b 1b=2a"
    assert input_impedance(PAIR, wiring, frequency, [R1, R2]) == pytest.approx(expected, rel=1e-10)


def test_mismatch_comes_in_around_the_corner_frequency() -> None:
    """With R1 = R2 the term d²/(4B) weighs x²/(1+x²), x = f/f_c and f_c = (R1+R2)/(2 pi B)."""
    (L1, M), (_, L2) = PAIR
    B, d = L1 + L2 - 2 * M, L1 - L2
    corner = 2.0 / (2 * math.pi * B)
    for x in (0.1, 1.0, 10.0):
        f = x * corner
        seen = input_impedance(PAIR, SIDE_BY_SIDE, f, [1.0, 1.0]).imag / (2 * math.pi * f)
        missing = (L1 + L2) / 2 - B / 4 - seen
        assert missing == pytest.approx(d**2 / (4 * B) * x**2 / (1 + x**2), rel=1e-6)


def test_shorted_winding_with_resistance_shows_more_than_the_short_circuit_inductance() -> None:
    """L_app = Lsc + (M²/L2) R2²/(R2² + omega² L2²), R2 the whole secondary loop."""
    (L1, M), (_, L2) = PAIR
    for f in (5.0, 100.0, 1e4):
        w = 2 * math.pi * f
        expected = L1 - M**2 / L2 + M**2 / L2 * 0.5**2 / (0.5**2 + (w * L2) ** 2)
        seen = input_impedance(PAIR, SHORTED, f, [0.8, 0.5]).imag / w
        assert seen == pytest.approx(expected, rel=1e-9)


def test_self_capacitance_raises_the_apparent_inductance() -> None:
    """A winding with self-capacitance reads L/(1 - omega² L C): one per cent more at a tenth of resonance."""
    L, C = 1e-3, 1e-10
    resonance = 1 / (2 * math.pi * math.sqrt(L * C))
    for share in (0.1, 0.5, 1.7):
        f = share * resonance
        seen = input_impedance([[L]], "1a 1b", f, C=[C]).imag / (2 * math.pi * f)
        assert seen == pytest.approx(L / (1 - share**2), rel=1e-9)


UNIT = 1 / (2 * math.pi)  # Hz, so that omega is exactly 1


def test_exact_resonance_is_infinite_and_not_nan() -> None:
    """omega² L C = 1 without loss: infinite, as a number and as one element of a sweep."""
    alone = input_impedance([[1.0]], "1a 1b", UNIT, C=[1.0])
    assert alone == complex(math.inf)
    swept = input_impedance([[1.0]], "1a 1b", np.array([UNIT, 2 * UNIT]), C=[1.0])
    assert swept[0] == complex(math.inf)
    assert swept[1] == pytest.approx(2j / (1 - 4))


def test_next_to_a_resonance_the_impedance_is_large_and_finite() -> None:
    """One part in 10⁹ beside the resonance of a winding of 1 MΩ: -j X/(2e-9), not yet infinite."""
    beside = input_impedance([[1e6]], "1a 1b", UNIT * (1 + 1e-9), C=[1e-6])
    assert beside.imag == pytest.approx(-1e6 / 2e-9, rel=1e-6)


def test_two_coupled_windings_in_the_same_resonance_are_not_singular() -> None:
    """Both loops resonate alone, but coupled they do not: Z follows from the 2 by 2 equations, here -1j."""
    L = [[1.0, 0.5], [0.5, 1.0]]
    inductive = 1j * np.array(L)
    terminal = np.linalg.inv(np.linalg.inv(inductive) + 1j * np.eye(2))[0, 0]
    assert terminal == pytest.approx(-1j)
    assert input_impedance(L, "1a 1b", UNIT, C=[1.0, 1.0]) == pytest.approx(terminal)
    swept = input_impedance(L, "1a 1b", np.array([UNIT, UNIT * 1.0001]), C=[1.0, 1.0])
    assert swept == pytest.approx([terminal, terminal], rel=1e-3)


def test_random_circuits_agree_with_nodal_analysis() -> None:
    """Resistance, capacitance and coupling in every wiring of two windings, against an admittance matrix."""
    rng = np.random.default_rng(7)
    for wiring in (w for w in all_wirings() if path_and_loops(w) is not None):
        L = random_matrix(rng, 2) + 0.05 * np.eye(2)
        R, C, f = rng.uniform(0.1, 1, 2), rng.uniform(0.01, 0.1, 2), rng.uniform(0.05, 0.3)
        seen = input_impedance(L.tolist(), wiring, f, list(R), list(C))
        assert seen == pytest.approx(nodal(L, wiring, f, R, C), rel=1e-8)


def nodal(L: Any, wiring: Wiring, frequency: float, R: Any, C: Any) -> complex:
    """Voltage between the clips for unit current, by node potentials (least squares: some nodes float)."""
    w = 2 * math.pi * frequency
    nodes = wiring.nodes()
    incidence = np.array(
        [
            [("a" in e) * 1 - ("b" in e) * 1 for e in ({t.end for t in n if t.winding == k} for k in (1, 2))]
            for n in nodes
        ]
    )
    admittance = np.linalg.inv(np.diag(R) + 1j * w * L) + 1j * w * np.diag(C)
    first, second = (nodes.index(node) for node in wiring.clip_nodes())
    source = np.zeros(len(nodes), dtype=complex)
    source[first], source[second] = 1, -1
    potentials = np.linalg.lstsq(incidence @ admittance @ incidence.T, source, rcond=1e-12)[0]
    return complex(potentials[first] - potentials[second])


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


def test_one_value_a_winding_is_required() -> None:
    """Three resistances for two windings are refused with one sentence."""
    with pytest.raises(ShapeError) as caught:
        input_impedance(PAIR, "1a 1b", 1e3, R=[1.0, 1.0, 1.0])
    assert str(caught.value) == words.PER_WINDING.format(given=3, what="resistance", windings=2)
    with pytest.raises(ShapeError, match="self-capacitance"):
        input_impedance(PAIR, "1a 1b", 1e3, C=[1e-10])


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
