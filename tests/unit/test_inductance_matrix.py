"""The inductance matrix of N windings: values, covariance, passivity, and what is said where it fails."""

from pathlib import Path

import numpy as np
import pytest

from labkit.choke.matrix import Matrix, all_parallel, entries_of, inductance_matrix, matrix
from labkit.errors import EntryError, MissingReading
from labkit.record.virtual_bench import BuiltInstead, PrefixSlip
from labkit.theory.network import input_inductance
from tests.benches import PAIR, THREE, THREE_WIRINGS, coupled_bench, matrix_bench, typed_bench

SIX = {id: wiring for id, wiring in THREE_WIRINGS.items() if id != "all"}


def errors(m: Matrix, truth: list[list[float]]) -> np.ndarray:
    """Entries minus truth over their standard uncertainties."""
    u = np.sqrt(np.diag(m.covariance))
    true = [truth[i - 1][j - 1] for i, j in m.keys]
    return np.array([x.value for x in m.inputs] - np.array(true)) / u


def test_three_singles_and_three_pairs_give_the_matrix_of_three_windings(tmp_path: Path) -> None:
    """Every entry lies within its limits of error of the truth, and so does the common-mode inductance."""
    m = matrix(matrix_bench(tmp_path, THREE, SIX, dots="1a 2a 3a"))
    assert np.all(np.abs(errors(m, THREE)) < np.sqrt(3) * 1.8)
    true = 1 / np.linalg.inv(THREE).sum()
    assert abs(m.common_mode.value - true) < 2 * m.common_mode.standard_uncertainty
    assert m.common_mode.standard_uncertainty < 0.003 * true
    assert m.positive_semidefinite is True


def test_readings_may_aid_or_oppose_and_dots_may_lie_anywhere(tmp_path: Path) -> None:
    """A winding turned round changes the sign of its mutual inductances and nothing else that is told."""
    turned = np.array(THREE) * np.outer([1, -1, 1], [1, -1, 1])
    wirings = SIX | {"one-two": "1a 2b | 1b=2a", "two-three": "2b 3a | 2a=3b"}
    m = matrix(matrix_bench(tmp_path, turned.tolist(), wirings))
    assert m.polarity == (1, -1, 1)
    assert np.allclose(m.L, turned, rtol=0.01)
    straight = matrix(matrix_bench(tmp_path / "straight", THREE, SIX))
    assert m.common_mode.value == pytest.approx(straight.common_mode.value, rel=1e-3)
    assert m.line_to_line(1, 2).value == pytest.approx(straight.line_to_line(1, 2).value, rel=1e-3)


def test_exact_readings_give_the_matrix_that_made_them() -> None:
    """Without rounding or error the least squares return the entries, and every other wiring agrees."""
    bench = typed_bench({"one": "8.0000 mH", "two": "6.0000 mH", "line": "18.000 mH", "side": "5.5000 mH"})
    m = matrix(bench)
    assert np.allclose(m.L, [[8e-3, 2e-3], [2e-3, 6e-3]], rtol=1e-9)
    assert m.common_mode.value == pytest.approx((8 * 6 - 4) / (8 + 6 - 4) * 1e-3)
    assert m.line_to_line(1, 2).value == pytest.approx(10e-3)


def test_equal_windings_have_the_textbook_common_mode_and_line_to_line(tmp_path: Path) -> None:
    """For three equal windings they are (L + 2M)/3 and 2(L - M), here within a part in a thousand."""
    L, M = 1e-3, 0.9e-3
    equal = [[L if i == j else M for j in range(3)] for i in range(3)]
    m = matrix(matrix_bench(tmp_path, equal, SIX))
    assert m.common_mode.value == pytest.approx((L + 2 * M) / 3, rel=3e-3)
    assert m.line_to_line(1, 3).value == pytest.approx(2 * (L - M), rel=3e-3)


def test_a_shared_gain_correlates_the_entries_and_an_independent_one_less(tmp_path: Path) -> None:
    """Singles of one range carry one gain error, so imbalance is known far better than with gains apart."""
    bench = matrix_bench(tmp_path, THREE, SIX)
    shared, apart = matrix(bench), matrix(bench, gain="independent")
    assert shared.covariance[0, 3] / shared.covariance[0, 0] > 0.9
    assert abs(apart.covariance[0, 3]) < 1e-3 * apart.covariance[0, 0]
    u, v = (m.difference(1, 2).standard_uncertainty for m in (shared, apart))
    assert u < v / 4


def test_the_covariance_covers_the_truth_over_many_benches(tmp_path: Path) -> None:
    """Over 60 seeds the squared errors of the entries, weighed by their covariance, average to P."""
    sums = []
    for seed in range(60):
        m = matrix(matrix_bench(tmp_path / str(seed), THREE, SIX, seed=seed))
        off = np.array([x.value for x in m.inputs]) - [THREE[i - 1][j - 1] for i, j in m.keys]
        sums.append(off @ np.linalg.solve(m.covariance, off))
    assert 5 < np.mean(sums) < 7


def test_both_series_readings_are_weighed_and_checked(tmp_path: Path) -> None:
    """Four readings of a pair leave one degree of freedom, and a slip in one of them shows there."""
    four = ("one", "two", "line", "line-reversed")
    sound = matrix(coupled_bench(tmp_path / "sound", four))
    assert sound.fit.degrees_of_freedom == 1
    assert sound.fit.p_value is not None
    assert sound.fit.p_value > 0.05
    slip = coupled_bench(tmp_path / "slip", four, faults=[PrefixSlip("1a 2b | 1b=2a", -3)])
    shown = inductance_matrix(slip)
    assert shown.matrix.contradictory
    assert not sound.contradictory
    assert "quote nothing from this matrix" in " ".join(str(shown).split())


def test_other_readings_are_held_against_the_matrix(tmp_path: Path) -> None:
    """All windings side by side agree on a sound bench, and not where one of them was left out."""
    sound = matrix(matrix_bench(tmp_path / "a", THREE, THREE_WIRINGS))
    (check,) = sound.checks
    assert check.observation.id == "all"
    assert abs(check.E_n) <= 1
    fault = BuiltInstead(THREE_WIRINGS["all"], "1a 1b | 2a=3a 2b=3b")
    (check,) = matrix(matrix_bench(tmp_path / "b", THREE, THREE_WIRINGS, faults=[fault])).checks
    assert abs(check.E_n) > 2


def test_a_matrix_that_no_passive_part_has_is_told_and_not_clipped() -> None:
    """k = 1.25 comes back as read, with a sentence that says no."""
    shown = inductance_matrix(typed_bench({"one": "4.000 mH", "two": "4.000 mH", "line": "18.000 mH"}))
    assert shown.matrix.coupling(1, 2).value == pytest.approx(1.25)
    assert shown.matrix.positive_semidefinite is False
    assert "Positive semidefinite: NO" in str(shown)
    assert "nothing was clipped" in str(shown)


def test_what_the_digits_do_not_resolve_is_cannot_tell(tmp_path: Path) -> None:
    """From the aiding reading alone 1 - k of a tight pair is smaller than its expanded uncertainty."""
    shown = inductance_matrix(coupled_bench(tmp_path, ("one", "two", "line")))
    assert shown.matrix.positive_semidefinite is None
    assert "cannot tell" in str(shown)


def test_without_a_card_there_is_a_matrix_and_no_uncertainty(tmp_path: Path) -> None:
    """The entries are given, no ± appears, and the reason is said."""
    text = str(inductance_matrix(coupled_bench(tmp_path, ("one", "two", "line-reversed"), card=None)))
    assert "±" not in text
    assert "No uncertainty is stated for one, two, line-reversed" in text


def test_missing_readings_are_named() -> None:
    """Two singles alone leave the pair, and one single leaves two readings."""
    with pytest.raises(MissingReading, match="windings 1 and 2 in series"):
        matrix(typed_bench({"one": "4.000 mH", "two": "4.000 mH"}))
    with pytest.raises(MissingReading, match=r"winding 2 alone.*windings 1 and 2"):
        matrix(typed_bench({"one": "4.000 mH"}))
    with pytest.raises(EntryError, match="20 kHz"):
        matrix(typed_bench({"one": "4.000 mH"}), "20 kHz")


def test_dots_that_contradict_the_readings_are_told() -> None:
    """A part marked with equal dots whose aiding reading opposes gets a caution, and its k stays as read."""
    bench = typed_bench({"one": "4.000 mH", "two": "4.000 mH", "line": "100.0 µH"})
    shown = inductance_matrix(bench)
    assert shown.matrix.coupling(1, 2).value < -0.9
    assert "One of the two is wrong" in str(shown)


def test_all_windings_in_parallel_is_one_over_the_sum_of_the_inverse() -> None:
    """The wiring drawn for common mode has that inductance in the forward model, dots anywhere."""
    s = np.array([1, -1, 1])
    turned = np.array(THREE) * np.outer(s, s)
    assert input_inductance(turned.tolist(), all_parallel(tuple(s))) == pytest.approx(
        1 / (s @ np.linalg.inv(turned) @ s)
    )
    assert entries_of(3) == ((1, 1), (1, 2), (1, 3), (2, 2), (2, 3), (3, 3))


def test_the_pair_is_that_of_the_virtual_bench(tmp_path: Path) -> None:
    """1 - k from singles and series-opposing is within its uncertainty, which is below half a per cent."""
    m = matrix(coupled_bench(tmp_path, ("one", "two", "line-reversed")))
    gap = m.gap(1, 2)
    k = (PAIR.L1 + PAIR.L2 - PAIR.B) / 2 / (PAIR.L1 * PAIR.L2) ** 0.5
    assert abs(gap.value - (1 - k)) < 2 * gap.standard_uncertainty
    assert gap.standard_uncertainty < 0.005 * gap.value
    assert m.smallest_eigenvalue.value == pytest.approx(gap.value)
    assert m.smallest_eigenvalue.standard_uncertainty == pytest.approx(gap.standard_uncertainty, rel=1e-6)


def test_a_matrix_that_divides_by_zero_leaves_out_what_has_no_value() -> None:
    """Reversed in line reads 2(L1 + L2) to the digit: no common mode, no check, and all entries."""
    readings = {"one": "2.771 mH", "two": "2.745 mH", "line-reversed": "11.032 mH"}
    result = inductance_matrix(typed_bench(readings | {"side": "2.700 mH"}, dots=None))
    assert result.matrix.common_mode is None
    assert result.matrix.checks[0].expected is None or result.matrix.checks[0].E_n is not None
    assert str(result).count("no finite value") >= 1
    assert result.matrix.L[0, 1] == pytest.approx(-2.758e-3)


@pytest.mark.parametrize("card", ["bench-fine", None])
def test_windings_that_share_no_flux_have_a_matrix(card: str | None) -> None:
    """4 and 6 mH, 10 mH in line both ways round: M = 0, and its uncertainty all the same."""
    readings = {"one": "4.000 mH", "two": "6.000 mH", "line": "10.000 mH", "line-reversed": "10.000 mH"}
    m = inductance_matrix(typed_bench(readings, card=card)).matrix
    assert m.L[0, 1] == pytest.approx(0, abs=1e-12)
    assert (m.entry(1, 2).standard_uncertainty > 1e-7) is m.stated


def test_a_winding_that_reads_nothing_has_no_coupling() -> None:
    """Zero for a winding alone: the entries stand, k has no value, and no passive part is claimed."""
    readings = {"one": "0.000 mH", "two": "6.000 mH", "line": "10.000 mH"}
    text = str(inductance_matrix(typed_bench(readings)))
    assert "Positive semidefinite: NO, a winding alone read zero or less" in text
    assert "no finite value" in text
